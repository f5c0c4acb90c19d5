//! The screen as it is given its settings, and what there is to choose from.

use crate::setup::Setup;
use crate::state::USUAL_MINUTES;
use crate::{catalogue, keeping};
use practice::run::Phrase;
use screen::{App, Glyphs, InTime, Look, Notice, Theme, View};

/// The screen as the settings want it, for a program that begins in this view.
pub(crate) fn app(setup: &Setup, first: View) -> App {
    let theme = if setup.mono { Theme::MONO } else { Theme::COLOUR };
    let glyphs = if setup.ascii { Glyphs::ASCII } else { Glyphs::UNICODE };
    let setup_of_screen = screen::Setup {
        look: Look { theme, glyphs, tab: setup.tab.clone() },
        keys: setup.keys.clone(),
        drills: catalogue::for_any_harp(&setup.library),
        library: library(setup),
        first,
        reduced_motion: setup.settings.config.reduced_motion,
        today: keeping::today(),
        minutes: setup.state.minutes().unwrap_or(USUAL_MINUTES),
    };
    let mut app = App::new(setup_of_screen, &setup.harp);
    if let Some(place) = &setup.journal {
        app.call(&place.who, place.named().is_some());
    }
    app.own(setup.owned.clone());
    app.follow(setup.followed(), &setup.harp);
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
        progressions: setup.library.progressions.clone(),
        ability: setup.config_ability(),
        in_time: InTime::with(catalogue::for_any_harp::<Phrase>(&setup.library)),
    }
}
