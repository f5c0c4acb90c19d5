//! Free playing: what sounds now, where it lies on the stair, and the tab of the last while.

use crate::big::Size;
use crate::desk::Desk;
use crate::keys::{Command, Dial};
use crate::mapping::turned;
use crate::pen::{Pen, width};
use crate::plumb::{self, Plumb};
use crate::scene::Scene;
use crate::stair::{self, Stair};
use crate::views::Page;
use crate::{Action, parts, words};
use practice::{Exercise, Free, HeardNote, ReedSet};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;
use theory::Degree;

const KEYS: [(Command, &str); 6] = [
    (Command::Help, "keys"),
    (Command::Turn(Dial::Position, true), "position"),
    (Command::Lower, "harp lower"),
    (Command::Higher, "higher"),
    (Command::Player, "built-in player"),
    (Command::Leave, "leave"),
];

/// Time of one row below the stair, seconds.
const TAIL_ROW_S: f64 = 0.25;

/// The view of free playing.
pub(super) struct Listen;

impl Page for Listen {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        if let Some(free) = scene.exercise.free() {
            render(scene, free, area, buf);
        }
    }

    fn act(&self, desk: &mut Desk, _exercise: &Exercise, command: Command) -> Option<Action> {
        if let Command::Turn(Dial::Position, forward) = command {
            desk.position = turned(desk.position, forward);
        }
        None
    }
}

fn render(scene: &Scene<'_>, listening: &Free, area: Rect, buf: &mut Buffer) {
    let look = scene.look;
    let tonic = scene.desk.position.tonic(scene.harp());
    // One reed alone is where the pitch is; several are brought out each by itself.
    let several = listening.together().filter(|set| set.voices.len() > 1);
    let sounds = several.map(ReedSet::ways).unwrap_or_default();
    let stair = Stair {
        look,
        harp: scene.harp(),
        tonic,
        wanted: &[],
        pitch: listening.now().map(|now| scene.harp().concert().key_number(now.hz)),
        sounds: &sounds,
        still: scene.still,
    };
    // Below the header: the note, then the stair, then four rows at the foot.
    let large = Size::of(area.width, area.height);
    let top = 2 + large.map_or(1, |size| size.rows() + 1);
    let place = Rect { y: area.y + top, height: area.height.saturating_sub(top + 4), ..area };
    stair.render(place, buf);
    tail(scene, &stair, place, buf);
    let mut pen = Pen::new(buf, area);
    header(scene, &mut pen);
    let foot = pen.height() - 1;
    match (listening.now(), told(listening), large) {
        (Some(now), together, Some(size)) => sounding_large(scene, &mut pen, size, (now, together)),
        (Some(now), Some(together), None) if together.voices.len() > 1 => {
            sounding_together(scene, &mut pen, (now, together));
        }
        (Some(now), together, None) => sounding(scene, &mut pen, (now, together)),
        // A chord has no one pitch.
        (None, Some(together), _) if together.voices.len() > 1 => {
            let room = pen.width() - 3;
            pen.text(2, 2, &words_together(scene, together, room), look.theme.strong);
        }
        (None, _, _) => waiting(scene, &mut pen, large),
    }
    parts::rule(&mut pen, foot - 3, look);
    lately(scene, &mut pen, foot - 2, listening);
    if !super::warning(scene, &mut pen, foot - 1) {
        pen.text(1, foot - 1, &stair::legend(look), look.theme.faint);
    }
    parts::key_line(&mut pen, foot, (look, scene.keys), &KEYS);
}

/// The last seconds of pitch, hanging below the stair where there is room.
fn tail(scene: &Scene<'_>, stair: &Stair<'_>, place: Rect, buf: &mut Buffer) {
    let rows = Stair::rows(scene.harp());
    if scene.still {
        return;
    }
    let Some(height) = place.height.checked_sub(rows).filter(|height| *height > 0) else { return };
    let columns = place.width.saturating_sub(stair::LEFT);
    let plumb = Plumb {
        look: stair.look,
        scale: Stair::scale(scene.harp(), columns),
        harp: scene.harp(),
        target: None,
        in_tune: scene.tolerance().in_tune_cents,
        held: 0.0,
        earlier: &[],
        rows: &plumb::rows(scene.trace, stair.look, (TAIL_ROW_S, height)),
    };
    plumb.render(Rect::new(place.x + stair::LEFT, place.y + rows, columns, height), buf);
}

fn header(scene: &Scene<'_>, pen: &mut Pen<'_>) {
    let look = scene.look;
    let (dot, source) = (look.glyphs.dot, scene.world.source_words());
    let tonic = scene.desk.position.tonic_name(scene.harp());
    let home = format!("{}, home {tonic}", scene.desk.position);
    let key = scene.harp().key();
    let wordings = [
        format!("{key} harp {dot} playing freely {dot} {home}"),
        format!("{key} harp {dot} {home}"),
        format!("{key} harp {dot} home {tonic}"),
    ];
    let wordings = wordings.each_ref().map(|left| (left.as_str(), source.as_str()));
    parts::header(pen, 0, look, &wordings);
    parts::harp_rule(pen, 1, scene);
}

/// All ways to play what sounds, as tab.
fn tab(scene: &Scene<'_>, now: &HeardNote) -> String {
    let tabs: Vec<String> = now.ways.iter().map(|way| scene.look.tab(*way)).collect();
    if tabs.is_empty() { "not on this harp".to_owned() } else { tabs.join(" or ") }
}

/// The note and its degree: "B♭4 is degree ♭3 of G".
fn note(scene: &Scene<'_>, now: &HeardNote) -> String {
    let (tonic, class) = (scene.desk.position.tonic_name(scene.harp()), now.note.pitch_class());
    let degree = Degree::usual(tonic.pitch_class().semitones_to(class).into());
    format!("{} is degree {degree} of {tonic}", tonic.around(class).with_octave(now.note))
}

/// What to do and how to read the picture.
fn waiting(scene: &Scene<'_>, pen: &mut Pen<'_>, large: Option<Size>) {
    let theme = &scene.look.theme;
    pen.text(2, 2, "Play anything.", theme.strong);
    let (x, y) = if large.is_some() { (2, 3) } else { (18, 2) };
    pen.text(x, y, "The upright line is your pitch; flat is left, sharp is right.", theme.faint);
    if large.is_some() {
        let alone = "One reed sounding is called alone; others are named with their dB below it.";
        pen.text(2, 4, alone, theme.faint);
    }
}

/// The reeds that sound together, where they and the pitch do not contradict each other.
fn told(listening: &Free) -> Option<&ReedSet> {
    let sure = |set: &ReedSet| set.voices.len() > 1 || listening.now().is_none_or(|now| set.agrees(now.hz));
    listening.together().filter(|set| sure(set))
}

/// Which reeds sound together, as fully as there is room.
fn words_together(scene: &Scene<'_>, together: &ReedSet, room: i32) -> String {
    let full = words::together(together);
    if width(&full) <= room { full } else { words::together_in_tab(together, scene.look) }
}

/// What sounds, in one row; where that is too narrow, without the note.
fn sounding(scene: &Scene<'_>, pen: &mut Pen<'_>, (now, together): (&HeardNote, Option<&ReedSet>)) {
    let theme = &scene.look.theme;
    let note = note(scene, now);
    let rest = [words::off(now.cents), together.map(words::together).unwrap_or_default()];
    let mut x = pen.text(2, 2, &tab(scene, now), theme.strong) + 3;
    if x + width(&note) + rest.iter().map(|text| 3 + width(text)).sum::<i32>() < pen.width() {
        x = pen.text(x, 2, &note, theme.plain) + 3;
    }
    for (text, style) in rest.iter().zip([theme.voice, theme.plain]) {
        x = pen.text(x, 2, text, style) + 3;
    }
}

/// Several reeds that sound, in one row: which they are takes the place of the note.
fn sounding_together(scene: &Scene<'_>, pen: &mut Pen<'_>, (now, together): (&HeardNote, &ReedSet)) {
    let theme = &scene.look.theme;
    let off = words::off(now.cents);
    let room = pen.width() - width(&off) - 6;
    let x = pen.text(2, 2, &words_together(scene, together, room), theme.strong) + 3;
    pen.text(x, 2, &off, theme.voice);
}

/// What sounds, its tab and cents drawn large.
fn sounding_large(
    scene: &Scene<'_>,
    pen: &mut Pen<'_>,
    size: Size,
    (now, together): (&HeardNote, Option<&ReedSet>),
) {
    let look = scene.look;
    let theme = &look.theme;
    let first = now.ways.first().map(|way| look.tab(*way)).unwrap_or_default();
    let x = super::tab(look, pen, (2, size), (&first, theme.strong));
    pen.text(x, 2, &note(scene, now), theme.strong);
    let ways = match now.ways.as_slice() {
        [] => "this harp cannot play it".to_owned(),
        [way] => way.to_string(),
        ways => {
            let ways: Vec<String> = ways.iter().map(ToString::to_string).collect();
            format!("{}: {}", tab(scene, now), ways.join(" or "))
        }
    };
    pen.text(x, 3, &ways, theme.plain);
    let tolerance = scene.tolerance();
    let off = (words::whole(now.cents, tolerance), words::side(now.cents, tolerance));
    let end = super::distance(look, pen, (2, size), off);
    if let Some(together) = together {
        pen.text(x, 4, &words_together(scene, together, end - 1 - x), theme.voice);
    }
}

fn lately(scene: &Scene<'_>, pen: &mut Pen<'_>, y: i32, listening: &Free) {
    let look = scene.look;
    let start = parts::label(pen, y, look, "lately");
    let mut x = pen.width() - 1;
    let mut style = look.theme.strong;
    for played in listening.line() {
        let tab = match (played.together.as_slice(), played.way) {
            ([], Some(way)) => look.tab(way),
            ([], None) => words::note(scene.harp(), played.note),
            (together, _) => words::tab_together(together, look),
        };
        x -= width(&tab);
        if x < start {
            break;
        }
        pen.text(x, y, &tab, style);
        style = look.theme.plain;
        x -= 2;
    }
}
