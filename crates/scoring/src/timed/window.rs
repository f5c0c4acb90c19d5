//! How near in time is near enough.

use serde::Serialize;

/// The windows of time, seconds either side of the beat.
///
/// * 25 ms, *tight*: what ensembles keep to without being heard as uneven, a standard deviation of 27 to 49 ms between
///   the voices of trios (Rasch, Acustica 43:121–131, 1979), and the just noticeable displacement of one tone is 2.5 %
///   of the interval (Friberg & Sundberg, JASA 98, 1995).
/// * 50 ms, *on the beat*: the onset tolerance of music transcription (`mir_eval` 0.8.2).
/// * Never more than a fifth of the shortest note, or the windows of fast notes would meet: ±50 ms of sixteenths do so
///   at 150 beats a minute. Ours.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Window {
    /// Within this a note is tight.
    pub tight_s: f64,
    /// Within this it is on the beat.
    pub on_s: f64,
}

const TIGHT_S: f64 = 0.025;
const ON_S: f64 = 0.050;
const OF_SHORTEST: f64 = 0.2;

impl Window {
    /// The windows of a run whose notes last so many seconds each.
    pub fn of_notes(lengths_s: impl Iterator<Item = f64>) -> Self {
        let shortest = lengths_s.fold(f64::INFINITY, f64::min);
        Self::of_shortest(if shortest.is_finite() { shortest } else { 0.0 })
    }

    /// The windows for notes of which the shortest lasts so many seconds.
    pub fn of_shortest(seconds: f64) -> Self {
        let most = OF_SHORTEST * seconds.max(0.0);
        Self { tight_s: TIGHT_S.min(most), on_s: ON_S.min(most) }
    }
}
