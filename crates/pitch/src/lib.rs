//! Samples in, readings out: which fundamental is sounding now, how surely, how loud, and since when.
//!
//! # Signal model
//!
//! A note is a sum of harmonics in noise, `x(n) = Σ aₖ cos(2πkfn + φₖ) + e(n)`, of which `f` moves slowly (bends,
//! vibrato) and the amplitudes rise within a few periods. The lowest twelve are fitted. Beside it there may be a second
//! reed, breath, a room, hum and clicks. One fundamental is estimated every 2.5 ms (the hop) from the newest samples;
//! [`reeds`] is an estimator of its own for several reeds at once.
//!
//! # Estimator
//!
//! *Latency* is the time from the beginning of the attack until a reading within 10 cents of the note is known, after
//! which every reading of the next 20 ms is within 10 cents too; at the 95th percentile. *Clarity* is the share of the
//! sound's power that the harmonics of a fit explain, less what they would explain of noise. Sound that repeats after a
//! period but lies above the twelfth harmonic is left out of this power: on low reeds it can be most of it. The bench
//! has no tone as bright, so no figure of it shows this.
//!
//! 1. *Front end* (`front`, `lowpass`). To about 16 kHz by a minimum-phase filter, 0.1 ms late. With a linear-phase one
//!    a vibrato is reported 1.3 ms later, and 1 % more of noise and breath is called a note.
//! 2. *Candidates* (`candidates`). Peaks of the normalised cross-correlation over lags T, each on the newest 2T samples:
//!    `r(T) = Σ x(n)x(n−T) / √(Σ x(n)² Σ x(n−T)²)` (Talkin 1995). With one long window for all lags onsets are told 1.9 ms
//!    later.
//! 3. *Voicing* (`choose`, `voicing`). The shortest lag within 0.14 of the best is a first guess. It begins a note
//!    after 1 to 8 frames, by how many standard deviations `√N · artanh r` lies above chance, N being the number of
//!    samples compared, 64 at most (Fisher 1921). Without the wait 3 % of noise, breath and clicks are called notes,
//!    and 34 onsets more are told in 100 notes. What dies away as fast as a click begins no note; without that rule 7
//!    onsets more are told.
//! 4. *Notes* (`track`, `note`). The tracker is silent or sounds one note. As long as the pitch of that note explains
//!    the sound nearly as well as any other, no other is asked for; otherwise a rival has to be the best guess for one
//!    frame more than begins a note out of silence. An octave of a note that is heard is no rival, for the fifth stage
//!    decides about octaves, nor is any multiple of its period. A note ends once it was missed in 10 ms of frames more
//!    than it was heard in, or in 30 ms if the sound stays as loud. If one frame in which it is heard made up for all
//!    before, what a click leaves in a room would be held as a note; the bench, whose clicks have no room, does not
//!    show it.
//! 5. *Octave* (`octave`). The first guess may be an octave or a twelfth off; later one decision mends that: beliefs in
//!    f/3, f/2, 2f, 3f and 4f add up frame by frame. The residual of the fit at f speaks for f/2 and f/3; without it
//!    some low notes with a strong second harmonic are known 66 ms later. Harmonics that lack power speak for 2f, 3f
//!    and 4f. They are looked for over 20 ms, since in longer windows those of the note before stand in for them for 60
//!    to 140 ms after a leap of a twelfth or of two octaves, and in the longest window that is fitted, where a
//!    second reed does not stand in for them. There the odd harmonics of f/2 are looked for as well, once in 40 ms: of
//!    20 notes with a strong second harmonic beside a reed 12 dB below 16 would stay an octave too high, but the bench
//!    has hardly one such note.
//! 6. *Amplitude flattening* (`flatten`) of notes that begin. Without it the latency between 200 and 500 Hz is 2.5 ms
//!    longer.
//! 7. *Harmonics* (`refine`). A Hann window of exactly P periods, two at least, so that no harmonic leaks into another.
//!    Harmonic k has the frequency `fₖ = kf − Im(X'ₖ X̄ₖ)/(2π|Xₖ|²)`, X' being under the window's derivative
//!    (reassignment: Auger & Flandrin 1995). So it tells the fundamental `fₖ/k`, with a variance under white noise of
//!    `∝ noise/(power·k²·length³)` (the Cramér-Rao bound: Rife & Boorstyn 1974). Windows of any length read clean notes
//!    0.035 cents worse.
//! 8. *Mean of these fundamentals* (`consensus`), weighted by inverse variance. How far each harmonic lay from the mean
//!    of late adds to its variance (second reeds, hum): without it a second reed 12 dB below puts the pitch off by 1.0
//!    cents more.
//! 9. *Window selection* (`window`). Windows of 20, 40, 80 and, of low notes, 160 ms are fitted. The longest is
//!    believed whose confidence interval meets those of all shorter ones (Goldenshluger & Nemirovski 1997). The longer
//!    ones average noise and resolve a second reed: if there were no windows but those of 20 ms, 2 points fewer of the
//!    degraded readings would lie within 5 cents, while a player who wavers would be read 0.2 cents better. The shorter
//!    ones follow: with the longest always, bends are known 43 ms later. Where a window of 3.5 ms (or two periods) and
//!    that of 20 ms exclude each other the note has moved, and no window reaches back before its last movement:
//!    otherwise slurs of a sound font are reported 3 ms late. Once a note has filled a longer window twice, the longer
//!    windows are fitted in turn, one in a frame: all of them in each frame cost 15 to 40 % more instructions, and read
//!    a player who wavers 0.05 cents better.
//! 10. *Uncertainty* (`window`) of what is reported, by how far the harmonics lie from their mean and how far the
//!     windows differ. Whoever judges a note says *cannot tell* by it; no pitch depends on it.
//!
//! The figures are means over seeds 21, 22 and 23 of the bench `tests/ear`, on a quick corpus, errors and latencies at
//! the 95th percentile; those of the first stage are of an older filter. `tests/ear/ABLATION.md` has the table. What
//! only clicks, rooms and slurs show (the tail of a click in the fifth stage, slurs in the ninth) stands in its section
//! on predictions.
//!
//! # What it cannot do
//!
//! A note is known only after about two of its periods and the wait of the third stage: 28 ms at the 95th percentile
//! below 200 Hz. Whispering, noisy speech and a loud metronome are called notes for a few per cent of the time. What a
//! bend has arrived at is known 13 ms after the sound at the 95th percentile, and a vibrato is reported with a lag of
//! 10 ms. Two reeds of one pitch that are tuned apart are called an octave or a twelfth higher for less than a
//! thousandth of the time.

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
