//! How long the machine takes from a sound that is due to the same sound heard: chirps out, chirps found in the input.

use crate::failure::Failure;
use crate::signals::Signals;
use sound::{
    Fed, Feed, FeedEvent, FeedSpec, Generator, HostTime, Origin, Pace, Speaker, SpeakerEvent, StreamClock,
};
use std::f64::consts::TAU;
use std::time::{Duration, Instant};

/// How many chirps there are; the middle of what they say is the delay.
const CHIRPS: usize = 9;
/// From one chirp to the next, seconds, and a little more each time, so that an echo of one is not taken for the next.
const APART_S: f64 = 0.40;
const MORE_S: f64 = 0.013;
/// A chirp is searched for in so many seconds of sound at a time, the first of which begin when it was due. This is
/// less than the distance of two chirps, and as long as a cable or a room takes. A loudspeaker by radio is later (half
/// a second, from memory, no source): its chirps are searched for only if none came before.
const REACH_S: f64 = 0.39;
const REACHES: usize = 2;
/// How long to listen after the last chirp, seconds: a microphone hands in late what it heard.
const LISTENS_S: f64 = REACHES as f64 * REACH_S + 0.3;
/// A chirp: its length in seconds, and from which to which frequency it rises, hertz. It sounds through the smallest
/// loudspeaker, and its correlation with itself is 0.2 ms wide.
const CHIRP_S: f64 = 0.02;
const CHIRP_HZ: (f64, f64) = (1_000.0, 6_000.0);
/// Its peak, relative to full scale: −18 dB.
const PEAK: f64 = 0.125;
/// What correlates less than this with the chirp is something else.
const LEAST: f64 = 0.35;
/// The correlation at the first arrival is at least this share of that at the strongest echo.
const FIRST: f64 = 0.5;
/// Step of the first, coarse search, samples: a third of the width of the correlation at the lowest rate in use.
const STRIDE: usize = 3;
/// The chirps have to agree within this, seconds, and so many of them have to be heard.
const AGREE_S: f64 = 0.002;
const AGREEING: usize = 6;
/// How long both devices run before the chirps, so that it is known how fast each of them runs.
const KNOWN_AFTER: Duration = Duration::from_millis(3_500);
/// How long devices may take to open.
const OPENING: Duration = Duration::from_secs(8);

/// What was measured.
pub(crate) struct Measured {
    /// From the moment at which a sample is handed to the loudspeaker until its sound is handed in by the microphone,
    /// seconds.
    pub(crate) delay_s: f64,
    /// How many chirps said so, of how many.
    pub(crate) heard: (usize, usize),
    /// The microphone.
    pub(crate) input: Origin,
    /// The loudspeaker.
    pub(crate) output: Origin,
    /// How often the loudspeaker ran dry meanwhile.
    pub(crate) dry: u64,
}

/// Measures the delay of a microphone and the loudspeaker in use.
///
/// # Errors
/// If a device cannot be opened, or too few chirps come back.
pub(crate) fn measure(input: FeedSpec) -> Result<Measured, Failure> {
    let signals = Signals::watch()?;
    let mut feed = Feed::open(input, Pace::InTime).map_err(Failure::world)?;
    let speaker = Speaker::new(None);
    // The loudspeaker opens with its first sound; a silent one costs nothing.
    speaker.play(|rate| Ok(Box::new(Chirps::new(rate, 0))));
    let mut heard = Listened::new(feed.sample_rate());
    let started = Instant::now();
    let mut playing = None;
    let mut until = None;
    while until.is_none_or(|until: Instant| Instant::now() < until) {
        signals.check()?;
        heard.listen(&mut feed)?;
        match speaker.next_event() {
            Some(SpeakerEvent::Opened(playback)) => {
                // For a new stream a sound system may change its block size, and that of the microphone with it.
                heard.clock = StreamClock::new(heard.rate);
                playing = Some((playback, Instant::now()));
            }
            Some(SpeakerEvent::NotOpened(error)) => return Err(Failure::world(error)),
            Some(SpeakerEvent::Lost { device, .. }) => {
                return Err(Failure::world(format!("{device} is gone")));
            }
            _ => {}
        }
        if until.is_none() && playing.as_ref().is_some_and(|(_, opened)| opened.elapsed() >= KNOWN_AFTER) {
            let at = HostTime::now() + Duration::from_millis(300);
            heard.chirps_at = Some(at);
            speaker.play_at(at, |rate| Ok(Box::new(Chirps::new(rate, CHIRPS))));
            until = Instant::now().checked_add(Duration::from_secs_f64(0.3 + starts_s(CHIRPS) + LISTENS_S));
        }
        if until.is_none() && started.elapsed() > OPENING {
            return Err(Failure::world("the loudspeaker or the microphone does not start; try again"));
        }
    }
    let (playback, _) = playing.ok_or_else(|| Failure::world("there is no loudspeaker"))?;
    let (output, missed) = (playback.origin().clone(), playback.underruns());
    let (delay_s, agreeing) = agreed_by(|after_s| heard.delays(after_s)).map_err(too_few)?;
    Ok(Measured {
        delay_s,
        heard: (agreeing, CHIRPS),
        input: feed.origin().clone(),
        output,
        dry: missed.events.max(missed.system_events),
    })
}

fn too_few(heard: usize) -> Failure {
    Failure::world(format!(
        "of {CHIRPS} chirps {heard} came back to the microphone, too few to agree; turn the loudspeaker up a little, or hold a cup of the \
         headphones to the microphone, and try again"
    ))
}

/// When a chirp starts, seconds from the first.
fn starts_s(index: usize) -> f64 {
    let n = index as f64;
    n * APART_S + MORE_S * n * (n - 1.0) / 2.0
}

/// A chirp at `t` seconds after its beginning.
fn chirp(t: f64) -> f64 {
    let (low, high) = CHIRP_HZ;
    let window = 0.5 - 0.5 * (TAU * t / CHIRP_S).cos();
    window * (TAU * (low + (high - low) * t / CHIRP_S / 2.0) * t).sin()
}

/// The chirps as a loudspeaker takes them.
struct Chirps {
    rate: f64,
    count: usize,
    position: u64,
}

impl Chirps {
    fn new(rate: f64, count: usize) -> Self {
        Self { rate, count, position: 0 }
    }

    fn at(&self, t: f64) -> f64 {
        let within = |index: usize| Some(t - starts_s(index)).filter(|since| (0.0..CHIRP_S).contains(since));
        (0..self.count).find_map(within).map_or(0.0, chirp)
    }
}

impl Generator for Chirps {
    fn sample_rate(&self) -> f64 {
        self.rate
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        let end = if self.count == 0 { 0.1 } else { starts_s(self.count) };
        let left = ((end * self.rate) as u64).saturating_sub(self.position) as usize;
        let made = left.min(out.len());
        for sample in &mut out[..made] {
            *sample = (PEAK * self.at(self.position as f64 / self.rate)) as f32;
            self.position += 1;
        }
        made
    }
}

/// What the microphone handed in.
struct Listened {
    samples: Vec<f32>,
    rate: f64,
    clock: StreamClock,
    chirps_at: Option<HostTime>,
}

impl Listened {
    fn new(rate: f64) -> Self {
        Self { samples: Vec::new(), rate, clock: StreamClock::new(rate), chirps_at: None }
    }

    fn listen(&mut self, feed: &mut Feed) -> Result<(), Failure> {
        let mut block = [0.0; 1_024];
        match feed.read(&mut block, Duration::from_millis(20)) {
            Fed::Samples(got) => {
                // Samples that were lost are silence, so that the rest stays in its place.
                let lost =
                    usize::try_from(got.start).unwrap_or(usize::MAX).saturating_sub(self.samples.len());
                self.samples.extend(std::iter::repeat_n(0.0, lost.min(1 << 22)));
                self.samples.extend(&block[..got.len]);
                if let Some(anchor) = got.anchor {
                    self.clock.see(anchor);
                }
            }
            Fed::Event(FeedEvent::Lost { device }) => {
                return Err(Failure::world(format!("{device} is gone; try again when it is back")));
            }
            Fed::Event(FeedEvent::Ended) => return Err(Failure::world("the input is at its end")),
            Fed::Event(_) | Fed::Nothing => {}
        }
        Ok(())
    }

    /// The delays of the chirps that are heard, seconds; each chirp is searched for from `after_s` seconds after it was
    /// due.
    fn delays(&self, after_s: f64) -> Vec<f64> {
        let Some(first) = self.chirps_at.and_then(|at| self.clock.frame_at(at)) else { return Vec::new() };
        delays(&self.samples, self.rate, (first, after_s))
    }
}

/// The delays of the chirps that are heard, seconds. The first chirp was due at the sample `first`; each is searched
/// for from `after_s` seconds after it was due.
fn delays(samples: &[f32], rate: f64, (first, after_s): (f64, f64)) -> Vec<f64> {
    let from = |index: usize| first + (starts_s(index) + after_s) * rate;
    let heard = (0..CHIRPS).filter_map(|index| delay(samples, rate, from(index)));
    heard.map(|delay_s| after_s + delay_s).collect()
}

/// How long after `from`, a sample with its fraction, a chirp is first heard, seconds.
fn delay(samples: &[f32], rate: f64, from: f64) -> Option<f64> {
    let wanted: Vec<f64> = (0..(CHIRP_S * rate) as usize).map(|n| chirp(n as f64 / rate)).collect();
    let start = from.max(0.0).floor() as usize;
    let lags = (REACH_S * rate) as usize;
    let energy: f64 = wanted.iter().map(|x| x * x).sum();
    let correlation = |lag: usize| -> Option<(f64, f64)> {
        let heard = samples.get(start + lag..start + lag + wanted.len())?;
        let sum: f64 = heard.iter().zip(&wanted).map(|(x, w)| f64::from(*x) * w).sum();
        let own: f64 = heard.iter().map(|x| f64::from(*x).powi(2)).sum();
        Some((sum.abs(), sum.abs() / (energy * own).sqrt().max(1e-12)))
    };
    let coarse: Vec<(f64, f64)> = (0..lags).step_by(STRIDE).map_while(correlation).collect();
    let most = coarse.iter().map(|(sum, _)| *sum).fold(0.0, f64::max);
    let first = STRIDE * coarse.iter().position(|(sum, share)| *sum >= FIRST * most && *share >= LEAST)?;
    // `first` is where the correlation reaches half of its maximum; the peak of the first arrival lies within a
    // millisecond.
    let near = first.saturating_sub(STRIDE)..first + (0.001 * rate) as usize;
    let strength = |lag: usize| correlation(lag).map_or(0.0, |(sum, _)| sum);
    let peak = near.map(|lag| (lag, strength(lag))).max_by(|a, b| a.1.total_cmp(&b.1))?.0;
    Some((start as f64 + peak as f64 - from) / rate)
}

/// The middle of some delays, seconds, and how many agree with it; `None` of none.
pub(crate) fn agreed(delays: &[f64]) -> Option<(f64, usize)> {
    let mut sorted = delays.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = *sorted.get(sorted.len() / 2)?;
    let agreeing = sorted.iter().filter(|delay| (*delay - middle).abs() <= AGREE_S).count();
    Some((middle, agreeing))
}

/// The delay that enough chirps agree on, seconds, and how many agree; else the most chirps that were heard. `delays`
/// searches from so many seconds after each chirp was due.
fn agreed_by(delays: impl Fn(f64) -> Vec<f64>) -> Result<(f64, usize), usize> {
    let mut most = 0;
    for reach in 0..REACHES {
        let told = delays(reach as f64 * REACH_S);
        if let Some(agreed) = enough(&told) {
            return Ok(agreed);
        }
        most = most.max(told.len());
    }
    Err(most)
}

/// The delay that enough chirps agree on, seconds, and how many agree.
fn enough(delays: &[f64]) -> Option<(f64, usize)> {
    agreed(delays).filter(|(_, agreeing)| *agreeing >= AGREEING)
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: f64 = 48_000.0;

    /// Chirps that come back after `delay_s`, weaker, with an echo that is weaker still, in noise.
    fn room(delay_s: f64, gain: f64, echo: (f64, f64), noise: f64) -> Vec<f32> {
        let chirps = Chirps::new(RATE, CHIRPS);
        let mut random = oorandom::Rand64::new(3);
        let sample = |n: usize| {
            let t = n as f64 / RATE - 1.0;
            let direct = chirps.at(t - delay_s);
            let echo = echo.1 * chirps.at(t - delay_s - echo.0);
            (gain * (direct + echo) + noise * (2.0 * random.rand_float() - 1.0)) as f32
        };
        (0..(7.0 * RATE) as usize).map(sample).collect()
    }

    fn measured(samples: &[f32]) -> Option<(f64, usize)> {
        agreed_by(|after_s| delays(samples, RATE, (RATE, after_s))).ok()
    }

    #[test]
    fn the_delay_of_a_room_is_found() {
        for (delay_s, echo, noise) in [
            (0.012, (0.02, 0.0), 0.0),
            (0.043, (0.007, 0.8), 0.003),
            (0.21, (0.03, 1.2), 0.01),
            (0.5, (0.03, 0.8), 0.003),
            (0.7, (0.007, 0.8), 0.003),
        ] {
            let (found, agreeing) = measured(&room(delay_s, 0.1, echo, noise)).unwrap();
            assert!(
                (found - delay_s).abs() < 0.0005 && agreeing >= 8,
                "{delay_s}: {found}, {agreeing} agree"
            );
        }
    }

    #[test]
    fn silence_and_noise_tell_no_delay() {
        assert!(measured(&room(0.05, 0.0, (0.0, 0.0), 0.0)).is_none());
        assert!(measured(&room(0.05, 0.0, (0.0, 0.0), 0.1)).is_none());
    }
}
