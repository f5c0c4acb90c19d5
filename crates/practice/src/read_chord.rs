//! Reading the chords of drills and phrases.

use layout::{Technique, Way};
use pitch::reeds::MAX_VOICES;
use scoring::reeds::Holes;

/// The holes of a chord lie within so many: the ear for reeds looks no further.
const WITHIN: u8 = 5;

/// The holes that sound together where these ways are played at once, or what is wrong with which of them.
pub(crate) fn holes_of(ways: &[Way]) -> Result<Holes, (usize, String)> {
    let Some(first) = ways.first() else { return Err((0, "there is no hole here".to_owned())) };
    let mut holes = Holes::NONE;
    for (at, way) in ways.iter().enumerate() {
        if way.technique != Technique::Natural {
            let message = format!("{way} is bent, and the reeds of a chord are told as natural notes only");
            return Err((at, message));
        }
        if way.breath != first.breath {
            let message =
                format!("{way} is of another breath than {first}, and no mouth blows and draws at once");
            return Err((at, message));
        }
        if holes.contains(way.hole) {
            return Err((at, format!("hole {} stands here twice", way.hole)));
        }
        holes = holes.with(way.hole);
    }
    let (low, high) = (holes.iter().next().unwrap_or(0), holes.iter().next_back().unwrap_or(0));
    match holes.len() {
        1 => Err((0, "a chord has two holes at least; one by itself is written play = \"4\"".to_owned())),
        count if count > MAX_VOICES => Err((
            MAX_VOICES,
            format!("{count} holes at once are too many; the ear tells {MAX_VOICES} reeds apart"),
        )),
        _ if high - low >= WITHIN => {
            let message = format!(
                "holes {low} and {high} are too far apart; the ear looks for reeds of {WITHIN} holes next to each other"
            );
            Err((ways.iter().position(|way| way.hole == high).unwrap_or(0), message))
        }
        _ => Ok(holes),
    }
}
