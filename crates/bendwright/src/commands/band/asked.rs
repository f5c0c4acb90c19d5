//! What is to be sounded, read from the arguments.

use super::recording;
use crate::args::BandArgs;
use crate::commands::in_time::mistake;
use crate::failure::Failure;
use crate::scale_choice::{changes, note_name, scale};
use crate::setup::Setup;
use crate::tones::Made;
use layout::{Harp, Note, UnknownName, plain_name};
use practice::run::{Metre, Tempo};
use sound::Generator;
use synth::{Band, BandPart, BandPlan, Tone};
use theory::{Chord, Degree, Groove, NoteName, Position, Progression, ScaleInKey};

/// The form where none is said.
const USUAL_FORM: &str = "twelve-bar";
/// The peak of a drone where none is said, dBFS: softer than the band, because it never stops.
const DRONE_DBFS: f64 = -20.0;
/// How far the peak of a tone lies above the level of a sine that is as loud, dB, because its partials add up. Rounded
/// up.
const TONE_CREST_DB: f64 = 5.0;
/// The levels that may be asked for, dBFS.
const LEVELS: (f64, f64) = (-60.0, -12.0);
/// In a file, if nothing is said: how often a form is played, and how many seconds a drone sounds.
const FILE_CHORUSES: u32 = 3;
const FILE_SECONDS: f64 = 60.0;
/// The longest drone, seconds.
const LONGEST_S: f64 = 7_200.0;

/// Makes the sound for a loudspeaker, or a file, with so many samples per second.
pub(super) type Maker = Box<dyn FnOnce(f64) -> Result<Box<dyn Generator>, String> + Send>;

/// What is to be sounded.
pub(super) struct Piece {
    /// What it is, in a line.
    pub(super) title: String,
    /// Its bars, if it has any.
    pub(super) grid: Option<Grid>,
    /// Whether it is counted in.
    pub(super) counts_in: bool,
    /// When it is over, seconds from its first sample; never if that is not known.
    pub(super) seconds: Option<f64>,
    /// Its sound.
    pub(super) make: Maker,
}

/// Bars and what they hold.
pub(super) struct Grid {
    /// Beats of a bar, and seconds of a beat.
    pub(super) beats: u32,
    pub(super) beat_s: f64,
    /// The second of the sound at which the first bar begins.
    pub(super) first_s: f64,
    /// How many bars there are; none if they go on and on.
    pub(super) bars: Option<u64>,
    /// The symbols of the chords of each bar of the form.
    pub(super) form: Vec<Vec<String>>,
    /// The chord after the form, if it ends.
    pub(super) last: Option<String>,
}

impl Grid {
    /// Seconds of a bar.
    pub(super) fn bar_s(&self) -> f64 {
        self.beat_s * f64::from(self.beats)
    }

    /// The chords of a bar, counted from 0.
    pub(super) fn chords(&self, bar: u64) -> Vec<String> {
        match (&self.last, self.bars) {
            (Some(last), Some(bars)) if bar + 1 == bars => vec![last.clone()],
            _ if self.form.is_empty() => Vec::new(),
            _ => self.form[(bar % self.form.len() as u64) as usize].clone(),
        }
    }
}

impl Piece {
    /// Reads the arguments.
    ///
    /// # Errors
    /// If the form, key, feel, tempo or another argument cannot be understood, or a recording cannot be read.
    pub(super) fn new(args: &BandArgs, setup: &Setup) -> Result<Self, Failure> {
        let tonic = match &args.key {
            Some(text) => note_name(text, "key")?,
            None => Position::default().tonic_name(&setup.harp),
        };
        match (&args.drone, &args.recording) {
            (Some(degree), _) => drone(degree, tonic, args, setup),
            (None, Some(file)) => recording::piece(file, tonic, args, setup),
            (None, None) => band(tonic, args, setup),
        }
    }
}

/// Refuses a level that would be too loud, or cannot be heard.
///
/// # Errors
/// If the level is out of range.
pub(super) fn check_level(args: &BandArgs) -> Result<(), Failure> {
    if let Some(dbfs) = args.level
        && !(LEVELS.0..=LEVELS.1).contains(&dbfs)
    {
        let (low, high) = LEVELS;
        return Err(Failure::user(format!("--level: {dbfs} dBFS is out of range; use {low} to {high}")));
    }
    Ok(())
}

/// The chords of a form in a key, bar by bar, and the key.
pub(super) fn chords(
    form: &Progression,
    tonic: NoteName,
    setup: &Setup,
) -> Result<(Vec<Vec<Chord>>, ScaleInKey), Failure> {
    let key = ScaleInKey::new(scale(setup, "major", "form")?, tonic);
    let bar = |bar: &Vec<theory::Function>| bar.iter().map(|function| function.chord(&key)).collect();
    Ok((form.bars().iter().map(bar).collect(), key))
}

/// The symbols of chords.
pub(super) fn symbols(bars: &[Vec<Chord>], key: &ScaleInKey) -> Vec<Vec<String>> {
    bars.iter().map(|bar| bar.iter().map(|chord| chord.symbol(key)).collect()).collect()
}

fn band(tonic: NoteName, args: &BandArgs, setup: &Setup) -> Result<Piece, Failure> {
    let form = changes(args.form.as_deref().unwrap_or(USUAL_FORM), "form", setup)?;
    let (bars, key) = chords(&form, tonic, setup)?;
    let feel: Groove = args.feel.parse().map_err(mistake("feel"))?;
    let bpm = match &args.tempo {
        Some(text) => text.parse::<Tempo>().map_err(mistake("tempo"))?.bpm(),
        None => Tempo::usual_of(feel).bpm(),
    };
    let silent = args.without.as_deref().map_or(Ok(Vec::new()), parts)?;
    let plan = BandPlan::new(&bars, feel, bpm).map_err(Failure::user)?;
    let plan = match &args.metre {
        Some(text) => {
            plan.beats(text.parse::<Metre>().map_err(mistake("metre"))?.beats()).map_err(Failure::user)?
        }
        None => plan,
    };
    let plan = plan.key(tonic.pitch_class()).seed(args.seed).tuned(setup.harp.concert());
    let plan = lowest(&setup.harp).into_iter().fold(plan, BandPlan::below);
    let choruses = args.choruses.or(args.out.is_some().then_some(FILE_CHORUSES));
    let plan = choruses.into_iter().fold(plan, BandPlan::choruses);
    let often = choruses
        .map_or("without end".to_owned(), |n| if n == 1 { "once".to_owned() } else { format!("{n} times") });
    let grid = Grid {
        beats: plan.beats_of_bar(),
        beat_s: plan.beat_s(),
        first_s: 0.0,
        bars: plan.bars(),
        form: symbols(&bars, &key),
        last: plan.bars().and_then(|bars| Some(plan.changes(bars - 1).first()?.chord.symbol(&key))),
    };
    let level = args.level;
    Ok(Piece {
        title: format!("{} in {tonic}, {} at {}, {often}", form.name(), feel.name(), Shown(bpm)),
        seconds: plan.bars().map(|bars| bars as f64 * plan.bar_s()),
        grid: Some(grid),
        counts_in: true,
        make: Box::new(move |rate| {
            let band = silent.into_iter().fold(Band::new(&plan, rate), Band::without);
            let mut band = level.into_iter().fold(band, Band::level);
            Ok(Box::new(Made::new(rate, move |out: &mut [f32]| band.fill(out))))
        }),
    })
}

/// A tempo as people write it.
pub(super) struct Shown(pub(super) f64);

impl std::fmt::Display for Shown {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", (self.0 * 10.0).round() / 10.0)
    }
}

/// The lowest note of a harp.
fn lowest(harp: &Harp) -> Option<Note> {
    harp.ways().filter_map(|way| harp.note(way)).min()
}

/// A steady tone in the octave below the harp.
fn drone(degree: &str, tonic: NoteName, args: &BandArgs, setup: &Setup) -> Result<Piece, Failure> {
    let degree: Degree = degree.parse().map_err(mistake("drone"))?;
    let seconds = args.seconds.or(args.out.is_some().then_some(FILE_SECONDS));
    if let Some(seconds) = seconds
        && !(1.0..=LONGEST_S).contains(&seconds)
    {
        return Err(Failure::user(format!("--seconds: {seconds} is out of range; use 1 to {LONGEST_S}")));
    }
    let name = tonic.at(degree);
    let floor = lowest(&setup.harp).unwrap_or(Note::MIDDLE_C);
    let below = i32::from(name.pitch_class().semitones_to(floor.pitch_class()));
    // A whole octave lower if it would be the harp's own lowest note.
    let note = floor.up(if below == 0 { -12 } else { -below }).unwrap_or(floor);
    let hz = setup.harp.concert().hz(note, 0.0);
    let level = args.level.unwrap_or(DRONE_DBFS) - TONE_CREST_DB;
    let how_long = seconds.map_or("without end".to_owned(), |seconds| format!("{seconds} seconds"));
    Ok(Piece {
        title: format!("a drone on {name}, the {degree} of {tonic}, {hz:.1} Hz, {how_long}"),
        grid: None,
        counts_in: false,
        seconds,
        make: Box::new(move |rate| {
            let tone = Tone::new(hz, rate).and_then(|tone| tone.level(level.max(LEVELS.0)));
            let mut tone = tone.map_err(|error| error.to_string())?;
            if let Some(seconds) = seconds {
                tone = tone.lasting(seconds);
            }
            Ok(Box::new(Made::new(rate, move |out: &mut [f32]| {
                if tone.is_done() {
                    return 0;
                }
                tone.fill(out);
                out.len()
            })))
        }),
    })
}

/// Who does not play.
fn parts(text: &str) -> Result<Vec<BandPart>, Failure> {
    const NAMES: [(&str, BandPart); 3] =
        [("bass", BandPart::Bass), ("chords", BandPart::Chords), ("kit", BandPart::Kit)];
    let part = |name: &str| {
        let found = NAMES.iter().find(|(known, _)| plain_name(name) == *known).map(|(_, part)| *part);
        found.ok_or_else(|| {
            let known = NAMES.map(|(known, _)| known);
            Failure::user(format!(
                "--without: {}",
                UnknownName::new("player of the band", name.trim(), known, [])
            ))
        })
    };
    text.split(',').map(part).collect()
}
