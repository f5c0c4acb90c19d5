//! The one sentence that is said about a run: the weightiest thing first. Which is the weightiest is common practice,
//! no source.

use crate::runs::{asked, c_harp, played, verdict_of};
use layout::{Breath, Way};
use scoring::reeds::Holes;
use scoring::timed::{AskedNote, Beat, ChordHeard, Masked, MaskedAt, PlayedAt, RunVerdict};

fn advice(verdict: &RunVerdict) -> String {
    let tab = |way: Way| format!("{}{}", if way.breath == Breath::Draw { "-" } else { "" }, way.hole);
    verdict.advice(tab)
}

/// The advice on a run of twelve notes with these milliseconds of lateness and cents of error; a note whose cents are
/// no number is left out.
fn said(beat: Beat, late_ms: [f64; 12], cents: [f64; 12]) -> String {
    let asked = asked("-4' -4 -4' -4 -4' -4 -4' -4 -4' -4 -4' -4", 0.5);
    let notes: Vec<PlayedAt> = asked
        .iter()
        .zip(late_ms.iter().zip(cents))
        .filter(|(_, (_, cents))| cents.is_finite())
        .map(|(note, (late_ms, cents))| played(note.way, note.onset_s + late_ms / 1e3, cents))
        .collect();
    advice(&verdict_of(&asked, &notes, &MaskedAt::default(), beat))
}

const IN_TUNE: [f64; 12] = [0.0; 12];
const IN_TIME: [f64; 12] = [0.0; 12];

/// Zeros but for these.
fn but(these: &[(usize, f64)]) -> [f64; 12] {
    let mut all = [0.0; 12];
    for (i, value) in these {
        all[*i] = *value;
    }
    all
}

#[test]
fn bends_that_stop_short_come_first_and_the_worst_is_named() {
    // Four bends are short, and four notes late: half of what is wrong.
    let cents = but(&[(0, 40.0), (2, 45.0), (4, 35.0), (6, 30.0)]);
    let late_ms = but(&[(1, 80.0), (3, 80.0), (5, 80.0), (7, 80.0)]);
    assert_eq!(
        said(Beat::Known, late_ms, cents),
        "-4 stops 45 cents short; hold it long by itself first, then in the run"
    );
    // Three short ones against four late ones are less than half.
    let cents = but(&[(0, 40.0), (2, 45.0), (4, 35.0)]);
    assert!(!said(Beat::Known, late_ms, cents).contains("short"));
}

#[test]
fn what_is_wrong_to_one_side_of_the_beat_is_told_from_three_notes_on() {
    let to = |side: f64, these: &[usize]| {
        let these: Vec<(usize, f64)> = these.iter().map(|i| (*i, side)).collect();
        said(Beat::Known, but(&these), IN_TUNE)
    };
    assert_eq!(
        to(80.0, &[1, 4, 7]),
        "what is wrong comes late; hear each note before its beat, or take it slower"
    );
    assert_eq!(to(-80.0, &[1, 4, 7]), "what is wrong comes early; wait for the click");
    // Two are a change that goes wrong.
    assert!(
        to(80.0, &[1, 5]).starts_with("the change from -4 to -4 is the weak one"),
        "{}",
        to(80.0, &[1, 5])
    );
    // Three of four are nearly all of them, three of five are not.
    let mixed = |early: &[(usize, f64)]| {
        said(Beat::Known, but(&[&[(1, 80.0), (4, 80.0), (7, 80.0)], early].concat()), IN_TUNE)
    };
    assert!(mixed(&[(9, -80.0)]).starts_with("what is wrong comes late"));
    assert!(mixed(&[(9, -80.0), (10, -80.0)]).starts_with("the change from"));
}

#[test]
fn a_tempo_that_runs_away_is_told_by_what_helps_against_it() {
    // Each note of 500 ms comes 20 ms sooner than the one before: 4 % faster. In free time a steady tempo is never
    // told, whatever it is; a second half that is 4 % faster is.
    let moved = |per_note_ms: f64| std::array::from_fn(|i| per_note_ms * (i as f64 - 5.5));
    assert_eq!(said(Beat::Free, moved(-20.0), IN_TUNE), "clean; a little faster can be tried");
    let half = |per_note_ms: f64| std::array::from_fn(|i| per_note_ms * (i as f64 - 6.0).max(0.0));
    assert_eq!(
        said(Beat::Free, half(-20.0), IN_TUNE),
        "it gets faster on the way; keep the pace of the first bar"
    );
    assert_eq!(
        said(Beat::Free, half(20.0), IN_TUNE),
        "it gets slower on the way; keep the pace of the first bar"
    );
    assert_eq!(said(Beat::Free, IN_TIME, IN_TUNE), "clean; a little faster can be tried");
    // Against a beat it is the click, or the breath, that helps. Eighths that are 9 ms, 3.6 %, off each stay within 50
    // ms.
    let eighths = |per_note_ms: f64| {
        let asked = asked("4 -4 5 -5 6 -6 -7 7", 0.25);
        let at = |(i, note): (usize, &AskedNote)| {
            played(note.way, note.onset_s + per_note_ms / 1e3 * (i as f64 - 3.5), 0.0)
        };
        let notes: Vec<PlayedAt> = asked.iter().enumerate().map(at).collect();
        advice(&verdict_of(&asked, &notes, &MaskedAt::default(), Beat::Known))
    };
    assert_eq!(eighths(-9.0), "it gets faster; let the click lead");
    assert_eq!(eighths(9.0), "it gets slower; breathe where the rests are");
    assert_eq!(eighths(6.0), "clean; a little faster can be tried");
}

#[test]
fn a_run_of_which_nothing_was_heard_or_most_was_hidden_says_so() {
    assert_eq!(said(Beat::Known, IN_TIME, [f64::NAN; 12]), "nothing was heard of it");
    let asked = asked("4 -4 5 -5", 0.5);
    let mut masked = Masked::default();
    masked.add(0, 1_500, 1_000.0);
    let told =
        verdict_of(&asked, &[played(asked[3].way, 1.5, 0.0)], &masked.seconds(0.0, 1_000.0), Beat::Known);
    assert_eq!(
        advice(&told),
        "more than half of it was hidden by what the loudspeaker sounds; headphones help"
    );
}

fn holes(of: &[u8]) -> Holes {
    of.iter().copied().collect()
}

/// Chords of the holes 1 to 3, drawn and blown in turn.
fn chord_row() -> Vec<AskedNote> {
    let of_three = |note| AskedNote { holes: holes(&[1, 2, 3]), ..note };
    asked("-1 1 -1 1 -1 1 -1 1", 0.5).into_iter().map(of_three).collect()
}

/// A run of these chords, with what is given in place of the first ones.
fn chords(instead: &[(Breath, &[u8])], late_ms: f64) -> RunVerdict {
    let asked = chord_row();
    let harp = c_harp();
    let notes: Vec<PlayedAt> = asked
        .iter()
        .enumerate()
        .map(|(i, note)| {
            let (breath, sounding) = *instead.get(i).unwrap_or(&(note.way.breath, &[1, 2, 3]));
            let chord = ChordHeard {
                breath: Some(breath),
                sounding: holes(sounding),
                sure: true,
                ..ChordHeard::default()
            };
            let way = Way { breath, ..note.way };
            let onset_s = note.onset_s + late_ms / 1e3;
            PlayedAt {
                note: harp.note(way).unwrap(),
                onset_s,
                ended_s: onset_s + 0.3,
                held: None,
                chord: Some(chord),
            }
        })
        .collect();
    verdict_of(&asked, &notes, &MaskedAt::default(), Beat::Known)
}

#[test]
fn a_run_of_chords_is_told_of_its_breath_and_of_its_holes() {
    let (blow, draw) = (Breath::Blow, Breath::Draw);
    let right: &[u8] = &[1, 2, 3];
    let all = chords(&[], 0.0);
    assert!(all.is_of_chords() && all.whole.clean && all.weakest.is_empty());
    assert_eq!(advice(&all), "clean; a little faster can be tried");
    let breath = chords(&[(blow, right), (draw, right), (draw, &[1, 2]), (blow, &[2, 3])], 0.0);
    assert_eq!((breath.whole.right, breath.whole.played), (4, 8));
    assert_eq!(
        advice(&breath),
        "the breath goes the wrong way; say in and out aloud to the click before you play it"
    );
    let holes = chords(&[(blow, right), (blow, &[1, 2]), (draw, &[1, 2, 3, 4])], 0.0);
    assert_eq!(
        advice(&holes),
        "the mouth covers other holes than asked for; hold those chords long by themselves first"
    );
    assert!(advice(&chords(&[], 90.0)).starts_with("what is wrong comes late"));
    // One chord of the wrong breath and two with other holes: the more frequent fault is told. Of one each the breath
    // is told.
    let both = chords(&[(blow, right), (blow, &[1, 2]), (draw, &[2, 3])], 0.0);
    assert!(advice(&both).starts_with("the mouth covers other holes"), "{}", advice(&both));
    let each = chords(&[(blow, right), (blow, &[1, 2])], 0.0);
    assert!(advice(&each).starts_with("the breath goes the wrong way"), "{}", advice(&each));
    // Of three chords that went wrong only one had other holes, and two are missing: advice on holes would not help.
    let with_holes = chords(&[(draw, right), (blow, right), (draw, &[1, 2])], 0.0);
    let some: Vec<PlayedAt> = with_holes.notes.iter().filter_map(|note| note.played).skip(2).collect();
    let missing = verdict_of(&chord_row(), &some, &MaskedAt::default(), Beat::Known);
    assert!(advice(&missing).starts_with("not clean yet"), "{}", advice(&missing));
    // Two chords of eight were not played: nothing stands out.
    let asked = chord_row();
    let some: Vec<PlayedAt> = all.notes.iter().filter_map(|note| note.played).skip(2).collect();
    let missing = verdict_of(&asked, &some, &MaskedAt::default(), Beat::Known);
    assert_eq!(advice(&missing), "not clean yet; the same again, or a little slower");
}
