//! Chords of which a reed cannot be told, from readings that are made by hand.

use layout::Breath;
use pitch::reeds::{Reed, Sounding, Voice};
use scoring::reeds::{Holes, ReedsJudge, ReedsOutcome, ReedsTarget, ReedsWhy};

const RATE: f64 = 48_000.0;
/// Ten milliseconds, as the ear for reeds tells.
const HOP: u64 = 480;

fn holes(holes: &[u8]) -> Holes {
    holes.iter().copied().collect()
}

/// What is said of a draw octave of holes 1 and 4, of which these sound and hole `unsure` cannot be told in `of_ten`
/// of ten readings.
fn judged(sounding: &[u8], unsure: u8, of_ten: u64) -> ReedsOutcome {
    let target = ReedsTarget { breath: Breath::Draw, holes: holes(&[1, 4]), hold_s: 1.0 };
    let mut judge = ReedsJudge::new(target, RATE);
    let reed = |hole| Reed { hole, draw: true };
    (0..600)
        .find_map(|reading| {
            let voice =
                |hole: &u8| Voice { reed: Some(reed(*hole)), bent: false, hz: 400.0, level_dbfs: -20.0 };
            let at = reading * HOP;
            let told = Sounding::new(at, at + 1_024, sounding.iter().map(voice));
            judge.hear(&told.with_unsure((reading % 10 < of_ten).then(|| reed(unsure))))
        })
        .unwrap()
        .outcome
}

#[test]
fn a_reed_that_cannot_be_told_is_not_missing() {
    let off =
        |missing: &[u8], leaked: &[u8]| ReedsOutcome::Off { missing: holes(missing), leaked: holes(leaked) };
    assert_eq!(judged(&[1, 4], 4, 0), ReedsOutcome::Right);
    assert_eq!(judged(&[1], 4, 0), off(&[4], &[]));
    assert_eq!(judged(&[1], 4, 2), off(&[4], &[]), "now and then only");
    assert_eq!(judged(&[1], 4, 5), ReedsOutcome::CannotTell(ReedsWhy::Flickers));
    assert_eq!(judged(&[1, 2], 4, 5), off(&[], &[2]), "what is sure is said");
}

#[test]
fn a_reed_that_cannot_be_told_does_not_leak_in() {
    assert_eq!(judged(&[1, 4], 5, 10), ReedsOutcome::Right);
}
