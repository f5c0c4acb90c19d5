//! Twelve bars over the band that comes back from a room, from a loudspeaker that clips: each note is judged as it is
//! without a band.

use crate::living_room::{LivingRoom, Note};
use crate::room;
use crate::room_runs::{bendwright, measured_ms, way};
use layout::{Harp, HarpKey, Technique};
use serde_json::Value;
use synth::Gesture;

/// Six notes a bar, and a quarter of rest: lines of the blues scale with half, whole and one and a half steps of bends.
const BARS: [&str; 4] =
    ["-2 -3' 4 -4' -4 4", "-4 -5 6 -5 -4 -3'", "-2'' -2 -3''' -3 4 -4'", "-4 5 -5 6 -6 -4"];
const CHORUS: usize = 12;
const OF_BAR: usize = 6;
const TEMPO: f64 = 100.0;
const EIGHTH_S: f64 = 0.3;
/// How loud the harp is.
const HARP_DBFS: f64 = -20.0;
/// The band leaves at an RMS of -34 dBFS (twelve bars of `band --out`), and so it arrives as loud as the harp's notes:
/// the paths of the room together carry 3 dB more than the direct one.
pub(crate) const GAIN: f64 = 2.5;
/// Drive of the loudspeaker: the RMS of the band times this is 0.3, as in the bench of `echo`.
const DRIVE: f64 = 15.0;
pub(crate) const DELAY_S: f64 = 0.03;
/// Notes of the first two bars: while the path is learnt, nothing need be told.
const LEARNT: usize = 2 * OF_BAR;

/// What is done wrong with a note.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Fault {
    Late,
    Early,
    Off,
    Other,
    Missing,
}

/// Every seventh note goes wrong, each in another way than the one before; notes beside it do not.
fn fault(index: usize) -> Option<Fault> {
    let faults = [Fault::Late, Fault::Off, Fault::Other, Fault::Missing, Fault::Early];
    (index % 7 == 3).then(|| faults[index / 7 % faults.len()])
}

fn tabs() -> Vec<&'static str> {
    (0..CHORUS).flat_map(|bar| BARS[bar % BARS.len()].split(' ')).collect()
}

pub(crate) fn played() -> Vec<Note> {
    let note = |(index, tab): (usize, &str)| {
        let fault = fault(index);
        let late_s = match fault {
            Some(Fault::Late) => 0.28 * EIGHTH_S,
            Some(Fault::Early) => -0.28 * EIGHTH_S,
            Some(Fault::Missing) => return None,
            _ => 0.0,
        };
        let own = way(if fault == Some(Fault::Other) { "1" } else { tab });
        let gesture =
            Gesture::new(own).level(HARP_DBFS).cents_off(if fault == Some(Fault::Off) { 42.0 } else { 0.0 });
        let gesture = if matches!(own.technique, Technique::Bend(_)) { gesture.glide(0.03) } else { gesture };
        let eighths = index / OF_BAR * 8 + index % OF_BAR;
        Some((EIGHTH_S * eighths as f64 + late_s, gesture.seconds(0.5 * EIGHTH_S)))
    };
    tabs().into_iter().enumerate().filter_map(note).collect()
}

/// What is told of each note: its outcome, its timing, and whether it was right.
fn judged(in_room: &LivingRoom, more: &[&str]) -> Vec<(String, Option<String>, bool)> {
    let bars: Vec<String> =
        (0..CHORUS).map(|bar| format!("eighths {} quarter rest", BARS[bar % BARS.len()])).collect();
    let phrase = room().join("over-the-band.toml");
    std::fs::write(
        &phrase,
        format!("title = \"Over the band\"\nposition = 2\nbars = \"\"\"\n{}\n\"\"\"\n", bars.join("\n")),
    )
    .unwrap();
    in_room.play(2.0 * EIGHTH_S, played());
    let tempo = TEMPO.to_string();
    let usual = ["phrase", phrase.to_str().unwrap(), "--json", "--runs", "1", "--tempo", &tempo];
    let said = bendwright(&[&usual, more].concat());
    let lines: Vec<Value> = said.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    for line in lines.iter().filter(|line| line["kind"] != "note") {
        println!("{line}");
    }
    let text = |value: &Value| value.as_str().map(str::to_owned);
    let notes = lines.iter().filter(|line| line["kind"] == "note");
    let told = |note: &Value| (text(&note["outcome"]).unwrap(), text(&note["timing"]), note["right"] == true);
    notes.map(told).collect()
}

/// On a machine that does much else beside, the sound server lets the streams slip by tens of milliseconds, and with
/// them the player of this test: it is measured by hand, on a machine that has nothing else to do.
const BY_HAND: &str = "BENDWRIGHT_BAND_RUNS";

#[test]
fn twelve_bars_over_the_band_are_judged_as_without_it() {
    if std::env::var_os(BY_HAND).is_none() {
        println!("measured by hand, with {BY_HAND}=1");
        return;
    }
    let in_room = LivingRoom::open(&Harp::richter(HarpKey::default()));
    in_room.carries(DELAY_S, GAIN);
    println!("{} ms remembered", measured_ms());
    in_room.carries(DELAY_S, 0.0);
    let alone = judged(&in_room, &["--click", "count-in"]);
    in_room.carries(DELAY_S, GAIN);
    in_room.drives(DRIVE);
    let over = judged(&in_room, &["--band=twelve-bar"]);
    assert_eq!((alone.len(), over.len()), (CHORUS * OF_BAR, CHORUS * OF_BAR));
    let in_time =
        |timing: &Option<String>| timing.as_ref().map(|timing| timing == "early" || timing == "late");
    let (mut same, mut blamed, mut untold) = (0, 0, 0);
    for (index, (alone, over)) in alone.iter().zip(&over).enumerate() {
        // The player is a simulated one, so that it is known what is to be told without a band.
        assert_eq!(alone.2, fault(index).is_none(), "note {index} without a band: {alone:?}");
        if over.0 == "cannot tell" {
            untold += usize::from(index >= LEARNT);
        } else if (&over.0, in_time(&over.1)) == (&alone.0, in_time(&alone.1)) {
            same += usize::from(index >= LEARNT);
        } else {
            blamed += usize::from(alone.2 && !over.2);
        }
        if over != alone {
            println!("note {index}, {:?}: {alone:?} without, {over:?} over the band", fault(index));
        }
    }
    let all = CHORUS * OF_BAR - LEARNT;
    println!(
        "of {all} notes: {blamed} right ones called wrong, {same} judged the same, {untold} cannot be told"
    );
    // The goal is none called wrong, and 98 of a hundred judged the same. Where it stands is said in
    // crates/echo/tests/room/RESULTS.md.
    assert!(blamed <= 1, "right playing is called wrong");
    assert!(same * 100 >= 80 * all, "{same} of {all} are judged the same");
}
