//! Free playing: what sounds now, and the notes of the last while.

use crate::free_play::FreePlay;
use crate::{Event, Played, PlayedNote, ReedSet, ReedSets, Timebase};
use layout::{Harp, Note, Way, cents_between};
use pitch::{Reading, reeds};
use std::collections::VecDeque;

/// Notes kept for the running line.
const KEPT: usize = 120;

/// The note that is heard now.
#[derive(Clone, Debug, PartialEq)]
pub struct HeardNote {
    /// The frequency, hertz.
    pub hz: f64,
    /// The nearest note.
    pub note: Note,
    /// All ways to play it, the simplest first; none if the harp does not have it.
    pub ways: Vec<Way>,
    /// Cents from where the simplest way is in tune (from equal temperament if there is none).
    pub cents: f64,
}

/// A note of the running line.
#[derive(Clone, Debug, PartialEq)]
pub struct LineNote {
    /// The note.
    pub note: Note,
    /// The simplest way to play it, if the harp has it.
    pub way: Option<Way>,
    /// The reeds that sounded together meanwhile, the strongest first; none if it sounded alone.
    pub together: Vec<Way>,
}

/// The state of free playing.
#[derive(Clone, Debug)]
pub struct Free {
    now: Option<HeardNote>,
    /// Divides the readings into notes.
    notes: FreePlay,
    /// Follows which reeds sound together.
    reeds: ReedSets,
    /// The notes that are over, the oldest first.
    over: VecDeque<LineNote>,
    /// The note that sounds, once it counts.
    open: Option<LineNote>,
    /// The note that was over last.
    last: Option<PlayedNote>,
}

impl Free {
    pub(crate) fn new(base: Timebase) -> Self {
        let (notes, reeds) = (FreePlay::new(base), ReedSets::new(base));
        Self { now: None, notes, reeds, over: VecDeque::new(), open: None, last: None }
    }

    /// Takes a reading.
    pub(crate) fn hear(&mut self, harp: &Harp, reading: &Reading) -> Vec<Event> {
        let ended = self.notes.hear(harp, reading);
        let open = self.open.take_if(|_| ended.is_none());
        let events = self.finish(ended, false);
        self.open = self.notes.sounding().map(|note| match open {
            Some(open) if open.note == note => open,
            _ => LineNote { note, way: harp.ways_to(note).first().copied(), together: Vec::new() },
        });
        let before = self.now.take();
        self.now = reading.hz.and_then(|hz| heard(harp, hz, before));
        events
    }

    /// Takes a reading of the reeds that sound together.
    pub(crate) fn hear_reeds(&mut self, harp: &Harp, sounding: &reeds::Sounding) -> Vec<Event> {
        self.reeds.hear(harp, sounding).map(|set| Event::Sounded(Box::new(set))).into_iter().collect()
    }

    /// Ends what sounds: samples were lost, or nobody listens any more.
    pub(crate) fn end(&mut self, harp: &Harp) -> Vec<Event> {
        let set = self.reeds.end().map(|set| Event::Sounded(Box::new(set)));
        let note = self.notes.end(harp);
        let sounds = self.now.take().is_some();
        set.into_iter().chain(self.finish(note, sounds)).collect()
    }

    /// Goes on in a new stream; the running line stays.
    pub(crate) fn restart(&mut self, base: Timebase) {
        (self.notes, self.reeds) = (FreePlay::new(base), ReedSets::new(base));
    }

    /// What sounds now.
    pub fn now(&self) -> Option<&HeardNote> {
        self.now.as_ref()
    }

    /// The note that was over last, with what was measured of it.
    pub fn last(&self) -> Option<&PlayedNote> {
        self.last.as_ref()
    }

    /// The reeds that sound together, once they do so steadily.
    pub fn together(&self) -> Option<&ReedSet> {
        self.reeds.now()
    }

    /// The notes of the last while, the newest first, the one that sounds included.
    pub fn line(&self) -> impl Iterator<Item = &LineNote> {
        self.open.iter().chain(self.over.iter().rev())
    }

    /// Files the note that sounded when it is over.
    fn finish(&mut self, ended: Option<PlayedNote>, unfinished: bool) -> Vec<Event> {
        let Some(note) = ended else { return Vec::new() };
        self.open = None;
        self.last = Some(note.clone());
        let during = || self.reeds.during(note.began, note.ended);
        let together = during().find(|set| set.voices.len() > 1).map(ReedSet::ways).unwrap_or_default();
        let alone = if together.is_empty() {
            (during().count() > 0 && during().all(|set| set.agrees(note.hz))).then_some(true)
        } else {
            Some(false)
        };
        if self.over.len() == KEPT {
            self.over.pop_front();
        }
        let way = note.ways.first().copied();
        self.over.push_back(LineNote { note: note.note, way, together: together.clone() });
        vec![Event::Played(Box::new(Played { note, together, alone, unfinished }))]
    }
}

/// What a frequency is on this harp; the ways of the note heard before are not looked up again.
fn heard(harp: &Harp, hz: f64, before: Option<HeardNote>) -> Option<HeardNote> {
    let (note, _) = harp.concert().nearest(hz)?;
    let ways = match before {
        Some(before) if before.note == note => before.ways,
        _ => harp.ways_to(note),
    };
    let in_tune = ways.first().and_then(|way| harp.hz(*way));
    let cents = cents_between(in_tune.unwrap_or_else(|| harp.concert().hz(note, 0.0)), hz);
    Some(HeardNote { hz, note, ways, cents })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A reading each hundredth of a second.
    const RATE: f64 = 100.0;

    /// 4 blow and 4 draw of a C harp, at A4 = 440 (MIDI tuning formula).
    const C5: f64 = 523.25;
    const D5: f64 = 587.33;

    struct Player {
        harp: Harp,
        free: Free,
        time: u64,
        said: Vec<Played>,
    }

    impl Player {
        fn new() -> Self {
            let harp = Harp::richter("C".parse().unwrap());
            Self { harp, free: Free::new(Timebase::new(RATE)), time: 0, said: Vec::new() }
        }

        /// Plays a pitch for so many hundredths of a second, and with it the reeds of these blown holes.
        fn play(&mut self, hundredths: u64, hz: Option<f64>, holes: &[u8]) -> &mut Self {
            for _ in 0..hundredths {
                let (time, known) = (self.time, self.time);
                let level_dbfs = if hz.is_some() { -20.0 } else { -70.0 };
                let reading =
                    Reading { time, known, hz, sigma_cents: 1.0, clarity: 0.9, level_dbfs, onset: false };
                let mut events = self.free.hear(&self.harp, &reading);
                let voices = holes.iter().map(|hole| reeds::Voice {
                    reed: Some(reeds::Reed { hole: *hole, draw: false }),
                    bent: false,
                    hz: hz.unwrap_or(C5) * f64::from(1 + hole / 7),
                    level_dbfs: -20.0,
                });
                let sounding = reeds::Sounding::new(time, known, voices);
                events.extend(self.free.hear_reeds(&self.harp, &sounding));
                self.time += 1;
                self.told(events);
            }
            self
        }

        fn told(&mut self, events: Vec<Event>) {
            self.said.extend(events.into_iter().filter_map(|event| match event {
                Event::Played(played) => Some(*played),
                _ => None,
            }));
        }

        /// The running line, the newest note first, with how many reeds sounded together.
        fn line(&self) -> Vec<(String, usize)> {
            self.free.line().map(|note| (note.note.to_string(), note.together.len())).collect()
        }
    }

    fn line(notes: &[(&str, usize)]) -> Vec<(String, usize)> {
        notes.iter().map(|(note, count)| ((*note).to_owned(), *count)).collect()
    }

    #[test]
    fn notes_come_into_the_line_while_they_sound_and_are_told_when_they_are_over() {
        let mut player = Player::new();
        player.play(30, Some(C5), &[4]);
        assert_eq!(player.line(), line(&[("C5", 0)]));
        assert!(player.said.is_empty() && player.free.last().is_none());
        player.play(20, None, &[]).play(30, Some(D5), &[]);
        assert_eq!(player.line(), line(&[("D5", 0), ("C5", 0)]));
        let [over] = &player.said[..] else { panic!("{:?}", player.said) };
        assert_eq!(over.note.note.to_string(), "C5");
        // It sounded from the first reading to the thirtieth.
        assert!((over.note.seconds() - 0.29).abs() < 1e-9 && !over.unfinished, "{over:?}");
        assert_eq!(player.free.last(), Some(&over.note));
        // Samples are lost while D5 sounds: it is told as it is, and marked.
        let events = player.free.end(&player.harp.clone());
        player.told(events);
        assert!(player.said[1].unfinished && player.free.now().is_none());
        assert_eq!(player.line(), line(&[("D5", 0), ("C5", 0)]));
        // In a new stream the line goes on.
        player.free.restart(Timebase::new(RATE));
        player.play(20, Some(C5), &[]);
        assert_eq!(player.line(), line(&[("C5", 0), ("D5", 0), ("C5", 0)]));
    }

    /// A device that comes back counts its samples from nought, perhaps at another rate.
    #[test]
    fn in_a_new_stream_notes_and_reeds_are_told_in_its_own_time() {
        let mut player = Player::new();
        player.play(50, Some(C5), &[4, 7]);
        player.free.end(&player.harp);
        player.free.restart(Timebase { rate: RATE / 2.0, epoch: 1 });
        player.time = 0;
        // At half the rate thirty readings take 0.6 s.
        player.play(30, Some(D5), &[]);
        assert!(player.free.together().is_none(), "the reeds of the old stream are over");
        player.play(20, None, &[]);
        let over = &player.said[0].note;
        assert_eq!((over.note.to_string().as_str(), over.began.epoch, over.began.samples), ("D5", 1, 0));
        assert!((over.seconds() - 0.58).abs() < 1e-9, "{}", over.seconds());
    }

    /// The ear may take the beginning of a note for its octave. The octave that it tells next, without a gap, is the
    /// same note and no second one.
    #[test]
    fn the_line_follows_the_ear_when_it_thinks_again_of_the_octave() {
        let mut player = Player::new();
        player.play(8, Some(2.0 * C5), &[]);
        assert_eq!(player.line(), line(&[("C6", 0)]));
        player.play(20, Some(C5), &[]);
        assert_eq!(player.line(), line(&[("C5", 0)]));
        assert!(player.said.is_empty());
        assert_eq!(player.free.line().next().and_then(|note| note.way).map(|way| way.hole), Some(4));
    }

    #[test]
    fn a_note_is_alone_or_told_with_the_reeds_that_sounded_beside_it() {
        let mut player = Player::new();
        player.play(50, Some(C5), &[4]).play(20, None, &[]);
        assert_eq!((player.said[0].alone, player.said[0].together.len()), (Some(true), 0));
        // 4 and 7 blow are C5 and C6.
        player.play(40, Some(C5), &[4, 7]);
        assert_eq!(player.free.together().map(|set| set.voices.len()), Some(2));
        player.play(20, None, &[]);
        assert_eq!((player.said[1].alone, player.said[1].together.len()), (Some(false), 2));
        assert_eq!(player.line()[0], ("C5".to_owned(), 2));
        // No reeds were told during this note, so nobody knows whether it was alone.
        player.play(40, Some(D5), &[]).play(20, None, &[]);
        assert_eq!(player.said[2].alone, None);
    }

    #[test]
    fn what_sounds_now_is_a_note_its_ways_and_its_cents() {
        let mut player = Player::new();
        // 10 cents above C5, which is 4 blow; and D5, 4 draw.
        player.play(1, Some(C5 * (10.0 / 1200.0_f64).exp2()), &[]);
        let now = player.free.now().unwrap();
        assert_eq!((now.note.to_string().as_str(), now.ways[0].hole), ("C5", 4));
        assert!((now.cents - 10.0).abs() < 0.1, "{now:?}");
        player.play(1, Some(D5), &[]);
        let now = player.free.now().unwrap();
        assert_eq!((now.note.to_string().as_str(), now.ways[0].breath), ("D5", layout::Breath::Draw));
        player.play(1, None, &[]);
        assert!(player.free.now().is_none());
    }

    #[test]
    fn the_line_keeps_the_last_120_notes() {
        let mut player = Player::new();
        for number in 0..125 {
            player.play(10, Some(if number == 4 { D5 } else { C5 }), &[]).play(10, None, &[]);
        }
        assert_eq!((player.said.len(), player.line().len()), (125, 120));
        assert!(player.line().iter().all(|(note, _)| note == "C5"), "the fifth is gone");
    }
}
