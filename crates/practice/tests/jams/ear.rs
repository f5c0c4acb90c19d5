//! Jams that the simulated player plays, heard through the ear: what is told against what was played.

use crate::RATE;
use layout::{Harp, HarpKey, Technique};
use pitch::{Ear, Reading, Settings};
use practice::jam::{Form, Is, JamNote, JamPlan};
use practice::run::{Clicking, Rhythm, StartAt, Tempo};
use practice::{Event, Exercise, Order};
use scoring::Tolerance;
use scoring::timed::AskedNote;
use synth::{Gesture, SimulatedPlayer};
use theory::{Ability, Groove, Level, Position, Progressions, ScaleInKey, Scales};

/// A jam has so many blocks of 512 samples at most: two minutes.
const BLOCKS: u32 = 11_250;
/// What was played and what was told are the same note if they began so near to each other, seconds.
const SAME_S: f64 = 0.1;

/// Two choruses in the second position of a harp.
fn plan(harp: &Harp) -> JamPlan {
    let scale = Scales::ours().find("composite blues").unwrap().clone();
    let scale = ScaleInKey::in_position(scale, harp, Position::default());
    let form = Form::new(Progressions::ours().find("twelve-bar").unwrap(), &scale, harp).unwrap();
    let feel = Groove::Shuffle;
    JamPlan {
        form: form.times(2),
        feel,
        rhythm: Rhythm::of_groove(feel, Tempo::usual_of(feel)),
        scale,
        ability: Ability::new(Level::DrawBends),
        start: StartAt::CountIn,
        clicking: Clicking::default(),
        delay_s: Some(0.0),
    }
}

/// Plays these notes and gives back what was told.
fn heard(harp: &Harp, plan: JamPlan, line: &[AskedNote]) -> Vec<JamNote> {
    let mut exercise = Exercise::new(harp.clone(), Tolerance::USUAL, RATE);
    exercise.order(Order::Jam(Box::new(plan)));
    let mut ear = Ear::new(Settings::new(RATE)).unwrap();
    let mut player = SimulatedPlayer::new(harp, RATE, 5);
    let mut told = Vec::new();
    for _ in 0..BLOCKS {
        let mut block = [0.0; 512];
        player.fill(&mut block);
        let mut readings: Vec<Reading> = Vec::new();
        ear.push(&block, |reading| readings.push(reading));
        for event in readings.iter().flat_map(|reading| exercise.hear(reading)).collect::<Vec<_>>() {
            match event {
                Event::RunBegan(began) => {
                    for note in line {
                        let gesture = Gesture::new(note.way).seconds(0.7 * note.length_s);
                        let bent = matches!(note.way.technique, Technique::Bend(_));
                        let gesture = if bent { gesture.glide(0.03) } else { gesture };
                        player.play_at(&gesture, began.first_beat_samples + note.onset_s * RATE).unwrap();
                    }
                }
                Event::JamNote(note) => told.push(*note),
                Event::Ended(_) => return told,
                _ => {}
            }
        }
    }
    panic!("the jam never ended");
}

/// Of what was played on three harps at least 95 % is told as what it was, and at most one note of each is told as
/// something else; the rest is what cannot be told. Among what was played are at least twenty notes of the chord and
/// twenty others on each harp.
#[test]
fn what_was_played_is_told_as_what_it_was_on_every_harp() {
    for key in ["C", "low F", "high G"] {
        let harp = Harp::richter(key.parse::<HarpKey>().unwrap());
        let plan = plan(&harp);
        let line: Vec<AskedNote> = (0..2).flat_map(|n| plan.walk(&harp, 12 * n..12 * (n + 1), 11)).collect();
        let told = heard(&harp, plan.clone(), &line);
        let (mut right, mut wrong, mut of_chord) = (0, Vec::new(), 0);
        for note in &line {
            // The walk plays on the grid, so the chord is that of its bar and beat, and nothing anticipates.
            let (chord, ..) = plan.form.chord_at(note.onset_s / plan.rhythm.bar_s() + 1e-6).unwrap();
            let degree = chord.degree(note.note.pitch_class());
            let is = match degree {
                Some(degree) => Is::OfChord(degree),
                None if plan.scale.find_either(note.note).is_some() => Is::OfScale,
                None => Is::Outside,
            };
            of_chord += usize::from(degree.is_some());
            let near = told.iter().filter(|told| (told.played.onset_s - note.onset_s).abs() < SAME_S);
            let near = near.min_by(|a, b| {
                let off = |it: &&JamNote| (it.played.onset_s - note.onset_s).abs();
                off(a).total_cmp(&off(b))
            });
            match near {
                Some(told) if told.is == is && told.chord.as_ref() == Some(&chord.symbol) => right += 1,
                Some(told) if told.is != Is::CannotTell => wrong.push((note.way.to_string(), told.clone())),
                _ => {}
            }
        }
        assert!(of_chord >= 20 && line.len() - of_chord >= 20, "{key}: {of_chord} of {}", line.len());
        assert!(right * 20 >= line.len() * 19, "{key}: {right} of {}", line.len());
        assert!(wrong.len() <= 1, "{key}: {wrong:?}");
        assert!(told.len() <= line.len() + 1, "{key}: {} told, {} played", told.len(), line.len());
    }
}
