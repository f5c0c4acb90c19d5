//! The beat of what goes on a clock: where its bars lie in the samples of the stream.

use crate::run::{Metre, StartAt};
use crate::{Moment, Timebase};
use scoring::timed::{Masked, MaskedAt};

/// From the order until the count-in begins, seconds: a loudspeaker takes its time to open. A click that is to sound at
/// once comes too late even for an open one.
pub(crate) const LEAD_S: f64 = 0.6;
/// A note this early, in beats before the first one, is warming up and does not belong to what is counted in.
const EARLIEST_BEATS: f64 = 0.5;
/// The count-in has this many beats at least.
const COUNT_IN_BEATS: u32 = 3;

/// Beats of a count-in: whole bars, three beats at least.
pub(crate) fn count_in_beats(metre: Metre) -> u32 {
    let beats = metre.beats();
    COUNT_IN_BEATS.div_ceil(beats) * beats
}

/// Where the bars lie in the samples of the stream, as they are heard through the microphone.
///
/// It has no beat until [`count_in`](Self::count_in) or [`begin_with`](Self::begin_with) says where the first one is.
#[derive(Clone, Debug)]
pub(crate) struct BeatClock {
    base: Timebase,
    /// Sample time up to which something is known.
    known: u64,
    /// The sample at which the first beat of the first bar is heard.
    zero: Option<f64>,
    /// Whether the clock decides where the first beat is, rather than a note that was heard.
    by_clock: bool,
    /// The bar for which it counts in, counted from 0.
    from_bar: usize,
    /// Seconds from a beat that sounds until the microphone hands it in; `None` where that was never measured.
    delay_s: Option<f64>,
}

impl BeatClock {
    pub(crate) fn new(base: Timebase, delay_s: Option<f64>) -> Self {
        Self { base, known: 0, zero: None, by_clock: false, from_bar: 0, delay_s }
    }

    /// Something is known up to this sample.
    pub(crate) fn hear(&mut self, known: u64) {
        self.known = known;
    }

    /// The samples count from nought again, in another stream, and there is no beat.
    pub(crate) fn restart(&mut self, base: Timebase) {
        (self.base, self.known, self.zero) = (base, 0, None);
    }

    /// The clock will go on from this bar. Until it does, its beat stays where it is.
    pub(crate) fn pause_at(&mut self, bar: usize) {
        self.from_bar = bar;
    }

    /// There is no beat any more; the next one will be the first one of this bar.
    pub(crate) fn stop_at(&mut self, bar: usize) {
        (self.zero, self.from_bar) = (None, bar);
    }

    /// The first beat comes after a lead and a count-in, seconds, or where a recording has it. Bars last `bar_s`.
    pub(crate) fn count_in(&mut self, start: StartAt, ahead_s: f64, bar_s: f64) {
        let first = match start {
            StartAt::At(seconds) => seconds * self.base.rate,
            _ => self.known as f64 + (ahead_s - self.from_bar as f64 * bar_s) * self.base.rate,
        };
        (self.zero, self.by_clock) = (Some(first + self.delay_samples()), true);
    }

    /// This sample lies `behind_s` seconds after the first beat, and so says where that beat is.
    pub(crate) fn begin_with(&mut self, sample: u64, behind_s: f64) {
        (self.zero, self.by_clock) = (Some(sample as f64 - behind_s * self.base.rate), false);
    }

    /// Takes another delay. The beats of the clock sound as before and are heard later by the difference. A beat that
    /// was set by a note that was heard stays.
    pub(crate) fn take_delay(&mut self, delay_s: Option<f64>) {
        let before = self.delay_samples();
        self.delay_s = delay_s;
        let more = if self.by_clock { self.delay_samples() - before } else { 0.0 };
        self.zero = self.zero.map(|zero| zero + more);
    }

    pub(crate) fn base(&self) -> Timebase {
        self.base
    }

    pub(crate) fn known(&self) -> u64 {
        self.known
    }

    /// The sample at which the first beat is heard, if there is a beat.
    pub(crate) fn zero(&self) -> Option<f64> {
        self.zero
    }

    /// The bar for which it counts in, counted from 0.
    pub(crate) fn first_bar(&self) -> usize {
        self.from_bar
    }

    /// The sample of the microphone at which the first beat sounds, were there no delay.
    pub(crate) fn sounds_at(&self) -> f64 {
        self.zero.unwrap_or_default() - self.delay_samples()
    }

    /// Seconds from the first beat; negative before it. `None` while there is no beat.
    pub(crate) fn now_s(&self) -> Option<f64> {
        self.zero.map(|zero| (self.known as f64 - zero) / self.base.rate)
    }

    /// Whether the first beat of the bar for which it counts in has come.
    pub(crate) fn is_counted_in(&self, bar_s: f64) -> bool {
        self.to_go_s(bar_s).is_some_and(|to_go| to_go <= 0.0)
    }

    /// Seconds until the count-in is over. `None` while there is no beat.
    pub(crate) fn to_go_s(&self, bar_s: f64) -> Option<f64> {
        Some(self.from_bar as f64 * bar_s - self.now_s()?)
    }

    /// The earliest moment, seconds from the first beat, at which a note belongs to what is counted in.
    pub(crate) fn earliest_s(&self, bar_s: f64, beat_s: f64) -> f64 {
        self.from_bar as f64 * bar_s - EARLIEST_BEATS * beat_s
    }

    /// A sample in seconds from the first beat; from the beginning of the stream while there is no beat.
    pub(crate) fn seconds_of(&self, sample: u64) -> f64 {
        (sample as f64 - self.zero.unwrap_or_default()) / self.base.rate
    }

    /// Where the player could not be heard, in seconds from the first beat.
    pub(crate) fn masked(&self, masked: &Masked) -> MaskedAt {
        masked.seconds(self.zero.unwrap_or_default(), self.base.rate)
    }

    /// Now.
    pub(crate) fn moment(&self) -> Moment {
        self.base.moment(self.known)
    }

    fn delay_samples(&self) -> f64 {
        self.delay_s.unwrap_or(0.0) * self.base.rate
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BAR_S: f64 = 2.0;

    fn at(known: u64) -> BeatClock {
        let mut clock = BeatClock::new(Timebase::new(1000.0), Some(0.05));
        clock.hear(known);
        clock
    }

    #[test]
    fn a_beat_is_heard_by_the_delay_later_than_it_sounds() {
        let mut clock = at(500);
        assert_eq!((clock.now_s(), clock.to_go_s(BAR_S)), (None, None));
        clock.count_in(StartAt::CountIn, 2.6, BAR_S);
        assert_eq!((clock.sounds_at(), clock.zero()), (3100.0, Some(3150.0)));
        clock.take_delay(Some(0.1));
        assert_eq!((clock.sounds_at(), clock.zero()), (3100.0, Some(3200.0)));
        clock.hear(3199);
        assert!(!clock.is_counted_in(BAR_S));
        clock.hear(3200);
        assert!(clock.is_counted_in(BAR_S) && clock.now_s() == Some(0.0));
    }

    #[test]
    fn a_sample_is_told_in_seconds_from_the_first_beat() {
        let mut clock = at(500);
        assert_eq!(clock.seconds_of(250), 0.25, "there is no beat: from the beginning of the stream");
        clock.begin_with(2000, 0.0);
        assert_eq!([clock.seconds_of(3500), clock.seconds_of(1500)], [1.5, -0.5]);
    }

    #[test]
    fn what_was_broken_off_is_counted_in_for_its_bar() {
        let mut clock = at(9000);
        clock.stop_at(3);
        clock.count_in(StartAt::CountIn, 2.0, BAR_S);
        assert_eq!(clock.sounds_at(), 9000.0 + 2000.0 - 6000.0);
        assert_eq!(clock.earliest_s(BAR_S, 0.5), 5.75);
        clock.restart(Timebase { rate: 500.0, epoch: 1 });
        assert_eq!((clock.zero(), clock.first_bar(), clock.moment().epoch), (None, 3, 1));
    }

    #[test]
    fn a_recording_and_a_first_note_say_where_the_beat_is() {
        let mut clock = at(10);
        clock.count_in(StartAt::At(1.5), 9.0, BAR_S);
        assert_eq!(clock.sounds_at(), 1500.0);
        clock.begin_with(2000, 0.25);
        assert_eq!(clock.zero(), Some(1750.0));
        clock.take_delay(None);
        assert_eq!(clock.zero(), Some(1750.0), "the first note stays the first beat");
    }

    #[test]
    fn a_count_in_has_whole_bars_and_three_beats_at_least() {
        let beats = |metre: &str| count_in_beats(metre.parse().unwrap());
        assert_eq!(["2/4", "3/4", "4/4", "5/4", "6/8", "12/8"].map(beats), [4, 3, 4, 5, 4, 4]);
    }
}
