//! What one note of a run is told, from the readings of which it was divided.

use crate::divided::RATE;
use crate::runs::{asked, played, verdict_of};
use layout::Breath;
use scoring::reeds::Holes;
use scoring::timed::{AskedNote, Beat, ChordHeard, Chug, Divided, Masked, MaskedAt, PlayedAt};

/// D5 from 1 s of the stream on, one reading in 2.5 ms, off by the cents that `cents` gives for the seconds since it
/// began. The first beat was at 0.5 s.
fn note(seconds: f64, cents: impl Fn(f64) -> f64) -> PlayedAt {
    let points: Vec<(u64, f64)> = (0..=(seconds * 400.0).round() as u64)
        .map(|number| (48_000 + number * 120, 587.3295 * (cents(number as f64 / 400.0) / 1200.0).exp2()))
        .collect();
    let last = points.last().unwrap().0;
    let divided = Divided { note: "D5".parse().unwrap(), began: 48_000, last, points };
    PlayedAt::new(&divided, 24_000.0, RATE)
}

#[test]
fn a_note_is_played_where_its_samples_are_and_held_where_it_stays() {
    let steady = note(0.2, |_| 7.0);
    assert_eq!((steady.note.to_string(), steady.onset_s, steady.ended_s), ("D5".to_owned(), 0.5, 0.7));
    let (hz, held_s) = steady.held.unwrap();
    assert!(
        (hz - 589.709).abs() < 0.001 && (held_s - 0.2).abs() < 1e-9,
        "7 cents are 2.3796 of 587.3295 Hz: {hz}"
    );
    // A slide of 60 ms from a whole tone above is the way into it: of the slide the last 30 cents belong to it.
    let (hz, held_s) = note(0.2, |t| 200.0 * (1.0 - t / 0.06).max(0.0)).held.unwrap();
    assert!((held_s - 0.14 - 0.06 * 30.0 / 200.0).abs() < 0.004, "{held_s}");
    assert!((layout::cents_between(587.3295, hz)).abs() < 2.0, "{hz}");
    // A vibrato of 25 cents counts by its middle, wherever it is cut off.
    let (hz, _) = note(0.45, |t| 5.0 + 25.0 * (std::f64::consts::TAU * 5.5 * t).sin()).held.unwrap();
    assert!((layout::cents_between(587.3295, hz) - 5.0).abs() < 2.0, "{hz}");
    // 60 ms have to be held: a shorter note, and one that only passes by.
    assert!(note(0.05, |_| 0.0).held.is_none() && note(0.065, |_| 0.0).held.is_some());
    assert!(note(0.1, |t| 1_000.0 * t).held.is_none());
}

#[test]
fn a_chord_is_played_where_its_samples_are() {
    let heard = ChordHeard { breath: Some(Breath::Blow), ..ChordHeard::default() };
    let chug = Chug { began: 48_000, last: 60_000, heard };
    let chord = PlayedAt::of_chord(&chug, "C4".parse().unwrap(), (24_000.0, RATE));
    assert_eq!((chord.onset_s, chord.ended_s, chord.held, chord.chord), (0.5, 0.75, None, Some(heard)));
    // What is asked for is every hole of it, on its breath.
    let row = asked("-1", 0.5);
    let three: Holes = [1, 2, 3].into_iter().collect();
    let ways: Vec<(u8, Breath)> =
        AskedNote { holes: three, ..row[0] }.ways().map(|way| (way.hole, way.breath)).collect();
    assert_eq!(ways, [(1, Breath::Draw), (2, Breath::Draw), (3, Breath::Draw)]);
    assert_eq!(row[0].ways().collect::<Vec<_>>(), [row[0].way]);
}

#[test]
fn the_pitch_of_a_note_is_told_as_of_a_try_in_a_drill() {
    let asked = asked("-4' -4", 0.5);
    let word = |first: PlayedAt| {
        let told =
            verdict_of(&asked, &[first, played(asked[1].way, 0.5, 0.0)], &MaskedAt::default(), Beat::Known);
        (told.notes[0].word(), told.notes[0].cents.map(|cents| cents.round() as i32))
    };
    assert_eq!(word(played(asked[0].way, 0.0, -12.0)), ("landed", Some(-12)));
    assert_eq!(word(played(asked[0].way, 0.0, 40.0)), ("short", Some(40)));
    assert_eq!(word(played(asked[0].way, 0.0, -40.0)), ("past", Some(-40)));
    // Another note has no cents from this one. If it is too short to have a pitch, only that it was another note is
    // told.
    let far = layout::Way { hole: 6, ..asked[1].way };
    assert_eq!(word(played(far, 0.0, 0.0)), ("another note", None));
    let brief = |note: PlayedAt| PlayedAt { held: None, ..note };
    assert_eq!(word(brief(played(far, 0.0, 0.0))), ("another note", None));
    assert_eq!(word(brief(played(asked[0].way, 0.0, 0.0))), ("cannot tell", None));
    let told = verdict_of(&asked, &[], &MaskedAt::default(), Beat::Known);
    assert_eq!((told.notes[0].word(), told.notes[0].pitch), ("missing", None));
}

/// Whether nothing is told of the second of four quarters, which is played so many milliseconds late and cents sharp
/// where the loudspeaker may hide it between two moments, milliseconds from the first beat. The run as a whole is late
/// by `late_ms`.
fn masked(late_ms: f64, (own_ms, cents): (f64, f64), (from, until): (u64, u64)) -> bool {
    let asked = asked("4 -4 5 -5", 0.5);
    let at = |i: usize| asked[i].onset_s + late_ms / 1e3;
    let mut notes: Vec<PlayedAt> = (0..4).map(|i| played(asked[i].way, at(i), 0.0)).collect();
    notes[1] = played(asked[1].way, at(1) + own_ms / 1e3, cents);
    let mut stretches = Masked::default();
    stretches.add(from, until, 1_000.0);
    verdict_of(&asked, &notes, &stretches.seconds(0.0, 1_000.0), Beat::OwnMiddle).notes[1].is_masked()
}

#[test]
fn nothing_is_told_against_a_note_that_may_have_been_hidden() {
    // It is asked for at 0.5 s and sounds for 0.2 s. Late by 80 ms, it may have begun in time where the loudspeaker was
    // loud from the beat until it was heard; not where that ended 50 ms before it was heard, nor where it began more
    // than 50 ms after the beat.
    assert!(masked(0.0, (80.0, 0.0), (490, 580)));
    assert!(!masked(0.0, (80.0, 0.0), (480, 530)) && !masked(0.0, (80.0, 0.0), (560, 590)));
    // Early by 80 ms: what was heard may have been the loudspeaker where that sounds on until 45 ms before the beat,
    // and not where it stops 75 ms before.
    assert!(masked(0.0, (-80.0, 0.0), (415, 455)) && !masked(0.0, (-80.0, 0.0), (400, 425)));
    // The same of a run that is 0.2 s late as a whole.
    assert!(masked(200.0, (80.0, 0.0), (690, 780)) && !masked(200.0, (80.0, 0.0), (680, 730)));
    // Out of tune in time: a quarter of the note has to be hidden. From the beat it lasts 0.2 s.
    assert!(masked(0.0, (0.0, 40.0), (600, 660)) && !masked(0.0, (0.0, 40.0), (600, 640)));
    // What is right is right.
    assert!(!masked(0.0, (10.0, 0.0), (480, 700)));
}

#[test]
fn another_stream_has_nothing_hidden() {
    let mut stretches = Masked::default();
    stretches.add(1_000, 2_000, 1_000.0);
    stretches.clear();
    assert_eq!(stretches.lasts_s(0, 1_000.0), 0.0);
    // Apart by 60 ms they are one: no note is heard between them. By 70 ms they are two.
    stretches.add(1_000, 1_100, 1_000.0);
    stretches.add(1_160, 1_200, 1_000.0);
    assert_eq!(stretches.lasts_s(0, 1_000.0), 0.2);
    stretches.add(1_270, 1_300, 1_000.0);
    assert_eq!(stretches.lasts_s(0, 1_000.0), 0.23);
}
