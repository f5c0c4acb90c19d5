//! From frames to notes: what sounds now, given what sounded a moment ago.
//!
//! The tracker is silent or sounds one note. In each frame: (1) the correlation chooses a pitch; (2) if the note that
//! sounds explains the frame nearly as well, it is held, and otherwise that pitch is a rival, which begins a note once
//! it was chosen in enough frames in a row; (3) the octave of the note is decided; (4) the note is read over the window
//! that suits it, or missed.

#[cfg(test)]
mod tests;

use crate::Settings;
use crate::candidates::{Candidate, Candidates, LASTING_S};
use crate::choose::{choose, is_there, mere_multiple, still_there};
use crate::flatten::Flattener;
use crate::lowpass::PASS;
use crate::note::{Durations, Note, Pitch, is_whole, near};
use crate::octave::{Octave, View, competes, share_between};
use crate::refine::{Fit, Refiner};
use crate::voicing::{self, frames_needed, lasting_strength};
use crate::window::{SHORT_S, USUAL_S, WindowSelection};
use std::ops::RangeInclusive;

/// Clarity that a note must have to begin, and to be heard in a frame. What a click leaves in a room has about as much.
const CLARITY: f64 = 0.6;

/// What the tracker makes of one frame.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Tracked {
    /// The note's pitch, or `None` while no note sounds.
    pub(crate) pitch: Option<Pitch>,
    /// How periodic the sound is, note or not.
    pub(crate) clarity: f64,
    /// A new note begins.
    pub(crate) onset: bool,
}

/// The sound of one frame, and what the correlation makes of it.
#[derive(Clone, Copy, Debug)]
struct Sound<'a> {
    history: &'a [f32],
    /// Mean square of the newest samples.
    power: f64,
    /// The repetition that the correlation chooses, with the strength that it has over [`LASTING_S`].
    best: Option<Candidate>,
}

/// A pitch that might follow the note, and the frames in a row in which it has won.
#[derive(Clone, Copy, Debug, Default)]
struct Rival {
    frequency: f64,
    frames: u32,
}

impl Rival {
    /// The candidate at the rival's pitch, if it is still there. It stands while what wins a frame is hardly a note:
    /// over a period of a high note, the sound of a low one that begins is smooth enough to seem to repeat.
    fn stands(&self, candidates: &[Candidate]) -> Option<Candidate> {
        let same = |c: &&Candidate| near(c.period.recip(), self.frequency) && is_there(candidates, c);
        candidates.iter().find(same).filter(|_| self.frames > 0).copied()
    }
}

/// Follows one note through the frames.
#[derive(Clone, Debug)]
pub(crate) struct Tracker {
    candidates: Candidates,
    refiner: Refiner,
    flattener: Flattener,
    octave: Octave,
    window: WindowSelection,
    rate: f64,
    hop: f64,
    durations: Durations,
    /// The note that sounds.
    note: Option<Note>,
    rival: Rival,
}

impl Tracker {
    /// For a working rate (hertz) and a hop (samples).
    pub(crate) fn new(rate: f64, hop: usize, settings: Settings) -> Self {
        let (low_hz, high_hz) = (settings.low_hz, settings.high_hz.min(0.5 * rate));
        // Two periods of the lowest note, and a tenth for a pitch that is not exact yet.
        let longest = ((2.2 / low_hz).max(USUAL_S) * rate).ceil() as usize;
        let range: RangeInclusive<f64> = low_hz / rate..=high_hz / rate;
        Self {
            candidates: Candidates::new(rate, low_hz, high_hz),
            refiner: Refiner::new(WindowSelection::span(rate), PASS),
            flattener: Flattener::new(rate, longest + 2),
            octave: Octave::new(range),
            window: WindowSelection::new(rate, hop),
            rate,
            hop: hop as f64,
            durations: Durations::new(hop as f64 / rate),
            note: None,
            rival: Rival::default(),
        }
    }

    /// The working rate, hertz.
    pub(crate) fn rate(&self) -> f64 {
        self.rate
    }

    /// Samples of history it needs.
    pub(crate) fn span(&self) -> usize {
        self.candidates.span().max(WindowSelection::span(self.rate))
    }

    /// Forgets the note, and what might have followed it.
    pub(crate) fn reset(&mut self) {
        (self.note, self.rival) = (None, Rival::default());
        self.octave.clear();
        self.window.clear();
    }

    /// Takes in one frame, the end of the history; `power` is its newest mean square.
    pub(crate) fn frame(&mut self, history: &[f32], power: f64) -> Tracked {
        if power < voicing::SILENCE {
            self.reset();
            return Tracked::default();
        }
        let sound = Sound { history, power, best: self.best(history) };
        let begins = sound.best.filter(|best| !self.is_held(best) && self.begins(&sound, best));
        if let Some(best) = begins {
            self.reset();
            self.note = Some(Note::new(best.period.recip(), self.durations));
        }
        let sounded = self.note.is_some();
        let followed = self.note.and_then(|note| self.follow(note, &sound, begins.is_some()));
        if let Some((note, tracked)) = followed {
            self.note = Some(note);
            return tracked;
        }
        if sounded {
            self.reset();
        }
        let clarity = sound.best.map_or(0.0, |best| f64::from(best.strength).clamp(0.0, 1.0));
        Tracked { clarity, ..Tracked::default() }
    }

    /// The repetition that the correlation chooses, with the strength that it has over [`LASTING_S`].
    fn best(&mut self, history: &[f32]) -> Option<Candidate> {
        let longest = self.candidates.longest();
        let candidates = self.candidates.find(history);
        let span = LASTING_S * self.rate;
        let lasting = |period: f64| lasting_strength(candidates, period, span, longest);
        let best = choose(candidates)?;
        let doubtful = |rival: &Candidate| {
            let needed = frames_needed(lasting(best.period), span.max(best.period));
            // A multiple of the period is always there.
            needed.is_none_or(|frames| frames > 1 && !is_whole(rival.period / best.period))
        };
        let best = self.rival.stands(candidates).filter(doubtful).unwrap_or(best);
        Some(Candidate { strength: lasting(best.period), ..best })
    }

    /// Whether the note that sounds is still there, so that no other is asked for.
    fn is_held(&self, best: &Candidate) -> bool {
        let Some(note) = &self.note else { return false };
        let pitch = note.pitch.frequency;
        !mere_multiple(best.period, pitch)
            && still_there(self.candidates.found(), |frequency| self.window.is_note(pitch, frequency))
    }

    /// Whether the pitch that the correlation chooses begins a new note in this frame.
    fn begins(&mut self, sound: &Sound, best: &Candidate) -> bool {
        let frequency = best.period.recip();
        let note = self.note;
        if note.is_some_and(|note| self.window.is_note(note.pitch.frequency, frequency)) {
            self.rival.frames = 0;
            return false;
        }
        let agrees = self.rival.frames > 0 && near(self.rival.frequency, frequency);
        self.rival = Rival { frequency, frames: if agrees { self.rival.frames + 1 } else { 1 } };
        // Of a note that is heard, `octave` decides at which octave it sounds; and all multiples of its period repeat it.
        let is_same = |note: Note| {
            let pitch = note.pitch.frequency;
            let repeats = pitch > frequency && is_whole(pitch / frequency);
            note.misses == 0 && (repeats || competes(pitch, frequency))
        };
        if note.is_some_and(is_same) {
            return false;
        }
        let extra = u32::from(note.is_some());
        let stretch = (LASTING_S * self.rate / best.period).ceil() * best.period;
        let (newest, before) = self.candidates.energies(stretch.round() as usize);
        let click = voicing::dies_away(newest, before, stretch / self.rate);
        let patient =
            frames_needed(best.strength, stretch).is_some_and(|frames| self.rival.frames >= frames + extra);
        if !patient || click {
            return false;
        }
        self.fit_short(frequency, sound.history, true).is_some_and(|fit| {
            let believed = fit.clarity >= CLARITY && near(fit.frequency, frequency);
            // The common period of two reeds is many periods of each, and nothing sounds there itself.
            let times = note.map_or(1.0, |note| (note.pitch.frequency / frequency).round()) as u32;
            believed && (times < 3 || share_between(&fit, frequency, times) > 0.0)
        })
    }

    /// Reads the note that is sounding; nothing if it has ended.
    fn follow(&mut self, mut note: Note, sound: &Sound, onset: bool) -> Option<(Note, Tracked)> {
        let mut short = self.fit_short(note.pitch.frequency, sound.history, note.is_rising());
        if let Some(frequency) = self.another_octave(&note, sound, short.as_ref()) {
            note.move_to(frequency);
            self.window.clear();
            short = self.fit_short(note.pitch.frequency, sound.history, note.is_rising());
        }
        let is_note = |fit: &Fit| onset || self.window.is_note(note.pitch.frequency, fit.frequency);
        let Some(short) = short.filter(|fit| fit.clarity >= CLARITY && is_note(fit)) else {
            let ended = note.miss(sound.power, self.hop);
            let tracked = Tracked { pitch: Some(note.pitch), clarity: 0.0, onset: false };
            return (!ended).then_some((note, tracked));
        };
        let level = if note.is_rising() { self.flattener.flattened() } else { sound.history };
        note.hear(sound.power);
        note.pitch = self.window.read(&mut self.refiner, [sound.history, level], &short, &note);
        let again = note.struck_again(sound.power);
        Some((note, Tracked { pitch: Some(note.pitch), clarity: short.clarity, onset: onset || again }))
    }

    /// A note of about this frequency over the shortest window, at a flattened amplitude while it rises. The fit knows
    /// which share of the sound does not repeat.
    fn fit_short(&mut self, frequency: f64, history: &[f32], rises: bool) -> Option<Fit> {
        let level = if rises {
            let energies = |stretch| self.candidates.energies(stretch);
            self.flattener.flatten(history, frequency.recip(), energies)
        } else {
            history
        };
        let fit = self.refiner.fit_again(level, frequency, SHORT_S * self.rate)?;
        Some(fit.with_noise_share(voicing::noise_share(&self.candidates, fit.frequency.recip())))
    }

    /// The pitch of another octave to which the note moves, if it does.
    fn another_octave(&mut self, note: &Note, sound: &Sound, short: Option<&Fit>) -> Option<f64> {
        // Half of its time so far lies behind the attack.
        let behind = 0.5 * f64::from(note.age) * self.hop;
        let [usual, longest] = self.window.take_fits();
        let long = longest.filter(|_| note.is_due_in_long_windows());
        let mut view = View {
            history: sound.history,
            candidates: &self.candidates,
            refiner: &mut self.refiner,
            frequency: note.pitch.frequency,
            fits: [usual.or(short.copied()), longest],
            shortest: behind.clamp(SHORT_S * self.rate, USUAL_S * self.rate),
            long: long.map(|fit| fit.length),
        };
        self.octave.decide(&mut view)
    }
}
