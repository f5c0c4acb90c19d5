use super::*;
use crate::{NoteDay, PlayedDay, ThingDay};

const TODAY: Day = Day(20_785);

fn way(tab: &str) -> Way {
    layout::TabStyle::default().read(tab).unwrap()
}

fn heard(tab: &str, ago: i32, tries: (u32, u32), off: f64) -> NoteDay {
    NoteDay::sample(tab, TODAY.plus(-ago), tries, off)
}

fn offers() -> Vec<Offer> {
    let offer = |name: &str, tab: &str| Offer {
        name: format!("run {name}"),
        title: name.to_owned(),
        ways: tab.split(' ').map(way).collect(),
        run_s: 25.0,
    };
    vec![offer("major", "4 -4 5"), offer("blues", "-2 -3' 4 -4'"), offer("deep", "-3'''")]
}

/// The plan, a line a block: what for, whether it is done, what, and why.
fn told(past: &Past, claimed: &str, minutes: u32, asked: &[Asked]) -> String {
    let harp = Harp::richter("A".parse().unwrap());
    let (claimed, offers) = (claimed.parse().unwrap(), offers());
    let plan =
        Today::plan(past, TODAY, &Wish { harp: &harp, claimed: &claimed, minutes, offers: &offers, asked });
    let line = |block: &Block| {
        let done = if block.done { " done" } else { "" };
        format!(
            "{:?}{done}: {} | {}\n",
            block.part,
            block.title,
            block.reasons.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
        )
    };
    plan.blocks.iter().map(line).collect()
}

fn notes(notes: Vec<NoteDay>) -> Past {
    Past { notes, ..Past::default() }
}

#[test]
fn the_first_day_hears_what_is_claimed_and_asks_for_nothing_beyond() {
    assert_eq!(
        told(&Past::default(), "draw-bends", 15, &[]),
        "WarmUp: Warm-up: long notes | steady breath first: long notes without a bend\n\
         Unheard: Four bends in turn | half step on 4 draw: \
         not heard from you yet; half step on 1 draw: not heard from you yet; half step on 6 draw: not heard from you yet; \
         half step on 3 draw: not heard from you yet\n\
         Musical: major | not played yet\n\
         Unheard: Half step on 2 draw | half step on 2 draw: not heard from you yet\n\
         Musical: blues | not played yet\n"
    );
}

#[test]
fn who_claims_no_bend_gets_the_first_one_as_the_new_thing() {
    let plan = told(&Past::default(), "plain", 15, &[]);
    assert!(
        plan.ends_with(
            "New: Half step on 4 draw | half step on 4 draw: new, a step beyond what you can count on\n"
        ),
        "{plan}"
    );
    assert!(!plan.contains("blues"), "its bends are out of reach\n{plan}");
}

#[test]
fn a_daily_player_gets_what_is_due_with_its_reason() {
    let past = notes(vec![
        heard("-4'", 4, (9, 10), 3.0),
        heard("-1'", 4, (9, 10), 2.0),
        heard("-6'", 4, (9, 10), 2.0),
        heard("-3'", 4, (9, 10), 1.0),
        heard("-2'", 4, (8, 10), -8.0),
        heard("-3''", 4, (4, 10), 22.0),
        heard("-2''", 4, (6, 10), -12.0),
        heard("-3'''", 4, (2, 10), 30.0),
    ]);
    let plan = told(&past, "draw-bends", 15, &[]);
    let lines: Vec<&str> = plan.lines().collect();
    assert_eq!(lines.len(), 6, "{plan}");
    assert!(lines[0].starts_with("WarmUp") && lines[0].contains("what you can count on: "), "{plan}");
    assert!(lines[1].starts_with("Due: "), "{plan}");
    assert!(
        plan.contains("whole step on 3 draw: 4 of 10 landed on Tuesday, 22 cents short on average"),
        "{plan}"
    );
    assert!(
        plan.contains("half step on 2 draw: 8 of 10 landed on Tuesday, 8 cents past on average"),
        "{plan}"
    );
    assert_eq!(
        lines[5],
        "New: Half step on 8 blow | half step on 8 blow: new, a step beyond what you can count on"
    );
}

#[test]
fn what_was_practised_today_is_done_and_what_failed_comes_back() {
    let mut past = notes(vec![
        heard("-4'", 3, (5, 10), 0.0),
        heard("-1'", 3, (5, 10), 0.0),
        heard("-6'", 3, (5, 10), 0.0),
    ]);
    let fresh = told(&past, "half-steps", 15, &[]);
    let thing = |name: &str, good, of| ThingDay { day: TODAY, name: name.to_owned(), of, good, tempo: None };
    past.things = vec![thing("drill warm-up", 8, 8), thing("drill -4' -1' -6'", 8, 30)];
    past.notes.push(heard("-4'", 0, (2, 10), 0.0));
    past.played = vec![PlayedDay { day: TODAY, seconds: 200 }];
    let later = told(&past, "half-steps", 15, &[]);
    assert!(later.contains("WarmUp done: ") && later.contains("Due done: Three bends in turn"), "{later}");
    assert!(later.contains("Again: Three bends in turn | 8 of 30 landed today: once more"), "{later}");
    let bare = |plan: &str| {
        plan.replace(" done", "")
            .lines()
            .filter(|line| !line.starts_with("Again"))
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    assert_eq!(bare(&fresh), bare(&later), "the plan stays the same all day");
    past.things = vec![thing("drill -4' -1' -6'", 20, 90)];
    assert!(told(&past, "half-steps", 15, &[]).contains("Again done"));
    past.things = vec![thing("drill -4' -1' -6'", 1, 2)];
    assert!(!told(&past, "half-steps", 15, &[]).contains("done"), "two tries are no block");
}

/// Days of practice in which everything but one overblow lands, and how often the plan asks for that one.
#[test]
fn an_overblow_that_does_not_come_is_neither_hidden_nor_repeated_to_death() {
    let harp = Harp::richter("C".parse().unwrap());
    let claimed = "bends".parse().unwrap();
    let (mut past, mut days_with, mut most_tries) = (Past::default(), Vec::new(), 0);
    for day in 0..42 {
        let day = TODAY.plus(day);
        let plan = Today::plan(
            &past,
            day,
            &Wish { harp: &harp, claimed: &claimed, minutes: 20, offers: &[], asked: &[] },
        );
        let drills = plan
            .blocks
            .iter()
            .filter_map(|block| if let Task::Drill(drill) = &block.task { Some(drill) } else { None });
        let items: Vec<_> = drills.flat_map(|drill| drill.items.clone()).collect();
        let ways: std::collections::BTreeSet<Way> = items.iter().flat_map(practice::Item::ways).collect();
        for way in ways {
            let tries: u32 =
                items.iter().filter(|item| item.ways().any(|it| it == way)).map(|item| item.tries).sum();
            let comes = !matches!(way.technique, layout::Technique::Overbend);
            let landed = if comes { tries } else { 0 };
            past.notes.push(NoteDay { day, way, tries, landed, measured: 0, cents: 0.0, cents_squared: 0.0 });
            if way == self::way("6o") {
                days_with.push(day.since(TODAY));
                most_tries = most_tries.max(tries);
            }
        }
    }
    let gaps: Vec<i32> = days_with.windows(2).map(|pair| pair[1] - pair[0]).collect();
    assert!(days_with.len() >= 8, "not hidden: {days_with:?}");
    assert!(gaps.iter().all(|gap| *gap <= 7), "not forgotten: {days_with:?}");
    assert!(days_with.len() <= 42 / 2 && most_tries <= 15, "not to death: {days_with:?}, {most_tries} tries");
}

#[test]
fn what_a_programme_asks_for_comes_every_day_behind_the_warm_up() {
    let asked = [Asked::Note(way("-3'")), Asked::Note(way("-2'")), Asked::InTime("run blues".to_owned())];
    let plan = told(&notes(vec![heard("-3'", 1, (10, 10), 0.0)]), "draw-bends", 15, &asked);
    let lines: Vec<&str> = plan.lines().collect();
    assert!(lines[1].starts_with("Programme: Half step on 3 draw and half step on 2 draw"), "{plan}");
    assert!(lines[2].starts_with("Programme: blues | the programme asks for it"), "{plan}");
    assert!(!plan.contains("New:") && plan.matches("blues").count() == 1, "{plan}");
    let odd = [Asked::Note(way("7'''")), Asked::InTime("run unheard of".to_owned())];
    assert!(!told(&Past::default(), "draw-bends", 15, &odd).contains("Programme"), "what this harp has not");
}

#[test]
fn a_plan_takes_about_as_long_as_there_is_time() {
    let harp = Harp::richter("C".parse().unwrap());
    let offers = offers();
    let past =
        notes(["-4'", "-1'", "-6'", "-3'", "-2'"].iter().map(|tab| heard(tab, 2, (6, 10), 0.0)).collect());
    for claimed in ["plain", "draw-bends", "everything"] {
        let claimed = claimed.parse().unwrap();
        for minutes in [0, 5, 10, 15, 20, 30, 60, 10_000] {
            for past in [&Past::default(), &past] {
                let wish = Wish { harp: &harp, claimed: &claimed, minutes, offers: &offers, asked: &[] };
                let plan = Today::plan(past, TODAY, &wish);
                let took = plan.left_s() / 60.0;
                assert!(!plan.blocks.is_empty());
                assert!(took <= 1.25 * f64::from(minutes.max(4)), "{minutes} minutes, {claimed}: {took}");
                let names: Vec<String> = plan.blocks.iter().map(Block::name).collect();
                let once: std::collections::BTreeSet<&String> = names.iter().collect();
                assert_eq!(once.len(), names.len(), "nothing twice: {names:?}");
            }
        }
    }
}

#[test]
fn a_harp_of_another_tuning_gets_its_own_bends() {
    let text = include_str!("../../../../assets/tunings/solo.toml");
    let known = layout::KnownTuning::read(text).unwrap();
    let harp = Harp::new("C".parse().unwrap(), known.tuning, layout::ConcertPitch::default());
    let claimed = "draw-bends".parse().unwrap();
    let plan = Today::plan(
        &Past::default(),
        TODAY,
        &Wish { harp: &harp, claimed: &claimed, minutes: 15, offers: &[], asked: &[] },
    );
    for block in &plan.blocks {
        if let Task::Drill(drill) = &block.task {
            assert_eq!(drill.cannot_play(&harp), None, "{}", block.title);
        }
    }
}
