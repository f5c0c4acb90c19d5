//! What a player commands, as levels, in words and in a config file.

use crate::{harp, way};
use layout::TabStyle;
use theory::{Ability, Level, MISSING, Mastery, cost};

/// The ways of a C harp beyond the natural notes that each level adds, from its description.
#[test]
fn levels_add_what_they_say() {
    let added = [
        (Level::Plain, ""),
        (Level::HalfSteps, "-1' -2' -3' -4' -6'"),
        (Level::DrawBends, "-2'' -3'' -3'''"),
        (Level::Bends, "8' 9' 10' 10''"),
        (Level::Overblows, "4o 5o 6o"),
        (Level::Everything, "1o 2o 3o -7o -8o -9o -10o"),
    ];
    let harp = harp("C");
    let mut before: Vec<_> = harp.ways().filter(|way| *way == way.natural()).collect();
    for (level, tabs) in added {
        before.extend(tabs.split_whitespace().map(way));
        let mut expected = before.clone();
        expected.sort();
        let mut ours: Vec<_> = Ability::new(level).ways(&harp).collect();
        ours.sort();
        assert_eq!(ours, expected, "{}", level.name());
        assert_eq!(level.name().parse(), Ok(level));
    }
    assert_eq!(
        Level::ALL.map(|level| level.name().replace('-', " ").to_uppercase().parse()),
        Level::ALL.map(Ok)
    );
}

#[test]
fn single_ways_depart_from_the_level() {
    let ability = Ability::new(Level::DrawBends)
        .with(way("6o"), Mastery::Sure)
        .with(way("-3'''"), Mastery::NotYet)
        .with(way("8'"), Mastery::Learning)
        .with(way("-4'"), Mastery::Sure)
        .with(way("4"), Mastery::NotYet);
    assert_eq!(ability.mastery(way("6o")), Mastery::Sure);
    assert_eq!(ability.mastery(way("8'")), Mastery::Learning);
    assert!(!ability.reaches(way("-3'''")) && ability.reaches(way("8'")) && ability.reaches(way("-3''")));
    assert!(ability.reaches(way("4")), "a natural note is always commanded");
    assert_eq!(ability.to_string(), "draw-bends, 6o, learning 8', not -3'''");
}

#[test]
fn an_ability_is_read_from_one_word_and_more() {
    assert_eq!("bends".parse(), Ok(Ability::new(Level::Bends)));
    let expected =
        Ability::new(Level::DrawBends).with(way("8'"), Mastery::Sure).with(way("6o"), Mastery::Sure);
    assert_eq!(" Draw Bends , 8' 6o".parse(), Ok(expected.clone()));
    assert_eq!(expected.to_string().parse(), Ok(expected));
    let wrong = |text: &str| text.parse::<Ability>().unwrap_err().to_string();
    assert!(wrong("some").contains("plain, half-steps, draw-bends, bends, overblows, everything"));
    assert!(wrong("plain, 6x").contains("'x' means nothing here"));
    assert!(wrong("plain, 4").contains("4 blow needs no technique"));
}

#[test]
fn an_ability_is_read_from_a_config_file() {
    let ability: Ability =
        toml::from_str("level = \"bends\"\nsure = \"6o\"\nlearning = \"-7o 5o\"\nnot-yet = \"10''\"")
            .unwrap();
    let expected = [
        ("6o", Mastery::Sure),
        ("-7o", Mastery::Learning),
        ("5o", Mastery::Learning),
        ("10''", Mastery::NotYet),
    ];
    let expected = expected
        .into_iter()
        .fold(Ability::new(Level::Bends), |ability, (tab, command)| ability.with(way(tab), command));
    assert_eq!(ability, expected);
    assert_eq!(toml::from_str::<Ability>("").unwrap(), Ability::new(Level::DrawBends), "the default");
}

#[test]
fn an_ability_is_written_as_it_is_read() {
    let ability =
        Ability::new(Level::Bends).with(way("6o"), Mastery::Sure).with(way("10''"), Mastery::Learning);
    let text = toml::to_string(&ability).unwrap();
    assert_eq!(text, "level = \"bends\"\nsure = \"6o\"\nlearning = \"10''\"\n");
    assert_eq!(toml::from_str::<Ability>(&text).unwrap(), ability);
}

/// A config file with an ability in it, as the program has it.
#[derive(Debug, serde::Deserialize)]
struct Config {
    ability: Ability,
}

#[test]
fn mistakes_in_the_config_have_their_place() {
    let check = |lines: &str, place: (usize, usize), said: &str| {
        let error = layout::read_toml::<Config>(&format!("[ability]\n{lines}")).unwrap_err();
        assert_eq!((error.line, error.column), place, "{error}");
        assert!(error.message.contains(said), "{error}");
    };
    check("level = \"godlike\"", (2, 9), "draw-bends");
    check("sure = \"6o x\"", (2, 8), "'x' means nothing here");
    check("level = \"plain\"\nsure = \"-4\"", (3, 8), "4 draw needs no technique");
    check("able = 3", (2, 1), "not-yet");
    check("sure = \"6o\"\nlearning = \"6o\"", (1, 1), "6o is listed twice");
    let right: Config = layout::read_toml("[ability]\nlevel = \"plain\"").unwrap();
    assert_eq!(right.ability, Ability::new(Level::Plain));
}

/// What the points rest on, common practice without a source: deeper costs more, a bend above its floor costs more than
/// one on it, blow bends more than draw bends, overbends more than bends, what is being learnt more than what is sure;
/// a natural note on the upper holes costs less than any bend.
#[test]
fn costs_are_in_the_order_of_difficulty() {
    let harp = harp("C");
    let everything = Ability::new(Level::Everything);
    let points = |tab: &str| cost(&harp, way(tab), &everything).unwrap();
    assert_eq!((points("4"), points("-6")), (0, 0));
    for [easier, harder] in [
        ["4", "-4'"],
        ["6", "7"],
        ["7", "-4'"],
        ["-10", "-4'"],
        ["-4'", "-3'"],
        ["-2''", "-3''"],
        ["-3'", "-3''"],
        ["-6'", "8'"],
        ["10''", "6o"],
        ["6o", "-7o"],
    ] {
        assert!(points(easier) < points(harder), "{easier} {harder}");
    }
    assert!(harp.ways().all(|way| cost(&harp, way, &everything).unwrap() < MISSING));
    let learning = everything.clone().with(way("6o"), Mastery::Learning);
    assert!(cost(&harp, way("6o"), &learning).unwrap() > points("6o"));
    assert_eq!(cost(&harp, way("6o"), &Ability::new(Level::Bends)), None);
    assert_eq!(cost(&harp, way("-5'"), &everything), None, "the harp cannot");
}

#[test]
fn a_higher_level_never_reaches_less() {
    let harp = harp("C");
    let own = Ability::new(Level::DrawBends)
        .with(way("6o"), Mastery::Sure)
        .with(way("8'"), Mastery::Learning)
        .with(way("-3''"), Mastery::NotYet);
    let commands = |ability: &Ability| harp.ways().map(|way| ability.mastery(way)).collect::<Vec<_>>();
    let mut last: Option<Vec<Mastery>> = None;
    for level in Level::ALL {
        let now = commands(&own.on_level(level));
        for (before, after) in last.iter().flatten().zip(&now) {
            assert!(before <= after, "{level:?}");
        }
        last = Some(now);
    }
    assert_eq!(own.on_level(Level::DrawBends), own);
    assert_eq!(
        own.on_level(Level::Bends).mastery(way("6o")),
        Mastery::Sure,
        "what goes beyond the level stays"
    );
    assert_eq!(own.on_level(Level::HalfSteps).mastery(way("-3''")), Mastery::NotYet);
}

/// The ways to one note: common practice, no source; each follows from the layout (OEIS A291810).
#[test]
fn only_ways_that_the_player_claims_are_told_beside_others() {
    let harp = harp("C");
    let told = |ability: &Ability, note: &str| {
        let ways = ability.ways_to(&harp, note.parse().unwrap());
        ways.into_iter().map(|way| TabStyle::default().print(way)).collect::<Vec<_>>().join(" or ")
    };
    let bends = Ability::new(Level::DrawBends);
    for (note, ways) in
        [("C5", "4"), ("G4", "-2 or 3"), ("A♭4", "-3'''"), ("F6", "-9"), ("E♭5", "4o"), ("C3", "")]
    {
        assert_eq!(told(&bends, note), ways, "{note}");
    }
    let everything = Ability::new(Level::Everything);
    for (note, ways) in [("C5", "4 or 3o"), ("A♭4", "-3''' or 2o"), ("F6", "-9 or -8o")] {
        assert_eq!(told(&everything, note), ways, "{note}");
    }
    let one = bends.with(way("2o"), Mastery::Sure).with(way("-3'''"), Mastery::NotYet);
    assert_eq!((told(&one, "A♭4"), told(&one, "C5")), ("2o".to_owned(), "4".to_owned()));
}
