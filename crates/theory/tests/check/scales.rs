//! Our scales against the scales of general-purpose libraries.

use crate::references::{music21, rows, text, texts, tonaljs};
use crate::{joined, name, scale};
use theory::{Degree, NoteName, Scale, ScaleDegree, Scales};

/// Our names of the scales that the npm dictionary calls otherwise.
const OTHER_NAMES: [(&str, &str); 12] = [
    ("natural minor", "minor"),
    ("blues", "minor blues"),
    ("bebop dominant", "bebop"),
    ("diminished whole-half", "diminished"),
    ("diminished half-whole", "half-whole diminished"),
    ("suspended pentatonic", "egyptian"),
    ("jazz minor", "melodic minor"),
    ("Dorian pentatonic", "minor six pentatonic"),
    ("kumoi", "flat three pentatonic"),
    ("yo", "ritusen"),
    ("Ionian augmented", "major augmented"),
    ("Lydian #2", "lydian #9"),
];

/// An interval name of that dictionary (`3m`, `4A`, `7M`) as a degree.
fn degree_of_interval(interval: &str) -> Degree {
    let (number, quality) = interval.split_at(interval.len() - 1);
    let number: u8 = number.parse().unwrap();
    let perfect = matches!(number, 1 | 4 | 5);
    let alteration = match quality {
        "P" | "M" => 0,
        "m" => -1,
        "A" => 1,
        "d" if perfect => -1,
        "d" => -2,
        other => panic!("{other}"),
    };
    Degree::new(number, alteration).unwrap()
}

fn is_named(step: ScaleDegree, degree: Degree) -> bool {
    step.degree == degree || step.also == Some(degree)
}

fn chroma(scale: &Scale) -> String {
    let sounds: Vec<u8> = scale.degrees().iter().map(|step| step.semitones()).collect();
    (0..12).map(|semitone| if sounds.contains(&semitone) { '1' } else { '0' }).collect()
}

#[test]
fn every_scale_is_in_the_npm_dictionary_with_the_same_notes_and_degrees() {
    let dictionary = tonaljs();
    let mut compared = 0;
    for ours in &Scales::ours() {
        let wanted =
            OTHER_NAMES.iter().find(|(own, _)| *own == ours.name()).map_or(ours.name(), |(_, theirs)| theirs);
        let theirs = rows(&dictionary, "scales")
            .iter()
            .find(|row| text(row, "name") == wanted.to_lowercase())
            .unwrap_or_else(|| panic!("{wanted} is not in the dictionary"));
        assert_eq!(chroma(ours), text(theirs, "chroma"), "{}", ours.name());
        let degrees = texts(theirs, "intervals").into_iter().map(degree_of_interval);
        for (step, degree) in ours.degrees().iter().zip(degrees) {
            assert!(is_named(*step, degree), "{}: {degree} is {} here", ours.name(), step.degree);
        }
        compared += 1;
    }
    assert!(compared >= 45, "{compared}");
}

#[test]
fn a_shared_name_means_the_same_notes() {
    let dictionary = tonaljs();
    for ours in &Scales::ours() {
        for theirs in rows(&dictionary, "scales") {
            let mut names = texts(theirs, "aliases");
            names.push(text(theirs, "name"));
            let shared = std::iter::once(ours.name())
                .chain(ours.other_names().iter().map(String::as_str))
                .find(|own| names.contains(&own.to_lowercase().as_str()));
            if let Some(shared) = shared {
                assert_eq!(chroma(ours), text(theirs, "chroma"), "{shared}");
            }
        }
    }
}

/// The seven modes of a scale, each begun on the next of its notes: the order and the names of any theory handbook,
/// written out from memory.
const MODES: [[&str; 7]; 3] = [
    ["major", "Dorian", "Phrygian", "Lydian", "Mixolydian", "natural minor", "Locrian"],
    [
        "harmonic minor",
        "Locrian 6",
        "Ionian augmented",
        "Dorian #4",
        "Phrygian dominant",
        "Lydian #2",
        "ultralocrian",
    ],
    [
        "jazz minor",
        "Dorian b2",
        "Lydian augmented",
        "Lydian dominant",
        "Mixolydian b6",
        "Locrian #2",
        "altered",
    ],
];

#[test]
fn every_mode_is_its_parent_begun_on_another_note() {
    for [parent, modes @ ..] in MODES {
        let steps: Vec<u8> = scale(parent).degrees().iter().map(|step| step.semitones()).collect();
        for (mode, from) in modes.into_iter().zip(&steps[1..]) {
            let mut turned: Vec<u8> = steps.iter().map(|step| (step + 12 - from) % 12).collect();
            turned.sort_unstable();
            let own: Vec<u8> = scale(mode).degrees().iter().map(|step| step.semitones()).collect();
            assert_eq!(own, turned, "{mode} of {parent}");
        }
    }
}

/// The scales whose letters a general text fixes; the others are compared by sound only.
fn has_letters(scale: &Scale) -> bool {
    scale.degrees().len() == 7
}

#[test]
fn scales_on_eighteen_tonics_equal_music21() {
    let reference = music21();
    for row in rows(&reference, "scales") {
        let (scale, tonic) = (scale(text(row, "scale")), name(text(row, "tonic")));
        let up: Vec<NoteName> = scale.spelled(tonic).collect();
        let falling: Vec<NoteName> =
            scale.falling_degrees().iter().map(|step| tonic.at(step.degree)).collect();
        check(&up, &texts(row, "up"), has_letters(&scale), &format!("{tonic} {}", scale.name()));
        if !row["down"].is_null() {
            check(&falling, &texts(row, "down"), true, &format!("{tonic} {} falling", scale.name()));
        }
    }
}

fn check(ours: &[NoteName], theirs: &[&str], by_letter: bool, what: &str) {
    let theirs: Vec<NoteName> = theirs.iter().map(|text| name(text)).collect();
    if by_letter {
        assert_eq!(joined(ours), joined(&theirs), "{what}");
    } else {
        let sounds = |names: &[NoteName]| joined(names.iter().map(|name| name.pitch_class()));
        assert_eq!(sounds(ours), sounds(&theirs), "{what}");
    }
}

#[test]
fn the_blues_scale_has_a_flat_fifth_that_others_call_a_sharp_fourth() {
    let blues = scale("blues");
    assert_eq!(joined(blues.degrees().iter().map(|step| step.degree)), "1 ♭3 4 ♭5 5 ♭7");
    assert_eq!(blues.degrees()[3].also, Degree::new(4, 1));
    assert_eq!(joined(blues.spelled(name("G"))), "G B♭ C D♭ D F");
}

#[test]
fn a_scale_is_found_by_any_of_its_names_in_any_case() {
    let scales = Scales::ours();
    for (asked, found) in [
        ("MAJOR", "major"),
        ("ionian", "major"),
        (" aeolian ", "natural minor"),
        ("Blues", "blues"),
        ("minor-pentatonic", "minor pentatonic"),
        ("Lydian ♯5", "Lydian augmented"),
        ("double harmonic", "double harmonic major"),
    ] {
        assert_eq!(scales.find(asked).unwrap().name(), found);
    }
    let error = scales.find("tango").unwrap_err();
    assert!(
        error.to_string().starts_with("there is no scale \"tango\"; there are: major, Dorian"),
        "{error}"
    );
    for (asked, meant) in [("bleus", "blues"), ("aeolain", "Aeolian"), ("mixo", "Mixolydian")] {
        let error = scales.find(asked).unwrap_err().to_string();
        assert!(error.contains(&format!("did you mean {meant:?}? There are: major")), "{error}");
    }
}
