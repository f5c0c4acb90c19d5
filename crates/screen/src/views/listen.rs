//! Free playing: what sounds now, or sounded last, where it lies on the stair, and the tab of the last while.

mod tail;

use crate::big::Size;
use crate::desk::Desk;
use crate::keys::{Command, Dial};
use crate::mapping::turned;
use crate::pen::{Pen, width};
use crate::scene::Scene;
use crate::stair::{self, Stair};
use crate::views::Page;
use crate::{Action, parts, words};
use layout::{Note, Way};
use practice::{Exercise, Free, ReedSet};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;
use theory::Degree;

const KEYS: [(Command, &str); 8] = [
    (Command::Help, "keys"),
    (Command::Turn(Dial::Position, true), "position"),
    (Command::Turn(Dial::Scale, true), "scale"),
    (Command::Lower, "harp lower"),
    (Command::Higher, "higher"),
    (Command::Player, "built-in player"),
    (Command::Leave, "leave"),
    (Command::Narrower, "stricter"),
];

/// From this height on, the tab of the last while has three rows.
const HIGH: u16 = 34;

/// Below this height, the row between the note and the stair goes to the line of the last seconds.
const AIRY: u16 = 28;

/// The view of free playing.
pub(super) struct Listen;

impl Page for Listen {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        if let Some(free) = scene.exercise.free() {
            render(scene, free, area, buf);
        }
    }

    fn act(&self, desk: &mut Desk, _exercise: &Exercise, command: Command) -> Option<Action> {
        match command {
            Command::Turn(Dial::Position, forward) => desk.position = turned(desk.position, forward),
            Command::Turn(Dial::Scale, forward) => desk.turn_scale(forward),
            _ => {}
        }
        None
    }
}

/// A note that is told: what sounds now, or what sounded last.
struct Told {
    note: Note,
    /// How it was played; where there are several ways, those within the player's reach.
    ways: Vec<Way>,
    cents: f64,
    /// It sounds now.
    sounds: bool,
}

impl Told {
    fn of(scene: &Scene<'_>, free: &Free) -> Option<Self> {
        let ways = |note, ways: &[Way]| scene.desk.within_reach(scene.harp(), note, ways);
        if let Some(now) = free.now() {
            return Some(Self {
                note: now.note,
                ways: ways(now.note, &now.ways),
                cents: now.cents,
                sounds: true,
            });
        }
        let last = free.last()?;
        let (note, cents) = (last.note, last.cents_off);
        Some(Self { note, ways: ways(note, &last.ways), cents, sounds: false })
    }
}

fn render(scene: &Scene<'_>, free: &Free, area: Rect, buf: &mut Buffer) {
    let look = scene.look;
    // The pitch line shows a single reed; several reeds are brought out each by itself.
    let several = free.together().filter(|set| set.voices.len() > 1);
    let sounds = several.map(ReedSet::ways).unwrap_or_default();
    let key = scene.desk.key(scene.harp());
    let lately_rows = if area.height >= HIGH { 3 } else { 1 };
    // Below the header: the note, then the stair, then a rule, the last while, a warning or the legend, and the keys.
    let large = Size::of(area.width, area.height, &look.glyphs);
    let top = 2 + large.map_or(1, |size| size.rows() + u16::from(area.height >= AIRY));
    let below = 3 + lately_rows;
    let place = Rect { y: area.y + top, height: area.height.saturating_sub(top + below), ..area };
    let stair = Stair {
        look,
        harp: scene.harp(),
        tonic: scene.desk.position.tonic(scene.harp()),
        wanted: &[],
        pitch: free.now().map(|now| scene.harp().concert().key_number(now.hz)),
        sounds: &sounds,
        still: scene.still,
        key: key.as_ref(),
        named: false,
    };
    let named = Stair { named: true, ..stair };
    let stair = if named.rows(area.width) + tail::LEAST <= place.height { named } else { stair };
    stair.render(place, buf);
    tail::render(scene, &stair, place, buf);
    let mut pen = Pen::new(buf, area);
    header(scene, &mut pen);
    head(scene, &mut pen, large, free);
    let foot = pen.height() - 1;
    let rule = foot - i32::from(below) + 1;
    parts::rule(&mut pen, rule, look);
    lately(scene, &mut pen, (rule + 1, i32::from(lately_rows)), free);
    if !super::warning(scene, &mut pen, foot - 1) {
        let legend = parts::cut(&stair::legend(look), pen.width() - 2);
        pen.text(1, foot - 1, &legend, look.theme.faint);
    }
    parts::key_line(&mut pen, foot, (look, scene.keys), &KEYS);
}

fn header(scene: &Scene<'_>, pen: &mut Pen<'_>) {
    let look = scene.look;
    let (dot, source) = (look.glyphs.dot, scene.world.source_words());
    let scale = scene.desk.key(scene.harp()).map(|key| key.title()).unwrap_or_default();
    let (key, position) = (scene.harp().key(), scene.desk.position);
    let tonic = position.tonic_name(scene.harp());
    let wordings = [
        format!("{key} harp {dot} playing freely {dot} {position}, home {tonic} {dot} {scale}"),
        format!("{key} harp {dot} {position}, {scale}"),
        format!("{key} harp {dot} {scale}"),
    ];
    let wordings = wordings.each_ref().map(|left| (left.as_str(), source.as_str()));
    parts::header(pen, 0, look, &wordings);
    parts::harp_rule(pen, 1, scene);
}

/// What sounds, or what to do.
fn head(scene: &Scene<'_>, pen: &mut Pen<'_>, large: Option<Size>, free: &Free) {
    let chord = |set: &&ReedSet| set.voices.len() > 1;
    match (Told::of(scene, free), told_together(free), large) {
        // A chord has no one pitch.
        (told, Some(together), _) if chord(&together) && !told.as_ref().is_some_and(|told| told.sounds) => {
            let room = pen.width() - 3;
            pen.text(2, 2, &words_together(scene, together, room), scene.look.theme.strong);
        }
        (Some(told), together, Some(size)) => sounding_large(scene, pen, size, (&told, together)),
        (Some(told), Some(together), None) if chord(&together) => {
            sounding_together(scene, pen, (&told, together));
        }
        (Some(told), together, None) => sounding(scene, pen, (&told, together)),
        (None, ..) => waiting(scene, pen, large),
    }
}

/// All ways to play what sounds, as tab.
fn tab(scene: &Scene<'_>, ways: &[Way]) -> String {
    let tabs: Vec<String> = ways.iter().map(|way| scene.look.tab(*way)).collect();
    if tabs.is_empty() { "not on this harp".to_owned() } else { tabs.join(" or ") }
}

/// The note and its degree: "B♭4 is degree ♭3 of G".
fn note(scene: &Scene<'_>, told: &Told) -> String {
    let (tonic, class) = (scene.desk.position.tonic_name(scene.harp()), told.note.pitch_class());
    let degree = Degree::usual(tonic.pitch_class().semitones_to(class).into());
    let last = if told.sounds { "" } else { "last: " };
    format!("{last}{} is degree {degree} of {tonic}", tonic.around(class).with_octave(told.note))
}

/// What to do and how to read the picture.
fn waiting(scene: &Scene<'_>, pen: &mut Pen<'_>, large: Option<Size>) {
    let theme = &scene.look.theme;
    pen.text(2, 2, "Play anything.", theme.strong);
    let (x, y) = if large.is_some() { (2, 3) } else { (18, 2) };
    let how = "The upright line is your pitch; flat is left, sharp is right.";
    pen.text(x, y, &parts::cut(how, pen.width() - x - 1), theme.faint);
    if large.is_some() {
        let alone = "One reed sounding is called alone; others are named with their dB below it.";
        pen.text(2, 4, alone, theme.faint);
    }
}

/// The reeds that sound together, where they and the pitch do not contradict each other.
fn told_together(free: &Free) -> Option<&ReedSet> {
    let sure = |set: &ReedSet| set.voices.len() > 1 || free.now().is_none_or(|now| set.agrees(now.hz));
    free.together().filter(|set| sure(set))
}

/// Which reeds sound together, as fully as there is room.
fn words_together(scene: &Scene<'_>, together: &ReedSet, room: i32) -> String {
    let full = words::together(together);
    if width(&full) <= room { full } else { words::together_in_tab(together, scene.look) }
}

/// What sounds, in one row; where that is too narrow, without the note.
fn sounding(scene: &Scene<'_>, pen: &mut Pen<'_>, (told, together): (&Told, Option<&ReedSet>)) {
    let theme = &scene.look.theme;
    let (now, before) = if told.sounds { (theme.strong, theme.plain) } else { (theme.plain, theme.faint) };
    let note = note(scene, told);
    let side = words::side(told.cents, scene.tolerance());
    let off = format!("{} {side}", scene.look.signed(words::whole(told.cents, scene.tolerance())));
    let rest = [off, together.map(words::together).unwrap_or_default()];
    let mut x = pen.text(2, 2, &tab(scene, &told.ways), now) + 3;
    if x + width(&note) + rest.iter().map(|text| 3 + width(text)).sum::<i32>() < pen.width() {
        x = pen.text(x, 2, &note, before) + 3;
    } else if !told.sounds {
        x = pen.text(x, 2, "last", before) + 3;
    }
    for (text, style) in rest.iter().zip([now, before]) {
        x = pen.text(x, 2, text, style) + 3;
    }
}

/// Several reeds that sound, in one row: which they are takes the place of the note.
fn sounding_together(scene: &Scene<'_>, pen: &mut Pen<'_>, (told, together): (&Told, &ReedSet)) {
    let theme = &scene.look.theme;
    let off = words::off(told.cents);
    let room = pen.width() - width(&off) - 6;
    let x = pen.text(2, 2, &words_together(scene, together, room), theme.strong) + 3;
    pen.text(x, 2, &off, theme.strong);
}

/// What sounds, its tab and cents drawn large.
fn sounding_large(
    scene: &Scene<'_>,
    pen: &mut Pen<'_>,
    size: Size,
    (told, together): (&Told, Option<&ReedSet>),
) {
    let look = scene.look;
    let theme = &look.theme;
    let first = told.ways.first().map(|way| look.tab(*way)).unwrap_or_default();
    // What sounded before is drawn faintly.
    let (tab_style, off_style, note_style) = if told.sounds {
        (theme.strong, theme.voice, theme.strong)
    } else {
        (theme.faint, theme.faint, theme.plain)
    };
    let x = super::tab(look, pen, (2, size), (&first, tab_style));
    pen.text(x, 2, &note(scene, told), note_style);
    let ways = match &told.ways[..] {
        [] => "this harp cannot play it".to_owned(),
        [way] => way.to_string(),
        ways => {
            let words: Vec<String> = ways.iter().map(ToString::to_string).collect();
            format!("{}: {}", tab(scene, ways), words.join(" or "))
        }
    };
    let tolerance = scene.tolerance();
    let off = (words::whole(told.cents, tolerance), words::side(told.cents, tolerance));
    let end = super::distance(look, pen, (2, size), (off, off_style));
    pen.text(x, 3, &parts::cut(&ways, end - 1 - x), theme.plain);
    if let Some(together) = together {
        pen.text(x, 4, &words_together(scene, together, end - 1 - x), theme.strong);
    }
}

/// The tab of the last while in so many rows, the newest on the right below.
fn lately(scene: &Scene<'_>, pen: &mut Pen<'_>, (y, rows): (i32, i32), free: &Free) {
    let look = scene.look;
    let start = parts::label(pen, y + rows - 1, look, "lately");
    let (top, mut x, mut y) = (y, pen.width() - 1, y + rows - 1);
    let mut style = look.theme.strong;
    for played in free.line() {
        let tab = match (played.together.as_slice(), played.way) {
            ([], Some(way)) => look.tab(way),
            ([], None) => words::note(scene.harp(), played.note),
            (together, _) => words::tab_together(together, look),
        };
        if x - width(&tab) < start {
            (x, y) = (pen.width() - 1, y - 1);
        }
        x -= width(&tab);
        if x < start || y < top {
            break;
        }
        pen.text(x, y, &tab, style);
        style = look.theme.plain;
        x -= 2;
    }
}
