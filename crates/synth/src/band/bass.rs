//! What the bass plays: the root where a chord begins, and from there to the next chord as the feel wants it.

use crate::random::between;
use oorandom::Rand32;
use theory::{Chord, Degree, Groove};

/// The lowest note of the bass, E1: that of a double bass with four strings. A MIDI key number.
const LOWEST: i32 = 28;
/// What lies above this, A2, is played an octave lower, so that the bass keeps below the chords.
const HIGHEST: i32 = 45;
/// The most notes of a stretch: two to a beat over six beats.
const MOST: usize = 12;

/// A chord for so many beats, and where the bass goes from there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stretch {
    /// The chord.
    pub(super) chord: Chord,
    /// Its first beat and the beat after its last one, in their bar.
    pub(super) beats: (f64, f64),
    /// The chord after it.
    pub(super) next: Chord,
    /// Whether the bar is the second of two that hold this chord alone: the bass may turn back there.
    pub(super) answers: bool,
}

/// A note of the bass.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct BassNote {
    /// When it begins, beats since the bar began.
    pub(super) beat: f64,
    /// MIDI key number.
    pub(super) midi: i32,
    /// How strongly, against the usual 1.
    pub(super) strength: f64,
}

/// The notes of a stretch, kept without a list that would have to grow.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Line {
    notes: [BassNote; MOST],
    count: usize,
}

impl Line {
    pub(super) fn notes(&self) -> &[BassNote] {
        &self.notes[..self.count]
    }

    fn put(&mut self, beat: f64, midi: i32, strength: f64) {
        if let Some(place) = self.notes.get_mut(self.count) {
            *place = BassNote { beat, midi, strength };
            self.count += 1;
        }
    }
}

/// The bass note of a chord in the lowest octave of the instrument, a MIDI key number.
pub(super) fn root(chord: &Chord) -> i32 {
    LOWEST + (i32::from(chord.bass.semitones()) - LOWEST).rem_euclid(12)
}

/// The line of a stretch. Which notes a walking bass takes, and that a two-beat bass alternates with the fifth, is
/// common practice (no source).
pub(super) fn line(feel: Groove, slow: bool, stretch: &Stretch, random: &mut Rand32) -> Line {
    let mut line = Line::default();
    match feel {
        Groove::Shuffle | Groove::Swing | Groove::SlowTwelve => {
            walk(feel, stretch, random, &mut line);
        }
        Groove::Straight | Groove::Train => {
            let step = if feel == Groove::Train && slow { 1.0 } else { 2.0 };
            alternate(step, stretch, &mut line);
        }
        Groove::Waltz => alternate(3.0, stretch, &mut line),
    }
    if feel == Groove::Straight {
        // A push into the third beat.
        let (from, until) = stretch.beats;
        if from + 2.0 <= until {
            line.put(from + 1.5, root(&stretch.chord), 0.6);
        }
    }
    line
}

/// Root and fifth in turn, one every `step` beats. Where a stretch holds one note only, the fifth comes in the bar that
/// answers.
fn alternate(step: f64, stretch: &Stretch, line: &mut Line) {
    let (from, until) = stretch.beats;
    let low = root(&stretch.chord);
    let fifth = placed(low + above(&stretch.chord, 5).unwrap_or(7));
    let single = until - from <= step;
    for (index, beat) in each(from, until, step).enumerate() {
        let on_root = if single { !stretch.answers } else { index % 2 == 0 };
        line.put(beat, if on_root { low } else { fifth }, if index % 2 == 0 { 1.0 } else { 0.85 });
    }
}

/// A note for each beat: up the chord and towards the root of the next one.
fn walk(feel: Groove, stretch: &Stretch, random: &mut Rand32, line: &mut Line) {
    let (from, until) = stretch.beats;
    let chord = &stretch.chord;
    let low = root(chord);
    let third = above(chord, 3).or(above(chord, 4)).or(above(chord, 2)).unwrap_or(7);
    let fifth = above(chord, 5).unwrap_or(7);
    let top = above(chord, 6).or(above(chord, 7)).unwrap_or(9);
    // A shuffle takes the sixth above every chord that is not minor, with or without a seventh.
    let sixth = if feel == Groove::Shuffle && !chord.kind.is_minor() { 9 } else { top };
    let ways = [
        [0, third, fifth, sixth],
        [0, fifth, third, fifth],
        [0, third, fifth, third],
        [0, fifth, sixth, fifth],
    ];
    let choice = (between(random, 0.0, 1.999) as usize) + usize::from(stretch.answers) * 2;
    let goes_on = stretch.next.bass == chord.bass;
    let beats: usize = each(from, until, 1.0).count();
    for (index, beat) in each(from, until, 1.0).enumerate() {
        let last = index + 1 == beats && index > 0;
        let midi = if last && !goes_on {
            approach(low + ways[choice][(index - 1) % 4], root(&stretch.next), random)
        } else {
            placed(low + ways[choice][index % 4])
        };
        line.put(beat, midi, if index % 2 == 0 { 1.0 } else { 0.9 });
        // A slow beat is long enough for a note that leads into the next one.
        if feel == Groove::SlowTwelve && index % 2 == 0 && beats > 1 {
            line.put(beat + 2.0 / 3.0, midi, 0.55);
        }
    }
}

/// The note before another root: a half step off it, from the side on which the bass is, or else its fifth.
fn approach(from: i32, to: i32, random: &mut Rand32) -> i32 {
    let side = if from < to { -1 } else { 1 };
    let note = if between(random, 0.0, 1.0) < 0.75 { to + side } else { to + 7 };
    placed(note)
}

/// The beats from `from` up to `until`, `step` apart.
fn each(from: f64, until: f64, step: f64) -> impl Iterator<Item = f64> {
    // A chord may begin between two beats; a remainder of less than a thousandth of a step is heard by nobody and gets
    // no note.
    let count = ((until - from) / step - 0.001).ceil().max(1.0) as u32;
    (0..count).map(move |index| from + step * f64::from(index))
}

/// Semitones from the bass note of a chord up to the degree with this number, if the chord has it.
fn above(chord: &Chord, number: u8) -> Option<i32> {
    let degree: Degree = chord.kind.degrees().find(|degree| degree.number() == number)?;
    let class = chord.root.up(i32::from(degree.semitones()));
    Some(i32::from(chord.bass.semitones_to(class)))
}

/// A note, moved by an octave into the range of the bass if it lies outside.
fn placed(midi: i32) -> i32 {
    if midi < LOWEST {
        midi + 12
    } else if midi > HIGHEST {
        midi - 12
    } else {
        midi
    }
}
