//! The screen as it is given its settings, and what there is to choose from.

use crate::catalogue;
use crate::setup::Setup;
use practice::run::Phrase;
use screen::{App, Glyphs, InTime, Look, Notice, Theme, View};

/// The screen as the settings want it, for a program that begins in this view.
pub(crate) fn app(setup: &Setup, first: View) -> App {
    let theme = if setup.mono { Theme::MONO } else { Theme::COLOUR };
    let glyphs = if setup.ascii { Glyphs::ASCII } else { Glyphs::UNICODE };
    let mut app = App::new(screen::Setup {
        look: Look { theme, glyphs, tab: setup.tab.clone() },
        keys: setup.keys.clone(),
        drills: catalogue::for_any_harp(&setup.library),
        library: library(setup),
        first,
        reduced_motion: setup.settings.config.reduced_motion,
    });
    app.own(setup.owned.clone());
    app.go_on_with(setup.state.position(), setup.state.scale());
    for warning in setup.warnings.iter().cloned() {
        app.on_notice(&Notice::Say(warning));
    }
    app
}

/// What the map can choose from, and what is offered to be played in time.
pub(super) fn library(setup: &Setup) -> screen::Library {
    screen::Library {
        tunings: setup.library.tunings.iter().cloned().collect(),
        temperaments: setup.library.temperaments.clone(),
        scales: setup.library.scales.clone(),
        ability: setup.settings.config.ability.clone().unwrap_or_default(),
        in_time: InTime::with(catalogue::for_any_harp::<Phrase>(&setup.library)),
    }
}
