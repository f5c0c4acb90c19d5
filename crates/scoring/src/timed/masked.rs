//! When a player could not be heard through what the program itself sounds.

/// A note cannot be told if more than this share of it is masked: what is left is too little to judge a pitch by.
const TOO_MUCH: f64 = 0.25;
/// Stretches that are at most this far apart are one, seconds: no note is heard between them.
const JOINS_S: f64 = 0.06;
/// A stretch touches a note if it ends at most this long before the note was heard, seconds: as long as the ear takes
/// to be sure of a low note.
const TOUCHES_S: f64 = 0.03;
/// Stretches that are kept: as many as come in ten minutes of a band that hides the player once a beat. Older ones are
/// of notes that were told long ago.
const KEPT: usize = 2_048;

/// Stretches of time, in samples, in which a player could not be told from what the program itself sounds: what was not
/// heard in them may have been played all the same, and what was heard in them may be something else.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Masked {
    /// In order, apart from each other.
    stretches: Vec<(u64, u64)>,
}

impl Masked {
    /// Adds a stretch. It may reach back before the newest ones, because masking may be noticed late.
    pub fn add(&mut self, from: u64, until: u64, sample_rate: f64) {
        let (mut from, mut until) = (from, until.max(from));
        let joins = (JOINS_S * sample_rate) as u64;
        while let Some((before, end)) = self.stretches.pop_if(|(_, end)| *end + joins >= from) {
            (from, until) = (from.min(before), until.max(end));
        }
        if self.stretches.len() == KEPT {
            self.stretches.remove(0);
        }
        self.stretches.push((from, until));
    }

    /// Another stream begins, whose samples count from nought.
    pub fn clear(&mut self) {
        self.stretches.clear();
    }

    /// For how long the player was hidden from this sample on, seconds.
    pub fn lasts_s(&self, from: u64, sample_rate: f64) -> f64 {
        let after = self.stretches.iter().rev().take_while(|(_, until)| *until > from);
        after.map(|(begins, until)| until - from.max(*begins)).sum::<u64>() as f64 / sample_rate
    }

    /// The stretches in seconds from the sample `origin`, to compare with notes.
    pub fn seconds(&self, origin: f64, sample_rate: f64) -> MaskedAt {
        let at = |sample: u64| (sample as f64 - origin) / sample_rate;
        MaskedAt(self.stretches.iter().map(|(from, until)| (at(*from), at(*until))).collect())
    }
}

/// The same stretches in seconds from the first beat.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MaskedAt(Vec<(f64, f64)>);

impl MaskedAt {
    /// Whether so much of a note was masked that it cannot be told.
    pub fn hides(&self, from_s: f64, until_s: f64) -> bool {
        self.covered_s(from_s, until_s) > TOO_MUCH * (until_s - from_s).max(0.0)
    }

    /// The earliest and the latest moment at which a note first heard at `onset_s` may have begun. A stretch that
    /// touches it may hide when it began, and what was heard while the stretch lasts may be the loudspeaker.
    pub fn may_begin_s(&self, onset_s: f64) -> (f64, f64) {
        let before = self.0.partition_point(|(from, _)| *from < onset_s).checked_sub(1);
        let touches = before.map(|before| self.0[before]).filter(|(_, until)| *until >= onset_s - TOUCHES_S);
        touches.map_or((onset_s, onset_s), |(from, until)| (from, until.max(onset_s)))
    }

    fn covered_s(&self, from_s: f64, until_s: f64) -> f64 {
        let first = self.0.partition_point(|(_, until)| *until <= from_s);
        let within = self.0[first..].iter().take_while(|(from, _)| *from < until_s);
        within.map(|(from, until)| until.min(until_s) - from.max(from_s)).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_join_where_they_touch_and_reach_back() {
        let mut masked = Masked::default();
        for (from, until) in [(1_000, 1_100), (1_150, 1_200), (3_000, 3_100), (5_000, 5_100)] {
            masked.add(from, until, 1_000.0);
        }
        assert_eq!(masked.stretches, [(1_000, 1_200), (3_000, 3_100), (5_000, 5_100)]);
        masked.add(2_500, 5_050, 1_000.0);
        assert_eq!(masked.stretches, [(1_000, 1_200), (2_500, 5_100)]);
        assert_eq!([0, 1_100, 3_000, 5_100].map(|from| masked.lasts_s(from, 1_000.0)), [2.8, 2.7, 2.1, 0.0]);
    }

    #[test]
    fn a_note_is_hidden_by_more_than_a_quarter_of_it() {
        let mut masked = Masked::default();
        masked.add(2_000, 2_200, 1_000.0);
        let at = masked.seconds(1_000.0, 1_000.0);
        assert!(at.hides(1.0, 1.7) && !at.hides(1.0, 1.9) && !at.hides(1.2, 2.0) && !at.hides(0.0, 1.0));
        assert_eq!(
            [0.99, 1.1, 1.22, 1.24].map(|onset_s| at.may_begin_s(onset_s)),
            [(0.99, 0.99), (1.0, 1.2), (1.0, 1.22), (1.24, 1.24)]
        );
    }
}
