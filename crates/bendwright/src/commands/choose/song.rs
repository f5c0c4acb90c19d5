//! The song as the arguments tell it, and what had to be assumed.

use crate::args::ChooseArgs;
use crate::failure::Failure;
use crate::scale_choice::{changes, note_name, note_range, scale};
use crate::setup::Setup;
use theory::{Feel, ScaleInKey, Song};

/// A name of the blues scale that means the song and not the scale: then the song is minor.
const MINOR_BLUES: &str = "minor blues";

/// The song, and what was assumed of it.
pub(super) struct Asked {
    pub(super) song: Song,
    /// What the song was assumed to be and why, if no scale was named.
    pub(super) assumed: Option<String>,
    /// Whether the player said which feel it has, by whatever argument.
    pub(super) feel_is_known: bool,
}

impl Asked {
    /// Reads the arguments.
    ///
    /// # Errors
    /// [`Failure::User`] for a note, scale, feel, range or chord that cannot be understood.
    pub(super) fn new(args: &ChooseArgs, setup: &Setup) -> Result<Self, Failure> {
        let tonic = note_name(&args.song_key, "song-key")?;
        let named = args.scale.as_ref().map(|name| (name, "scale"));
        let named = named.or(args.mode.as_ref().map(|name| (name, "mode")));
        let is_minor_blues = named.is_some_and(|(name, _)| name.trim().eq_ignore_ascii_case(MINOR_BLUES));
        let feel = args.feel.as_deref().map(feel).transpose()?.or(is_minor_blues.then_some(Feel::Minor));
        let changes = args.changes.as_deref().map(|text| changes(text, "changes", setup)).transpose()?;
        let feel_is_known = feel.is_some() || changes.is_some();
        let (song, assumed) = if let Some((name, option)) = named {
            let scale = ScaleInKey::new(scale(setup, name, option)?, tonic);
            (Song { feel, changes, ..Song::new(scale) }, None)
        } else {
            let song = Song::assumed(tonic, feel, changes.as_ref(), &setup.library.scales);
            let song = song.ok_or_else(|| Failure::user("name the song's scale with --scale"))?;
            let why = why_assumed(&song);
            (song, Some(why))
        };
        let range = args.range.as_deref().map(note_range).transpose()?;
        Ok(Self { song: Song { span: args.span, range, ..song }, assumed, feel_is_known })
    }
}

/// What a song was assumed to be, and by what.
fn why_assumed(song: &Song) -> String {
    let name = song.scale.scale().name();
    match (&song.changes, song.feel) {
        (Some(_), _) => format!("{name} assumed, by its chords; --scale names another scale"),
        (None, Some(feel)) => format!("{name} assumed, by its {feel} feel; --scale names another scale"),
        (None, None) => {
            format!("a {name} assumed, because nothing says what it is: --scale, --feel or --changes does")
        }
    }
}

fn feel(text: &str) -> Result<Feel, Failure> {
    text.parse().map_err(|error| Failure::user(format!("--feel: {error}")))
}
