//! Tunings by name, and tunings of the player's own.

use layout::{Breath, ConcertPitch, Harp, HarpKey, KnownTuning, Note, Technique, Tuning, Tunings};

/// Blow and draw reeds as MIDI keys on a harp whose hole 1 blow is C4, circular: G3. Sources: OEIS A291810 (Richter);
/// encyclopaedia, Richter tuning and solo tuning (natural minor, harmonic minor, solo); a hobbyist's page of special
/// tunings (country, diminished, circular); a compilation of 2011 (major seventh); common practice, no source (Dorian,
/// raised blow 3); from memory (augmented).
const REEDS: [(&str, [u8; 10], [u8; 10]); 11] = [
    ("Richter", [60, 64, 67, 72, 76, 79, 84, 88, 91, 96], [62, 67, 71, 74, 77, 81, 83, 86, 89, 93]),
    ("country", [60, 64, 67, 72, 76, 79, 84, 88, 91, 96], [62, 67, 71, 74, 78, 81, 83, 86, 89, 93]),
    ("major seventh", [60, 64, 67, 72, 76, 79, 84, 88, 91, 96], [62, 67, 71, 74, 78, 81, 83, 86, 90, 93]),
    ("raised blow 3", [60, 64, 69, 72, 76, 79, 84, 88, 91, 96], [62, 67, 71, 74, 77, 81, 83, 86, 89, 93]),
    ("Dorian", [60, 64, 67, 72, 76, 79, 84, 88, 91, 96], [62, 67, 70, 74, 77, 81, 82, 86, 89, 93]),
    ("natural minor", [60, 63, 67, 72, 75, 79, 84, 87, 91, 96], [62, 67, 70, 74, 77, 81, 82, 86, 89, 93]),
    ("harmonic minor", [60, 63, 67, 72, 75, 79, 84, 87, 91, 96], [62, 67, 71, 74, 77, 80, 83, 86, 89, 92]),
    ("solo", [60, 64, 67, 72, 72, 76, 79, 84, 84, 88], [62, 65, 69, 71, 74, 77, 81, 83, 86, 89]),
    ("circular", [55, 59, 62, 65, 69, 72, 76, 79, 83, 86], [57, 60, 64, 67, 71, 74, 77, 81, 84, 88]),
    ("diminished", [60, 63, 66, 69, 72, 75, 78, 81, 84, 87], [62, 65, 68, 71, 74, 77, 80, 83, 86, 89]),
    ("augmented", [60, 64, 68, 72, 76, 80, 84, 88, 92, 96], [63, 67, 71, 75, 79, 83, 87, 91, 95, 99]),
];

fn harp(tuning: &str, blow_1: u8) -> Harp {
    let key = HarpKey::from_blow_1(Note::new(i32::from(blow_1)).unwrap());
    Harp::new(key, Tunings::ours().find(tuning).unwrap().tuning, ConcertPitch::ISO)
}

fn side(harp: &Harp, breath: Breath) -> Vec<u8> {
    (1..=harp.holes()).map(|hole| harp.reed(hole, breath).unwrap().midi()).collect()
}

#[test]
fn our_tunings_have_the_reeds_of_their_sources() {
    let tunings = Tunings::ours();
    assert_eq!(tunings.iter().count(), Tunings::our_texts().len(), "every file of ours is without mistake");
    let names: Vec<&str> = tunings.iter().map(|known| known.tuning.name()).collect();
    assert_eq!(names, REEDS.map(|row| row.0));
    for (name, blow, draw) in REEDS {
        let harp = harp(name, blow[0]);
        assert_eq!(side(&harp, Breath::Blow), blow, "{name}");
        assert_eq!(side(&harp, Breath::Draw), draw, "{name}");
    }
    assert_eq!(tunings.find("Richter").unwrap().tuning, Tuning::richter());
}

/// Which bends each tuning gains or loses, from the rule (harmonica list archive, 1994).
#[test]
fn bends_of_the_tunings() {
    let bends = |tuning: &str, hole: u8| -> Vec<u8> {
        let harp = harp(tuning, 60);
        let bends = harp.ways_of_hole(hole).filter(|way| matches!(way.technique, Technique::Bend(_)));
        bends.map(|way| harp.note(way).unwrap().midi()).collect()
    };
    assert_eq!(bends("natural minor", 2), [66, 65, 64]);
    assert_eq!(bends("natural minor", 3), [69, 68]);
    assert_eq!(bends("natural minor", 5), [76]);
    assert_eq!(bends("natural minor", 7), [83]);
    assert!(bends("natural minor", 8).is_empty());
    assert_eq!(bends("harmonic minor", 3), [70, 69, 68]);
    assert_eq!(bends("harmonic minor", 10), [95, 94, 93]);
    assert!([6, 7, 8].iter().all(|hole| bends("harmonic minor", *hole).is_empty()));
    assert_eq!(bends("Dorian", 3), [69, 68]);
    assert_eq!(bends("Dorian", 7), [83]);
    assert_eq!(bends("raised blow 3", 3), [70]);
    assert_eq!(bends("country", 5), [77]);
    assert_eq!(bends("major seventh", 5), [77]);
    assert!(bends("major seventh", 9).is_empty());
    for hole in 1..=10 {
        assert_eq!(bends("solo", hole).len(), usize::from([1, 3, 5, 7, 9].contains(&hole)), "solo {hole}");
        assert_eq!(bends("diminished", hole).len(), 1);
        assert_eq!(bends("augmented", hole).len(), 2);
        let circular = [1, 3, 4, 5, 6, 8, 10].contains(&hole);
        assert_eq!(bends("circular", hole).len(), usize::from(circular), "circular {hole}");
    }
}

/// Computed from the reeds and the rules.
#[test]
fn what_the_tunings_reach() {
    let bent = |tuning: &str| harp(tuning, 60).notes(|technique| technique != Technique::Overbend);
    assert_eq!(bent("diminished").len(), 30, "fully chromatic, 60 to 89");
    assert_eq!(bent("augmented").len(), 40, "fully chromatic, 60 to 99");
    assert!(harp("diminished", 60).missing().is_empty() && harp("augmented", 60).missing().is_empty());
    let raised = harp("raised blow 3", 60);
    assert_eq!(raised.notes(|technique| technique == Technique::Natural).len(), 20);
    let g_sharp = raised.ways_to(Note::new(68).unwrap());
    assert_eq!(g_sharp.iter().map(ToString::to_string).collect::<Vec<_>>(), ["2 overblow"]);
    let b_flat = Note::new(82).unwrap();
    assert!(harp("harmonic minor", 60).ways_to(b_flat).is_empty(), "reachable by no technique");
}

#[test]
fn the_overblow_on_a_raised_draw_5() {
    let harp = harp("country", 60);
    let overblow = harp.ways_of_hole(5).find(|way| way.technique == Technique::Overbend).unwrap();
    assert_eq!(harp.note(overblow).unwrap().midi(), 79);
}

/// Circular tuning climbs one major scale: begun on the fifth degree it lies as the hobbyist's page has it, begun on
/// the first it starts at home.
#[test]
fn a_ladder_can_begin_on_another_step() {
    let tunings = Tunings::ours();
    let circular = tunings.find("circular").unwrap().tuning;
    let again = circular.begun_on(5).unwrap();
    assert_eq!(
        (again.blow(), again.draw(), again.home()),
        (circular.blow(), circular.draw(), circular.home())
    );
    let from_home = tunings.find("Circular from 1").unwrap().tuning;
    assert_eq!((from_home.name(), from_home.home()), ("circular from 1", 0));
    assert_eq!(from_home.blow(), [0, 4, 7, 11, 14, 17, 21, 24, 28, 31], "C E G B D F A C E G");
    assert_eq!(from_home.draw(), [2, 5, 9, 12, 16, 19, 23, 26, 29, 33], "D F A C E G B D F A");
    for step in 1..=7 {
        let begun = circular.begun_on(step).unwrap();
        let home = i32::from(begun.home());
        let scale =
            begun.blow().iter().chain(begun.draw()).map(|reed| (i32::from(*reed) - home).rem_euclid(12));
        assert!(scale.into_iter().all(|note| [0, 2, 4, 5, 7, 9, 11].contains(&note)), "from {step}");
    }
    assert_eq!(circular.begun_on(0).or(circular.begun_on(8)), None);
    assert_eq!(Tuning::richter().begun_on(1), None, "Richter repeats notes");
    assert!(tunings.find("Richter from 3").is_err() && tunings.find("circular from nowhere").is_err());
}

#[test]
fn tunings_are_found_by_any_of_their_names() {
    let tunings = Tunings::ours();
    for name in ["natural minor", "Natural-Minor", " NATURAL MINOR "] {
        assert_eq!(tunings.find(name).unwrap().tuning.name(), "natural minor");
    }
    assert_eq!(tunings.find("spiral").unwrap().tuning.name(), "circular");
    let error = tunings.find("unheard-of").unwrap_err().to_string();
    assert!(error.contains("unheard-of") && error.contains("Richter, country"), "{error}");
    assert_eq!(tunings.find("natural minor").unwrap().tuning.labelled(), [2, 1]);
    assert_eq!(tunings.find("solo").unwrap().tuning.labelled(), [1]);
}

#[test]
fn a_player_adds_and_replaces() {
    let mut tunings = Tunings::ours();
    tunings.add(include_str!("../../../../assets/examples/own-tuning.toml")).unwrap();
    let own = tunings.find("whole tones").unwrap().tuning;
    assert_eq!(own.holes(), 12);
    let harp = Harp::new("C".parse().unwrap(), own, ConcertPitch::ISO);
    let notes: Vec<u8> = harp.notes(|_| true).into_iter().map(Note::midi).collect();
    assert_eq!(notes, (60..=107).collect::<Vec<_>>(), "chromatic, as the file promises");
    let count = tunings.iter().count();
    let four = r#"name = "Country"
        blow = ["C4", "E4", "G4", "C5"]
        draw = ["D4", "G4", "B4", "D5"]"#;
    tunings.add(four).unwrap();
    assert_eq!((tunings.find("country").unwrap().tuning.holes(), tunings.iter().count()), (4, count));
    assert!(tunings.add("name = 3").is_err());
    assert_eq!(tunings.iter().count(), count);
}

/// A tuning file with these lines for the reeds, from line 2 on.
fn mistake(lines: &str) -> (usize, usize, String) {
    let error = KnownTuning::read(&format!("name = \"mine\"\n{lines}")).unwrap_err();
    (error.line, error.column, error.message)
}

#[test]
fn mistakes_are_found_where_they_stand() {
    let draw = "draw = [\"D4\", \"G4\", \"B4\", \"D5\"]";
    let good = format!("blow = [\"C4\", \"E4\", \"G4\", \"C5\"]\n{draw}\n");
    let check = |lines: &str, line, column, words: &[&str]| {
        let (at_line, at_column, message) = mistake(lines);
        assert_eq!((at_line, at_column), (line, column), "{lines}: {message}");
        for word in words {
            assert!(message.contains(word), "{message:?} does not say {word:?}");
        }
    };
    let blow = |reeds: &str| format!("blow = [{reeds}]\n{draw}");
    check(&blow(r#""C4", "H4", "G4", "C5""#), 2, 15, &["\"H4\" is no note", "octave", "Bb4"]);
    check(&blow(r#""C4", "E", "G4", "C5""#), 2, 15, &["\"E\" is no note"]);
    check(&blow(r#""C4", 64, "G4", "C5""#), 2, 15, &["text in quotes is wanted, not 64"]);
    check(&blow(r#""C4", "E4", "G4""#), 3, 8, &["3 blow reeds but 4 draw reeds"]);
    check(&blow(r#""C4", "E4", "G4", "C9""#), 2, 27, &["4 blow lies 60 semitones above", "59 above"]);
    check("blow = [\"C4\"]\ndraw = [\"D4\"]", 2, 8, &["holes: 1;", "4 to 16"]);
    check("blow = []\ndraw = []", 2, 8, &["holes: 0"]);
    check(&format!("{good}home = \"X\""), 4, 8, &["\"X\" is no note"]);
    check(&format!("{good}labelled = [1, 13]"), 4, 16, &["no position 13", "1 to 12"]);
    check(&format!("{good}bends = 3"), 4, 1, &["bends", "labelled"]);
    check(&format!("{good}about = \"open"), 4, 14, &["end it with \""]);
    check("blow = [\"C4\"]", 1, 1, &["draw"]);
    let seventeen = format!("[{}]", vec!["\"C4\""; 17].join(", "));
    check(&format!("blow = {seventeen}\ndraw = {seventeen}"), 2, 8, &["holes: 17"]);
    let nameless = KnownTuning::read(&format!("name = \" \"\n{good}")).unwrap_err();
    assert_eq!((nameless.line, nameless.column), (1, 8));
}

/// Natural minor harps are stamped by the second position by some makers and by the first by others (common practice,
/// no source); a circular harp started on the fifth degree is at home a fourth above its 1 blow (a hobbyist's page).
#[test]
fn a_harp_says_what_is_stamped_on_it_and_where_home_is() {
    let tunings = Tunings::ours();
    let words = |text: &str| tunings.harp(text, ConcertPitch::ISO).unwrap().stamp_words();
    assert_eq!(words("A natural minor").unwrap(), "stamped Em by some, Am by others; 1 blow is A");
    assert_eq!(words("D natural minor").unwrap(), "stamped Am by some, Dm by others; 1 blow is D");
    assert_eq!(words("A harmonic minor").unwrap(), "stamped Am; 1 blow is A");
    assert_eq!(words("C circular").unwrap(), "1 blow is C, home is F");
    for text in ["C", "F#", "low F country", "A Dorian", "C solo", "G circular from 1", "C diminished"] {
        assert_eq!(words(text), None, "{text}");
    }
}

#[test]
fn a_minor_key_is_answered_with_the_harps_that_bear_it() {
    let tunings = Tunings::ours();
    for (asked, stamp, harps) in [
        ("Am", "Am", "D natural minor, A natural minor, A harmonic minor"),
        ("f# minor", "F♯m", "B natural minor, F♯ natural minor, F♯ harmonic minor"),
    ] {
        let error = tunings.harp(asked, ConcertPitch::ISO).unwrap_err().to_string();
        assert!(error.contains(harps), "{error}");
        for harp in harps.split(", ") {
            let harp = tunings.harp(harp, ConcertPitch::ISO).unwrap();
            assert!(harp.stamps().iter().any(|own| own.to_string() == stamp), "{harp:?}");
        }
    }
    assert!(tunings.stamped("A").is_empty() && tunings.stamped("tam").is_empty());
}

#[test]
fn harps_are_named_by_key_and_tuning() {
    let tunings = Tunings::ours();
    let harp = |text: &str| tunings.harp(text, ConcertPitch::ISO);
    for (text, key, tuning) in [
        ("D", "D", "Richter"),
        ("bb", "B♭", "Richter"),
        ("low low F Richter", "low low F", "Richter"),
        ("A natural minor", "A", "natural minor"),
        ("G circular from 1", "G", "circular from 1"),
        ("low-F country", "low F", "country"),
    ] {
        let harp = harp(text).unwrap();
        assert_eq!((harp.key().to_string().as_str(), harp.tuning().name()), (key, tuning), "{text}");
    }
    assert!(harp("").unwrap_err().to_string().contains("no harp key"));
    assert!(harp("natural minor").unwrap_err().to_string().contains("no harp key"));
    assert!(harp("lwo A").unwrap_err().to_string().contains("did you mean \"low A\"?"));
    assert!(harp("A cuontry").unwrap_err().to_string().contains("did you mean \"country\"?"));
    assert!(harp("A silver").unwrap_err().to_string().contains("no tuning \"silver\""));
    assert_eq!(Tunings::default().harp("A", ConcertPitch::ISO), Err(layout::HarpTextError::NoTunings));
}
