//! Everything visible: what the player sees, which keys do what, and the state behind it.
//!
//! Start with [`App`]. The program around it passes on the events of a [`practice::Exercise`] ([`App::on_event`]),
//! readings ([`App::on_reading`]), keys ([`App::on_key`]) and news of the world ([`App::on_notice`]); [`App::draw`]
//! draws what follows from them. The app touches no sound, no file and no clock. What needs one of them, it asks for
//! with an [`Action`].
//!
//! One picture runs through all views. Pitch runs from left to right, so flat is left and sharp is right; each hole is
//! a row; time runs downwards. [`scale::Scale`] is that picture's arithmetic, and the widgets draw with it. Words,
//! glyphs and positions carry the meaning; colour only repeats it.
//!
//! ```
//! use layout::Harp;
//! use ratatui::{buffer::Buffer, layout::Rect};
//! use screen::{App, Library, Look, Notice, Setup, View, keys::KeyMap, text};
//!
//! let harp = Harp::richter("C".parse().unwrap());
//! let exercise = practice::Exercise::new(harp, scoring::Tolerance::USUAL, 48_000.0);
//! let mut app = App::new(Setup {
//!     look: Look::default(),
//!     keys: KeyMap::default(),
//!     drills: Vec::new(),
//!     library: Library::default(),
//!     first: View::Home,
//!     reduced_motion: false,
//!     today: course::Day(20_785),
//!     minutes: 15,
//! }, exercise.harp());
//! app.on_notice(&Notice::NoInput);
//! let area = Rect::new(0, 0, 80, 24);
//! let mut buffer = Buffer::empty(area);
//! app.render(&exercise, area, &mut buffer);
//! assert!(text::render(&buffer).contains("No microphone found."));
//! ```

mod app;
mod big;
mod chart;
pub mod chord_words;
mod day_plan;
mod desk;
pub mod ear_words;
pub mod flight;
mod ghosts;
mod glyphs;
mod hole;
mod in_time;
pub mod jam_words;
pub mod keys;
mod look;
mod mapping;
mod notice;
mod parts;
mod pen;
mod plumb;
mod prompt;
pub mod scale;
mod scene;
mod stair;
pub mod svg;
pub mod text;
mod theme;
mod trace;
mod view;
mod views;
mod window;
pub mod words;

pub use app::{Action, App, Setup};
pub use chart::Chart;
pub use glyphs::Glyphs;
pub use in_time::InTime;
pub use look::Look;
pub use mapping::Library;
pub use notice::Notice;
pub use theme::Theme;
pub use view::View;
