//! Whether the player is silent, and since when.

/// Silences shorter than this are dropouts of the ear, seconds.
const DROPOUT_S: f64 = 0.07;
/// Sounds shorter than this (a click, a squeak) do not end a silence, seconds.
const BLIP_S: f64 = 0.1;

/// Listens for silence. Times are sample counts; the rate comes with each question, for it may change.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Hush {
    now: u64,
    /// Since when something sounds, dropouts aside.
    sound_since: Option<u64>,
    sound_last: u64,
    /// Since when nothing sounds, blips aside.
    quiet_since: Option<u64>,
}

impl Hush {
    /// Takes what is heard at a sample time.
    pub(crate) fn hear(&mut self, time: u64, sounding: bool, sample_rate: f64) {
        let seconds = |from: u64| time.saturating_sub(from) as f64 / sample_rate;
        self.now = time;
        if sounding {
            let goes_on = self.sound_since.filter(|_| seconds(self.sound_last) <= DROPOUT_S);
            let since = goes_on.unwrap_or(time);
            self.sound_since = Some(since);
            self.sound_last = time;
            if seconds(since) >= BLIP_S {
                self.quiet_since = None;
            }
        } else if self.sound_since.is_none_or(|_| seconds(self.sound_last) > DROPOUT_S) {
            let since = if self.sound_since.is_some() { self.sound_last } else { time };
            self.sound_since = None;
            self.quiet_since.get_or_insert(since);
        }
    }

    /// Something sounds.
    pub(crate) fn sounding(&self) -> bool {
        self.sound_since.is_some()
    }

    /// Seconds of silence so far.
    pub(crate) fn quiet_s(&self, sample_rate: f64) -> f64 {
        self.quiet_since.map_or(0.0, |since| self.now.saturating_sub(since) as f64 / sample_rate)
    }
}
