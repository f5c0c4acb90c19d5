//! A scale on the harp and who plays it, as `map` and `sheet` are asked for them.

use crate::args::ScaleArgs;
use crate::failure::Failure;
use crate::setup::Setup;
use layout::{Harp, Note, PitchClass};
use theory::{Ability, FirstScale, NoteName, Position, Progression, Scale, ScaleInKey};

/// The scale where none is named: what most players of the harp play (common practice, no source).
const USUAL_SCALE: &str = "blues";

/// What is shown, for whom.
#[derive(Debug)]
pub(crate) struct ScaleChoice {
    /// Which note of the harp is home.
    pub(crate) position: Position,
    /// The scale.
    pub(crate) scale: Scale,
    /// The scale on its tonic, written as the player wrote it.
    pub(crate) key: ScaleInKey,
    /// What the player commands, if that is said.
    pub(crate) ability: Option<Ability>,
}

impl ScaleChoice {
    /// Reads the arguments.
    ///
    /// # Errors
    /// [`Failure::User`] for a position, note, scale or ability that cannot be understood.
    pub(crate) fn new(args: &ScaleArgs, setup: &Setup) -> Result<Self, Failure> {
        Self::or_usual(args, setup, |_| USUAL_SCALE)
    }

    /// The same; but if no scale is named, it is the one with which the position is begun, and its range is given too.
    ///
    /// # Errors
    /// As for [`ScaleChoice::new`].
    pub(crate) fn to_begin_with(
        args: &ScaleArgs,
        setup: &Setup,
    ) -> Result<(Self, Option<(Note, Note)>), Failure> {
        let first = |position| FirstScale::of(position, &setup.harp);
        let choice =
            Self::or_usual(args, setup, |position| first(position).map_or(USUAL_SCALE, |it| it.scale))?;
        let first = first(choice.position).filter(|_| args.scale.is_none());
        Ok((choice, first.and_then(|first| first.range(&setup.harp))))
    }

    fn or_usual(
        args: &ScaleArgs,
        setup: &Setup,
        usual: impl FnOnce(Position) -> &'static str,
    ) -> Result<Self, Failure> {
        let tonic = args.tonic.as_deref().map(|text| note_name(text, "tonic")).transpose()?;
        let position = position(args, tonic.map(NoteName::pitch_class), &setup.harp)?;
        let name = args.scale.as_deref().unwrap_or_else(|| usual(position));
        let scale = scale(setup, name, "scale")?;
        let key = match tonic {
            Some(tonic) => ScaleInKey::new(scale.clone(), tonic),
            None => ScaleInKey::in_position(scale.clone(), &setup.harp, position),
        };
        Ok(Self { position, scale, key, ability: setup.ability(args.able.as_deref())? })
    }

    /// "C harp, 2nd position (cross): G blues".
    pub(crate) fn title(&self, harp: &Harp) -> String {
        let name = self.position.customary_name().map_or(String::new(), |name| format!(" ({name})"));
        format!("{} harp, {}{name}: {}", harp.key(), self.position, self.key.title())
    }
}

/// A scale by its name, as given to an option.
///
/// # Errors
/// If there is no such scale; the error names those that there are.
pub(crate) fn scale(setup: &Setup, name: &str, option: &str) -> Result<Scale, Failure> {
    setup.library.scales.find(name).cloned().map_err(|error| Failure::user(format!("--{option}: {error}")))
}

/// A written note, as given to an option.
///
/// # Errors
/// If the text is no note.
pub(crate) fn note_name(text: &str, option: &str) -> Result<NoteName, Failure> {
    text.parse().map_err(|_| {
        let instead = match key_with_mode(text) {
            Some((note, mode)) => format!("say the mode apart: --{option} {note} --scale {mode}"),
            None => "write a letter A to G, with # or b if needed, such as Bb".to_owned(),
        };
        Failure::user(format!("--{option}: {text:?} is no note; {instead}"))
    })
}

/// Two notes, the lower one first, as given to `--range`.
///
/// # Errors
/// If the text is something else.
pub(crate) fn note_range(text: &str) -> Result<(Note, Note), Failure> {
    let parts = text.split(|c: char| c.is_whitespace() || "-–—".contains(c));
    let parts: Vec<&str> = parts.filter(|part| !part.is_empty() && *part != "to").collect();
    let notes: Vec<Note> = parts.iter().filter_map(|part| part.parse().ok()).collect();
    match (&parts[..], &notes[..]) {
        ([_, _], [low, high]) if low < high => Ok((*low, *high)),
        _ => Err(Failure::user(format!(
            "--range: {text:?} is no range; write its lowest and its highest note, such as \"E3 to E5\""
        ))),
    }
}

/// A progression by its name, or a row of numerals, as given to an option. Numerals tell minor from major by their
/// case, as names do not: "i iv v" is not the progression called I-IV-V.
///
/// # Errors
/// If it is neither.
pub(crate) fn changes(text: &str, option: &str, setup: &Setup) -> Result<Progression, Failure> {
    let named = setup.library.progressions.find(text);
    if let Ok(named) = named
        && named.name() == text.trim()
    {
        return Ok(named.clone());
    }
    match (Progression::read_changes(text), named) {
        (Ok(read), _) => Ok(read),
        (Err(_), Ok(named)) => Ok(named.clone()),
        (Err(error), Err(unknown)) => Err(Failure::user(format!("--{option}: {error}; and {unknown}"))),
    }
}

/// The note and the mode of a key as songs have it: `Am`, `F# minor`, `Bb major`.
fn key_with_mode(text: &str) -> Option<(&str, &'static str)> {
    const ENDINGS: [(&str, &str); 5] =
        [("minor", "minor"), ("min", "minor"), ("major", "major"), ("maj", "major"), ("m", "minor")];
    let note = |ending| Some(text.trim().strip_suffix(ending)?.trim_end());
    let (note, mode) = ENDINGS.iter().find_map(|(ending, mode)| Some((note(ending)?, *mode)))?;
    note.parse::<NoteName>().is_ok().then_some((note, mode))
}

fn position(args: &ScaleArgs, tonic: Option<PitchClass>, harp: &Harp) -> Result<Position, Failure> {
    match (tonic, &args.position) {
        (Some(tonic), _) => Ok(Position::of(harp, tonic)),
        (None, Some(text)) => text.parse().map_err(|error| Failure::user(format!("--position: {error}"))),
        (None, None) => Ok(Position::default()),
    }
}
