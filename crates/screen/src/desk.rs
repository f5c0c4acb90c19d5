//! What the player has chosen on the screen: the part of its state that views change.

use crate::mapping::{Library, Mapping};
use crate::{DrillEntry, View};
use layout::Harp;
use theory::Position;

/// What lies before the player.
#[derive(Clone, Debug)]
pub(crate) struct Desk {
    /// The view on the screen.
    pub(crate) view: View,
    /// The drills to choose from.
    pub(crate) drills: Vec<DrillEntry>,
    /// The chosen line of the list of drills.
    pub(crate) chosen: usize,
    /// The position whose degrees are shown.
    pub(crate) position: Position,
    /// The map, once it was opened.
    pub(crate) map: Option<Box<Mapping>>,
    /// What the map can choose from.
    library: Library,
}

impl Desk {
    /// The first screen, with these drills.
    pub(crate) fn new(drills: Vec<DrillEntry>, library: Library) -> Self {
        Self { view: View::Home, drills, chosen: 0, position: Position::default(), map: None, library }
    }

    /// Opens the map of a harp; without a scale to show there is none.
    pub(crate) fn open_map(&mut self, harp: &Harp) {
        self.map = Mapping::new(self.library.clone(), harp, self.position).map(Box::new);
        if self.map.is_some() {
            self.view = View::Map;
        }
    }

    /// The player took another harp.
    pub(crate) fn take_harp(&mut self, harp: &Harp) {
        if let Some(map) = &mut self.map {
            map.rebuild(harp);
        }
    }
}
