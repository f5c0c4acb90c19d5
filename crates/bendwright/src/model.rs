//! The model on the loudspeaker: before a run, what is to be played is played to the player.

use crate::coach::timed;
use crate::tones::Tones;
use practice::run::RunPhase;
use practice::{Event, Exercise, Order};
use sound::Generator;
use synth::{Model, Timed};

/// Whether the model sounds.
#[derive(Default)]
pub(crate) struct ModelSound {
    sounds: bool,
}

impl ModelSound {
    /// Takes what the exercise said, before the click takes it. What sounds is kept from the microphone, as reference tones are.
    pub(crate) fn event(&mut self, event: &Event, exercise: &Exercise, tones: &Tones) {
        match event {
            Event::ModelBegan(began) => {
                let Some(running) = exercise.running() else { return };
                let notes: Vec<Timed> = running.asked().iter().map(timed).collect();
                let (harp, lead_s) = (exercise.harp().clone(), began.lead_s);
                tones.speaker().play(move |rate| {
                    let model = Model::new(&harp, rate, notes, lead_s).map_err(|error| error.to_string())?;
                    Ok(Box::new(Track(model)))
                });
                self.sounds = true;
            }
            Event::ModelOver | Event::RunBegan(_) | Event::Paused | Event::Started(_) | Event::Ended(_)
                if std::mem::take(&mut self.sounds) =>
            {
                tones.speaker().stop();
            }
            _ => {}
        }
    }
}

/// What the player wants when the loudspeaker has told that something is amiss: a model that cannot be heard is not waited for.
pub(crate) fn without_model(exercise: &Exercise) -> Option<Order> {
    exercise.running().filter(|running| running.phase() == RunPhase::Model).map(|_| Order::Next)
}

/// A model as a loudspeaker takes it.
struct Track(Model);

impl Generator for Track {
    fn sample_rate(&self) -> f64 {
        self.0.sample_rate()
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        self.0.fill(out)
    }
}
