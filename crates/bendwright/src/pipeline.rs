//! From a feed to readings: the same few lines for a microphone, a recording and the built-in player.

use crate::complaint::{Complaint, LevelWatch};
use crate::failure::Failure;
use echo::Presence;
use pitch::reeds::{ReedSettings, Reeds, Sounding};
use pitch::{Ear, Reading, Settings};
use sound::{Anchor, Block, Feed, FeedEvent, Level, Loudness};
use std::cell::RefCell;
use std::time::Duration;

mod removal;
mod returns;

use removal::Removal;
pub(crate) use removal::Sounded;
pub(crate) use returns::Expected;
use returns::Returns;

/// How long one step waits for a device; short, so that whoever runs the pipeline can look up in between.
const PATIENCE: Duration = Duration::from_millis(20);

/// The most samples that are read at a time.
const LONGEST_BLOCK: usize = 1 << 20;

/// What comes out of the pipeline.
#[derive(Debug)]
pub(crate) enum Heard {
    /// Readings of one block, oldest first; times are samples since the stream began.
    Readings(Vec<Reading>),
    /// Which reeds sound together, where that is asked. It comes after every reading that was known by then, so that
    /// the order does not depend on the blocks.
    Reeds(Sounding),
    /// Between these two samples the player could not be told from what the program itself sounds.
    Masked(u64, u64),
    /// Samples were lost before the next reading.
    Gap,
    /// The device came back: from now on times count at this sample rate.
    Restarted(f64),
    /// How far a device had come at a moment of the machine's clock, on which loudspeakers are timed too.
    Clock(Anchor),
    /// A click that was expected came back so many seconds after it was due.
    Returned(f64),
    /// Something happened to the feed.
    Feed(FeedEvent),
    /// How loud the input is now, if that changed.
    Level(Loudness),
    /// What there is to complain about the level, if that changed.
    Complaint(Complaint),
}

/// The harp that is listened to, as far as the ear wants to know it.
#[derive(Clone, Debug, Default)]
pub(crate) struct KnownHarp {
    /// The blow and the draw reed of each hole, hertz; none if it is not known.
    pub(crate) holes: Vec<[f64; 2]>,
}

/// A feed with an ear behind it, and a second ear for reeds that sound together if somebody wants to know.
pub(crate) struct Pipeline {
    feed: Feed,
    ear: Ear,
    /// The sample at which the ear began to count; `None` until it has heard one.
    base: Option<u64>,
    reeds: Option<Reeds>,
    /// The sample at which the ear for reeds began to count; it may be asked for later.
    reeds_base: Option<u64>,
    wants_reeds: bool,
    harp: KnownHarp,
    /// What the program itself sounds, what takes it out, and whether the block before was left out because of it.
    sounded: Sounded,
    removal: Removal,
    left_out: bool,
    /// The clicks that may come back.
    returns: Returns,
    block: Vec<f32>,
    /// What removal leaves of the block, at the rate at which the ear listens.
    cleaned: Vec<f32>,
    /// When in the block the player was heard.
    presence: Presence,
    level: Level,
    loudness: Loudness,
    watch: LevelWatch,
}

impl Pipeline {
    /// Listens to `feed`, `block` samples at a time (1 to 2²⁰), for this harp.
    ///
    /// # Errors
    /// If the sample rate is one the ear cannot work at.
    pub(crate) fn new(feed: Feed, harp: KnownHarp, block: usize) -> Result<Self, Failure> {
        let rate = feed.sample_rate();
        let ear = ear(rate)?;
        Ok(Self {
            removal: Removal::new(Sounded::default(), rate, ear.factor()),
            ear,
            base: None,
            reeds: None,
            reeds_base: None,
            wants_reeds: false,
            level: Level::new(rate),
            watch: LevelWatch::new(rate),
            feed,
            harp,
            sounded: Sounded::default(),
            left_out: false,
            returns: Returns::new(rate),
            block: vec![0.0; block.clamp(1, LONGEST_BLOCK)],
            cleaned: Vec::new(),
            presence: Presence::default(),
            loudness: Loudness::Silent,
        })
    }

    /// Takes what is `sounded` out of what a microphone hears. Until it is known how this sound comes back, the blocks
    /// in which a tone of ours may be heard are left out, by the time at which each was handed in.
    pub(crate) fn without(self, sounded: Sounded) -> Self {
        let removal = Removal::new(sounded.clone(), self.sample_rate(), self.ear.factor());
        Self { sounded, removal, ..self }
    }

    /// The sample rate in force, hertz.
    pub(crate) fn sample_rate(&self) -> f64 {
        self.feed.sample_rate()
    }

    /// Listens for another harp from now on.
    ///
    /// # Errors
    /// As for [`Pipeline::new`].
    pub(crate) fn take_harp(&mut self, harp: KnownHarp) -> Result<(), Failure> {
        self.harp = harp;
        self.listen_afresh()
    }

    /// Tells from now on which reeds sound together, or stops telling it.
    ///
    /// # Errors
    /// If that cannot be told at this sample rate or of this harp; the ear listens on.
    pub(crate) fn tell_reeds(&mut self, wanted: bool) -> Result<(), Failure> {
        self.wants_reeds = wanted;
        self.reeds_base = None;
        self.reeds = if wanted {
            Some(reeds(self.sample_rate() / self.ear.factor() as f64, &self.harp)?)
        } else {
            None
        };
        Ok(())
    }

    /// A click is sounded, and may come back.
    pub(crate) fn expect(&mut self, click: Expected) {
        self.returns.expect(click);
    }

    /// Puts a fresh ear behind the feed, counting from the next sample that arrives.
    fn listen_afresh(&mut self) -> Result<(), Failure> {
        self.ear = ear(self.sample_rate())?;
        self.base = None;
        // Notes are heard also where reeds cannot be told apart; whoever asked for reeds has been told so.
        let _ = self.tell_reeds(self.wants_reeds);
        Ok(())
    }

    /// Takes the next thing the feed has, waiting a little for a device, and hands on what it means. False once
    /// no more sound will come.
    ///
    /// # Errors
    /// If a device came back at a rate the ear cannot work at, or what brings the samples broke down.
    pub(crate) fn step(&mut self, on: &mut impl FnMut(Heard)) -> Result<bool, Failure> {
        match self.feed.read(&mut self.block, PATIENCE) {
            sound::Fed::Samples(block) => self.samples(block, on),
            sound::Fed::Event(event) => return self.event(event, on),
            sound::Fed::Nothing => {}
        }
        Ok(true)
    }

    fn samples(&mut self, block: Block, on: &mut impl FnMut(Heard)) {
        // Neither the ears nor the level may hear our own tones while they cannot be taken out. Where they begin, a
        // note of the player's that was sounding can be followed no further.
        if let Some(anchor) = block.anchor {
            on(Heard::Clock(anchor));
        }
        self.removal.see(block);
        let is_ours = self.is_ours(block) && !self.removal.is_known();
        if is_ours {
            // Before the gap, so that whoever judges knows why.
            on(Heard::Masked(block.start, block.start + block.len as u64));
        }
        if block.lost_before > 0 || is_ours && !self.left_out {
            self.forget(on);
        } else if self.left_out && !is_ours {
            self.ear.reset();
        }
        self.left_out = is_ours;
        if is_ours {
            // How it comes back is learnt meanwhile.
            self.ear.push_cleaned(&self.block[..block.len], |x| self.removal.remove(x), |_| ());
            return;
        }
        let samples = &self.block[..block.len];
        for delay_s in self.returns.hear(block.start, samples) {
            on(Heard::Returned(delay_s));
        }
        let (mut readings, mut masked): (Vec<Reading>, Vec<(u64, u64)>) = (Vec::new(), Vec::new());
        self.presence.forget();
        let base = *self.base.get_or_insert(block.start);
        let removal = RefCell::new(&mut self.removal);
        let cleaned = &mut self.cleaned;
        cleaned.clear();
        let clean = |x| {
            let left = removal.borrow_mut().remove(x);
            cleaned.push(left);
            left
        };
        self.ear.push_cleaned(samples, clean, |reading| {
            let (time, known) = (reading.time + base, reading.known + base);
            let gated = removal.borrow_mut().pass(Reading { time, known, ..reading });
            readings.push(gated.reading);
            self.presence.hear(known, gated.is_player);
            if let Some((from, until)) = gated.masked {
                // Stretches that touch are told as one.
                match masked.last_mut().filter(|(_, end)| *end >= from) {
                    Some((begins, end)) => (*begins, *end) = (from.min(*begins), until),
                    None => masked.push((from, until)),
                }
            }
        });
        for (from, until) in masked {
            on(Heard::Masked(from, until));
        }
        if let Some(reeds) = &mut self.reeds {
            let base = *self.reeds_base.get_or_insert(block.start);
            let factor = self.ear.factor() as u64;
            reeds.push(&self.cleaned, |mut now| {
                now.time = base + now.time * factor;
                now.known = base + now.known * factor;
                let later =
                    readings.split_off(readings.partition_point(|reading| reading.known <= now.known));
                on_readings(std::mem::replace(&mut readings, later), on);
                on(Heard::Reeds(self.presence.only_player(now)));
            });
        }
        on_readings(readings, on);
        self.tell_level(block.len, on);
    }

    /// Tells how loud the block is, and what is wrong with it.
    fn tell_level(&mut self, len: usize, on: &mut impl FnMut(Heard)) {
        self.level.push(&self.block[..len]);
        let level = self.level.reading();
        let loudness = level.loudness;
        if loudness != self.loudness {
            self.loudness = loudness;
            on(Heard::Level(loudness));
        }
        if let Some(complaint) = self.watch.see((level, self.removal.is_poor()), len) {
            on(Heard::Complaint(complaint));
        }
    }

    /// Whether any of the block may be what the program itself sounded.
    fn is_ours(&self, block: Block) -> bool {
        block.anchor.is_some_and(|anchor| {
            let at = |frame| anchor.time_of(frame, self.feed.sample_rate());
            self.sounded.own.covers(at(block.start), at(block.start + block.len as u64))
        })
    }

    /// What sounded before and what comes now are not one sound.
    fn forget(&mut self, on: &mut impl FnMut(Heard)) {
        self.ear.reset();
        self.base = None;
        if let Some(reeds) = &mut self.reeds {
            reeds.reset();
        }
        self.reeds_base = None;
        on(Heard::Gap);
    }

    fn event(&mut self, event: FeedEvent, on: &mut impl FnMut(Heard)) -> Result<bool, Failure> {
        if let FeedEvent::Broke(why) = event {
            return Err(Failure::world(why));
        }
        let goes_on = event != FeedEvent::Ended;
        // The sound system does not say how many it lost, so no block will tell of them; and what sounded before a
        // device went away and what comes after are not one sound.
        if matches!(event, FeedEvent::Overrun { samples: 0 } | FeedEvent::Lost { .. }) {
            self.forget(on);
        }
        if let FeedEvent::Reopened(origin) = &event {
            self.listen_afresh()?;
            self.level = Level::new(origin.sample_rate);
            self.watch = LevelWatch::new(origin.sample_rate);
            self.returns = Returns::new(origin.sample_rate);
            self.removal = Removal::new(self.sounded.clone(), origin.sample_rate, self.ear.factor());
            on(Heard::Restarted(origin.sample_rate));
        }
        on(Heard::Feed(event));
        Ok(goes_on)
    }
}

fn on_readings(readings: Vec<Reading>, on: &mut impl FnMut(Heard)) {
    if !readings.is_empty() {
        on(Heard::Readings(readings));
    }
}

fn ear(sample_rate: f64) -> Result<Ear, Failure> {
    Ear::new(Settings::new(sample_rate)).map_err(Failure::user)
}

fn reeds(sample_rate: f64, harp: &KnownHarp) -> Result<Reeds, Failure> {
    let settings = ReedSettings { sample_rate, holes: harp.holes.clone() };
    Reeds::new(settings).map_err(Failure::user)
}

#[cfg(test)]
mod tests;
