//! Players of our own making whose practice is worked out by rule, for the snapshots and for the pages that a browser
//! looks at.

use course::{Day, Known, NoteDay, PaceDay, Past, PlayedDay, Programme, ThingDay};
use layout::{Harp, TabStyle, Tunings};
use oorandom::Rand64;
use report::{Remark, Report, Request};
use theory::{Ability, Scales};

/// Saturday, 28 November 2026.
pub(crate) const TODAY: Day = Day(20_785);

const PROGRAMME: &str = "\
title = \"Three draw & friends\"
[[week]]
items = [{ note = \"-3'\" }, { note = \"-4'\" }]
goals = [{ note = \"-4'\", landed = 7 }, { note = \"-3'\", landed = 8, within = 15 }]
[[week]]
items = [{ scale = \"blues\", position = 2 }, { note = \"-3''\" }]
goals = [{ scale = \"blues\", position = 2, clean = 80 }, { note = \"-3''\", landed = 5 }]
";

/// Each way: the share that lands at the beginning, how much that share has grown after 60 days, and how many cents off
/// the note is at the beginning.
const NOTES: [(&str, f64, f64, f64); 14] = [
    ("-4'", 0.6, 0.3, 14.0),
    ("-6'", 0.5, 0.2, -9.0),
    ("-1'", 0.4, 0.3, 16.0),
    ("-3'", 0.3, 0.4, 24.0),
    ("-2'", 0.4, 0.2, 12.0),
    ("-2''", 0.2, 0.3, 30.0),
    ("-3''", 0.1, 0.4, 28.0),
    ("-3'''", 0.0, 0.2, 41.0),
    ("8'", 0.3, 0.1, -7.0),
    ("9'", 0.2, 0.1, 18.0),
    ("6o", 0.0, 0.1, -38.0),
    ("4", 0.95, 0.0, 2.0),
    ("-4", 0.95, 0.0, -3.0),
    ("-2", 0.85, 0.1, -11.0),
];

/// A player who practised on most of the last `days` days.
pub(crate) fn past(days: i32, seed: u64) -> Past {
    let mut random = Rand64::new(u128::from(seed));
    let mut past = Past::default();
    for ago in (0..days).rev() {
        // Sundays are free, and now and then another day.
        let day = TODAY.plus(-ago);
        if day.weekday() == "Sunday" || random.rand_float() < 0.15 {
            continue;
        }
        let grown = (1.0 - f64::from(ago) / 60.0).clamp(0.0, 1.0);
        for (tab, begin, gain, off) in NOTES {
            if random.rand_float() < 0.5 {
                past.notes.push(tries(
                    day,
                    tab,
                    (begin + gain * grown, off * (1.0 - 0.6 * grown)),
                    &mut random,
                ));
            }
        }
        past.notes.sort_by_key(|it| (it.day, it.way));
        runs(&mut past, day, grown);
        past.played.push(PlayedDay { day, seconds: 400 + random.rand_range(0..900) as u32 });
    }
    past
}

fn tries(day: Day, tab: &str, (chance, mean): (f64, f64), random: &mut Rand64) -> NoteDay {
    let way = TabStyle::default().read(tab).unwrap();
    let tries = 4 + random.rand_range(0..5) as u32;
    let landed = (0..tries).filter(|_| random.rand_float() < chance).count() as u32;
    let distances: Vec<f64> = (0..tries).map(|_| mean + 24.0 * (random.rand_float() - 0.5)).collect();
    NoteDay {
        day,
        way,
        tries,
        landed,
        measured: tries,
        cents: distances.iter().sum(),
        cents_squared: distances.iter().map(|cents| cents * cents).sum(),
    }
}

fn runs(past: &mut Past, day: Day, grown: f64) {
    let tempo = 60.0 + 4.0 * (8.0 * grown).floor();
    for (name, tempo) in [("run blues in 2nd position, up and down", tempo), ("run Slow blues in 12/8", 48.0)]
    {
        past.paces.push(PaceDay { day, name: name.into(), tempo, runs: 3, clean: 2 });
        past.things.push(ThingDay { day, name: name.into(), of: 30, good: 26, tempo: Some(tempo) });
    }
}

pub(crate) fn remarks(text: &str) -> Vec<Remark> {
    vec![
        Remark { day: TODAY.plus(-40), text: "too long ago for this page".into() },
        Remark { day: TODAY.plus(-9), text: text.into() },
        Remark { day: TODAY, text: "2 draw rings now; open throat.".into() },
    ]
}

/// The page of a player.
pub(crate) fn report(player: &str, past: &Past, remarks: &[Remark]) -> Report {
    let (scales, tunings) = (Scales::ours(), Tunings::ours());
    let known = Known { drills: &[], phrases: &[], scales: &scales, tunings: &tunings };
    let programme = Programme::parse("three", PROGRAMME, &known).unwrap();
    let standing = programme.standing(past, TODAY.plus(-45), TODAY);
    Report::new(&Request {
        player,
        harp: &Harp::richter("C".parse().unwrap()),
        past,
        claimed: &Ability::default(),
        today: TODAY,
        days: 30,
        programme: Some((&programme, &standing)),
        remarks,
    })
}

/// Somebody who practised everything that the harp has: no page is fuller.
pub(crate) fn fullest() -> Past {
    let mut random = Rand64::new(7);
    let mut past = past(90, 3);
    let harp = Harp::richter("C".parse().unwrap());
    let tab = TabStyle::default();
    for ago in (0..60).rev() {
        for way in harp.ways() {
            past.notes.push(tries(TODAY.plus(-ago), &tab.print(way), (0.6, 9.0), &mut random));
        }
    }
    past.notes.sort_by_key(|it| (it.day, it.way));
    for (number, ago) in (0..10).zip([3, 5, 9, 12, 15, 18, 20, 22, 25, 28]) {
        let (day, name) =
            (TODAY.plus(-ago), format!("run A phrase of ours with a longer name, number {number}"));
        past.paces.push(PaceDay { day, name: name.clone(), tempo: 72.0, runs: 3, clean: 2 });
        past.things.push(ThingDay { day, name, of: 30, good: 26, tempo: Some(72.0) });
    }
    past.paces.sort_by_key(|it| it.day);
    past.things.sort_by_key(|it| it.day);
    past
}
