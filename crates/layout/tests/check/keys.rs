//! Harp keys and their octaves.

use crate::{harp, way};
use layout::{Breath, HarpKey, Note, PitchClass};

/// G, A♭, A, B♭ and B start below middle C, D♭ to F♯ above it (encyclopaedia, Richter-tuned harmonica). High G:
/// common practice, no source. Hz: MIDI tuning formula.
const USUAL: [(&str, u8, f64); 13] = [
    ("G", 55, 196.00),
    ("A♭", 56, 207.65),
    ("A", 57, 220.00),
    ("B♭", 58, 233.08),
    ("B", 59, 246.94),
    ("C", 60, 261.63),
    ("D♭", 61, 277.18),
    ("D", 62, 293.66),
    ("E♭", 63, 311.13),
    ("E", 64, 329.63),
    ("F", 65, 349.23),
    ("F♯", 66, 369.99),
    ("high G", 67, 392.00),
];

/// Common practice, no source.
const LOW: [(&str, u8); 13] = [
    ("low F♯", 54),
    ("low F", 53),
    ("low E", 52),
    ("low E♭", 51),
    ("low D", 50),
    ("low D♭", 49),
    ("low C", 48),
    ("low B", 47),
    ("low B♭", 46),
    ("low A", 45),
    ("low A♭", 44),
    ("low G", 43),
    ("low low F", 41),
];

#[test]
fn every_key_sounds_in_its_octave() {
    for (name, midi, hz) in USUAL {
        let key: HarpKey = name.parse().unwrap();
        assert_eq!((key.blow_1().midi(), key.to_string().as_str()), (midi, name));
        let harp = harp(name);
        let ours = harp.hz(way("1")).unwrap();
        assert!((ours - hz).abs() < 0.005, "{name}: {ours}");
    }
    for (name, midi) in LOW {
        let key: HarpKey = name.parse().unwrap();
        assert_eq!((key.blow_1().midi(), key.to_string().as_str()), (midi, name));
    }
}

#[test]
fn every_key_reads_back_from_its_own_name() {
    assert_eq!(HarpKey::all().count(), 27);
    for key in HarpKey::all() {
        assert_eq!(key.to_string().parse(), Ok(key));
    }
    let usual: Vec<String> = HarpKey::usual_keys().map(|key| key.to_string()).collect();
    assert_eq!(usual, USUAL[..12].iter().map(|row| row.0).collect::<Vec<_>>());
    for class in PitchClass::all() {
        assert_eq!(HarpKey::usual(class).pitch_class(), class);
    }
}

#[test]
fn keys_are_read_as_players_write_them() {
    let midi = |text: &str| text.parse::<HarpKey>().unwrap().blow_1().midi();
    assert_eq!(midi("Bb"), 58);
    assert_eq!(midi(" c# "), 61);
    assert_eq!(midi("Gb"), 66);
    assert_eq!(midi("LOW  f"), 53);
    assert_eq!(midi("low-low-F"), 41);
    for wrong in
        ["", "H", "low", "high", "low low low C", "high A", "C4", "C low", "medium C", "low C D", "-C", "C-"]
    {
        let message = wrong.parse::<HarpKey>().unwrap_err().to_string();
        assert!(message.contains("no harp key") && message.contains("low low F"), "{message}");
    }
}

/// The reach that the pitch engine has to cover: low low F to high G with overdraw 10, at A4 = 440 Hz (MIDI tuning
/// formula over the layout).
#[test]
fn the_range_of_all_keys() {
    let lowest = harp("low low F").hz(way("1")).unwrap();
    let highest = harp("high G").hz(way("-10o")).unwrap();
    assert!((lowest - 87.31).abs() < 0.01 && (highest - 3322.44).abs() < 0.01, "{lowest} {highest}");
}

/// Harp in the hand: the same holes on another key are the same distance apart.
#[test]
fn a_low_harp_lies_an_octave_below_the_usual_one() {
    for hole in 1..=10 {
        for breath in [Breath::Blow, Breath::Draw] {
            let usual: Note = harp("F").reed(hole, breath).unwrap();
            assert_eq!(harp("low F").reed(hole, breath), usual.up(-12));
        }
    }
}
