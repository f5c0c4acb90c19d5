//! `programme`: what there is to follow week by week, and where the player stands in it.

mod text;

use crate::args::ProgrammeArgs;
use crate::catalogue;
use crate::failure::Failure;
use crate::files;
use crate::keeping::{self, JournalPlace};
use crate::library::PROGRAMME;
use crate::setup::Setup;
use crate::stderr;
use course::{Day, Past, Programme, Standing};
use serde::Serialize;
use std::io::{self, Write};

/// A complete programme file, to begin one's own from.
const EXAMPLE: &str = include_str!("../../../../assets/examples/own-programme.toml");

/// Version of the JSON; it changes when a field changes its meaning or goes.
const SCHEMA: &str = "bendwright/programme/1";

/// Runs the command.
///
/// # Errors
/// If there is no such programme, it has a mistake, nothing can be remembered, or the journal or the output fails.
pub(crate) fn run(args: &ProgrammeArgs, mut setup: Setup) -> Result<(), Failure> {
    if args.example {
        return Ok(io::stdout().write_all(EXAMPLE.as_bytes())?);
    }
    let today = keeping::today();
    if args.none {
        let player = player(&setup)?.who.clone();
        setup.state.remember_programme(&player, None).map_err(Failure::world)?;
        return Ok(writeln!(io::stdout(), "No programme is followed any more. What you practised is kept.")?);
    }
    if let (Some(name), Some(begin)) = (&args.name, &args.begin) {
        let began = day(begin, today)?;
        follow(name, began, &mut setup)?;
    }
    let name = if args.list { None } else { args.name.as_deref() };
    let programmes: Vec<Programme> =
        setup.library.programmes.iter().filter_map(|it| setup.library.programme(it).ok()).collect();
    let followed = followed(&setup);
    let name = name.or_else(|| followed.as_ref().filter(|_| !args.list).map(|it| it.name.as_str()));
    let shown = name.map(|name| find(name, &setup)).transpose()?;
    let past = match &shown {
        Some(programme) if followed.as_ref().is_some_and(|it| it.name == programme.name) => past(&setup)?,
        _ => Past::default(),
    };
    let standing = shown.as_ref().zip(followed.as_ref()).filter(|(shown, it)| shown.name == it.name);
    let standing = standing.map(|(shown, followed)| shown.standing(&past, followed.began, today));
    let data = Data {
        schema: SCHEMA,
        programmes: programmes.iter().map(Listed::new).collect(),
        followed: followed.as_ref(),
        programme: shown.as_ref(),
        standing,
        whole: args.name.is_some(),
        today,
    };
    let out = if args.json {
        serde_json::to_string_pretty(&data).map_err(io::Error::from)? + "\n"
    } else {
        text::write(&data, setup.letters())
    };
    Ok(io::stdout().write_all(out.as_bytes())?)
}

/// What is printed.
#[derive(Serialize)]
struct Data<'a> {
    schema: &'static str,
    programmes: Vec<Listed<'a>>,
    /// The one that the player follows.
    followed: Option<&'a Followed>,
    /// The one that is shown.
    programme: Option<&'a Programme>,
    /// Where the player stands in it, if it is the one that is followed.
    standing: Option<Standing<'a>>,
    /// All its weeks are shown, and not only the one that is on.
    #[serde(skip)]
    whole: bool,
    today: Day,
}

/// A line of the list.
#[derive(Serialize)]
struct Listed<'a> {
    name: &'a str,
    title: &'a str,
    weeks: usize,
}

/// What a player follows.
#[derive(Serialize)]
struct Followed {
    player: String,
    name: String,
    began: Day,
}

impl<'a> Listed<'a> {
    fn new(programme: &'a Programme) -> Self {
        Self { name: &programme.name, title: &programme.title, weeks: programme.weeks.len() }
    }
}

fn find(name: &str, setup: &Setup) -> Result<Programme, Failure> {
    let written = catalogue::written(PROGRAMME, &setup.library.programmes, name)?;
    setup.library.programme(&written).map_err(|error| Failure::user(written.mistake(error)))
}

fn followed(setup: &Setup) -> Option<Followed> {
    let (name, began) = setup.follows()?;
    Some(Followed { player: player(setup).ok()?.who.clone(), name: name.to_owned(), began })
}

/// Remembers the programme to follow, if there is one of that name without a mistake.
fn follow(name: &str, began: Day, setup: &mut Setup) -> Result<(), Failure> {
    let programme = find(name, setup)?;
    if setup.library.programmes.iter().all(|known| known.name != name) {
        let folder = setup.settings.folder().map_or_else(String::new, |folder| {
            format!(": {}", files::shown(&folder.join(format!("{PROGRAMME}s"))))
        });
        let message = format!(
            "to be followed, a programme of your own lies in the folder beside your settings{folder}"
        );
        return Err(Failure::user(message));
    }
    if !programme.suits(&setup.harp) {
        let (title, tuning) = (&programme.title, &programme.tuning);
        let held = setup.harp.tuning().name();
        stderr::say(&format!(
            "bendwright: {title} is for {tuning} tuning, and the harp in your hand has {held} tuning"
        ));
    }
    let player = player(setup)?.who.clone();
    if setup.state.file().is_none() {
        return Err(Failure::world("this computer has no place to remember the programme"));
    }
    setup.state.remember_programme(&player, Some((name, began))).map_err(Failure::world)
}

fn player(setup: &Setup) -> Result<&JournalPlace, Failure> {
    setup.journal.as_ref().ok_or_else(|| {
        let message = "a programme goes by what the journal keeps, and none is kept: --no-journal says so, or this \
                       computer has no place for one";
        Failure::user(message)
    })
}

/// What the player practised; nothing where nothing is kept yet.
fn past(setup: &Setup) -> Result<Past, Failure> {
    player(setup)?.past().map_err(Failure::world)
}

/// The day that was named. A day that is still to come is refused, because it would leave nothing to count.
fn day(text: &str, today: Day) -> Result<Day, Failure> {
    if text == "today" {
        return Ok(today);
    }
    match text.parse::<Day>() {
        Ok(day) if day > today => {
            Err(Failure::user(format!("--begin: {day} is still to come; today is {today}")))
        }
        Ok(day) => Ok(day),
        Err(error) => Err(Failure::user(format!("--begin: {error}, or today"))),
    }
}
