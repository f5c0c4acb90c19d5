//! How the pitch went during a try, for a picture of it.

use crate::track::Point;
use serde::Serialize;

/// The pitch during a try in steps of [`Trace::STEP_S`], from when the try began to sound.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Trace {
    /// Tenths of a cent from the target, sharp is positive; `None` where nothing sounded.
    pub tenths: Vec<Option<i16>>,
}

impl Trace {
    /// Seconds from one step to the next.
    pub const STEP_S: f64 = 0.020;

    /// The trace of the readings from `began` seconds on: of each step the last one.
    pub(crate) fn new(points: &[Point], began: f64) -> Self {
        let mut tenths = Vec::new();
        for point in points.iter().filter(|point| point.t >= began) {
            let step = ((point.t - began) / Self::STEP_S) as usize;
            if tenths.len() <= step {
                tenths.resize(step + 1, None);
            }
            // A distance beyond the range of 16 bits, 3276.7 cents, is clamped to it.
            tenths[step] =
                Some((10.0 * point.cents).round().clamp(-f64::from(i16::MAX), f64::from(i16::MAX)) as i16);
        }
        Self { tenths }
    }

    /// Cents from the target, step by step; `None` where nothing sounded.
    pub fn cents(&self) -> impl Iterator<Item = Option<f64>> + '_ {
        self.tenths.iter().map(|tenths| tenths.map(|tenths| f64::from(tenths) / 10.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_step_has_its_last_reading_and_silence_has_none() {
        let point = |t, cents| Point { t, cents, ..Point::default() };
        let points = [
            point(0.99, 900.0),
            point(1.0, -31.0),
            point(1.015, -30.26),
            point(1.021, -20.0),
            point(1.085, 1e9),
        ];
        let cents: Vec<_> = Trace::new(&points, 1.0).cents().collect();
        assert_eq!(cents, [Some(-30.3), Some(-20.0), None, None, Some(3276.7)]);
    }
}
