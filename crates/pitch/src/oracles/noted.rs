//! From frames to notes: what begins one and what ends it, as a plain table of states.

use super::{Dice, RATE, correlation_by_definition, explained, tone};
use crate::Settings;
use crate::note::{Durations, Note};
use crate::track::Tracker;

/// Samples between two frames.
const HOP: usize = 40;

/// What a frame shows.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Shown {
    Silence,
    Noise,
    /// A clear tone of this many hertz.
    Tone(f64),
}

/// Two tones that have no period in common, a tritone, and are high enough for a short window to part them.
const TONES: [f64; 2] = [1_244.5, 1_760.0];

/// A note as the table knows it.
#[derive(Clone, Copy, Debug)]
struct Known {
    hz: f64,
    heard: u32,
    missed: u32,
    usual: f64,
    peak: f64,
    dipped: bool,
}

/// The rules in words. Silence ends a note at once. A clear tone begins one at its first frame, if no other sounds; if
/// another does, at its second, since it must win one more. A note ends once four frames more were missed than heard,
/// or twelve if it was heard in more than twelve and the sound is still half as loud. A note that fell to 8 % of its
/// peak and comes back to 40 % has been struck again.
#[derive(Debug, Default)]
struct Table {
    note: Option<Known>,
    rival: Option<(f64, u32)>,
    /// The last frame was noise.
    noise: bool,
}

impl Table {
    /// The pitch that is told at a frame, and whether a note begins; `None` if chance decides.
    fn frame(&mut self, shown: Shown, power: f64) -> Option<(Option<f64>, bool)> {
        if shown == Shown::Silence {
            (self.note, self.rival) = (None, None);
            return Some((None, false));
        }
        // What noise has at the pitch of a rival is chance.
        let noise = shown == Shown::Noise;
        let after_noise = std::mem::replace(&mut self.noise, noise);
        let another = self.note.is_some_and(|note| shown != Shown::Tone(note.hz));
        if another && (after_noise && !noise || noise && self.rival.is_some()) {
            return None;
        }
        let begins = match shown {
            Shown::Tone(hz) => self.challenge(hz),
            _ => false,
        };
        let Some(mut note) = self.note else { return Some((None, false)) };
        let heard = shown == Shown::Tone(note.hz);
        if heard {
            note.heard += 1;
            note.missed = note.missed.saturating_sub(1);
            note.usual += (power - note.usual) * (1.0 / f64::from(note.heard)).max(0.117_5);
            note.peak = note.peak.max(note.usual);
            note.dipped |= power < 0.08 * note.peak;
            let again = note.dipped && power > 0.4 * note.peak;
            note.dipped &= !again;
            self.note = Some(note);
            return Some((Some(note.hz), begins || again));
        }
        note.missed += 1;
        let covered = note.heard > 12 && power > 0.5 * note.usual;
        if note.missed >= if covered { 12 } else { 4 } {
            (self.note, self.rival) = (None, None);
            return Some((None, false));
        }
        self.note = Some(note);
        Some((Some(note.hz), false))
    }

    /// Whether a tone begins a note of its own.
    fn challenge(&mut self, hz: f64) -> bool {
        // A held note leaves the rival as it is.
        if self.note.is_some_and(|note| note.hz == hz) {
            return false;
        }
        let needed = if self.note.is_some() { 2 } else { 1 };
        let frames = self.rival.filter(|rival| rival.0 == hz).map_or(1, |rival| rival.1 + 1);
        self.rival = Some((hz, frames));
        if frames < needed {
            return false;
        }
        self.rival = None;
        self.note = Some(Known { hz, heard: 0, missed: 0, usual: 0.0, peak: 0.0, dipped: false });
        true
    }
}

/// A script of frames: what is shown, and its power.
fn script(dice: &mut Dice) -> Vec<(Shown, f64)> {
    let mut frames = Vec::new();
    while frames.len() < 60 {
        let shown = match dice.pick(8) {
            0 => Shown::Silence,
            1 | 2 => Shown::Noise,
            n => Shown::Tone(TONES[n % 2]),
        };
        let power = match shown {
            Shown::Silence => 0.0,
            _ => 0.01 * [0.0005, 0.4, 1.0, 1.0, 2.0, 6.0][dice.pick(6)],
        };
        let most = [16, 5, 5][dice.pick(3)];
        let count = 1 + dice.pick(most);
        frames.extend(std::iter::repeat_n((shown, power), count));
    }
    frames
}

/// Whether noise has by chance nothing of a tone in its newest part: neither harmonics nor a repetition.
fn is_clear_of(x: &[f32], hz: f64) -> bool {
    let periods = (0.0035 * hz).floor();
    let newest = &x[x.len() - (periods * RATE / hz).round() as usize..];
    // Of a Hann window the sum is half its length, and the sum of squares under it about as much.
    let power: f64 = newest.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() / newest.len() as f64;
    let share = explained(newest, hz / RATE, 5) * 8.0 / (newest.len() as f64).powi(2) / power;
    let last = ((202.0 * hz / RATE).floor() * RATE / hz).round() as usize;
    share < 0.45 && (last - 1..=last + 1).all(|lag| correlation_by_definition(x, lag, lag) < 0.3)
}

/// The history that shows it; noise is another one at each frame.
fn history(shown: Shown, dice: &mut Dice, span: usize, tones: &[Vec<f32>; 2]) -> Vec<f32> {
    match shown {
        Shown::Silence => vec![0.0; span],
        Shown::Noise => loop {
            let x: Vec<f32> = (0..span).map(|_| 0.1 * dice.normal() as f32).collect();
            if TONES.iter().all(|hz| is_clear_of(&x, *hz)) {
                return x;
            }
        },
        Shown::Tone(hz) => {
            let from = dice.pick(1_000);
            tones[usize::from(hz == TONES[1])][from..from + span].to_vec()
        }
    }
}

#[test]
fn notes_begin_and_end_by_the_table() {
    let tones = TONES.map(|hz| tone(hz, 4_000, 0.0));
    let (mut frames, mut begun, mut struck) = (0, 0, 0);
    for seed in 0..150 {
        let mut dice = Dice::new(seed);
        let mut tracker = Tracker::new(RATE, HOP, Settings::new(RATE));
        let mut table = Table::default();
        for (frame, (shown, power)) in script(&mut dice).into_iter().enumerate() {
            let before = table.note;
            let Some((hz, onset)) = table.frame(shown, power) else { break };
            // Soon long windows have their say too.
            if table.note.is_some_and(|note| note.heard > 15) {
                break;
            }
            let heard = tracker.frame(&history(shown, &mut dice, tracker.span(), &tones), power);
            let told = heard.pitch.map(|pitch| pitch.frequency * RATE);
            let same = match (told, hz) {
                (Some(told), Some(hz)) => (told / hz - 1.0).abs() < 0.02,
                (told, hz) => told.is_none() && hz.is_none(),
            };
            assert!(
                same && heard.onset == onset,
                "frame {frame} of seed {seed}, {shown:?} at {power}: {told:?} with {} for {hz:?} with {onset}, {before:?}",
                heard.onset
            );
            frames += 1;
            begun += u32::from(onset);
            struck += u32::from(onset && before.is_some_and(|before| Some(before.hz) == hz));
        }
    }
    let enough = frames > 2_000 && begun > 300 && struck > 5;
    assert!(enough, "{frames} frames, {begun} begin, {struck} struck again");
}

#[test]
fn at_another_octave_a_note_is_as_unsure_in_cents_as_it_was() {
    for ratio in [1.0 / 3.0, 0.5, 2.0, 3.0, 4.0] {
        let mut note = Note::new(440.0 / RATE, Durations::new(HOP as f64 / RATE));
        // A hundredth of the frequency, 17 cents.
        note.pitch.uncertainty = 4.4 / RATE;
        note.move_to(440.0 * ratio / RATE);
        assert!((note.pitch.uncertainty / note.pitch.frequency - 0.01).abs() < 1.0e-12, "{:?}", note.pitch);
    }
}
