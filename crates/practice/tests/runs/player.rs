//! The simulated player plays one run, sound by sound as the test says, into an exercise that listens through the ear.

use crate::clicks::Clicks;
use layout::Harp;
use pitch::{Ear, Reading, Settings};
use practice::run::{Clicking, Material, Plan, StartAt, Tempi};
use practice::{Event, Exercise, Order, RunJudged};
use scoring::Tolerance;
use scoring::timed::AskedNote;
use synth::{Gesture, SimulatedPlayer};

/// Samples per second.
pub(crate) const RATE: f64 = 48_000.0;

/// A run lasts at most so many blocks of 512 samples: two minutes.
const BLOCKS: u32 = 11_250;

/// A sound that the player makes: how, and when it is blown, seconds from the first beat.
pub(crate) struct Sound {
    pub(crate) gesture: Gesture,
    pub(crate) at_s: f64,
}

/// When a sound was really blown, and when it was let go, seconds from the first beat: one that is still sounding holds
/// up the next.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Blown {
    pub(crate) began_s: f64,
    pub(crate) released_s: f64,
}

/// Who plays a run, and what else the microphone hears.
pub(crate) struct Player {
    /// Decides the jitter, the shimmer and the noise.
    pub(crate) seed: u64,
    /// The click of the run, where it reaches the microphone.
    pub(crate) clicks: Option<Clicks>,
}

impl Player {
    /// A player with this seed, whom the click does not reach.
    pub(crate) fn new(seed: u64) -> Self {
        Self { seed, clicks: None }
    }

    /// Plays one run. What is played is made when it is known what is asked. Gives back what came of it, and each sound
    /// as it was really blown.
    pub(crate) fn play(
        &self,
        harp: &Harp,
        material: Material,
        sounds: impl Fn(&[AskedNote]) -> Vec<Sound>,
    ) -> (RunJudged, Vec<Blown>) {
        let mut exercise = Exercise::new(harp.clone(), Tolerance::USUAL, RATE);
        exercise.order(Order::Run(Box::new(plan(material))));
        let mut ear = Ear::new(Settings::new(RATE)).unwrap();
        let mut player = SimulatedPlayer::new(harp, RATE, self.seed);
        let mut clicks = None;
        let mut blown = Vec::new();
        for number in 0..BLOCKS {
            let mut block = [0.0; 512];
            player.fill(&mut block);
            if let (Some(own), Some(zero)) = (&self.clicks, clicks) {
                own.add(&mut block, f64::from(number) * 512.0 - zero, exercise.running().unwrap());
            }
            let mut readings: Vec<Reading> = Vec::new();
            ear.push(&block, |reading| readings.push(reading));
            for event in readings.iter().flat_map(|reading| exercise.hear(reading)).collect::<Vec<_>>() {
                match event {
                    Event::RunBegan(began) => {
                        let zero = began.first_beat_samples;
                        clicks = Some(zero);
                        let sounds = sounds(exercise.running().unwrap().asked());
                        blown = queued(&mut player, &sounds, zero);
                    }
                    Event::RunJudged(judged) => return (*judged, blown),
                    _ => {}
                }
            }
        }
        panic!("the run never ended");
    }
}

fn queued(player: &mut SimulatedPlayer, sounds: &[Sound], zero: f64) -> Vec<Blown> {
    let seconds = |sample: u64| (sample as f64 - zero) / RATE;
    let queue = |sound: &Sound| {
        let played = player.play_at(&sound.gesture, zero + sound.at_s * RATE).unwrap();
        Blown { began_s: seconds(played.began), released_s: seconds(played.released) }
    };
    sounds.iter().map(queue).collect()
}

/// One run of this that counts in, on a machine whose delay is known.
pub(crate) fn plan(material: Material) -> Plan {
    Plan {
        material,
        start: StartAt::CountIn,
        runs: 1,
        tempi: Tempi::Same,
        own_tempo_first: false,
        clicking: Clicking::default(),
        over: None,
        delay_s: Some(0.0),
    }
}
