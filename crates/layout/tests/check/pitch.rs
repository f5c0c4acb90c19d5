//! Frequencies.

use layout::{ConcertPitch, Note, cents_between};

fn note(midi: i32) -> Note {
    Note::new(midi).unwrap()
}

/// MIDI Tuning Standard: f = 440 · 2^((d − 69)/12). The values follow from the formula; the example table printed in
/// the specification has wrong rows and is not used.
#[test]
fn midi_numbers_have_the_frequencies_of_the_midi_tuning_formula() {
    for (midi, hz) in [
        (0, 8.175_799),
        (21, 27.5),
        (60, 261.625_565),
        (69, 440.0),
        (108, 4_186.009_045),
        (127, 12_543.853_951),
    ] {
        let ours = ConcertPitch::ISO.hz(note(midi), 0.0);
        assert!((ours - hz).abs() < 1e-6, "{midi}: {ours} Hz, expected {hz}");
        assert!((ConcertPitch::ISO.key_number(hz) - f64::from(midi)).abs() < 1e-5, "{midi}");
    }
}

/// ISO 16:1975: A above middle C at 440 Hz, produced within 0.5 Hz (±1.97 cents).
#[test]
fn the_default_is_iso_16() {
    assert_eq!(ConcertPitch::default().a4_hz(), 440.0);
    assert_eq!(ConcertPitch::default().hz("A4".parse().unwrap(), 0.0), 440.0);
    assert!((cents_between(440.0, 440.5) - 1.97).abs() < 0.005);
}

/// Ellis's cent, 1200 · log2(f2/f1), for the reference pitches in use (encyclopaedia, A440); librosa gives
/// 7.8514 for 442 Hz.
#[test]
fn reference_pitches_in_cents_above_iso() {
    for (a4, cents) in [
        (441.0, 3.930),
        (442.0, 7.8514),
        (443.0, 11.764),
        (444.0, 15.667),
        (432.0, -31.767),
        (415.0, -101.271),
    ] {
        let concert = ConcertPitch::new(a4).unwrap();
        let ours = cents_between(ConcertPitch::ISO.hz(note(60), 0.0), concert.hz(note(60), 0.0));
        assert!((ours - cents).abs() < 6e-4, "A4 = {a4}: {ours}");
    }
}

#[test]
fn reference_pitches_from_400_to_480_are_taken_and_others_refused() {
    assert!(ConcertPitch::new(400.0).is_ok() && ConcertPitch::new(480.0).is_ok());
    for wrong in [399.9, 480.1, -440.0, 0.0, f64::NAN, f64::INFINITY] {
        let message = ConcertPitch::new(wrong).unwrap_err().to_string();
        assert!(message.contains("400 to 480"), "{message}");
    }
}

#[test]
fn the_nearest_note_and_how_far() {
    let (nearest, cents) = ConcertPitch::ISO.nearest(441.0).unwrap();
    assert_eq!(nearest, note(69));
    assert!((cents - 3.930).abs() < 1e-3);
    assert_eq!(ConcertPitch::ISO.nearest(430.0).unwrap().0, note(69));
    assert_eq!(ConcertPitch::ISO.nearest(f64::NAN).map(|n| n.0), None);
    assert_eq!(ConcertPitch::ISO.nearest(0.0).map(|n| n.0), None);
    assert_eq!(ConcertPitch::ISO.nearest(-5.0).map(|n| n.0), None);
}

#[test]
fn notes_are_read_in_scientific_pitch_notation() {
    for (text, midi) in
        [("C4", 60), ("A4", 69), ("Bb3", 58), ("F♯5", 78), ("C-1", 0), ("g9", 127), ("Cb4", 59)]
    {
        assert_eq!(text.parse::<Note>().unwrap(), note(midi), "{text}");
    }
    for wrong in ["", "H4", "C", "4", "C4x", "G♯9", "C99999999999", "A2147483647", "♭4"] {
        assert!(wrong.parse::<Note>().is_err(), "{wrong}");
    }
}
