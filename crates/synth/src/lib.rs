//! Sound made by arithmetic: reeds, a simulated player, reference tones.
//!
//! Start with [`SimulatedPlayer`]: give it a harp, then [`Gesture`]s (what the player does with one note or
//! chord), and let it [fill](SimulatedPlayer::fill) buffers without end. It knows the exact truth of what it
//! plays, sample by sample. [`Learner`] plays as somebody does who is still learning, [`Tone`] is for the
//! player's ears.
//!
//! Everything here is pure: no I/O, no clock, no threads. The same seed gives the same samples, whatever the
//! sizes of the blocks they are asked for in, and nothing allocates while it renders.
//!
//! The sound is a stand-in for a harp, not a model of one. What it takes from the literature on free reeds:
//! * a bend sounds *one* pitch between the two reeds of the hole, an overbend one outside them (Bahnson,
//!   Antaki & Beery, JASA 103 (1998), abstract), and both reeds of a bent hole move at one common frequency
//!   (Förtsch, DEGA/FAMA, Berlin 2016). So a bend is one harmonic series here, never a mixture of two;
//! * no pitch depends on loudness, because there is no published figure for the harp to follow.
//!
//! All the rest (how partials fall off, attack times, the size of jitter, shimmer and breath noise) is chosen
//! by ear and said so where it stands.
//!
//! ```
//! use layout::{Breath, Harp, HarpKey, Technique, Way};
//! use synth::{Gesture, SimulatedPlayer};
//!
//! let harp = Harp::richter("C".parse::<HarpKey>().unwrap());
//! let mut player = SimulatedPlayer::new(&harp, 48_000.0, 1);
//! let half_step = Way::new(3, Breath::Draw, Technique::Bend(1));
//! let played = player.play(Gesture::new(half_step).cents_off(12.0).glide(0.2).seconds(1.0)).unwrap();
//! let mut block = [0.0; 512];
//! while !player.is_idle() {
//!     player.fill(&mut block);
//! }
//! let heard = player.truth(played.settled + 1000).unwrap();
//! assert!(layout::cents_between(played.hz, heard).abs() < 3.0);
//! ```

mod band;
mod biquad;
mod click;
mod curve;
mod envelope;
mod error;
mod gesture;
mod harmonics;
mod learner;
mod level;
mod model;
mod noise;
mod path;
mod player;
mod random;
mod score;
mod slur;
mod spectrum;
mod start;
mod take;
mod tone;
mod voice;
mod wobble;

pub use band::{Band, BandPart, BandPlan, Change};
pub use click::{Accent, Beat, ClickTrack};
pub use error::SynthError;
pub use gesture::Gesture;
pub use learner::Learner;
pub use model::Model;
pub use player::SimulatedPlayer;
pub use score::Played;
pub use slur::{OTHERS, Slur, Timed};
pub use tone::Tone;
