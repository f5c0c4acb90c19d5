//! Reading a recording.

/// The first channel of a WAV file, full scale 1, and its sample rate.
///
/// # Errors
/// If the file cannot be read.
pub fn read(path: &str) -> Result<(Vec<f32>, f64), hound::Error> {
    let mut wav = hound::WavReader::open(path)?;
    let spec = wav.spec();
    let step = usize::from(spec.channels);
    let samples: Result<Vec<f32>, _> = match spec.sample_format {
        hound::SampleFormat::Float => wav.samples::<f32>().step_by(step).collect(),
        hound::SampleFormat::Int => {
            let full = f32::exp2(f32::from(spec.bits_per_sample) - 1.0);
            wav.samples::<i32>().step_by(step).map(|s| s.map(|s| s as f32 / full)).collect()
        }
    };
    Ok((samples?, f64::from(spec.sample_rate)))
}
