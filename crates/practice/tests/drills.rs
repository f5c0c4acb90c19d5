//! Drill files: those that come with the program, and what is said about mistakes in a player's own.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use layout::{Harp, HarpKey, TabStyle, Technique};
use practice::{Drill, NotForHarp, PlayOrder, built_in};
use proptest::prelude::*;

fn c_harp() -> Harp {
    Harp::richter("C".parse::<HarpKey>().unwrap())
}

/// The tab of a built-in drill on a C harp, repeats left out.
fn tab_of(name: &str) -> Vec<String> {
    let (_, text) = built_in().iter().find(|(known, _)| *known == name).expect("a built-in drill");
    let drill = Drill::parse(name, text, &c_harp()).unwrap();
    let mut tab: Vec<String> =
        drill.items.iter().flat_map(practice::Item::ways).map(|way| TabStyle::default().print(way)).collect();
    tab.sort();
    tab.dedup();
    tab
}

/// The built-in drills that this harp can play; the others say which tuning they are for, or what it cannot play.
fn drills_for(harp: &Harp) -> Vec<Drill> {
    let parsed = built_in().iter().filter_map(|(name, text)| match Drill::parse(name, text, harp) {
        Ok(drill) => Some(drill),
        Err(error) => {
            let elsewhere =
                error.message.contains("this drill is for") || error.message.contains("cannot play");
            assert!(elsewhere, "{name}: {error}");
            None
        }
    });
    parsed.collect()
}

#[test]
fn every_built_in_drill_suits_every_key_of_its_tuning() {
    let tunings = layout::Tunings::ours();
    let mut suited = std::collections::BTreeSet::new();
    for (tuning, count) in [("Richter", built_in().len() - 1), ("natural minor", 12)] {
        let tuning = tunings.find(tuning).unwrap().tuning;
        for key in HarpKey::all() {
            let harp = Harp::new(key, tuning.clone(), layout::ConcertPitch::ISO);
            let drills = drills_for(&harp);
            assert!(drills.len() >= count, "{key} {}: {}", tuning.name(), drills.len());
            for drill in drills {
                assert!(!drill.title.is_empty() && !drill.about.is_empty());
                let overbends = drill
                    .items
                    .iter()
                    .flat_map(practice::Item::ways)
                    .any(|way| way.technique == Technique::Overbend);
                assert!(!overbends || drill.caution.is_some(), "{} needs a caution", drill.name);
                suited.insert(drill.name);
            }
        }
    }
    assert_eq!(suited.len(), built_in().len(), "some drill suits nobody: {suited:?}");
}

#[test]
fn the_drills_that_were_asked_for_are_there() {
    assert_eq!(tab_of("first-half-steps"), ["-1'", "-2'", "-3'", "-4", "-4'", "-6'"]);
    assert_eq!(tab_of("hole-3-depths"), ["-3", "-3'", "-3''", "-3'''"]);
    assert_eq!(tab_of("hole-2-depths"), ["-2", "-2'", "-2''"]);
    assert_eq!(tab_of("holes-1-4-6"), ["-1'", "-4'", "-6'"]);
    assert_eq!(tab_of("blow-bends"), ["10'", "10''", "8", "8'", "9'"]);
    assert_eq!(tab_of("overblows"), ["4o", "5o", "6o"]);
    assert_eq!(tab_of("overdraws"), ["-10o", "-7o", "-9o"]);
    for (name, technique) in
        [("bend-and-release", 3), ("slow-shake", 6), ("hole-jumps", 3), ("leaps-into-bends", 2)]
    {
        let (_, text) = built_in().iter().find(|(known, _)| *known == name).unwrap();
        let drill = Drill::parse(name, text, &c_harp()).unwrap();
        assert!(drill.items.iter().all(|item| item.notes().len() == technique), "{name}");
    }
    assert!(tab_of("long-tones").iter().all(|tab| !tab.contains(['\'', 'o'])));
}

#[test]
fn a_drill_reads_as_written() {
    let text = "title = ' My  drill '\nabout = '''two\nlines'''\nhold = 1\n\
                [[item]]\nplay = \"−3’’\"\ntries = 2\nhold = 0.5\ncents = -12.5\n\
                [[item]]\nplay = '+4'\n";
    let drill = Drill::parse("mine", text, &c_harp()).unwrap();
    assert_eq!(
        (drill.name.as_str(), drill.title.as_str(), drill.about.as_str()),
        ("mine", "My drill", "two lines")
    );
    assert_eq!(drill.caution, None);
    let [first, second] = &drill.items[..] else { panic!("two items") };
    assert_eq!((first.tries, first.notes()[0].hold_s, first.notes()[0].cents), (2, 0.5, -12.5));
    assert_eq!(TabStyle::default().print(first.notes()[0].way), "-3''");
    assert_eq!((second.tries, second.notes()[0].hold_s, second.notes()[0].cents), (1, 1.0, 0.0));
    assert_eq!(second.notes()[0].way.to_string(), "4 blow");
}

/// Reads a drill with a mistake at `line` and `column`; the message has to hold every one of `words`.
#[track_caller]
fn check(text: &str, (line, column): (usize, usize), words: &[&str]) {
    let error = Drill::parse("mine", text, &c_harp()).expect_err("a mistake");
    assert_eq!((error.line, error.column), (line, column), "{error}");
    for word in words {
        assert!(error.message.contains(word), "{word:?} is not in: {error}");
    }
}

#[test]
fn mistakes_are_named_with_their_place() {
    let item = "[[item]]\nplay = '-4'\n";
    let after = |text: &str| format!("title = 'x'\n{text}");
    // What the harp cannot do.
    check(&after("[[item]]\nplay = '-11'\n"), (3, 9), &["C harp", "-11", "no hole 11", "1 to 10"]);
    check(&after("[[item]]\nplay = \"-1'''\"\n"), (3, 9), &["-1'''", "1 draw bends a half step at most"]);
    check(&after("[[item]]\nplay = \"4'\"\n"), (3, 9), &["hole 4 bends on the draw"]);
    check(&after("[[item]]\nplay = '-6o'\n"), (3, 9), &["hole 6 has an overblow"]);
    // What is no tab.
    check(&after("[[item]]\nplay = '-4x'\n"), (3, 11), &["-4x", "'x'", "allowed"]);
    check(&after("[[item]]\nplay = 'ß4'\n"), (3, 9), &["ß"]);
    check(&after("[[item]]\nplay = ''\n"), (3, 9), &["tab"]);
    check(&after("[[item]]\nplay = '-4 -11'\n"), (3, 12), &["no hole 11"]);
    check(&after("[[item]]\nplay = '  '\n"), (3, 9), &["no tab here"]);
    check(&after("order = 'up'\n[[item]]\nplay = '4'\n"), (2, 9), &["written", "random"]);
    check(&after("within = 60\n[[item]]\nplay = '4'\n"), (2, 10), &["1 to 50"]);
    let seventeen = "4 ".repeat(17);
    check(&after(&format!("[[item]]\nplay = '{seventeen}'\n")), (3, 8), &["17 notes"]);
    check(&after("[[item]]\nplay = 4\n"), (3, 8), &["in quotes", "\"-4'\""]);
    check(&after("[[item]]\nchord = 4\n"), (3, 9), &["in quotes", "\"-1 -2 -3\""]);
    // Where a text does not stand in the file as it is read, a mistake in it has the place at which the text begins.
    check(&after("[[item]]\nplay = \"4 \\u002d11\"\n"), (3, 8), &["no hole 11"]);
    check(&after("[[item]]\nplay = '''\n4 -11'''\n"), (3, 8), &["no hole 11"]);
    check(&after("[[item]]\nplay = '''4 -11'''\n"), (3, 8), &["no hole 11"]);
    check(&after(&item.repeat(201)), (2, 1), &["201 items", "200 are allowed"]);
    // Keys.
    check(
        &after(&format!("speed = 3\n{item}")),
        (2, 1),
        &["\"speed\"", "title, about, caution, tuning, hold, tries, in_a_row, within, clean, order, item"],
    );
    check(
        &after(&format!("{item}  hole = 3\n")),
        (4, 3),
        &["\"hole\"", "play, chord, hold, tries, in_a_row, within, cents, clean"],
    );
    check(&after(&format!("zeal = 3\nspeed = 3\n{item}")), (2, 1), &["\"zeal\""]);
    check(item, (1, 1), &["title"]);
    check(&after("[[item]]\nhold = 2\n"), (2, 1), &["play ="]);
    check(&after(""), (1, 1), &["[[item]]"]);
    check(&after("item = []\n"), (2, 8), &["no items"]);
    check(&after("item = 3\n"), (2, 8), &["[[item]]"]);
    check(&after("item = [3]\n"), (2, 9), &["[[item]]"]);
    // Values.
    for value in ["0.2", "20.5", "-1", "nan", "inf", "'two'", "true", "0x2"] {
        check(&after(&format!("hold = {value}\n{item}")), (2, 8), &["hold", "0.3 to 20 seconds"]);
    }
    check(&after(&format!("{item}tries = 0\n")), (4, 9), &["tries", "1 to 20"]);
    check(&after(&format!("{item}tries = 1.5\n")), (4, 9), &["whole number"]);
    check(&after(&format!("{item}cents = 60\n")), (4, 9), &["cents has to be", "-50 to 50 cents"]);
    check("title = ''\n", (1, 9), &["title is empty"]);
    check("title = 3\n", (1, 9), &["title is not text"]);
    check("title = \"\\u001b[2J\"\n", (1, 9), &["control character"]);
    check(&format!("title = '{}'\n", "x".repeat(61)), (1, 9), &["too long", "60"]);
    // No TOML at all.
    check("title = 'x'\nhold == 2\n", (2, 7), &[]);
    check("title = 'x\n", (1, 11), &[]);
    check("title = 'x'\ntitle = 'y'\n", (2, 1), &["second time"]);
}

#[test]
fn the_most_that_is_allowed_reads() {
    let read = |text: &str| Drill::parse("mine", &format!("title = 'x'\n{text}"), &c_harp()).unwrap();
    assert_eq!(read(&"[[item]]\nplay = '4'\n".repeat(200)).items.len(), 200);
    let sixteen = format!("[[item]]\nplay = '{}'\n", "4 ".repeat(16).trim_end());
    assert_eq!(read(&sixteen).items[0].notes().len(), 16);
    let sixty = "x".repeat(60);
    let titled = Drill::parse("mine", &format!("title = '{sixty}'\n[[item]]\nplay = '4'\n"), &c_harp());
    assert_eq!(titled.unwrap().title, sixty);
}

#[test]
fn each_note_of_a_joined_item_has_a_verdict_and_takes_its_time() {
    let text = "title = 'x'\nhold = 0.5\n[[item]]\nplay = \"-4 -4' -4\"\n[[item]]\nplay = '4'\n";
    let drill = Drill::parse("mine", text, &c_harp()).unwrap();
    assert_eq!(drill.items.iter().map(practice::Item::parts).collect::<Vec<_>>(), [3, 1]);
    // A second to reach and half a second to hold for each of four notes, and a breath of 2 s behind each item.
    assert!((drill.about_s() - (4.0 * 1.5 + 2.0 * 2.0)).abs() < 1e-9, "{}", drill.about_s());
    let chord = Drill::parse("mine", "title = 'x'\n[[item]]\nchord = '1 2 3'\n", &c_harp()).unwrap();
    assert_eq!(chord.items[0].parts(), 1, "a chord is judged as one");
}

#[test]
fn a_drill_is_played_as_written_unless_it_says_otherwise() {
    let order =
        |line: &str| Drill::parse("mine", &format!("title = 'x'\n{line}[[item]]\nplay = '4'\n"), &c_harp());
    for (line, wanted) in [
        ("", PlayOrder::Written),
        ("order = 'written'\n", PlayOrder::Written),
        ("order = 'random'\n", PlayOrder::Random),
    ] {
        assert_eq!(order(line).unwrap().order, wanted, "{line}");
    }
}

#[test]
fn a_drill_is_read_whatever_the_harp_and_says_what_a_harp_cannot_play() {
    // Reeds a whole step apart in every hole: nothing bends by more than a half step (rule of the enclosing reeds,
    // Bahnson, Antaki & Beery, JASA 103, 1998).
    let tuning = layout::Tunings::ours().find("diminished").unwrap().tuning;
    let shallow = Harp::new("C".parse().unwrap(), tuning, layout::ConcertPitch::ISO);
    for (name, text) in built_in() {
        let drill = Drill::read(name, text).unwrap();
        assert_eq!(
            drill.cannot_play(&c_harp()).is_some(),
            Drill::parse(name, text, &c_harp()).is_err(),
            "{name}"
        );
        assert_eq!(
            drill.cannot_play(&shallow).is_some(),
            Drill::parse(name, text, &shallow).is_err(),
            "{name}"
        );
    }
    let drill =
        Drill::read("mine", "title = 'Mine'\n[[item]]\nplay = '-2'\n[[item]]\nplay = \"-2''\"\n").unwrap();
    let Some(NotForHarp::Way(way, why)) = drill.cannot_play(&shallow) else { panic!("it plays -2''") };
    assert_eq!(
        (way.to_string().as_str(), why.to_string().as_str()),
        ("whole step on 2 draw", "2 draw bends a half step at most, not whole step",)
    );
    assert!(Drill::read("mine", "title = 'Mine'\n[[item]]\nplay = 'x'\n").is_err());
}

proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in "(\\PC|[\\[\\]='\"\n.0-9a-z -]){0,200}") {
        let _ = Drill::parse("x", &text, &c_harp());
    }

    #[test]
    fn no_tab_makes_the_reader_panic(tab in "[-+0-9'ob()’−ß ]{0,12}", hold in any::<f64>(), tries in any::<i64>()) {
        let text = format!("title = 'x'\nhold = {hold:?}\n[[item]]\nplay = \"{tab}\"\ntries = {tries}\n");
        if let Err(error) = Drill::parse("x", &text, &c_harp()) {
            prop_assert!((1..=5).contains(&error.line) && error.column >= 1 && !error.message.is_empty());
        }
    }
}
