//! Whether something sounds, since when, and for how long nothing has.

/// Silences shorter than this are dropouts of the ear, seconds.
pub(crate) const DROPOUT_S: f64 = 0.07;
/// Sounds shorter than this (a click, a squeak) do not end a silence, seconds.
const BLIP_S: f64 = 0.1;

/// Follows sound and silence of one stream. Dropouts shorter than 0.07 s do not interrupt a sound, and sounds shorter
/// than 0.1 s do not interrupt a silence. Times are seconds from any origin and must not run backwards.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Voice {
    since: Option<f64>,
    last: f64,
    /// When a sound that was no blip was last heard; before the first one, when listening began.
    last_solid: Option<f64>,
}

impl Voice {
    /// Takes what is heard at a moment.
    pub fn hear(&mut self, now: f64, sounds: bool) {
        let last_solid = self.last_solid.get_or_insert(now);
        let interrupted = now - self.last > DROPOUT_S;
        if interrupted {
            self.since = None;
        }
        if sounds {
            let since = *self.since.get_or_insert(now);
            self.last = now;
            if now - since >= BLIP_S {
                *last_solid = now;
            }
        }
    }

    /// When something was last heard; 0 before that.
    pub fn last(&self) -> f64 {
        self.last
    }

    /// Since when something sounds, dropouts aside; `None` while nothing does.
    pub fn since(&self) -> Option<f64> {
        self.since
    }

    /// Seconds of silence until `now`, blips aside; 0 before anything was heard.
    pub fn silent_s(&self, now: f64) -> f64 {
        self.last_solid.map_or(0.0, |last| now - last)
    }
}
