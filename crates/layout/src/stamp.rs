//! What makers stamp on a harp, which is not always the note of its 1 blow.

use crate::{Breath, Harp, HarpKey, KnownTuning, PitchClass, Tunings};

/// A key as makers stamp it: "C", "Am".
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stamp {
    /// The tonic.
    pub tonic: PitchClass,
    /// Whether the reeds make a minor chord on it and no major one.
    pub minor: bool,
}

impl Stamp {
    /// Reads a minor key: `Am`, `F# minor`, `bb min`. `None` for anything else.
    fn read_minor(text: &str) -> Option<PitchClass> {
        let note = ["minor", "min", "m"].iter().find_map(|ending| text.trim().strip_suffix(ending))?;
        note.trim_end().parse().ok()
    }
}

impl std::fmt::Display for Stamp {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}{}", self.tonic, if self.minor { "m" } else { "" })
    }
}

impl Harp {
    /// What makers stamp on it, the usual key first: the tonic of each position after which they name its tuning.
    ///
    /// ```
    /// use layout::{ConcertPitch, Tunings};
    ///
    /// let harp = Tunings::ours().harp("A natural minor", ConcertPitch::ISO).unwrap();
    /// assert_eq!(harp.stamps().iter().map(ToString::to_string).collect::<Vec<_>>(), ["Em", "Am"]);
    /// ```
    pub fn stamps(&self) -> Vec<Stamp> {
        self.tuning().labelled().iter().map(|position| self.stamp(*position)).collect()
    }

    fn stamp(&self, position: u8) -> Stamp {
        let tonic = self.home().up(7 * (i32::from(position) - 1));
        let has = |above| {
            let reeds = [Breath::Blow, Breath::Draw].into_iter();
            let mut reeds =
                reeds.flat_map(|breath| (1..=self.holes()).filter_map(move |hole| self.reed(hole, breath)));
            reeds.any(|reed| tonic.semitones_to(reed.pitch_class()) == above)
        };
        Stamp { tonic, minor: has(3) && has(7) && !has(4) }
    }

    /// What has to be said where the harp's key alone would mislead: "stamped Em by some, Am by others; 1 blow is A",
    /// "1 blow is C, home is F". `None` where the key is the stamp, the note of 1 blow and home all at once.
    pub fn stamp_words(&self) -> Option<String> {
        let key = self.key().pitch_class();
        if self.home() != key {
            return Some(format!("1 blow is {key}, home is {}", self.home()));
        }
        let stamps = self.stamps();
        let words = match &stamps[..] {
            [usual, others @ ..] if !others.is_empty() => {
                let others: Vec<String> = others.iter().map(ToString::to_string).collect();
                format!("stamped {usual} by some, {} by others", others.join(" or "))
            }
            [only] if only.minor || only.tonic != key => format!("stamped {only}"),
            _ => return None,
        };
        Some(format!("{words}; 1 blow is {key}"))
    }
}

impl Tunings {
    /// The usual harps that makers stamp with a minor key such as `Am`: key and tuning, in the order of the tunings.
    /// Empty for a text that names no minor key.
    pub fn stamped(&self, text: &str) -> Vec<(HarpKey, &KnownTuning)> {
        let Some(minor) = Stamp::read_minor(text) else { return Vec::new() };
        let harps = |known: &KnownTuning| {
            let concert = crate::ConcertPitch::ISO;
            HarpKey::usual_keys().map(|key| Harp::new(key, known.tuning.clone(), concert)).collect::<Vec<_>>()
        };
        let stamp = |harp: &Harp, position: u8| harp.stamp(position) == Stamp { tonic: minor, minor: true };
        self.iter()
            .flat_map(|known| known.tuning.labelled().iter().map(move |position| (known, *position)))
            .filter_map(|(known, position)| {
                let harp = harps(known).into_iter().find(|harp| stamp(harp, position))?;
                Some((harp.key(), known))
            })
            .collect()
    }
}
