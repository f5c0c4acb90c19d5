//! Gathering what a page says.

use crate::words::{self, count, date, side_of};
use crate::{Followed, NoteRow, Report, Request, Row, Step, TempoRow, Tries};
use course::{Day, NoteProgress, Past, Progress};
use layout::{Note, TabStyle, Technique};

/// So many goals, remarks, and things that are played in time are shown: the page is one sheet.
const MOST_GOALS: usize = 6;
const MOST_REMARKS: usize = 6;
const MOST_TEMPI: usize = 8;
/// Characters of a remark.
const LONGEST_REMARK: usize = 240;

impl Report {
    /// Gathers what the page of a player says.
    pub fn new(request: &Request<'_>) -> Self {
        let progress = Progress::of(request.past, request.claimed, request.today, request.days);
        let days = progress.days.cast_signed();
        let first = progress.begin();
        let (bends, plain): (Vec<&NoteProgress>, Vec<&NoteProgress>) =
            lately(&progress).partition(|note| note.skill.way.technique != Technique::Natural);
        let rows =
            |notes: &[&NoteProgress]| notes.iter().map(|note| note_row(note, first.plus(-days))).collect();
        let remarks = request.remarks.iter().rev().filter(|remark| remark.day >= first).take(MOST_REMARKS);
        let of = count(progress.days as usize, "day", "days");
        Self {
            title: format!("Practice of {}", request.player),
            when: format!("The {of} to {}, set against the {of} before them", date(request.today)),
            said: said(&progress, request.past),
            stair: stair(request, &progress),
            bends: rows(&bends),
            plain: rows(&plain),
            tempi: tempi(&progress, request.today),
            played: progress.played.clone(),
            programme: followed(request),
            remarks: remarks.map(|remark| (date(remark.day), short(&remark.text))).collect(),
            row: Row::new(request, &progress),
        }
    }

    /// The row of this player in the table of a class.
    pub fn row(&self) -> &Row {
        &self.row
    }
}

/// A remark, cut where it would fill the page; the journal has all of it.
fn short(text: &str) -> String {
    if text.chars().count() <= LONGEST_REMARK {
        return text.to_owned();
    }
    text.chars().take(LONGEST_REMARK).chain(['…']).collect()
}

/// What was tried in the days that are looked at or in those before, hole by hole.
fn lately(progress: &Progress) -> impl Iterator<Item = &NoteProgress> {
    progress.notes.iter().filter(|note| note.now.is_some() || note.then.is_some())
}

/// The days on which something was practised, of those from one day to another.
pub(crate) fn days_played(past: &Past, (from, to): (Day, Day)) -> usize {
    past.played.iter().filter(|it| it.seconds > 0 && (from..=to).contains(&it.day)).count()
}

fn said(progress: &Progress, past: &Past) -> Vec<String> {
    let days = progress.days as usize;
    let played = days_played(past, (progress.begin(), progress.today));
    let (now, then) = progress.minutes;
    if played == 0 {
        return vec![format!("Nothing was practised in {}.", count(days, "day", "days"))];
    }
    let minutes = |minutes: u32| count(minutes as usize, "minute", "minutes");
    let mut said = vec![format!(
        "{} of practice on {played} of {}; {} in the days before.",
        minutes(now),
        count(days, "day", "days"),
        minutes(then)
    )];
    if progress.in_a_row > 1 {
        said.push(format!("{} days in a row.", progress.in_a_row));
    }
    if let Some(habit) = progress.habit {
        let side = if habit.cents < 0.0 { "flat" } else { "sharp" };
        said.push(format!(
            "{} of {} bends lie {side} of their notes, all of them by {:.0} cents on average.",
            habit.bends,
            habit.of,
            habit.cents.abs()
        ));
    }
    said
}

/// Every way that the harp has, with what was tried of it.
fn stair(request: &Request<'_>, progress: &Progress) -> Vec<Step> {
    let harp = request.harp;
    let lowest = harp.ways().filter_map(|way| harp.note(way)).map(Note::midi).min().unwrap_or(0);
    let step = |way| {
        let column = harp.note(way)?.midi() - lowest;
        Some(Step {
            hole: way.hole,
            column,
            tab: TabStyle::default().print(way),
            words: way.to_string(),
            bent: way.technique != Technique::Natural,
            tries: progress.of_way(way).and_then(|note| note.now.as_ref()).map(Tries::of),
        })
    };
    harp.ways().filter_map(step).collect()
}

fn note_row(note: &NoteProgress, from: Day) -> NoteRow {
    let way = note.skill.way;
    let tries = |day: &Option<course::NoteDay>| day.as_ref().map(Tries::of);
    let (now, then) = (tries(&note.now), tries(&note.then));
    let days = note.skill.days.iter().filter(|day| day.day >= from);
    let trend = days.filter_map(|day| {
        let after = u32::try_from(day.day.since(from)).ok()?;
        Some((after, day.mean_cents()?, day.spread_cents().unwrap_or(0.0)))
    });
    let (low, high) = note.skill.belief.interval();
    NoteRow {
        tab: TabStyle::default().print(way),
        words: way.to_string(),
        side: side_of(way, now.as_ref()),
        side_then: side_of(way, then.as_ref()),
        now,
        then,
        chance: (note.skill.belief.chance(), low, high),
        trend: trend.collect(),
    }
}

fn tempi(progress: &Progress, today: Day) -> Vec<TempoRow> {
    let lately = progress.tempi.iter().filter(|it| today.since(it.last) < 2 * progress.days.cast_signed());
    lately
        .take(MOST_TEMPI)
        .map(|it| TempoRow {
            name: it.title().to_owned(),
            clean: it.clean,
            clean_then: it.clean_then,
            last: it.last.spoken(today),
        })
        .collect()
}

/// "week 3 of 12, 4 of 18 goals reached".
pub(crate) fn stands(request: &Request<'_>) -> Option<String> {
    let (programme, standing) = request.programme?;
    let reached = standing.goals.iter().filter(|goal| goal.reached.is_some()).count();
    let week = programme.place(standing);
    Some(format!("{week}, {reached} of {} reached", words::count(standing.goals.len(), "goal", "goals")))
}

fn followed(request: &Request<'_>) -> Option<Followed> {
    let (programme, standing) = request.programme?;
    let open = standing.open().take(MOST_GOALS).map(|it| (it.goal.to_string(), it.words(request.today)));
    Some(Followed { title: programme.title.clone(), stands: stands(request)?, open: open.collect() })
}
