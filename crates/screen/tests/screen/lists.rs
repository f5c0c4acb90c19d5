//! Lists that are longer than the window, titles that are longer than the line, and text that takes no colour.

use crate::picture::{drawn, text};
use crate::runs::{BLUES, faults};
use crate::stage::{Stage, TODAY, colour, own_drill};
use course::Past;
use practice::Drill;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::crossterm::event::KeyCode;
use ratatui::style::Color;
use screen::Library;

fn shown(stage: &Stage, size: (u16, u16)) -> String {
    text(&drawn(stage, size))
}

/// A first screen with so many drills, called by their numbers.
fn with_drills(count: usize) -> Stage {
    let mut stage = Stage::new(colour());
    let drill = |n| Drill { title: format!("Drill number {n}."), ..own_drill("-4", stage.harp()) };
    let drills = (1..=count).map(drill).collect();
    stage.offer(drills, Library { in_time: Vec::new(), ..Library::default() });
    stage
}

#[test]
fn a_list_says_that_it_goes_on() {
    let mut stage = with_drills(30);
    let first = shown(&stage, (80, 24));
    assert!(first.contains("» Drill number 1.") && !first.contains("more above"), "{first}");
    let (rows, below) = counted(&first);
    assert_eq!(rows + below, 30, "{first}");
    stage.press_code(KeyCode::End);
    let last = shown(&stage, (80, 24));
    assert!(last.contains("» Drill number 30.") && !last.contains("more below"), "{last}");
    assert!(last.contains("more above"), "{last}");
    stage.press_code(KeyCode::PageUp);
    let middle = shown(&stage, (80, 24));
    // Half a screen of 24 rows.
    assert!(middle.contains("» Drill number 18."), "{middle}");
    stage.press_code(KeyCode::PageDown);
    stage.press_code(KeyCode::Home);
    assert!(shown(&stage, (80, 24)).contains("» Drill number 1."));
    let few = shown(&with_drills(5), (80, 24));
    assert!(!few.contains("more below"), "{few}");
}

/// How many drills a screen shows, and how many it says are below.
fn counted(shown: &str) -> (usize, usize) {
    let below = shown.lines().find_map(|line| {
        let (before, _) = line.split_once(" more below")?;
        before.rsplit(' ').next()?.parse::<usize>().ok()
    });
    (shown.matches("Drill number").count(), below.unwrap_or(0))
}

#[test]
fn a_long_title_is_cut_with_an_ellipsis() {
    let mut stage = Stage::new(colour());
    let title = "A drill with a title of exactly sixty characters, no more!!!";
    stage.offer(vec![Drill { title: title.to_owned(), ..own_drill("-4", stage.harp()) }], Library::default());
    let narrow = shown(&stage, (80, 24));
    assert!(narrow.contains("» A drill with a title of exactl…"), "{narrow}");
    assert!(shown(&stage, (60, 18)).contains("sixty characters, no m…"));
    let drill = Drill { title: title.to_owned(), ..own_drill("-4", stage.harp()) };
    stage.start(drill);
    for size in [(60, 18), (40, 12)] {
        let header = shown(&stage, size);
        let header = header.lines().next().unwrap();
        assert!(header.contains('…') || header.contains("no more!!!"), "{header}");
    }
}

#[test]
fn the_chords_of_the_map_say_how_many_there_are_besides() {
    let mut stage = Stage::new(colour());
    stage.press('m');
    let page = shown(&stage, (60, 20));
    assert!(page.contains(" more"), "{page}");
    assert!(!shown(&stage, (120, 40)).contains(" more"));
}

/// The screen drawn on a terminal of this size, by which page keys go.
fn on_terminal(stage: &mut Stage, (width, height): (u16, u16)) -> String {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| stage.app.draw(&stage.exercise, frame)).unwrap();
    text(terminal.backend().buffer())
}

#[test]
fn the_page_of_keys_can_be_read_to_its_end() {
    for mut stage in views() {
        // Where the page is open already, that key would close it.
        if !shown(&stage, (80, 24)).contains("Signs and keys") {
            stage.press('?');
        }
        for size in [(40, 12), (60, 18), (60, 24), (80, 24), (100, 12)] {
            stage.press_code(KeyCode::Home);
            let first = on_terminal(&mut stage, size);
            assert!(first.contains("Signs on this screen") && first.contains("more below"), "{first}");
            stage.press_code(KeyCode::End);
            let last = on_terminal(&mut stage, size);
            assert!(last.contains("more above") && !last.contains("more below"), "{size:?}: {last}");
            stage.press_code(KeyCode::Up);
            let before = on_terminal(&mut stage, size);
            assert!(before.contains("more below"), "one row up is one row: {size:?}: {before}");
        }
        // Side by side where there is room.
        stage.press_code(KeyCode::Home);
        let wide = on_terminal(&mut stage, (120, 40));
        assert!(
            wide.lines()
                .any(|line| line.contains("Signs on this screen") && line.contains("Keys on this screen")),
            "{wide}"
        );
    }
}

/// Every view with something on it.
fn views() -> Vec<Stage> {
    let act: [fn(&mut Stage); 8] = [
        |_| {},
        |stage| {
            stage.press('l');
            stage.play("-3'", 12.0, 0.6);
        },
        |stage| {
            stage.press('m');
            stage.press('c');
        },
        |stage| {
            stage.begin("-3' -3''");
            stage.rest(1.0);
            stage.play("-3'", -8.0, 0.8);
        },
        |stage| {
            stage.begin("-3'");
            stage.rest(1.0);
            stage.play("-3'", -8.0, 1.8);
            stage.press('q');
        },
        |stage| {
            stage.in_time(BLUES, 2, Some(0.0));
            stage.play_run(2.0, faults);
        },
        |stage| {
            stage.in_time(BLUES, 1, None);
            stage.play_run(60.0, faults);
        },
        |stage| {
            stage.press('?');
        },
    ];
    act.into_iter()
        .map(|act| {
            let mut stage = Stage::new(colour());
            act(&mut stage);
            stage
        })
        .collect()
}

#[test]
fn no_letter_and_no_figure_takes_a_colour() {
    for stage in views() {
        for size in [(200, 60), (120, 40), (80, 24), (60, 18), (40, 12)] {
            let buffer = drawn(&stage, size);
            for (index, cell) in buffer.content().iter().enumerate() {
                let is_text = cell.symbol().chars().all(char::is_alphanumeric);
                let coloured = is_text && cell.fg != Color::Reset;
                let yellow = matches!(cell.fg, Color::Yellow | Color::LightYellow);
                let at = buffer.pos_of(index);
                assert!(!coloured && !yellow, "{:?} at {at:?} in\n{}", cell.symbol(), text(&buffer));
            }
        }
    }
}

/// The last result of a line stands in the line, and with its day in the text about the line.
#[test]
fn the_last_result_of_a_line_is_told() {
    let mut stage = Stage::new(colour());
    let name = format!("drill {}", practice::built_in()[0].0);
    let thing = |name: &str, ago: i32, (good, of), tempo| course::ThingDay {
        day: TODAY.plus(-ago),
        name: name.to_owned(),
        of,
        good,
        tempo,
    };
    for (ago, words) in [(0, "today 7 of 10"), (1, "yesterday 7 of 10"), (12, "12 days ago 7 of 10")] {
        let of = |name: &str| thing(name, ago, (7, 10), None);
        let things = vec![thing(&name, ago + 1, (1, 10), None), of(&name), of("drill not there any more")];
        stage.remember(Past { things, ..Past::default() });
        for size in [(200, 60), (120, 40), (80, 24), (60, 18)] {
            let shown = text(&drawn(&stage, size));
            assert!(shown.contains(words), "{size:?}: {shown}");
            let line = shown.lines().find(|line| line.contains('»')).unwrap();
            assert!(line.contains("7/10"), "{size:?}: {line}");
            assert_eq!(shown.matches("7/10").count(), 1, "{shown}");
        }
    }
    // The last lines are phrases, which go by their titles; a long title leaves no room for a result beside it.
    stage.press_code(KeyCode::End);
    let titles = practice::built_in_phrases().iter().map(|(name, written)| {
        let phrase = practice::run::Phrase::read(name, written).unwrap();
        format!("run {}", phrase.material.name.title)
    });
    let titles: Vec<String> = titles.collect();
    for (clean, words, short) in [
        (2, "yesterday 11 of 13 right at 84, clean at 80", "clean 80"),
        (0, "yesterday 11 of 13 right at 84", "11/13"),
    ] {
        let things = titles.iter().map(|title| thing(title, 1, (11, 13), Some(84.0))).collect();
        let pace =
            |name: &String| course::PaceDay { day: TODAY, name: name.clone(), tempo: 80.0, runs: 2, clean };
        stage.remember(Past { things, paces: titles.iter().map(pace).collect(), ..Past::default() });
        let shown = text(&drawn(&stage, (200, 60)));
        assert!(shown.contains(words) && shown.contains(short), "{shown}");
    }
}
