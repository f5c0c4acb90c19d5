//! Hears the answer to a call: notes, until they are over.

use super::compare::{compare, mistakes};
use super::making::wanted;
use super::{Answer, Cause, EarPlan, NoteAnswer, NoteIs, Result, Wanted};
use crate::Timebase;
use layout::{Harp, Note};
use pitch::Reading;
use scoring::Voice;
use scoring::timed::{Divided, Notes, PlayedAt};

/// A note counts when it has sounded this long, seconds; shorter ones are slides and slips of the pitch line.
const COUNTS_S: f64 = 0.08;
/// With as many notes as are wanted, an answer is over after so much silence, seconds; with fewer the player may be
/// searching for the next one.
const OVER_S: f64 = 0.7;
const SEARCHES_S: f64 = 2.5;
/// An answer is over once it has more than this many notes beyond twice as many as are wanted.
const BEYOND: usize = 3;
/// A note that sounds so soon after hearing begins may have begun before, seconds.
const SOON_S: f64 = 0.08;
/// What is left of the question in the room is over by then, seconds.
const RING_S: f64 = 0.4;

/// Hears one answer.
#[derive(Clone, Debug)]
pub(super) struct CallEar {
    base: Timebase,
    wanted: Vec<Wanted>,
    /// The note that was sounded last, which the room may still sound.
    last_sounded: Option<Note>,
    /// The sample from which it hears.
    from: u64,
    /// How long before `from`, after the call was over, nothing could be heard, seconds.
    deaf_s: f64,
    notes: Notes,
    voice: Voice,
    /// What was played, without `overhang`: a note that may have been sounding already when hearing began.
    played: Vec<PlayedAt>,
    overhang: Option<PlayedAt>,
}

impl CallEar {
    /// Hears from a sample on, after nothing could be heard for so many seconds.
    pub(super) fn new(
        base: Timebase,
        (wanted, last_sounded): (Vec<Wanted>, Option<Note>),
        (from, deaf_s): (u64, f64),
    ) -> Self {
        let notes = Notes::new(base.rate, COUNTS_S);
        let (voice, played, overhang) = (Voice::default(), Vec::new(), None);
        Self { base, wanted, last_sounded, from, deaf_s, notes, voice, played, overhang }
    }

    /// Notes that were heard, with the one that sounds.
    pub(super) fn count(&self) -> usize {
        self.played.len() + usize::from(self.notes.sounding().is_some())
    }

    /// Takes a reading; true if the answer is over.
    pub(super) fn hear(&mut self, plan: &EarPlan, harp: &Harp, reading: &Reading) -> bool {
        let now = self.base.moment(reading.known).seconds();
        self.voice.hear(now, reading.hz.is_some());
        if let Some(note) = self.notes.hear(harp.concert(), reading) {
            self.take(harp, &note);
        }
        if self.played.is_empty() || self.notes.sounding().is_some() {
            return false;
        }
        let silent_s = self.voice.silent_s(now);
        silent_s >= SEARCHES_S
            || silent_s >= OVER_S && self.is_complete(plan, harp)
            || self.played.len() > 2 * self.wanted.len() + BEYOND
    }

    /// Nothing more is heard: true if no note is missing.
    pub(super) fn end(&mut self, plan: &EarPlan, harp: &Harp) -> bool {
        if let Some(note) = self.notes.end() {
            self.take(harp, &note);
        }
        !self.played.is_empty() && self.is_complete(plan, harp)
    }

    fn is_complete(&self, plan: &EarPlan, harp: &Harp) -> bool {
        self.best(plan, harp, &self.played).iter().all(|note| note.is != NoteIs::Missing)
    }

    fn take(&mut self, harp: &Harp, note: &Divided) {
        let played = PlayedAt::new(note, self.from as f64, self.base.rate);
        // A slow slide may have been named by the note that it came from: the held pitch names it.
        let held = played.held.and_then(|(hz, _)| harp.concert().nearest(hz));
        let played = PlayedAt { note: held.map_or(played.note, |(note, _)| note), ..played };
        // What this harp cannot sound was not played on it.
        if harp.ways_to(played.note).is_empty() {
            return;
        }
        if self.played.is_empty() && self.overhang.is_none() && played.onset_s < SOON_S {
            let rings = Some(played.note) == self.last_sounded && played.ended_s < RING_S;
            self.overhang = (!rings).then_some(played);
        } else {
            self.played.push(played);
        }
    }

    /// What came of it.
    pub(super) fn judge(&self, plan: &EarPlan, harp: &Harp) -> (Result, Answer) {
        let notes = self.best(plan, harp, &self.played);
        let (result, notes) = match self.overhang {
            _ if mistakes(&notes) == 0 => (Result::Right, notes),
            None if self.missed_the_beginning(&notes) => (Result::CannotTell(Cause::BeganEarly), notes),
            None => (Result::Wrong, notes),
            Some(first) => {
                let all: Vec<PlayedAt> = [first].into_iter().chain(self.played.iter().copied()).collect();
                let notes = self.best(plan, harp, &all);
                let right = mistakes(&notes) == 0;
                (if right { Result::Right } else { Result::CannotTell(Cause::BeganEarly) }, notes)
            }
        };
        (result, Answer::Notes(notes))
    }

    /// Whether only the first notes are missing, and they may have been played while nothing could be heard.
    fn missed_the_beginning(&self, notes: &[NoteAnswer]) -> bool {
        let missing = notes.iter().take_while(|note| note.is == NoteIs::Missing).count();
        let rest = notes.get(missing..).unwrap_or_default();
        self.deaf_s > SOON_S && missing > 0 && !rest.is_empty() && mistakes(rest) == 0
    }

    /// The played notes against the wanted ones; where the same degrees are wanted elsewhere, in the octave that fits
    /// best.
    fn best(&self, plan: &EarPlan, harp: &Harp, played: &[PlayedAt]) -> Vec<NoteAnswer> {
        let as_asked = compare(harp, &self.wanted, played);
        let Some(key) = &plan.elsewhere else { return as_asked };
        let in_octave = |octave: i32| {
            let moved = |note: &Wanted| {
                let higher = note.note.up(12 * octave)?;
                let reached = wanted(plan, harp, (higher, key)).map(|reached| reached.way);
                let way = reached.or_else(|| harp.ways_to(higher).into_iter().next())?;
                Some(Wanted { note: higher, way, ..*note })
            };
            let moved: Option<Vec<Wanted>> = self.wanted.iter().map(moved).collect();
            moved.map(|moved| compare(harp, &moved, played))
        };
        let others = [-1, 1, -2, 2].into_iter().filter_map(in_octave);
        [as_asked].into_iter().chain(others).min_by_key(|notes| mistakes(notes)).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use theory::{Ability, Degree, Level, Position, ScaleInKey, Scales};

    /// A reading each 5 ms.
    const RATE: f64 = 1_000.0;
    const HOP: u64 = 5;

    fn harp() -> Harp {
        Harp::richter("C".parse().unwrap())
    }

    fn plan() -> EarPlan {
        let scale = Scales::ours().find("major").unwrap().clone();
        EarPlan {
            shape: crate::ear::Shape::Call,
            heard: false,
            questions: 1,
            key: ScaleInKey::in_position(scale, &harp(), Position::new(1).unwrap()),
            elsewhere: None,
            ability: Ability::new(Level::DrawBends),
            seed: 1,
            hole_told: false,
            sounded: true,
        }
    }

    fn wanted(names: [&str; 3]) -> Vec<Wanted> {
        let wanted = |name: &str| {
            let note: Note = name.parse().unwrap();
            Wanted { note, way: harp().ways_to(note)[0], degree: Degree::TONIC }
        };
        names.map(wanted).to_vec()
    }

    /// An ear for C5 D5 E5, of which E5 was sounded last, that hears from a sample on, after nothing could be heard for
    /// `deaf_s`.
    fn ear(from: u64, deaf_s: f64) -> CallEar {
        CallEar::new(Timebase::new(RATE), (wanted(["C5", "D5", "E5"]), "E5".parse().ok()), (from, deaf_s))
    }

    /// Hears stretches of hundredths of a second of a note, or of silence, until the answer is over: when that was,
    /// seconds.
    fn heard(ear: &mut CallEar, plan: &EarPlan, line: &[(u64, &str)]) -> Option<f64> {
        let harp = harp();
        let stretches = line.iter().flat_map(|(hundredths, note)| (0..hundredths * 2).map(move |_| *note));
        let mut before = "";
        for (number, name) in stretches.enumerate() {
            let hz = name.parse::<Note>().ok().map(|note| harp.concert().hz(note, 0.0));
            let time = HOP * number as u64;
            // A note that comes after another is attacked out of a dip of the level.
            let level_dbfs = if hz.is_none() || name != before { -50.0 } else { -20.0 };
            before = name;
            let reading =
                Reading { time, known: time, hz, sigma_cents: 1.0, clarity: 0.9, level_dbfs, onset: false };
            if ear.hear(plan, &harp, &reading) {
                return Some(time as f64 / RATE);
            }
        }
        None
    }

    /// What the ear makes of what it heard.
    fn judged(ear: &CallEar, plan: &EarPlan) -> (Result, Vec<NoteIs>) {
        let (result, Answer::Notes(notes)) = ear.judge(plan, &harp()) else { panic!("no notes") };
        (result, notes.iter().map(|note| note.is).collect())
    }

    /// What comes of an answer to C5 D5 E5, and when it was over, seconds.
    fn answered(deaf_s: f64, line: &[(u64, &str)]) -> (Option<f64>, Result, Vec<NoteIs>) {
        let (mut ear, plan) = (ear(0, deaf_s), plan());
        let over = heard(&mut ear, &plan, line);
        if over.is_none() {
            ear.end(&plan, &harp());
        }
        let (result, notes) = judged(&ear, &plan);
        (over, result, notes)
    }

    const RIGHT: [(u64, &str); 6] = [(50, ""), (30, "C5"), (10, ""), (30, "D5"), (10, ""), (30, "E5")];

    /// The right answer, and then this.
    fn then<'a>(more: &[(u64, &'a str)]) -> Vec<(u64, &'a str)> {
        [&RIGHT[..], more].concat()
    }

    #[test]
    fn a_complete_answer_is_over_after_0_7_s_of_silence_and_one_that_lacks_a_note_after_2_5() {
        let (over, result, notes) = answered(0.0, &then(&[(300, "")]));
        assert_eq!((result, notes), (Result::Right, vec![NoteIs::Right; 3]));
        // The last note ends at 1.6 s.
        assert!((over.unwrap() - 2.3).abs() < 0.03, "{over:?}");
        let (over, result, notes) = answered(0.0, &[&RIGHT[..4], &[(400, "")]].concat());
        assert_eq!((result, notes.last()), (Result::Wrong, Some(&NoteIs::Missing)));
        assert!((over.unwrap() - 1.2 - 2.5).abs() < 0.03, "{over:?}");
        // A pause to think of 2 s ends nothing.
        let thought = [&RIGHT[..4], &[(200, ""), (30, "E5"), (100, "")]].concat();
        assert_eq!(answered(0.0, &thought).1, Result::Right);
        // While nothing was played it is waited for ever.
        assert_eq!(answered(0.0, &[(500, "")]).0, None);
    }

    #[test]
    fn three_notes_beyond_twice_as_many_are_no_answer_any_more() {
        // C5 and D5 in turn, which lacks E5. With the tenth note it is over.
        let many: Vec<(u64, &str)> =
            (0..24).flat_map(|i| [(20, if i % 2 == 0 { "C5" } else { "D5" }), (10, "")]).collect();
        let (over, result, _) = answered(0.0, &[&[(50, "")], &many[..]].concat());
        assert_eq!(result, Result::Wrong);
        // The tenth note begins at 0.5 + 9 · 0.3 s and lasts for 0.2 s; then silence has to show that it is over.
        assert!((3.4..3.55).contains(&over.unwrap()), "{over:?}");
    }

    #[test]
    fn what_this_harp_cannot_sound_was_not_played_on_it() {
        let with_bass = [(20, "G2"), (10, "")];
        let line = [&RIGHT[..2], &[(10, "")], &with_bass, &RIGHT[3..], &[(100, "")]].concat();
        let (_, result, notes) = answered(0.0, &line);
        assert_eq!((result, notes), (Result::Right, vec![NoteIs::Right; 3]));
    }

    #[test]
    fn a_note_that_sounds_when_hearing_begins_may_have_begun_before() {
        // The first note sounds on from before: with it the answer is right.
        let early = [&[(30, "C5"), (10, "")], &RIGHT[3..], &[(100, "")]].concat();
        assert_eq!(answered(0.0, &early).1, Result::Right);
        // Another one: whether it was meant cannot be told. The rest alone is wrong, and so is the whole.
        let early = [&[(30, "G5"), (10, "")], &RIGHT[3..], &[(100, "")]].concat();
        assert_eq!(answered(0.0, &early).1, Result::CannotTell(Cause::BeganEarly));
        // The note that was sounded last rings on for 0.3 s and is no answer. Half a second of it is no ringing.
        let ringing = |hundredths| [&[(hundredths, "E5"), (20, "")], &RIGHT[3..], &[(100, "")]].concat();
        let (_, result, notes) = answered(0.0, &ringing(30));
        assert_eq!((result, notes[0]), (Result::Wrong, NoteIs::Missing));
        assert_eq!(answered(0.0, &ringing(50)).1, Result::CannotTell(Cause::BeganEarly));
        // A note that begins 0.1 s later is one of the answer.
        let line = [&[(10, ""), (30, "G5"), (10, "")], &RIGHT[3..], &[(100, "")]].concat();
        assert_eq!(answered(0.0, &line).1, Result::Wrong);
    }

    #[test]
    fn of_a_beginning_that_could_not_be_heard_nothing_is_told() {
        let rest = [&[(20, "")], &RIGHT[3..], &[(300, "")]].concat();
        assert_eq!(answered(0.5, &rest).1, Result::CannotTell(Cause::BeganEarly));
        assert_eq!(answered(0.05, &rest).1, Result::Wrong, "for less than a note nothing was missed");
        // What came after it is wrong by itself.
        let wrong = [(20, ""), (30, "D5"), (10, ""), (30, "G5"), (300, "")];
        assert_eq!(answered(0.5, &wrong).1, Result::Wrong);
    }

    #[test]
    fn notes_are_counted_while_they_come() {
        let count = |line: &[(u64, &str)]| {
            let mut ear = ear(0, 0.0);
            heard(&mut ear, &plan(), line);
            ear.count()
        };
        // Of two notes one is over, and the other one still sounds.
        assert_eq!([1, 2, 3, 4].map(|stretches| count(&RIGHT[..stretches])), [0, 1, 1, 2]);
    }

    /// The ear tells of a moment a little later than it was, so that a quick note may lie before the first sample that
    /// counts.
    #[test]
    fn of_two_quick_notes_at_the_beginning_only_the_first_may_have_begun_before() {
        let mut ear = ear(50, 0.0);
        let line = [&[(9, "C5"), (30, "D5"), (10, "")], &RIGHT[5..], &[(100, "")]].concat();
        heard(&mut ear, &plan(), &line);
        assert_eq!(judged(&ear, &plan()), (Result::Right, vec![NoteIs::Right; 3]));
    }

    /// Where the same degrees are wanted elsewhere, they may be answered in every octave that the harp has; the call
    /// itself only in its own. On a C harp these notes are natural in all three octaves.
    #[test]
    fn an_answer_elsewhere_is_right_in_every_octave_but_in_one() {
        let (low, middle, high) = (["C4", "D4", "E4"], ["C5", "D5", "E5"], ["C6", "D6", "E6"]);
        let elsewhere = EarPlan { elsewhere: Some(plan().key), ..plan() };
        for (asked, played) in
            [(middle, low), (middle, middle), (middle, high), (low, high), (high, low), (high, middle)]
        {
            let line = [50, 10, 10].iter().zip(played).flat_map(|(rest, name)| [(*rest, ""), (30, name)]);
            let line: Vec<(u64, &str)> = line.chain([(100, "")]).collect();
            let told = |plan: &EarPlan| {
                let mut ear = CallEar::new(Timebase::new(RATE), (wanted(asked), None), (0, 0.0));
                heard(&mut ear, plan, &line);
                let (result, Answer::Notes(notes)) = ear.judge(plan, &harp()) else { panic!("no notes") };
                (result, notes.iter().filter_map(|note| Some(note.wanted?.note.to_string())).collect())
            };
            assert_eq!(told(&elsewhere), (Result::Right, played.map(str::to_owned).to_vec()));
            let here: (Result, Vec<String>) = told(&plan());
            assert_eq!(here.0, if asked == played { Result::Right } else { Result::Wrong });
        }
    }
}
