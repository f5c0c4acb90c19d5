//! How much later the echo comes than when it was learnt.

use crate::weighed::{ENOUGH, Weighed, median};
use rustfft::num_complex::Complex;
use std::f32::consts::PI;

/// A bin in which more is left than this, as a share of the estimate, hears the player as well.
const MOST: f32 = 0.5;
/// A bin in which less is left than this, as a share of the estimate, counts as one in which so much is left.
const LEAST: f32 = 0.02;
/// For so many blocks after what we sound has changed no player is in unison with all of it. Later he may be: he leaves
/// as much beside a steady tone as an echo does that comes later.
const UNISON: u32 = 8;

/// Tells by how much the echo has slipped since it was learnt.
///
/// An echo that comes `t` samples later than its estimate leaves, in the bin of the angular frequency `w`, the estimate
/// times `exp(-iwt) - 1`, which is about `-iwt`. So each bin tells a `t` of its own, the surer the less is left in it
/// and the higher it is, and the median tells that of all: a player covers a small part of them. Over a band half of
/// the blocks are within 7 microseconds.
#[derive(Clone, Debug)]
pub(crate) struct Slip {
    told: Vec<Weighed>,
    unchanged: u32,
}

impl Slip {
    /// For spectra of so many bins.
    pub(crate) fn new(bins: usize) -> Self {
        Self { told: vec![(0.0, 0.0); bins], unchanged: UNISON }
    }

    /// Takes the spectra of what is left of a block and of the estimate, and tells by how many samples the echo came
    /// later, where that can be told. Bins of the estimate below the power `audible` tell nothing; `changed` says
    /// whether we sound something else than in the block before.
    pub(crate) fn compare(
        &mut self,
        (output, echo): (&[Complex<f32>], &[Complex<f32>]),
        audible: f32,
        changed: bool,
    ) -> Option<f32> {
        self.unchanged = if changed { 0 } else { self.unchanged.saturating_add(1) };
        if self.unchanged >= UNISON {
            return None;
        }
        let turn = PI / (output.len() - 1) as f32;
        let mut count = 0;
        for (k, (output, echo)) in output.iter().zip(echo).enumerate().skip(1) {
            let share = output / echo;
            let size = share.norm();
            if echo.norm_sqr() > audible && size < MOST {
                let turns = turn * k as f32;
                self.told[count] = (-share.im / turns, turns * echo.norm() / size.max(LEAST));
                count += 1;
            }
        }
        (count >= ENOUGH).then(|| median(&mut self.told[..count]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::transform::Transform;
    use oorandom::Rand64;

    /// A block of a sound that is not steady, and what is left of it where it comes later by so many samples, with a
    /// player of so many harmonics beside it.
    fn spectra(late: f32, player: usize) -> (Vec<Complex<f32>>, Vec<Complex<f32>>) {
        const BINS: usize = 513;
        let mut random = Rand64::new(7);
        let noise: Vec<f32> = (0..1024).map(|_| random.rand_float() as f32 - 0.5).collect();
        let mut echo = vec![Complex::default(); BINS];
        Transform::new(1024).spectrum(0, &noise, &mut echo);
        let shifted = |(k, x): (usize, &Complex<f32>)| {
            let own = if player > 0 && k % 30 < 3 && k / 30 < player {
                Complex::new(9.0, -4.0)
            } else {
                Complex::default()
            };
            x * (Complex::cis(-PI * k as f32 / 512.0 * late) - 1.0) + own
        };
        let output = echo.iter().enumerate().map(shifted).collect();
        (output, echo)
    }

    #[test]
    fn an_echo_that_comes_later_is_told_to_a_fraction_of_a_sample_beside_a_player() {
        for (late, player) in [(0.0, 0), (0.05, 0), (-0.2, 0), (0.1, 12), (-0.05, 12)] {
            let (output, echo) = spectra(late, player);
            let told = Slip::new(513).compare((&output, &echo), 1e-6, true).unwrap();
            assert!((told - late).abs() < 0.012, "{told} for {late} beside {player} harmonics");
        }
    }

    #[test]
    fn beside_a_steady_tone_nothing_is_told() {
        let (output, echo) = spectra(0.1, 0);
        let mut slip = Slip::new(513);
        assert_eq!(slip.compare((&output, &echo), 1e-6, false), None, "nothing has begun yet");
        assert!(slip.compare((&output, &echo), 1e-6, true).is_some());
        let told: Vec<bool> =
            (0..UNISON).map(|_| slip.compare((&output, &echo), 1e-6, false).is_some()).collect();
        assert_eq!(told.iter().filter(|told| **told).count(), UNISON as usize - 1, "{told:?}");
        assert_eq!(told.last(), Some(&false));
    }
}
