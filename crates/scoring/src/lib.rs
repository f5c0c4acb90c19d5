//! A reading against a target: cents off, depth reached, held how long; the verdict and why.
//!
//! A [`Judge`] listens to one try at one [`Target`] and ends with a [`Verdict`]. It is fed with the ear's readings and
//! counts time in samples only, so the same readings give the same verdict at any speed and in any block size.
//!
//! # What is judged
//!
//! A try is judged by its *held part*: the stretch during which the pitch stayed near one value. Exactly:
//!
//! * Readings are grouped into *stretches*. A stretch goes on while its readings lie within 30 cents of the stretch's
//!   own running median. An excursion out of that band that lasts less than 0.15 s does not end it, and neither does
//!   a silence of less than 0.07 s. So vibrato, a click, a wrong-octave blip of the estimator or a brief dropout are
//!   no mistakes, while a slide, a pop at the start or a droop at the end fall outside the stretch by themselves.
//! * Within the stretch, the held part runs from where the pitch comes within 15 cents of its centre (more if the
//!   middle half of the stretch has more vibrato or drift than that) and stays there for 0.1 s, to where it is last
//!   that near. Readings more than 100 cents from the median are left out of the figures.
//! * The centre of the held part decides: the middle of a straight line through it, the ends weighing less than the
//!   middle. Of a steady note that is the median, and of a vibrato its middle, wherever it is cut off. Vibrato about
//!   the right pitch is therefore in tune; it is *unsteady* only if the spread passes 44 cents (a sine vibrato of 50
//!   cents either way: it reaches into the next semitone).
//!
//! A try ends
//!
//! * when one pitch has been held for the time asked ([`Target::hold_s`]). A wrong pitch gets at least 1 s, and the
//!   natural note from which a bend is reached 1 s more, so that a player may set up on it;
//! * after 0.35 s of silence. The longest stretch in tune is judged; if there is none, the longest one of 0.3 s or more
//!   that is not the natural note on the way to a bend; if there is none either, the longest;
//! * after 6 s more than the hold without any pitch held: *unsteady*;
//! * after 10 s without a note: *not heard* (unless the judge is told to be [patient](Judge::patient)).
//!
//! Sounds shorter than 0.15 s do not begin a try. A try that was over within 0.3 s and not in tune, and one whose pitch
//! the ear is less sure of than the tolerance is wide, end as *cannot tell*, which counts neither way.
//!
//! A pitch is measured against the target note, never against "so many cents below whatever sounded": the reed may be
//! off itself. It counts as a miss at the target ([`Outcome::Short`], [`Outcome::Past`], [`Outcome::Flat`],
//! [`Outcome::Sharp`]) as long as the target's hole can sound it on the target's breath, with 65 cents to spare at
//! either end; beyond that it is [`Outcome::AnotherNote`].
//!
//! ```
//! use layout::{Breath, Harp, HarpKey, Technique, Way};
//! use pitch::Reading;
//! use scoring::{Judge, Outcome, Target, Tolerance};
//!
//! let harp = Harp::richter("C".parse::<HarpKey>().unwrap());
//! let half_step = Way::new(3, Breath::Draw, Technique::Bend(1));
//! let target = Target { way: half_step, cents: 0.0, hold_s: 0.5 };
//! let mut judge = Judge::new(&harp, target, Tolerance::default(), 48_000.0).unwrap();
//!
//! // Forty cents too high, hop by hop, until the judge has heard enough.
//! let hz = harp.concert().hz(harp.note(half_step).unwrap(), 40.0);
//! let verdict = (0..400u64).find_map(|hop| {
//!     let time = hop * 256;
//!     judge.hear(&Reading {
//!         time,
//!         known: time + 1024,
//!         hz: Some(hz),
//!         sigma_cents: 0.1,
//!         clarity: 1.0,
//!         level_dbfs: -20.0,
//!         onset: hop == 0,
//!     })
//! });
//! assert!(matches!(verdict.unwrap().outcome, Outcome::Short(cents) if (cents - 40.0).abs() < 0.01));
//! ```

mod aim;
mod figures;
mod judge;
pub mod reeds;
mod target;
pub mod timed;
mod tone;
mod trace;
mod track;
mod verdict;
mod voice;
mod words;

pub use judge::{Judge, Live};
pub use target::{Target, Tolerance, ToleranceError};
pub use trace::Trace;
pub use verdict::{Between, Figures, Outcome, Verdict, Vibrato, Why};
pub use voice::Voice;
