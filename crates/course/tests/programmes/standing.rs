use crate::Ours;
use course::{Day, NoteDay, PaceDay, Past, Programme, SoFar, Standing, ThingDay};
use layout::TabStyle;

const TWO_WEEKS: &str = "\
title = \"x\"
[[week]]
items = [{ note = \"-3'\" }, { drill = \"vibrato\" }]
goals = [{ note = \"-3'\", landed = 8, of = 10, within = 15 }]
[[week]]
items = [{ scale = \"blues\", position = 2 }, { phrase = \"slow-blues\" }]
goals = [{ scale = \"blues\", position = 2, clean = 80 }, { phrase = \"slow-blues\", clean = 50 }]
";

const BEGAN: Day = Day(100);

fn programme() -> Programme {
    Ours::all().parse(TWO_WEEKS).unwrap()
}

/// Ten tries at 3 draw half step on a day, each so many cents off.
fn tries(day: i32, landed: u32, cents: f64) -> NoteDay {
    let way = TabStyle::default().read("-3'").unwrap();
    let sum = 10.0 * cents;
    NoteDay { day: Day(day), way, tries: 10, landed, measured: 10, cents: sum, cents_squared: sum * cents }
}

fn pace(day: i32, name: &str, tempo: f64, (runs, clean): (u32, u32)) -> PaceDay {
    PaceDay { day: Day(day), name: name.to_owned(), tempo, runs, clean }
}

fn with(notes: Vec<NoteDay>) -> Past {
    Past { notes, ..Past::default() }
}

/// Which week, how many days of it, and the words of each goal.
fn told(standing: &Standing<'_>, today: i32) -> (Option<usize>, usize, Vec<String>) {
    (standing.week, standing.days, standing.goals.iter().map(|goal| goal.words(Day(today))).collect())
}

#[test]
fn a_week_is_over_when_its_goals_are_reached_and_three_days_were_practised() {
    let programme = programme();
    let reached = |days: &[i32], today| {
        let past = with(days.iter().map(|day| tries(*day, 9, 10.0)).collect());
        let standing = programme.standing(&past, BEGAN, Day(today));
        (standing.week, standing.days)
    };
    assert_eq!(reached(&[], 100), (Some(0), 0));
    assert_eq!(reached(&[100, 101], 101), (Some(0), 2), "the goal is reached, the week goes on");
    assert_eq!(reached(&[100, 101, 102], 102), (Some(0), 3), "not while the day lasts");
    assert_eq!(reached(&[100, 101, 102], 103), (Some(1), 0));
    assert_eq!(reached(&[100, 101, 160], 161), (Some(1), 0), "two months away change nothing");
    assert_eq!(reached(&[90, 91, 92], 100), (Some(0), 0), "what was before does not count");
}

#[test]
fn after_seven_days_of_practice_the_next_week_comes_and_the_goal_stays_open() {
    let programme = programme();
    let past = with((100..107).map(|day| tries(day, 5, 12.0)).collect());
    assert_eq!(programme.standing(&past, BEGAN, Day(106)).week, Some(0));
    let standing = programme.standing(&past, BEGAN, Day(107));
    assert_eq!(standing.week, Some(1));
    let open: Vec<String> = standing.open().map(|goal| goal.goal.to_string()).collect();
    assert_eq!(
        open,
        [
            "half step on 3 draw: 8 of 10 landed, typically within 15 cents",
            "blues in 2nd position: clean at 80",
            "phrase slow-blues: clean at 50"
        ]
    );
    let items: Vec<String> = programme.items_now(&standing).iter().map(ToString::to_string).collect();
    assert_eq!(items, ["blues in 2nd position", "phrase slow-blues", "half step on 3 draw"]);
    assert_eq!(
        told(&standing, 107).2,
        [
            "5 of the last 10 landed, 12 cents short on average, typically 12 off",
            "still to come",
            "still to come"
        ]
    );
    // A day on which only what is open is practised is a day of the programme.
    let past = with((100..109).map(|day| tries(day, 5, 12.0)).collect());
    assert_eq!(programme.standing(&past, BEGAN, Day(108)).days, 2);
}

#[test]
fn a_day_of_something_else_is_none_of_the_programme() {
    let programme = programme();
    let thing =
        |day, name: &str| ThingDay { day: Day(day), name: name.to_owned(), of: 5, good: 5, tempo: None };
    let days = |name: &str| {
        let things = (100..120).map(|day| thing(day, name)).collect();
        programme.standing(&Past { things, ..Past::default() }, BEGAN, Day(120)).week
    };
    assert_eq!(days("drill long-tones"), Some(0));
    assert_eq!(days("drill vibrato"), Some(1), "seven days of the week's drill");
    assert_eq!(days("run Slow blues in 12/8"), Some(0), "that is for the second week");
}

#[test]
fn landing_is_not_enough_where_cents_are_asked_for() {
    let programme = programme();
    let stands = |notes: Vec<NoteDay>| {
        let past = with(notes);
        let standing = programme.standing(&past, BEGAN, Day(110));
        let goal = &standing.goals[0];
        (goal.reached, goal.words(Day(110)))
    };
    assert_eq!(stands(vec![tries(101, 8, 15.0)]), (Some(Day(101)), "reached 9 days ago".to_owned()));
    let far = stands(vec![tries(101, 10, 16.0)]);
    assert_eq!(
        far,
        (None, "10 of the last 10 landed, 16 cents short on average, typically 16 off".to_owned())
    );
    let few = stands(vec![tries(101, 7, -3.0)]);
    assert_eq!(few, (None, "7 of the last 10 landed, 3 cents past on average, typically 3 off".to_owned()));
    // Reached once is reached.
    let faded = stands(vec![tries(101, 9, 5.0), tries(108, 0, 60.0)]);
    assert_eq!(faded.0, Some(Day(101)));
}

#[test]
fn the_last_tries_are_those_of_as_many_days_as_it_takes() {
    let programme = programme();
    let some = |day, tries, landed| NoteDay { tries, landed, measured: 0, ..self::tries(day, 0, 0.0) };
    let now = |notes: Vec<NoteDay>| programme.standing(&with(notes), BEGAN, Day(110)).goals[0].so_far;
    let counted = |of, landed| SoFar::Tries { of, landed, mean_cents: None, typical_cents: None };
    assert_eq!(now(vec![some(100, 4, 1), some(101, 6, 2), some(102, 5, 3)]), counted(11, 5));
    assert_eq!(now(vec![some(101, 3, 2), some(102, 4, 3)]), counted(7, 5));
    let past = with(vec![some(102, 4, 3)]);
    let standing = programme.standing(&past, BEGAN, Day(102));
    assert_eq!(standing.goals[0].words(Day(102)), "3 of 4 landed so far");
}

#[test]
fn a_scale_counts_in_its_position_and_in_whatever_order_its_notes_are_played() {
    let programme = programme();
    let clean = |name: &str, tempo| {
        let paces = vec![pace(101, name, tempo, (1, 1)), pace(102, name, tempo, (1, 1))];
        let past = Past { paces, ..Past::default() };
        let standing = programme.standing(&past, BEGAN, Day(110));
        (standing.goals[1].reached, standing.goals[1].words(Day(110)))
    };
    for name in ["run blues in 2nd position, up and down", "run blues in 2nd position, thirds"] {
        assert_eq!(clean(name, 84.0).0, Some(Day(102)), "{name}");
        assert_eq!(clean(name, 72.0), (None, "clean at 72 so far".to_owned()));
    }
    for name in ["run blues in 3rd position, up and down", "run major blues in 2nd position, up"] {
        assert_eq!(clean(name, 84.0), (None, "still to come".to_owned()), "{name}");
    }
    let paces = vec![pace(101, "run Slow blues in 12/8", 50.0, (3, 1))];
    let past = Past { paces, ..Past::default() };
    let standing = programme.standing(&past, BEGAN, Day(110));
    assert_eq!(standing.goals[2].words(Day(110)), "no clean tempo yet");
}

#[test]
fn after_the_last_week_what_is_open_stays() {
    let programme = programme();
    let mut past = with((100..103).map(|day| tries(day, 9, 5.0)).collect());
    past.things = (103..110)
        .map(|day| ThingDay {
            day: Day(day),
            name: "run Slow blues in 12/8".into(),
            of: 30,
            good: 29,
            tempo: Some(50.0),
        })
        .collect();
    past.paces = vec![pace(103, "run Slow blues in 12/8", 50.0, (2, 2))];
    let standing = programme.standing(&past, BEGAN, Day(110));
    assert_eq!(
        told(&standing, 110),
        (None, 0, vec!["reached 10 days ago".into(), "still to come".into(), "reached 7 days ago".into()])
    );
    let items: Vec<String> = programme.items_now(&standing).iter().map(ToString::to_string).collect();
    assert_eq!(items, ["blues in 2nd position"]);
}

#[test]
fn a_mean_is_said_by_what_the_mouth_does() {
    let text = "title = \"x\"\n[[week]]\nitems = [{ note = \"6o\" }, { note = \"4\" }]\n\
                goals = [{ note = \"6o\", landed = 5 }, { note = \"4\", landed = 9 }]\n";
    let programme = Ours::all().parse(text).unwrap();
    let tab = TabStyle::default();
    let said = |cents: f64| {
        let note = |text: &str| NoteDay { way: tab.read(text).unwrap(), ..tries(101, 0, cents) };
        let past = with(vec![note("4"), note("6o")]);
        let standing = programme.standing(&past, BEGAN, Day(101));
        standing.goals.iter().map(|goal| goal.words(Day(101))).collect::<Vec<_>>()
    };
    let both = |overblow: &str, plain: &str| {
        [overblow, plain].map(|lean| format!("0 of the last 10 landed, {lean} on average"))
    };
    assert_eq!(said(-20.0), both("20 cents short", "20 cents flat"));
    assert_eq!(said(20.0), both("20 cents past", "20 cents sharp"));
    assert_eq!(said(0.2), both("centred", "centred"));
    assert_eq!(said(1.0), both("1 cent past", "1 cent sharp"));
}
