//! What a run hears: notes, or chords where it asks for them.

use layout::{ConcertPitch, Note};
use pitch::Reading;
use pitch::reeds::Sounding;
use scoring::timed::{AskedNote, Chug, Chugs, Divided, Notes, PlayedAt};

/// Divides what is heard into notes or into chords.
#[derive(Clone, Debug)]
pub(super) enum RunEar {
    /// By the pitch.
    Notes(Box<Notes>),
    /// By the breath and the reeds that sound together.
    Chords(Box<Chugs>),
}

/// Something that was played, and is over.
#[derive(Clone, Debug)]
pub(super) enum Sounded {
    Note(Divided),
    Chord(Chug),
}

impl RunEar {
    /// Nothing has been played yet. A note counts when it has sounded for `counts_s` seconds.
    pub(super) fn new(chords: bool, sample_rate: f64, counts_s: f64) -> Self {
        if chords {
            Self::Chords(Box::new(Chugs::new(sample_rate)))
        } else {
            Self::Notes(Box::new(Notes::new(sample_rate, counts_s)))
        }
    }

    /// Takes a reading; gives what is over.
    pub(super) fn hear(&mut self, concert: ConcertPitch, reading: &Reading) -> Vec<Sounded> {
        match self {
            Self::Notes(notes) => notes.hear(concert, reading).map(Sounded::Note).into_iter().collect(),
            Self::Chords(chugs) => chugs.hear(reading).into_iter().map(Sounded::Chord).collect(),
        }
    }

    /// Takes a reading of the reeds that sound together; gives what is over.
    pub(super) fn hear_reeds(&mut self, sounding: &Sounding) -> Vec<Sounded> {
        match self {
            Self::Notes(_) => Vec::new(),
            Self::Chords(chugs) => chugs.hear_reeds(sounding).into_iter().map(Sounded::Chord).collect(),
        }
    }

    /// Where what sounds began.
    pub(super) fn sounding(&self) -> Option<u64> {
        match self {
            Self::Notes(notes) => notes.sounding().map(|note| note.began),
            Self::Chords(chugs) => chugs.sounding(),
        }
    }

    /// Ends what sounds.
    pub(super) fn end(&mut self) -> Vec<Sounded> {
        match self {
            Self::Notes(notes) => notes.end().map(Sounded::Note).into_iter().collect(),
            Self::Chords(chugs) => chugs.end().into_iter().map(Sounded::Chord).collect(),
        }
    }
}

impl Sounded {
    /// Where it began, samples.
    pub(super) fn began(&self) -> u64 {
        match self {
            Self::Note(note) => note.began,
            Self::Chord(chug) => chug.began,
        }
    }

    /// When it was played, counted from the sample of the first beat; nothing of a chord where none is asked for.
    pub(super) fn played(&self, asked: &[AskedNote], (zero, rate): (f64, f64)) -> Option<PlayedAt> {
        match self {
            Self::Note(note) => Some(PlayedAt::new(note, zero, rate)),
            Self::Chord(chug) => {
                let onset_s = (chug.began as f64 - zero) / rate;
                Some(PlayedAt::of_chord(chug, counts_as(chug, onset_s, asked)?, (zero, rate)))
            }
        }
    }
}

/// The note as which a played chord counts: that of the nearest chord in time among the asked ones that have its breath
/// and share a hole with it; without any, among those that have its breath; without any, among all.
fn counts_as(chug: &Chug, onset_s: f64, asked: &[AskedNote]) -> Option<Note> {
    let heard = chug.heard;
    let rank = |asked: &AskedNote| {
        let same_breath = heard.breath.is_none_or(|breath| breath == asked.way.breath);
        let shares = asked.holes.iter().any(|hole| heard.sounding.contains(hole));
        match (same_breath, shares) {
            (true, true) => 0,
            (true, false) => 1,
            (false, _) => 2,
        }
    };
    let away = |asked: &AskedNote| (asked.onset_s - onset_s).abs();
    let nearest = asked.iter().min_by(|a, b| rank(a).cmp(&rank(b)).then(away(a).total_cmp(&away(b))));
    nearest.map(|asked| asked.note)
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::{Breath, Technique, Way};
    use scoring::timed::ChordHeard;

    const RATE: f64 = 1_000.0;

    /// A chord that is asked for at a moment, seconds, under the name of its lowest note.
    fn asked(name: &str, (onset_s, breath, holes): (f64, Breath, [u8; 2])) -> AskedNote {
        AskedNote {
            way: Way::new(holes[0], breath, Technique::Natural),
            note: name.parse().unwrap(),
            onset_s,
            length_s: 0.5,
            bar: 0,
            joined: false,
            holes: holes.into_iter().collect(),
        }
    }

    /// As which note a chord counts that began at a moment, seconds from a first beat half a second into the stream.
    fn counts(onset_s: f64, breath: Option<Breath>, holes: &[u8]) -> String {
        let all = [
            asked("C4", (1.0, Breath::Blow, [1, 2])),
            asked("D4", (2.0, Breath::Draw, [1, 2])),
            asked("E4", (3.0, Breath::Blow, [2, 3])),
        ];
        let heard = ChordHeard { breath, sounding: holes.iter().copied().collect(), ..ChordHeard::default() };
        let began = (RATE * (onset_s + 0.5)) as u64;
        let chord = Sounded::Chord(Chug { began, last: began + 300, heard });
        let played = chord.played(&all, (0.5 * RATE, RATE)).unwrap();
        assert!((played.onset_s - onset_s).abs() < 1e-9);
        played.note.to_string()
    }

    #[test]
    fn a_chord_counts_as_the_nearest_one_of_its_breath_and_holes() {
        let (blow, draw) = (Some(Breath::Blow), Some(Breath::Draw));
        // Hole 2 is in both that are blown: the time decides.
        assert_eq!([1.2, 2.9].map(|onset_s| counts(onset_s, blow, &[2])), ["C4", "E4"]);
        // Its breath and its holes say more than the time.
        assert_eq!([1.2, 2.9].map(|onset_s| counts(onset_s, draw, &[2])), ["D4", "D4"]);
        assert_eq!(counts(1.2, blow, &[3, 4]), "E4");
        // The breath alone where no hole is among those that were asked for; the time alone where the breath cannot be
        // told.
        assert_eq!([1.2, 2.9].map(|onset_s| counts(onset_s, blow, &[7])), ["C4", "E4"]);
        assert_eq!([1.2, 2.1, 2.9].map(|onset_s| counts(onset_s, None, &[2])), ["C4", "D4", "E4"]);
    }
}
