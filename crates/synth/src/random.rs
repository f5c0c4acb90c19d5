//! Random numbers that depend on nothing but a seed.

use oorandom::Rand32;

/// A generator for one purpose: the same seed and the same purpose give the same numbers, different purposes
/// independent ones.
pub(crate) fn generator(seed: u64, purpose: u64) -> Rand32 {
    // The odd constant is 2^64 over the golden ratio (Knuth, TAOCP 3, 6.4): it spreads neighbouring purposes
    // apart.
    Rand32::new_inc(seed ^ purpose.wrapping_mul(0x9e37_79b9_7f4a_7c15), purpose)
}

/// Uniform from −1 to 1.
pub(crate) fn signed(random: &mut Rand32) -> f64 {
    // The full 32 bits, centred, so that the mean is exactly 0.
    (f64::from(random.rand_u32()) - f64::from(u32::MAX) / 2.0) / (f64::from(u32::MAX) / 2.0)
}

/// Uniform from `low` to `high`.
pub(crate) fn between(random: &mut Rand32, low: f64, high: f64) -> f64 {
    low + (high - low) * (signed(random) + 1.0) / 2.0
}

/// Roughly normal with mean 0 and standard deviation 1, never beyond ±3: the sum of three uniform numbers.
///
/// Bounded on purpose: a simulated player makes no absurd errors.
pub(crate) fn bell(random: &mut Rand32) -> f64 {
    signed(random) + signed(random) + signed(random)
}
