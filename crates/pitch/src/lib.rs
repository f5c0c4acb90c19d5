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
//!    win two frames. A rival an octave from a note that is heard begins none: the fifth stage decides about it.
//! 5. *Octave* (`octave`). One decision: beliefs in f/3, f/2, 2f, 3f and 4f add up frame by frame. Without the evidence of
//!    the residual, low notes with a strong second harmonic wait 35 ms longer. Harmonics are missed in the longest window that is
//!    known, where a second reed or the tail of a click does not stand in for them.
//! 6. *Amplitude flattening* (`flatten`) of notes that begin: 5 ms of latency between 200 and 500 Hz.
//! 7. *Harmonics* (`refine`). A Hann window of exactly P periods, so that no harmonic leaks into another; the frequency of
//!    each harmonic by reassignment (Auger & Flandrin 1995), `fₖ = kf − Im(X'ₖ X̄ₖ)/(2π|Xₖ|²)`, X' being under the window's derivative, and its variance
//!    under white noise by the Cramér-Rao bound, `∝ noise/(power·k²·length³)` (Rife & Boorstyn 1974). Whole periods are worth
//!    more than any other single thing in the crate.
//! 8. *Mean over the harmonics* (`consensus`), weighted by inverse variance, in which the residual of each harmonic counts
//!    (second reeds, hum): without it a second reed 12 dB below puts the pitch off by half a cent more.
//! 9. *Window selection* (`window`). Windows of 3.5, 20, 40, 80 and, of low notes, 160 ms are fitted; the longest is believed
//!    whose confidence interval meets those of all shorter ones (Goldenshluger & Nemirovski 1997). The longer ones average
//!    noise and resolve a second reed. No window reaches back before the note began or moved, or the pitch after a leap would be
//!    told from what was before it: slurs of a sound font are told 3 ms late without that rule.
//! 10. *Uncertainty* (`window`) of what is told, by the residuals of the harmonics and by how far the windows differ. The judge
//!     says *cannot tell* by it; no pitch depends on it.
//!
//! The figures are of the bench `tests/ear`, on a quick corpus: most of seed 21 and of an older ear, those of flattening of
//! seeds 1, 21 and 22 and of this ear. `tests/ear/ABLATION.md` has the table, and says of which commit.
//!
//! # What it cannot do
//!
//! A note is known only after about two of its periods and the wait of the third stage: 26 ms at the 95th percentile below
//! 200 Hz. Whispering, noisy speech and a loud metronome are called notes for a few per cent of the time. What a bend has
//! arrived at is known 13 ms later at the 95th percentile, and a vibrato is told 10 ms late. Two reeds of one pitch that are tuned
//! apart are called an octave or a twelfth higher for less than a thousandth of the time.

mod candidates;
mod choose;
mod consensus;
mod ear;
mod flatten;
mod front;
mod history;
mod lowpass;
mod note;
mod octave;
#[cfg(test)]
mod oracles;
mod reading;
pub mod reeds;
mod refine;
mod settings;
mod stream;
mod track;
mod voicing;
mod window;

pub use ear::Ear;
pub use history::History;
pub use reading::Reading;
pub use settings::{Settings, SettingsError};
