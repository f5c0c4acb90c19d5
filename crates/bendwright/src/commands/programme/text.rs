//! Programmes as a page of text.

use super::Data;
use crate::page::Page;
use course::{Aim, Goal, GoalStanding, Item, Programme, Standing, Week};
use sheets::Letters;

/// Below a week stand lines with these labels.
const PRACTISE: &str = "  practise  ";
const GOAL: &str = "  goal      ";
const STANDS: &str = "            ";

/// What a distance in a goal means; the journal keeps sums and not each distance.
const TYPICALLY: &str =
    "\"typically\" is the root of the mean square of all distances that were measured, misses included.";

pub(super) fn write(data: &Data<'_>, letters: Letters) -> String {
    let mut page = Page::new(letters);
    match (data.programme, &data.standing) {
        (None, _) => list(&mut page, data),
        (Some(programme), None) => {
            head(&mut page, programme);
            weeks(&mut page, programme, |_, page, goal| goal_alone(page, goal));
            page.gap();
            page.hanging("", &format!("To follow it: bendwright programme {} --begin today", programme.name));
        }
        (Some(programme), Some(standing)) => {
            head(&mut page, programme);
            now(&mut page, (programme, standing), data);
            if data.whole {
                weeks(&mut page, programme, |week, page, goal| {
                    let mut goals = standing.goals.iter().filter(|it| it.week == week && it.goal == goal);
                    match goals.next() {
                        Some(it) => goal_that_stands(page, it, data),
                        None => goal_alone(page, goal),
                    }
                });
            }
        }
    }
    page.into_text()
}

fn list(page: &mut Page, data: &Data<'_>) {
    let row = |it: &super::Listed<'_>| {
        let followed = data.followed.is_some_and(|followed| followed.name == it.name);
        let mark = if followed { "; you follow it" } else { "" };
        vec![it.name.to_owned(), format!("{}, {} weeks{mark}", it.title, it.weeks)]
    };
    page.table(&data.programmes.iter().map(row).collect::<Vec<_>>());
    page.gap();
    page.hanging("", "bendwright programme NAME shows one; with --begin today you follow it.");
}

fn head(page: &mut Page, programme: &Programme) {
    let Programme { name, title, about, caution, tuning, weeks } = programme;
    page.hanging("", &format!("{title} ({name}): {} weeks, for harps in {tuning} tuning", weeks.len()));
    if !about.is_empty() {
        page.hanging("", about);
    }
    if let Some(caution) = caution {
        page.hanging("Take care: ", caution);
    }
}

/// Where the player stands.
fn now(page: &mut Page, (programme, standing): (&Programme, &Standing<'_>), data: &Data<'_>) {
    page.gap();
    let began = data.followed.map(|followed| followed.began.spoken(data.today)).unwrap_or_default();
    match standing.week.and_then(|week| Some((week, programme.weeks.get(week)?))) {
        Some((number, week)) => {
            let days = match standing.days {
                0 => "its first day of practice is still to come".to_owned(),
                1 => "one day of practice so far".to_owned(),
                days => format!("{days} days of practice so far"),
            };
            let (number, all) = (number + 1, programme.weeks.len());
            page.hanging(
                "",
                &format!("Begun {began}. Week {number} of {all}, {days}; {} minutes a day.", week.minutes),
            );
            if !data.whole && !week.about.is_empty() {
                page.hanging("", &week.about);
            }
        }
        None => page.hanging("", &format!("Begun {began}, and gone through to its end.")),
    }
    let reached = standing.goals.iter().filter(|goal| goal.reached.is_some());
    let count = format!("{} of {} goals reached.", reached.clone().count(), standing.goals.len());
    if data.whole {
        page.hanging("", &count);
        return;
    }
    let items = programme.items_now(standing);
    if !items.is_empty() {
        page.hanging(PRACTISE, &practise(items.into_iter()));
    }
    let this_week = reached.filter(|goal| Some(goal.week) == standing.week);
    let shown: Vec<&GoalStanding<'_>> = this_week.chain(standing.open()).collect();
    for goal in &shown {
        goal_that_stands(page, goal, data);
    }
    page.hanging("", &count);
    explain(page, shown.iter().map(|it| it.goal));
}

fn weeks(page: &mut Page, programme: &Programme, goal: impl Fn(usize, &mut Page, &Goal)) {
    for (number, week) in programme.weeks.iter().enumerate() {
        let Week { about, minutes, items, goals } = week;
        page.gap();
        page.hanging("", &format!("Week {}, {minutes} minutes a day. {about}", number + 1));
        page.hanging(PRACTISE, &practise(items.iter()));
        for it in goals {
            goal(number, page, it);
        }
    }
    explain(page, programme.weeks.iter().flat_map(|week| &week.goals));
}

fn practise<'a>(items: impl Iterator<Item = &'a Item>) -> String {
    items.map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

fn goal_alone(page: &mut Page, goal: &Goal) {
    page.hanging(GOAL, &goal.to_string());
}

fn goal_that_stands(page: &mut Page, it: &GoalStanding<'_>, data: &Data<'_>) {
    goal_alone(page, it.goal);
    page.hanging(STANDS, &it.words(data.today));
}

fn explain<'a>(page: &mut Page, mut goals: impl Iterator<Item = &'a Goal>) {
    if goals.any(|goal| matches!(goal.aim, Aim::Landed { within: Some(_), .. })) {
        page.gap();
        page.hanging("", TYPICALLY);
    }
}
