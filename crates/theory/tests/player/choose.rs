//! Choosing a harp and a position.

use crate::{SCALES, TUNINGS, harp, in_key, tuned, way};
use layout::{ConcertPitch, Harp, HarpKey, Note, PitchClass, TabStyle};
use proptest::prelude::*;
use theory::{Ability, Choice, Command, Level, MISSING, NoteName, ScaleInKey, Song, choose, usual_harps};

/// The usual keys in the Richter tuning.
fn richter_harps() -> Vec<Harp> {
    HarpKey::usual_keys().map(Harp::richter).collect()
}

fn titles(choices: &[Choice]) -> Vec<String> {
    choices.iter().map(Choice::title).collect()
}

/// A mode costs least where it is the mode of the plain notes: modes of the positions, harmonica list archive, March
/// 2012, message 00904. For every song key.
#[test]
fn a_mode_is_cheapest_in_its_own_position() {
    for (mode, position) in [
        ("major", 1),
        ("Mixolydian", 2),
        ("Dorian", 3),
        ("natural minor", 4),
        ("Phrygian", 5),
        ("Locrian", 6),
        ("Lydian", 12),
    ] {
        for tonic in PitchClass::all() {
            let song = Song::new(ScaleInKey::new(SCALES.find(mode).unwrap().clone(), NoteName::usual(tonic)));
            for level in [Level::Plain, Level::DrawBends, Level::Everything] {
                let choices = choose(&song, &richter_harps(), &Ability::new(level));
                assert_eq!(choices[0].position.number(), position, "{mode} on {tonic}, {}", level.name());
                assert_eq!(choices[0].position.tonic(&choices[0].harp), tonic);
                assert_eq!(choices.len(), 12, "every harp has a place");
            }
        }
    }
}

/// Common practice, no source: the minor pentatonic is easiest in fourth position, 15 of its 16 notes being natural
/// ones; a player without bends gets the blues there too, but for the ♭5.
#[test]
fn minor_pentatonic_and_blues() {
    let pentatonic = Song::new(in_key("minor pentatonic", "A"));
    let choices = choose(&pentatonic, &richter_harps(), &Ability::new(Level::DrawBends));
    assert_eq!(choices[0].title(), "C harp, Richter, 4th position");
    let blues = Song::new(in_key("blues", "A"));
    let plain = choose(&blues, &richter_harps(), &Ability::new(Level::Plain));
    assert_eq!(plain[0].title(), "C harp, Richter, 4th position");
    let bending = choose(&blues, &richter_harps(), &Ability::new(Level::DrawBends));
    let all = titles(&bending);
    assert_eq!(all[0], "G harp, Richter, 3rd position (slant)", "one bend, 6 draw half step");
    assert!(all[..3].contains(&"D harp, Richter, 2nd position (cross)".to_owned()), "{all:?}");
}

#[test]
fn the_reasons_are_said_in_words() {
    let ability = Ability::new(Level::DrawBends).with(way("-3'"), Command::Learning);
    let blues = Song::new(in_key("blues", "A"));
    let choices = choose(&blues, &[harp("D")], &ability);
    assert_eq!(
        choices[0].reasons(&TabStyle::default()),
        [
            "7 of the 11 notes from D4 to A5 are natural notes",
            "4 bends: -1' (♭5), -2'' (♭7), -3' (♭3), -4' (♭5)",
            "still being learned: -3' (♭3)",
            "the tonic is a natural note: -2 3 6 9",
            "draw 1 to 4 sound the chord of the tonic, I",
        ]
    );
    let seventh = choose(&blues, &[harp("E♭")], &Ability::new(Level::Everything));
    let reasons = seventh[0].reasons(&TabStyle::default());
    assert!(reasons.contains(&"1 overblow: 5o (1)".to_owned()), "{reasons:?}");
    assert!(reasons.contains(&"the tonic has to be bent or overbent: -2' 5o 9'".to_owned()), "{reasons:?}");
    let plain = choose(&blues, &[harp("G")], &Ability::new(Level::Plain));
    let reasons = plain[0].reasons(&TabStyle::default());
    assert!(reasons.contains(&"out of reach: E♭5 (♭5)".to_owned()), "{reasons:?}");
}

#[test]
fn other_tunings_are_weighed_too_and_richter_wins_a_tie() {
    let harps = usual_harps(&TUNINGS, ConcertPitch::ISO);
    assert_eq!(harps.len(), 12 * TUNINGS.iter().count());
    let ability = Ability::new(Level::DrawBends);
    let minor = choose(&Song::new(in_key("harmonic minor", "C")), &harps, &Ability::new(Level::Plain));
    assert_eq!(minor[0].title(), "C harp, harmonic minor, 1st position (straight)");
    // Country and major seventh differ from Richter in the 4 only, which the major pentatonic lacks.
    let pentatonic = Song::new(in_key("major pentatonic", "C"));
    let three = [tuned("C", "Richter"), tuned("C", "country"), tuned("C", "major seventh")];
    let choices = choose(&pentatonic, &three, &ability);
    assert!(choices.windows(2).all(|pair| pair[0].cost == pair[1].cost));
    assert_eq!(choices[0].harp.tuning().name(), "Richter");
}

#[test]
fn a_harp_too_short_for_the_song_misses_the_rest() {
    let mut tunings = layout::Tunings::default();
    tunings
        .add("name = \"four\"\nblow = [\"C4\", \"E4\", \"G4\", \"C5\"]\ndraw = [\"D4\", \"G4\", \"B4\", \"D5\"]")
        .unwrap();
    let four = Harp::new("C".parse().unwrap(), tunings.find("four").unwrap().tuning, ConcertPitch::ISO);
    let song = Song::new(in_key("major", "C"));
    let choices = choose(&song, &[four, harp("C")], &Ability::new(Level::DrawBends));
    assert_eq!(choices[0].harp.holes(), 10);
    assert!(choices[1].notes.iter().any(|note| note.way.is_none() && note.note > Note::new(74).unwrap()));
    assert_eq!(choose(&song, &[], &Ability::default()), []);
}

/// Programs read notes, names and degrees as they are printed.
#[test]
fn a_choice_can_be_written_as_json() {
    let song = Song::new(in_key("blues", "A"));
    let choices = choose(&song, &[harp("D")], &Ability::new(Level::DrawBends));
    let json = serde_json::to_value(&choices[0]).unwrap();
    assert_eq!(json["harp"]["key"], "D");
    assert_eq!(json["harp"]["tuning"]["name"], "Richter");
    assert_eq!(json["position"], 2);
    assert_eq!(json["scale"]["tonic"], "A");
    let flat_3 = &json["notes"].as_array().unwrap()[5];
    assert_eq!(flat_3["note"], "C5");
    assert_eq!(flat_3["is"]["step"]["degree"], "♭3");
    assert_eq!(flat_3["is"]["name"], "C");
    assert_eq!(flat_3["way"], serde_json::json!({"hole": 3, "breath": "draw", "technique": {"bend": 1}}));
}

/// `a` costs no degree more than `b`, and one less.
fn dominates(a: &[f64], b: &[f64]) -> bool {
    a.iter().zip(b).all(|(a, b)| a <= b) && a.iter().zip(b).any(|(a, b)| a < b)
}

fn songs() -> impl Strategy<Value = Song> {
    let scales: Vec<_> = SCALES.iter().cloned().collect();
    let tonics: Vec<_> = PitchClass::all().collect();
    (prop::sample::select(scales), prop::sample::select(tonics), 0_u8..=40)
        .prop_map(|(scale, tonic, span)| Song { scale: ScaleInKey::new(scale, NoteName::usual(tonic)), span })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn no_harp_is_ranked_above_one_that_dominates_it(song in songs(), level in prop::sample::select(Level::ALL.to_vec())) {
        let harps = usual_harps(&TUNINGS, ConcertPitch::ISO);
        let choices = choose(&song, &harps, &Ability::new(level));
        prop_assert_eq!(choices.len(), harps.len());
        let costs: Vec<Vec<f64>> = choices.iter().map(Choice::degree_costs).collect();
        for (i, above) in costs.iter().enumerate() {
            prop_assert_eq!(above.len(), song.scale.notes().count());
            prop_assert!(costs[i..].iter().all(|below| !dominates(below, above)));
        }
    }

    /// What is said of a choice is true of its harp.
    #[test]
    fn every_way_of_a_choice_sounds_its_note(song in songs(), level in prop::sample::select(Level::ALL.to_vec())) {
        let ability = Ability::new(level);
        for choice in choose(&song, &richter_harps(), &ability) {
            for note in &choice.notes {
                prop_assert_eq!(song.scale.find(note.note), Some(note.is));
                if let Some(way) = note.way {
                    prop_assert_eq!(choice.harp.note(way), Some(note.note));
                    prop_assert!(ability.reaches(way));
                    prop_assert_eq!(theory::cost(&choice.harp, way, &ability), Some(note.cost));
                } else {
                    prop_assert_eq!(note.cost, MISSING);
                    prop_assert!(!choice.harp.ways_to(note.note).iter().any(|way| ability.reaches(*way)));
                }
            }
            let mean = choice.degree_costs().iter().sum::<f64>() / choice.degree_costs().len() as f64;
            prop_assert!((mean - choice.cost).abs() < 1e-9);
        }
    }

    /// Who commands more never pays more.
    #[test]
    fn ability_never_costs(song in songs()) {
        for harp in richter_harps() {
            let costs = Level::ALL.map(|level| choose(&song, std::slice::from_ref(&harp), &Ability::new(level))[0].cost);
            prop_assert!(costs.is_sorted_by(|weaker, stronger| weaker >= stronger), "{:?}", costs);
        }
    }
}
