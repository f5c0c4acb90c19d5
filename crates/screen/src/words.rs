//! Everything that is said in words about notes, distances and verdicts.

use crate::Look;
use crate::desk::{Before, LastTime};
use course::Day;
use layout::{Breath, Harp, HarpKey, Note, Technique, Way, steps};
use practice::run::Material;
use practice::{Drill, Item, ReedSet, ReedVoice};
use scoring::timed::Timing;
use scoring::{Between, Figures, Outcome, Tolerance, Verdict, Vibrato};
use theory::NoteName;

/// Both kinds of overbend in one word pair.
pub(crate) const OVERBEND: &str = "overblow, overdraw";

/// Reached sooner than this is at once, seconds.
const AT_ONCE: f64 = 0.05;
/// Drift below this is not worth a word, cents a second.
const DRIFTING: f64 = 3.0;
/// Overshoot below this is not worth a word, cents.
const BEYOND: f64 = 15.0;

/// The way as something to do: "draw hole 3, bent a half step down".
pub fn ask(way: Way) -> String {
    let (act, bend) = ask_parts(way);
    if bend.is_empty() { act } else { format!("{act}, {bend}") }
}

/// What to do in two parts: "draw hole 3" and, for a bend, "bent a half step down".
pub fn ask_parts(way: Way) -> (String, String) {
    let (hole, breath) = (way.hole, way.breath.word());
    match (way.technique, way.breath) {
        (Technique::Natural, _) => (format!("{breath} hole {hole}"), String::new()),
        (Technique::Bend(depth), _) => {
            let article = if matches!(depth, 1 | 2) { "a " } else { "" };
            (format!("{breath} hole {hole}"), format!("bent {article}{} down", steps(depth)))
        }
        (Technique::Overbend, Breath::Blow) => (format!("overblow hole {hole}"), String::new()),
        (Technique::Overbend, Breath::Draw) => (format!("overdraw hole {hole}"), String::new()),
    }
}

/// How to go about it, in a sentence (common practice, no source).
pub fn hint(way: Way) -> &'static str {
    match (way.technique, way.breath) {
        (Technique::Natural, _) => "One hole only, lips relaxed, an easy breath.",
        (Technique::Bend(_), Breath::Draw) => "From the plain note, pull your tongue back; breathe gently.",
        (Technique::Bend(_), Breath::Blow) => "From the plain note, push your tongue up; breathe gently.",
        (Technique::Overbend, Breath::Blow) => "Shape the mouth as for a draw bend, then blow gently.",
        (Technique::Overbend, Breath::Draw) => "Shape the mouth as for a blow bend, then draw gently.",
    }
}

/// A note by name with its octave, in the letters of the harp's key.
pub fn note(harp: &Harp, note: Note) -> String {
    NoteName::on(harp, note.pitch_class()).with_octave(note)
}

/// What sounds when `way` is played on `harp`, or nothing.
pub fn note_of(harp: &Harp, way: Way) -> String {
    harp.note(way).map(|sounds| note(harp, sounds)).unwrap_or_default()
}

/// A whole number of cents in words: "1 cent", "12 cents".
pub fn cents(cents: f64) -> String {
    let n = cents.abs().round() as u64;
    if n == 1 { "1 cent".to_owned() } else { format!("{n} cents") }
}

/// The width of a tolerance, which need not be whole: "1 cent", "2.5 cents".
pub(crate) fn width(cents: f64) -> String {
    if cents == 1.0 { "1 cent".to_owned() } else { format!("{cents} cents") }
}

/// A distance from the target: "3 cents flat", "right on pitch".
pub fn off(off: f64) -> String {
    match off.round() {
        0.0 => "right on pitch".to_owned(),
        n if n < 0.0 => format!("{} flat", cents(n)),
        n => format!("{} sharp", cents(n)),
    }
}

/// A distance in whole cents, rounded without crossing either tolerance: 25.3 is 26 where 25 is still in tune. So no
/// number contradicts the word beside it, or the count of what was centred.
pub(crate) fn whole(off: f64, tolerance: Tolerance) -> f64 {
    let limits = [
        (tolerance.centred(off), tolerance.centred_cents.floor()),
        (tolerance.in_tune(off), tolerance.in_tune_cents.floor()),
    ];
    let beside = |cents: f64, (inside, last): (bool, f64)| {
        if inside { cents.min(last) } else { cents.max(last + 1.0) }
    };
    limits.into_iter().fold(off.abs().round(), beside).copysign(off)
}

/// The word for where the pitch lies: "centred" and "in tune" are two things, and a player hears the difference.
pub fn side(off: f64, tolerance: Tolerance) -> &'static str {
    if tolerance.centred(off) {
        "centred"
    } else if tolerance.in_tune(off) {
        "in tune"
    } else if off < 0.0 {
        "flat"
    } else {
        "sharp"
    }
}

/// The state of a judged try in a word: how well it landed, or what it was instead.
pub fn state(verdict: &Verdict, tolerance: Tolerance) -> &'static str {
    match (verdict.outcome, verdict.figures) {
        (Outcome::Landed, Some(figures)) if tolerance.centred(figures.cents_off) => "landed, centred",
        (Outcome::Landed, _) => "landed, in tune",
        (outcome, _) => outcome.word(),
    }
}

/// The words for another harp in the hand than the one that is listened for.
pub fn other_harp(heard: HarpKey, asked: HarpKey) -> String {
    format!("this sounds like a {heard} harp; the drill asks for a {asked} harp")
}

/// The article before the name of a key: "an A harp", "a low F harp". F is spoken with a vowel, as are A and E.
fn article(name: &str) -> &'static str {
    if name.starts_with(['A', 'E', 'F']) { "an" } else { "a" }
}

/// What another harp in the middle of a drill leads to: "begin anew on an A harp".
pub(crate) fn anew_on(key: HarpKey) -> String {
    format!("begin anew on {} {key} harp", article(&key.to_string()))
}

/// What is said of another position in a drill that is not made of a scale.
pub(crate) const SAME_HOLES: &str = "this drill has the same holes in every position";

/// What counts as centred and as in tune: "centred within 10 cents, in tune within 25".
pub fn tolerance(tolerance: Tolerance) -> String {
    format!("centred within {}, in tune within {}", cents(tolerance.centred_cents), tolerance.in_tune_cents)
}

/// How much a drill is: "6 notes, about 3 minutes".
pub(crate) fn size(drill: &Drill) -> String {
    let notes: usize = drill.items.iter().map(Item::parts).sum();
    let what = if drill.is_of_chords() { "chord" } else { "note" };
    let notes = format!("{notes} {what}{}", if notes == 1 { "" } else { "s" });
    let time = match (drill.about_s() / 60.0).round() as u32 {
        0 => "less than a minute".to_owned(),
        1 => "about a minute".to_owned(),
        minutes => format!("about {minutes} minutes"),
    };
    format!("{notes}, {time}")
}

/// How much a phrase or a scale is: "16 notes in 4 bars, in time at 76".
pub(crate) fn size_in_time(material: &Material) -> String {
    let (notes, bars) = (material.notes().len(), material.bars());
    let bars = if bars == 1 { "1 bar".to_owned() } else { format!("{bars} bars") };
    format!("{notes} notes in {bars}, in time at {}", material.rhythm.tempo)
}

/// What came of a drill or a run the last time: "yesterday 7 of 10 landed", "today 12 of 13 right at 84, clean at 80".
pub(crate) fn last_time(last: LastTime, today: Day) -> String {
    let day = last.day.spoken(today);
    let how = match last.run {
        None => "landed".to_owned(),
        Some((tempo, None)) => format!("right at {tempo}"),
        Some((tempo, Some(clean))) => format!("right at {tempo}, clean at {clean}"),
    };
    format!("{day} {} of {} {how}", last.good, last.of)
}

/// What came of a drill or a run before: "yesterday 5 of 11, best 9 of 11 on Tuesday"; nothing the first time.
pub(crate) fn before(before: &Before, today: Day) -> Option<String> {
    let last = before.last.as_ref()?;
    let tempo = last.tempo.map_or(String::new(), |tempo| format!(" right at {tempo:.0}"));
    let best = match (&before.best, before.clean) {
        (_, Some(clean)) => format!(", clean at {clean:.0} at best"),
        (Some(best), None) if best.day != last.day && last.tempo.is_none() => {
            format!(", best {} of {} {}", best.good, best.of, best.day.spoken(today))
        }
        _ => String::new(),
    };
    Some(format!("{} {} of {}{tempo}{best}", last.day.spoken(today), last.good, last.of))
}

/// How an item of a drill is played: "hold 1.5 s, 2 tries", "hold 1 s, until 3 land in a row".
pub(crate) fn item(item: &Item) -> String {
    let hold = item.hold_s();
    let tries = match (item.in_a_row, item.tries) {
        (Some(wanted), _) => format!(", until {wanted} land in a row"),
        (None, 1) => String::new(),
        (None, tries) => format!(", {tries} tries"),
    };
    let wanted = item.notes().first().map_or(0.0, |note| note.cents);
    let wanted = if wanted == 0.0 { String::new() } else { format!(", {} wanted", off(wanted)) };
    let within = item.tolerance.map(|tolerance| format!(", within {}", width(tolerance.in_tune_cents)));
    format!("hold {hold} s{tries}{wanted}{}", within.unwrap_or_default())
}

/// Which reeds sound together and how loudly: "alone", "4 draw and 5 draw, 14 dB below", "4 draw, 5 draw 3 dB below,
/// 6 draw 12 dB below". Levels are told in whole decibels below the strongest reed.
pub fn together(set: &ReedSet) -> String {
    let below = |voice: &ReedVoice, equal: &str| match voice.below_db.round() {
        db if db > 0.0 => format!("{db} dB below"),
        _ => equal.to_owned(),
    };
    match set.voices.as_slice() {
        [] => String::new(),
        [_] => "alone".to_owned(),
        [first, second] => format!("{} and {}, {}", first.way, second.way, below(second, "equally loud")),
        [first, others @ ..] => {
            let others = others.iter().map(|voice| format!(", {} {}", voice.way, below(voice, "as loud")));
            first.way.to_string() + &others.collect::<String>()
        }
    }
}

/// Reeds that sound together and how loudly, in tab: "(-4 -5), 14 dB below", "(-4 -5 -6), 0 3 12 dB below".
pub(crate) fn together_in_tab(set: &ReedSet, look: &Look) -> String {
    let tab = tab_together(&set.ways(), look);
    let below: Vec<String> = set.voices.iter().map(|voice| voice.below_db.round().to_string()).collect();
    match below.as_slice() {
        [] => String::new(),
        [_] => "alone".to_owned(),
        [_, below] => format!("{tab}, {below} dB below"),
        below => format!("{tab}, {} dB below", below.join(" ")),
    }
}

/// Ways that sound together, as tab: "(-4 -5)".
pub(crate) fn tab_together(ways: &[Way], look: &Look) -> String {
    let tab: Vec<String> = ways.iter().map(|way| look.tab(*way)).collect();
    format!("({})", tab.join(" "))
}

/// The verdict as a sentence, with what to do about it.
pub fn verdict(verdict: &Verdict, harp: &Harp, target: Way, tolerance: Tolerance) -> String {
    let (deeper, shallower) = match target.technique {
        Technique::Overbend => ("a little higher", "a little lower"),
        _ => ("bend deeper", "bend less"),
    };
    let missed = |by: f64| cents(whole(by, tolerance));
    match verdict.outcome {
        Outcome::Landed => match verdict.figures {
            Some(Figures { cents_off, .. }) => {
                format!("{}: {}", state(verdict, tolerance), off(whole(cents_off, tolerance)))
            }
            None => "landed".to_owned(),
        },
        Outcome::Short(by) => format!("short by {}: {deeper}", missed(by)),
        Outcome::Past(by) => format!("past by {}: {shallower}", missed(by)),
        Outcome::Flat(by) => format!("flat by {}: relax and breathe easily", missed(by)),
        Outcome::Sharp(by) => format!("sharp by {}: breathe more gently", missed(by)),
        Outcome::AnotherNote(heard, way) => {
            let how = way.map(|way| format!(" ({way})")).unwrap_or_default();
            format!("another note: {}{how}", note(harp, heard))
        }
        Outcome::TooBrief(held_s) => format!("let go early, held {held_s:.1} s: let it sound longer"),
        Outcome::Unsteady(spread) => format!("unsteady, over {}: hold one pitch", cents(spread)),
        Outcome::NotHeard(level_dbfs) => format!("not heard: {}", unheard(level_dbfs)),
        Outcome::CannotTell(why) => format!("cannot tell: {}", why.words()),
    }
}

/// The level above which a microphone hears a harp well enough, and below which it hears next to nothing, dB relative
/// to a full-scale sine. Common practice, no source.
const HEARD_DBFS: f64 = -45.0;
const NOTHING_DBFS: f64 = -70.0;

/// Why no note was heard, by the level of the loudest sound meanwhile.
fn unheard(level_dbfs: f64) -> String {
    let level = level_dbfs.max(-120.0);
    if level > HEARD_DBFS {
        format!("sound up to {level:.0} dB, but no note in it; one hole only, and less noise around")
    } else if level > NOTHING_DBFS {
        format!("the loudest sound was {level:.0} dB; come closer or turn the microphone up")
    } else {
        format!("the microphone heard nothing ({level:.0} dB); is it the right one, and switched on?")
    }
}

/// The verdict in a word or two and a number, for a row of several.
pub fn verdict_short(verdict: &Verdict, harp: &Harp, tolerance: Tolerance, look: &Look) -> String {
    let missed = |by: f64| whole(by, tolerance).abs();
    match verdict.outcome {
        Outcome::Landed => verdict.figures.map_or("landed".to_owned(), |Figures { cents_off, .. }| {
            format!("{} {}", side(cents_off, tolerance), look.signed(whole(cents_off, tolerance)))
        }),
        Outcome::Short(by) => format!("short {}", missed(by)),
        Outcome::Past(by) => format!("past {}", missed(by)),
        Outcome::Flat(by) => format!("flat {}", missed(by)),
        Outcome::Sharp(by) => format!("sharp {}", missed(by)),
        Outcome::AnotherNote(heard, _) => format!("was {}", note(harp, heard)),
        Outcome::TooBrief(held_s) => format!("early {held_s:.1} s"),
        Outcome::Unsteady(_) | Outcome::NotHeard(_) | Outcome::CannotTell(_) => {
            verdict.outcome.word().to_owned()
        }
    }
}

/// The sign before a verdict: how well it landed, the side on which the pitch lay, or that it was something else.
pub fn verdict_sign(verdict: &Verdict, tolerance: Tolerance, look: &Look) -> char {
    let glyphs = &look.glyphs;
    let off = verdict.figures.map(|figures| figures.cents_off);
    match verdict.outcome {
        Outcome::Landed if off.is_some_and(|off| tolerance.centred(off)) => glyphs.centred,
        Outcome::Landed => glyphs.in_tune,
        Outcome::Flat(_) | Outcome::Sharp(_) | Outcome::Short(_) | Outcome::Past(_) => match off {
            Some(off) if off < 0.0 => glyphs.flat,
            Some(_) => glyphs.sharp,
            None => glyphs.missed,
        },
        Outcome::AnotherNote(..) | Outcome::TooBrief(_) | Outcome::Unsteady(_) => glyphs.missed,
        Outcome::NotHeard(_) | Outcome::CannotTell(_) => glyphs.unknown,
    }
}

/// From this spread on the level is called uneven, dB. Our own figure; common practice, no source.
const UNEVEN_DB: f64 = 2.0;
/// Below this harmonics-to-noise ratio a tone is called breathy, dB. Our own figure; common practice, no source.
const BREATHY_DB: f64 = 12.0;

/// What was measured, the most telling first.
pub fn figures(figures: &Figures, look: &Look) -> Vec<String> {
    let reached = if figures.reach_s < AT_ONCE {
        "reached at once".to_owned()
    } else {
        format!("reached in {:.2} s", figures.reach_s)
    };
    let mut parts = vec![
        reached,
        format!("held {:.1} s", figures.held_s),
        format!("steady within {}{}", look.glyphs.spread, cents(figures.spread_cents)),
    ];
    let drift = figures.drift_cents_per_s.round();
    if drift.abs() >= DRIFTING {
        let how = if drift < 0.0 { "sank" } else { "rose" };
        parts.push(format!("{how} {} a second", cents(drift)));
    }
    if let Some(vibrato) = figures.vibrato {
        let Vibrato { rate_hz, depth_cents } = vibrato;
        parts.push(format!("vibrato {rate_hz:.1} a second, {} either side", cents(depth_cents)));
    }
    // A breath that swells by this much in a held note is heard as such (about two just noticeable steps).
    if figures.level_spread_db >= UNEVEN_DB {
        parts.push(format!("the level wavered by {:.1} dB", figures.level_spread_db));
    }
    if figures.hnr_db < BREATHY_DB {
        parts.push(format!("breathy: the tone is {:.0} dB above the breath", figures.hnr_db.max(0.0)));
    }
    if figures.overshoot_cents >= BEYOND {
        parts.push(format!("first went {} beyond", cents(figures.overshoot_cents)));
    }
    parts
}

/// Both distances of a pitch that lay between two depths and was in tune with neither, in tab.
pub fn between(between: &Between, tolerance: Tolerance, look: &Look) -> String {
    let missed = |by: f64| cents(whole(by, tolerance));
    format!(
        "{} below {}, {} above {}",
        missed(between.from_shallow_cents),
        look.tab(between.shallow),
        missed(between.from_deep_cents),
        look.tab(between.deep)
    )
}

/// How a note came against the beat: "tight", "in time, 12 ms late".
pub fn timing(timing: Timing, late_s: f64) -> String {
    let ms = (late_s.abs() * 1000.0).round();
    match timing {
        Timing::Tight => "tight".to_owned(),
        Timing::OnBeat => format!("in time, {ms} ms {}", if late_s < 0.0 { "early" } else { "late" }),
        Timing::Early => format!("too early by {ms} ms"),
        Timing::Late => format!("too late by {ms} ms"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn draw(hole: u8, technique: Technique) -> Way {
        Way::new(hole, Breath::Draw, technique)
    }

    fn harp() -> Harp {
        Harp::richter("F♯".parse().unwrap())
    }

    #[test]
    fn another_note_is_named_by_the_letters_of_the_harp() {
        let heard = Verdict {
            outcome: Outcome::AnotherNote(Note::new(73).unwrap(), None),
            figures: None,
            between: None,
        };
        let said = verdict(&heard, &harp(), draw(3, Technique::Bend(1)), Tolerance::USUAL);
        assert_eq!(said, "another note: C♯5");
        assert_eq!(verdict_short(&heard, &harp(), Tolerance::USUAL, &Look::default()), "was C♯5");
    }

    #[test]
    fn ways_are_asked_for_in_plain_words() {
        assert_eq!(ask(draw(3, Technique::Bend(1))), "draw hole 3, bent a half step down");
        assert_eq!(ask(draw(3, Technique::Bend(3))), "draw hole 3, bent one and a half steps down");
        assert_eq!(ask(Way::new(6, Breath::Blow, Technique::Overbend)), "overblow hole 6");
        assert_eq!(ask(Way::new(4, Breath::Blow, Technique::Natural)), "blow hole 4");
    }

    #[test]
    fn distances_are_said_with_their_side() {
        assert_eq!(off(-3.6), "4 cents flat");
        assert_eq!(off(1.2), "1 cent sharp");
        assert_eq!(off(0.3), "right on pitch");
        assert_eq!(side(-26.0, Tolerance::USUAL), "flat");
        assert_eq!(side(25.0, Tolerance::USUAL), "in tune");
        assert_eq!(side(-10.0, Tolerance::USUAL), "centred");
    }

    #[test]
    fn a_short_bend_says_by_how_much_and_what_to_do() {
        let short = Verdict { outcome: Outcome::Short(31.4), figures: None, between: None };
        let said = verdict(&short, &harp(), draw(3, Technique::Bend(1)), Tolerance::USUAL);
        assert_eq!(said, "short by 31 cents: bend deeper");
        assert_eq!(verdict_short(&short, &harp(), Tolerance::USUAL, &Look::default()), "short 31");
    }

    #[test]
    fn no_number_contradicts_the_word_beside_it() {
        let narrow = Tolerance::new(5.0, 12.5).unwrap();
        for (off, tolerance, said) in [
            (25.3, Tolerance::USUAL, 26.0),
            (-25.3, Tolerance::USUAL, -26.0),
            (25.0, Tolerance::USUAL, 25.0),
            (24.6, Tolerance::USUAL, 25.0),
            (12.5, narrow, 12.0),
            (12.6, narrow, 13.0),
            (10.4, Tolerance::USUAL, 11.0),
            (9.6, Tolerance::USUAL, 10.0),
        ] {
            assert_eq!(whole(off, tolerance), said, "{off}");
        }
        let short = Verdict { outcome: Outcome::Short(25.3), figures: None, between: None };
        let said = verdict(&short, &harp(), draw(3, Technique::Bend(1)), Tolerance::USUAL);
        assert_eq!(said, "short by 26 cents: bend deeper");
        assert_eq!(verdict_short(&short, &harp(), Tolerance::USUAL, &Look::default()), "short 26");
    }

    #[test]
    fn reeds_that_sound_together_are_told_with_their_levels() {
        let set = |voices: &[(u8, f64)]| ReedSet {
            voices: voices
                .iter()
                .map(|(hole, below_db)| ReedVoice {
                    way: draw(*hole, Technique::Natural),
                    hz: 0.0,
                    below_db: *below_db,
                })
                .collect(),
            began: practice::Timebase::new(1000.0).moment(0),
            ended: practice::Timebase::new(1000.0).moment(0),
        };
        let look = Look::default();
        for (voices, full, brief) in [
            (&[(4, 0.0)][..], "alone", "alone"),
            (&[(4, 0.0), (5, 13.6)], "4 draw and 5 draw, 14 dB below", "(-4 -5), 14 dB below"),
            (&[(4, 0.0), (5, 0.3)], "4 draw and 5 draw, equally loud", "(-4 -5), 0 dB below"),
            (
                &[(4, 0.0), (5, 0.4), (6, 12.2)],
                "4 draw, 5 draw as loud, 6 draw 12 dB below",
                "(-4 -5 -6), 0 0 12 dB below",
            ),
        ] {
            let set = set(voices);
            assert_eq!((together(&set).as_str(), together_in_tab(&set, &look).as_str()), (full, brief));
        }
    }

    #[test]
    fn both_distances_are_named_between_two_depths() {
        let lay = Between {
            shallow: draw(3, Technique::Bend(1)),
            from_shallow_cents: 60.0,
            deep: draw(3, Technique::Bend(2)),
            from_deep_cents: 40.0,
        };
        let said = between(&lay, Tolerance::USUAL, &Look::default());
        assert_eq!(said, "60 cents below -3', 40 cents above -3''");
    }
}
