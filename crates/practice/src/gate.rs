//! How a try begins: what belongs to the note before it, and what to the try.

use pitch::Reading;
use scoring::Judge;

/// Silence after which what sounds next is a new sound, seconds. Shorter silences are dropouts of the ear, unless the ear
/// tells an onset after them.
pub(crate) const RELEASED_S: f64 = 0.07;
/// Silence before an onset that shows that the breath had stopped, seconds: a tongued or re-breathed note leaves at least
/// this much, the leap of a reed that lets go of its bend leaves less.
const ATTACK_GAP_S: f64 = 0.03;
/// Silence after which a try begins where nobody knows what was sounding before, seconds.
const UNKNOWN_S: f64 = 0.25;
/// A sound that goes on has become the note that is asked for when it is this near to it and this far from the judged
/// note, cents: the half of a half step.
const NEAR_CENTS: f64 = 50.0;
/// A pitch outside the hole's span belongs to another hole if it is this far from the judged note, cents.
const LEFT_CENTS: f64 = 80.0;
/// What follows the judged note without a silence is a try only if it lasts this long, seconds: a bend that is let go may
/// rise to its natural note for up to half a second, and that is no try at the natural note.
pub(crate) const TAIL_S: f64 = 0.6;
/// Excursions shorter than this, away from the note that is asked for and back, end no slur, seconds.
const BLIP_S: f64 = 0.15;

/// What a new try is kept apart from.
///
/// A try is asked for as soon as the one before is judged, while its note may still sound. It begins
///
/// * with a new sound: after 0.07 s of silence, or with an onset after 0.03 s of silence;
/// * with a slur: the sound goes on, comes within 50 cents of what is asked for now and more than that away from the judged
///   note, or leaves the judged note's hole. It counts once it has lasted 0.6 s; if it ends before, it was the release of
///   the judged note. Between the notes of a joined item any move of more than 50 cents is a slur, however short.
///
/// Anything else that goes on is the release of the judged note and is never blamed.
#[derive(Clone, Debug, Default)]
pub(crate) struct Gate {
    held: Option<Held>,
    /// When something sounded last, seconds.
    heard: Option<f64>,
    /// Since when the sound is a slur, and since when it has been away from that, seconds.
    slur: Option<Slur>,
    joined: bool,
    told_began: bool,
}

/// The note that was judged.
#[derive(Clone, Debug)]
enum Held {
    /// Its judge, and where it was held, cents from that judge's target.
    Note(Box<Judge>, f64),
    /// Nobody knows: samples were lost.
    Unknown,
}

#[derive(Clone, Copy, Debug)]
struct Slur {
    since: f64,
    away: Option<f64>,
}

/// What a reading means for the try.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Opened {
    /// Nothing: it belongs to what was before.
    Shut,
    /// The try goes on.
    Open,
    /// The try begins here, with a new sound.
    Afresh,
    /// The try begins here, perhaps, with a slur.
    Slurred,
}

impl Gate {
    /// Nothing sounded when the try was asked for.
    pub(crate) fn open() -> Self {
        Self::default()
    }

    /// After a note whose judge has spoken, held at `centre` cents from its target.
    pub(crate) fn after(judge: &Judge, centre: f64) -> Self {
        Self { held: Some(Held::Note(Box::new(judge.clone()), centre)), ..Self::default() }
    }

    /// After a sound of which nothing is known.
    pub(crate) fn after_unknown() -> Self {
        Self { held: Some(Held::Unknown), ..Self::default() }
    }

    /// The same between two notes of a joined item.
    pub(crate) fn joined(self) -> Self {
        Self { joined: true, ..self }
    }

    /// Whether the player has to let go of the note before.
    pub(crate) fn waits(&self) -> bool {
        self.held.is_some() && self.slur.is_none()
    }

    /// Whether what is heard counts as a try yet.
    pub(crate) fn counts(&self) -> bool {
        self.held.is_none()
    }

    /// Whether the beginning of the try is still to be told; it is told once.
    pub(crate) fn tell_began(&mut self) -> bool {
        !std::mem::replace(&mut self.told_began, true)
    }

    /// The judge for a slur: what is held for less time than a release may take is not landed.
    pub(crate) fn longer(&self, judge: Judge) -> Judge {
        let hold_s = judge.target().hold_s.max(self.tail_s());
        judge.holding(hold_s)
    }

    /// Takes a reading at a time in seconds; `judge` is that of the new try.
    pub(crate) fn hear(&mut self, judge: &Judge, reading: &Reading, now: f64) -> Opened {
        let sounds = judge.cents_off(reading);
        let silent_s = now - *self.heard.get_or_insert(now);
        if sounds.is_some() {
            self.heard = Some(now);
        }
        let Some(held) = &self.held else { return Opened::Open };
        let enough = if matches!(held, Held::Unknown) { UNKNOWN_S } else { RELEASED_S };
        let struck = reading.onset && silent_s >= ATTACK_GAP_S && !matches!(held, Held::Unknown);
        let ended = self.slur.is_some_and(|slur| now - silent_s - slur.since >= self.tail_s());
        if silent_s >= enough || struck {
            // A slur that was long enough is a try, and its judge hears the silence that ends it.
            let opened = if ended && !struck { Opened::Open } else { Opened::Afresh };
            self.held = None;
            self.slur = None;
            return opened;
        }
        let Some(cents) = sounds else {
            return if self.slur.is_some() { Opened::Open } else { Opened::Shut };
        };
        let moved = self.moved(reading, cents);
        self.follow(moved, now)
    }

    /// Follows a sound that goes on.
    fn follow(&mut self, moved: bool, now: f64) -> Opened {
        let tail_s = self.tail_s();
        let Some(slur) = &mut self.slur else {
            if !moved {
                return Opened::Shut;
            }
            self.slur = Some(Slur { since: now, away: None });
            return Opened::Slurred;
        };
        if moved {
            slur.away = None;
        } else if now - *slur.away.get_or_insert(now) >= BLIP_S {
            // Back at the judged note.
            self.slur = None;
            return Opened::Shut;
        }
        if now - slur.since >= tail_s && slur.away.is_none() {
            (self.held, self.slur) = (None, None);
        }
        Opened::Open
    }

    fn tail_s(&self) -> f64 {
        if self.joined { 0.0 } else { TAIL_S }
    }

    /// Whether a sound that goes on has left the judged note for something that may be the try. `cents` counts from what is
    /// asked for.
    fn moved(&self, reading: &Reading, cents: f64) -> bool {
        let Some(Held::Note(judged, centre)) = &self.held else { return false };
        let Some(gone) = judged.cents_off(reading).map(|cents| (cents - centre).abs()) else { return true };
        let arrived = gone > NEAR_CENTS && (self.joined || cents.abs() <= NEAR_CENTS);
        arrived || (gone > LEFT_CENTS && !judged.in_span(reading))
    }
}
