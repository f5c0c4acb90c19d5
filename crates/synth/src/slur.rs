//! Notes that are joined on one attack.

use crate::Gesture;
use layout::Way;

/// The longest slide of the pitch from one joined note to the next, seconds: as quick as a bend is let go.
const GLIDE_S: f64 = 0.05;
/// A slide takes at most this share of the shorter of its two notes.
const SHARE: f64 = 0.3;

/// A note that is to be played in time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timed {
    /// How.
    pub way: Way,
    /// When, seconds from the first beat.
    pub onset_s: f64,
    /// How long, seconds.
    pub length_s: f64,
    /// Whether it goes on from the note before without a new attack.
    pub joined: bool,
    /// The other ways of a chord, which sound together with it.
    pub others: [Option<Way>; OTHERS],
}

/// The most ways that sound together with a leading one.
pub const OTHERS: usize = 5;

impl Timed {
    /// All that sounds: one way, or several of a chord.
    pub fn ways(&self) -> Vec<Way> {
        [Some(self.way)].iter().chain(&self.others).flatten().copied().collect()
    }
}

/// Notes on one attack; often one.
#[derive(Clone, Debug, PartialEq)]
pub struct Slur {
    notes: Vec<Timed>,
}

impl Slur {
    /// Groups notes, given in their order: a joined note goes into the slur of the note before it.
    pub fn all(notes: impl IntoIterator<Item = Timed>) -> Vec<Self> {
        let mut slurs: Vec<Self> = Vec::new();
        for note in notes {
            match slurs.last_mut().filter(|_| note.joined) {
                Some(slur) => slur.notes.push(note),
                None => slurs.push(Self { notes: vec![note] }),
            }
        }
        slurs
    }

    /// The first note, on which the attack is.
    pub fn first(&self) -> Option<&Timed> {
        self.notes.first()
    }

    /// Seconds from the attack to the end of the last note.
    pub fn length_s(&self) -> f64 {
        let ends = self.notes.last().map(|last| last.onset_s + last.length_s);
        ends.zip(self.first()).map_or(0.0, |(end, first)| end - first.onset_s)
    }

    /// A gesture of the first note, going on to the others.
    #[must_use]
    pub fn onto(&self, gesture: Gesture) -> Gesture {
        let begins_s = self.first().map_or(0.0, |first| first.onset_s);
        self.notes.windows(2).fold(gesture, |gesture, pair| {
            let shorter_s = pair[0].length_s.min(pair[1].length_s);
            gesture.then(pair[1].way, pair[1].onset_s - begins_s, GLIDE_S.min(SHARE * shorter_s))
        })
    }
}
