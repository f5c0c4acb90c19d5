//! Which reeds sound together, once they do so steadily enough to be read.

use crate::{Moment, Timebase};
use layout::{Breath, Harp, Technique, Way, cents_between};
use pitch::reeds::{MAX_VOICES, Sounding, Voice};
use serde::Serialize;
use std::collections::VecDeque;

/// The stretch in which readings have to agree before a set is told, seconds: attacks and slides from hole to hole show
/// sets that nobody plays, and what changes faster than this nobody can read.
const WINDOW_S: f64 = 0.16;

/// The share of its readings that have to agree.
const SHARE: f64 = 0.75;

/// Levels and pitches are means over this time, and stand as long, seconds.
const FRESH_S: f64 = 0.25;

/// Least overlap, seconds, at which a set of reeds is matched with a stretch of time: the ends of both are uncertain by
/// about one reading.
const SHARED_S: f64 = 0.05;

/// How far a reed is bent at most while a set is told, cents: the deepest bend of the usual harps, and half a semitone.
const BENT_CENTS: f64 = 350.0;

/// Sets that are over and still known.
const KEPT: usize = 64;

/// The ways that sound, in order; what one reading shows.
type Ways = [Option<Way>; MAX_VOICES];

/// One reed of a set.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ReedVoice {
    /// How it is played; bent where its pitch lies nearer to the bend.
    pub way: Way,
    /// Its fundamental, hertz.
    pub hz: f64,
    /// Its level below the strongest reed of the set, decibels; 0 for that one.
    pub below_db: f64,
}

/// Reeds that sounded together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReedSet {
    /// The reeds, the strongest first and equally loud ones by their holes; at least one.
    pub voices: Vec<ReedVoice>,
    /// The time of the first reading that showed the set.
    pub began: Moment,
    /// The time of the last one so far.
    pub ended: Moment,
}

impl ReedSet {
    /// Whether a pitch that was measured besides, hertz, can be that of one of these reeds, which may have been bent
    /// meanwhile. If it cannot, as with another harp in the hand than the one that is listened for, neither the pitch
    /// nor the set is sure.
    pub fn agrees(&self, hz: f64) -> bool {
        self.voices.iter().any(|voice| cents_between(voice.hz, hz).abs() <= BENT_CENTS)
    }

    /// How its reeds are played, the strongest first.
    pub fn ways(&self) -> Vec<Way> {
        self.voices.iter().map(|voice| voice.way).collect()
    }
}

/// Follows which reeds sound together. A set is told when three quarters of the readings of 0.16 s show it and nothing
/// else, and it stands until another set (or silence) is shown as steadily, or no recent reading shows it any more.
#[derive(Clone, Debug)]
pub struct ReedSets {
    base: Timebase,
    recent: VecDeque<(Ways, Sounding)>,
    open: Option<Open>,
    /// The sets that are over, the oldest first.
    over: VecDeque<ReedSet>,
}

/// The set that is told.
#[derive(Clone, Debug)]
struct Open {
    ways: Ways,
    /// Over all its readings.
    whole: Means,
    /// Over the readings since the levels were last told.
    fresh: Means,
    told: ReedSet,
}

/// Means of what the voices of a set were read at.
#[derive(Clone, Debug, Default)]
struct Means {
    /// Sums of decibels and of hertz, voice by voice.
    sums: [(f64, f64); MAX_VOICES],
    readings: f64,
    began: u64,
}

impl ReedSets {
    /// Nothing has sounded yet.
    pub fn new(base: Timebase) -> Self {
        Self { base, recent: VecDeque::new(), open: None, over: VecDeque::new() }
    }

    /// Takes a reading; gives the set that it showed to be over, with the levels of the whole of it.
    pub fn hear(&mut self, harp: &Harp, sounding: &Sounding) -> Option<ReedSet> {
        let ways = ways_of(harp, sounding);
        self.recent.push_back((ways, *sounding));
        let from = sounding.time.saturating_sub(self.base.samples(WINDOW_S));
        let gone = self.recent.iter().take_while(|(_, heard)| heard.time < from).count();
        self.recent.drain(..gone);
        let fresh = self.base.samples(FRESH_S);
        if let Some(open) = self.open.as_mut().filter(|open| open.ways == ways) {
            open.hear(harp, sounding, self.base.moment(sounding.time), fresh);
            return None;
        }
        // Until the window is full, it agrees on nothing.
        let agreeing = self.recent.iter().filter(|(recent, _)| *recent == ways).count();
        let enough = gone > 0 && agreeing as f64 >= SHARE * self.recent.len() as f64;
        let told = self.open.as_ref().map(|open| open.ways);
        let lost = told.is_some_and(|told| self.recent.iter().all(|(recent, _)| *recent != told));
        let ended = if enough || lost { self.close() } else { None };
        if enough && ways != Ways::default() {
            self.open(harp, ways);
        }
        ended
    }

    /// The set that sounds, with the levels of the last quarter of a second.
    pub fn now(&self) -> Option<&ReedSet> {
        self.open.as_ref().map(|open| &open.told)
    }

    /// The sets told so far that sounded between two moments, the oldest first; those that only touch them are left
    /// out.
    pub fn during(&self, began: Moment, ended: Moment) -> impl Iterator<Item = &ReedSet> {
        let enough = self.base.samples(SHARED_S);
        let shared = move |set: &ReedSet| {
            let until = set.ended.samples.min(ended.samples);
            until.saturating_sub(set.began.samples.max(began.samples))
        };
        self.over.iter().chain(self.now()).filter(move |set| shared(set) >= enough)
    }

    /// Ends the set that sounds, at the end of the sound or where samples were lost.
    pub fn end(&mut self) -> Option<ReedSet> {
        self.recent.clear();
        self.close()
    }

    fn close(&mut self) -> Option<ReedSet> {
        let open = self.open.take()?;
        let set = open.whole.told(&open.ways, (open.told.began, open.told.ended));
        if self.over.len() == KEPT {
            self.over.pop_front();
        }
        self.over.push_back(set.clone());
        Some(set)
    }

    /// Tells the set that the recent readings show.
    fn open(&mut self, harp: &Harp, ways: Ways) {
        let mut agreeing = self.recent.iter().filter(|(recent, _)| *recent == ways).map(|(_, heard)| heard);
        let Some(first) = agreeing.next() else { return };
        let mut means = Means::new(first.time);
        let mut ended = first.time;
        for sounding in std::iter::once(first).chain(agreeing) {
            means.hear(harp, &ways, sounding);
            ended = sounding.time;
        }
        let told = means.told(&ways, (self.base.moment(first.time), self.base.moment(ended)));
        self.open = Some(Open { ways, whole: means.clone(), fresh: means, told });
    }
}

/// The ways that a reading shows, in order.
fn ways_of(harp: &Harp, sounding: &Sounding) -> Ways {
    let mut ways = Ways::default();
    for (way, voice) in ways.iter_mut().zip(sounding.voices()) {
        *way = way_of(harp, voice);
    }
    ways.sort_unstable();
    ways
}

impl Open {
    fn hear(&mut self, harp: &Harp, sounding: &Sounding, now: Moment, fresh: u64) {
        self.whole.hear(harp, &self.ways, sounding);
        self.fresh.hear(harp, &self.ways, sounding);
        self.told.ended = now;
        if sounding.time.saturating_sub(self.fresh.began) >= fresh {
            self.told = self.fresh.told(&self.ways, (self.told.began, now));
            self.fresh = Means::new(sounding.time);
        }
    }
}

impl Means {
    fn new(began: u64) -> Self {
        Self { began, ..Self::default() }
    }

    fn hear(&mut self, harp: &Harp, ways: &Ways, sounding: &Sounding) {
        self.readings += 1.0;
        for voice in sounding.voices() {
            let way = way_of(harp, voice);
            if let Some(i) = ways.iter().position(|known| way.is_some() && *known == way) {
                self.sums[i].0 += f64::from(voice.level_dbfs);
                self.sums[i].1 += voice.hz;
            }
        }
    }

    fn told(&self, ways: &Ways, (began, ended): (Moment, Moment)) -> ReedSet {
        let heard = || ways.iter().zip(self.sums).filter_map(|(way, sums)| Some(((*way)?, sums)));
        let most = heard().map(|(_, (level, _))| level).fold(f64::NEG_INFINITY, f64::max);
        let mut voices: Vec<ReedVoice> = heard()
            .map(|(way, (level, hz))| ReedVoice {
                way,
                hz: hz / self.readings,
                below_db: (most - level) / self.readings,
            })
            .collect();
        voices.sort_by(|a, b| a.below_db.round().total_cmp(&b.below_db.round()).then(a.way.cmp(&b.way)));
        ReedSet { voices, began, ended }
    }
}

/// How a voice is played: on its reed, as it is or bent, whichever lies nearest to its pitch.
pub fn way_of(harp: &Harp, voice: &Voice) -> Option<Way> {
    let reed = voice.reed?;
    let breath = if reed.draw { Breath::Draw } else { Breath::Blow };
    let off = |way: &Way| harp.hz(*way).map_or(f64::INFINITY, |hz| cents_between(hz, voice.hz).abs());
    harp.ways_of_hole(reed.hole)
        .filter(|way| way.breath == breath && way.technique != Technique::Overbend)
        .min_by(|a, b| off(a).total_cmp(&off(b)))
}
