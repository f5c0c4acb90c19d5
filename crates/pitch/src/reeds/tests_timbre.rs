//! What is learned of lone reeds, by rules written out.

use super::fit::HARMONICS;
use super::timbre::{COMPARED, Levels, Timbres, levels, slot};

const SOUND: usize = 30;

/// Levels that fall by 3 dB a harmonic, each moved by some decibels.
fn spectrum(moved: [f64; COMPARED]) -> Levels {
    std::array::from_fn(|i| Some(moved[i] - 3.0 * i as f64))
}

/// So many decibels more at the even harmonics.
fn even(more: f64) -> [f64; COMPARED] {
    std::array::from_fn(|i| if i % 2 == 1 { more } else { 0.0 })
}

fn hear(timbres: &mut Timbres, reed: usize, heard: &Levels) {
    for age in 0..SOUND {
        timbres.take(age, heard);
    }
    timbres.learn(reed);
}

/// Whether an octave is told at the end of a sound.
fn told(timbres: &mut Timbres, reed: usize, heard: &Levels) -> bool {
    let mut told = false;
    for age in 0..SOUND {
        let departure = timbres.departure(reed, age, heard);
        told = departure.is_some_and(|departure| timbres.octave(&departure, 1.0));
    }
    timbres.drop_sound();
    told
}

#[test]
fn nothing_is_known_of_a_reed_that_was_not_heard() {
    let mut timbres = Timbres::new();
    hear(&mut timbres, 10, &spectrum(even(0.0)));
    assert_eq!(timbres.departure(11, 3, &spectrum(even(0.0))), None);
    timbres.reset();
    assert_eq!(timbres.departure(10, 3, &spectrum(even(0.0))), None);
}

#[test]
fn an_octave_is_told_once_the_reeds_have_shown_that_they_repeat_themselves() {
    let mut timbres = Timbres::new();
    let (lone, octave) = (spectrum(even(0.0)), spectrum(even(8.0)));
    hear(&mut timbres, 10, &lone);
    let first = timbres.departure(10, 3, &octave).unwrap();
    assert!((first.off - 8.0).abs() < 1.0e-9 && !timbres.octave(&first, 1.0), "{first:?}");
    for _ in 0..5 {
        assert!(!told(&mut timbres, 10, &lone));
    }
    assert!(told(&mut timbres, 10, &octave));
    // Louder or brighter is no other reed.
    let brighter = spectrum(std::array::from_fn(|i| 5.0 + 1.5 * i as f64));
    assert!(!told(&mut timbres, 10, &brighter));
}

#[test]
fn reeds_that_never_sound_the_same_are_not_told_by_how_they_sound() {
    let mut timbres = Timbres::new();
    hear(&mut timbres, 10, &spectrum(even(0.0)));
    let other = [3.0, 8.0, -6.0, 9.0, 6.0, 4.0, -5.0, 9.0, 4.0];
    for _ in 0..5 {
        assert!(!told(&mut timbres, 10, &spectrum(other)));
    }
}

#[test]
fn what_was_learned_of_an_octave_is_given_up_for_the_lone_reed() {
    let mut timbres = Timbres::new();
    let (lone, octave) = (spectrum(even(0.0)), spectrum(even(8.0)));
    hear(&mut timbres, 10, &octave);
    assert!(!told(&mut timbres, 10, &lone));
    hear(&mut timbres, 10, &lone);
    for _ in 0..5 {
        assert!(!told(&mut timbres, 10, &lone));
    }
    assert!(told(&mut timbres, 10, &octave));
}

#[test]
fn levels_are_those_against_the_strongest_and_only_of_what_is_clear() {
    let mut amplitudes = [0.0; HARMONICS];
    amplitudes[..3].copy_from_slice(&[0.1, 0.2, 0.02]);
    let mut clear = [true; COMPARED];
    clear[2] = false;
    let found = levels(&amplitudes, &clear);
    assert!((found[0].unwrap() + 20.0 * 2.0_f64.log10()).abs() < 1.0e-9 && found[1] == Some(0.0));
    assert_eq!(found[2..], [None; COMPARED - 2]);
    // Semitones above 50 Hz: 440 Hz lies 37.65 of them up.
    assert_eq!(slot(440.0), 38);
}
