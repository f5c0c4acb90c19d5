//! Samples in, readings out: which fundamental is sounding now, how surely, how loud, and since when.
//!
//! # Signal model
//!
//! A note is a sum of up to twelve harmonics in noise, `x(n) = Σ aₖ cos(2πkfn + φₖ) + e(n)`, of which `f` moves slowly (bends,
//! vibrato) and the amplitudes rise within a few periods. Beside it there may be a second reed, breath, a room, hum and
//! clicks. One fundamental is estimated every 2.5 ms (the hop) from the newest samples; [`reeds`] is an estimator of its
//! own for several reeds at once.
//!
//! # Estimator
//!
//! 1. *Front end* (`front`, `lowpass`). To about 16 kHz by a minimum-phase filter, 0.13 ms late. With linear phase every
//!    latency grows by 1 to 2 ms.
//! 2. *Candidates* (`candidates`). Peaks of the normalised cross-correlation over lags T, each on the newest 2T samples:
//!    `r(T) = Σ x(n)x(n−T) / √(Σ x(n)² Σ x(n−T)²)` (Talkin 1995). A window for each lag is worth 2 ms at the onset.
//! 3. *Voicing* (`choose`, `voicing`). The shortest lag within 0.14 of the best is a first guess. It begins a note after 1 to
//!    8 frames, by how many standard deviations `atanh r · √n` lies above chance (Fisher 1921). Without the wait 9 % of
//!    noise, breath and clicks are called notes; without the rule for clicks 13 onsets in 100 notes are too many.
//! 4. *Notes* (`track`, `note`). The tracker is silent or sounds one note. What would replace the note is a rival that must
//!    win several frames, more of them if it is in a whole ratio to the note or comes with a louder sound.
//! 5. *Octave* (`octave`, `spectrum`). One decision: beliefs in f/3, f/2, 2f, 3f and 4f add up frame by frame. Without the
//!    evidence of the residual, low notes with a strong second harmonic wait 35 ms longer.
//! 6. *Amplitude flattening* (`flatten`) of notes that begin: 7.5 ms of latency between 200 and 500 Hz.
//! 7. *Harmonics* (`refine`). A Hann window of exactly P periods, so that no harmonic leaks into another; the frequency of
//!    each harmonic by reassignment (Auger & Flandrin 1995), `fₖ = kf − Im(X'ₖ X̄ₖ)/(2π|Xₖ|²)`, X' being under the window's derivative, and its variance
//!    under white noise by the Cramér-Rao bound, `∝ noise/(power·k²·length³)` (Rife & Boorstyn 1974). Whole periods are worth
//!    more than any other single thing in the crate.
//! 8. *Means* (`consensus`, `smooth`). Over harmonics, weighted by inverse variance including the residual of each harmonic
//!    (second reeds, hum); over windows, per harmonic (noise: 0.19 against 1.45 cents). `smooth` joins no moving note.
//! 9. *Window selection* (`window`, `floor`). The longest window whose confidence interval meets those of all shorter ones
//!    (Goldenshluger & Nemirovski 1997); `floor` measures the noise between the harmonics, on which the intervals rest.
//! 10. *Uncertainty* (`uncertainty`) of what is told, by the sandwich estimator (White 1980). The judge says *cannot tell* by
//!     it; no pitch depends on it.
//! 11. *A second reed* (`joint`, `bias`), fitted along with the note, and allowed for in windows too short to resolve it.
//!
//! The figures are of the bench `tests/ear`, on a quick corpus: most of seed 21 and of the ear as it was before the octave was decided in
//! one place, those of the octave of seeds 1, 21 and 22. `tests/ear/ABLATION.md` has the table, and says of which commit.
//!
//! # What it cannot do
//!
//! A note is known only after about two of its periods and the wait of the third stage: 26 ms at the 95th percentile below
//! 200 Hz. Whispering, noisy speech and a loud metronome are called notes for a few per cent of the time. The uncertainty is
//! too small in the first 100 ms in a room (half of the errors lie inside one standard deviation instead of 68 %).

mod bias;
mod candidates;
mod choose;
mod consensus;
mod ear;
mod flatten;
mod floor;
mod frame;
mod front;
mod history;
mod joint;
mod lowpass;
mod note;
mod octave;
#[cfg(test)]
mod oracles;
mod reading;
pub mod reeds;
mod refine;
mod settings;
mod smooth;
mod spectrum;
mod stream;
mod track;
mod uncertainty;
mod voicing;
mod window;

pub use ear::Ear;
pub use history::History;
pub use reading::Reading;
pub use settings::{Settings, SettingsError};
