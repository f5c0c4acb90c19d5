//! Temperaments on the reeds.

use layout::{ConcertPitch, Harp, ReedCents, Temperament, Tuning, Tunings, cents_between};

/// The seven notes C D E F G A B of a Richter harp in C, cents from equal temperament. Source: general lists of 5-limit
/// intervals, and the rounded values on a personal technical page on harmonica tuning theory; cents by Ellis's formula.
/// Compromise: a post on a tuning list, 16 July 1996, asks for thirds midway between just and equal; figures ours.
const ROWS: [(&str, [f64; 7]); 7] = [
    ("equal", [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
    ("5-limit, first position", [0.0, 3.910, -13.686, -1.955, 1.955, -15.641, -11.731]),
    ("5-limit, third position", [0.0, 3.910, -13.686, 19.551, 1.955, 5.865, -11.731]),
    ("7-limit", [0.0, 3.910, -13.686, -29.219, 1.955, 5.865, -11.731]),
    ("19-limit", [0.0, 3.910, -13.686, 1.423, 1.955, 5.865, -11.731]),
    ("middle way", [0.0, 3.910, -13.686, -1.955, 1.955, 5.865, -11.731]),
    ("compromise", [0.0, 2.0, -7.0, -1.0, 1.0, 3.0, -6.0]),
];

fn on_richter(name: &str) -> ReedCents {
    let known = Temperament::ours();
    Temperament::find(&known, name).unwrap().reed_cents(&Tuning::richter())
}

#[test]
fn every_reed_lies_where_the_table_has_it() {
    assert_eq!(Temperament::ours().len(), ROWS.len());
    for (name, [c, d, e, f, g, a, b]) in ROWS {
        let offsets = on_richter(name);
        let blow = [c, e, g, c, e, g, c, e, g, c];
        let draw = [d, g, b, d, f, a, b, d, f, a];
        for (ours, table) in offsets.blow.iter().zip(blow).chain(offsets.draw.iter().zip(draw)) {
            assert!((ours - table).abs() < 0.001, "{name}: {ours}, table {table}");
        }
        assert_eq!((offsets.blow.len(), offsets.draw.len()), (10, 10));
    }
}

/// Which chord each temperament makes pure, as the page on harmonica tuning theory says: whole-number ratios of the
/// reeds' frequencies.
#[test]
fn pure_chords_are_pure() {
    let pure = |temperament: &str, tabs: &[&str], ratio: &[u32]| {
        let harp = Harp::richter("C".parse().unwrap()).with_reed_cents(on_richter(temperament));
        let hz = |tab: &str| harp.hz(crate::way(tab)).unwrap();
        let unit = hz(tabs[0]) / f64::from(ratio[0]);
        tabs.iter().zip(ratio).all(|(tab, r)| cents_between(unit * f64::from(*r), hz(tab)).abs() < 0.01)
    };
    for (name, _) in &ROWS[1..6] {
        assert!(pure(name, &["1", "2", "3"], &[4, 5, 6]), "{name}");
        assert!(pure(name, &["-2", "-3", "-4"], &[4, 5, 6]), "{name}");
    }
    assert!(pure("7-limit", &["-2", "-3", "-4", "-5", "-6"], &[4, 5, 6, 7, 9]));
    assert!(pure("19-limit", &["-4", "-5", "-6"], &[16, 19, 24]));
    assert!(pure("5-limit, third position", &["-4", "-5", "-6"], &[10, 12, 15]));
    assert!(!pure("5-limit, first position", &["-4", "-5", "-6"], &[10, 12, 15]));
    assert!(!pure("equal", &["1", "2", "3"], &[4, 5, 6]));
}

/// The notes that a Richter harp lacks are chosen so that the minor chords of other tunings are pure as well.
#[test]
fn the_minor_chords_of_natural_minor_are_pure() {
    let tuning = Tunings::ours().find("natural minor").unwrap().tuning;
    for (name, ratio) in [("5-limit", [10_u32, 12, 15]), ("19-limit", [16, 19, 24])] {
        let known = Temperament::ours();
        let offsets = Temperament::find(&known, name).unwrap().reed_cents(&tuning);
        let harp =
            Harp::new("A".parse().unwrap(), tuning.clone(), ConcertPitch::ISO).with_reed_cents(offsets);
        for chord in [["1", "2", "3"], ["-2", "-3", "-4"]] {
            let hz = chord.map(|tab| harp.hz(crate::way(tab)).unwrap());
            for i in [1, 2] {
                let pure = hz[0] * f64::from(ratio[i]) / f64::from(ratio[0]);
                assert!(cents_between(pure, hz[i]).abs() < 0.01, "{name} {chord:?}");
            }
        }
    }
}

/// On a circular harp begun on the fifth degree the tonic is 2 draw, and it carries no offset.
#[test]
fn the_tonic_is_that_of_the_first_position() {
    let tuning = Tunings::ours().find("circular").unwrap().tuning;
    let known = Temperament::ours();
    let offsets = Temperament::find(&known, "just").unwrap().reed_cents(&tuning);
    assert_eq!(offsets.draw[1], 0.0);
    assert!((offsets.blow[0] - 1.955).abs() < 0.001);
}

#[test]
fn offsets_of_a_worn_harp_come_on_top() {
    let worn = ReedCents { blow: vec![1.0], draw: vec![0.0, -3.0] };
    let both = on_richter("compromise").plus(&worn);
    assert_eq!((both.blow[0], both.blow[1], both.draw[1]), (1.0, -7.0, -2.0));
    assert_eq!(worn.plus(&ReedCents::default()), worn);
    assert_eq!((both.blow.len(), both.draw.len()), (10, 10));
}

#[test]
fn mistakes_in_a_file_are_found_where_they_stand() {
    let twelve = |word: &str| [word; 12].join(", ");
    let check = |list: &str, line, column, said: &str| {
        let error = Temperament::read(&format!("[[temperament]]\nname = \"mine\"\n{list}")).unwrap_err();
        assert_eq!((error.line, error.column), (line, column), "{error}");
        assert!(error.message.contains(said), "{error}");
    };
    check("", 2, 8, "either ratios or cents");
    check(&format!("cents = [{}]\nratios = []", twelve("0")), 2, 8, "either ratios or cents");
    check("cents = [0, 1]", 3, 9, "2 notes; give twelve");
    check(&format!("cents = [{}, 100]", ["0"; 11].join(", ")), 3, 43, "100.0 cents");
    check("cents = [0, nan]", 3, 13, "stay below");
    check("ratios = [\"1/1\", \"3:2\"]", 3, 18, "no ratio");
    check("ratios = [\"1/1\", \"3/0\"]", 3, 18, "no ratio");
    check("ratios = [\"3/2\"]", 3, 11, "702.0 cents");
    check("cent = 3", 3, 1, "cent");
    let again = |names: &str| format!("cents = [{}]\n[[temperament]]\n{names}", twelve("0"));
    check(&again("name = \"MINE\""), 5, 8, "\"MINE\" is a name of the temperament \"mine\" already");
    check(&again("name = \"other\"\nalso = [\"x\", \"mine\"]"), 6, 14, "already");
    check(&again("name = \"\\u001b[2J\""), 5, 8, "control characters");
    let known = Temperament::ours();
    let error = Temperament::find(&known, "mean").unwrap_err().to_string();
    assert!(error.contains("\"mean\"") && error.contains("\"equal\", \"just, first position\", "), "{error}");
}
