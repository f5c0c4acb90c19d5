//! Chords that are chugged, from levels and readings of the reeds that are made by hand.

use layout::Breath;
use pitch::Reading;
use pitch::reeds::{Reed, Sounding, Voice};
use scoring::reeds::{Holes, ReedsOutcome, ReedsWhy};
use scoring::timed::{ChordHeard, Chug, Chugs};

const RATE: f64 = 48_000.0;
/// 2.5 ms, as the ear tells levels; the ear for reeds tells every fourth time.
const HOP: u64 = 120;

/// A chord that is played: from when to when, seconds; its breath, its holes and its level.
struct Played {
    from_s: f64,
    to_s: f64,
    breath: Breath,
    holes: &'static [u8],
    level_db: f64,
}

fn played(from_s: f64, to_s: f64, breath: Breath, holes: &'static [u8]) -> Played {
    Played { from_s, to_s, breath, holes, level_db: -20.0 }
}

fn holes(holes: &[u8]) -> Holes {
    holes.iter().copied().collect()
}

/// A reading that tells a level alone.
fn level(time: u64, level_db: f64) -> Reading {
    Reading {
        time,
        known: time,
        hz: None,
        sigma_cents: 0.5,
        clarity: 0.9,
        level_dbfs: level_db as f32,
        onset: false,
    }
}

/// The chords that are told of some that are played, in a room of -70 dBFS.
fn told(seconds: f64, all: &[Played]) -> Vec<Chug> {
    told_in(-70.0, seconds, all)
}

/// The same in a room of another level.
fn told_in(room_db: f64, seconds: f64, all: &[Played]) -> Vec<Chug> {
    let mut chugs = Chugs::new(RATE);
    let mut told = Vec::new();
    for number in 0..(seconds * RATE) as u64 / HOP {
        let time = number * HOP;
        let now_s = time as f64 / RATE;
        let sounds = all.iter().find(|chord| (chord.from_s..chord.to_s).contains(&now_s));
        told.extend(chugs.hear(&level(time, sounds.map_or(room_db, |chord| chord.level_db))));
        if number % 4 == 0 {
            let voices = sounds.into_iter().flat_map(|chord| {
                chord.holes.iter().map(|hole| Voice {
                    reed: Some(Reed { hole: *hole, draw: chord.breath == Breath::Draw }),
                    bent: false,
                    hz: 400.0,
                    level_dbfs: -26.0,
                })
            });
            told.extend(chugs.hear_reeds(&Sounding::new(time, time, voices)));
        }
    }
    told.extend(chugs.end());
    told
}

#[track_caller]
fn at(sample: u64, seconds: f64) {
    let told = sample as f64 / RATE;
    assert!((told - seconds).abs() < 0.012, "{told} for {seconds}");
}

#[test]
fn chords_are_divided_at_the_gaps_of_the_breath() {
    use Breath::{Blow, Draw};
    let all = [
        played(0.3, 0.5, Draw, &[1, 2, 3]),
        played(0.55, 0.75, Draw, &[1, 2, 3]),
        played(0.8, 1.1, Blow, &[2, 3]),
    ];
    let told = told(1.6, &all);
    assert_eq!(told.len(), 3, "{told:?}");
    for (chug, chord) in told.iter().zip(&all) {
        at(chug.began, chord.from_s);
        at(chug.last, chord.to_s);
        let heard = ChordHeard {
            breath: Some(chord.breath),
            sounding: holes(chord.holes),
            sure: true,
            ..ChordHeard::default()
        };
        assert_eq!(chug.heard, heard);
    }
}

#[test]
fn where_the_breath_turns_without_a_gap_one_chord_ends_and_another_begins() {
    use Breath::{Blow, Draw};
    let told = told(1.2, &[played(0.3, 0.6, Draw, &[1, 2]), played(0.6, 0.9, Blow, &[1, 2])]);
    assert_eq!(told.iter().map(|chug| chug.heard.breath).collect::<Vec<_>>(), [Some(Draw), Some(Blow)]);
    for (sample, seconds) in
        [(told[0].began, 0.3), (told[0].last, 0.6), (told[1].began, 0.6), (told[1].last, 0.9)]
    {
        at(sample, seconds);
    }
    // A few readings of the other breath, 40 ms of them, are no turn.
    let all =
        [played(0.3, 0.6, Draw, &[1, 2]), played(0.6, 0.64, Blow, &[1]), played(0.64, 1.0, Draw, &[1, 2])];
    assert_eq!(self::told(1.4, &all).len(), 1);
    // A chord of both breaths in turn, as an ear hears that cannot tell, is one as well.
    let all: Vec<Played> = (0..20)
        .map(|i| {
            let from_s = 0.3 + 0.02 * f64::from(i);
            played(from_s, from_s + 0.02, if i % 2 == 0 { Draw } else { Blow }, &[1, 2])
        })
        .collect();
    let flickers = self::told(1.2, &all);
    assert_eq!(flickers.iter().map(|chug| chug.heard.breath).collect::<Vec<_>>(), [None]);
}

#[test]
fn what_is_too_short_too_faint_or_no_harp_is_no_chord() {
    use Breath::Draw;
    let one = |to_s: f64, level_db: f64, holes: &'static [u8]| {
        let loud = played(0.2, 0.4, Draw, &[1, 2, 3]);
        told(1.2, &[loud, Played { level_db, ..played(0.6, to_s, Draw, holes) }]).len() - 1
    };
    assert_eq!(one(0.8, -20.0, &[1, 2]), 1);
    assert_eq!(one(0.63, -20.0, &[1, 2]), 0, "30 ms are a slip");
    assert_eq!(one(0.8, -42.0, &[1, 2]), 1, "22 dB below the loudest");
    assert_eq!(one(0.8, -48.0, &[1, 2]), 0, "28 dB below the loudest of a moment ago");
    assert_eq!(one(0.8, -20.0, &[]), 0, "a sound in which no reed was heard");
    // Four seconds later the loudest is forgotten by 12 dB.
    let loud = played(0.2, 0.4, Draw, &[1, 2, 3]);
    let later = Played { level_db: -48.0, ..played(4.5, 4.8, Draw, &[1, 2]) };
    assert_eq!(told(5.2, &[loud, later]).len(), 2);
    // In a loud room it has to rise by 5 dB.
    let in_room =
        |level_db: f64| told_in(-40.0, 1.2, &[Played { level_db, ..played(0.6, 0.9, Draw, &[1, 2]) }]).len();
    assert_eq!((in_room(-37.0), in_room(-30.0)), (0, 1));
    // By itself nothing quieter than -60 dBFS is a chord, however quiet the room.
    let alone = |level_db: f64| told(1.2, &[Played { level_db, ..played(0.6, 0.9, Draw, &[1, 2]) }]).len();
    assert_eq!((alone(-57.0), alone(-62.0)), (1, 0));
}

#[test]
fn a_chord_that_beats_or_dies_away_is_one_and_one_that_is_struck_again_is_two() {
    use Breath::Draw;
    let steps = |levels: &[(f64, f64)]| {
        let mut from_s = 0.3;
        let mut all = Vec::new();
        for (seconds, level_db) in levels {
            all.push(Played { level_db: *level_db, ..played(from_s, from_s + seconds, Draw, &[1, 2]) });
            from_s += seconds;
        }
        told(2.0, &all).len()
    };
    assert_eq!(steps(&[(0.2, -20.0), (0.05, -25.0), (0.2, -20.0)]), 1, "two reeds beat by 5 dB");
    assert_eq!(steps(&[(0.2, -20.0), (0.05, -30.0), (0.2, -20.0)]), 2, "10 dB are a gap");
    // 18 dB a second, in steps of 50 ms.
    let away: Vec<(f64, f64)> = (0..20).map(|i| (0.05, -20.0 - 0.9 * f64::from(i))).collect();
    assert_eq!(steps(&away), 1);
}

#[test]
fn the_chord_that_sounds_is_told_from_50_ms_on() {
    let mut chugs = Chugs::new(RATE);
    let mut first = None;
    for number in 0..400 {
        let time = number * HOP;
        chugs.hear(&level(time, if number >= 200 { -20.0 } else { -70.0 }));
        if let (Some(began), None) = (chugs.sounding(), first) {
            first = Some((began, time));
        }
    }
    let (began, told) = first.unwrap();
    at(began, 0.5);
    at(told, 0.55);
}

#[test]
fn a_chord_is_held_against_the_holes_and_the_breath_that_were_asked_for() {
    let (blow, draw) = (Breath::Blow, Breath::Draw);
    let asked = holes(&[1, 2, 3]);
    let heard = |sounding: &[u8], perhaps: &[u8], hidden: &[u8]| ChordHeard {
        breath: Some(draw),
        sounding: holes(sounding),
        perhaps: holes(perhaps),
        hidden: holes(hidden),
        sure: true,
    };
    let off =
        |missing: &[u8], leaked: &[u8]| ReedsOutcome::Off { missing: holes(missing), leaked: holes(leaked) };
    let flickers = ReedsOutcome::CannotTell(ReedsWhy::Flickers);
    assert_eq!(heard(&[1, 2, 3], &[], &[]).against(draw, asked), ReedsOutcome::Right);
    assert_eq!(heard(&[1, 2, 3], &[], &[]).against(blow, asked), ReedsOutcome::WrongBreath);
    assert_eq!(heard(&[1, 2], &[], &[]).against(draw, asked), off(&[3], &[]));
    assert_eq!(heard(&[1, 2, 3, 4], &[], &[]).against(draw, asked), off(&[], &[4]));
    assert_eq!(heard(&[1, 2, 4], &[], &[]).against(draw, asked), off(&[3], &[4]));
    // What may have sounded, or was hidden by another reed, is not missing, and nothing is sure then.
    assert_eq!(heard(&[1, 2], &[3], &[]).against(draw, asked), flickers);
    assert_eq!(heard(&[1, 2], &[], &[3]).against(draw, asked), flickers);
    assert_eq!(
        heard(&[1, 2, 3], &[], &[8]).against(draw, asked),
        ReedsOutcome::Right,
        "hidden, and not asked for"
    );
    assert_eq!(heard(&[1, 4], &[3], &[]).against(draw, asked), off(&[2], &[4]), "what is sure is said");
    let short = ChordHeard { sure: false, ..heard(&[1], &[], &[]) };
    assert_eq!(short.against(draw, asked), ReedsOutcome::CannotTell(ReedsWhy::TooShort));
    assert_eq!(short.against(blow, asked), ReedsOutcome::WrongBreath, "a short chord tells its breath");
    assert_eq!(ChordHeard { breath: None, ..short }.against(draw, asked), flickers);
}

#[test]
fn a_chord_is_told_soon_after_it_is_over_and_at_the_end_of_the_run() {
    // Levels come every 2.5 ms; readings of the reeds come 0.1 s after them.
    let mut chugs = Chugs::new(RATE);
    let mut told_s = Vec::new();
    let sounds = |time: u64| (14_400..24_000).contains(&time) || time >= 33_600;
    for number in 0..400 {
        let time = number * HOP;
        let mut told = chugs.hear(&level(time, if sounds(time) { -20.0 } else { -70.0 }));
        if number >= 40 && number % 4 == 0 {
            let then = time - 40 * HOP;
            let reed = Some(Reed { hole: 2, draw: true });
            let voice = Voice { reed, bent: false, hz: 400.0, level_dbfs: -26.0 };
            told.extend(chugs.hear_reeds(&Sounding::new(then, time, Some(voice).filter(|_| sounds(then)))));
        }
        told_s.extend(told.iter().map(|chug| (time as f64 / RATE, chug.last as f64 / RATE)));
    }
    // The first lasted until 0.5 s, of which the reeds are known at 0.6 s.
    let [(now_s, last_s)] = told_s[..] else { unreachable!("{told_s:?}") };
    assert!((last_s - 0.5).abs() < 0.012 && (0.59..0.66).contains(&now_s), "{told_s:?}");
    // The second still sounds.
    let rest = chugs.end();
    assert_eq!(rest.len(), 1);
    at(rest[0].began, 0.7);
    assert!(chugs.end().is_empty());
}

#[test]
fn a_chord_that_swells_begins_where_its_level_passes_20_db_below_the_held_one() {
    // From -60 to -20 dBFS within 40 ms, in steps of 2.5 ms: -40 is passed after 20 ms.
    let mut all: Vec<Played> = (0..16)
        .map(|i| {
            let from_s = 0.3 + 0.0025 * f64::from(i);
            let level_db = -60.0 + 2.5 * f64::from(i);
            Played { level_db, ..played(from_s, from_s + 0.0025, Breath::Draw, &[1, 2]) }
        })
        .collect();
    all.push(played(0.34, 0.7, Breath::Draw, &[1, 2]));
    let told = told(1.2, &all);
    assert_eq!(told.len(), 1, "{told:?}");
    // The attack is dated a few milliseconds before the reading that passes -40: a level counts as the mean of the 10
    // ms before.
    let began = told[0].began as f64 / RATE;
    assert!((0.311..0.322).contains(&began), "{began}");
}

#[test]
fn a_hole_that_another_hides_an_octave_below_is_neither_there_nor_missing() {
    let mut chugs = Chugs::new(RATE);
    let mut told = Vec::new();
    for number in 0..300 {
        let time = number * HOP;
        let sounds = (14_400..28_800).contains(&time);
        told.extend(chugs.hear(&level(time, if sounds { -20.0 } else { -70.0 })));
        if number % 4 == 0 {
            // 1 draw sounds; 4 draw, its octave, cannot be told; 2 draw is 25 dB below, and 3 draw is in every other
            // reading.
            let reed = |hole| Reed { hole, draw: true };
            let voice =
                |(hole, level_dbfs)| Voice { reed: Some(reed(hole)), bent: false, hz: 400.0, level_dbfs };
            let all = [(1, -26.0), (2, -51.0), (3, -30.0)].map(voice);
            let voices = all.iter().take(if number % 8 == 0 { 3 } else { 2 }).filter(|_| sounds).copied();
            let sounding = Sounding::new(time, time, voices).with_unsure(Some(reed(4)).filter(|_| sounds));
            told.extend(chugs.hear_reeds(&sounding));
        }
    }
    told.extend(chugs.end());
    let heard = ChordHeard {
        breath: Some(Breath::Draw),
        sounding: holes(&[1]),
        perhaps: holes(&[3]),
        hidden: holes(&[4]),
        sure: true,
    };
    assert_eq!(told.iter().map(|chug| chug.heard).collect::<Vec<_>>(), [heard]);
}

#[test]
fn what_leaks_in_while_a_chord_is_attacked_is_none_of_it() {
    let all = [played(0.3, 0.335, Breath::Draw, &[1, 2, 4]), played(0.335, 0.45, Breath::Draw, &[1, 2])];
    let [chug] = told(1.0, &all)[..] else { unreachable!("one chord") };
    assert_eq!((chug.heard.sounding, chug.heard.perhaps), (holes(&[1, 2]), Holes::NONE));
}

#[test]
fn a_chord_is_told_though_the_ear_for_reeds_falls_silent() {
    let mut chugs = Chugs::new(RATE);
    let mut told_s = None;
    for number in 0..400 {
        let time = number * HOP;
        let told = chugs.hear(&level(time, if (14_400..24_000).contains(&time) { -20.0 } else { -70.0 }));
        told_s = told_s.or(told.first().map(|_| time as f64 / RATE));
        // The reed is heard until 0.45 s; the chord lasts until 0.5 s, and its reeds are waited for 0.15 s more.
        if number % 4 == 0 && (14_400..21_600).contains(&time) {
            let reed = Some(Reed { hole: 2, draw: true });
            let voice = Voice { reed, bent: false, hz: 400.0, level_dbfs: -26.0 };
            chugs.hear_reeds(&Sounding::new(time, time, [voice]));
        }
    }
    assert!((0.65..0.68).contains(&told_s.unwrap()), "{told_s:?}");
}
