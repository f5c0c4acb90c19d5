//! What the player of the test means to do with each note of a run, and how that sounds.

use crate::player::Sound;
use crate::speaks::speaks_s;
use crate::{harp, ways};
use layout::{Harp, Technique, Way};
use oorandom::Rand64;
use practice::run::{Material, Metre, Rhythm, Swing, Tempo, Value};
use scoring::timed::{AskedNote, Window};
use synth::Gesture;

/// What the player does with a note.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Does {
    Right,
    Early,
    Late,
    Missing,
    /// Another note instead.
    Wrong,
    /// Another note behind it.
    Extra,
    /// A natural note 40 cents sharp.
    Sharp,
    /// A natural note 40 cents flat.
    Flat,
    /// A bend that stops 40 cents short.
    Shallow,
}

/// How notes follow one another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Touch {
    /// With a gap: two thirds of a note sound.
    Detached,
    /// Each until the next is attacked.
    Joined,
    /// Three notes of one hole and breath are one breath: the natural note, its bend, and the natural note again.
    Slurred,
}

/// One note, as the player means it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Deed {
    pub(crate) does: Does,
    /// So late, seconds; the hand of a player who is right wavers too.
    pub(crate) late_s: f64,
    /// What is played where the wrong note is, or one too many.
    pub(crate) other: Way,
}

/// A pattern of a run, as tab, and whether its notes are slurred.
const PATTERNS: [(&str, bool); 4] = [
    ("-2 -3' 4 -4' -4 -5 6 -5 -4 -4' 4 -3' -2", false),
    // All holes but the highest.
    ("1 -1 2 -2 3 -3 4 -4 5 -5 6 -6 -7 7 -8 8 -8 7 -6", false),
    // The same pitch again, also by the other breath.
    ("4 4 -4 -4 -4 5 6 6 6 -5 -5 -4 4 3 -2 3 -2 -2 -1", false),
    ("-4 -4' -4 -3 -3' -3 -2 -2'' -2 -1 -1' -1 -6 -6' -6 8 8' 8", true),
];

/// The shortest note, seconds: detached sixteenths at 140 beats a minute. Shorter ones, less the 40 ms in which `synth`
/// releases a note, do not sound for the 60 ms that make a note.
const SHORTEST_S: f64 = 0.107;
/// The shortest note in a slur, seconds: it stays 60 ms and slides for 30 ms to either side, and some more.
const SHORTEST_SLURRED_S: f64 = 0.130;
/// Seconds of a slide into a bend, or out of it.
const SLIDE_S: f64 = 0.03;
/// `synth` takes so long to release a note, seconds.
const RELEASE_S: f64 = 0.04;
/// A note has to last this long, seconds, for a fault of its pitch, and this long for one too many behind it.
const PITCHED_S: f64 = 0.150;
const DIVIDED_S: f64 = 0.300;

pub(crate) fn one<T: Copy>(random: &mut Rand64, of: &[T]) -> T {
    of[random.rand_range(0..of.len() as u64) as usize]
}

/// Any of the harps, patterns, values and tempi.
pub(crate) fn material(random: &mut Rand64) -> (Harp, Material, Touch) {
    let harp = harp(one(random, &["low F", "G", "A", "C", "D", "high G"]));
    let (tab, slurred) = one(random, &PATTERNS);
    let touch = if slurred { Touch::Slurred } else { one(random, &[Touch::Detached, Touch::Joined]) };
    let (value, ratio) = one(
        random,
        &[("quarters", 1.0), ("eighths", 1.0), ("triplets", 1.0), ("sixteenths", 1.0), ("eighths", 2.0)],
    );
    let (value, swing): (Value, Swing) = (value.parse().unwrap(), Swing::new(ratio).unwrap());
    let bpm = 60.0 + 120.0 * random.rand_float();
    let at = |bpm: f64| {
        let rhythm = Rhythm::new(Tempo::new(bpm).unwrap(), Metre::COMMON, value, swing).unwrap();
        Material::of_ways("a run".to_owned(), &ways(&harp, tab), rhythm).unwrap()
    };
    let least_s = if slurred { SHORTEST_SLURRED_S } else { SHORTEST_S };
    let material = at((bpm * shortest_s(&at(bpm).asked(&harp)) / least_s).clamp(30.0, bpm));
    (harp, material, touch)
}

pub(crate) fn shortest_s(asked: &[AskedNote]) -> f64 {
    asked.iter().map(|note| note.length_s).fold(f64::INFINITY, f64::min)
}

/// What the player does with each note: half of all notes right, the rest wrong in every way that there is room for.
pub(crate) fn deeds(harp: &Harp, asked: &[AskedNote], touch: Touch, random: &mut Rand64) -> Vec<Deed> {
    let window = Window::of_shortest(shortest_s(asked));
    let deed = |(i, note): (usize, &AskedNote)| {
        let natural = note.way.technique == Technique::Natural;
        let (pitched, slurred) = (note.length_s >= PITCHED_S, touch == Touch::Slurred);
        let does = match random.rand_range(0..16) {
            0 if i > 0 => Does::Early,
            1 => Does::Late,
            2 if i > 0 && !slurred => Does::Missing,
            3 if i > 0 && !slurred => Does::Wrong,
            4 if natural && pitched && !slurred => Does::Sharp,
            5 if natural && pitched && !slurred => Does::Flat,
            4..7 if !natural && pitched => Does::Shallow,
            7 if note.length_s >= DIVIDED_S && !slurred => Does::Extra,
            _ => Does::Right,
        };
        // Within the window, or out of it by less than would make it another note.
        let wavers_s = 0.4 * window.on_s * (2.0 * random.rand_float() - 1.0);
        let astray_s = (0.3 * note.length_s).min(0.11);
        let late_s = match does {
            Does::Early => -astray_s,
            Does::Late => astray_s,
            _ => wavers_s,
        };
        // A wrong note that is asked for a moment before or after would be right at a wrong time.
        let around = &asked[i.saturating_sub(2)..(i + 3).min(asked.len())];
        let others: Vec<Way> = harp
            .ways()
            .filter(|way| way.technique == Technique::Natural && way.hole != note.way.hole)
            .filter(|way| around.iter().all(|near| harp.note(*way) != Some(near.note)))
            .collect();
        Deed { does, late_s, other: one(random, &others) }
    };
    asked.iter().enumerate().map(deed).collect()
}

/// A sound, and which of its asked notes sounds in it when, seconds from the moment it is blown.
pub(crate) struct Meant {
    pub(crate) sound: Sound,
    /// The index of an asked note (`None` of one too many) and its onset.
    pub(crate) notes: Vec<(Option<usize>, f64)>,
}

/// What is played for what is asked.
pub(crate) fn sounds(harp: &Harp, asked: &[AskedNote], deeds: &[Deed], touch: Touch) -> Vec<Meant> {
    let count = if touch == Touch::Slurred { 3 } else { 1 };
    let onset_s = |i: usize| asked[i].onset_s + deeds[i].late_s;
    // A note ends where the next one is blown, which is before it speaks.
    let ends_s = |i: usize| {
        let last = &asked[i + count - 1];
        let Some(next) = asked.get(i + count) else { return last.onset_s + last.length_s.min(0.8) };
        let way = if touch == Touch::Slurred { asked[i + count + 1].way } else { next.way };
        onset_s(i + count) - speaks_s(harp, way)
    };
    let mut sounds = Vec::new();
    for i in (0..asked.len()).step_by(count) {
        if touch == Touch::Slurred {
            let times_s = [onset_s(i), onset_s(i + 1), onset_s(i + 2), ends_s(i)];
            sounds.push(slur(harp, i, &asked[i..i + 3], times_s, deeds));
        } else if deeds[i].does != Does::Missing {
            sounds.extend(single(harp, i, &asked[i], &deeds[i], (onset_s(i), ends_s(i), touch)));
        }
    }
    sounds
}

/// A note by itself, and another one behind it if there is one too many.
fn single(
    harp: &Harp,
    index: usize,
    asked: &AskedNote,
    deed: &Deed,
    (onset_s, ends_s, touch): (f64, f64, Touch),
) -> Vec<Meant> {
    let sound = |way: Way, cents: f64, (from_s, to_s): (f64, f64), index: Option<usize>| {
        let speaks_s = speaks_s(harp, way);
        let room_s = (to_s - from_s).min(0.8);
        let share = if touch == Touch::Detached && room_s > 0.2 { 0.67 } else { 0.97 };
        let bent = way.technique != Technique::Natural;
        let slide_s = if bent { (0.15 * room_s).clamp(0.0, SLIDE_S) } else { 0.0 };
        let held_s = (speaks_s + share * room_s - slide_s - RELEASE_S).max(0.02);
        let note = Gesture::new(way).cents_off(cents).seconds(held_s);
        let gesture = if bent { note.glide(slide_s) } else { note };
        Meant { sound: Sound { gesture, at_s: from_s - speaks_s }, notes: vec![(index, speaks_s)] }
    };
    let way = if deed.does == Does::Wrong { deed.other } else { asked.way };
    if deed.does == Does::Extra {
        let middle_s = f64::midpoint(onset_s, ends_s);
        let own = sound(way, 0.0, (onset_s, middle_s - speaks_s(harp, deed.other)), Some(index));
        return vec![own, sound(deed.other, 0.0, (middle_s, ends_s), None)];
    }
    vec![sound(way, cents(deed.does), (onset_s, ends_s), Some(index))]
}

fn cents(does: Does) -> f64 {
    match does {
        Does::Sharp | Does::Shallow => 40.0,
        Does::Flat => -40.0,
        _ => 0.0,
    }
}

/// Three notes on one breath. A slide crosses midway in its middle.
fn slur(harp: &Harp, index: usize, asked: &[AskedNote], times_s: [f64; 4], deeds: &[Deed]) -> Meant {
    let (way, does) = (asked[1].way, deeds[index + 1].does);
    let speaks_s = speaks_s(harp, way);
    let begins_s = times_s[0] - speaks_s;
    let [down_s, up_s] = [times_s[1], times_s[2]].map(|crosses| crosses - begins_s);
    let bend_s = (up_s - down_s - SLIDE_S).max(0.0);
    let stays_s = (times_s[3].min(times_s[2] + 0.8) - times_s[2] - SLIDE_S / 2.0 - RELEASE_S).max(0.06);
    let gesture = Gesture::new(way)
        .cents_off(cents(does))
        .glide(SLIDE_S)
        .dwell(down_s - SLIDE_S / 2.0)
        .seconds(bend_s)
        .back(SLIDE_S, stays_s);
    let onsets = [(Some(index), speaks_s), (Some(index + 1), down_s), (Some(index + 2), up_s)];
    Meant { sound: Sound { gesture, at_s: begins_s }, notes: onsets.to_vec() }
}
