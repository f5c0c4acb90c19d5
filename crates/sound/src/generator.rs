//! A source that is pulled: a recording, the built-in player, a reference tone.

/// Makes samples on demand, one channel, full scale −1 to 1.
pub trait Generator: Send {
    /// Samples per second, the same for the whole life of the generator.
    fn sample_rate(&self) -> f64;

    /// Writes the next samples from the front of `out` and says how many. 0 means that it has ended, or that it
    /// [waits](Self::is_waiting); fewer than asked for means neither.
    fn fill(&mut self, out: &mut [f32]) -> usize;

    /// Whether [`fill`](Self::fill) gave 0 samples because none have come yet and more may come.
    fn is_waiting(&self) -> bool {
        false
    }

    /// Something the player should be told about what has been read so far; each text is handed over once.
    fn take_warning(&mut self) -> Option<String> {
        None
    }
}
