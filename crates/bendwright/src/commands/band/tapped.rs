//! The beats of a recording, tapped by the player while it sounds.

use super::on_loudspeaker::{BEFORE, CAUTION, enter, follow, hush, open};
use super::told::Told;
use crate::failure::Failure;
use crate::own_recording::OwnRecording;
use crate::signals::Signals;
use practice::run::Tempo;
use sound::{HostTime, Speaker};
use std::path::Path;
use std::thread;
use std::time::Duration;

/// A tempo is told from so many taps at least: two bars.
const FEWEST: usize = 8;
/// After so many seconds without a tap the player has finished: longer than a beat of the slowest tempo.
const PAUSE_S: f64 = 4.0;
/// How often the loop looks around. A tap is dated when it comes, by a thread of its own.
const LOOK_EVERY: Duration = Duration::from_millis(20);

/// Where the beats of a recording are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Beats {
    /// The second at which the first bar begins.
    pub(super) first_s: f64,
    /// Beats a minute.
    pub(super) bpm: f64,
    /// How far the taps lie off these beats, seconds, as a root of the mean square.
    pub(super) off_s: f64,
}

impl Beats {
    /// The even beats that lie nearest to some taps (seconds, in their order), by least squares; `None` from fewer than
    /// eight taps, or if the taps are no beat. Single beats may be left untapped.
    fn nearest(taps: &[f64]) -> Option<Self> {
        if taps.len() < FEWEST {
            return None;
        }
        let mut steps: Vec<f64> = taps.windows(2).map(|pair| pair[1] - pair[0]).collect();
        steps.sort_by(f64::total_cmp);
        let usual = steps[steps.len() / 2];
        // Counted from tap to tap, because a first guess of the tempo would not hold over all of them.
        let mut number = 0.0;
        let mut counted = vec![(number, taps[0])];
        for pair in taps.windows(2) {
            number += ((pair[1] - pair[0]) / usual).round();
            counted.push((number, pair[1]));
        }
        let count = counted.len() as f64;
        let mean_number = counted.iter().map(|(n, _)| n).sum::<f64>() / count;
        let mean_s = counted.iter().map(|(_, s)| s).sum::<f64>() / count;
        let spread: f64 = counted.iter().map(|(n, _)| (n - mean_number).powi(2)).sum();
        let together: f64 = counted.iter().map(|(n, s)| (n - mean_number) * (s - mean_s)).sum();
        let beat_s = together / spread;
        let first_s = mean_s - beat_s * mean_number;
        let off: f64 = counted.iter().map(|(n, s)| (s - first_s - n * beat_s).powi(2)).sum();
        let (slowest, fastest) = Tempo::RANGE;
        let beats = Self { first_s: first_s.max(0.0), bpm: 60.0 / beat_s, off_s: (off / count).sqrt() };
        (slowest..=fastest).contains(&beats.bpm.round()).then_some(beats)
    }
}

/// Sounds a recording and says where its beats are. The taps are dated against the moment at which the sound is handed
/// to the loudspeaker. So the result holds for this computer: where the loudspeaker is late, the player taps as much
/// later.
///
/// # Errors
/// If it cannot be sounded, nobody can tap, or the taps are no beat.
pub(super) fn run(file: &Path, level: Option<f64>, told: &Told) -> Result<(), Failure> {
    let recording = OwnRecording::new(file, level)?;
    let seconds = recording.seconds;
    let Some(enter) = enter() else {
        return Err(Failure::user("--tap: enter is pressed on each beat, and that needs a terminal"));
    };
    let signals = Signals::watch()?;
    let speaker = Speaker::new(None);
    open(&speaker, &signals)?;
    told.notice("press enter on each beat, from the first beat of the first bar on; it ends when you stop")?;
    told.notice(CAUTION)?;
    let start = HostTime::now() + BEFORE;
    speaker.play_at(start, move |rate| recording.sound_from(0.0, rate));
    let mut taps: Vec<f64> = Vec::new();
    loop {
        let now_s = HostTime::now().since(start).as_secs_f64();
        let rested = taps.last().is_some_and(|last| now_s - last > PAUSE_S);
        if now_s > seconds || rested {
            break;
        }
        if let Err(signal) = signals.check() {
            hush(&speaker);
            return Err(signal);
        }
        follow(&speaker, told)?;
        taps.extend(enter.try_iter().filter(|tap| *tap > start).map(|tap| tap.since(start).as_secs_f64()));
        thread::sleep(LOOK_EVERY);
    }
    hush(&speaker);
    match Beats::nearest(&taps) {
        Some(beats) => told.tapped(&beats),
        None => Err(Failure::user(format!(
            "--tap: {} taps tell no tempo; tap each beat evenly, {FEWEST} times at least",
            taps.len()
        ))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Taps at a tempo from a moment on, each off by up to so much, some of them left out.
    fn taps(bpm: f64, first_s: f64, off_s: f64, left_out: &[usize]) -> Vec<f64> {
        let mut random = oorandom::Rand64::new(7);
        let mut tap = |n: usize| first_s + n as f64 * 60.0 / bpm + off_s * (2.0 * random.rand_float() - 1.0);
        let all: Vec<f64> = (0..32).map(&mut tap).collect();
        (0..32).filter(|n| !left_out.contains(n)).map(|n| all[n]).collect()
    }

    #[test]
    fn a_tempo_is_found_in_uneven_taps() {
        for (bpm, first_s, off_s, left_out) in [
            (96.0, 1.25, 0.0, &[][..]),
            (40.0, 0.4, 0.05, &[3]),
            (180.0, 2.0, 0.03, &[5, 6, 20]),
            (240.0, 0.1, 0.02, &[]),
        ] {
            let beats = Beats::nearest(&taps(bpm, first_s, off_s, left_out)).unwrap();
            assert!((beats.bpm / bpm - 1.0).abs() < 0.005, "{bpm}: {beats:?}");
            assert!((beats.first_s - first_s).abs() <= off_s.max(1e-9), "{first_s}: {beats:?}");
            assert!(beats.off_s <= off_s + 1e-9, "{beats:?}");
        }
    }

    #[test]
    fn what_is_no_beat_tells_none() {
        assert_eq!(Beats::nearest(&taps(96.0, 1.0, 0.0, &[])[..7]), None);
        assert_eq!(Beats::nearest(&taps(500.0, 1.0, 0.0, &[])), None);
        assert_eq!(Beats::nearest(&[1.0; 12]), None);
        assert_eq!(Beats::nearest(&[]), None);
    }
}
