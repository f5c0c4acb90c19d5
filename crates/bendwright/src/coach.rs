//! The built-in player: a simulated learner behind the same ring as a microphone, who plays what the drill asks.

use layout::{Breath, Harp, Technique, Way};
use sound::Generator;
use std::sync::mpsc::{Receiver, Sender, channel};
use synth::{Gesture, Learner, SimulatedPlayer};

/// The rate at which the built-in player sounds, hertz.
const SAMPLE_RATE: f64 = 48_000.0;

/// The learner's mind: hears what is asked and sends the hands what to play.
pub(crate) struct Coach {
    learner: Learner,
    hands: Sender<Gesture>,
}

/// The learner's hands: plays what the mind sends, one gesture after the other, and is quiet in between.
struct Hands {
    player: SimulatedPlayer,
    gestures: Receiver<Gesture>,
}

impl Coach {
    /// A learner with a harp, and the sound of the same. The same seed plays the same way.
    pub(crate) fn new(harp: &Harp, seed: u64) -> (Self, Box<dyn Generator>) {
        let (hands, gestures) = channel();
        let player = SimulatedPlayer::new(harp, SAMPLE_RATE, seed);
        (Self { learner: Learner::new(seed), hands }, Box::new(Hands { player, gestures }))
    }

    /// Plays what a drill has just asked for.
    pub(crate) fn asked(&mut self, way: Way, hold_s: f64) {
        let gesture = self.learner.answer(way, hold_s);
        self.send(gesture);
    }

    /// Plays something of its own, up and down the middle of the harp; says how many notes.
    pub(crate) fn play_freely(&mut self, harp: &Harp) -> usize {
        let top = harp.holes().min(6);
        let run: Vec<u8> = (2..=top).chain((2..top).rev()).collect();
        for (i, hole) in run.iter().enumerate() {
            let breath = if i % 2 == 0 { Breath::Draw } else { Breath::Blow };
            self.asked(Way::new(*hole, breath, Technique::Natural), 0.5);
        }
        run.len()
    }

    fn send(&self, gesture: Gesture) {
        // The hands are gone only when the feed is closed, and then nothing is left to be played.
        let _ = self.hands.send(gesture);
    }
}

impl Generator for Hands {
    fn sample_rate(&self) -> f64 {
        SAMPLE_RATE
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        for gesture in self.gestures.try_iter() {
            // A way that this harp does not have is never asked for; were it, silence is the honest answer.
            let _ = self.player.play(gesture);
        }
        self.player.fill(out);
        out.len()
    }
}
