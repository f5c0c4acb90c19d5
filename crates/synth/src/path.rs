//! Where the pitch of a note is at every moment.

use crate::curve::Curve;
use crate::wobble::Wobble;
use std::f64::consts::TAU;

/// Seconds over which vibrato and drift set in once the pitch is reached, so that the pitch has no corner
/// there.
const ONSET_S: f64 = 0.1;

/// Samples from one knot to the next: what changes slowly is worked out at the knots and interpolated linearly between
/// them. The truth is worked out the same way, so it is exact all the same.
pub(crate) const KNOT: u64 = 16;

/// The value a `share` of the way from one knot to the next.
pub(crate) fn between_knots(before: f64, after: f64, share: f64) -> f64 {
    before + (after - before) * share
}

/// The most turns to another way in one gesture. The number is fixed, so that they lie in an array and allocate
/// nothing.
pub(crate) const MOST_TURNS: usize = 7;

/// A slide from the pitch before to another one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Turn {
    /// When it begins and how long it takes, seconds.
    pub(crate) from_s: f64,
    pub(crate) glide_s: f64,
    /// How far it leads, cents.
    pub(crate) cents: f64,
}

impl Turn {
    /// No turn.
    pub(crate) const NEVER: Self = Self { from_s: f64::INFINITY, glide_s: 0.0, cents: 0.0 };

    /// How far it has led at `t`, cents.
    fn at(&self, t: f64) -> f64 {
        match t - self.from_s {
            gone if gone <= 0.0 => 0.0,
            gone if gone < self.glide_s => self.cents * Curve::Smooth.at(gone / self.glide_s),
            _ => self.cents,
        }
    }
}

/// The pitch of one voice over time, in closed form. Times are seconds since the note began, cents are
/// counted from the pitch aimed at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Path {
    /// The pitch aimed at, hertz.
    pub(crate) hz: f64,
    /// Where the note starts.
    pub(crate) from_cents: f64,
    /// How long it stays there, seconds.
    pub(crate) dwell_s: f64,
    /// How long the slide from there takes, seconds.
    pub(crate) glide_s: f64,
    /// The shape of that slide.
    pub(crate) curve: Curve,
    /// Where the slide ends: 0 at the pitch aimed at, otherwise off it.
    pub(crate) miss_cents: f64,
    /// How long it takes to put that right, seconds.
    pub(crate) settle_s: f64,
    /// Slope once settled, cents per second.
    pub(crate) drift_cents_per_s: f64,
    /// Rate (hertz) and depth (cents either side) of the vibrato once settled.
    pub(crate) vibrato: (f64, f64),
    /// When the pitch begins to go back to the natural reed, and how long that takes, seconds.
    pub(crate) back_s: (f64, f64),
    /// How far the natural reed lies above the pitch aimed at, cents; 0 if the pitch does not go back.
    pub(crate) back_cents: f64,
    /// Other ways that it turns to, in their order.
    pub(crate) turns: [Turn; MOST_TURNS],
    /// RMS of the jitter, cents.
    pub(crate) jitter_cents: f64,
    /// The shape of the jitter.
    pub(crate) wobble: Wobble,
}

impl Path {
    /// When the pitch aimed at is reached for good.
    pub(crate) fn settled_s(&self) -> f64 {
        self.dwell_s + self.glide_s + self.settle_s
    }

    /// The fundamental at `t`, hertz; `jitter` is the wobble's value there.
    pub(crate) fn hz_with(&self, t: f64, jitter: f64) -> f64 {
        self.hz * ((self.planned(t) + self.jitter_cents * jitter) / 1200.0).exp2()
    }

    /// The fundamental at sample `n` from the start as it is rendered: on a straight line between the knots.
    pub(crate) fn hz_at(&self, n: u64, sample_rate: f64) -> f64 {
        let knot = |n: u64| {
            let t = n as f64 / sample_rate;
            self.hz_with(t, self.wobble.at(t).0)
        };
        let before = n - n % KNOT;
        between_knots(knot(before), knot(before + KNOT), (n - before) as f64 / KNOT as f64)
    }

    /// How much of the way from the start to the pitch aimed at has been gone, 0 to 1.
    pub(crate) fn share(&self, t: f64) -> f64 {
        if t >= self.settled_s() || self.from_cents == 0.0 {
            return 1.0;
        }
        1.0 - (self.reaching(t) / self.from_cents).clamp(0.0, 1.0)
    }

    /// Cents from the pitch aimed at, without jitter.
    fn planned(&self, t: f64) -> f64 {
        let turned: f64 = self.turns.iter().map(|turn| turn.at(t)).sum();
        self.reaching(t) + self.held(t - self.settled_s()) + self.going_back(t) + turned
    }

    /// The way back to the natural reed.
    fn going_back(&self, t: f64) -> f64 {
        let (from, rise_s) = self.back_s;
        if self.back_cents == 0.0 || t <= from {
            return 0.0;
        }
        self.back_cents * if t < from + rise_s { Curve::Smooth.at((t - from) / rise_s) } else { 1.0 }
    }

    /// The way to the pitch: start, slide, putting right.
    fn reaching(&self, t: f64) -> f64 {
        let moving = t - self.dwell_s;
        if moving < 0.0 {
            return self.from_cents;
        }
        if moving < self.glide_s {
            return self.from_cents
                + (self.miss_cents - self.from_cents) * self.curve.at(moving / self.glide_s);
        }
        let settling = moving - self.glide_s;
        if settling < self.settle_s {
            self.miss_cents * (1.0 - Curve::Smooth.at(settling / self.settle_s))
        } else {
            0.0
        }
    }

    /// What happens while the note is held, `t` seconds after it settled.
    fn held(&self, t: f64) -> f64 {
        if t <= 0.0 {
            return 0.0;
        }
        let (rate, depth) = self.vibrato;
        let vibrato =
            if depth == 0.0 { 0.0 } else { depth * (TAU * rate * t).sin() * (t / ONSET_S).min(1.0) };
        self.drift_cents_per_s * t + vibrato
    }

    /// An upper bound on the pitch until `end_s`, hertz, from which the band limit is reckoned.
    pub(crate) fn highest_hz(&self, end_s: f64) -> f64 {
        let drift = (self.drift_cents_per_s * (end_s - self.settled_s())).max(0.0);
        // Three sinusoids in phase reach √6 times their RMS.
        let held = drift + self.vibrato.1.abs() + 2.5 * self.jitter_cents;
        let turns = self.turns.iter().scan(0.0, |sum: &mut f64, turn| {
            *sum += turn.cents;
            Some(*sum)
        });
        let highest =
            self.from_cents.max(self.miss_cents).max(self.back_cents).max(turns.fold(0.0, f64::max));
        self.hz * ((highest + held) / 1200.0).exp2()
    }
}
