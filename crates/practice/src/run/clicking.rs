//! Which beats of a run are clicked.

use super::{Rhythm, RhythmError};
use serde::Serialize;
use std::str::FromStr;

/// A click of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Click {
    /// When, seconds from the first beat; negative in the count-in.
    pub at_s: f64,
    /// How it stands out.
    pub weight: Weight,
}

/// How a click stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// The first beat of a bar.
    First,
    /// Another beat.
    Other,
    /// A note between two beats.
    Between,
}

/// What is clicked once the count-in is over. In the count-in every beat is clicked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Clicked {
    /// Every beat.
    #[default]
    Beats,
    /// The first beat of each bar.
    Bars,
    /// Every second beat: two and four.
    Backbeats,
    /// Every beat, and softer every note between.
    Notes,
    /// Nothing: only the count-in is heard.
    CountIn,
}

impl Clicked {
    const ALL: [(Self, &'static str); 5] = [
        (Self::Beats, "beats"),
        (Self::Bars, "bars"),
        (Self::Backbeats, "backbeats"),
        (Self::Notes, "notes"),
        (Self::CountIn, "count-in"),
    ];
}

impl FromStr for Clicked {
    type Err = RhythmError;

    fn from_str(text: &str) -> Result<Self, RhythmError> {
        let wanted = text.trim().to_lowercase().replace(' ', "-");
        let found = Self::ALL.iter().find(|(_, name)| *name == wanted);
        found.map(|(clicked, _)| *clicked).ok_or_else(|| {
            let all: Vec<&str> = Self::ALL.iter().map(|(_, name)| *name).collect();
            RhythmError(format!("there is no click on {text:?}; there are: {}", all.join(", ")))
        })
    }
}

/// What is clicked in which bars.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Clicking {
    /// What is clicked.
    pub what: Clicked,
    /// This many bars with the click and as many without it take turns, to try the player's own time; 0 if no bar is to
    /// go without it.
    pub silent_bars: u32,
}

impl Clicking {
    /// Whether a bar, counted from 0, goes without any click.
    pub fn is_silent(self, bar: usize) -> bool {
        let turn = bar.checked_div(self.silent_bars as usize);
        self.what == Clicked::CountIn || turn.is_some_and(|turn| turn % 2 == 1)
    }

    /// The clicks of the bars from one to another, counted from 0, after so many beats of count-in.
    pub(crate) fn clicks(self, rhythm: &Rhythm, count_in: u32, bars: std::ops::Range<usize>) -> Vec<Click> {
        let (beats, beat_s) = (rhythm.metre.beats(), rhythm.beat_s());
        let from_s = bars.start as f64 * rhythm.bar_s();
        let counted = (0..count_in).map(|beat| Click {
            at_s: from_s - f64::from(count_in - beat) * beat_s,
            weight: if beat % beats == 0 { Weight::First } else { Weight::Other },
        });
        let sounding = bars.filter(|bar| !self.is_silent(*bar));
        counted.chain(sounding.flat_map(|bar| self.bar(rhythm, bar))).collect()
    }

    fn bar(self, rhythm: &Rhythm, bar: usize) -> Vec<Click> {
        let (beat, whole) = (rhythm.metre.beat(), rhythm.metre.bar());
        let value = rhythm.value.ticks();
        let clicked = |tick: &u32| match self.what {
            Clicked::Beats => tick.is_multiple_of(beat),
            Clicked::Bars => *tick == 0,
            Clicked::Backbeats => tick.is_multiple_of(beat) && tick / beat % 2 == 1,
            Clicked::Notes => tick.is_multiple_of(beat) || tick.is_multiple_of(value),
            Clicked::CountIn => false,
        };
        let weight = |tick: u32| match tick {
            0 => Weight::First,
            tick if tick.is_multiple_of(beat) => Weight::Other,
            _ => Weight::Between,
        };
        let from_s = bar as f64 * rhythm.bar_s();
        let click = |tick: u32| Click { at_s: from_s + rhythm.seconds(tick), weight: weight(tick) };
        (0..whole).filter(clicked).map(click).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::{Metre, Swing, Tempo, Value};

    fn rhythm(metre: &str, values: &str, swing: f64) -> Rhythm {
        let (metre, value): (Metre, Value) = (metre.parse().unwrap(), values.parse().unwrap());
        Rhythm::new(Tempo::new(60.0).unwrap(), metre, value, Swing::new(swing).unwrap()).unwrap()
    }

    /// The moments of the clicks, seconds, with a sign for how each stands out.
    fn told(what: Clicked, silent_bars: u32, rhythm: &Rhythm, bars: std::ops::Range<usize>) -> String {
        let sign = |weight| match weight {
            Weight::First => "!",
            Weight::Other => "",
            Weight::Between => "'",
        };
        let clicks = Clicking { what, silent_bars }.clicks(rhythm, 2, bars);
        clicks
            .iter()
            .map(|click| format!("{:.2}{}", click.at_s, sign(click.weight)))
            .collect::<Vec<_>>()
            .join(" ")
    }

    #[test]
    fn each_kind_of_click_comes_on_its_beats() {
        let four = rhythm("4/4", "eighths", 1.0);
        for (what, expected) in [
            (Clicked::Beats, "0.00! 1.00 2.00 3.00"),
            (Clicked::Bars, "0.00!"),
            (Clicked::Backbeats, "1.00 3.00"),
            (Clicked::Notes, "0.00! 0.50' 1.00 1.50' 2.00 2.50' 3.00 3.50'"),
            (Clicked::CountIn, ""),
        ] {
            assert_eq!(told(what, 0, &four, 0..1).trim_end(), format!("-2.00! -1.00 {expected}").trim_end());
        }
        // Swung notes are clicked where they fall, and longer notes than a beat add nothing.
        let swung = told(Clicked::Notes, 0, &rhythm("2/4", "eighths", 2.0), 0..1);
        assert_eq!(swung, "-2.00! -1.00 0.00! 0.67' 1.00 1.67'");
        assert_eq!(told(Clicked::Notes, 0, &rhythm("2/4", "halves", 1.0), 0..1), "-2.00! -1.00 0.00! 1.00");
        // A beat of 6/8 is a dotted quarter note, with two eighths between.
        let six = told(Clicked::Notes, 0, &rhythm("6/8", "eighths", 1.0), 0..1);
        assert_eq!(six, "-2.00! -1.00 0.00! 0.33' 0.67' 1.00 1.33' 1.67'");
    }

    #[test]
    fn bars_of_silence_come_in_turn_and_a_count_in_is_always_heard() {
        let two = rhythm("2/4", "quarters", 1.0);
        assert_eq!(told(Clicked::Beats, 1, &two, 0..4), "-2.00! -1.00 0.00! 1.00 4.00! 5.00");
        assert_eq!(told(Clicked::Beats, 2, &two, 0..5), "-2.00! -1.00 0.00! 1.00 2.00! 3.00 8.00! 9.00");
        // Taken up in a silent bar it counts in all the same.
        assert_eq!(told(Clicked::Beats, 1, &two, 1..3), "0.00! 1.00 4.00! 5.00");
        // At twice the tempo it comes in half the time.
        let fast = two.at(Tempo::new(120.0).unwrap());
        assert_eq!(told(Clicked::Beats, 0, &fast, 0..1), "-1.00! -0.50 0.00! 0.50");
    }

    #[test]
    fn what_is_no_click_is_told_with_what_there_is() {
        assert_eq!("count in".parse(), Ok(Clicked::CountIn));
        let error = "cowbell".parse::<Clicked>().unwrap_err().to_string();
        assert!(error.contains("cowbell") && error.contains("backbeats"), "{error}");
    }
}
