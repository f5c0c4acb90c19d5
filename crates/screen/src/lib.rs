//! Everything visible: what the player sees, which keys do what, and the state behind it.
//!
//! Start with [`App`]: it holds the whole state of the screen, takes keys ([`App::on_key`]), readings
//! ([`App::on_readings`]) and news of the world ([`App::on_notice`]), and draws itself ([`App::draw`]). What it cannot
//! do itself, because it touches no sound, no file and no clock, it asks for with an [`Action`].
//!
//! One picture runs through all views. Pitch runs from left to right, so flat is left and sharp is right; each hole is
//! a row; time runs downwards. [`scale::Scale`] is that picture's arithmetic, and the widgets draw with it. Words,
//! glyphs and positions carry the meaning; colour only repeats it.
//!
//! ```
//! use layout::Harp;
//! use ratatui::{buffer::Buffer, layout::Rect};
//! use screen::{App, Look, Notice, Setup, keys::KeyMap, text};
//!
//! let mut app = App::new(Setup {
//!     harp: Harp::richter("C".parse().unwrap()),
//!     tolerance: scoring::Tolerance::USUAL,
//!     look: Look::default(),
//!     keys: KeyMap::default(),
//!     drills: Vec::new(),
//!     reduced_motion: false,
//! });
//! app.on_notice(&Notice::NoInput);
//! let area = Rect::new(0, 0, 80, 24);
//! let mut buffer = Buffer::empty(area);
//! app.render(area, &mut buffer);
//! assert!(text::render(&buffer).contains("No microphone found."));
//! ```

mod app;
mod big;
mod chart;
pub mod flight;
mod glyphs;
mod hole;
pub mod keys;
mod listening;
mod look;
mod mapping;
mod notice;
mod parts;
mod pen;
mod plumb;
pub mod scale;
mod stair;
pub mod svg;
pub mod text;
mod theme;
mod trace;
mod views;
pub mod words;

pub use app::{Action, App, DrillEntry, Setup};
pub use chart::Chart;
pub use glyphs::Glyphs;
pub use look::Look;
pub use mapping::Library;
pub use notice::Notice;
pub use theme::Theme;
