//! Tab text.

use crate::{harp, way};
use layout::{Breath, MarksError, NotTab, TabError, TabFault, TabMarks, TabStep, TabStyle, Technique, Way};

#[test]
fn the_default_signs() {
    let rows = [
        ("4", Breath::Blow, Technique::Natural),
        ("-4", Breath::Draw, Technique::Natural),
        ("-4'", Breath::Draw, Technique::Bend(1)),
        ("4''", Breath::Blow, Technique::Bend(2)),
        ("4o", Breath::Blow, Technique::Overbend),
        ("-4o", Breath::Draw, Technique::Overbend),
    ];
    for (text, breath, technique) in rows {
        let expected = Way::new(4, breath, technique);
        assert_eq!(TabStyle::default().read(text), Ok(expected));
        assert_eq!(TabStyle::default().print(expected), text);
    }
    for (variant, plain) in [("+4", "4"), (" 4 ", "4"), ("−3''", "-3''"), ("–3’’", "-3''"), ("-3′", "-3'")]
    {
        assert_eq!(way(variant), way(plain), "{variant}");
    }
}

#[test]
fn other_styles() {
    for (name, line) in [
        ("signs", "4 -4 -3'' 6o -7o (4 5)"),
        ("flats", "4 -4 -3bb 6o -7o (4 5)"),
        ("arrows", "↑4 ↓4 ↓3'' ↑6o ↓7o (↑4 ↑5)"),
        ("letters", "4B 4D 3D'' 6Bo 7Do (4B 5B)"),
    ] {
        let style = TabStyle::named(name).unwrap();
        let signs: Vec<String> = style.legend().into_iter().map(|row| row.0).collect();
        assert_eq!(signs.join(" "), line);
        let steps = style.read_line(line).unwrap();
        assert_eq!(style.print_line(&steps), line);
        assert_eq!(steps, TabStyle::default().read_line("4 -4 -3'' 6o -7o (4 5)").unwrap());
    }
    assert!(TabStyle::NAMES.iter().all(|name| TabStyle::named(name).is_ok()));
    assert!(TabStyle::named("runes").unwrap_err().to_string().contains("signs, flats, arrows, letters"));
}

/// A plus before a bare number is a blow; after it, it may be the player's own mark for an overbend.
#[test]
fn a_plus_after_the_number_is_no_breath() {
    let marks = TabMarks { breath_after: true, overbend: "+".into(), ..TabMarks::default() };
    let style = TabStyle::new(marks).unwrap();
    assert_eq!(style.read("1+"), Ok(Way::new(1, Breath::Blow, Technique::Overbend)));
    assert_eq!(style.read("1-+"), Ok(Way::new(1, Breath::Draw, Technique::Overbend)));
}

#[test]
fn the_legend_says_every_sign_in_words() {
    let words: Vec<String> = TabStyle::default().legend().into_iter().map(|row| row.1).collect();
    assert_eq!(
        words,
        [
            "4 blow",
            "4 draw",
            "whole step on 3 draw (' for every half step)",
            "6 overblow",
            "7 overdraw",
            "together"
        ]
    );
}

#[test]
fn lines_hold_single_ways_and_brackets() {
    let steps = TabStyle::default().read_line_for(&harp("C"), "4 -4\t(4 5 6)(-1 -2)  -3'\n").unwrap();
    let together = |tabs: &[&str]| TabStep::Together(tabs.iter().map(|tab| way(tab)).collect());
    assert_eq!(
        steps,
        [
            TabStep::One(way("4")),
            TabStep::One(way("-4")),
            together(&["4", "5", "6"]),
            together(&["-1", "-2"]),
            TabStep::One(way("-3'"))
        ]
    );
    assert_eq!(TabStyle::default().read_line("  "), Ok(vec![]));
}

/// Reads `text` for a C harp and returns the column and the kind of the mistake.
fn not_tab(style: &TabStyle, text: &str) -> (usize, NotTab) {
    match style.read_line_for(&harp("C"), text) {
        Err(TabError { column, fault: TabFault::NotTab(why), .. }) => (column, why),
        other => panic!("{text:?} gave {other:?}"),
    }
}

#[test]
fn what_is_not_tab_is_said_with_its_column() {
    let signs = || "- ' o".to_owned();
    for (text, expected) in [
        ("4 x4", (3, NotTab::UnknownSign('x', signs()))),
        ("4 -4 -3b", (8, NotTab::UnknownSign('b', signs()))),
        ("4 -4-5", (5, NotTab::UnknownSign('-', signs()))),
        ("draw", (1, NotTab::UnknownSign('d', signs()))),
        ("4 -", (4, NotTab::NoHole)),
        ("-'", (2, NotTab::NoHole)),
        ("4 -256", (4, NotTab::HugeHole)),
        ("6'o", (3, NotTab::Mixed)),
        ("6o'", (2, NotTab::Mixed)),
        ("6oo", (2, NotTab::Mixed)),
        ("4 (5 6", (3, NotTab::Bracket)),
        ("4 5)", (4, NotTab::Bracket)),
        ("((4 5) 6)", (2, NotTab::Bracket)),
        ("()", (1, NotTab::Alone)),
        ("(4)", (1, NotTab::Alone)),
        ("(4 -5)", (1, NotTab::BothBreaths)),
        ("(4 5 4)", (1, NotTab::Twice(4))),
    ] {
        assert_eq!(not_tab(&TabStyle::default(), text), expected, "{text}");
    }
    let marks = |after| NotTab::NoBreath {
        blow: if after { "B" } else { "↑" }.into(),
        draw: if after { "D" } else { "↓" }.into(),
        after,
    };
    assert_eq!(not_tab(&TabStyle::named("arrows").unwrap(), "↑4 5"), (4, marks(false)));
    assert_eq!(not_tab(&TabStyle::named("letters").unwrap(), "4B 5"), (5, marks(true)));
    let style = TabStyle::default();
    assert_eq!(style.read("").unwrap_err().fault, TabFault::NotTab(NotTab::Empty));
    assert_eq!(style.read("4 5").unwrap_err().fault, TabFault::NotTab(NotTab::Several));
    assert_eq!(style.read("(4 5)").unwrap_err().fault, TabFault::NotTab(NotTab::Several));
}

#[test]
fn mistakes_are_said_in_whole_sentences() {
    let said = |text: &str| TabStyle::default().read_line_for(&harp("C"), text).unwrap_err().to_string();
    assert_eq!(
        said("4 11"),
        "column 3: this harp cannot play 11: there is no hole 11; the holes are 1 to 10"
    );
    assert_eq!(
        said("-1'''"),
        "column 1: this harp cannot play -1''': 1 draw bends a half step at most, not one and a half steps"
    );
    assert_eq!(said("4 -3b"), "column 5: \"-3b\" is not tab: 'b' means nothing here; allowed are - ' o");
    let single = TabStyle::default().read_for(&harp("C"), "  -5' ").unwrap_err();
    assert_eq!(single.column, 3);
    assert!(single.to_string().contains("cannot play -5'"), "{single}");
}

#[test]
fn marks_that_could_be_confused_are_refused() {
    let with = |change: fn(&mut TabMarks)| {
        let mut marks = TabMarks::default();
        change(&mut marks);
        TabStyle::new(marks)
    };
    assert!(with(|_| ()).is_ok());
    assert!(with(|marks| marks.blow = "+".into()).is_ok());
    assert!(with(|marks| { (marks.blow, marks.draw) = ("+".into(), String::new()) }).is_ok());
    assert_eq!(with(|marks| marks.bend.clear()), Err(MarksError::Missing("bend")));
    assert_eq!(with(|marks| marks.draw.clear()), Err(MarksError::Missing("draw")));
    assert_eq!(with(|marks| marks.bend = "1".into()), Err(MarksError::Unfit("1".into())));
    assert_eq!(with(|marks| marks.bend = "(".into()), Err(MarksError::Unfit("(".into())));
    assert_eq!(with(|marks| marks.bend = "o".into()), Err(MarksError::Alike("o".into(), "o".into())));
    assert_eq!(with(|marks| marks.blow = "−".into()), Err(MarksError::Alike("−".into(), "-".into())));
    assert_eq!(with(|marks| marks.bend = "ob".into()), Err(MarksError::Alike("ob".into(), "o".into())));
}
