//! What is learned of lone reeds, by rules written out.

use super::timbre::{COMPARED, Heard, Levels, Timbres, levels, slot};

const SOUND: usize = 30;

/// Levels that fall by 3 dB a harmonic, each moved by some decibels.
fn spectrum(moved: [f64; COMPARED]) -> Levels {
    std::array::from_fn(|i| Some(moved[i] - 3.0 * i as f64))
}

/// So many decibels more at the even harmonics.
fn even(more: f64) -> [f64; COMPARED] {
    std::array::from_fn(|i| if i % 2 == 1 { more } else { 0.0 })
}

/// What a sound says for an octave at its end, nats; it is learned if it was `alone`.
fn said(timbres: &mut Timbres, reed: usize, levels: &Levels, alone: bool) -> f64 {
    let mut heard = Heard::NOTHING;
    let mut said = 0.0;
    for age in 0..SOUND {
        said = timbres.hear(reed, &mut heard, (age, levels));
    }
    if alone {
        timbres.learn(reed, &heard, true);
    }
    said
}

#[test]
fn of_a_reed_that_was_not_heard_little_is_said() {
    let mut timbres = Timbres::new();
    for _ in 0..12 {
        said(&mut timbres, 10, &spectrum(even(8.0)), true);
    }
    // Eight decibels say more than chance would, and they are those of reed 10 alone.
    let (other, same) = (spectrum(even(8.0)), spectrum(even(8.0)));
    assert!(said(&mut timbres, 11, &other, false) > 0.0);
    assert!(said(&mut timbres, 10, &same, false) < -2.0);
    timbres.reset();
    assert_eq!(
        said(&mut timbres, 10, &same, false).total_cmp(&said(&mut Timbres::new(), 11, &same, false)),
        std::cmp::Ordering::Equal
    );
}

#[test]
fn an_octave_is_told_once_the_reeds_have_shown_that_they_repeat_themselves() {
    let mut timbres = Timbres::new();
    let (lone, octave) = (spectrum(even(0.0)), spectrum(even(8.0)));
    said(&mut timbres, 10, &lone, true);
    assert!(said(&mut timbres, 10, &octave, false) < 2.5);
    for _ in 0..8 {
        assert!(said(&mut timbres, 10, &lone, true) < 0.0);
    }
    assert!(said(&mut timbres, 10, &octave, false) > 3.0);
    // Louder or brighter is no other reed.
    let brighter = spectrum(std::array::from_fn(|i| 5.0 + 1.5 * i as f64));
    assert!(said(&mut timbres, 10, &brighter, false) < 0.0);
}

#[test]
fn reeds_that_never_sound_the_same_are_not_told_by_how_they_sound() {
    let mut timbres = Timbres::new();
    for turn in 0..10 {
        let sign = if turn % 2 == 0 { 1.0 } else { -1.0 };
        let other = std::array::from_fn(|i| [0.0, 9.0, 0.0, -9.0][i % 4] * sign);
        said(&mut timbres, 10, &spectrum(other), true);
    }
    assert!(said(&mut timbres, 10, &spectrum(even(6.0)), false) < 2.0);
}

#[test]
fn what_was_learned_of_an_octave_is_given_up_for_the_lone_reed() {
    let mut timbres = Timbres::new();
    let (lone, octave) = (spectrum(even(0.0)), spectrum(even(8.0)));
    said(&mut timbres, 10, &octave, true);
    for _ in 0..10 {
        said(&mut timbres, 10, &lone, true);
    }
    assert!(said(&mut timbres, 10, &lone, false) < -1.0);
    assert!(said(&mut timbres, 10, &octave, false) > 3.0);
}

#[test]
fn levels_are_those_against_the_strongest_and_only_of_what_is_clear() {
    let mut amplitudes = [None; COMPARED];
    amplitudes[..2].copy_from_slice(&[Some(0.1), Some(0.2)]);
    let found = levels(&amplitudes);
    assert!((found[0].unwrap() + 20.0 * 2.0_f64.log10()).abs() < 1.0e-9 && found[1] == Some(0.0));
    assert_eq!(found[2..], [None; COMPARED - 2]);
    // Semitones above 50 Hz: 440 Hz lies 37.65 of them up.
    assert_eq!(slot(440.0), 38);
}
