//! What of a drill may be shown, and when.

use super::Session;
use crate::agenda::Stage;
use crate::{Feedback, Tried};

impl Session {
    /// Every finished try, oldest first.
    pub fn results(&self) -> &[Tried] {
        &self.results
    }

    /// When it is shown how a try goes.
    pub fn feedback(&self) -> Feedback {
        self.feedback
    }

    /// Takes another feedback, for this try and for those to come.
    pub(crate) fn take_feedback(&mut self, feedback: Feedback) {
        self.feedback = feedback;
    }

    /// Whether what moves with the pitch may be shown while this try goes on.
    pub fn shows_live(&self) -> bool {
        self.feedback.is_live(self.counted())
    }

    /// The tries of which the verdict may be told by now, oldest first. At the end of the drill it is all of them.
    pub fn told(&self) -> &[Tried] {
        if !matches!(self.stage, Stage::Asked) {
            return &self.results;
        }
        let (mut left, mut told) = (self.feedback.told(self.counted()), 0);
        for tried in &self.results {
            if !tried.verdict.asks_again() {
                if left == 0 {
                    break;
                }
                left -= 1;
            }
            told += 1;
        }
        self.results.get(..told).unwrap_or_default()
    }

    /// How many tries are over and not told yet.
    pub fn untold(&self) -> usize {
        self.results.len() - self.told().len()
    }

    fn counted(&self) -> usize {
        self.results.iter().filter(|tried| !tried.verdict.asks_again()).count()
    }
}
