//! Ten years of daily practice: how large the journal becomes, how long it takes to open it and to read what was practised day by
//! day, and how much memory that takes. Both stand before the first screen.

// A bench may end where it cannot go on.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

use criterion::Criterion;
use journal::{By, Journal, Noted, Sitting, When};
use layout::{Breath, Harp, Note, Technique, Way};
use oorandom::Rand64;
use practice::run::{Metre, Rhythm, RunName, Swing, Tempo, Value};
use practice::{Asked, DrillId, Ending, Event, Feedback, RunJudged, Timebase, Tried};
use scoring::reeds::Holes;
use scoring::timed::{AskedNote, Breaths, NoteVerdict, PlayedAt, RunVerdict, Timing, Whole};
use scoring::{Figures, Outcome, Target, Tolerance, Trace, Verdict, Vibrato};
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

/// Years after which the journal is measured.
const YEARS: [u32; 4] = [1, 2, 5, 10];
/// What is practised on a day: drills of so many tries …
const DRILLS: (usize, u32) = (4, 12);
/// … and things in time, each so often, of so many notes. In ten years that are five and a half million notes and tries.
const RUNS: (usize, u32, usize) = (3, 10, 49);
/// How many drills and things in time there are to choose from.
const KNOWN: (u64, u64) = (17, 16);
/// The first day: 24 November 2016, eight in the morning.
const FIRST_MS: i64 = 1_479_974_400_000;
const DAY_MS: i64 = 86_400_000;
const PLAYER: &str = "me";
/// How often something is done whose time is taken.
const TIMES: u32 = 20;
/// With this variable the bench is the process whose memory is measured.
const MEASURED: &str = "JOURNAL_TO_MEASURE";

struct Player {
    random: Rand64,
    harp: Harp,
    base: Timebase,
    ways: Vec<(Way, Note)>,
}

impl Player {
    fn new() -> Self {
        let harp = Harp::richter("C".parse().unwrap());
        let bends = [(2, 1), (2, 2), (3, 1), (3, 2), (3, 3), (4, 1), (6, 1)];
        let bends = bends.map(|(hole, depth)| Way::new(hole, Breath::Draw, Technique::Bend(depth)));
        let natural = (2..=6).flat_map(|hole| {
            [Breath::Blow, Breath::Draw].map(|breath| Way::new(hole, breath, Technique::Natural))
        });
        let ways = natural.chain(bends).map(|way| (way, harp.note(way).unwrap())).collect();
        Self { random: Rand64::new(1), harp, base: Timebase::new(48_000.0), ways }
    }

    /// About normal, with this spread.
    fn about(&mut self, spread: f64) -> f64 {
        spread * ((0..6).map(|_| self.random.rand_float()).sum::<f64>() - 3.0) * std::f64::consts::SQRT_2
    }

    fn way(&mut self) -> (Way, Note) {
        let index = self.random.rand_range(0..self.ways.len() as u64) as usize;
        self.ways[index]
    }

    fn tried(&mut self, drill: u64, attempt: u32) -> Event {
        let (way, _) = self.way();
        let cents_off = self.about(15.0);
        let outcome = if cents_off.abs() < 20.0 { Outcome::Landed } else { Outcome::Short(cents_off.abs()) };
        let figures = Figures {
            cents_off,
            depth_semitones: self.about(1.0),
            reach_s: 0.2 + self.random.rand_float(),
            held_s: 1.5,
            spread_cents: 3.0 + self.random.rand_float(),
            drift_cents_per_s: self.about(2.0),
            overshoot_cents: self.random.rand_float(),
            sigma_cents: 0.4 + self.random.rand_float(),
            level_spread_db: self.random.rand_float(),
            hnr_db: 30.0 + self.about(3.0),
            vibrato: (attempt == 1)
                .then(|| Vibrato { rate_hz: 5.0 + self.random.rand_float(), depth_cents: 12.0 }),
        };
        let moment = self.base.moment(0);
        Event::Judged(Box::new(Tried {
            drill: DrillId { name: format!("drill-of-daily-practice-{drill}"), title: String::new() },
            harp: self.harp.clone(),
            asked: Asked {
                item: attempt as usize / 2,
                note: 0,
                attempt: attempt % 2 + 1,
                target: Target { way, cents: 0.0, hold_s: 1.5 },
            },
            tolerance: Tolerance::USUAL,
            feedback: Feedback::default(),
            began: moment,
            ended: moment,
            verdict: Verdict { outcome, figures: Some(figures), between: None },
            clean: None,
            trace: Trace { tenths: vec![Some(cents_off as i16); 80] },
        }))
    }

    fn note(&mut self, place: usize) -> NoteVerdict {
        let ((way, note), late_s, cents) = (self.way(), self.about(0.02), self.about(12.0));
        let onset_s = place as f64 * 0.375;
        let (played_s, right) = (onset_s + late_s, late_s.abs() < 0.05);
        NoteVerdict {
            asked: AskedNote {
                way,
                note,
                onset_s,
                length_s: 0.375,
                bar: place / 8,
                joined: false,
                holes: Holes::NONE,
            },
            played: Some(PlayedAt {
                note,
                onset_s: played_s,
                ended_s: played_s + 0.3,
                held: None,
                chord: None,
            }),
            chord: None,
            pitch: Some(if cents.abs() < 25.0 { Outcome::Landed } else { Outcome::Flat(cents.abs()) }),
            cents: Some(cents),
            late_s: Some(late_s),
            timing: Some(if right { Timing::OnBeat } else { Timing::Late }),
        }
    }

    fn run(&mut self, run: u64, number: u32) -> Event {
        // Twice at each tempo, faster every time.
        let tempo = Tempo::new(60.0 + 4.0 * f64::from(number / 2)).unwrap();
        let notes: Vec<NoteVerdict> = (0..RUNS.2).map(|place| self.note(place)).collect();
        let right = notes.iter().filter(|note| note.is_right()).count();
        let whole = Whole {
            asked: RUNS.2,
            masked: 0,
            played: RUNS.2,
            in_pitch: right,
            in_time: right,
            right,
            late_s: Some(self.about(0.01)),
            spread_s: Some(0.02),
            rushing: Some(self.about(0.01)),
            uneven_s: Some(0.015),
            drift: None,
            timed: true,
            clean: right * 10 >= RUNS.2 * 9,
        };
        let breaths =
            Breaths { blow_s: 0.0, draw_s: 0.0, longest_s: 0.0, longest: None, longest_from_bar: 0 };
        Event::RunJudged(Box::new(RunJudged {
            name: RunName::from(format!("a scale in a position, up and down, {run}")),
            harp: self.harp.clone(),
            rhythm: Rhythm::new(tempo, Metre::COMMON, Value::EIGHTHS, Swing::STRAIGHT).unwrap(),
            number,
            tolerance: Tolerance::USUAL,
            ended: self.base.moment(0),
            verdict: RunVerdict { notes, extra: Vec::new(), whole, weakest: Vec::new(), breaths },
        }))
    }

    fn day(&mut self) -> Vec<Event> {
        let mut events = Vec::new();
        for _ in 0..DRILLS.0 {
            let drill = self.random.rand_range(0..KNOWN.0);
            events.extend((0..DRILLS.1).map(|attempt| self.tried(drill, attempt)));
            events.push(Event::Ended(Ending::Done));
        }
        for _ in 0..RUNS.0 {
            let run = self.random.rand_range(0..KNOWN.1);
            events.extend((0..RUNS.1).map(|number| self.run(run, number)));
            events.push(Event::Ended(Ending::Done));
        }
        events
    }
}

fn practise(file: &Path, player: &mut Player, days: std::ops::Range<i64>) {
    let (mut journal, _) = Journal::open(file, at(days.start, 0)).unwrap();
    for day in days {
        let sitting = Sitting::new(PLAYER, "bench", at(day, 0));
        let noted = (0..).zip(player.day());
        let noted: Vec<Noted> = noted
            .filter_map(|(n, event)| Noted::of(&event, &player.harp, By::Player, at(day, 8_000 * n)))
            .collect();
        journal.add(&sitting, 1, &noted).unwrap();
    }
}

fn at(day: i64, ms: i64) -> When {
    When { unix_ms: FIRST_MS + day * DAY_MS + ms, offset_s: 3_600 }
}

/// How long it takes to open a journal and to read what was practised; to close it is not part of it.
fn opened(file: &Path, day: i64) -> Duration {
    let began = Instant::now();
    let (journal, _) = Journal::open(file, at(day, 0)).unwrap();
    let past = journal.past(PLAYER).unwrap();
    let lasted = began.elapsed();
    drop((journal, past));
    lasted
}

/// What a process of its own says of the memory and the time that it has used to open the journal and to read what was practised,
/// where the system tells.
fn alone(file: &Path) -> Option<String> {
    let program = std::env::current_exe().ok()?;
    let output = Command::new(program).env(MEASURED, file).output().ok()?;
    String::from_utf8(output.stdout).ok()
}

fn measured(file: &Path) {
    let opened = || Journal::open(file, at(3_650, 0)).unwrap().0;
    let past = opened().past(PLAYER).unwrap();
    assert!(!past.notes.is_empty());
    drop(past);
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap_or_default();
    let kilobytes: f64 = line.trim().trim_end_matches(" kB").parse().unwrap_or(f64::NAN);
    let journal = opened();
    let open = processor_ms(|| drop(opened()));
    let past = processor_ms(|| drop(journal.past(PLAYER).unwrap()));
    print!("memory {:.0} MB; processor: open {open:.1} ms, past {past:.1} ms", kilobytes / 1_000.0);
}

/// Time of a processor that something takes, milliseconds: what others do at the same time is not in it. The system counts in steps
/// of some milliseconds, so it is done many times.
fn processor_ms(done: impl Fn()) -> f64 {
    let so_far = || {
        let told = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
        told.split(' ').next().and_then(|ns| ns.parse::<f64>().ok()).unwrap_or(f64::NAN)
    };
    let began = so_far();
    for _ in 0..TIMES {
        done();
    }
    (so_far() - began) / f64::from(TIMES) / 1e6
}

fn main() {
    if let Some(file) = std::env::var_os(MEASURED) {
        return measured(Path::new(&file));
    }
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let file = folder.path().join("journal.sqlite");
    let (mut player, mut days) = (Player::new(), 0);
    let mut criterion = Criterion::default().sample_size(20).configure_from_args();
    for years in YEARS {
        let until = 365 * i64::from(years);
        practise(&file, &mut player, days..until);
        days = until;
        let (journal, _) = Journal::open(&file, at(days, 0)).unwrap();
        let (counts, past) = (journal.counts().unwrap(), journal.past(PLAYER).unwrap());
        let bytes = std::fs::metadata(&file).unwrap().len() as f64;
        println!(
            "{years:2} years: {:.1} MB, {} tries and notes; day by day {} notes, {} things, {} paces; {}",
            bytes / 1e6,
            counts.tries + counts.notes,
            past.notes.len(),
            past.things.len(),
            past.paces.len(),
            alone(&file).unwrap_or_default()
        );
        criterion
            .bench_function(&format!("past, {years} years"), |b| b.iter(|| journal.past(PLAYER).unwrap()));
        drop(journal);
        criterion.bench_function(&format!("open and past, {years} years"), |b| {
            b.iter_custom(|count| (0..count).map(|_| opened(&file, days)).sum());
        });
    }
    criterion.final_summary();
}
