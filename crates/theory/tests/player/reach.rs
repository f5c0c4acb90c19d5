//! Maps for one player, and reduced scales.

use crate::{SCALES, harp, in_key, way};
use layout::{Harp, HarpKey, TabStyle};
use proptest::prelude::*;
use theory::{
    Ability, Level, MISSING, Mastery, Need, NoteName, Origin, Position, Reduced, ScaleInKey, ScaleMap,
    for_player,
};

/// The names of the notes that `which` picks.
fn names(notes: &[theory::PlayerNote], which: impl Fn(&theory::PlayerNote) -> bool) -> String {
    notes.iter().filter(|note| which(note)).map(|note| note.note.name()).collect::<Vec<_>>().join(" ")
}

/// G blues on a C harp: the low octave takes two bends, the middle one lacks its ♭3 (82) and ♭5 (85) without overbends;
/// from the chromatic table of the C harp.
#[test]
fn a_map_for_one_player() {
    let harp = harp("C");
    let map = ScaleMap::new(&harp, &in_key("blues", "G"));
    let with = |level| for_player(&harp, map.notes(), &Ability::new(level));
    assert_eq!(names(&with(Level::Bends), |note| !note.reachable()), "B♭5 D♭6 D♭7");
    assert_eq!(names(&with(Level::DrawBends), |note| !note.reachable()), "B♭5 D♭6 B♭6 D♭7");
    assert_eq!(names(&with(Level::Everything), |note| !note.reachable()), "");
    let bends = with(Level::Bends);
    let gap = bends.iter().find(|note| note.note.name() == "B♭5").unwrap();
    let substitutes: Vec<_> = gap.substitutes.iter().map(|s| (s.semitones, s.way)).collect();
    assert_eq!(
        substitutes,
        [(2, way("7")), (-3, way("6")), (-12, way("-3'")), (12, way("10''"))],
        "C6, G5, and the ♭3 of the other octaves"
    );
    assert_eq!((gap.way, gap.cost), (None, MISSING));
    assert!(bends.iter().filter(|note| note.reachable()).all(|note| note.substitutes.is_empty()));
}

#[test]
fn the_cheapest_way_depends_on_the_player() {
    let harp = harp("C");
    // A♭4 is 3 draw one and a half steps, or 2 overblow.
    let map = ScaleMap::new(&harp, &in_key("Dorian", "B♭"));
    let a_flat = |ability: &Ability| {
        let notes = for_player(&harp, map.notes(), ability);
        notes.into_iter().find(|note| note.note.name() == "A♭4").unwrap().way
    };
    let overblows_only = Ability::new(Level::Plain).with(way("2o"), Mastery::Sure);
    assert_eq!(a_flat(&Ability::new(Level::Everything)), Some(way("-3'''")));
    assert_eq!(a_flat(&overblows_only), Some(way("2o")));
    assert_eq!(a_flat(&Ability::new(Level::Plain)), None);
}

/// Common practice, no source: the second position, reduced to the notes that need no bend and filled with those of
/// the parallel major or minor that need none, is a beginner's scale. For all twelve keys.
#[test]
fn the_beginners_scale_of_second_position() {
    let second = Position::new(2).unwrap();
    for key in HarpKey::usual_keys() {
        let harp = Harp::richter(key);
        let on = |name: &str| ScaleInKey::in_position(SCALES.find(name).unwrap().clone(), &harp, second);
        let plain = Ability::new(Level::Plain);
        let reduced = Reduced::new(&harp, &on("minor pentatonic"), Some(&on("major pentatonic")), &plain);
        let from_home: Vec<_> =
            reduced.notes.iter().skip_while(|note| note.way != way("-2")).take(7).collect();
        let tab: Vec<String> = from_home.iter().map(|note| TabStyle::default().print(note.way)).collect();
        assert_eq!(tab.join(" "), "-2 -3 4 -4 5 -5 6", "1 3 4 5 6 ♭7 1 on {key}");
        assert_eq!(reduced.degrees(), "1 2 3 4 5 6 ♭7");
        assert!(reduced.notes.iter().all(|note| note.note.need() == Need::Nothing));
        let filled = reduced.notes.iter().filter(|note| note.origin == Origin::Filling);
        let filled: Vec<String> = filled.map(|note| TabStyle::default().print(note.way)).collect();
        assert_eq!(filled.join(" "), "2 -3 5 -6 -7 8 -10", "the 6, 3 and 2 of the major pentatonic");
    }
}

/// With the ♭3 in reach the 3 stays out, octave by octave.
#[test]
fn a_filling_never_doubles_a_degree() {
    let harp = harp("C");
    let half_steps = Ability::new(Level::HalfSteps);
    let (minor, major) = (in_key("minor pentatonic", "G"), in_key("major pentatonic", "G"));
    let reduced = Reduced::new(&harp, &minor, Some(&major), &half_steps);
    assert_eq!(reduced.names(), "C4 D4 E4 G4 B♭4 C5 D5 E5 F5 G5 A5 B5 C6 D6 E6 F6 G6 A6 C7");
    assert_eq!(reduced.tab(&TabStyle::default()), "1 -1 2 -2 -3' 4 -4 5 -5 6 -6 -7 7 -8 8 -9 9 -10 10");
    let left_out: Vec<String> = reduced.left_out.iter().map(theory::MapNote::name).collect();
    assert_eq!(left_out.join(" "), "F4 B♭5 B♭6");
    let alone = Reduced::new(&harp, &minor, None, &half_steps);
    assert_eq!(alone.names(), "C4 D4 G4 B♭4 C5 D5 F5 G5 C6 D6 F6 G6 C7");
}

/// Any level, with a few single ways that depart from it.
fn abilities() -> impl Strategy<Value = Ability> {
    let commands = prop::sample::select(vec![Mastery::NotYet, Mastery::Learning, Mastery::Sure]);
    let ways: Vec<_> = harp("C").ways().collect();
    let single = prop::collection::vec((prop::sample::select(ways), commands), 0..6);
    (prop::sample::select(Level::ALL.to_vec()), single).prop_map(|(level, single)| {
        single.into_iter().fold(Ability::new(level), |ability, (way, command)| ability.with(way, command))
    })
}

fn scales() -> impl Strategy<Value = ScaleInKey> {
    let scales: Vec<_> = SCALES.iter().cloned().collect();
    let tonics: Vec<_> = layout::PitchClass::all().collect();
    (prop::sample::select(scales), prop::sample::select(tonics))
        .prop_map(|(scale, tonic)| ScaleInKey::new(scale, NoteName::usual(tonic)))
}

proptest! {
    #[test]
    fn a_reduced_scale_has_no_note_out_of_reach(scale in scales(), filling in scales(), ability in abilities()) {
        let harp = harp("C");
        let filling = ScaleInKey::new(filling.scale().clone(), scale.tonic());
        let reduced = Reduced::new(&harp, &scale, Some(&filling), &ability);
        for note in &reduced.notes {
            prop_assert!(ability.reaches(note.way));
            prop_assert_eq!(harp.note(note.way), Some(note.note.note));
        }
        prop_assert!(reduced.notes.is_sorted_by(|a, b| a.note.note < b.note.note));
        // Everything of the scale that can be reached is there.
        let map = ScaleMap::new(&harp, &scale);
        for note in for_player(&harp, map.notes(), &ability) {
            let there = reduced.notes.iter().any(|own| own.note.note == note.note.note && own.origin == Origin::Scale);
            prop_assert_eq!(there, note.reachable());
            prop_assert_eq!(!there, reduced.left_out.contains(&note.note));
            prop_assert_eq!(note.cost == MISSING, !note.reachable());
        }
    }
}
