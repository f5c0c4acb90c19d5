//! The chart of a harp: everything in its place, nothing over anything else.

use layout::{Harp, HarpKey, Technique, Tunings};
use ratatui::crossterm::event::KeyCode;
use screen::flight::flights;
use screen::{Action, Chart, Look};
use theory::{Ability, Direction, Level, Mastery, Position, ScaleInKey, Scales};

use crate::picture::{drawn, text};
use crate::stage::{Stage, colour};

fn chart_text(harp: &Harp, key: &ScaleInKey, ability: &Ability, columns: u16) -> String {
    let look = Look::default();
    Chart { look: &look, harp, key, ability, note: None, chord: None }.text(columns)
}

/// Checks every mark of the scale in a chart of eighty columns: the degree ends on the column of its pitch, and what
/// is out of reach stands in brackets.
fn check(harp: &Harp, key: &ScaleInKey, ability: &Ability) {
    let shown = |way: layout::Way| {
        way.technique != Technique::Overbend
            || harp.note(way).is_some_and(|note| key.find_either(note).is_some())
    };
    let text = chart_text(harp, key, ability, 80);
    let rows: Vec<Vec<char>> = text.lines().map(|line| line.chars().collect()).collect();
    for flight in flights(harp, 77, shown) {
        for hole in flight.holes.clone() {
            let label = format!("{hole:>2}");
            let row = rows.iter().find(|row| row.iter().take(2).collect::<String>() == label).unwrap();
            for way in harp.ways_of_hole(hole).filter(|way| shown(*way)) {
                let note = harp.note(way).unwrap();
                let Some((own, direction)) = key.find_either(note) else { continue };
                let degree: Vec<char> = own.step.degree.to_string().chars().collect();
                let end = 3 + flight.column(note) as usize + 1;
                assert_eq!(row[end - degree.len()..end], degree, "{way} in\n{text}");
                if ability.mastery(way) == Mastery::NotYet {
                    assert_eq!((row[end - degree.len() - 1], row[end]), ('(', ')'), "{way} in\n{text}");
                }
                let sign = match direction {
                    Direction::Up => Some('↑'),
                    Direction::Down => Some('↓'),
                    Direction::Both => None,
                };
                if sign.is_some() && ability.mastery(way) == Mastery::Sure {
                    assert_eq!(row.get(end).copied(), sign, "{way} in\n{text}");
                }
            }
        }
    }
}

/// Checks a scale of every kind on a harp, each in one position and at one level, round and round.
fn check_scales(harp: &Harp, first: usize) {
    let positions: Vec<Position> = Position::all().collect();
    for (i, scale) in Scales::ours().iter().enumerate() {
        // Two signs before a number leave no room for a bracket beside a neighbour's.
        if scale.degrees().iter().any(|step| step.degree.alteration().abs() > 1) {
            continue;
        }
        let position = positions[(first + 5 * i) % 12];
        let key = ScaleInKey::in_position(scale.clone(), harp, position);
        check(harp, &key, &Ability::new(Level::ALL[(first + i) % 6]));
    }
}

#[test]
fn every_degree_stands_at_its_pitch_on_every_harp() {
    let key: HarpKey = "C".parse().unwrap();
    for (i, known) in Tunings::ours().iter().enumerate() {
        check_scales(&Harp::new(key, known.tuning.clone(), layout::ConcertPitch::ISO), i);
    }
    for (i, key) in HarpKey::all().enumerate().step_by(3) {
        check_scales(&Harp::richter(key), i);
    }
}

#[test]
fn the_chart_of_a_blues_in_second_position() {
    let harp = Harp::richter("C".parse().unwrap());
    let blues = Scales::ours().find("blues").unwrap().clone();
    let key = ScaleInKey::new(blues, "G".parse().unwrap());
    let way = harp.ways().find(|way| way.hole == 4 && way.technique == Technique::Bend(1)).unwrap();
    let ability = Ability::new(Level::HalfSteps).with(way, Mastery::Learning);
    insta::assert_snapshot!(chart_text(&harp, &key, &ability, 80));
}

#[test]
fn the_page_of_a_blues_in_second_position() {
    let harp = Harp::richter("A".parse().unwrap());
    let blues = Scales::ours().find("blues").unwrap().clone();
    let key = ScaleInKey::new(blues, "E".parse().unwrap());
    let (look, ability) = (Look::default(), Ability::new(Level::DrawBends));
    let chart = Chart { look: &look, harp: &harp, key: &key, ability: &ability, note: None, chord: None };
    insta::assert_snapshot!(chart.page(80));
}

#[test]
fn each_dial_turns_what_it_names_forth_and_back() {
    let mut stage = Stage::new(colour());
    stage.press('m');
    let first = text(&drawn(&stage, (80, 24)));
    let start = [
        "G blues",
        "2nd position (cross)",
        "for you: natural notes and draw bends of every depth",
        "Richter tuning",
        ", equal temperament",
    ];
    assert!(start.iter().all(|words| first.contains(words)), "{first}");
    // What each dial shows instead of the words of its place above, and what follows from it on the chart: the scale
    // after the blues has a major 3rd, third position has D for its home, the ♭3 on 10 blow is in reach of a player of
    // blow bends, the country tuning has 5 draw raised to F♯, and a just 2 draw stands a fifth of 702 cents above C.
    let turns = [
        ('s', 'S', "G major blues", "2──♭3──▼3"),
        ('p', 'P', "3rd position (slant)", "4 of D"),
        ('a', 'A', "if you play natural notes, draw bends and blow bends", "▼──♭3───┼──▲4"),
        ('i', 'I', "country tuning", "Gmaj7"),
        ('e', 'E', "just, first position", "the reed is 2 cents above equal temperament"),
    ];
    for ((forth, back, shown, follows), before) in turns.into_iter().zip(start) {
        stage.press(forth);
        let turned = text(&drawn(&stage, (80, 24)));
        assert!(
            turned.contains(shown) && turned.contains(follows),
            "{forth} shows no {shown}, {follows}:\n{turned}"
        );
        assert!(!turned.contains(before), "{forth} leaves {before}:\n{turned}");
        stage.press(back);
        assert_eq!(text(&drawn(&stage, (80, 24))), first, "{back} does not turn back");
    }
}

#[test]
fn a_note_a_scale_and_a_chord_can_be_heard() {
    let mut stage = Stage::new(colour());
    stage.press('m');
    stage.press_code(KeyCode::Up);
    let Some(Action::Hear(hz)) = stage.press('r') else { panic!("no note") };
    // B♭4 by the MIDI Tuning Standard.
    assert!((hz - 466.1638).abs() < 0.001, "{hz}");
    let Some(Action::HearRun(run)) = stage.press('u') else { panic!("no scale") };
    assert_eq!(run.len(), 13, "seven notes up and six down");
    assert_eq!(run.first(), run.last());
    stage.press('c');
    let Some(Action::HearRun(chord)) = stage.press('x') else { panic!("no chord") };
    assert_eq!(chord.len(), 1);
    assert_eq!(chord[0].len(), 3, "a chord sounds together");
}

/// The notes of the map in reach, as its second row counts them.
fn reached(stage: &Stage) -> usize {
    let shown = text(&drawn(stage, (80, 24)));
    let row = shown.lines().nth(1).unwrap().to_owned();
    row.rsplit_once(" of ").and_then(|(before, _)| before.rsplit(' ').next()?.parse().ok()).unwrap()
}

#[test]
fn the_ability_begins_at_the_players_level_and_stops_at_its_ends() {
    let mut stage = Stage::new(colour());
    stage.press('m');
    let own = reached(&stage);
    let mut counts = vec![own];
    for _ in 0..6 {
        stage.press('a');
        counts.push(reached(&stage));
    }
    assert!(counts.is_sorted() && counts[1] > own, "more skill reaches more: {counts:?}");
    assert_eq!(counts[5], counts[6], "the last level is the last");
    counts.clear();
    for _ in 0..8 {
        stage.press('A');
        counts.push(reached(&stage));
    }
    assert!(counts.is_sorted_by(|a, b| a >= b) && counts.contains(&own) && counts[7] < own, "{counts:?}");
    assert_eq!(counts[6], counts[7], "the first level is the first");
}

#[test]
fn the_map_says_what_the_position_is_for() {
    let mut stage = Stage::new(colour());
    stage.press('m');
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("for blues, rock and country · I G, IV C, v Dm · lacks ♭2 ♭3 ♭5 ♭6 7"), "{shown}");
}

#[test]
fn another_tuning_goes_with_the_player() {
    let mut stage = Stage::new(colour());
    stage.press('m');
    assert!(matches!(stage.press('i'), Some(Action::SetReeds(_))));
    let tuning = stage.harp().tuning().name().to_owned();
    assert_ne!(tuning, "Richter");
    stage.press('e');
    stage.press_code(KeyCode::Right);
    assert_eq!(stage.harp().tuning().name(), tuning);
}
