//! The speaker: what it plays, what it says, and how its sound is told from the player's.

use crate::cases::verdict;
use crate::room::{self, Ear, listen};
use crate::sine;
use sound::{Channel, Generator, HostTime, Playback, Speaker, SpeakerEvent};
use std::f64::consts::TAU;
use std::process::ExitCode;
use std::thread;
use std::time::{Duration, Instant};

/// A sine of 660 Hz, amplitude 0.3, for some seconds.
pub(crate) struct Sine {
    rate: f64,
    at: u64,
    left: u64,
}

impl Sine {
    pub(crate) fn of(rate: f64, seconds: f64) -> Self {
        Self { rate, at: 0, left: (rate * seconds) as u64 }
    }
}

impl Generator for Sine {
    fn sample_rate(&self) -> f64 {
        self.rate
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        let n = self.left.min(out.len() as u64) as usize;
        for slot in &mut out[..n] {
            *slot = (0.3 * (TAU * 660.0 * self.at as f64 / self.rate).sin()) as f32;
            self.at += 1;
        }
        self.left -= n as u64;
        n
    }
}

fn play(speaker: &Speaker, seconds: f64) {
    speaker.play(move |rate| Ok(Box::new(Sine::of(rate, seconds))));
}

/// Waits for the next event.
pub(crate) fn next(speaker: &Speaker) -> SpeakerEvent {
    let end = Instant::now() + Duration::from_secs(15);
    while Instant::now() < end {
        if let Some(event) = speaker.next_event() {
            return event;
        }
        thread::sleep(Duration::from_millis(5));
    }
    panic!("the speaker says nothing");
}

/// Plays a sine, and waits until the device is open.
pub(crate) fn opened(speaker: &Speaker, seconds: f64) -> Playback {
    play(speaker, seconds);
    match next(speaker) {
        SpeakerEvent::Opened(playback) => playback,
        SpeakerEvent::NotOpened(error) => panic!("{error}"),
        _ => panic!("something else came first"),
    }
}

pub(crate) fn a_tone_is_played(name: Option<&str>) -> ExitCode {
    let mut ear = Ear::new(listen(None, Channel::Auto).unwrap());
    ear.fresh(0.3);
    let ordered = Instant::now();
    let speaker = Speaker::new(name);
    let playback = opened(&speaker, 30.0);
    assert_eq!(playback.origin().host.as_deref(), Some(if name.is_none() { "PulseAudio" } else { "ALSA" }));
    // ALSA's plug-in for PulseAudio sometimes starts a stream that stays silent.
    if !ear.until(Duration::from_secs(5), |ear| ear.samples.last().is_some_and(|x| x.abs() > 0.1)) {
        println!("  nothing was heard");
        return ExitCode::FAILURE;
    }
    println!("  heard {:.1?} after it was ordered", ordered.elapsed());
    ear.fresh(0.5);
    let outcome = verdict("played", ear.fresh(1.0), 660.0, 0.3);
    println!("  {:?}", playback.underruns());
    speaker.stop();
    ear.fresh(0.5);
    assert!(sine::rms(ear.fresh(0.2)) < 1e-4, "it does not stop");
    let ordered = Instant::now();
    play(&speaker, 0.1);
    assert!(ear.until(Duration::from_secs(5), |ear| ear.samples.last().is_some_and(|x| x.abs() > 0.1)));
    println!("  the next one is heard {:.1?} after it was ordered", ordered.elapsed());
    let finished = next(&speaker);
    assert!(matches!(finished, SpeakerEvent::Finished), "{finished:?}");
    speaker.play(|_| Err("this one cannot be made".to_owned()));
    assert!(matches!(next(&speaker), SpeakerEvent::Warning(text) if text == "this one cannot be made"));
    outcome
}

/// Two short tones, heard by the microphone. Every sample with sound in it must fall into a span of our own sound by
/// the time at which the microphone handed it in, and the ear must be open again soon after.
pub(crate) fn own_sound_is_told_apart() {
    let mut ear = Ear::new(listen(None, Channel::Auto).unwrap());
    ear.fresh(0.5);
    ear.samples.clear();
    ear.blocks.clear();
    let speaker = Speaker::new(None);
    let own = speaker.own_sound();
    let _playback = opened(&speaker, 0.3);
    ear.until(Duration::from_secs(3), |_| false);
    play(&speaker, 0.2);
    ear.until(Duration::from_secs(3), |_| false);
    let (mut loud, mut muted, mut at) = (0, 0, 0);
    for (_, block) in &ear.blocks {
        let anchor = block.anchor.expect("a device dates its blocks");
        for n in 0..block.len {
            let sounds = ear.samples[at + n].abs() > 1e-3;
            let handed_in = anchor.time_of(block.start + n as u64, 48_000.0);
            assert!(handed_in <= HostTime::now());
            let is_ours = own.covers(handed_in, handed_in);
            assert!(is_ours || !sounds, "sample {n} of {block:?} is ours and is not known to be");
            loud += u64::from(sounds);
            muted += u64::from(is_ours);
        }
        at += block.len;
    }
    let (loud, muted) = (loud as f64 / 48_000.0, muted as f64 / 48_000.0);
    println!("  {loud:.2} s were ours, {muted:.2} s were muted");
    assert!((loud - 0.5).abs() < 0.02 && muted < 0.5 + 2.0 * 0.75);
}

/// A process that stands still cannot answer its server, which then has nothing to play.
pub(crate) fn a_starved_one_says_so() {
    let speaker = Speaker::new(None);
    let playback = opened(&speaker, 60.0);
    thread::sleep(Duration::from_secs(1));
    let before = playback.underruns();
    println!("  before: {before:?}");
    room::stand_still(2);
    thread::sleep(Duration::from_secs(1));
    let after = playback.underruns();
    println!("  after:  {after:?}");
    assert!(after.system_events > before.system_events, "the server says nothing");
    assert!(after.lasted.saturating_sub(before.lasted) > Duration::from_secs(1));
    assert!(after.events > before.events && !after.ongoing);
    let mut ear = Ear::new(listen(None, Channel::Auto).unwrap());
    assert!(ear.until(Duration::from_secs(5), |ear| ear.samples.last().is_some_and(|x| x.abs() > 0.1)));
}

pub(crate) fn a_server_dies_under_it() {
    let speaker = Speaker::new(None);
    opened(&speaker, 60.0);
    thread::sleep(Duration::from_millis(500));
    let own = speaker.own_sound();
    let now = HostTime::now();
    assert!(own.covers(now, now));
    room::kill_server();
    let SpeakerEvent::Lost { device, was_sounding: true } = next(&speaker) else { panic!("it is not told") };
    println!("  {device} is gone");
    thread::sleep(Duration::from_secs(1));
    let now = HostTime::now();
    assert!(!own.covers(now, now), "a lost loudspeaker mutes the ear");
    play(&speaker, 60.0);
    let SpeakerEvent::NotOpened(error) = next(&speaker) else { panic!("there is no server") };
    println!("  {error}");
    room::start_server();
    opened(&speaker, 60.0);
    let mut ear = Ear::new(listen(None, Channel::Auto).unwrap());
    let heard = ear.until(Duration::from_secs(5), |ear| ear.samples.last().is_some_and(|x| x.abs() > 0.1));
    println!("  {} samples, {:?}", ear.samples.len(), ear.events);
    assert!(heard);
}
