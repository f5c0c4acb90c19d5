//! Runs of chords, on readings of the level and of the reeds that are made by hand.

use crate::harp;
use crate::player::{RATE, plan};
use layout::{Breath, Technique, Way};
use pitch::Reading;
use pitch::reeds::{Reed, Sounding, Voice};
use practice::run::{Phrase, Plan, RunPhase, StartAt};
use practice::{Event, Exercise, Order, RunJudged};
use scoring::Tolerance;
use scoring::reeds::ReedsOutcome;
use scoring::timed::{NoteVerdict, RunVerdict};

/// Samples from one reading to the next: 5 ms.
const HOP: u64 = 240;
/// Readings of the reeds come so much later than those of the level, samples: 60 ms.
const LATER: u64 = 2_880;

/// A chord of a breath that sounds from one moment to another, seconds.
type Played = (f64, f64, Breath, &'static [u8]);

struct Player {
    exercise: Exercise,
    time: u64,
    said: Vec<Event>,
    played: Vec<Played>,
    /// How loud the room is, dBFS; a chord is at -20, 20 ms after it began.
    room_dbfs: f32,
}

/// Two quarters of a second each, and a half of two.
const BARS: &str = "quarter (-1 -2) (1 2) half (-3 -4)";

impl Player {
    /// Bars of chords, a beat a second, and what is played.
    fn at(bars: &str, start: StartAt, played: &[Played]) -> Self {
        let text = format!("title = 't'\ntempo = 60\nbars = \"\"\"\n{bars}\n\"\"\"\n");
        let phrase = Phrase::parse("t", &text, &harp("C")).unwrap();
        let mut exercise = Exercise::new(harp("C"), Tolerance::USUAL, RATE);
        let said = exercise.order(Order::Run(Box::new(Plan { start, ..plan(phrase.material) })));
        assert!(exercise.wants_reeds());
        Self { exercise, time: 0, said, played: played.to_vec(), room_dbfs: -70.0 }
    }

    fn phase(&self) -> RunPhase {
        self.exercise.running().unwrap().phase()
    }

    fn level_dbfs(&self, sample: u64, zero: f64) -> f32 {
        let Some((from, ..)) = self.sounds(sample, zero) else { return self.room_dbfs };
        let since = ((sample as f64 - zero) / RATE - from + 0.0025) / 0.02;
        self.room_dbfs + (-20.0 - self.room_dbfs) * since.clamp(0.0, 1.0) as f32
    }

    /// What sounds at a sample, where `zero` is the sample from which what is played counts.
    fn sounds(&self, sample: u64, zero: f64) -> Option<Played> {
        let now = (sample as f64 - zero) / RATE;
        self.played.iter().copied().find(|(from, until, ..)| (*from..*until).contains(&now))
    }

    /// Hears for 5 ms.
    fn step(&mut self, zero: f64) {
        let time = self.time;
        let level_dbfs = self.level_dbfs(time, zero);
        let known = time + HOP;
        let reading =
            Reading { time, known, hz: None, sigma_cents: 0.5, clarity: 0.9, level_dbfs, onset: false };
        self.time += HOP;
        let mut events = self.exercise.hear(&reading);
        if let Some(behind) = time.checked_sub(LATER) {
            let voice = |(hole, breath): (u8, Breath)| Voice {
                reed: Some(Reed { hole, draw: breath == Breath::Draw }),
                bent: false,
                hz: harp("C").hz(Way::new(hole, breath, Technique::Natural)).unwrap(),
                level_dbfs: -26.0,
            };
            let sounds = self.sounds(behind, zero);
            let reeds =
                sounds.iter().flat_map(|(.., breath, holes)| holes.iter().map(|hole| (*hole, *breath)));
            let sounding = Sounding::new(behind, known, reeds.map(voice));
            events.extend(self.exercise.hear_reeds(&sounding));
        }
        self.said.extend(events);
    }

    /// Plays from the first beat that is counted in, or at once where there is none, until the run is over.
    fn judged(&mut self) -> RunVerdict {
        let mut zero = 0.0;
        for _ in 0..12_000 {
            self.step(zero);
            if self.exercise.running().unwrap().start() == StartAt::CountIn {
                let now = self.exercise.running().unwrap().now().unwrap_or(-9.0);
                zero = self.time as f64 - now * RATE;
            }
            let judged = self.said.iter().find_map(|event| match event {
                Event::RunJudged(judged) => Some(judged),
                _ => None,
            });
            if let Some(judged) = judged {
                let RunJudged { verdict, .. } = &**judged;
                return verdict.clone();
            }
        }
        panic!("the run never ended: {:?}", self.phase());
    }
}

fn chords(verdict: &RunVerdict) -> Vec<Option<ReedsOutcome>> {
    verdict.notes.iter().map(|note| note.chord).collect()
}

const RIGHT: [Played; 3] =
    [(0.0, 0.6, Breath::Draw, &[1, 2]), (1.0, 1.6, Breath::Blow, &[1, 2]), (2.0, 3.0, Breath::Draw, &[3, 4])];

#[test]
fn chords_are_told_by_their_reeds_and_a_wrong_breath_by_its_name() {
    let verdict = Player::at(BARS, StartAt::CountIn, &RIGHT).judged();
    assert_eq!(chords(&verdict), [Some(ReedsOutcome::Right); 3]);
    assert!(verdict.notes.iter().all(NoteVerdict::is_right) && verdict.extra.is_empty(), "{verdict:?}");
    let [first, (from, until, _, holes), last] = RIGHT;
    let verdict =
        Player::at(BARS, StartAt::CountIn, &[first, (from, until, Breath::Draw, holes), last]).judged();
    assert_eq!(
        chords(&verdict),
        [Some(ReedsOutcome::Right), Some(ReedsOutcome::WrongBreath), Some(ReedsOutcome::Right)]
    );
}

/// The bar is over after four seconds, and the run a beat later.
#[test]
fn a_chord_that_sounds_beyond_the_end_of_the_run_counts() {
    let [first, second, (from, _, breath, holes)] = RIGHT;
    let verdict = Player::at(BARS, StartAt::CountIn, &[first, second, (from, 9.0, breath, holes)]).judged();
    assert_eq!(chords(&verdict), [Some(ReedsOutcome::Right); 3]);
}

/// In a room 20 dB below the player a chord of 40 ms is over before the level alone shows that it is one: its reeds do,
/// which are told a moment later.
#[test]
fn the_first_chord_is_the_first_beat_however_short_it_is() {
    let chords = [
        (0.5, 0.54, Breath::Draw, &[1, 2][..]),
        (1.5, 2.1, Breath::Blow, &[1, 2]),
        (2.5, 3.5, Breath::Draw, &[3, 4]),
    ];
    let mut player = Player::at(BARS, StartAt::FirstNote, &chords);
    player.room_dbfs = -40.0;
    let verdict = player.judged();
    let began = player.said.iter().find_map(|event| match event {
        Event::RunBegan(began) => Some(began.first_beat_samples / RATE),
        _ => None,
    });
    assert!((began.unwrap() - 0.5).abs() < 0.01, "{began:?}");
    assert!(
        verdict.notes.iter().all(|note| note.played.is_some()) && verdict.extra.is_empty(),
        "{verdict:?}"
    );
    assert_eq!(verdict.notes[1].chord, Some(ReedsOutcome::Right));
}
