//! What is asked by ear, on the loudspeaker.

use crate::tones::{Made, Tones};
use layout::Harp;
use practice::ear::{Shape, Sounds};
use practice::{Event, Exercise};
use synth::{Model, SynthError, Timed, Tone};

/// The level of tones, and of a drone, which goes on and on, decibels relative to a full-scale sine. We chose them: the
/// partials of a tone add up to 6 dB more, which stays below -12 dBFS.
const TONE_DBFS: f64 = -22.0;
const DRONE_DBFS: f64 = -28.0;

/// Whether a question sounds.
#[derive(Default)]
pub(crate) struct EarSound {
    sounds: bool,
}

impl EarSound {
    /// Takes what the exercise said. What sounds is kept from the microphone, as reference tones are.
    pub(crate) fn event(&mut self, event: &Event, exercise: &Exercise, tones: &Tones) {
        match event {
            Event::EarSounds(sounds) => {
                let (harp, sounds) = (exercise.harp().clone(), (**sounds).clone());
                let is_drone = exercise.by_ear().is_some_and(|by_ear| by_ear.plan().shape == Shape::Drone);
                let level = if is_drone { DRONE_DBFS } else { TONE_DBFS };
                if std::mem::replace(&mut self.sounds, true) {
                    tones.speaker().stop();
                }
                tones.speaker().play(move |rate| {
                    let voices = Voices::new(&harp, &sounds, (rate, level));
                    let mut voices = voices.map_err(|error| error.to_string())?;
                    Ok(Box::new(Made::new(rate, move |out: &mut [f32]| voices.fill(out))))
                });
            }
            Event::EarSilent | Event::Paused | Event::Started(_) | Event::Ended(_)
                if std::mem::take(&mut self.sounds) =>
            {
                tones.speaker().stop();
            }
            _ => {}
        }
    }
}

/// What sounds: notes of a reed, or plain tones.
enum Voices {
    Reed(Box<Model>),
    /// Each tone with the sample at which it begins; then the number of the sample that comes next.
    Tones(Vec<(u64, Tone)>, u64),
}

impl Voices {
    fn new(harp: &Harp, sounds: &Sounds, (rate, level): (f64, f64)) -> Result<Self, SynthError> {
        let timed = |tone: &practice::ear::Tone| {
            let practice::ear::Tone { onset_s, length_s, way, .. } = *tone;
            Some(Timed { way: way?, onset_s, length_s, joined: false, others: Default::default() })
        };
        let notes: Option<Vec<Timed>> = sounds.tones.iter().map(timed).collect();
        if let Some(notes) = notes {
            return Ok(Self::Reed(Box::new(Model::new(harp, rate, notes, sounds.lead_s)?)));
        }
        let tone = |tone: &practice::ear::Tone| {
            let begins = ((sounds.lead_s + tone.onset_s) * rate).round() as u64;
            Ok((begins, Tone::new(tone.hz, rate)?.level(level)?.lasting(tone.length_s)))
        };
        let tones: Result<Vec<_>, SynthError> = sounds.tones.iter().map(tone).collect();
        Ok(Self::Tones(tones?, 0))
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        let (tones, at) = match self {
            Self::Reed(model) => return model.fill(out),
            Self::Tones(tones, at) => (tones, at),
        };
        tones.retain(|(_, tone)| !tone.is_done());
        if tones.is_empty() {
            return 0;
        }
        out.fill(0.0);
        let mut one = [0.0];
        for sample in out.iter_mut() {
            for (_, tone) in tones.iter_mut().filter(|(begins, _)| *begins <= *at) {
                tone.fill(&mut one);
                *sample += one[0];
            }
            *at += 1;
        }
        out.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: f64 = 48_000.0;

    fn peaks(way: Option<layout::Way>, level: f64) -> Vec<f32> {
        let harp = Harp::richter("C".parse().unwrap());
        let tone = |onset_s| practice::ear::Tone { hz: 440.0, onset_s, length_s: 0.5, way };
        let sounds = Sounds { lead_s: 0.25, tones: vec![tone(0.0), tone(0.75)] };
        let mut voices = Voices::new(&harp, &sounds, (RATE, level)).unwrap();
        let (mut all, mut block) = (Vec::new(), [0.0; 480]);
        loop {
            let length = voices.fill(&mut block);
            if length == 0 {
                break;
            }
            all.extend_from_slice(&block[..length]);
        }
        let tenth = (RATE / 10.0) as usize;
        all.chunks(tenth).map(|part| part.iter().fold(0.0, |peak: f32, x| peak.max(x.abs()))).collect()
    }

    #[test]
    fn each_tone_sounds_when_it_is_due_and_none_is_louder_than_it_may_be() {
        for (way, level) in [
            (None, TONE_DBFS),
            (None, DRONE_DBFS),
            (Some(layout::TabStyle::default().read("-4").unwrap()), TONE_DBFS),
        ] {
            let peaks = peaks(way, level);
            // The second begins at 1.0 s and fades after 1.5 s.
            assert!((15..=18).contains(&peaks.len()), "{}", peaks.len());
            assert!(peaks[..2].iter().all(|peak| *peak < 1e-4), "silent before the first: {peaks:?}");
            let loudest = peaks.iter().fold(0.0_f32, |loudest, peak| loudest.max(*peak));
            assert!(loudest > 0.02, "{loudest}");
            assert!(20.0 * f64::from(loudest).log10() < -12.0, "{loudest}");
            for second in [4, 5, 12, 13] {
                assert!(peaks[second] > 0.3 * loudest, "it sounds after {second} tenths: {peaks:?}");
            }
            assert!(peaks[9] < 0.02 * loudest, "a rest between them: {peaks:?}");
        }
    }
}
