//! The model on the loudspeaker: before a run, what is to be played is played to the player.

use crate::coach::timed;
use crate::tones::{Made, Tones};
use practice::run::RunPhase;
use practice::{Event, Exercise, Order};
use synth::{Model, Timed};

/// Whether the model sounds.
#[derive(Default)]
pub(crate) struct ModelSound {
    sounds: bool,
}

impl ModelSound {
    /// Takes what the exercise said, before the click takes it. What sounds is kept from the microphone, as reference
    /// tones are.
    pub(crate) fn event(&mut self, event: &Event, exercise: &Exercise, tones: &Tones) {
        match event {
            Event::ModelBegan(began) => {
                let Some(running) = exercise.running() else { return };
                let notes: Vec<Timed> = running.asked().iter().map(timed).collect();
                let (harp, lead_s) = (exercise.harp().clone(), began.lead_s);
                tones.speaker().play(move |rate| {
                    let model = Model::new(&harp, rate, notes, lead_s);
                    let mut model = model.map_err(|error| error.to_string())?;
                    Ok(Box::new(Made::new(rate, move |out: &mut [f32]| model.fill(out))))
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

/// The order to go on when something is amiss with the loudspeaker: a model that cannot be heard is not waited for.
pub(crate) fn without_model(exercise: &Exercise) -> Option<Order> {
    exercise.running().filter(|running| running.phase() == RunPhase::Model).map(|_| Order::Next)
}
