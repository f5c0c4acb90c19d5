//! What a teacher would choose. Common practice, no source, unless a source stands beside the case.

use crate::{SCALES, TUNINGS};
use layout::{ConcertPitch, Harp, HarpKey, PitchClass, Tunings};
use std::sync::LazyLock;
use theory::{
    Ability, Choice, Feel, Level, NoteName, Progression, Progressions, ScaleInKey, Song, choose, usual_harps,
};

static PROGRESSIONS: LazyLock<Progressions> = LazyLock::new(Progressions::ours);

/// What a player says of a song: its key, and scale, feel and changes as far as they are known.
#[derive(Clone, Copy, Debug)]
struct Says {
    key: &'static str,
    scale: &'static str,
    feel: &'static str,
    changes: &'static str,
}

/// Which harps there are.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Harps {
    Richter,
    AllTunings,
    /// Richter harps of these keys.
    Owned(&'static str),
}

/// What has to come out: a harp by its key, tuning and position, and the lowest place at which it may stand.
type Expected = (&'static str, &'static str, u8, usize);

struct Case {
    says: Says,
    harps: Harps,
    levels: &'static [Level],
    expected: &'static [Expected],
}

const ALL: &[Level] = &Level::ALL;

fn scale(key: &'static str, scale: &'static str) -> Says {
    Says { key, scale, feel: "", changes: "" }
}

fn feel(key: &'static str, feel: &'static str) -> Says {
    Says { key, scale: "", feel, changes: "" }
}

fn changes(key: &'static str, changes: &'static str) -> Says {
    Says { key, scale: "", feel: "", changes }
}

fn case(says: Says, harps: Harps, levels: &'static [Level], expected: &'static [Expected]) -> Case {
    Case { says, harps, levels, expected }
}

impl Says {
    /// The song, `up` semitones higher.
    fn song(self, up: i32) -> Song {
        let key: NoteName = self.key.parse().unwrap();
        let tonic = key.pitch_class().up(up);
        let feel = (!self.feel.is_empty()).then(|| self.feel.parse::<Feel>().unwrap());
        let changes = (!self.changes.is_empty()).then(|| known_or_read(self.changes));
        if self.scale.is_empty() {
            return Song::assumed(NoteName::usual(tonic), feel, changes.as_ref(), &SCALES).unwrap();
        }
        let scale = SCALES.find(self.scale).unwrap().clone();
        Song { feel, changes, ..Song::new(ScaleInKey::new(scale, NoteName::usual(tonic))) }
    }
}

fn known_or_read(changes: &str) -> Progression {
    PROGRESSIONS.find(changes).cloned().unwrap_or_else(|_| Progression::new("", changes).unwrap())
}

impl Harps {
    fn harps(self, up: i32) -> Vec<Harp> {
        match self {
            Self::Richter => HarpKey::usual_keys().map(Harp::richter).collect(),
            Self::AllTunings => usual_harps(&TUNINGS, ConcertPitch::ISO),
            Self::Owned(keys) => {
                let key = |key: &str| HarpKey::usual(key.parse::<PitchClass>().unwrap().up(up));
                keys.split(' ').map(|k| Harp::richter(key(k))).collect()
            }
        }
    }
}

/// "1. C harp, Richter, 4th position: 0.95" and the next four.
fn said(ranking: &[Choice]) -> String {
    let line = |(place, choice): (usize, &Choice)| {
        format!("{}. {}: {:.2} {:?}", place + 1, choice.title(), choice.cost, choice.parts)
    };
    ranking.iter().take(5).enumerate().map(line).collect::<Vec<_>>().join("\n")
}

/// What is wrong with a case; nothing if all is right. Every key is tried with draw bends, the other levels in the key
/// that is named: no result depends on the key (`results_do_not_change_under_transposition`).
fn wrong(case: &Case) -> Vec<String> {
    let mut wrong = Vec::new();
    for level in case.levels {
        for up in 0..if *level == Level::DrawBends { 12 } else { 1 } {
            let ranking = choose(&case.says.song(up), &case.harps.harps(up), &Ability::new(*level));
            for (key, tuning, position, place) in case.expected {
                let key = key.parse::<PitchClass>().unwrap().up(up);
                let is_it = |choice: &&Choice| {
                    choice.harp.key().pitch_class() == key
                        && choice.harp.tuning().name() == *tuning
                        && choice.position.number() == *position
                };
                if ranking[..*place].iter().find(is_it).is_none() {
                    let level = level.name();
                    wrong.push(format!(
                        "{:?} {level}, {up} up: {key} {tuning} {position} not among {place}\n{}",
                        case.says,
                        said(&ranking)
                    ));
                }
            }
        }
    }
    wrong
}

fn check(cases: &[Case]) {
    let wrong: Vec<String> = cases.iter().flat_map(wrong).collect();
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n\n"));
}

/// A blues is for second position whatever the player commands; for a minor blues third position comes first.
#[test]
fn a_blues() {
    check(&[
        case(scale("E", "blues"), Harps::Richter, ALL, &[("A", "Richter", 2, 1)]),
        case(scale("A", "blues"), Harps::Richter, ALL, &[("D", "Richter", 2, 1)]),
        case(scale("G", "blues"), Harps::Richter, ALL, &[("C", "Richter", 2, 1)]),
        case(scale("G", "composite blues"), Harps::Richter, ALL, &[("C", "Richter", 2, 1)]),
        case(scale("C", "major blues"), Harps::Richter, ALL, &[("F", "Richter", 2, 1)]),
        case(changes("C", "eight-bar"), Harps::Richter, ALL, &[("F", "Richter", 2, 1)]),
        case(changes("A", "twelve-bar"), Harps::Richter, ALL, &[("D", "Richter", 2, 1)]),
        case(Says { feel: "minor", ..scale("A", "blues") }, Harps::Richter, ALL, &[("G", "Richter", 3, 1)]),
        case(changes("D", "minor twelve-bar"), Harps::Richter, ALL, &[("C", "Richter", 3, 1)]),
        case(
            Says { feel: "dominant", ..scale("A", "minor pentatonic") },
            Harps::Richter,
            ALL,
            &[("D", "Richter", 2, 1)],
        ),
        case(scale("C", "blues"), Harps::Owned("C G"), &[Level::DrawBends], &[("C", "Richter", 1, 1)]),
        case(
            scale("D", "blues"),
            Harps::Owned("A D C"),
            &[Level::DrawBends],
            &[("C", "Richter", 3, 2), ("D", "Richter", 1, 2)],
        ),
    ]);
}

/// Minor tunes: natural minor lies in fourth position, Dorian and the minor pentatonic in third, where the draw chord
/// is minor and home natural in every octave.
#[test]
fn minor_tunes() {
    check(&[
        case(
            scale("A", "natural minor"),
            Harps::Richter,
            ALL,
            &[("C", "Richter", 4, 1), ("G", "Richter", 3, 2)],
        ),
        case(scale("A", "minor pentatonic"), Harps::Richter, ALL, &[("G", "Richter", 3, 1)]),
        case(scale("E", "minor pentatonic"), Harps::Richter, ALL, &[("D", "Richter", 3, 1)]),
        case(scale("A", "Dorian"), Harps::Richter, ALL, &[("G", "Richter", 3, 1)]),
        case(scale("E", "Dorian"), Harps::Richter, ALL, &[("D", "Richter", 3, 1)]),
        case(changes("D", "two-chord minor vamp"), Harps::Richter, ALL, &[("C", "Richter", 3, 1)]),
        case(scale("A", "natural minor"), Harps::AllTunings, ALL, &[("D", "natural minor", 2, 3)]),
        case(
            Says { feel: "minor", ..scale("G", "blues") },
            Harps::AllTunings,
            &[Level::DrawBends],
            &[("C", "natural minor", 2, 3)],
        ),
        case(scale("A", "harmonic minor"), Harps::AllTunings, ALL, &[("A", "harmonic minor", 1, 1)]),
        case(scale("A", "harmonic minor"), Harps::Richter, &[Level::DrawBends], &[("C", "Richter", 4, 1)]),
        case(feel("A", "minor"), Harps::Richter, ALL, &[("C", "Richter", 4, 2), ("G", "Richter", 3, 2)]),
    ]);
}

/// Major tunes lie in first position, tunes with a minor seventh in second.
#[test]
fn major_and_dominant_tunes() {
    check(&[
        case(scale("D", "major"), Harps::Richter, ALL, &[("D", "Richter", 1, 1)]),
        case(scale("G", "major"), Harps::Richter, ALL, &[("G", "Richter", 1, 1)]),
        case(feel("A", "major"), Harps::Richter, ALL, &[("A", "Richter", 1, 1)]),
        case(
            scale("G", "major pentatonic"),
            Harps::Richter,
            ALL,
            &[("G", "Richter", 1, 2), ("C", "Richter", 2, 2)],
        ),
        case(changes("C", "ii-V-I"), Harps::Richter, ALL, &[("C", "Richter", 1, 1)]),
        case(changes("G", "I-IV-V"), Harps::Richter, ALL, &[("G", "Richter", 1, 1)]),
        case(changes("G", "I-vi-IV-V"), Harps::Richter, ALL, &[("G", "Richter", 1, 1)]),
        case(changes("C", "I-V-vi-IV"), Harps::Richter, ALL, &[("C", "Richter", 1, 1)]),
        case(scale("E", "Mixolydian"), Harps::Richter, ALL, &[("A", "Richter", 2, 1)]),
        case(feel("A", "dominant"), Harps::Richter, ALL, &[("D", "Richter", 2, 1)]),
        case(changes("A", "I | bVII | IV | I"), Harps::Richter, ALL, &[("D", "Richter", 2, 1)]),
        case(scale("A", "major"), Harps::Owned("C D G"), &[Level::DrawBends], &[("D", "Richter", 2, 1)]),
    ]);
}

/// Home is natural where the song is said to begin.
#[test]
fn no_song_begins_on_a_bent_home() {
    for name in ["minor pentatonic", "natural minor", "Dorian", "major", "Mixolydian", "blues"] {
        for level in Level::ALL {
            let best = &choose(&scale("E", name).song(0), &Harps::Richter.harps(0), &Ability::new(level))[0];
            let home = best.notes.iter().find(|note| note.is.step.semitones() == 0).unwrap();
            assert_eq!(home.cost.min(1), home.cost, "{name}, {}: {home:?}", best.title());
            assert_eq!(home.way.map(layout::Way::natural), home.way, "{name}: {home:?}");
        }
    }
}

/// A singer's range decides the octave of the harp: the same song from E3 up wants the low A harp, from E4 up the usual
/// A harp.
#[test]
fn low_and_high_harps_where_the_range_asks_for_them() {
    let harps: Vec<Harp> = HarpKey::all().map(Harp::richter).collect();
    for (low, high, harp) in
        [("E3", "E5", "low A"), ("E4", "E6", "A"), ("G3", "G5", "low C"), ("D5", "D7", "high G")]
    {
        let key = &low[..1];
        let range = Some((low.parse().unwrap(), high.parse().unwrap()));
        let song = Song { range, ..scale("E", "blues").song(0) };
        let song = Song { scale: ScaleInKey::new(song.scale.scale().clone(), key.parse().unwrap()), ..song };
        let best = &choose(&song, &harps, &Ability::new(Level::DrawBends))[0];
        assert_eq!(
            (best.harp.key().to_string().as_str(), best.position.number()),
            (harp, 2),
            "{low} to {high}"
        );
        let notes = (best.notes.first().unwrap().note, best.notes.last().unwrap().note);
        assert_eq!(Some(notes), range);
    }
}

/// The twelve-bars that the program falls back on are those of its own list of progressions.
#[test]
fn a_blues_is_played_over_the_twelve_bar_of_the_list() {
    let form = |feel| Says { feel, ..scale("A", "blues") }.song(0).form().unwrap();
    for (feel, name) in [("", "twelve-bar"), ("major", "twelve-bar"), ("minor", "minor twelve-bar")] {
        assert_eq!(form(feel).bars(), PROGRESSIONS.find(name).unwrap().bars(), "{feel}");
        assert_eq!(form(feel).name(), name);
    }
}

/// The degrees of the notes of a song that `counts` accepts.
fn degrees(song: &Song, counts: impl Fn(&theory::SongNote) -> bool) -> String {
    let notes = song.notes().into_iter().filter(counts);
    notes.map(|note| note.is.step.degree.to_string()).collect::<Vec<_>>().join(" ")
}

/// A blues has the notes of the composite scale and of its chords, among them the 7 in the V of the twelve-bar. A minor
/// blues has the notes of its own scale and chords. Blue notes are the ♭5 and, in a blues that is not minor, the ♭3.
#[test]
fn what_a_song_is_judged_by() {
    for (says, notes, blue) in [
        (scale("A", "blues"), "1 2 ♭3 3 4 ♭5 5 6 ♭7 7", "♭3 ♭5"),
        (scale("A", "major blues"), "1 2 ♭3 3 4 ♭5 5 6 ♭7 7", "♭3 ♭5"),
        (Says { feel: "minor", ..scale("A", "blues") }, "1 2 ♭3 4 ♭5 5 ♭6 ♭7 7", "♭5"),
        (scale("A", "Dorian"), "1 2 ♭3 4 5 6 ♭7", ""),
        (Says { changes: "i7 V7", ..scale("A", "minor pentatonic") }, "1 2 ♭3 4 5 ♭7 7", ""),
        (Says { changes: "I7 IV7", ..scale("A", "Mixolydian") }, "1 2 ♭3 3 4 ♭5 5 6 ♭7", "♭3 ♭5"),
        (Says { changes: "I7", ..scale("A", "minor pentatonic") }, "1 2 ♭3 3 4 ♭5 5 6 ♭7", "♭3 ♭5"),
    ] {
        let song = says.song(0);
        assert_eq!(
            (degrees(&song, |_| true).as_str(), degrees(&song, |note| note.blue).as_str()),
            (notes, blue),
            "{says:?}"
        );
    }
    // Textbook: what tells the modes apart is the note that the pentatonic lacks; a second seventh is passed through.
    let weight = |name, degree: &str| {
        let notes = scale("A", name).song(0).notes();
        notes.into_iter().find(|note| note.is.step.degree.to_string() == degree).unwrap().weight
    };
    assert!(weight("Lydian", "♯4") > weight("Lydian", "2"));
    assert!(weight("Dorian", "6") > weight("Dorian", "4"));
    for other in ["2", "3", "4", "5", "6", "♭7"] {
        assert!(weight("bebop dominant", "7") < weight("bebop dominant", other), "{other}");
    }
}

/// What is assumed of a song of which only a part is said.
#[test]
fn the_scale_that_is_assumed() {
    for (says, assumed, feel) in [
        (feel("A", ""), "blues", Feel::Dominant),
        (feel("A", "major"), "major", Feel::Major),
        (feel("A", "dominant"), "Mixolydian", Feel::Dominant),
        (feel("A", "minor"), "natural minor", Feel::Minor),
        (changes("A", "ii-V-I"), "major", Feel::Major),
        (changes("A", "I | II | I"), "Lydian", Feel::Major),
        (changes("A", "I7 | bVII"), "Mixolydian", Feel::Dominant),
        (changes("A", "I | bVII | IV"), "Mixolydian", Feel::Dominant),
        (changes("A", "Imaj7 | IV"), "major", Feel::Major),
        (changes("A", "I | IV | V"), "major", Feel::Major),
        (Says { feel: "major", ..changes("A", "I | bVII | IV") }, "Mixolydian", Feel::Major),
        (changes("A", "I7 IV7"), "blues", Feel::Dominant),
        (changes("A", "two-chord minor vamp"), "Dorian", Feel::Minor),
        (changes("A", "i | iv | V7"), "harmonic minor", Feel::Minor),
        (changes("A", "i | bII"), "Phrygian", Feel::Minor),
        (changes("A", "i | bVII | bVI"), "natural minor", Feel::Minor),
        (changes("A", "minor twelve-bar"), "blues", Feel::Minor),
        (Says { feel: "minor", ..changes("A", "V7") }, "harmonic minor", Feel::Minor),
    ] {
        let song = says.song(0);
        assert_eq!((song.scale.scale().name(), song.feel()), (assumed, feel), "{says:?}");
        let shares: f64 = song.chords().iter().map(|chord| chord.share).sum();
        assert!((shares - 1.0).abs() < 1e-9, "{says:?}");
    }
    let none = Song::assumed("A".parse().unwrap(), None, None, &theory::Scales::default());
    assert_eq!(none, None, "there is no blues among no scales");
}

/// The tunings that come with the program are all there is to choose from here.
#[test]
fn every_tuning_is_among_those_weighed() {
    assert_eq!(Harps::AllTunings.harps(0).len(), 12 * Tunings::ours().iter().count());
}
