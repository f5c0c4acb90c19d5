//! How loud what is heard is against what is sounded.

/// The level is taken over so many blocks after learning began, one second: the first of them do not yet hear all that
/// was sounded.
const BLOCKS: u32 = 16;

/// Powers of what was sounded and of what was heard since learning began. A player beside the echo makes it look louder
/// than it is.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Level {
    sounded: f32,
    heard: f32,
    blocks: u32,
}

impl Level {
    /// Takes the powers of a block.
    pub(crate) fn take(&mut self, sounded: f32, heard: f32) {
        if self.blocks < BLOCKS {
            self.sounded += sounded;
            self.heard += heard;
            self.blocks += 1;
        }
    }

    /// What is heard against what is sounded, as a ratio of powers.
    pub(crate) fn ratio(&self) -> f32 {
        self.heard / self.sounded.max(f32::MIN_POSITIVE)
    }

    /// The power of a block that is sounded.
    pub(crate) fn sounded(&self) -> f32 {
        self.sounded / self.blocks.max(1) as f32
    }
}
