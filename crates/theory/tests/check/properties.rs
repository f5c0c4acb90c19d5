//! Properties that hold for any scale, key and harp.

use crate::{joined, position_tonic};
use layout::{Harp, HarpKey, PitchClass};
use proptest::prelude::*;
use theory::{Chord, NoteName, Scale, ScaleInKey, ScaleMap, Scales};

fn any_scale() -> impl Strategy<Value = Scale> {
    let scales: Vec<Scale> = Scales::ours().iter().cloned().collect();
    proptest::sample::select(scales)
}

fn any_key() -> impl Strategy<Value = HarpKey> {
    proptest::sample::select(HarpKey::all().collect::<Vec<_>>())
}

proptest! {
    #[test]
    fn spelled_notes_sound_as_their_degrees(scale in any_scale(), tonic in 0..12) {
        let key = ScaleInKey::new(scale, NoteName::usual(PitchClass::new(tonic)));
        for note in key.notes() {
            let sounds = PitchClass::new(tonic + i32::from(note.step.semitones()));
            prop_assert_eq!(note.name.pitch_class(), sounds);
            prop_assert!(note.name.alteration().abs() <= 1);
        }
    }

    #[test]
    fn transposing_the_harp_transposes_the_map(scale in any_scale(), key in any_key(), position in 1..=12) {
        let map_on = |key| {
            let harp = Harp::richter(key);
            ScaleMap::new(&harp, &ScaleInKey::new(scale.clone(), position_tonic(&harp, position)))
        };
        let on_c = map_on("C".parse().unwrap());
        let there = map_on(key);
        let up = i32::from(key.blow_1().midi()) - 60;
        prop_assert_eq!(on_c.notes().len(), there.notes().len());
        for (a, b) in on_c.notes().iter().zip(there.notes()) {
            prop_assert_eq!(a.note.up(up), Some(b.note));
            prop_assert_eq!(&a.ways, &b.ways);
            prop_assert_eq!(a.is.step.semitones(), b.is.step.semitones());
        }
    }

    #[test]
    fn every_way_in_a_map_sounds_its_note(scale in any_scale(), key in any_key(), tonic in 0..12) {
        let harp = Harp::richter(key);
        let map = ScaleMap::new(&harp, &ScaleInKey::new(scale, NoteName::usual(PitchClass::new(tonic))));
        for note in map.notes() {
            prop_assert_eq!(note.is.name.pitch_class(), note.note.pitch_class());
            for way in &note.ways {
                prop_assert_eq!(harp.note(*way), Some(note.note));
            }
        }
    }

    #[test]
    fn octaves_cover_the_map(scale in any_scale(), key in any_key(), tonic in 0..12) {
        let harp = Harp::richter(key);
        let map = ScaleMap::new(&harp, &ScaleInKey::new(scale, NoteName::usual(PitchClass::new(tonic))));
        let octaves = map.octaves();
        // Neighbours share the tonic between them.
        let total: usize = octaves.iter().map(|octave| octave.notes.len()).sum();
        prop_assert_eq!(total, map.notes().len() + octaves.len() - 1);
        for pair in octaves.windows(2) {
            prop_assert_eq!(pair[0].notes.last(), pair[1].notes.first());
        }
    }

    #[test]
    fn a_chords_names_have_exactly_its_notes(
        kind in 0..theory::ChordKind::ALL.len(),
        root in 40..52,
        octaves in proptest::collection::vec(0..3, 5),
    ) {
        let kind = &theory::ChordKind::ALL[kind];
        // In any octave, so that any note of the chord may be the lowest.
        let degrees = kind.degrees().map(|degree| root + i32::from(degree.in_octave()));
        let midi = degrees.zip(&octaves).map(|(note, octave)| note + 12 * octave);
        let notes: Vec<_> = midi.filter_map(layout::Note::new).collect();
        let names = Chord::names(&notes);
        // Augmented triads and diminished sevenths divide the octave evenly and are named by their lowest note.
        let is_even = ["+", "°7"].contains(&kind.symbol());
        let is_it = |chord: &Chord| {
            chord.kind.symbol() == kind.symbol() && (is_even || chord.root == PitchClass::new(root))
        };
        prop_assert!(names.iter().any(is_it), "{} is not among {names:?}", kind.symbol());
        let mut sounding: Vec<PitchClass> = notes.iter().map(|n| n.pitch_class()).collect();
        sounding.sort();
        sounding.dedup();
        for chord in names {
            let key = ScaleInKey::new(Scale::new("x", "1 5").unwrap(), NoteName::usual(PitchClass::new(0)));
            let mut named: Vec<PitchClass> = chord.notes(&key).map(NoteName::pitch_class).collect();
            named.sort();
            prop_assert_eq!(joined(&named), joined(&sounding));
        }
    }

    #[test]
    fn any_text_as_degrees_or_name_is_read_or_refused(text in "\\PC{0,24}") {
        let _ = Scale::new("x", &text);
        let _ = text.parse::<NoteName>();
        let _ = text.parse::<theory::Function>();
        let _ = theory::Progression::new("x", &text);
        let _ = Scales::read(&text);
    }
}
