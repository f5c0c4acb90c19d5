//! Where the notes of a rhythm lie, in seconds that anybody can check, and what a plan makes of bars, bands and tempi.

use crate::player::plan;
use crate::{BLUES, blues, harp, ways};
use practice::run::{
    Clicked, Material, MaterialError, Metre, Over, Plan, Rhythm, StartAt, Swing, Tempi, Tempo, Value,
};
use theory::{Groove, Progressions, ScaleInKey, Scales};

pub(crate) fn rhythm(bpm: f64, metre: &str, value: &str, ratio: f64) -> Rhythm {
    let (tempo, metre): (Tempo, Metre) = (Tempo::new(bpm).unwrap(), metre.parse().unwrap());
    Rhythm::new(tempo, metre, value.parse::<Value>().unwrap(), Swing::new(ratio).unwrap()).unwrap()
}

#[track_caller]
fn near(told: f64, truth: f64) {
    assert!((told - truth).abs() < 1e-9, "{told} for {truth}");
}

/// A beat of 120 a minute lasts half a second.
#[test]
fn swung_pairs_are_divided_by_their_ratio_and_beats_stay_where_they_are() {
    // Two to one the second eighth comes at two thirds of the beat, three to one at three quarters, even at half.
    for (ratio, share) in [(1.0, 0.5), (1.5, 0.6), (2.0, 2.0 / 3.0), (3.0, 0.75)] {
        let swung = rhythm(120.0, "4/4", "eighths", ratio);
        assert_eq!(swung.steps_of_beat(), 2);
        for beat in 0..8 {
            near(swung.step_s(2 * beat), 0.5 * f64::from(beat));
            near(swung.step_s(2 * beat + 1), 0.5 * (f64::from(beat) + share));
        }
    }
    // Of sixteenths each half of the beat is divided so.
    let sixteenths = rhythm(120.0, "4/4", "sixteenths", 2.0);
    let told: Vec<f64> = (0..5).map(|step| sixteenths.step_s(step)).collect();
    for (told, truth) in told.into_iter().zip([0.0, 1.0 / 6.0, 0.25, 0.25 + 1.0 / 6.0, 0.5]) {
        near(told, truth);
    }
}

#[test]
fn eighths_and_sixteenths_are_swung_and_nothing_else_is() {
    let swung = |value: &str, metre: &str| {
        let (tempo, metre): (Tempo, Metre) = (Tempo::new(100.0).unwrap(), metre.parse().unwrap());
        Rhythm::new(tempo, metre, value.parse::<Value>().unwrap(), Swing::TWO_TO_ONE).is_ok()
    };
    assert_eq!(["eighths", "sixteenths"].map(|value| swung(value, "4/4")), [true; 2]);
    assert_eq!(["quarters", "triplets", "sixteenth triplets"].map(|value| swung(value, "4/4")), [false; 3]);
    assert!(!swung("eighths", "12/8"), "its beat is divided by three as it is");
}

#[test]
fn a_swing_is_read_as_a_ratio_or_refused() {
    let read = |text: &str| text.parse::<Swing>().map(Swing::ratio).ok();
    let all = ["straight", "2:1", "3 : 2", "1.5", "3", "6:2"].map(read);
    assert_eq!(all, [Some(1.0), Some(2.0), Some(1.5), Some(1.5), Some(3.0), Some(3.0)]);
    for text in ["2:0", "2:-1", "-2:-1", "1:2", "4:1", "0.9", "x", "2:1:1"] {
        let error = text.parse::<Swing>().unwrap_err().to_string();
        assert!(!error.is_empty() && read(text).is_none(), "{text}: {error}");
    }
    let nothing = "2:0".parse::<Swing>().unwrap_err().to_string();
    assert!(nothing.contains("is no swing"), "a note of no length is against none: {nothing}");
}

#[test]
fn a_rhythm_is_told_in_words() {
    assert_eq!(rhythm(80.0, "4/4", "eighths", 1.0).words(), "eighths at 80, 4/4");
    assert_eq!(rhythm(80.0, "3/4", "sixteenths", 1.5).words(), "sixteenths at 80, 3/4, swung 1.5:1");
}

#[test]
fn notes_that_are_too_fast_to_be_told_apart_are_told_with_the_fastest_tempo() {
    // A sixteenth lasts 15 s over the tempo: 70 ms at 214 beats a minute. Swung two to one the shorter lasts a third of
    // an eighth, 10 s over the tempo: 70 ms at 142.
    let too_fast = |bpm: f64, ratio: f64| {
        let all = ways(&harp("C"), "4 -4 5 -5 6 -6 -7 7");
        let rhythm = rhythm(bpm, "4/4", "sixteenths", ratio);
        Material::of_ways("a run".to_owned(), &all, rhythm).unwrap().too_fast()
    };
    assert_eq!(
        [180.0, 214.0, 215.0, 240.0].map(|bpm| too_fast(bpm, 1.0)),
        [None, None, Some(214.0), Some(214.0)]
    );
    assert_eq!([140.0, 142.0, 144.0].map(|bpm| too_fast(bpm, 2.0)), [None, None, Some(142.0)]);
}

#[test]
fn a_run_lasts_for_whole_bars_and_some_of_its_bars_begin_at_once() {
    let harp = harp("C");
    // Thirteen eighths at 120 in 4/4, the last one held to the end of the second bar.
    let whole = blues(&harp, 120.0);
    assert_eq!((whole.bars(), whole.seconds()), (2, 4.0));
    let last = *whole.asked(&harp).last().unwrap();
    near(last.onset_s, 3.0);
    near(last.length_s, 1.0);
    let second = whole.only_bars(1..2).unwrap();
    assert_eq!((second.bars(), second.notes().len()), (1, 5));
    let asked = second.asked(&harp);
    near(asked[0].onset_s, 0.0);
    assert_eq!((asked[0].way, asked[0].bar), (whole.asked(&harp)[8].way, 0));
    assert!(whole.only_bars(2..3).is_err() && whole.only_bars(0..2).unwrap().notes().len() == 13);
    // At 60 a bar lasts four seconds. The ninth eighth begins the second bar and is held to its end.
    let nine =
        Material::of_ways("nine".to_owned(), &ways(&harp, BLUES)[..9], rhythm(60.0, "4/4", "eighths", 1.0));
    let nine = nine.unwrap();
    assert_eq!((nine.bars(), nine.seconds()), (2, 8.0));
    near(nine.asked(&harp).last().unwrap().length_s, 4.0);
}

#[test]
fn a_run_has_sixty_four_bars_at_most() {
    let of_bars = |bars: usize| {
        let whole = rhythm(120.0, "4/4", "whole notes", 1.0);
        Material::of_ways("long".to_owned(), &ways(&harp("C"), "4").repeat(bars), whole).map(|run| run.bars())
    };
    assert_eq!(of_bars(64), Ok(64));
    assert_eq!(of_bars(65), Err(MaterialError::TooLong(65, 64)));
}

/// Twelve bars of blues in G.
pub(crate) fn over(rhythm: &Rhythm) -> Over {
    let scale = Scales::ours().find("blues").unwrap().clone();
    let key = ScaleInKey::new(scale, "G".parse().unwrap());
    Over::new(Progressions::ours().find("twelve-bar").unwrap(), (&key, &harp("C")), rhythm).unwrap()
}

#[test]
fn the_feel_of_the_band_suits_the_rhythm() {
    let feel = |metre: &str, value: &str, ratio: f64| over(&rhythm(100.0, metre, value, ratio)).feel;
    assert_eq!(feel("4/4", "eighths", 1.0), Groove::Straight);
    assert_eq!(feel("4/4", "eighths", 1.4), Groove::Straight);
    assert_eq!(feel("4/4", "eighths", 1.5), Groove::Shuffle);
    assert_eq!(feel("4/4", "eighths", 2.0), Groove::Shuffle);
    assert_eq!(feel("3/4", "eighths", 2.0), Groove::Waltz);
    assert_eq!(feel("12/8", "eighths", 1.0), Groove::SlowTwelve);
}

#[test]
fn a_plan_over_a_band_has_the_chords_of_its_bars() {
    let material = blues(&harp("C"), 100.0);
    let over = Over { from_bar: 3, ..over(&material.rhythm) };
    let with = Plan { over: Some(over), ..plan(material) };
    // The fourth and the fifth bar of a twelve-bar blues in G.
    assert_eq!([0, 1].map(|bar| with.chords_of_bar(bar)), [vec![("G7", "I7")], vec![("C7", "IV7")]]);
    assert_eq!(with.over.as_ref().unwrap().chords(2)[0].symbol, "C7");
    // Its second bar alone goes over the chord that it has in the whole.
    assert_eq!(with.only_bars(1..2).unwrap().chords_of_bar(0), [("C7", "IV7")]);
    // No band to a beat of the player's own, nor where it is silent; and where there is none, no chords.
    let free = Plan { start: StartAt::FreeTime, ..with.clone() };
    assert!(with.band().is_some() && free.band().is_none());
    let silent = with.clone().with_band(false);
    assert!(silent.band().is_none() && silent.clicking.what == Clicked::Beats);
    assert!(silent.chords_of_bar(0).is_empty());
    let again = silent.with_band(true);
    assert!(again.band().is_some() && again.clicking.what == Clicked::CountIn);
}

#[test]
fn tempi_in_turn_begin_slowly_at_three_fifths() {
    let exercise = |tempi| {
        let mut exercise = practice::Exercise::new(harp("C"), scoring::Tolerance::USUAL, 48_000.0);
        let plan = Plan { runs: 4, tempi, ..plan(blues(&harp("C"), 100.0)) };
        exercise.order(practice::Order::Run(Box::new(plan)));
        exercise.running().unwrap().tempo().bpm()
    };
    assert_eq!([Tempi::Same, Tempi::Steps, Tempi::InTurn].map(exercise), [100.0, 100.0, 60.0]);
}
