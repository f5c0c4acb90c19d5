//! Where on the tape stands what is sounded at a sample of the microphone, while the clocks of the two devices drift
//! apart.

use crate::{Remover, Tape};

/// Each slip corrects the place by `PUTS_RIGHT` of it, and the speed by `SPEEDS_PER_S` of it per second (a loop of the
/// second order: Gardner, "Phaselock Techniques", from memory). The filter learns most of a slip before it is told, so
/// the speed is corrected by more than would settle such a loop best: with a quarter of this, 20 millionths took ten
/// seconds to find, and 4 dB more were left in the mean of twelve takes; with twice of it 1 dB less was left, and late
/// callbacks did more harm.
const PUTS_RIGHT: f64 = 0.2;
const SPEEDS_PER_S: f64 = 0.32;
/// After so many slips, seven seconds of a band, the loop has settled, and is narrowed as more are told, down to
/// `NARROWEST`: where a drum drives the loudspeaker into its limits, what is left looks like a slip of 0.1 ms, and the
/// place would jump by a fifth of that.
const SETTLES: f64 = 100.0;
const NARROWEST: f64 = 0.25;
/// Until the echo has told a slip, the place drifts to where the clocks say, with this time constant, seconds.
const FOLLOWS_S: f64 = 120.0;
/// Where the clocks say that it is off by more, a stream has jumped, seconds.
const JUMP_S: f64 = 0.003;

/// Walks along a [`Tape`].
///
/// The clocks say where a sample stands to a tenth of a millisecond, and how fast the streams run to 20 to 70
/// millionths in the first half minute, which costs 5 to 12 dB of removal. What is left of the echo tells both much
/// better: the error of the filter has a part in quadrature with the estimate where the echo comes later or sooner than
/// when it was learnt (Pawig, Enzner & Vary, "Adaptive sampling rate correction for acoustic echo control in
/// voice-over-IP", IEEE Transactions on Signal Processing 58, 2010, from memory). So the clocks find the place and
/// notice when a stream has jumped, and the echo keeps it.
#[derive(Clone, Debug)]
pub struct Pace {
    rate: f64,
    listener: f64,
    place: Option<f64>,
    /// Frames from one sample of the listener to the next.
    step: f64,
    /// By how much the tape runs faster than it says, as a share, as the echo tells it.
    heard: Option<f64>,
    /// How often the echo has told it.
    told: f64,
    clocks: f64,
}

impl Pace {
    /// For a tape of `rate` frames per second and a listener who takes `listener` samples per second.
    pub fn new(rate: f64, listener: f64) -> Self {
        Self { rate, listener, place: None, step: rate / listener, heard: None, told: 0.0, clocks: 0.0 }
    }

    /// By the clocks, `frame` stands beside the next sample, and the tape runs faster than it says by `drift`, as a
    /// share.
    pub fn clocks(&mut self, frame: f64, drift: f64) {
        self.clocks = drift;
        let off = self.place.map_or(0.0, |place| frame - place);
        if off.abs() > JUMP_S * self.rate {
            (self.place, self.heard, self.told) = (None, None, 0.0);
        }
        let place = *self.place.get_or_insert(frame);
        let pulled = if self.heard.is_none() { (frame - place) / (FOLLOWS_S * self.rate) } else { 0.0 };
        self.step = self.rate * (1.0 + self.heard.unwrap_or(drift) + pulled) / self.listener;
    }

    /// Takes what stands on the tape out of the next sample that was `heard`, and corrects place and speed by what the
    /// echo tells. Where the place is not known, silence is taken for what was sounded.
    pub fn remove(&mut self, tape: &Tape, remover: &mut Remover, heard: f32) -> f32 {
        let sounded = self.advance().map_or(0.0, |place| tape.at(place));
        let left = remover.remove(sounded, heard);
        if let Some(slip) = remover.take_slip() {
            self.slipped(slip);
        }
        left
    }

    /// The echo came so many samples of the listener later than when it was learnt.
    fn slipped(&mut self, slip: f64) {
        let Some(place) = &mut self.place else { return };
        let slip_s = slip / self.listener;
        self.told += 1.0;
        let width = (SETTLES / self.told).clamp(NARROWEST, 1.0);
        *place -= width * PUTS_RIGHT * slip_s * self.rate;
        *self.heard.get_or_insert(self.clocks) -= width.powi(2) * SPEEDS_PER_S * slip_s;
    }

    /// The place is to be found anew, by the clocks.
    pub fn lose(&mut self) {
        self.place = None;
    }

    /// The frame beside the next sample, with its fraction; `None` as long as it is not known.
    fn advance(&mut self) -> Option<f64> {
        let place = self.place?;
        self.place = Some(place + self.step);
        Some(place)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: f64 = 48_000.0;
    const LISTENER: f64 = 16_000.0;

    /// Half a minute of a tape that runs fast by `fast`, of which the clocks tell `drift`, with the echo heard eight
    /// times a second: how far off the place was in the last ten seconds at most, seconds.
    fn off_s(fast: f64, drift: f64, heard: bool) -> f64 {
        let mut pace = Pace::new(RATE, LISTENER);
        let (mut learnt, mut most) = (0.0, 0.0_f64);
        for n in 0..30 * 16_000 {
            let t = f64::from(n) / LISTENER;
            let is_so = RATE * t * (1.0 + fast);
            if n % 160 == 0 {
                pace.clocks(RATE * t * (1.0 + drift), drift);
            }
            let off_s = (pace.advance().unwrap() - is_so) / RATE;
            // The filter learns a part of what the place is off.
            if heard && n % 2_000 == 0 && n > 16_000 {
                pace.slipped((off_s - learnt) * LISTENER);
                learnt += 0.05 * (off_s - learnt);
            }
            if t > 20.0 {
                most = most.max((off_s - learnt).abs());
            }
        }
        most
    }

    #[test]
    fn the_echo_keeps_the_place_where_the_clocks_tell_a_wrong_speed() {
        for (fast, drift) in [(50e-6, 0.0), (50e-6, 70e-6), (-1750e-6, -1700e-6)] {
            // 3 µs leave 34 dB less of a tone of 1 kHz, more than any loudspeaker lets a filter take out.
            assert!(off_s(fast, drift, true) < 3e-6, "{}", off_s(fast, drift, true));
            assert!(off_s(fast, drift, false) > 200e-6);
        }
    }

    #[test]
    fn a_stream_that_jumps_is_found_by_the_clocks() {
        let mut pace = Pace::new(RATE, LISTENER);
        assert_eq!(pace.advance(), None);
        pace.clocks(100.0, 0.0);
        assert_eq!([pace.advance(), pace.advance()], [Some(100.0), Some(103.0)]);
        // 2 ms are callbacks that come late, 5 ms are another place.
        pace.clocks(106.0 + 0.002 * RATE, 0.0);
        assert_eq!(pace.advance(), Some(106.0));
        pace.clocks(109.0 + 0.005 * RATE, 0.0);
        assert_eq!(pace.advance(), Some(109.0 + 0.005 * RATE));
        pace.lose();
        assert_eq!(pace.advance(), None);
    }
}
