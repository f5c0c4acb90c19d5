//! Devices that are taken for each other, and a loudspeaker by radio whose sound comes back half a second late: a
//! sentence says what is so, and what was played is kept.

use crate::living_room::{LivingRoom, MICROPHONE};
use crate::room;
use crate::room_runs::way;
use layout::{Harp, HarpKey};
use serde_json::Value;
use std::process::{Command, Output};
use synth::Gesture;

/// The program with state and data of this name.
fn bendwright(arguments: &[&str], own: &str) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bendwright"));
    command.env("XDG_STATE_HOME", room().join(format!("{own}-state")));
    command.env("XDG_DATA_HOME", room().join(format!("{own}-data")));
    command.args(arguments).output().unwrap()
}

/// What it said, where it did what it should.
fn said(arguments: &[&str], own: &str) -> String {
    let output = bendwright(arguments, own);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{said}{}", String::from_utf8_lossy(&output.stderr));
    said
}

fn lines(text: &str) -> Vec<Value> {
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// How many runs and notes the journal has.
fn kept(own: &str) -> (usize, usize) {
    let exported = lines(&said(&["journal", "export"], own));
    let of_kind = |kind: &str| exported.iter().filter(|line| line["kind"] == kind).count();
    (of_kind("run"), of_kind("run_note"))
}

#[test]
fn a_loudspeaker_that_is_named_as_the_microphone_is_told() {
    // "room" is the sink; what it sounds can be recorded as "room.monitor".
    let output = bendwright(&["drill", "--plain", "--device", "room"], "swapped");
    let error = String::from_utf8_lossy(&output.stderr).into_owned();
    println!("{error}");
    assert!(!output.status.success());
    assert!(error.contains("No sound input is called \"room\"; there are: "), "{error}");
}

/// Everything that the program sounds arrives at once and as loud as it left, and no player ever does.
#[test]
fn a_microphone_that_is_the_loudspeaker_hears_no_player_and_blames_none() {
    let run = ["scale", "--json", "--runs", "1", "--tempo", "140", "--band", "--device", "room.monitor"];
    let text = said(&run, "same");
    assert!(text.contains("is no microphone: it hears what the computer plays"), "{text}");
    let lines = lines(&text);
    let notes: Vec<&Value> = lines.iter().filter(|line| line["kind"] == "note").collect();
    assert!(!notes.is_empty(), "{text}");
    let nobody = |note: &&&Value| note["outcome"] == "missing" || note["outcome"] == "cannot tell";
    let heard = notes.len() - notes.iter().filter(nobody).count();
    println!("of {} notes {heard} were heard where nobody played", notes.len());
    assert!(10 * heard <= notes.len(), "{text}");
    assert_eq!(kept("same"), (1, notes.len()));
}

/// The blues scale in eighths, as the program asks for it.
const BLUES: &str = "-2 -3' 4 -4' -4 -5 6 -5 -4 -4' 4 -3' -2";
const TEMPO: f64 = 120.0;
/// Half a second is a beat: each click arrives when the next one is due.
const LATE_S: f64 = 0.5;
const GAIN: f64 = 1.5;

/// A run that is played rightly to the clicks as they arrive: what was said, and its notes.
fn run_in_a_late_room(in_room: &LivingRoom, own: &str) -> (String, Vec<Value>) {
    let (beat_s, eighth_s) = (60.0 / TEMPO, 30.0 / TEMPO);
    let note = |(index, tab): (usize, &str)| {
        let gesture = Gesture::new(way(tab)).seconds(0.6 * eighth_s).level(-15.0).glide(0.02);
        // The count-in has five clicks, of which the player waits for four.
        (beat_s + eighth_s * index as f64, gesture)
    };
    in_room.play(beat_s, BLUES.split(' ').enumerate().map(note).collect());
    let tempo = TEMPO.to_string();
    let run = ["scale", "--json", "--runs", "1", "--metre", "5/4", "--tempo", &tempo, "--device", MICROPHONE];
    let text = said(&run, own);
    let notes: Vec<Value> = lines(&text).into_iter().filter(|line| line["kind"] == "note").collect();
    assert_eq!(notes.len(), 13, "{text}");
    for line in text.lines().filter(|line| line.contains("message")) {
        println!("{line}");
    }
    (text, notes)
}

/// Of thirteen right notes at least so many have to be told right.
const MOST: usize = 12;
/// Runs that are tried at most: on a busy machine the sound server loses samples now and then, the player's among them,
/// so a run with too few right notes is tried again.
const TRIES: usize = 3;

/// Plays until a run is judged rightly; what was said of each run.
fn judged_rightly(in_room: &LivingRoom, own: &str) -> Vec<String> {
    let mut said = Vec::new();
    for _ in 0..TRIES {
        let (text, notes) = run_in_a_late_room(in_room, own);
        let right = notes.iter().filter(|note| note["right"] == true).count();
        println!("{right} of 13 notes are told right");
        said.push(text);
        if right >= MOST {
            return said;
        }
    }
    panic!("right playing is not told so: {said:?}");
}

#[test]
fn half_a_second_of_delay_is_measured_and_a_run_by_it_is_judged_rightly() {
    let in_room = LivingRoom::open(&Harp::richter(HarpKey::default()));
    in_room.carries(LATE_S, GAIN);
    // Of the five clicks of a bar each comes back when the next one is due. So they tell no delay, and must not be
    // taken for clicks that come back at once.
    let unknown = judged_rightly(&in_room, "late");
    assert!(!unknown.iter().any(|text| text.contains("the click comes back after")), "{unknown:?}");
    let offer = "early or late as a whole cannot be told here until sound --delay has measured it";
    assert!(unknown.iter().all(|text| text.contains(offer)), "{unknown:?}");
    assert_eq!(kept("late"), (unknown.len(), 13 * unknown.len()));

    let measured = said(&["sound", "--delay", "--device", MICROPHONE], "late");
    print!("{measured}");
    let ms: f64 = measured.strip_prefix("delay: ").unwrap().split(' ').next().unwrap().parse().unwrap();
    assert!((500.0..650.0).contains(&ms), "{measured}");
    let known = judged_rightly(&in_room, "late");
    assert!(!known.iter().any(|text| text.contains(offer)), "{known:?}");
    let runs = unknown.len() + known.len();
    assert_eq!(kept("late"), (runs, 13 * runs));
}
