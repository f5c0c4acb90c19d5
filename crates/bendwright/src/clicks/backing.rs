//! The band of a jam or a run on the loudspeaker, a stretch of bars at a time.

use crate::own_recording::OwnBand;
use crate::tones::Made;
use layout::Harp;
use practice::jam::{Form, Jam};
use practice::run::{Rhythm, Running};
use sound::Generator;
use synth::{Band, BandPlan, SynthError};
use theory::Groove;

/// A stretch lasts so long at most, seconds: a microphone and a loudspeaker whose clocks are 100 millionths apart drift
/// by 3 ms meanwhile, which nobody hears between band and click. The next stretch is timed anew.
const STRETCH_S: f64 = 30.0;
/// Before the bar with which the next stretch begins the band fades out for so long, seconds: as short as a note that
/// is damped.
const DAMPED_S: f64 = 0.02;
/// Small differences from bar to bar: the same take every day.
const SEED: u64 = 7;

/// A band and the bar from which it is still to be ordered. Its bars are those of its form, from the first one on.
pub(super) struct Backing {
    of: Accompanist,
    /// The bar on which the first beat lies.
    first_bar: u64,
    next_bar: u64,
    /// Whether the bar before `next_bar` has been ordered.
    began: bool,
    /// The bar with which it stops; `None` if it goes on to its own end, or without end.
    stops: Option<u64>,
}

/// Who plays along with the player.
#[derive(Clone, Debug)]
enum Accompanist {
    /// The band of `synth`.
    Band(BandPlan),
    /// A recording of the player's own.
    Recording(OwnBand),
}

/// Some bars of a band that are ordered at once.
#[derive(Clone, Debug)]
pub(super) struct Stretch {
    of: Accompanist,
    /// Whether it goes on from a stretch before it.
    goes_on: bool,
    from_bar: u64,
    /// The bar behind the last one; `None` for the end of the band, which rings out.
    until_bar: Option<u64>,
    /// When it begins and ends, seconds from the first beat.
    pub(super) begins_s: f64,
    pub(super) ends_s: f64,
}

impl Backing {
    /// The band of a jam, from the bar for which it counts in: the player's own recording, where it is one of this
    /// form.
    pub(super) fn of_jam(jam: &Jam, harp: &Harp, own: Option<&OwnBand>) -> Option<Self> {
        let (plan, next_bar) = (jam.plan(), jam.from_bar() as u64);
        if let Some(own) = own.filter(|own| own.suits(plan)) {
            return Some(Self {
                of: Accompanist::Recording(own.clone()),
                first_bar: 0,
                next_bar,
                began: false,
                stops: None,
            });
        }
        // A form always has bars with chords, and a tempo that a band can play, so the band can be made.
        let band = band((&plan.form, plan.feel), &plan.rhythm, harp).ok()?;
        Some(Self { of: Accompanist::Band(band), first_bar: 0, next_bar, began: false, stops: None })
    }

    /// The band of a run, from the bar for which it counts in to the end of the run; `None` if the run goes to the
    /// click.
    pub(super) fn of_run(running: &Running, harp: &Harp) -> Option<Self> {
        let over = running.band()?;
        let plan = band((&over.form, over.feel), &running.rhythm(), harp).ok()?;
        let first_bar = over.from_bar as u64;
        let bar = |of_run: usize| first_bar + of_run as u64;
        Some(Self {
            of: Accompanist::Band(plan),
            first_bar,
            next_bar: bar(running.from_bar()),
            began: false,
            stops: Some(bar(running.plan().material.bars())),
        })
    }

    /// The stretch that is to be ordered next; `None` behind the last one.
    pub(super) fn next(&self) -> Option<Stretch> {
        let (from_bar, bar_s) = (self.next_bar, self.of.bar_s());
        let end = self.stops.or(self.of.bars());
        if end.is_some_and(|end| from_bar >= end) {
            return None;
        }
        // The stretch ends with the form, if that is not too long.
        let form = self.of.form_bars();
        let most = ((STRETCH_S / bar_s) as u64).max(1);
        let to_end_of_form = form - from_bar % form;
        let bars = if to_end_of_form <= most {
            to_end_of_form + (most - to_end_of_form) / form * form
        } else {
            most
        };
        let ends = end.map_or(from_bar + bars, |end| end.min(from_bar + bars));
        let until_bar = Some(ends).filter(|ends| self.of.bars() != Some(*ends));
        let at_s = |bar: u64| (bar - self.first_bar) as f64 * bar_s;
        Some(Stretch {
            of: self.of.clone(),
            goes_on: self.began,
            from_bar,
            until_bar,
            begins_s: at_s(from_bar),
            ends_s: at_s(ends),
        })
    }

    /// It has been ordered, or is over already.
    pub(super) fn ordered(&mut self, stretch: &Stretch) {
        self.began = true;
        self.next_bar = stretch.until_bar.or(self.of.bars()).unwrap_or(u64::MAX);
    }

    /// What had been ordered is lost: everything from this bar on is ordered anew, counted from the bar of the first
    /// beat.
    pub(super) fn order_anew(&mut self, bar: usize) {
        (self.next_bar, self.began) = (self.first_bar + bar as u64, false);
    }
}

impl Accompanist {
    /// Seconds of a bar.
    fn bar_s(&self) -> f64 {
        match self {
            Self::Band(plan) => plan.bar_s(),
            Self::Recording(own) => own.bar_s(),
        }
    }

    /// Bars after which it begins anew: stretches end there, if they can.
    fn form_bars(&self) -> u64 {
        match self {
            Self::Band(plan) => plan.form_bars() as u64,
            // Nobody knows where the form of a recording begins, so a stretch may end at any bar.
            Self::Recording(_) => 1,
        }
    }

    /// Bars until it ends by itself; `None` if it goes on and on.
    fn bars(&self) -> Option<u64> {
        match self {
            Self::Band(plan) => plan.bars(),
            Self::Recording(own) => Some(own.bars()),
        }
    }

    /// Its sound from the beginning of a bar on.
    fn sound_from(self, bar: u64, rate: f64) -> Result<Box<dyn Generator>, String> {
        match self {
            Self::Band(plan) => {
                let mut band = Band::new(&plan, rate).from_bar(bar);
                Ok(Box::new(Made::new(rate, move |out: &mut [f32]| band.fill(out))))
            }
            Self::Recording(own) => own.sound_from_bar(bar, rate),
        }
    }
}

impl Stretch {
    /// Its sound, at so many samples a second. A band strikes anew with the bar of the next stretch, and fades out
    /// before it; a recording sounds on, so that the two stretches fade into each other.
    ///
    /// # Errors
    /// If a recording cannot be read any more: a sentence.
    pub(super) fn sound(self, rate: f64) -> Result<Box<dyn Generator>, String> {
        let (bar_s, fade) = (self.of.bar_s(), (DAMPED_S * rate).round());
        let sample = |bar: u64| (bar as f64 * bar_s * rate).round() as u64;
        let is_recording = matches!(self.of, Accompanist::Recording(_));
        let over = if is_recording { fade as u64 } else { 0 };
        let mut left = self.until_bar.map(|until| sample(until) - sample(self.from_bar) + over);
        let mut to_come = if is_recording && self.goes_on { fade as u64 } else { 0 };
        let mut of = self.of.sound_from(self.from_bar, rate)?;
        Ok(Box::new(Made::new(rate, move |out: &mut [f32]| {
            let room =
                left.map_or(out.len(), |left| out.len().min(usize::try_from(left).unwrap_or(usize::MAX)));
            let made = of.fill(&mut out[..room]);
            for sample in &mut out[..made.min(to_come as usize)] {
                *sample *= (1.0 - to_come as f64 / fade) as f32;
                to_come -= 1;
            }
            let Some(left) = &mut left else { return made };
            // If the source makes too few samples, the stretch goes on with silence.
            out[made..room].fill(0.0);
            for sample in &mut out[..room] {
                *sample *= (*left as f64 / fade).min(1.0) as f32;
                *left -= 1;
            }
            room
        })))
    }
}

/// What the band of `synth` plays over a form.
fn band((form, groove): (&Form, Groove), rhythm: &Rhythm, harp: &Harp) -> Result<BandPlan, SynthError> {
    let chords = |bar| form.chords(bar).iter().map(|chord| chord.chord).collect();
    let bars: Vec<Vec<theory::Chord>> = (0..form.bars()).map(chords).collect();
    let band = BandPlan::new(&bars, groove, rhythm.tempo.bpm())?
        .beats(rhythm.metre.beats())?
        .key(form.tonic)
        .tuned(harp.concert())
        .below(harp.key().blow_1())
        .seed(SEED);
    Ok(form.choruses().map_or(band.clone(), |choruses| band.choruses(choruses)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::own_recording::OwnRecording;
    use practice::jam::JamPlan;
    use practice::run::{Clicking, StartAt, Tempo};
    use theory::{Ability, Progressions, ScaleInKey, Scales};

    const RATE: f64 = 8_000.0;

    fn plan(form: &str, choruses: Option<u32>) -> JamPlan {
        let harp = Harp::richter("D".parse().unwrap());
        let scale = ScaleInKey::new(Scales::ours().find("blues").unwrap().clone(), "A".parse().unwrap());
        let form = Form::new(Progressions::ours().find(form).unwrap(), &scale, &harp).unwrap();
        let feel = Groove::Shuffle;
        JamPlan {
            form: choruses.map_or(form.clone(), |choruses| form.times(choruses)),
            feel,
            rhythm: Rhythm::of_groove(feel, Tempo::usual_of(feel)),
            scale,
            ability: Ability::default(),
            start: StartAt::CountIn,
            clicking: Clicking::default(),
            delay_s: None,
        }
    }

    fn backing(plan: &JamPlan, next_bar: u64) -> Backing {
        let harp = Harp::richter("D".parse().unwrap());
        let plan = band((&plan.form, plan.feel), &plan.rhythm, &harp).unwrap();
        Backing { of: Accompanist::Band(plan), first_bar: 0, next_bar, began: false, stops: None }
    }

    /// Where each of the first four stretches begins and ends, in bars.
    fn bars(mut backing: Backing) -> Vec<(u64, u64)> {
        let mut all = Vec::new();
        while let Some(stretch) = backing.next().filter(|_| all.len() < 4) {
            let bar = |seconds: f64| (seconds / backing.of.bar_s()).round() as u64;
            all.push((bar(stretch.begins_s), bar(stretch.ends_s)));
            backing.ordered(&stretch);
        }
        all
    }

    /// A bar at 100 beats a minute lasts 2.4 s, so that a stretch has twelve bars at most.
    #[test]
    fn stretches_follow_each_other_and_end_with_the_form() {
        assert_eq!(bars(backing(&plan("twelve-bar", Some(2)), 0)), [(0, 12), (12, 24), (24, 25)]);
        assert_eq!(bars(backing(&plan("twelve-bar", Some(2)), 7)), [(7, 12), (12, 24), (24, 25)]);
        assert_eq!(bars(backing(&plan("twelve-bar", None), 0)), [(0, 12), (12, 24), (24, 36), (36, 48)]);
        assert_eq!(bars(backing(&plan("eight-bar", None), 0)), [(0, 8), (8, 16), (16, 24), (24, 32)]);
        assert_eq!(
            bars(backing(&plan("two-chord minor vamp", None), 1)),
            [(1, 12), (12, 24), (24, 36), (36, 48)]
        );
    }

    /// A run of five bars over the form from its third bar on.
    #[test]
    fn the_band_of_a_run_stops_with_it() {
        let mut backing = backing(&plan("twelve-bar", None), 2);
        (backing.first_bar, backing.stops) = (2, Some(7));
        let stretch = backing.next().unwrap();
        assert_eq!((stretch.begins_s, stretch.ends_s), (0.0, 12.0));
        backing.ordered(&stretch);
        assert!(backing.next().is_none());
        assert_eq!(all(stretch.sound(RATE).unwrap()).len(), (12.0 * RATE) as usize);
        backing.order_anew(3);
        let rest = backing.next().unwrap();
        assert!((rest.begins_s - 7.2).abs() < 1e-9 && (rest.ends_s - 12.0).abs() < 1e-9);
    }

    /// A minute of a recording whose first bar begins after 1.5 s: the stretches put together are the recording.
    #[test]
    fn stretches_of_a_recording_fade_into_each_other_without_a_seam() {
        let file = tempfile::Builder::new().suffix(".wav").tempfile().unwrap();
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: RATE as u32,
            bits_per_sample: 32,
            sample_format: hound::SampleFormat::Float,
        };
        let mut writer = hound::WavWriter::create(file.path(), spec).unwrap();
        let wave = |n: u32| (f64::from(n) * 0.05).sin() as f32 * 0.5;
        (0..60 * RATE as u32).for_each(|n| writer.write_sample(wave(n)).unwrap());
        writer.finalize().unwrap();
        let jam = plan("twelve-bar", None);
        let rhythm = jam.rhythm;
        let recording = OwnRecording::new(file.path(), None).unwrap();
        let own = OwnBand::new(recording, (1.5, rhythm.tempo, rhythm.metre), jam.form.title.clone()).unwrap();
        assert!(own.suits(&jam) && !own.suits(&plan("eight-bar", None)));
        let mut backing =
            Backing { of: Accompanist::Recording(own), first_bar: 0, next_bar: 0, began: false, stops: None };
        let mut put = vec![0.0_f32; 59 * RATE as usize];
        while let Some(stretch) = backing.next() {
            backing.ordered(&stretch);
            let from = (stretch.begins_s * RATE).round() as usize;
            for (sum, sample) in put[from..].iter_mut().zip(all(stretch.sound(RATE).unwrap())) {
                *sum += sample;
            }
        }
        // -15 dBFS at the peak; the first milliseconds are those of a filter that begins.
        let loud = 10f32.powf(-0.75) / 0.5;
        let (from, until) = ((0.1 * RATE) as usize, (58.0 * RATE) as usize);
        for (n, sample) in put.iter().enumerate().take(until).skip(from) {
            let truth = wave(n as u32 + (1.5 * RATE) as u32) * loud;
            assert!((sample - truth).abs() < 2e-3, "at {n}: {sample} and not {truth}");
        }
    }

    fn all(mut sound: Box<dyn Generator>) -> Vec<f32> {
        let (mut samples, mut block) = (Vec::new(), [0.0; 512]);
        loop {
            let made = sound.fill(&mut block);
            if made == 0 {
                return samples;
            }
            samples.extend(&block[..made]);
        }
    }

    #[test]
    fn stretches_put_together_are_the_band_but_for_what_rings_over_their_ends() {
        let plan = plan("twelve-bar", Some(2));
        let mut backing = backing(&plan, 0);
        let mut whole = backing.of.clone().sound_from(0, RATE).unwrap();
        let mut truth = vec![0.0; (25.0 * 2.4 * RATE) as usize];
        whole.fill(&mut truth);
        let mut put = Vec::new();
        while let Some(stretch) = backing.next() {
            assert_eq!(put.len(), (stretch.begins_s * RATE).round() as usize, "no gap and no overlap");
            backing.ordered(&stretch);
            put.extend(all(stretch.sound(RATE).unwrap()));
        }
        assert!(put.len() >= truth.len(), "the last chord rings out");
        let level = |samples: &[f32]| {
            (samples.iter().map(|x| f64::from(x * x)).sum::<f64>() / samples.len() as f64).sqrt()
        };
        // Bar by bar the difference is far below the band; without a fade it would be nothing within a stretch.
        for bar in 0..12 {
            let (from, until) =
                ((f64::from(bar) * 2.4 * RATE) as usize, (f64::from(bar + 1) * 2.4 * RATE) as usize);
            let until = until - (DAMPED_S * RATE) as usize;
            let off: Vec<f32> =
                truth[from..until].iter().zip(&put[from..until]).map(|(a, b)| a - b).collect();
            assert!(level(&off) < 1e-6, "bar {bar}");
            assert!(level(&put[from..until]) > 0.003, "bar {bar} sounds");
        }
    }
}
