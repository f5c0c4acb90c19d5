//! What we play taken out of what we hear.
//!
//! # Signal model
//!
//! The microphone hears `y = h * x + s`: what the loudspeaker was handed (`x`, known to the sample), through whatever
//! lies between the two devices (`h`: loudspeaker, room, microphone), and beside it the player (`s`). [`Remover`] keeps
//! an estimate of 350 ms of `h` and gives out `y - ĥ * x`. [`Tape`] gives `x` at the moments at which the microphone
//! takes its samples: the two devices count by clocks of their own, and 50 millionths between them would cost 10 to 15
//! dB.
//!
//! # How
//!
//! * The estimate is learnt by a partitioned frequency-domain Kalman filter (Enzner & Vary, "Frequency-domain adaptive
//!   Kalman filter for acoustic echo control in hands-free telephones", Signal Processing 86, 2006; Kuech, Mabande &
//!   Enzner, "State-space architecture of the partitioned-block-based acoustic echo controller", ICASSP 2014; both from
//!   memory). It has no step size: each bin of each partition keeps the variance of its own error, and the gain follows
//!   from it and from how loud the player is heard to be in that bin. `kalman.rs` has the formulas.
//! * It learns from blocks of 64 ms, long enough to tell the harmonics of a reed from those of a band. What was learnt
//!   is applied sample by sample by a plain convolution, so nothing is delayed: the added delay is zero.
//! * A bin in which much more is left than the filter expects of itself hears the player, and is neither corrected nor
//!   doubted further there. So a player in unison with a tone that sounds is not learnt as if he were its echo.
//! * The variance with which the filter begins is set by the power that is heard over the power that is sounded
//!   (`level.rs`).
//! * A bin is learnt only by its own sound, not by what leaks into it from louder ones (`kalman.rs`): so the tones of
//!   the next chord are not taken for known.
//! * [`Pace`] keeps what was sounded beside what is heard by the echo itself: the clocks of two devices tell their
//!   speeds too roughly.
//! * How much of the echo is left is told from the spectra of the output and of the estimate (`left.rs`): the median
//!   over what sounds now, of which a player covers a small part. That it got worse is only told by what has just
//!   changed in what we sound, because a player in unison with a steady tone looks like a worse estimate of that tone.
//!   It is told quickly only where what is left correlates with the estimate, because a player does not. A filter that
//!   was good and no longer is forgets, and learns anew.
//! * What is heard has to be clearly louder than what is left of the echo to be the player's ([`Clear`]): in rests a
//!   band that was taken out to −40 dB is still a band, and an ear would hear its notes.
//! * [`Gate`] says of each reading where the player may have been hidden. What comes back later than the filter reaches
//!   is looked for (`lag.rs`): only what does not come back at all is headphones.
//! * Where nothing was sounded for as long as the filter reaches, samples pass as they are, bit for bit, and cost
//!   nothing. Until the estimate is known to be good for anything, it is not applied: the sound of a player in
//!   headphones stays as it is.
//!
//! # What it cannot do
//!
//! * A loudspeaker that clips adds harmonics and mixtures that no `h` has. A curve before the filter, learnt beside it
//!   (`clip.rs`), takes out clipping that is symmetric and instantaneous. A cone that swings too far, whose effect
//!   lasts, it does not model.
//! * A microphone that is moved while nothing but one steady tone sounds cannot be told from a player in unison with
//!   it. It is noticed when the tone changes.
//! * While one steady tone sounds, the drift is what the clocks tell; off by 5 millionths it costs 1 to 4 dB, by 20
//!   millionths 5 to 12.
//! * A player who begins together with a steady tone, in exact unison with it and before anything else was ever
//!   sounded, is learnt as its echo.

mod clear;
mod clip;
mod gate;
mod kalman;
mod lag;
mod left;
mod level;
mod pace;
mod presence;
mod remover;
mod slip;
mod tape;
mod transform;
mod weighed;

pub use clear::Clear;
pub use gate::{Gate, Gated};
pub use pace::Pace;
pub use presence::Presence;
pub use remover::{Remover, State};
pub use tape::Tape;
