//! One choice against another, in words.

use crate::custom::TIE;
use crate::{Choice, ChoiceChord, ChoiceDegree};
use layout::TabStyle;

/// The least difference of two parts that is worth a word, points.
const WORTH_A_WORD: f64 = 0.1;

/// Two choices between which custom decided.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tie<'a> {
    /// The choice that would stand before, if harp, song and player alone decided.
    pub over: &'a Choice,
    /// By how many points it would; 0 if the two cost the same.
    pub by: f64,
}

impl Choice {
    /// The choice that only custom puts behind this one, if there is one among those `behind` it in the ranking; of
    /// several, the one that custom puts back farthest.
    pub fn tie<'a>(&self, behind: &'a [Self]) -> Option<Tie<'a>> {
        let own = self.parts.without_custom();
        let by = |other: &Self| own - other.parts.without_custom();
        let decided = |other: &&Self| by(other) >= 0.0 && self.parts.custom < other.parts.custom;
        let over = behind.iter().filter(decided).max_by(|a, b| by(a).total_cmp(&by(b)))?;
        Some(Tie { over, by: by(over) })
    }

    /// The choices `behind` this one in the ranking that cost hardly more, the nearest first.
    pub fn nearly_tied<'a>(&self, behind: &'a [Self]) -> impl Iterator<Item = &'a Self> {
        let most = self.cost + TIE;
        behind.iter().take_while(move |other| other.cost <= most)
    }

    /// Why another choice for the same song is cheaper than this one, the weightiest reason first; empty if it is not
    /// cheaper.
    pub fn behind(&self, better: &Self, style: &TabStyle) -> Vec<String> {
        if self.cost <= better.cost {
            return Vec::new();
        }
        let home = || format!("home lies worse: {}", self.tonic(style));
        let mut reasons = [
            (self.parts.notes - better.parts.notes, self.dearest(better)),
            (self.parts.chords - better.parts.chords, self.lacks(better)),
            (self.parts.home - better.parts.home, home()),
            (self.parts.harp - better.parts.harp, self.unusual()),
        ];
        reasons.sort_by(|(a, _), (b, _)| b.total_cmp(a));
        let worth = |(more, words): (f64, String)| (more >= WORTH_A_WORD).then_some(words);
        reasons.into_iter().filter_map(worth).collect()
    }

    /// What speaks against its tuning.
    fn unusual(&self) -> String {
        format!(
            "most harps are tuned Richter, and {} has to be worth another harp",
            self.harp.tuning().name()
        )
    }

    /// What is wrong with its chords against those of another: the one on the tonic, or else those that it lacks.
    fn lacks(&self, better: &Self) -> String {
        let pairs = || self.chords.iter().zip(&better.chords);
        let is_worse = |(own, other): &(&ChoiceChord, &ChoiceChord)| {
            own.chord.is_tonic() && (own.sounds, other.clashes) < (other.sounds, own.clashes)
        };
        let lacking = pairs().filter(|(own, other)| other.sounds && !own.sounds);
        let lacking: Vec<String> = lacking.map(|(own, _)| own.chord.function.to_string()).collect();
        let tonic = pairs().any(|pair| is_worse(&pair)).then(|| self.tonic_chord()).flatten();
        tonic.unwrap_or_else(|| format!("not under the mouth: {}", lacking.join(", ")))
    }

    /// The note which most makes this choice dearer than another.
    fn dearest(&self, than: &Self) -> String {
        let dearer = self.degrees.iter().zip(&than.degrees);
        let most = dearer.max_by(|(a, than_a), (b, than_b)| {
            let more = |own: &ChoiceDegree, other: &ChoiceDegree| own.weight * (own.cost - other.cost);
            more(a, than_a).total_cmp(&more(b, than_b))
        });
        let most = most.map_or(String::new(), |(own, other)| {
            format!(
                ", most of all the {} ({}): {:.1} points against {:.1}",
                own.is.step.degree, own.is.name, own.cost, other.cost
            )
        });
        format!("its notes cost {:.1} points more{most}", self.parts.notes - than.parts.notes)
    }
}

impl Tie<'_> {
    /// "by notes, home, chords and harp 0.06 points behind the C harp, Richter, 4th position; so near is a tie, and
    /// more …".
    pub fn words(&self, own: &Choice) -> String {
        let near =
            if self.by < 0.005 { "level with".to_owned() } else { format!("{:.2} points behind", self.by) };
        format!(
            "by notes, home, chords and harp {near} the {}; so near is a tie, and more players use the {} (common practice, no source)",
            self.over.title(),
            own.position
        )
    }
}
