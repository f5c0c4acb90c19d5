//! Takes as files, for the scripts beside this one: what sounded, what was played and what was heard.

use crate::figures::Truth;
use crate::heard::RATE;
use std::fmt::Write as _;
use std::path::Path;

/// Writes a take into the folder that `BENDWRIGHT_TIME_DIR` names, if it names one.
pub(crate) fn write(name: &str, samples: &[f32], played: &[Truth], heard: &[Truth]) {
    let Some(folder) = std::env::var_os("BENDWRIGHT_TIME_DIR") else { return };
    let (folder, name) = (Path::new(&folder), name.replace(' ', "-").replace(':', ""));
    std::fs::create_dir_all(folder).unwrap();
    std::fs::write(folder.join(format!("{name}.ref")), lines(played)).unwrap();
    std::fs::write(folder.join(format!("{name}.est")), lines(heard)).unwrap();
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE as u32,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut wav = hound::WavWriter::create(folder.join(format!("{name}.wav")), spec).unwrap();
    for sample in samples {
        wav.write_sample(*sample).unwrap();
    }
    wav.finalize().unwrap();
}

/// One note a line: onset and end in seconds, pitch in hertz.
fn lines(notes: &[Truth]) -> String {
    let mut text = String::new();
    for note in notes {
        writeln!(text, "{:.9}\t{:.9}\t{:.9}", note.onset_s, note.ended_s, note.hz).unwrap();
    }
    text
}
