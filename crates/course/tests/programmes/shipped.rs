use crate::Ours;
use course::{Aim, Item, Programme, What, programmes};
use layout::{Harp, Technique, Way};
use practice::run::{ScaleRun, Shape};
use std::collections::BTreeSet;
use theory::{Ability, Level, ScaleInKey};

fn all() -> (Ours, Vec<Programme>) {
    let ours = Ours::all();
    let all = programmes()
        .iter()
        .map(|(name, text)| ours.parse(text).unwrap_or_else(|error| panic!("{name}: {error}")));
    let all = all.collect();
    (ours, all)
}

/// The bends and overbends that an item asks for.
fn techniques(item: &Item, ours: &Ours) -> BTreeSet<Way> {
    let ways: Vec<Way> = match &item.what {
        What::Note(way) => vec![*way],
        What::Drill(name) => {
            let drill = ours.drills.iter().find(|drill| drill.name == *name).unwrap();
            drill.items.iter().flat_map(practice::Item::ways).collect()
        }
        What::Phrase(name) => {
            let phrase = ours.phrases.iter().find(|phrase| phrase.name == *name).unwrap();
            phrase.material.notes().iter().map(|note| note.way).collect()
        }
        // Of a scale what the player does not command is left out.
        What::Scale { .. } => Vec::new(),
    };
    ways.into_iter().filter(|way| way.technique != Technique::Natural).collect()
}

#[test]
fn there_are_four_with_their_cautions() {
    let (_, all) = all();
    let weeks: Vec<usize> = all.iter().map(|programme| programme.weeks.len()).collect();
    assert_eq!(weeks, [12, 12, 9, 8]);
    for Programme { title, about, caution, weeks, .. } in &all {
        let caution = caution.as_deref().unwrap();
        let care = ["harms reeds and lips", "dizzy", "lung or heart condition", "pregnancy", "surgery"];
        assert!(care.iter().all(|word| caution.contains(word)), "{title}: {caution}");
        assert!(!about.is_empty() && weeks.iter().all(|week| !week.about.is_empty()), "{title}");
        assert!(weeks.iter().all(|week| !week.goals.is_empty() && week.minutes <= 20), "{title}");
    }
}

/// Slowly, one new thing at a time (common practice, no source): a week that is not quiet brings one bend as an item of
/// its own, and two where the shallower is on the way to the deeper of the same hole; drills and phrases come when all
/// their bends have.
#[test]
fn one_new_bend_at_a_time_and_music_only_from_what_is_known() {
    // What a player brings along, by the words of the programme.
    let brought = |name: &str| -> Vec<&str> {
        match name {
            "first-overblows" => vec!["-6'", "8'", "9'", "10'", "10''", "-4'"],
            "second-position" => vec!["-4'"],
            _ => vec![],
        }
    };
    let tab = layout::TabStyle::default();
    let (ours, all) = all();
    for (programme, (name, _)) in all.iter().zip(programmes()) {
        let mut known: BTreeSet<Way> = brought(name).iter().map(|text| tab.read(text).unwrap()).collect();
        for (week, number) in programme.weeks.iter().zip(1..) {
            let alone = week.items.iter().filter(|item| matches!(item.what, What::Note(_)));
            let new: BTreeSet<Way> =
                alone.flat_map(|item| techniques(item, &ours)).filter(|way| !known.contains(way)).collect();
            let holes: BTreeSet<u8> = new.iter().map(|way| way.hole).collect();
            assert!(holes.len() <= 1, "{name}, week {number}: {new:?}");
            known.extend(new);
            for item in &week.items {
                let ahead: Vec<String> = techniques(item, &ours)
                    .iter()
                    .filter(|way| !known.contains(way))
                    .map(ToString::to_string)
                    .collect();
                assert!(ahead.is_empty(), "{name}, week {number}: {item} has {ahead:?}");
            }
        }
    }
}

#[test]
fn goals_grow() {
    let (_, all) = all();
    for programme in &all {
        let mut reached: Vec<(&Item, f64)> = Vec::new();
        for goal in programme.weeks.iter().flat_map(|week| &week.goals) {
            let height = match goal.aim {
                Aim::Landed { landed, of, .. } => f64::from(landed) / f64::from(of),
                Aim::Clean { clean } => clean,
            };
            if let Some((_, before)) = reached.iter().rev().find(|(item, _)| *item == &goal.item) {
                assert!(height > *before, "{}: {goal} after {before}", programme.title);
            }
            reached.push((&goal.item, height));
        }
    }
}

/// What the words of the programmes say of scales, on a harp of each key. That these octaves need no bend, and these so
/// few, follows from the Richter layout (OEIS A291810).
#[test]
fn the_scales_ask_for_what_the_words_say() {
    let ours = Ours::all();
    let richest = |scale: &str, position: u8, level: Level, harp: &Harp| {
        let scale = ours.scales.find(scale).unwrap().clone();
        let key = ScaleInKey::in_position(scale, harp, theory::Position::new(position).unwrap());
        let ability = Ability::new(level);
        ScaleRun { key: &key, shape: Shape::Up, range: None, ability: &ability, seed: 0 }.ways(harp)
    };
    let tab = |ways: &[Way]| {
        ways.iter().map(|way| layout::TabStyle::default().print(*way)).collect::<Vec<_>>().join(" ")
    };
    for key in ["G", "A", "C", "F#", "low F"] {
        let harp = Harp::richter(key.parse().unwrap());
        let bright = richest("major pentatonic", 2, Level::Plain, &harp);
        assert_eq!(tab(&bright), "6 -6 -7 -8 8 9", "{key}");
        let dorian = richest("Dorian", 3, Level::Plain, &harp);
        assert_eq!(tab(&dorian), "-4 5 -5 6 -6 -7 7 -8", "{key}");
        let pentatonic = richest("minor pentatonic", 2, Level::HalfSteps, &harp);
        assert_eq!(tab(&pentatonic), "-2 -3' 4 -4 -5 6", "{key}");
        let blues = richest("blues", 2, Level::HalfSteps, &harp);
        assert_eq!(tab(&blues), "-2 -3' 4 -4' -4 -5 6", "{key}");
        let third = richest("blues", 3, Level::HalfSteps, &harp);
        assert_eq!(tab(&third), "-4 -5 6 -6' -6 7 -8", "{key}");
    }
}
