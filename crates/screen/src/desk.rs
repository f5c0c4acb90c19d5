//! What the player has chosen on the screen: the part of its state that views change.

use crate::View;
use crate::mapping::{Library, Mapping};
use layout::{Harp, Temperament};
use practice::Drill;
use theory::Position;

/// What lies before the player.
#[derive(Clone, Debug)]
pub(crate) struct Desk {
    /// The view on the screen.
    pub(crate) view: View,
    /// The drills to choose from.
    pub(crate) drills: Vec<Drill>,
    /// The chosen line of the list of drills.
    pub(crate) chosen: usize,
    /// The position whose degrees are shown.
    pub(crate) position: Position,
    /// The name of the scale that the map showed last.
    pub(crate) scale: Option<String>,
    /// The harps that the player owns, from the lowest up.
    pub(crate) owned: Vec<Harp>,
    /// The map, once it was opened.
    pub(crate) map: Option<Box<Mapping>>,
    /// What the map can choose from.
    library: Library,
}

impl Desk {
    /// The first screen, with these drills.
    pub(crate) fn new(drills: Vec<Drill>, library: Library) -> Self {
        Self {
            view: View::Home,
            drills,
            chosen: 0,
            position: Position::default(),
            scale: None,
            owned: Vec::new(),
            map: None,
            library,
        }
    }

    /// Takes other drills and another library; the same drill stays chosen if it is still there.
    pub(crate) fn offer(&mut self, drills: Vec<Drill>, library: Library) {
        let name = self.drills.get(self.chosen).map(|drill| drill.name.clone());
        let same = drills.iter().position(|drill| Some(&drill.name) == name.as_ref());
        self.chosen = same.unwrap_or(self.chosen.min(drills.len().saturating_sub(1)));
        (self.drills, self.library) = (drills, library);
    }

    /// The drill that is chosen in the list.
    pub(crate) fn chosen_drill(&self) -> Option<&Drill> {
        self.drills.get(self.chosen)
    }

    /// The temperament of the harp's reeds, if it is one that has a name.
    pub(crate) fn temperament_of(&self, harp: &Harp) -> Option<&Temperament> {
        self.library.temperament_of(harp)
    }

    /// Opens the map of a harp; without a scale to show there is none.
    pub(crate) fn open_map(&mut self, harp: &Harp) {
        let map = Mapping::new(self.library.clone(), harp, self.position, self.scale.as_deref());
        self.map = map.map(Box::new);
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
