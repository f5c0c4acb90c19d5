//! Where in the newest sound an attack lies, and how to even one out.

/// Parts into which the whole of what is kept is divided to look for an attack.
const PARTS: usize = 24;
/// A sound that was weaker than this share of what followed has had an attack, which is through where no more than this
/// share is missing.
const SILENT: f64 = 0.2;

/// By how much a window that holds an attack grows louder from sample to sample, ratio: the exponential on which both
/// halves lie. It is evened out, because a rise blurs every line and weak neighbours drown in the blur. Only a rise:
/// the beats of two reeds come and go, and to even them out would make new lines.
pub(super) fn growth(newest: &[f32]) -> f64 {
    let (before, after) = newest.split_at(newest.len() / 2);
    (rms(after) / rms(before).max(f64::MIN_POSITIVE)).max(1.0).powf(2.0 / newest.len() as f64)
}

/// How many of the newest samples came after the last attack; all, if there was none.
pub(super) fn settled(newest: &[f32]) -> usize {
    let length = newest.len() / PARTS;
    // The newest part comes first here.
    let mut parts = newest.rchunks(length);
    let levels: [f64; PARTS] = std::array::from_fn(|_| parts.next().map_or(0.0, rms));
    let mut most: f64 = 0.0;
    let silent = levels.iter().position(|level| {
        most = most.max(*level);
        *level < SILENT * most
    });
    let Some(silent) = silent else { return newest.len() };
    let through = levels[..silent].iter().rposition(|level| *level > (1.0 - SILENT) * most).unwrap_or(0);
    through * length
}

fn rms(samples: &[f32]) -> f64 {
    let power: f64 = samples.iter().map(|x| f64::from(*x).powi(2)).sum();
    (power / samples.len() as f64).sqrt()
}
