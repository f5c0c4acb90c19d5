//! The chords of the band by a chroma of this file's own: in each stretch of the sound the strongest pitch classes are
//! those of the chord that the progression has there.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

use layout::Note;
use std::collections::BTreeSet;
use std::f64::consts::TAU;
use synth::{Band, BandPart, BandPlan};
use theory::{Chord, Groove, NoteName, Progression, Progressions, ScaleInKey, Scales};

/// Sample rate, hertz: enough for chords, and quick.
const RATE: f64 = 6_000.0;
/// The lowest of the two octaves of notes whose energy is counted: B♭3, a MIDI key number. The second harmonics of the
/// chords lie above it. The second harmonics of the bass lie below it and are not counted, because not all notes of the
/// bass are of the chord.
const HEARD: i32 = 58;
/// Samples of a window: a third of a second, which tells B♭3 from its neighbours. Each window begins half a window
/// after the one before. Their energies are added up, because strokes that follow each other may cancel each other in
/// one long window.
const WINDOW: usize = 2_048;

/// The energy at a frequency (Goertzel, American Mathematical Monthly 65, 1958).
fn energy(sound: &[f64], hz: f64) -> f64 {
    let twice = 2.0 * (TAU * hz / RATE).cos();
    let (mut one, mut two) = (0.0, 0.0);
    for x in sound {
        (two, one) = (one, x + twice * one - two);
    }
    one * one + two * two - twice * one * two
}

/// The `count` strongest pitch classes.
fn strongest(sound: &[f32], count: usize, lowest: i32) -> BTreeSet<u8> {
    let mut chroma = [0.0; 12];
    let hann: Vec<f64> = (0..WINDOW).map(|n| 0.5 - 0.5 * (TAU * n as f64 / WINDOW as f64).cos()).collect();
    for part in sound.windows(WINDOW).step_by(WINDOW / 2) {
        let part: Vec<f64> = part.iter().zip(&hann).map(|(x, window)| f64::from(*x) * window).collect();
        for midi in lowest..lowest + 24 {
            chroma[midi as usize % 12] += energy(&part, 440.0 * 2f64.powf(f64::from(midi - 69) / 12.0));
        }
    }
    let mut classes: Vec<u8> = (0..12).collect();
    classes.sort_by(|a, b| chroma[usize::from(*b)].total_cmp(&chroma[usize::from(*a)]));
    classes.into_iter().take(count).collect()
}

fn classes(chord: &Chord) -> BTreeSet<u8> {
    chord.kind.degrees().map(|degree| chord.root.up(i32::from(degree.semitones())).semitones()).collect()
}

/// Each chord of a form: which it is, from which and to which beat.
fn stretches(bars: &[Vec<Chord>], beats: f64) -> Vec<(Chord, f64, f64)> {
    let mut all = Vec::new();
    for (bar, chords) in bars.iter().enumerate() {
        let each = beats / chords.len() as f64;
        for (index, chord) in chords.iter().enumerate() {
            let from = bar as f64 * beats + index as f64 * each;
            all.push((*chord, from, from + each));
        }
    }
    all
}

fn in_key(form: &Progression, tonic: &str) -> Vec<Vec<Chord>> {
    let tonic: NoteName = tonic.parse().unwrap();
    let key = ScaleInKey::new(Scales::ours().find("major").unwrap().clone(), tonic);
    form.bars().iter().map(|bar| bar.iter().map(|function| function.chord(&key)).collect()).collect()
}

#[test]
fn below_a_low_harp_the_chord_is_thinner_and_still_the_chord() {
    let form = Progressions::ours().find("jazz twelve-bar").unwrap().clone();
    let bars = in_key(&form, "C");
    // A low F harp begins with F3, 53; its chords reach down to G2, 43, and their second harmonics to G3. The bass
    // would be among those, and is left out.
    let low = Note::new(53).unwrap();
    let plan = BandPlan::new(&bars, Groove::Straight, 90.0).unwrap().below(low);
    let mut sound = vec![0.0; (12.0 * 4.0 * 60.0 / 90.0 * RATE) as usize];
    Band::new(&plan, RATE).without(BandPart::Bass).fill(&mut sound);
    for (chord, from, until) in stretches(&bars, 4.0) {
        let at = |beat: f64| (beat * 60.0 / 90.0 * RATE) as usize;
        let found = strongest(&sound[at(from)..at(until)], 3, 55);
        assert!(found.is_subset(&classes(&chord)), "beat {from}: {found:?} of {:?}", classes(&chord));
    }
}

#[test]
fn each_chord_is_the_one_of_the_progression() {
    let mut wrong = Vec::new();
    let mut heard = 0;
    for form in &Progressions::ours() {
        for feel in Groove::ALL {
            for (key, bpm) in [("A", 100.0), ("F", 60.0), ("Bb", 150.0)] {
                let bars = in_key(form, key);
                let plan = BandPlan::new(&bars, feel, bpm).unwrap();
                let beats = if feel == Groove::Waltz { 3.0 } else { 4.0 };
                let mut sound = vec![0.0; (bars.len() as f64 * beats * 60.0 / bpm * RATE) as usize];
                assert_eq!(Band::new(&plan, RATE).fill(&mut sound), sound.len());
                for (chord, from, until) in stretches(&bars, beats) {
                    let at = |beat: f64| ((beat * 60.0 / bpm * RATE) as usize).min(sound.len());
                    let (wanted, part) = (classes(&chord), &sound[at(from)..at(until)]);
                    let found = strongest(part, wanted.len(), HEARD);
                    heard += 1;
                    if found != wanted {
                        wrong.push(format!(
                            "{} {key} {feel:?} {bpm} beat {from}: {wanted:?}, heard {found:?}",
                            form.name()
                        ));
                    }
                }
            }
        }
    }
    assert!(heard > 1_000, "{heard}");
    assert!(wrong.is_empty(), "{} of {heard} wrong:\n{}", wrong.len(), wrong.join("\n"));
}
