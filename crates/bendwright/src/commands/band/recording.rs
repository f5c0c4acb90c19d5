//! A recording of the player's own as the band.

use super::asked::{Grid, Maker, Piece, Shown, chords, symbols};
use crate::args::BandArgs;
use crate::commands::in_time::mistake;
use crate::failure::Failure;
use crate::files::shown;
use crate::scale_choice::changes;
use crate::setup::Setup;
use practice::run::{Metre, Tempo};
use sound::{AtRate, Channel, Generator, Recording};
use std::path::Path;
use theory::NoteName;

/// The peak where none is said, dBFS: that of the band. And the highest there may be, which waves between two samples may pass.
const PEAK_DBFS: f64 = -15.0;
const HIGHEST_DBFS: f64 = -12.0;
/// Samples that are read at once.
const BLOCK: usize = 4_096;

/// A recording with its bars.
///
/// # Errors
/// If it cannot be read, is silent, or it is not said where its beats are.
pub(super) fn piece(file: &Path, tonic: NoteName, args: &BandArgs, setup: &Setup) -> Result<Piece, Failure> {
    let (Some(first_s), Some(tempo)) = (args.first_beat, &args.tempo) else {
        return Err(Failure::user(
            "--recording: nobody knows where its beats are; say with --first-beat at which second its first bar begins, and with \
             --tempo how many beats a minute it has, or find both with --tap",
        ));
    };
    let tempo: Tempo = tempo.parse().map_err(mistake("tempo"))?;
    let metre = args.metre.as_deref().map_or(Ok(Metre::COMMON), str::parse).map_err(mistake("metre"))?;
    let (make, seconds) = sound(file, args.level)?;
    if !(0.0..seconds).contains(&first_s) {
        return Err(Failure::user(format!(
            "--first-beat: {first_s} is no second of this recording, which has {seconds:.1}"
        )));
    }
    let form = match &args.form {
        Some(form) => {
            let (bars, key) = chords(&changes(form, "form", setup)?, tonic, setup)?;
            symbols(&bars, &key)
        }
        None => Vec::new(),
    };
    let bar_s = tempo.beat_s() * f64::from(metre.beats());
    let grid = Grid {
        beats: metre.beats(),
        beat_s: tempo.beat_s(),
        first_s,
        bars: Some(((seconds - first_s) / bar_s).ceil() as u64),
        form,
        last: None,
    };
    Ok(Piece {
        title: format!("{}, {metre} at {}, {seconds:.0} seconds", shown(file), Shown(tempo.bpm())),
        grid: Some(grid),
        counts_in: false,
        seconds: Some(seconds),
        make,
    })
}

/// The sound of a recording, brought to a level (the peak, dBFS), and its length in seconds.
///
/// # Errors
/// If it cannot be read, or is silent.
pub(super) fn sound(file: &Path, level: Option<f64>) -> Result<(Maker, f64), Failure> {
    if Recording::is_stream(file) {
        return Err(Failure::user("--recording: this is no file; a pipe cannot be read twice"));
    }
    let (peak, seconds) = measured(file)?;
    if peak == 0.0 {
        return Err(Failure::user(format!(
            "--recording {}: there is nothing but silence in it",
            shown(file)
        )));
    }
    let amplitude = |dbfs: f64| 10f64.powf(dbfs / 20.0) as f32;
    let (gain, highest) = (amplitude(level.unwrap_or(PEAK_DBFS)) / peak, amplitude(HIGHEST_DBFS));
    let path = file.to_owned();
    let make: Maker = Box::new(move |rate| {
        let recording = open(&path).map_err(|error| error.to_string())?;
        Ok(Box::new(Softer { gain, highest, of: AtRate::new(recording, rate) }))
    });
    Ok((make, seconds))
}

fn open(file: &Path) -> Result<Recording, sound::SoundError> {
    Recording::open_channel(file, Channel::Mix)
}

/// The highest sample of a recording, and its length in seconds.
fn measured(file: &Path) -> Result<(f32, f64), Failure> {
    let mut recording = open(file).map_err(Failure::user)?;
    let (mut peak, mut samples) = (0.0_f32, 0_u64);
    let mut block = [0.0; BLOCK];
    loop {
        let made = recording.fill(&mut block);
        if made == 0 {
            return Ok((peak, samples as f64 / recording.sample_rate()));
        }
        peak = block[..made].iter().filter(|x| x.is_finite()).fold(peak, |peak, x| peak.max(x.abs()));
        samples += made as u64;
    }
}

/// A sound at another level.
struct Softer<G> {
    gain: f32,
    highest: f32,
    of: G,
}

impl<G: Generator> Generator for Softer<G> {
    fn sample_rate(&self) -> f64 {
        self.of.sample_rate()
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        let made = self.of.fill(out);
        for x in &mut out[..made] {
            *x = (*x * self.gain).clamp(-self.highest, self.highest);
        }
        made
    }
}
