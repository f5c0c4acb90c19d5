//! Hears a note that is held, as a drill does.

use super::judged::{Judged, result};
use super::{Answer, Asks, HeldAnswer, Result, Wanted};
use crate::Timebase;
use layout::{Harp, Note, Way, cents_between};
use pitch::Reading;
use scoring::{Judge, Live, Outcome, Target, Tolerance, Verdict, Voice};

/// How long a note is held, seconds: to match a drone takes as long as to hear the beats of two pitches a few cents
/// apart (10 cents at 400 Hz beat 2.3 times a second); any other note only has to be told.
const DRONE_S: f64 = 1.5;
const TOLD_S: f64 = 0.5;
/// After so much silence a sound is a new one, seconds.
const RELEASED_S: f64 = 0.1;

/// Further from a note than this, a sound has left it, cents: a half step less what reeds and players are off.
const LEFT_CENTS: f64 = 75.0;

/// Hears one answer.
#[derive(Clone, Debug)]
pub(super) struct HeldEar {
    base: Timebase,
    asks: Asks,
    /// Whether the note is right in every octave.
    any_octave: bool,
    tolerance: Tolerance,
    /// A judge for each note that would be right, and for each way to it that is tuned by itself.
    judges: Vec<Judged>,
    voice: Voice,
    /// What sounds began before hearing did: it is no answer.
    waits: bool,
    /// The note to start from, once it was played. Played a second time it is an answer; while it sounds on it is not.
    started: Option<Note>,
    heard_any: bool,
}

impl HeldEar {
    /// Hears the answer to this; `None` where the harp cannot play it.
    ///
    /// A degree is that degree in every octave, and so is a drone that is only named.
    pub(super) fn new(
        base: Timebase,
        harp: &Harp,
        (asks, is_named): (&Asks, bool),
        tolerance: Tolerance,
    ) -> Option<Self> {
        let any_octave = matches!(asks, Asks::Degree { .. }) || is_named && matches!(asks, Asks::Drone(_));
        let judges = judges(harp, (asks, any_octave), (tolerance, base.rate));
        let (asks, voice) = (asks.clone(), Voice::default());
        (!judges.is_empty()).then_some(Self {
            base,
            asks,
            any_octave,
            tolerance,
            judges,
            voice,
            waits: true,
            started: None,
            heard_any: false,
        })
    }

    /// Whether an answer has begun.
    pub(super) fn has_begun(&self) -> bool {
        self.judges.iter().any(|judged| judged.judge.began().is_some())
    }

    /// How the note that sounds stands against what is wanted: it is not to be shown before the verdict.
    pub(super) fn live(&self) -> Option<Live> {
        self.judges.first().map(|judged| judged.judge.live())
    }

    /// Takes a reading; gives what came of the answer when it is over.
    pub(super) fn hear(&mut self, harp: &Harp, reading: &Reading) -> Option<(Result, Answer)> {
        let now = self.base.moment(reading.known).seconds();
        let sounds = self.judges.first().is_some_and(|judged| judged.judge.cents_off(reading).is_some());
        let first = !std::mem::replace(&mut self.heard_any, true);
        self.voice.hear(now, sounds);
        if self.waits {
            let silent = if first { !sounds } else { self.voice.silent_s(now) >= RELEASED_S };
            if !(silent || reading.onset || self.has_left_the_start(harp, reading)) {
                return None;
            }
            self.waits = false;
        }
        for judged in &mut self.judges {
            judged.hear(reading);
        }
        let landed = |judged: &&Judged| judged.outcome() == Some(Outcome::Landed);
        let over = match self.judges.iter().find(landed) {
            Some(landed) => landed,
            None if self.judges.iter().all(|judged| judged.verdict.is_some()) => {
                self.judges.iter().min_by(|a, b| a.distance().total_cmp(&b.distance()))?
            }
            None => return None,
        };
        let verdict = over.verdict?;
        let played = over.played(harp);
        if self.started.is_none() && self.is_start(played) {
            (self.started, self.waits) = (played, true);
            // The note to start from was looked for; the answer comes.
            self.judges = judges(harp, (&self.asks, self.any_octave), (self.tolerance, self.base.rate));
            return None;
        }
        let answer = HeldAnswer { target: over.judge.target(), verdict, played, trace: over.judge.trace() };
        let result = result(&self.asks, &answer);
        Some((result, Answer::Held(Box::new(answer))))
    }

    /// Samples were lost: true if an answer had begun.
    pub(super) fn gap(&mut self) -> bool {
        let begun = self.has_begun();
        for judged in &mut self.judges {
            // Its verdict says no more than what is returned here.
            let _ = judged.judge.gap();
        }
        self.voice = Voice::default();
        (self.waits, self.heard_any) = (true, false);
        begun
    }

    /// Whether what sounds went on from the note to start from to another one.
    fn has_left_the_start(&self, harp: &Harp, reading: &Reading) -> bool {
        let start_hz = self.started.map(|note| harp.concert().hz(note, 0.0));
        start_hz.zip(reading.hz).is_some_and(|(start, hz)| cents_between(start, hz).abs() > LEFT_CENTS)
    }

    fn is_start(&self, played: Option<Note>) -> bool {
        let (Some(start), Some(played)) = (self.asks.start_note(), played) else { return false };
        match self.asks {
            // The tonic is the tonic in every octave.
            Asks::Degree { .. } => start.pitch_class() == played.pitch_class(),
            _ => start == played,
        }
    }
}

/// A judge for each way that would be right.
fn judges(
    harp: &Harp,
    (asks, any_octave): (&Asks, bool),
    (tolerance, rate): (Tolerance, f64),
) -> Vec<Judged> {
    let Some(Wanted { note, way, .. }) = asks.wanted() else { return Vec::new() };
    let hold_s = if matches!(asks, Asks::Drone(_)) { DRONE_S } else { TOLD_S };
    let counts = |other: Note| {
        let same_class = any_octave && other.pitch_class() == note.pitch_class();
        // A drone and a depth ask for one pitch; ways to the same note that are tuned otherwise get no judge.
        same_class || other == note && matches!(asks, Asks::Interval { .. })
    };
    let others = harp.ways().filter(|way| harp.note(*way).is_some_and(counts));
    let ways: Vec<Way> = [way].into_iter().chain(others).collect();
    let mut judges: Vec<Judged> = Vec::new();
    let mut pitches: Vec<f64> = Vec::new();
    for way in ways {
        let Some(hz) = harp.hz(way) else { continue };
        if pitches.iter().any(|other| cents_between(*other, hz).abs() < 0.01) {
            continue;
        }
        let judge = Judge::new(harp, Target { way, cents: 0.0, hold_s }, tolerance, rate);
        if let Some(judge) = judge {
            pitches.push(hz);
            judges.push(Judged { judge: judge.patient(), verdict: None });
        }
    }
    judges
}

/// Keeps a verdict that is given.
impl Judged {
    fn hear(&mut self, reading: &Reading) {
        let verdict: Option<Verdict> = self.judge.hear(reading);
        self.verdict = self.verdict.or(verdict);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ear::Cause;
    use layout::{Breath, Technique};
    use theory::Degree;

    /// A reading each 5 ms.
    const RATE: f64 = 1_000.0;

    fn harp() -> Harp {
        Harp::richter("C".parse().unwrap())
    }

    fn wanted(note: &str, (hole, breath, technique): (u8, Breath, Technique)) -> Wanted {
        Wanted { note: note.parse().unwrap(), way: Way::new(hole, breath, technique), degree: Degree::TONIC }
    }

    /// C5 is 4 blow, E5 5 blow, and D♭5 4 draw bent by a half step.
    fn c5() -> Wanted {
        wanted("C5", (4, Breath::Blow, Technique::Natural))
    }

    fn e5() -> Wanted {
        wanted("E5", (5, Breath::Blow, Technique::Natural))
    }

    fn interval() -> Asks {
        Asks::Interval { from: c5(), to: e5() }
    }

    fn ear(asks: &Asks, is_named: bool) -> HeldEar {
        HeldEar::new(Timebase::new(RATE), &harp(), (asks, is_named), Tolerance::default()).unwrap()
    }

    /// What comes of stretches of hundredths of a second of a note and cents beside it (no note is silence), and when,
    /// seconds.
    fn heard(ear: &mut HeldEar, line: &[(u64, &str, f64)]) -> Option<(f64, Result)> {
        let harp = harp();
        let stretches = line
            .iter()
            .flat_map(|(hundredths, note, cents)| (0..hundredths * 2).map(move |_| (*note, *cents)));
        for (number, (note, cents)) in stretches.enumerate() {
            let hz = note.parse::<Note>().ok().map(|note| harp.concert().hz(note, cents));
            let time = 5 * number as u64;
            let reading = Reading {
                time,
                known: time,
                hz,
                sigma_cents: 1.0,
                clarity: 0.9,
                level_dbfs: -20.0,
                onset: false,
            };
            if let Some((result, _)) = ear.hear(&harp, &reading) {
                return Some((time as f64 / RATE, result));
            }
        }
        None
    }

    #[track_caller]
    fn check(asks: &Asks, line: &[(u64, &str, f64)], seconds: f64, result: Result) {
        let (at, told) = heard(&mut ear(asks, false), line).unwrap();
        assert_eq!(told, result);
        assert!((at - seconds).abs() < 0.03, "{at} for {seconds}");
    }

    #[test]
    fn a_note_is_told_after_half_a_second_and_a_drone_after_one_and_a_half() {
        check(&interval(), &[(20, "", 0.0), (300, "E5", 4.0)], 0.7, Result::Right);
        check(&Asks::Drone(e5()), &[(20, "", 0.0), (300, "E5", 4.0)], 1.7, Result::Right);
        // What is wrong has to last for a second.
        check(&interval(), &[(20, "", 0.0), (300, "G5", 0.0)], 1.2, Result::Wrong);
        // 40 cents off is that note by its name, and not that pitch.
        check(&interval(), &[(20, "", 0.0), (300, "E5", 40.0)], 1.2, Result::Right);
        check(&Asks::Drone(e5()), &[(20, "", 0.0), (300, "E5", 40.0)], 1.7, Result::Wrong);
    }

    #[test]
    fn what_sounded_before_hearing_began_is_no_answer() {
        // E5 sounds on from before for 2 s; a dropout of 50 ms makes no new sound, a silence of 0.2 s does.
        assert_eq!(heard(&mut ear(&interval(), false), &[(200, "E5", 0.0)]), None);
        assert_eq!(
            heard(&mut ear(&interval(), false), &[(30, "E5", 0.0), (5, "", 0.0), (150, "E5", 0.0)]),
            None
        );
        check(&interval(), &[(30, "E5", 0.0), (20, "", 0.0), (150, "E5", 0.0)], 1.0, Result::Right);
    }

    #[test]
    fn the_note_to_start_from_may_be_looked_for_once() {
        // C5 is held, and then E5: with a breath between, and slurred.
        let line = [(20, "", 0.0), (80, "C5", 0.0), (20, "", 0.0), (100, "E5", 0.0)];
        check(&interval(), &line, 1.7, Result::Right);
        check(&interval(), &[(20, "", 0.0), (80, "C5", 0.0), (100, "E5", 0.0)], 1.5, Result::Right);
        // Held for longer than a second it has been told as the note to start from; from there to the other one no
        // breath is needed.
        check(&interval(), &[(20, "", 0.0), (130, "C5", 0.0), (100, "E5", 0.0)], 2.0, Result::Right);
        // While it sounds on it is no answer; played a second time it is one, and a wrong one.
        assert_eq!(heard(&mut ear(&interval(), false), &[(20, "", 0.0), (300, "C5", 0.0)]), None);
        let twice = [(20, "", 0.0), (150, "C5", 0.0), (20, "", 0.0), (300, "C5", 0.0)];
        assert_eq!(heard(&mut ear(&interval(), false), &twice).map(|told| told.1), Some(Result::Wrong));
        // A drone and a depth have no note to start from.
        check(&Asks::Drone(e5()), &[(20, "", 0.0), (300, "C5", 0.0)], 1.7, Result::Wrong);
    }

    #[test]
    fn a_degree_is_that_degree_in_every_octave_and_a_pitch_is_one() {
        let degree = Asks::Degree { tonic: c5(), to: e5() };
        check(&degree, &[(20, "", 0.0), (300, "E6", 0.0)], 0.7, Result::Right);
        check(&degree, &[(20, "", 0.0), (300, "E4", 0.0)], 0.7, Result::Right);
        // A little off it is held against the octave in which it was played.
        check(&degree, &[(20, "", 0.0), (300, "E6", 40.0)], 1.2, Result::Right);
        check(&degree, &[(20, "", 0.0), (300, "E4", -40.0)], 1.2, Result::Right);
        // What did not land is told once every judge has spoken: the judge of the octave above calls a pitch that sinks
        // towards its note another note, a moment before the judge of its own octave calls it sharp.
        check(&degree, &[(20, "", 0.0), (43, "E5", 36.0), (200, "E5", 25.0)], 1.2, Result::Right);
        // The tonic is looked for in any octave as well.
        check(
            &degree,
            &[(20, "", 0.0), (150, "C6", 0.0), (20, "", 0.0), (100, "E5", 0.0)],
            2.4,
            Result::Right,
        );
        check(&interval(), &[(20, "", 0.0), (300, "E6", 0.0)], 1.2, Result::Wrong);
        // A drone that is only named is one of every octave; one that sounds is not.
        let drone = Asks::Drone(e5());
        let other = [(20, "", 0.0), (300, "E6", 0.0)];
        assert_eq!(heard(&mut ear(&drone, true), &other).map(|told| told.1), Some(Result::Right));
        assert_eq!(heard(&mut ear(&drone, false), &other).map(|told| told.1), Some(Result::Wrong));
        // A depth has to be bent to.
        let depth = Asks::Depth(wanted("D♭5", (4, Breath::Draw, Technique::Bend(1))));
        check(&depth, &[(20, "", 0.0), (300, "D♭5", 5.0)], 0.7, Result::Right);
        check(&depth, &[(20, "", 0.0), (300, "D♭5", 40.0)], 1.2, Result::Wrong);
    }

    #[test]
    fn an_answer_has_begun_once_it_sounds_and_lost_samples_spoil_it_then() {
        let mut own = ear(&interval(), false);
        assert!(!own.has_begun() && !own.gap());
        assert_eq!(heard(&mut own, &[(20, "", 0.0), (30, "E5", 0.0)]), None);
        assert!(own.has_begun());
        let live = own.live().unwrap();
        assert!(live.sounding && live.cents_off.unwrap().abs() < 0.1, "{live:?}");
        assert!(own.gap() && !own.has_begun());
        // A short note says nothing.
        check(
            &interval(),
            &[(20, "", 0.0), (20, "E5", 0.0), (100, "", 0.0)],
            0.75,
            Result::CannotTell(Cause::NoPitch),
        );
    }
}
