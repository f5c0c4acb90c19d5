//! In which order things come: the blocks of a day, and bends by how hard they are.

use super::{Block, Part};
use layout::{Breath, Harp, Technique, Way};

/// A place in a day's practice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Slot {
    /// So many minutes.
    WarmUp(u32),
    Due,
    Weak,
    Musical,
    New,
}

/// A block takes about so long, seconds: tasks of three minutes that alternate (Carter & Grahn 2016).
pub(super) const BLOCK_S: f64 = 180.0;

/// The places of so many minutes: a warm-up, then what is due, what is weak and music in turn, and the new thing last.
/// A programme has the first places after the warm-up, and says itself what is new.
pub(super) fn slots(minutes: u32, programme: bool) -> Vec<Slot> {
    let warm_up = if minutes < 10 { 1 } else { 2 };
    let count = (60.0 * f64::from(minutes.saturating_sub(warm_up)) / BLOCK_S).clamp(1.0, 20.0) as usize;
    let turn = [Slot::Due, Slot::Musical, Slot::Weak];
    let mut slots: Vec<Slot> =
        std::iter::once(Slot::WarmUp(warm_up)).chain(turn.into_iter().cycle().take(count)).collect();
    if !programme && count > 1 {
        // The new thing has the place of the last block.
        slots.truncate(count);
        slots.push(Slot::New);
    }
    slots
}

/// Puts what a programme asks for behind the warm-up, as much as there is time for. As much of the rest stays as there
/// is time left for, but a moment of music at least.
pub(super) fn ask(blocks: &mut Vec<Block>, asked: Vec<Block>, minutes: u32) {
    if asked.is_empty() {
        return;
    }
    let named: Vec<String> = asked.iter().map(Block::name).collect();
    blocks.retain(|block| !named.contains(&block.name()));
    blocks.splice(1.min(blocks.len())..1.min(blocks.len()), asked);
    let has_music =
        |block: &Block| block.part == Part::Programme && matches!(block.task, super::Task::InTime(..));
    let mut kept_music = blocks.iter().any(has_music);
    let (mut left_s, mut kept_asked) = (60.0 * f64::from(minutes), false);
    blocks.retain(|block| {
        let needed = match block.part {
            Part::WarmUp => true,
            Part::Programme => !std::mem::replace(&mut kept_asked, true),
            Part::Musical => !std::mem::replace(&mut kept_music, true),
            _ => false,
        };
        let stays = needed || block.about_s <= left_s;
        if stays {
            left_s -= block.about_s;
        }
        stays
    });
}

/// The holes on which bends come soonest. Common practice, no source; teachers differ about the first three.
const HOLES_FIRST: [u8; 10] = [4, 1, 6, 3, 2, 5, 8, 9, 10, 7];

/// The bends and overbends of a harp, from the one that most players learn first: draw bends by a half step, deeper
/// ones, blow bends, the overblows on 6, 5 and 4, all others. Common practice, no source, and practice disagrees.
pub fn by_difficulty(harp: &Harp) -> Vec<Way> {
    let mut ways: Vec<Way> = harp.ways().filter(|way| way.technique != Technique::Natural).collect();
    let place = |hole: u8| HOLES_FIRST.iter().position(|first| *first == hole).unwrap_or(HOLES_FIRST.len());
    ways.sort_by_key(|way| match (way.technique, way.breath) {
        (Technique::Bend(depth), Breath::Draw) => (0, depth, place(way.hole)),
        (Technique::Bend(depth), Breath::Blow) => (1, depth, place(way.hole)),
        (Technique::Overbend, Breath::Blow) if (4..=6).contains(&way.hole) => {
            (2, 0, usize::from(6 - way.hole))
        }
        _ => (3, 0, place(way.hole)),
    });
    ways
}
