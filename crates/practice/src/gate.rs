//! How a try begins: what belongs to the note before it, and what to the try.

use pitch::Reading;
use scoring::Judge;

/// Silence after which what sounds next is a new sound, seconds. Shorter silences are dropouts of the ear, unless the
/// ear tells an onset after them.
pub(crate) const RELEASED_S: f64 = 0.07;
/// Silence before an onset that shows that the breath had stopped, seconds: a tongued or re-breathed note leaves at
/// least this much, the leap of a reed that lets go of its bend leaves less.
const ATTACK_GAP_S: f64 = 0.03;
/// Silence after which a try begins where nobody knows what was sounding before, seconds.
const UNKNOWN_S: f64 = 0.25;
/// A sound that goes on has become the note asked for when it is nearer than this to that note and further than this
/// from the judged note, cents: half of a half step.
const NEAR_CENTS: f64 = 50.0;
/// A pitch outside the hole's span belongs to another hole if it is this far from the judged note, cents.
const LEFT_CENTS: f64 = 80.0;
/// What follows the judged note without a silence is a try only if it lasts this long, seconds: a bend that is let go
/// may rise to its natural note for up to half a second, and that is no try at the natural note.
pub(crate) const TAIL_S: f64 = 0.6;
/// Excursions shorter than this, away from the note that is asked for and back, end no slur, seconds.
const BLIP_S: f64 = 0.15;

/// What a new try is kept apart from.
///
/// A try is asked for as soon as the one before is judged, while its note may still sound. It begins
///
/// * with a new sound: after 0.07 s of silence, or with an onset after 0.03 s of silence;
/// * with a slur: the sound goes on, comes within 50 cents of what is asked for now and more than that away from the
///   judged note, or leaves the judged note's hole. It counts once it has lasted 0.6 s; if it ends before, it was the
///   release of the judged note. Between the notes of a joined item any move of more than 50 cents is a slur, however
///   short.
///
/// Anything else that goes on is the release of the judged note and is never blamed.
#[derive(Clone, Debug, Default)]
pub(crate) struct Gate {
    held: Option<Held>,
    /// When something sounded last, seconds.
    heard: Option<f64>,
    /// When the slur began, and since when the sound has been back near the judged note, seconds.
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

    /// This gate, set for the step between two notes of a joined item.
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

    /// The judge for a slur, which lands only if it is held for at least as long as a release may take.
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

    /// Whether a sound that goes on has left the judged note for something that may be the try. `cents` counts from
    /// what is asked for.
    fn moved(&self, reading: &Reading, cents: f64) -> bool {
        let Some(Held::Note(judged, centre)) = &self.held else { return false };
        let Some(gone) = judged.cents_off(reading).map(|cents| (cents - centre).abs()) else { return true };
        let arrived = gone > NEAR_CENTS && (self.joined || cents.abs() <= NEAR_CENTS);
        arrived || (gone > LEFT_CENTS && !judged.in_span(reading))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::{Breath, Harp, Technique, Way};
    use scoring::{Target, Tolerance};

    fn draw(hole: u8, technique: Technique) -> Way {
        Way::new(hole, Breath::Draw, technique)
    }

    fn judge(way: Way) -> Judge {
        let harp = Harp::richter("C".parse().unwrap());
        let target = Target { way, cents: 0.0, hold_s: 0.5 };
        Judge::new(&harp, target, Tolerance::default(), 1_000.0).unwrap()
    }

    /// What a gate says of readings each 10 ms: stretches of hundredths of a second, and cents from where 4 draw, D5,
    /// is in tune; `None` is silence. The first reading of a stretch that is marked is an onset.
    fn said(mut gate: Gate, new: &Judge, line: &[(u32, Option<f64>, bool)]) -> (Gate, Vec<Opened>) {
        let mut said = Vec::new();
        let stretches = line
            .iter()
            .flat_map(|(count, cents, onset)| (0..*count).map(move |i| (*cents, *onset && i == 0)));
        for (number, (cents, onset)) in stretches.enumerate() {
            let time = 10 * number as u64;
            let hz = cents.map(|cents| 587.3295 * f64::exp2(cents / 1200.0));
            let reading =
                Reading { time, known: time, hz, sigma_cents: 1.0, clarity: 0.9, level_dbfs: -20.0, onset };
            said.push(gate.hear(new, &reading, time as f64 / 1_000.0));
        }
        (gate, said)
    }

    /// The first moment, hundredths of a second, at which it is no longer shut, and what it says then.
    fn opens(said: &[Opened]) -> Option<(usize, Opened)> {
        said.iter().copied().enumerate().find(|(_, opened)| *opened != Opened::Shut)
    }

    /// After 4 draw, which was in tune; its half step bend is asked for now.
    fn after_d5() -> (Gate, Judge) {
        (Gate::after(&judge(draw(4, Technique::Natural)), 0.0), judge(draw(4, Technique::Bend(1))))
    }

    #[test]
    fn nothing_before_a_try_opens_it_at_once() {
        let new = judge(draw(4, Technique::Natural));
        let (gate, said) = said(Gate::open(), &new, &[(3, Some(0.0), false)]);
        assert!(gate.counts() && !gate.waits());
        assert_eq!(said, [Opened::Open; 3]);
    }

    #[test]
    fn a_new_sound_begins_after_70_ms_of_silence_or_with_an_onset_after_30() {
        let (gate, new) = after_d5();
        let sounding =
            |silent, onset| [(20, Some(0.0), false), (silent, None, false), (10, Some(0.0), onset)];
        // The last sound was at 0.19 s.
        let (after, told) = said(gate.clone(), &new, &sounding(8, false));
        assert_eq!(opens(&told), Some((26, Opened::Afresh)));
        assert!(after.counts() && !after.waits());
        let (after, told) = said(gate.clone(), &new, &sounding(5, false));
        assert_eq!(opens(&told), None, "a dropout of the ear");
        assert!(after.waits() && !after.counts());
        assert_eq!(
            opens(&said(gate.clone(), &new, &sounding(3, true)).1),
            Some((23, Opened::Afresh)),
            "tongued"
        );
        assert_eq!(opens(&said(gate, &new, &sounding(1, true)).1), None, "a reed that lets go of its bend");
    }

    #[test]
    fn after_a_sound_of_which_nothing_is_known_a_quarter_of_a_second_of_silence_is_needed() {
        let new = judge(draw(4, Technique::Natural));
        let line = |silent, onset| [(20, Some(0.0), false), (silent, None, false), (10, Some(0.0), onset)];
        let told = said(Gate::after_unknown(), &new, &line(30, false)).1;
        assert_eq!(opens(&told), Some((44, Opened::Afresh)));
        assert_eq!(opens(&said(Gate::after_unknown(), &new, &line(20, true)).1), None);
    }

    #[test]
    fn a_slur_to_what_is_asked_for_counts_once_it_has_lasted_600_ms() {
        let (gate, new) = after_d5();
        // Bent at 0.2 s, and held.
        let (after, told) = said(gate.clone(), &new, &[(20, Some(0.0), false), (70, Some(-100.0), false)]);
        assert_eq!(opens(&told), Some((20, Opened::Slurred)));
        assert!(after.counts());
        // Only 0.4 s long, and then silence: it was the release of the note before, and what comes next is new.
        let line =
            [(20, Some(0.0), false), (40, Some(-100.0), false), (10, None, false), (5, Some(-100.0), false)];
        let (_, told) = said(gate.clone(), &new, &line);
        assert_eq!(told[66], Opened::Afresh, "{told:?}");
        // 0.55 s are too short as well: the silence that ends it is no part of it.
        let line = [(20, Some(0.0), false), (55, Some(-100.0), false), (10, None, false)];
        assert_eq!(said(gate.clone(), &new, &line).1[81], Opened::Afresh);
        // Let go after 0.62 s, of which the last 0.03 s slipped back: it was a try, and its judge hears the silence
        // that ends it.
        let line =
            [(20, Some(0.0), false), (59, Some(-100.0), false), (3, Some(0.0), false), (10, None, false)];
        let (after, told) = said(gate.clone(), &new, &line);
        assert!(after.counts() && !told[20..].contains(&Opened::Afresh), "{told:?}");
        // A hundredth of a second at the judged note is no way back to it.
        let line = [
            (20, Some(0.0), false),
            (59, Some(-100.0), false),
            (1, Some(0.0), false),
            (20, Some(-100.0), false),
        ];
        let (after, _) = said(gate.clone(), &new, &line);
        assert!(after.counts(), "a blip back to the judged note ends no slur");
        // Back at the judged note for 0.2 s: it was no slur.
        let line = [(20, Some(0.0), false), (30, Some(-100.0), false), (20, Some(0.0), false)];
        let (after, told) = said(gate.clone(), &new, &line);
        assert!(after.waits() && told.last() == Some(&Opened::Shut), "{told:?}");
        // Half of the way is neither.
        assert_eq!(opens(&said(gate, &new, &[(20, Some(0.0), false), (80, Some(-45.0), false)]).1), None);
    }

    #[test]
    fn a_sound_that_leaves_the_hole_is_a_slur_wherever_it_goes() {
        let (gate, new) = after_d5();
        // 4 draw sounds D5 and its half step. A whole tone up is of another hole; 70 cents up may be a squeal of this
        // one.
        let up =
            |cents| opens(&said(gate.clone(), &new, &[(20, Some(0.0), false), (10, Some(cents), false)]).1);
        assert_eq!(up(200.0), Some((20, Opened::Slurred)));
        assert_eq!(up(70.0), None);
        // As far away, but still of the hole: the bend is let go beyond its half step.
        assert_eq!(up(-160.0), None);
    }

    #[test]
    fn between_joined_notes_every_move_of_more_than_a_quarter_tone_counts_at_once() {
        let (gate, new) = after_d5();
        let (after, told) = said(gate.joined(), &new, &[(20, Some(0.0), false), (2, Some(-60.0), false)]);
        assert_eq!(told[19..], [Opened::Shut, Opened::Slurred, Opened::Open]);
        assert!(after.counts());
    }

    #[test]
    fn a_slur_has_to_be_held_for_as_long_as_a_release_may_take() {
        let (gate, new) = after_d5();
        assert_eq!(gate.longer(new.clone()).target().hold_s, 0.6);
        assert_eq!(gate.clone().joined().longer(new.clone()).target().hold_s, 0.5);
        assert_eq!(gate.longer(new.holding(2.0)).target().hold_s, 2.0);
    }

    #[test]
    fn the_beginning_is_told_once() {
        let mut gate = Gate::open();
        assert_eq!([gate.tell_began(), gate.tell_began()], [true, false]);
    }
}
