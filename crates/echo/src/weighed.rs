//! What many bins tell together.

/// What a bin tells, and how much it counts.
pub(crate) type Weighed = (f32, f32);

/// So many bins tell something together: those of the few lowest harmonics of one note tell nothing yet.
pub(crate) const ENOUGH: usize = 16;

/// The value at which half of the weight lies below; 1 for none.
pub(crate) fn median(told: &mut [Weighed]) -> f32 {
    told.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let total: f32 = told.iter().map(|(_, weight)| weight).sum();
    let mut sum = 0.0;
    let middle = told.iter().find(|(_, weight)| {
        sum += weight;
        sum >= 0.5 * total
    });
    middle.map_or(1.0, |(value, _)| *value)
}
