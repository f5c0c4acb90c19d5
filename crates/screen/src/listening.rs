//! Free playing: what sounds now, and the notes of the last while.

use layout::{Harp, Note, Way};
use pitch::Reading;
use pitch::reeds;
use practice::{FreePlay, PlayedNote, ReedSet, ReedSets};
use std::collections::VecDeque;

/// Notes kept for the running line.
const KEPT: usize = 120;

/// What is sounding.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Sounding {
    /// The frequency, hertz.
    pub(crate) hz: f64,
    /// The nearest note.
    pub(crate) note: Note,
    /// All ways to play it, the simplest first; none if the harp does not have it.
    pub(crate) ways: Vec<Way>,
    /// Cents from where the simplest way is in tune (from equal temperament if there is none).
    pub(crate) cents: f64,
}

/// A note of the running line.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Played {
    /// The note.
    pub(crate) note: Note,
    /// The simplest way to play it, if the harp has it.
    pub(crate) way: Option<Way>,
    /// The reeds that sounded together meanwhile, the strongest first; none if it sounded alone.
    pub(crate) together: Vec<Way>,
}

/// The state of free playing.
#[derive(Clone, Debug)]
pub(crate) struct Listening {
    now: Option<Sounding>,
    /// Divides the readings into notes.
    free: FreePlay,
    /// Follows which reeds sound together.
    reeds: ReedSets,
    /// The notes that are over, the oldest first.
    over: VecDeque<Played>,
    /// The note that sounds, once it counts.
    open: Option<Played>,
}

impl Listening {
    /// Nothing has been played yet, on this harp and with readings at this sample rate.
    pub(crate) fn new(harp: &Harp, rate: f64) -> Self {
        let (free, reeds) = (FreePlay::new(harp.clone(), rate), ReedSets::new(harp.clone(), rate));
        Self { now: None, free, reeds, over: VecDeque::new(), open: None }
    }

    /// Takes a reading. True if what is shown changes.
    pub(crate) fn hear(&mut self, reading: &Reading, harp: &Harp, rate: f64) -> bool {
        let before = self.open.clone();
        if !self.free.is_for(harp, rate) {
            let ended = self.free.end();
            self.finish(ended.as_ref());
            self.free = FreePlay::new(harp.clone(), rate);
        }
        let ended = self.free.hear(reading);
        self.finish(ended.as_ref());
        self.open = self.free.sounding().map(|note| match &before {
            Some(open) if open.note == note && ended.is_none() => open.clone(),
            _ => Played { note, way: harp.ways_to(note).first().copied(), together: Vec::new() },
        });
        self.sound(reading, harp) || self.open != before
    }

    /// Takes a reading of the reeds that sound together. True if what is shown changes.
    pub(crate) fn hear_reeds(&mut self, reading: &reeds::Sounding, harp: &Harp, rate: f64) -> bool {
        let before = self.reeds.now().map(|set| set.voices.clone());
        if !self.reeds.is_for(harp, rate) {
            self.reeds = ReedSets::new(harp.clone(), rate);
        }
        self.reeds.hear(reading);
        self.reeds.now().map(|set| &set.voices) != before.as_ref()
    }

    /// The reeds that sound together, once they do so steadily.
    pub(crate) fn together(&self) -> Option<&ReedSet> {
        self.reeds.now()
    }

    /// Files the note that sounded when it is over.
    fn finish(&mut self, ended: Option<&PlayedNote>) {
        let Some((ended, open)) = ended.zip(self.open.take()) else { return };
        if self.over.len() == KEPT {
            self.over.pop_front();
        }
        let several = self.reeds.during(ended.began, ended.ended).find(|set| set.voices.len() > 1);
        let together = several.map(ReedSet::ways).unwrap_or_default();
        self.over.push_back(Played { together, ..open });
    }

    /// Follows what sounds now. True if that changes.
    fn sound(&mut self, reading: &Reading, harp: &Harp) -> bool {
        let before = self.now.take();
        let near = reading.hz.and_then(|hz| harp.concert().nearest(hz).map(|near| (hz, near)));
        let Some((hz, (note, cents))) = near else { return before.is_some() };
        let ways = match before {
            Some(before) if before.note == note => before.ways,
            _ => harp.ways_to(note),
        };
        let own = ways.first().and_then(|way| harp.hz(*way));
        let cents = own.map_or(cents, |own| layout::cents_between(own, hz));
        self.now = Some(Sounding { hz, note, ways, cents });
        true
    }

    /// What is sounding now.
    pub(crate) fn now(&self) -> Option<&Sounding> {
        self.now.as_ref()
    }

    /// The notes played, the newest first.
    pub(crate) fn played(&self) -> impl Iterator<Item = &Played> {
        self.open.iter().chain(self.over.iter().rev())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::{Breath, Technique};

    fn play(listening: &mut Listening, harp: &Harp, notes: &[(Option<f64>, u64)]) {
        let mut time = 0;
        for (hz, readings) in notes {
            for i in 0..*readings {
                let reading = Reading {
                    time,
                    known: time,
                    hz: *hz,
                    sigma_cents: 1.0,
                    clarity: 0.9,
                    level_dbfs: -20.0,
                    onset: hz.is_some() && i == 0,
                };
                listening.hear(&reading, harp, 1000.0);
                time += 10;
            }
        }
    }

    #[test]
    fn a_bend_is_named_as_the_bend() {
        let harp = Harp::richter("C".parse().unwrap());
        let mut listening = Listening::new(&harp, 1000.0);
        play(&mut listening, &harp, &[(Some(466.16), 10)]);
        let now = listening.now().unwrap();
        assert_eq!(now.ways, [Way::new(3, Breath::Draw, Technique::Bend(1))]);
        assert!(now.cents.abs() < 0.1, "{}", now.cents);
    }

    #[test]
    fn the_running_line_leaves_out_what_only_passed() {
        let harp = Harp::richter("C".parse().unwrap());
        let mut listening = Listening::new(&harp, 1000.0);
        let line = [(Some(523.25), 20), (Some(554.37), 3), (Some(587.33), 20), (None, 5), (Some(587.33), 20)];
        play(&mut listening, &harp, &line);
        let notes: Vec<String> = listening.played().map(|played| played.note.to_string()).collect();
        assert_eq!(notes, ["D5", "D5", "C5"]);
    }
}
