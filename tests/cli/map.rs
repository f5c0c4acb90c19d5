//! `map`: known facts of the trade, in text and in JSON.

use crate::{json, printed, run};
use serde_json::Value;

const SCHEMA: &str = "bendwright/map/2";

fn map(arguments: &[&str]) -> Value {
    json(&[&["map", "--json"], arguments].concat(), SCHEMA)
}

/// The tab of the whole octave from a tonic upwards.
fn octave(map: &Value, low: &str) -> String {
    let octaves = map["octaves"].as_array().unwrap();
    let octave = octaves.iter().find(|octave| octave["low"] == low && octave["whole"] == true).unwrap();
    let up = octave["up"].as_array().unwrap().iter().map(|tab| tab.as_str().unwrap());
    up.collect::<Vec<_>>().join(" ")
}

#[test]
fn scales_lie_where_players_know_them() {
    // Runs on a C harp: common practice, no source; each follows from the Richter layout (OEIS A291810).
    let rows = [
        ("2", "blues", "G4", "-2 -3' 4 -4' -4 -5 6"),
        ("1", "blues", "C6", "7 8' -9 9' 9 10'' 10"),
        ("3", "blues", "D5", "-4 -5 6 -6' -6 7 -8"),
        ("4", "blues", "A4", "-3'' 4 -4 4o 5 6 -6"),
        ("1", "major", "C4", "1 -1 2 -2'' -2 -3'' -3 4"),
        ("2", "Mixolydian", "G4", "-2 -3'' -3 4 -4 5 -5 6"),
        ("2", "major pentatonic", "G4", "-2 -3'' -3 -4 5 6"),
    ];
    for (position, scale, low, tab) in rows {
        let map = map(&["--position", position, "--scale", scale, "--able", "everything"]);
        assert_eq!(octave(&map, low), tab, "{scale} in position {position}");
    }
}

#[test]
fn the_second_position_major_pentatonic_needs_one_bend_only_in_every_key() {
    // Common practice, no source; from the lowest note to the highest home note, above which 10 blow bends to a third.
    for key in ["G", "Ab", "A", "Bb", "B", "C", "Db", "D", "Eb", "E", "F", "F#"] {
        let map = map(&["--harp", key, "--scale", "major pentatonic", "--able", "everything"]);
        let octaves = map["octaves"].as_array().unwrap();
        let to_the_top =
            octaves.iter().filter(|octave| octave["whole"] == true || octave["low"] == octaves[0]["low"]);
        let tabs = to_the_top.flat_map(|octave| octave["up"].as_array().unwrap());
        let tabs: Vec<&str> = tabs.map(|tab| tab.as_str().unwrap()).collect();
        let bent: Vec<&&str> = tabs.iter().filter(|tab| tab.contains('\'') || tab.contains('o')).collect();
        assert_eq!(bent, [&"-3''"], "{key} harp");
    }
}

#[test]
fn chords_do_what_players_say_they_do() {
    // Common practice, no source: in 2nd position the blow chord is IV, the low draw chord I, the high one v.
    let map = map(&["--scale", "Mixolydian"]);
    let chords = map["chords"].as_array().unwrap();
    let function = |symbol: &str| {
        let names = chords.iter().flat_map(|chord| chord["names"].as_array().unwrap());
        names.clone().find(|name| name["symbol"] == symbol).map(|name| name["function"].clone())
    };
    for (symbol, expected) in [("C", "IV"), ("G", "I"), ("G7", "I7"), ("Dm", "v"), ("B°", "iii°")] {
        assert_eq!(function(symbol).unwrap(), expected, "{symbol}");
    }
}

#[test]
fn the_progression_goes_with_the_scale() {
    for (scale, progression) in [
        ("blues", "twelve-bar"),
        ("Mixolydian", "twelve-bar"),
        ("natural minor", "minor twelve-bar"),
        ("Dorian", "two-chord minor vamp"),
        ("major", "I-IV-V"),
    ] {
        assert_eq!(map(&["--scale", scale])["progression"]["name"], progression, "{scale}");
    }
    let asked = map(&["--progression", "ii-V-I", "--position", "1"]);
    let places = asked["progression"]["chords"].as_array().unwrap();
    // Common practice, no source: in 1st position the blow chord is I, and draw 4 to 6 is ii.
    assert_eq!(places[2]["symbol"], "Cmaj7");
    assert_eq!((&places[0]["symbol"], &places[0]["place"]["words"]), (&"Dm7".into(), &"draw 4 to 6".into()));
    // Which note of D minor seventh lies where: from the layout (OEIS A291810).
    let tones: Vec<String> = places[0]["tones"].as_array().unwrap().iter().map(ToString::to_string).collect();
    assert_eq!(tones[0], r#"{"degree":"1","name":"D","tab":["-1","-4","-8"]}"#);
    assert_eq!(tones[3], r#"{"degree":"♭7","name":"C","tab":["1","4","7","10"]}"#);
}

#[test]
fn a_map_says_what_the_position_is_for() {
    // Common practice, no source: in 2nd position I and IV are major under the mouth and V is minor.
    let purpose = &map(&[])["purpose"];
    let chord = |index: usize| &purpose["chords"][index];
    let symbols: Vec<&Value> = (0..3).map(|index| &chord(index)["triads"][0]["symbol"]).collect();
    assert_eq!(symbols, ["G", "C", "Dm"]);
    assert_eq!((&chord(2)["triads"][0]["quality"], &chord(2)["numeral"]), (&"minor".into(), &"V".into()));
    assert!(purpose["suits"].as_str().unwrap().contains("blues"));
    assert_eq!(map(&["--tuning", "country"])["purpose"]["suits"], Value::Null);
    let text = printed(&["map"]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("Good for: blues") && text.contains("no reed sounds ♭2, ♭3, ♭5, ♭6 or 7."),
        "{text}"
    );
}

#[test]
fn spelling_follows_the_key() {
    let names = |arguments: &[&str]| {
        let map = map(arguments);
        let notes = map["scale"]["notes"].as_array().unwrap();
        notes.iter().map(|note| note["name"].as_str().unwrap().to_owned()).collect::<Vec<_>>().join(" ")
    };
    // Key signatures of the circle of fifths (general music theory).
    assert_eq!(names(&["--tonic", "Gb", "--scale", "major"]), "G♭ A♭ B♭ C♭ D♭ E♭ F");
    assert_eq!(names(&["--tonic", "F#", "--scale", "major"]), "F♯ G♯ A♯ B C♯ D♯ E♯");
    assert_eq!(names(&["--harp", "F", "--position", "2", "--scale", "minor"]), "C D E♭ F G A♭ B♭");
}

#[test]
fn a_key_is_named_as_asked_or_by_the_letters_of_the_harp() {
    let title = |arguments: &[&str]| map(arguments)["title"].as_str().unwrap().to_owned();
    assert_eq!(title(&["--harp", "Db"]), "D♭ harp, 2nd position (cross): A♭ blues");
    assert_eq!(title(&["--harp", "E", "--position", "5"]), "E harp, 5th position: G♯ blues");
    assert_eq!(title(&["--harp", "Db", "--tonic", "G#"]), "D♭ harp, 2nd position (cross): G♯ blues");
    assert_eq!(title(&["--tonic", "Ab", "--scale", "Locrian"]), "C harp, 9th position: A♭ Locrian");
    // B D F in the twelfth position, the raised fourth: any harmony textbook.
    let twelfth = map(&["--position", "12", "--scale", "major"]);
    let names =
        twelfth["chords"].as_array().unwrap().iter().flat_map(|chord| chord["names"].as_array().unwrap());
    let named: Vec<&Value> = names.filter(|name| name["function"] == "♯iv°").collect();
    assert_eq!(named[0]["symbol"], "B°");
}

#[test]
fn what_is_stamped_on_a_harp_and_where_home_is_is_said() {
    // Common practice, no source: makers stamp natural minor harps by the second or the first position.
    let said = |arguments: &[&str]| {
        let out = printed(&[&["map", "--ascii"], arguments].concat());
        out.lines().nth(1).unwrap().to_owned() + out.lines().nth(2).unwrap()
    };
    let minor = ["--harp", "A", "--tuning", "natural minor"];
    assert!(said(&minor).contains("natural minor, stamped Em by some, Am by others; 1 blow is A."));
    assert!(said(&["--harp", "C", "--tuning", "circular"]).contains("circular, 1 blow is C, home is F."));
    let harp = &map(&minor)["harp"];
    assert_eq!(
        (&harp["stamped"][0], &harp["stamped"][1], &harp["one_blow"]),
        (&"Em".into(), &"Am".into(), &"A3".into())
    );
}

#[test]
fn the_way_down_of_the_melodic_minor_is_shown_too() {
    // The ♭6 and ♭7 of A on the way down: any theory primer.
    let arguments = ["--position", "4", "--scale", "melodic minor", "--able", "everything"];
    let map = map(&arguments);
    let down = map["notes"].as_array().unwrap().iter().filter(|note| note["direction"] == "down");
    let down: Vec<String> = down
        .map(|note| format!("{} {}", note["degree"].as_str().unwrap(), note["note"].as_str().unwrap()))
        .collect();
    assert_eq!(down, ["♭6 F4", "♭7 G4", "♭6 F5", "♭7 G5", "♭6 F6", "♭7 G6"]);
    let text = printed(&[&["map"], &arguments[..]].concat());
    for sign in ["▼♭6↓", "▲♭7↓", "↑ on the way up only  ↓ on the way down only"] {
        assert!(text.contains(sign), "{sign}: {text}");
    }
    assert!(!printed(&["map"]).contains('↓'));
}

#[test]
fn every_way_has_its_pitch() {
    let map = map(&["--a4", "442"]);
    let holes = map["holes"].as_array().unwrap();
    let ways: Vec<&Value> = holes.iter().flat_map(|hole| hole["ways"].as_array().unwrap()).collect();
    let midi: std::collections::BTreeSet<u64> =
        ways.iter().map(|way| way["midi"].as_u64().unwrap()).collect();
    // 38 distinct notes with bends and overbends: computed from the layout of OEIS A291810.
    assert_eq!(midi.len(), 38);
    // -6 on a C harp is A5, an octave above the reference.
    let a5 = ways.iter().find(|way| way["tab"] == "-6").unwrap();
    assert_eq!(a5["hz"], 884.0);
}

#[test]
fn a_temperament_moves_the_reeds_and_not_the_bends() {
    let map = map(&["--temperament", "just, first position"]);
    let hz = |tab: &str| {
        let holes = map["holes"].as_array().unwrap();
        let mut ways = holes.iter().flat_map(|hole| hole["ways"].as_array().unwrap());
        ways.find(|way| way["tab"] == tab).unwrap()["hz"].as_f64().unwrap()
    };
    // Blow 4, 5 and 6 stand as 4:5:6 (general acoustics of just intonation).
    assert!((hz("5") / hz("4") - 1.25).abs() < 1e-9 && (hz("6") / hz("4") - 1.5).abs() < 1e-9);
    // B♭4 of equal temperament, by the MIDI tuning formula.
    assert!((hz("-3'") - 466.163_76).abs() < 1e-4);
}

#[test]
fn a_reduced_scale_has_only_what_is_reached() {
    // Common practice, no source: in 2nd position the notes without bends, filled from the parallel major pentatonic.
    let map = map(&["--scale", "minor pentatonic", "--fill", "major pentatonic", "--able", "plain"]);
    let reduced = &map["reduced"];
    let tab = reduced["tab"].as_str().unwrap();
    assert!(!tab.contains('\'') && !tab.contains('o'), "{tab}");
    assert!(tab.contains("-2 -3 4 -4 5 -5 6"), "{tab}");
    assert!(printed(&["map", "--able", "plain"]).contains("What you can play of it"));
}

#[test]
fn eighty_columns_are_enough() {
    let scales = ["blues", "major", "melodic minor", "bebop major", "chromatic"];
    let tunings = ["Richter", "solo", "augmented", "circular", "natural minor"];
    for (scale, tuning) in scales.iter().zip(tunings) {
        for position in ["1", "2", "7", "11"] {
            for ascii in [false, true] {
                let mut arguments = vec![
                    "map",
                    "--harp",
                    "low F",
                    "--tuning",
                    tuning,
                    "--scale",
                    scale,
                    "--position",
                    position,
                ];
                arguments.extend(ascii.then_some("--ascii"));
                let out = printed(&arguments);
                for line in out.lines() {
                    assert!(line.chars().count() <= 80, "{scale} on {tuning}: {line}");
                }
                assert!(!ascii || out.is_ascii(), "{out}");
            }
        }
    }
}

#[test]
fn the_map_as_text() {
    insta::assert_snapshot!(printed(&["map", "--able", "draw-bends"]));
}

#[test]
fn a_harp_of_another_kind_as_text() {
    let arguments = ["map", "--harp", "A", "--tuning", "natural minor", "--scale", "natural minor"];
    insta::assert_snapshot!(printed(&[&arguments[..], &["--able", "half-steps", "--ascii"]].concat()));
}

#[test]
fn wrong_names_are_answered_with_the_known_ones() {
    for (arguments, words) in [
        (vec!["map", "--scale", "bluse"], ["--scale", "did you mean \"blues\"", "major pentatonic"]),
        (vec!["map", "--tonic", "Am"], ["\"Am\"", "--tonic A", "--scale minor"]),
        (vec!["map", "--harp", "Am"], ["--harp", "D natural minor, A natural minor", "1 blow"]),
        (vec!["choose", "--song-key", "F#m"], ["\"F#m\"", "--song-key F#", "--scale minor"]),
        (vec!["map", "--position", "13"], ["--position", "13", "1 to 12"]),
        (vec!["map", "--tonic", "H"], ["--tonic", "H", "A to G"]),
        (vec!["map", "--able", "great"], ["--able", "great", "draw-bends"]),
        (vec!["map", "--able", "bends, 4"], ["--able", "4 blow", "needs no technique"]),
        (vec!["map", "--progression", "none"], ["--progression", "none", "twelve-bar"]),
        (vec!["map", "--fill", "none"], ["--fill", "none", "blues"]),
        (vec!["map", "--temperament", "odd"], ["--temperament", "odd", "\"just, first position\""]),
        (vec!["map", "--tuning", "odd"], ["--tuning", "odd", "natural minor"]),
        (vec!["map", "--tonic", "G", "--position", "2"], ["--tonic", "--position", "cannot be used"]),
    ] {
        let run = run(&arguments);
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{arguments:?}");
        assert!(words.iter().all(|word| run.err.contains(word)), "{arguments:?}: {}", run.err);
    }
}
