//! Forms: which chord sounds when, of the twelve-bar blues and of forms that are written down. Its chords are those
//! that every book on the blues has: I7 for four bars, IV7 two, I7 two, V7, IV7, I7, V7 or I7 (common practice; the
//! names of the notes follow from A major).

use crate::harp;
use practice::jam::{Form, FormError};
use theory::{Progression, Progressions, ScaleInKey, Scales};

fn in_a() -> ScaleInKey {
    ScaleInKey::new(Scales::ours().find("blues").unwrap().clone(), "A".parse().unwrap())
}

fn form(bars: &str) -> Form {
    Form::new(&Progression::new("a form", bars).unwrap(), &in_a(), &harp()).unwrap()
}

fn twelve_bar() -> Form {
    Form::new(Progressions::ours().find("twelve-bar").unwrap(), &in_a(), &harp()).unwrap()
}

fn symbols(form: &Form, bars: std::ops::Range<usize>) -> String {
    let bar = |bar| form.chords(bar).iter().map(|chord| chord.symbol.clone()).collect::<Vec<_>>().join(" ");
    bars.map(bar).collect::<Vec<_>>().join(" | ")
}

#[test]
fn the_twelve_bar_blues_in_a_has_its_chords_and_goes_round() {
    let form = twelve_bar();
    assert_eq!(form.bars(), 12);
    assert_eq!(symbols(&form, 0..8), "A7 | A7 | A7 | A7 | D7 | D7 | A7 | A7");
    assert_eq!(symbols(&form, 8..11), "E7 | D7 | A7");
    assert_eq!(symbols(&form, 12..17), "A7 | A7 | A7 | A7 | D7");
    assert_eq!(
        (form.title.as_str(), form.kept_as.as_str()),
        ("twelve-bar in A", "twelve-bar in 2nd position")
    );
    assert_eq!((form.choruses(), form.last_bar()), (None, None));
    let numerals: Vec<&str> = [0, 4, 8].map(|bar| form.chords(bar)[0].numeral.as_str()).to_vec();
    assert_eq!(numerals, ["I7", "IV7", "V7"]);
}

#[test]
fn a_form_that_is_played_so_often_ends_on_the_chord_of_home() {
    let twice = form("IV7 | V7 I7").times(2);
    assert_eq!((twice.choruses(), twice.last_bar()), (Some(2), Some(4)));
    assert_eq!(symbols(&twice, 0..6), "D7 | E7 A7 | D7 | E7 A7 | A7 | A7");
    assert_eq!(form("I7").times(0).choruses(), Some(1), "once at least");
    // A form without the chord of home ends on its first one.
    assert_eq!(symbols(&form("IV7 V7").times(1), 0..2), "D7 E7 | D7");
}

#[test]
fn the_chords_of_a_bar_share_it_evenly() {
    let form = form("I7 IV7 V7 | I7");
    let at = |bars: f64| {
        let (chord, from, until) = form.chord_at(bars).unwrap();
        (chord.symbol.clone(), (1e3 * from).round() / 1e3, (1e3 * until).round() / 1e3)
    };
    assert_eq!(at(0.0), ("A7".to_owned(), 0.0, 0.333));
    assert_eq!(at(0.5), ("D7".to_owned(), 0.333, 0.667));
    assert_eq!(at(0.99), ("E7".to_owned(), 0.667, 1.0));
    assert_eq!(at(1.7), ("A7".to_owned(), 1.0, 2.0));
    assert_eq!(at(2.4), ("D7".to_owned(), 2.333, 2.667), "the second time round");
    assert_eq!(at(-3.0), at(0.0), "before the first beat the first one");
}

#[test]
fn changes_are_where_another_chord_begins() {
    let form = twelve_bar();
    let next = |bars: f64| form.next_change(bars).map(|(at, chord)| (at, chord.symbol.clone()));
    // Four bars of A7 are one chord, and so are the last one and the first of the next time round.
    assert_eq!(next(0.0), Some((4.0, "D7".to_owned())));
    assert_eq!(next(3.9), Some((4.0, "D7".to_owned())));
    assert_eq!(next(4.0), Some((6.0, "A7".to_owned())));
    assert_eq!(next(-2.0), Some((4.0, "D7".to_owned())));
    assert_eq!(self::form("I7 | I7").next_change(0.5), None, "one chord only");
    // A change that comes once in a time round is found from just behind it.
    assert_eq!(self::form("IV7 | I7 | I7 | I7").next_change(1.5).map(|(at, _)| at), Some(4.0));
    let changes = |from, until| -> Vec<(f64, String)> {
        let all = form.changes(from, until);
        all.into_iter().map(|(at, chord)| (at, chord.symbol.clone())).collect()
    };
    let told =
        |all: &[(f64, &str)]| all.iter().map(|(at, chord)| (*at, (*chord).to_owned())).collect::<Vec<_>>();
    // The beginning is no change; a change at the first moment counts, and one at the last moment does not.
    assert_eq!(changes(0.0, 8.5), told(&[(4.0, "D7"), (6.0, "A7"), (8.0, "E7")]));
    assert_eq!(changes(4.0, 8.0), told(&[(4.0, "D7"), (6.0, "A7")]));
    assert_eq!(changes(4.1, 6.0), told(&[]));
}

#[test]
fn the_tones_of_a_chord_are_its_degrees_and_what_lies_beside_them_clashes() {
    // D7 is D F♯ A C: the root, the third, the fifth and the minor seventh.
    let form = form("IV7");
    let chord = &form.chords(0)[0];
    let degree = |note: &str| {
        let class = note.parse::<layout::Note>().unwrap().pitch_class();
        chord.degree(class).map(|degree| degree.to_string())
    };
    assert_eq!(["D4", "F#4", "A4", "C5"].map(|note| degree(note).unwrap()), ["1", "3", "5", "♭7"]);
    assert_eq!(degree("E4"), None);
    let beside = |note: &str, above| {
        chord.is_half_step_off(note.parse::<layout::Note>().unwrap().pitch_class(), above)
    };
    // G is a half step above the third, E♭ above the root; F is a half step below the third, and E above and below
    // nothing.
    assert_eq!(
        ["G4", "D#4", "F4", "E4", "F#4"].map(|note| beside(note, true)),
        [true, true, false, false, false]
    );
    assert_eq!(
        ["G4", "F4", "C#4", "B4", "C5"].map(|note| beside(note, false)),
        [false, true, true, true, false]
    );
}

#[test]
fn the_usual_scale_goes_by_the_chord_of_home() {
    let usual = |bars: &str| Form::usual_scale(&Progression::new("a form", bars).unwrap());
    assert_eq!(usual("I7 | IV7"), "blues");
    assert_eq!(usual("i | iv"), "minor pentatonic");
    assert_eq!(usual("I | V7"), "major pentatonic");
    assert_eq!(usual("IV7 | I"), "major pentatonic", "home is not always first");
    assert_eq!(usual("ii | V7"), "minor pentatonic", "without a home the first chord");
}

#[test]
fn a_form_has_64_bars_and_four_chords_in_a_bar_at_most() {
    let new = |bars: &str| Form::new(&Progression::new("a form", bars).unwrap(), &in_a(), &harp());
    assert!(new(&["I7"; 64].join(" | ")).is_ok() && new("I7 IV7 I7 V7").is_ok());
    let long = new(&["I7"; 65].join(" | ")).unwrap_err();
    assert_eq!(long, FormError::TooLong(65));
    assert!(long.to_string().starts_with("65 bars are more than the 64"), "{long}");
    let many = new("I7 | I7 IV7 I7 V7 I7").unwrap_err();
    assert_eq!(many, FormError::TooMany(2, 5));
    assert!(many.to_string().starts_with("bar 2 has 5 chords, and 4 are the most"), "{many}");
}
