//! `config`: where the player's own files lie, and every setting with its value, its origin and its meaning.

use crate::args::ConfigArgs;
use crate::failure::Failure;
use crate::files::shown;
use crate::setup::{HearFrom, Origin, Setup};
use layout::{Harp, Temperament, Tunings};
use screen::keys::TABLE;
use std::io::{self, Write};
use std::path::Path;
use toml::Value;

/// One setting as it is printed.
struct Setting {
    /// Its name with the tables before it: `tolerance.in_tune`.
    name: String,
    meaning: String,
    /// The value in force; none if nothing is set.
    value: Option<Value>,
    /// What one may write, shown where nothing is set.
    example: Value,
}

/// Prints the places, or every setting.
///
/// # Errors
/// If the output cannot be written.
pub(crate) fn run(args: &ConfigArgs, setup: &Setup) -> Result<(), Failure> {
    let text = if args.show { every_setting(setup) } else { places(setup) };
    Ok(io::stdout().write_all(text.as_bytes())?)
}

fn places(setup: &Setup) -> String {
    let place = |what: &str, file: Option<&Path>| {
        let file = file.map_or("no place for it on this system".to_owned(), |file| {
            shown(file) + if file.exists() { "" } else { " (not there)" }
        });
        format!("{what:<24}{file}")
    };
    let mut lines = vec![place("settings", setup.settings.file())];
    for (what, name) in [
        ("own drills", "drills"),
        ("own phrases", "phrases"),
        ("own tunings", "tunings"),
        ("own scales", "scales.toml"),
        ("own progressions", "progressions.toml"),
        ("own temperaments", "temperaments.toml"),
    ] {
        lines.push(place(what, setup.settings.folder().map(|folder| folder.join(name)).as_deref()));
    }
    lines.push(place("remembered by itself", setup.state.file()));
    lines.push("\nbendwright config --show prints every setting and what it means.\n".to_owned());
    lines.join("\n")
}

/// Every setting in the form of a settings file, which can be taken as one.
fn every_setting(setup: &Setup) -> String {
    let mut lines =
        vec!["# Every setting: what it means, the value in force, and where that comes from.".to_owned()];
    let mut table = String::new();
    for setting in settings(setup) {
        let (before, name) = setting.name.rsplit_once('.').unwrap_or(("", &setting.name));
        if table != before {
            before.clone_into(&mut table);
            lines.push(format!("\n[{}]", header(&table)));
        }
        let off = if setting.value.is_some() { "" } else { "# " };
        let value = setting.value.as_ref().unwrap_or(&setting.example);
        lines.push(format!("# {}", setting.meaning));
        lines.push(format!("{off}{name} = {value} # {}", origin(setup, &setting)));
    }
    lines.join("\n") + "\n"
}

/// A table's name as it stands in the file: that of a harp may hold spaces, which need quotes.
fn header(table: &str) -> String {
    let Some((outer, inner)) = table.split_once('.') else { return table.to_owned() };
    if inner.chars().all(|c| c.is_ascii_alphanumeric()) {
        return table.to_owned();
    }
    format!("{outer}.{}", Value::String(inner.to_owned()))
}

fn origin(setup: &Setup, setting: &Setting) -> String {
    if setting.value.is_none() {
        return "not set".to_owned();
    }
    match setup.origin(&setting.name) {
        Origin::CommandLine => "from the command line".to_owned(),
        Origin::Remembered => "remembered from last time".to_owned(),
        Origin::Settings(line) => format!("settings, line {line}"),
        Origin::Environment => "from the environment".to_owned(),
        Origin::Default => "as the program has it".to_owned(),
    }
}

fn settings(setup: &Setup) -> Vec<Setting> {
    let tables =
        [top(setup), tolerance(setup), input(setup), ability(setup), tab(setup), reeds(setup), keys(setup)];
    tables.into_iter().flatten().collect()
}

/// A setting that always has a value.
fn set(name: &str, meaning: &str, value: impl Into<Value>) -> Setting {
    let value = value.into();
    Setting { name: name.to_owned(), meaning: meaning.to_owned(), value: Some(value.clone()), example: value }
}

/// A setting that may have none.
fn may_be(name: &str, meaning: &str, value: Option<impl Into<Value>>, example: impl Into<Value>) -> Setting {
    let (name, meaning) = (name.to_owned(), meaning.to_owned());
    Setting { name, meaning, value: value.map(Into::into), example: example.into() }
}

fn top(setup: &Setup) -> Vec<Setting> {
    let owned: Vec<String> = setup.owned.iter().map(harp_words).collect();
    let owned = (!owned.is_empty()).then(|| owned.join(", "));
    let temperament = setup.temperament.as_ref().map_or("equal", Temperament::name);
    let theme = if setup.mono { "mono" } else { "default" };
    vec![
        set(
            "harp",
            "The harp in your hand: C, Bb, F#, \"low F\" to \"high G\".",
            setup.harp.key().to_string(),
        ),
        may_be(
            "owned",
            "The harps that you own, with their tuning if it is not Richter.",
            owned,
            "C, D, A natural minor",
        ),
        set("tuning", "Which reeds the harp has: the name of a tuning.", setup.harp.tuning().name()),
        set("temperament", "How its reeds are tuned: the name of a temperament.", temperament),
        set("a4", "The pitch of A4 in hertz, 400 to 480.", setup.harp.concert().a4_hz()),
        set("theme", "Colours of the full screen: default or mono, which has none.", theme),
        set("ascii", "Draw with plain ASCII characters only.", setup.ascii),
        set(
            "reduced_motion",
            "Numbers instead of moving marks, and at most four pictures a second.",
            setup.settings.config.reduced_motion,
        ),
        set(
            "feedback",
            "When a drill shows your pitch: always, fading (less and less often), after each try.",
            setup.feedback.name(),
        ),
    ]
}

/// A harp as a player names it; Richter tuning goes without saying.
fn harp_words(harp: &Harp) -> String {
    let usual = Tunings::ours().iter().next().is_some_and(|usual| usual.tuning == *harp.tuning());
    let tuning = if usual { String::new() } else { format!(" {}", harp.tuning().name()) };
    format!("{}{tuning}", harp.key())
}

fn tolerance(setup: &Setup) -> Vec<Setting> {
    let tolerance = setup.tolerance;
    vec![
        set("tolerance.centred", "Within so many cents a note counts as centred.", tolerance.centred_cents),
        set(
            "tolerance.in_tune",
            "Within so many cents it counts as in tune, 50 at most.",
            tolerance.in_tune_cents,
        ),
    ]
}

fn input(setup: &Setup) -> Vec<Setting> {
    let from = match &setup.from {
        HearFrom::Mic(_) => "mic".to_owned(),
        HearFrom::Player => "player".to_owned(),
        HearFrom::File(file) => file.display().to_string(),
    };
    let device = match &setup.from {
        HearFrom::Mic(device) => device.clone(),
        HearFrom::Player | HearFrom::File(_) => None,
    };
    vec![
        set("input.from", "Where the sound comes from: mic, player (the built-in one) or a WAV file.", from),
        may_be("input.device", "Input device, by the name that bendwright sound lists.", device, "Jack"),
        set(
            "input.channel",
            "Channel of the input: auto, left, right, mix, or a number from 1.",
            setup.channel.to_string(),
        ),
    ]
}

fn ability(setup: &Setup) -> Vec<Setting> {
    let own = setup.config_ability();
    let words = Value::try_from(own).ok();
    let said = |name: &str| words.as_ref().and_then(|words| words.get(name)).cloned();
    vec![
        may_be(
            "ability.level",
            "What you command: plain, half-steps, draw-bends, bends, overblows, everything.",
            said("level"),
            "draw-bends",
        ),
        may_be("ability.sure", "Single ways that you can count on besides, as tab.", said("sure"), "-3'' 6o"),
        may_be("ability.learning", "Ways that come, but not every time.", said("learning"), "-2''"),
        may_be("ability.not-yet", "Ways of that level that you cannot play yet.", said("not-yet"), "-3'''"),
    ]
}

fn tab(setup: &Setup) -> Vec<Setting> {
    let own = &setup.settings.config.tab;
    let marks = setup.tab.marks();
    // A style that does not exist is left out.
    let style = own.style.clone().filter(|_| setup.origin("tab.style") != Origin::Default);
    let style = style.unwrap_or("signs".to_owned());
    let after = "Whether the mark of the breath stands after the hole number.";
    let mark = |name: &str, meaning: &str, own: &Option<String>, marks: &str| {
        may_be(&format!("tab.{name}"), meaning, own.clone().filter(|own| own == marks), marks)
    };
    vec![
        set(
            "tab.style",
            "How tab is written: signs, flats, arrows, letters; single marks may depart:",
            style,
        ),
        mark("blow", "Mark of the blow.", &own.blow, &marks.blow),
        mark("draw", "Mark of the draw.", &own.draw, &marks.draw),
        may_be("tab.breath_after", after, own.breath_after, marks.breath_after),
        mark("bend", "Mark of a half step of bend.", &own.bend, &marks.bend),
        mark("overbend", "Mark of an overblow or overdraw.", &own.overbend, &marks.overbend),
    ]
}

fn reeds(setup: &Setup) -> Vec<Setting> {
    let about =
        |side: &str| format!("How far the {side} reeds of this harp of yours are off, cents, from hole 1.");
    let list = |cents: &[f64]| Value::Array(cents.iter().copied().map(Value::Float).collect());
    let own = &setup.settings.config.reeds;
    if own.is_empty() {
        let sides = ["blow", "draw"]
            .map(|side| may_be(&format!("reeds.A.{side}"), &about(side), None::<Value>, list(&[0.0, -3.0])));
        return sides.into();
    }
    let of_harp = |(name, own): (&String, &layout::ReedCents)| {
        [("blow", own.blow.clone()), ("draw", own.draw.clone())].map(|(side, cents)| {
            let value = (!cents.is_empty()).then(|| list(&cents));
            may_be(&format!("reeds.{name}.{side}"), &about(side), value, list(&[0.0, -3.0]))
        })
    };
    own.iter().flat_map(of_harp).collect()
}

fn keys(setup: &Setup) -> Vec<Setting> {
    let row = |row: &screen::keys::Row| {
        let keys: Vec<String> = setup.keys.presses(row.command).iter().map(ToString::to_string).collect();
        set(&format!("keys.{}", row.name), row.help, keys.join(" "))
    };
    TABLE.iter().map(row).collect()
}
