//! Nothing is cut, no text stands on text or on a mark, on any sheet.

use super::{MARGIN, Paper, lay_out};
use crate::draw::{Anchor, Page, Shape, Type};
use crate::{Request, Sheet};
use layout::{ConcertPitch, Harp, HarpKey, TabStyle, Tunings};
use theory::{Ability, Level, Position, Scales};

/// Left, top, right, bottom.
type Box4 = [f32; 4];

/// Boxes may touch by this much: outlines are thinner than the boxes around them.
const TOUCH: f32 = 0.25;

/// Capitals of Helvetica rise to 0.72 of the size, the longest tails sink to 0.21 (Adobe Font Metrics).
fn text_box((x, y): (f32, f32), anchor: Anchor, look: Type, text: &str) -> Box4 {
    let width = look.width(text);
    let left = x - width * anchor.share();
    [left, y - 0.72 * look.size, left + width, y + 0.21 * look.size]
}

fn overlap(a: Box4, b: Box4) -> bool {
    a[0] + TOUCH < b[2] && b[0] + TOUCH < a[2] && a[1] + TOUCH < b[3] && b[1] + TOUCH < a[3]
}

fn texts(page: &Page) -> Vec<(Box4, &str, f32)> {
    page.shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Text { at, anchor, look, text } => {
                Some((text_box(*at, *anchor, *look, text), text.as_str(), look.size))
            }
            _ => None,
        })
        .collect()
}

/// Marks of the picture and of the legend: whatever is drawn in black or grey and is no line.
fn marks(page: &Page) -> Vec<Box4> {
    page.shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Circle { centre: (x, y), radius: r, .. } => Some([x - r, y - r, x + r, y + r]),
            Shape::Polygon { points, gray, .. } if *gray < 1.0 => {
                let least = |pick: fn(&(f32, f32)) -> f32| points.iter().map(pick).fold(f32::MAX, f32::min);
                let most = |pick: fn(&(f32, f32)) -> f32| points.iter().map(pick).fold(f32::MIN, f32::max);
                Some([least(|p| p.0), least(|p| p.1), most(|p| p.0), most(|p| p.1)])
            }
            _ => None,
        })
        .collect()
}

/// Lines from left to right: height, left and right end.
fn rules(page: &Page) -> impl Iterator<Item = (f32, f32, f32)> + '_ {
    page.shapes.iter().filter_map(|shape| match shape {
        Shape::Line { from, to, .. } if from.1 == to.1 => Some((from.1, from.0.min(to.0), from.0.max(to.0))),
        _ => None,
    })
}

/// The lines to write on below the last heading are many and stand far enough apart for a hand.
fn check_practice(sheet: &Sheet, page: &Page) {
    let heading =
        texts(page).into_iter().find(|(_, text, _)| *text == "Practice").map(|(place, ..)| place[3]);
    let heading = heading.unwrap_or_else(|| panic!("{}: no lines to write on", sheet.title));
    let mut heights: Vec<f32> = rules(page).map(|(y, ..)| y).filter(|y| *y > heading + 8.0).collect();
    heights.sort_by(f32::total_cmp);
    assert!(heights.len() > 4, "{}: {} lines to write on", sheet.title, heights.len());
    // 7 mm are 19.8 points.
    assert!(heights.windows(2).all(|pair| pair[1] - pair[0] > 19.8), "{}: {heights:?}", sheet.title);
}

fn check(sheet: &Sheet, paper: Paper) -> usize {
    let pages = lay_out(sheet, paper);
    check_practice(sheet, &pages[pages.len() - 1]);
    for page in &pages {
        let (mut texts, marks) = (texts(page), marks(page));
        assert!(texts.len() >= 5, "{}: a page of {} texts", sheet.title, texts.len());
        // From the top down, so that only near neighbours need comparing.
        texts.sort_by(|a, b| a.0[1].total_cmp(&b.0[1]));
        for (index, (a, text, size)) in texts.iter().enumerate() {
            let what = || format!("{} on {paper:?}: {text:?}", sheet.title);
            let inside = a[0] >= MARGIN - 1.0 && a[2] <= page.width - MARGIN + 1.0;
            assert!(inside, "{} reaches into the side margin: {a:?}", what());
            assert!(a[1] >= MARGIN - 20.0 && a[3] <= page.height - MARGIN + 2.0, "{} is cut: {a:?}", what());
            assert!(*size >= 4.9, "{} is too small to read: {size}", what());
            for (b, other, _) in texts[index + 1..].iter().take_while(|(b, ..)| b[1] < a[3]) {
                assert!(!overlap(*a, *b), "{} stands on {other:?}", what());
            }
            for (y, left, right) in rules(page) {
                let crossed = a[1] + TOUCH < y && y < a[3] - TOUCH && left < a[2] && a[0] < right;
                assert!(!crossed, "{} is crossed by a line at {y}", what());
            }
            for mark in &marks {
                assert!(!overlap(*a, *mark), "{} stands on a mark at {mark:?}", what());
            }
        }
    }
    pages.len()
}

#[test]
fn every_scale_stands_clear_on_one_leaf() {
    let harp = Harp::richter("C".parse().unwrap());
    let tab = TabStyle::default();
    let ability = Ability::new(Level::DrawBends);
    for scale in &Scales::ours() {
        // First, second and two from the far side of the circle, with many overbends and other spellings.
        for position in [1, 2, 7, 10].map(|number| Position::new(number).unwrap()) {
            let sheet =
                Sheet::new(&Request { harp: &harp, position, scale, ability: Some(&ability), tab: &tab });
            for paper in [Paper::A4, Paper::Letter] {
                let pages = check(&sheet, paper);
                assert_eq!(pages, 2, "{} on {paper:?}", sheet.title);
            }
        }
    }
}

#[test]
fn every_key_and_tuning_stands_clear() {
    let scales = Scales::ours();
    let tab = TabStyle::default();
    let position = Position::new(2).unwrap();
    for tuning in &Tunings::ours() {
        for key in HarpKey::usual_keys().step_by(4) {
            let harp = Harp::new(key, tuning.tuning.clone(), ConcertPitch::ISO);
            for name in ["blues", "major", "chromatic"] {
                let scale = scales.find(name).unwrap();
                let sheet = Sheet::new(&Request { harp: &harp, position, scale, ability: None, tab: &tab });
                for paper in [Paper::A4, Paper::Letter] {
                    check(&sheet, paper);
                }
            }
        }
    }
}

#[test]
fn every_style_of_tab_stands_clear() {
    let harp = Harp::richter("F♯".parse().unwrap());
    let scales = Scales::ours();
    let ability = Ability::new(Level::Plain);
    for style in TabStyle::NAMES {
        let tab = TabStyle::named(style).unwrap();
        for name in ["chromatic", "composite blues"] {
            let (position, scale) = (Position::FIRST, scales.find(name).unwrap());
            let sheet =
                Sheet::new(&Request { harp: &harp, position, scale, ability: Some(&ability), tab: &tab });
            check(&sheet, Paper::A4);
        }
    }
}

#[test]
fn a_harp_of_sixteen_holes_gets_a_picture_of_sixteen_rows() {
    let reeds = |from: i8| (0..16).map(|hole| from + 3 * hole).collect::<Vec<i8>>();
    let tuning = layout::Tuning::new("wide", &reeds(0), &reeds(2)).unwrap();
    let harp = Harp::new("low C".parse().unwrap(), tuning, ConcertPitch::ISO);
    let (scales, tab) = (Scales::ours(), TabStyle::default());
    let scale = scales.find("major").unwrap();
    let sheet =
        Sheet::new(&Request { harp: &harp, position: Position::FIRST, scale, ability: None, tab: &tab });
    assert_eq!(sheet.stair.rows.len(), 16);
    check(&sheet, Paper::A4);
}
