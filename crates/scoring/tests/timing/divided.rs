//! From readings to notes: what divides them and what does not, on pitch lines that are written down.

use layout::{ConcertPitch, Note};
use pitch::Reading;
use scoring::timed::{Divided, Notes};

/// Samples a second.
pub(crate) const RATE: f64 = 48_000.0;
/// Samples from one reading to the next: 2.5 ms, as the ear tells.
pub(crate) const HOP: u64 = 120;
/// A note counts from so long on, seconds, as in a run.
const COUNTS_S: f64 = 0.06;

/// The notes of some readings.
pub(crate) fn notes_of(readings: impl Iterator<Item = Reading>) -> Vec<Divided> {
    let mut notes = Notes::new(RATE, COUNTS_S);
    let concert = ConcertPitch::default();
    let mut all: Vec<Divided> = readings.filter_map(|reading| notes.hear(concert, &reading)).collect();
    all.extend(notes.end());
    all
}

fn note(name: &str) -> Note {
    name.parse().unwrap()
}

/// The notes of a pitch line in cents above C5 (`None` is silence), at a level that never changes.
fn line(seconds: f64, cents: impl Fn(f64) -> Option<f64>) -> Vec<Divided> {
    let c5 = ConcertPitch::default().hz(note("C5"), 0.0);
    notes_of((0..(seconds * RATE).round() as u64 / HOP).map(|number| Reading {
        time: number * HOP,
        known: number * HOP + 480,
        hz: cents((number * HOP) as f64 / RATE).map(|cents| c5 * (cents / 1200.0).exp2()),
        sigma_cents: 0.5,
        clarity: 0.95,
        level_dbfs: -20.0,
        onset: false,
    }))
}

fn names(notes: &[Divided]) -> String {
    notes.iter().map(|note| note.note.to_string()).collect::<Vec<_>>().join(" ")
}

fn seconds(sample: u64) -> f64 {
    sample as f64 / RATE
}

#[test]
fn a_note_is_what_sounds_between_two_silences() {
    let within = |t: f64, spans: &[(f64, f64)]| spans.iter().any(|(from, to)| (*from..*to).contains(&t));
    let told = line(2.0, |t| within(t, &[(0.2, 0.7), (1.0, 1.5)]).then_some(4.0));
    assert_eq!(names(&told), "C5 C5");
    for (note, (began, last)) in told.iter().zip([(0.2, 0.7), (1.0, 1.5)]) {
        assert!((seconds(note.began) - began).abs() < 0.0026, "{began}");
        assert!((seconds(note.last) - last).abs() < 0.0051, "{last}");
        assert!(
            (note.median_hz().unwrap() - 524.46).abs() < 0.01,
            "C5 is 523.25 Hz, and 4 cents are 1.21 of it"
        );
    }
    // The ear drops out for 60 ms, which divides nothing, and for 80 ms, which does.
    assert_eq!(names(&line(1.0, |t| (!within(t, &[(0.5, 0.56)])).then_some(0.0))), "C5");
    assert_eq!(names(&line(1.0, |t| (!within(t, &[(0.5, 0.58)])).then_some(0.0))), "C5 C5");
    // A sound shorter than 60 ms is no note; a little longer it is one.
    assert_eq!(names(&line(1.0, |t| within(t, &[(0.5, 0.55)]).then_some(0.0))), "");
    assert_eq!(names(&line(1.0, |t| within(t, &[(0.5, 0.57)]).then_some(0.0))), "C5");
}

#[test]
fn a_slide_divides_where_it_crosses_midway() {
    // A whole tone in 100 ms or 60 ms, up or down: midway lies in the middle of the slide.
    for (slide_s, to) in [(0.1, 200.0), (0.06, -200.0), (0.06, 100.0)] {
        let told = line(1.0, |t| Some(to * ((t - 0.4) / slide_s).clamp(0.0, 1.0)));
        let second = ConcertPitch::default().nearest(523.25 * f64::exp2(to / 1200.0)).unwrap().0;
        assert_eq!(told.iter().map(|note| note.note).collect::<Vec<_>>(), [note("C5"), second]);
        assert!(
            (seconds(told[1].began) - 0.4 - slide_s / 2.0).abs() < 0.0005,
            "{to}: {}",
            seconds(told[1].began)
        );
    }
    // A jump has its middle between two readings.
    let told = line(1.0, |t| Some(if t < 0.4999 { 0.0 } else { 300.0 }));
    assert_eq!(names(&told), "C5 E♭5");
    assert!((0.4975..=0.5).contains(&seconds(told[1].began)), "{}", seconds(told[1].began));
}

#[test]
fn a_pitch_that_wavers_or_visits_stays_one_note() {
    // A wide vibrato, 60 cents to either side, is nearer to the notes beside for 34 ms at a time.
    let vibrato =
        |t: f64| Some(60.0 * f64::from(u8::from(t >= 0.2)) * (std::f64::consts::TAU * 5.5 * t).sin());
    assert_eq!(names(&line(1.5, vibrato)), "C5");
    // Half a semitone off, with 10 cents of wavering: now nearer to one note, now to the other, and still one.
    assert_eq!(line(1.5, |t| Some(50.0 + 10.0 * (40.0 * t).sin())).len(), 1);
    // 45 ms of the neighbour are a blip, 90 ms are a note.
    let visit = |length_s: f64| {
        names(&line(1.5, |t| Some(if (0.5..0.5 + length_s).contains(&t) { 200.0 } else { 0.0 })))
    };
    assert_eq!(visit(0.045), "C5");
    assert_eq!(visit(0.09), "C5 D5 C5");
}

#[test]
fn a_scoop_is_the_way_into_a_note_and_not_one_of_its_own() {
    // From a whole tone above, as from the natural reed into a bend, within 80 ms of the beginning.
    let told = line(1.0, |t| (t >= 0.2).then(|| 200.0 * (1.0 - (t - 0.2) / 0.055).max(0.0)));
    assert_eq!(names(&told), "C5");
    assert!((seconds(told[0].began) - 0.2).abs() < 0.0026, "{}", seconds(told[0].began));
}

#[test]
fn a_second_thought_about_the_octave_or_the_twelfth_makes_no_note() {
    // What the ear took for an overtone at first, for 80 ms: the octave is 1200 cents, the twelfth 1902.
    for first in [1200.0, 1902.0, -1200.0] {
        let told = line(1.0, |t| (t >= 0.2).then_some(if t < 0.28 { first } else { 0.0 }));
        assert_eq!(names(&told), "C5", "{first}");
        assert!((seconds(told[0].began) - 0.2).abs() < 0.0026, "{first}: {}", seconds(told[0].began));
    }
    // The ear never corrects by a fifth or by two octaves; and after a quarter of a second an octave is a leap.
    for (first, until, names_of) in [(700.0, 0.28, "G5 C5"), (2400.0, 0.28, "C7 C5"), (1200.0, 0.45, "C6 C5")]
    {
        let told = line(1.0, |t| (t >= 0.2).then_some(if t < until { first } else { 0.0 }));
        assert_eq!(names(&told), names_of);
    }
}

#[test]
fn a_pitch_that_jumps_about_is_no_reed() {
    // What a click leaves in a room: each reading elsewhere, 40 cents away, which is 16 000 cents a second.
    let jumps = |t: f64| Some(if ((t * 400.0).round() as u64).is_multiple_of(2) { -20.0 } else { 20.0 });
    assert_eq!(names(&line(0.4, jumps)), "");
    // The widest vibrato of the throat: 100 cents to either side, seven times a second.
    let vibrato = |t: f64| Some(100.0 * (std::f64::consts::TAU * 7.0 * t).sin());
    assert!(!line(1.5, vibrato).is_empty());
    // A reading that is elsewhere makes two fast moves: of nine moves two are an imperfect ear, of five they are too
    // many.
    let astray = |one_of: u64| {
        names(&line(0.4, |t| {
            Some(if ((t * 400.0).round() as u64).is_multiple_of(one_of) { 30.0 } else { 0.0 })
        }))
    };
    assert_eq!((astray(9).as_str(), astray(5).as_str()), ("C5", ""));
}

#[test]
fn the_note_that_sounds_is_told_once_it_counts() {
    let mut notes = Notes::new(RATE, COUNTS_S);
    let concert = ConcertPitch::default();
    let mut first = None;
    for number in 0..100 {
        let time = number * HOP;
        let hz = Some(523.25).filter(|_| number >= 20);
        let (sigma_cents, clarity, level_dbfs, onset) = (0.5, 0.95, -20.0, false);
        notes.hear(concert, &Reading { time, known: time, hz, sigma_cents, clarity, level_dbfs, onset });
        first = first.or(notes.sounding().map(|note| (note.note, note.began, time)));
    }
    // From 50 ms on, and 60 ms have to be heard of it.
    assert_eq!(first, Some((note("C5"), 20 * HOP, 44 * HOP)));
}
