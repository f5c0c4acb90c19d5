//! What a view draws: the state of the screen and of the exercise, to be looked at and not to be changed.

use crate::desk::Desk;
use crate::ghosts::Ghosts;
use crate::keys::KeyMap;
use crate::notice::World;
use crate::trace::Trace;
use crate::{Look, View};
use layout::Harp;
use practice::Exercise;
use scoring::Tolerance;

/// Everything that a view may draw.
#[derive(Clone, Copy)]
pub(crate) struct Scene<'a> {
    /// What is practised, and on which harp.
    pub(crate) exercise: &'a Exercise,
    /// What the player has chosen.
    pub(crate) desk: &'a Desk,
    /// The last seconds of pitch.
    pub(crate) trace: &'a Trace,
    /// The lines of earlier tries.
    pub(crate) ghosts: &'a Ghosts,
    /// Devices and levels.
    pub(crate) world: &'a World,
    /// Theme, glyphs and tab.
    pub(crate) look: &'a Look,
    /// The keys in force.
    pub(crate) keys: &'a KeyMap,
    /// Numbers instead of moving marks.
    pub(crate) still: bool,
}

impl<'a> Scene<'a> {
    /// The harp in the player's hand.
    pub(crate) fn harp(&self) -> &'a Harp {
        self.exercise.harp()
    }

    /// How near to the target counts as in tune.
    pub(crate) fn tolerance(&self) -> Tolerance {
        self.exercise.tolerance()
    }

    /// The view on the screen.
    pub(crate) fn view(&self) -> View {
        self.desk.view
    }
}
