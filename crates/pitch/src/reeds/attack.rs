//! Where in the newest sound an attack lies, and how to even one out.

/// Samples are taken together over this share of the newest stretch.
const STRETCHES: usize = 5;
/// The most by which the beginning of a rise is lifted.
const LIFTED: f64 = 5.0;
/// Parts into which the whole of what is kept is divided to look for an attack.
const PARTS: usize = 24;
/// A sound that was weaker than this share of what followed has had an attack, which is through where no more than this share
/// is missing.
const SILENT: f64 = 0.2;

/// How the loudness rises over the window. A window that holds an attack is evened out, because a rise blurs every
/// line and weak neighbours drown in the blur. Only a rise: the beats of two reeds come and go, and to even them out
/// would make new lines.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rise {
    gains: [f64; STRETCHES],
    length: f64,
}

impl Rise {
    pub(super) const NONE: Self = Self { gains: [1.0; STRETCHES], length: 1.0 };

    pub(super) fn of(newest: &[f32]) -> Self {
        let length = newest.len() / STRETCHES;
        let mut levels = [0.0; STRETCHES];
        let mut most: f64 = 1.0e-6;
        for (level, stretch) in levels.iter_mut().zip(newest.chunks(length)) {
            most = most.max(rms(stretch));
            *level = most;
        }
        Self { gains: levels.map(|level| (most / level).min(LIFTED)), length: length as f64 }
    }

    /// 0 for an even window, towards 1 for one that begins in silence.
    pub(super) fn unevenness(&self) -> f64 {
        1.0 - 1.0 / self.gains[0]
    }

    /// What sample `n` is multiplied by: on a straight line between the middles of the stretches.
    pub(super) fn gain(&self, n: usize) -> f64 {
        let place = (n as f64 / self.length - 0.5).clamp(0.0, (STRETCHES - 1) as f64);
        let (index, part) = (place as usize, place.fract());
        let next = self.gains[(index + 1).min(STRETCHES - 1)];
        self.gains[index] + (next - self.gains[index]) * part
    }
}

/// How many of the newest samples came after the last attack; all, if there was none.
pub(super) fn settled(newest: &[f32]) -> usize {
    let length = newest.len() / PARTS;
    let mut levels = [0.0; PARTS];
    for (level, part) in levels.iter_mut().zip(newest.rchunks(length)) {
        *level = rms(part);
    }
    // The newest part comes first here.
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
