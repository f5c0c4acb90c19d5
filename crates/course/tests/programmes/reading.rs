use crate::Ours;
use course::{Aim, What};

const EXAMPLE: &str = include_str!("../../../../assets/examples/own-programme.toml");

#[test]
fn the_example_is_a_programme() {
    let programme = Ours::all().parse(EXAMPLE).unwrap();
    assert_eq!((programme.title.as_str(), programme.tuning.as_str()), ("Two weeks of 3 draw", "Richter"));
    let said: Vec<Vec<String>> =
        programme.weeks.iter().map(|week| week.items.iter().map(ToString::to_string).collect()).collect();
    assert_eq!(
        said,
        [
            &["half step on 3 draw", "drill hole-3-depths"][..],
            &["half step on 3 draw", "phrase slow-blues", "blues in 2nd position"]
        ]
    );
    let goals: Vec<String> =
        programme.weeks.iter().flat_map(|week| &week.goals).map(ToString::to_string).collect();
    assert_eq!(
        goals,
        [
            "half step on 3 draw: 5 of 10 landed",
            "half step on 3 draw: 8 of 10 landed, typically within 15 cents",
            "phrase slow-blues: clean at 50",
            "blues in 2nd position: clean at 60"
        ]
    );
    assert_eq!(programme.weeks.iter().map(|week| week.minutes).collect::<Vec<_>>(), [15, 15]);
}

#[test]
fn what_may_be_left_out_has_its_usual_value() {
    let text = "title = \"x\"\n[[week]]\nitems = [{ scale = \"minor blues\", position = 3 }, { drill = \"vibrato\" }]\n\
                goals = [{ drill = \"vibrato\", landed = 10 }]\n";
    let programme = Ours::all().parse(text).unwrap();
    let week = &programme.weeks[0];
    assert_eq!((programme.about.as_str(), programme.caution, week.minutes), ("", None, 15));
    let What::Scale { scale, position } = &week.items[0].what else { panic!("{:?}", week.items[0]) };
    assert_eq!((scale.as_str(), position.number()), ("blues", 3), "by its own name");
    assert_eq!(week.goals[0].aim, Aim::Landed { landed: 10, of: 10, within: None });
}

/// A week with these items and goals, its items on line 3 and its goals on line 4.
fn week(items: &str, goals: &str) -> String {
    format!("title = \"x\"\n[[week]]\nitems = [{items}]\ngoals = [{goals}]\n")
}

/// Line, column and words of the mistake.
type Mistake<'a> = (String, (usize, usize), &'a [&'a str]);

fn check(mistakes: Vec<Mistake<'_>>) {
    let ours = Ours::all();
    for (text, place, words) in mistakes {
        let error = ours.parse(&text).unwrap_err();
        assert_eq!((error.line, error.column), place, "{text}\n{error}");
        assert!(words.iter().all(|word| error.message.contains(word)), "{text}\n{error}");
    }
}

#[test]
fn a_mistake_in_the_form_has_its_place() {
    check(vec![
        ("title = \"x\"\n".into(), (1, 1), &["week is missing"]),
        ("title = \"x\"\nweek = []\n".into(), (2, 8), &["0 weeks", "1 to 52"]),
        ("[[week]]\nitems = [{ note = \"4\" }]\n".into(), (1, 1), &["title is missing"]),
        ("title = \"\"\n[[week]]\n".into(), (1, 9), &["title is empty", "1 to 60"]),
        ("title = \"\\u001b[2J\"\n[[week]]\n".into(), (1, 9), &["control character"]),
        ("titel = \"x\"\n".into(), (1, 1), &["did you mean \"title\"?"]),
        ("title = \"x\"\n[[week]]\nitmes = []\n".into(), (3, 1), &["did you mean \"items\"?"]),
        ("title = \"x\"\n[[week]]\nminutes = 15\n".into(), (2, 1), &["week 1 has nothing to practise"]),
        (week("", ""), (3, 9), &["1 to 12 items, not 0"]),
        (week(&"{ note = \"4\" },".repeat(13), ""), (3, 10), &["1 to 12 items, not 13"]),
        (
            "title = \"x\"\n[[week]]\nminutes = 3\nitems = [{ note = \"4\" }]\n".into(),
            (3, 11),
            &["5 to 120 a day"],
        ),
        ("title = \"x\"\n[[week]]\nminutes = \"ten\"\n".into(), (3, 11), &["whole number"]),
        ("title = \"x\"\ntuning = \"cuontry\"\n[[week]]\n".into(), (2, 10), &["did you mean \"country\"?"]),
        (week("{}", ""), (3, 10), &["one thing"]),
        (week("{ note = \"4\", drill = \"vibrato\" }", ""), (3, 10), &["one thing"]),
        (week("{ note = \"4\", landed = 3 }", ""), (3, 33), &["landed", "belongs into goals"]),
    ]);
}

#[test]
fn a_name_that_is_none_is_told_with_the_one_that_was_meant() {
    check(vec![
        (week("{ drill = \"vibrat\" }", ""), (3, 20), &["did you mean \"vibrato\"?"]),
        (week("{ phrase = \"slow-bleus\" }", ""), (3, 21), &["did you mean \"slow-blues\"?"]),
        (week("{ scale = \"bleus\", position = 2 }", ""), (3, 20), &["did you mean \"blues\"?"]),
        (week("{ scale = \"blues\" }", ""), (3, 20), &["position = 2"]),
        (week("{ scale = \"blues\", position = 13 }", ""), (3, 40), &["1 to 12"]),
        (week("{ note = \"4\", position = 2 }", ""), (3, 35), &["of a scale"]),
        // A harp in Richter tuning has no half step on 5 draw and no 11th hole (the bend rule of the layout).
        (week("{ note = \"-5'\" }", ""), (3, 19), &["Richter"]),
        (week("{ note = \"-11\" }", ""), (3, 19), &["1 to 10"]),
        (week("{ note = \"bend\" }", ""), (3, 19), &["bend"]),
        (week("{ drill = \"minor-bends\" }", ""), (3, 20), &["is for natural minor tuning", "Richter"]),
        (
            "title = \"x\"\ntuning = \"natural minor\"\n[[week]]\nitems = [{ drill = \"hole-3-depths\" }]\n"
                .into(),
            (4, 20),
            &["asks for one and a half steps on 3 draw", "natural minor"],
        ),
    ]);
}

#[test]
fn a_goal_can_be_reached_in_its_week() {
    let items = "{ note = \"-3'\" }, { drill = \"hole-2-depths\" }, { phrase = \"slow-blues\" }";
    check(vec![
        (week(items, "{ note = \"-4'\", landed = 8 }"), (4, 10), &["half step on 4 draw", "add it to items"]),
        // The blues has the bend, but notes of a phrase are not tries at one note.
        (week(items, "{ note = \"-3''\", landed = 8 }"), (4, 10), &["whole step on 3 draw"]),
        (week(items, "{ phrase = \"over-the-bar\", clean = 60 }"), (4, 10), &["phrase over-the-bar"]),
        (week(items, "{ note = \"-3'\" }"), (4, 10), &["landed = 8, of = 10"]),
        (week(items, "{ note = \"-3'\", landed = 11 }"), (4, 35), &["landed", "1 to 10"]),
        (week(items, "{ note = \"-3'\", landed = 1, of = 51 }"), (4, 43), &["of", "1 to 50"]),
        (week(items, "{ note = \"-3'\", landed = 1, within = 2 }"), (4, 47), &["within", "5 to 50 cents"]),
        (week(items, "{ note = \"-3'\", clean = 80 }"), (4, 34), &["scales and phrases"]),
        (
            week(items, "{ drill = \"hole-2-depths\", landed = 5, within = 10 }"),
            (4, 58),
            &["within is for a note"],
        ),
        (week(items, "{ phrase = \"slow-blues\" }"), (4, 10), &["clean = 80"]),
        (week(items, "{ phrase = \"slow-blues\", clean = 300 }"), (4, 43), &["30 to 240 beats a minute"]),
        (week(items, "{ phrase = \"slow-blues\", landed = 3 }"), (4, 44), &["clean = 80"]),
    ]);
    let ours = Ours::all();
    // A drill that has the note will do, and so will an earlier week.
    assert!(ours.parse(&week(items, "{ note = \"-2''\", landed = 8 }")).is_ok());
    let later = "[[week]]\nitems = [{ note = \"4\" }]\ngoals = [{ note = \"-2'\", landed = 8 }]\n";
    assert!(ours.parse(&(week(items, "") + later)).is_ok());
}
