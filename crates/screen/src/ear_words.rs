//! What is said of questions by ear, the same on the screen and in lines of text.

use crate::words;
use layout::{Note, TabStyle, Way, cents_between, steps};
use practice::ear::{
    Answer, Answered, Asks, Cause, EarPlan, HeldAnswer, Named, NoteAnswer, NoteIs, Posed, Result, Shape,
};
use scoring::Outcome;
use theory::Interval;

/// What is asked, and in which key: "call and response, G blues".
pub fn title(plan: &EarPlan) -> String {
    let what = match (plan.shape, plan.heard) {
        (Shape::Call, _) => "call and response",
        (Shape::Drone, _) => "match a drone",
        (Shape::Interval, false) => "intervals by name",
        (Shape::Interval, true) => "intervals by ear",
        (Shape::Degree, false) => "degrees by name",
        (Shape::Degree, true) => "degrees by ear",
        (Shape::Depth, _) => "depths of bends",
    };
    let elsewhere = plan.elsewhere.as_ref().map(|key| format!(", answered in {}", key.tonic()));
    format!("{what}, {}{}", plan.key.title(), elsewhere.unwrap_or_default())
}

/// What the player is to do, before the verdict.
pub fn posed(posed: &Posed, tab: &TabStyle) -> String {
    let up_or_down = |up: i32| if up < 0 { "below" } else { "above" };
    match (&posed.named, posed.shape) {
        (Named::Notes(count, None), _) => format!("answer with the same {count} notes"),
        (Named::Notes(count, Some((called, answered))), _) => {
            format!("{count} notes in {called}: answer on the same degrees in {answered}")
        }
        (Named::Degree(degree, tonic), Shape::Drone) => {
            format!("play the {degree} of {tonic} and hold it, in any octave")
        }
        (Named::Degree(degree, tonic), _) => format!("play the {degree} of {tonic}, in any octave"),
        (Named::Tonic(tonic), _) => {
            format!("{tonic} and a degree above it: play the degree, in any octave")
        }
        (Named::From(way, _), _) => format!("{} and a second note: play the second", tab.print(*way)),
        (Named::Interval(way, _, up), _) => {
            format!("play {} {} {}", interval(*up), up_or_down(*up), tab.print(*way))
        }
        (Named::Natural(way), _) => format!("a bend on {way}: bend to the same depth"),
        (Named::Nothing, Shape::Depth) => "bend to the note that sounded".to_owned(),
        (Named::Nothing, _) => "play the pitch of the drone and hold it".to_owned(),
    }
}

/// What was asked, in tab: "-2 4 -4".
pub fn asked(asks: &Asks, tab: &TabStyle) -> String {
    asks.all_wanted().iter().map(|note| tab.print(note.way)).collect::<Vec<_>>().join(" ")
}

/// An interval by its name with an article: "a fifth", "an octave".
fn interval(half_steps: i32) -> String {
    let low = Note::MIDDLE_C;
    let name = low.up(half_steps.abs()).map(|high| Interval::between(low, high).to_string());
    let name = name.unwrap_or_default();
    let article = if name.starts_with('o') { "an" } else { "a" };
    format!("{article} {name}")
}

/// What came of a question, in a sentence.
pub fn verdict(answered: &Answered, tab: &TabStyle) -> String {
    match (answered.result, &answered.answer) {
        (Result::CannotTell(cause), _) => format!("cannot tell: {}; it comes again", why(cause)),
        (Result::Passed, _) => format!("passed: {}", was(answered, tab)),
        (_, Answer::Notes(notes)) => call(answered, notes, tab),
        (_, Answer::Held(held)) => one_note(answered, held, tab),
        (_, Answer::Nothing) => String::new(),
    }
}

fn why(cause: Cause) -> &'static str {
    match cause {
        Cause::SamplesLost => "sound was lost meanwhile",
        Cause::BeganEarly => "you began before it could be heard",
        Cause::Hidden => "what sounds here hid it; headphones are surer",
        Cause::NoPitch => "it was too short or too unsure to have a pitch",
    }
}

/// What was asked, with everything that names it.
fn was(answered: &Answered, tab: &TabStyle) -> String {
    let asks = &answered.question.asks;
    let Some(first) = asks.wanted() else { return String::new() };
    let note = format!("{}, {}", tab.print(first.way), answered.plan.key.written(first.note));
    match asks {
        Asks::Call { .. } => asked(asks, tab),
        Asks::Drone(_) => format!("{note}, the {} of {}", first.degree, answered.plan.key.tonic()),
        Asks::Interval { from, to } => {
            let up = apart(from.note, to.note);
            let side = if up < 0 { "below" } else { "above" };
            format!("{} {side} {} is {note}", interval(up), tab.print(from.way))
        }
        Asks::Degree { .. } => {
            format!("the {} of {} is {note}", first.degree, answered.plan.key.tonic())
        }
        Asks::Depth(to) => format!("{}, {}", note, depth(to.way)),
    }
}

fn apart(from: Note, to: Note) -> i32 {
    i32::from(to.midi()) - i32::from(from.midi())
}

/// How deep a bend is: "a whole step on 3 draw".
fn depth(way: Way) -> String {
    match way.technique {
        layout::Technique::Bend(depth) => format!("{} on {}", steps(depth), way.natural()),
        _ => way.to_string(),
    }
}

/// What came of a call, note by note.
fn call(answered: &Answered, notes: &[NoteAnswer], tab: &TabStyle) -> String {
    let right = notes.iter().filter(|note| note.is == NoteIs::Right).count();
    let of = notes.iter().filter(|note| note.wanted.is_some()).count();
    let off: Vec<String> = notes.iter().filter_map(|note| out_of_tune(answered, note, tab)).collect();
    let off = if off.is_empty() { String::new() } else { format!("; {}", off.join(", ")) };
    if answered.result == Result::Right {
        return format!("right: {}{off}", was(answered, tab));
    }
    let mut place = 0;
    let mut wrong = Vec::new();
    for note in notes {
        place += usize::from(note.wanted.is_some());
        wrong.extend(mistake(note, place, tab));
    }
    format!("{right} of {of} right: {}{off}", wrong.join(", "))
}

/// What is wrong with a note of an answer.
fn mistake(note: &NoteAnswer, place: usize, tab: &TabStyle) -> Option<String> {
    let print = |way: Way| tab.print(way);
    Some(match (note.is, note.wanted, note.played) {
        (NoteIs::Other, Some(wanted), Some((other, way))) => {
            let octave = octave(wanted.note, other).map(|octave| format!(", {octave}")).unwrap_or_default();
            format!("note {place} was to be {} and was {}{octave}", print(wanted.way), print(way))
        }
        (NoteIs::Missing, Some(wanted), _) => format!("note {place}, {}, is missing", print(wanted.way)),
        (NoteIs::Extra, _, Some((_, way))) => format!("{} was one too many", print(way)),
        _ => return None,
    })
}

/// Where a right note was out of tune.
fn out_of_tune(answered: &Answered, note: &NoteAnswer, tab: &TabStyle) -> Option<String> {
    let (cents, wanted) = (note.cents?, note.wanted?);
    let off = !answered.tolerance.in_tune(cents);
    off.then(|| {
        format!("{} was {}", tab.print(wanted.way), words::off(words::whole(cents, answered.tolerance)))
    })
}

/// "the same note an octave higher", if it is that.
fn octave(wanted: Note, played: Note) -> Option<String> {
    let up = apart(wanted, played);
    let octaves = up / 12;
    let many = match octaves.abs() {
        1 => "an octave".to_owned(),
        octaves => format!("{octaves} octaves"),
    };
    let side = if up < 0 { "lower" } else { "higher" };
    (up % 12 == 0 && up != 0).then(|| format!("the same note {many} {side}"))
}

/// What came of a note that was held.
fn one_note(answered: &Answered, held: &HeldAnswer, tab: &TabStyle) -> String {
    let asks = &answered.question.asks;
    let (Some(wanted), was) = (asks.wanted(), was(answered, tab)) else { return String::new() };
    let off = held.verdict.figures.map(|figures| words::whole(figures.cents_off, answered.tolerance));
    let off = off.map(words::off).unwrap_or_default();
    match (answered.result, asks) {
        (Result::Right, Asks::Depth(_)) => format!("right: {was}; {}", reached(answered, held)),
        (Result::Right, _) if off.is_empty() => format!("right: {was}"),
        (Result::Right, _) => format!("right: {was}; {off}"),
        (_, Asks::Depth(_)) if is_same_hole(held) => format!("{was}; {}", reached(answered, held)),
        _ => {
            let played = held.played.filter(|note| !is_note(held, *note, wanted.note));
            match (played, held.verdict.outcome) {
                (Some(note), _) => format!("{}; asked: {was}", played_words(answered, note, tab)),
                (None, Outcome::Flat(_) | Outcome::Sharp(_) | Outcome::Short(_) | Outcome::Past(_)) => {
                    format!("the note, but {off}; asked: {was}")
                }
                (None, outcome) => format!("{}; asked: {was}", outcome.word()),
            }
        }
    }
}

/// Whether a held note is the wanted one, be it out of tune.
fn is_note(held: &HeldAnswer, played: Note, wanted: Note) -> bool {
    played == wanted
        || held.verdict.figures.is_some_and(|figures| figures.cents_off.abs() <= 50.0)
            && !matches!(held.verdict.outcome, Outcome::AnotherNote(..))
}

fn is_same_hole(held: &HeldAnswer) -> bool {
    !matches!(held.verdict.outcome, Outcome::AnotherNote(..)) && held.verdict.figures.is_some()
}

/// How deep a bend was, against how deep it was to be.
fn reached(answered: &Answered, held: &HeldAnswer) -> String {
    let harp = &answered.harp;
    let Some(figures) = held.verdict.figures else { return held.verdict.outcome.word().to_owned() };
    let way = held.target.way;
    let hz = harp.hz(way).zip(harp.hz(way.natural()));
    let asked = hz.map_or(0.0, |(bent, natural)| cents_between(bent, natural));
    let reached = asked - figures.cents_off;
    let off = words::whole(figures.cents_off, answered.tolerance);
    let how = match off {
        off if answered.tolerance.in_tune(figures.cents_off) => words::off(off),
        off if off > 0.0 => format!("{} short", words::cents(off)),
        off => format!("{} too deep", words::cents(off)),
    };
    format!("{:.0} cents asked, {:.0} reached: {how}", asked.abs(), reached.abs())
}

/// What was played instead, as the question asked for it.
fn played_words(answered: &Answered, note: Note, tab: &TabStyle) -> String {
    let way = answered.harp.ways_to(note).first().map(|way| format!(" ({})", tab.print(*way)));
    let note_words = format!("{}{}", answered.plan.key.written(note), way.unwrap_or_default());
    match &answered.question.asks {
        Asks::Interval { from, .. } => {
            let up = apart(from.note, note);
            let side = if up < 0 { "down" } else { "up" };
            format!("you played {} {side}, {note_words}", interval(up))
        }
        Asks::Degree { .. } => {
            let degree = answered.plan.key.degree_of(note.pitch_class());
            format!("you played the {degree}, {note_words}")
        }
        asks => match asks.wanted().and_then(|wanted| octave(wanted.note, note)) {
            Some(octave) => format!("you played {octave}, {note_words}"),
            None => format!("you played {note_words}"),
        },
    }
}

/// What is measured of a held note besides its pitch.
pub fn figures(answered: &Answered, look: &crate::Look) -> Vec<String> {
    match &answered.answer {
        Answer::Held(held) => {
            held.verdict.figures.map(|figures| words::figures(&figures, look)).unwrap_or_default()
        }
        Answer::Nothing | Answer::Notes(_) => Vec::new(),
    }
}

/// What questions came to, in a line.
pub fn line(plan: &EarPlan, (right, answered): (usize, usize)) -> String {
    format!("{}: {right} of {answered} right", title(plan))
}

/// What is said where there is nothing to sound a question with.
pub fn cannot_sound(plan: &EarPlan) -> String {
    let what = match plan.shape {
        Shape::Call => "a call has to be sounded",
        Shape::Depth => "a depth has to be sounded",
        Shape::Interval | Shape::Degree if plan.heard => "what is to be told by ear has to be sounded",
        Shape::Drone => return "no drone can be sounded, so its degree is named".to_owned(),
        Shape::Interval | Shape::Degree => return "it is named, and needs no loudspeaker".to_owned(),
    };
    format!("{what}, and that cannot be done here; intervals and degrees by name need no loudspeaker")
}

/// The sign of what came of a question.
pub fn sign(answered: &Answered, look: &crate::Look) -> char {
    let glyphs = &look.glyphs;
    match answered.result {
        Result::Right => glyphs.centred,
        Result::Wrong => glyphs.missed,
        Result::CannotTell(_) => glyphs.unknown,
        Result::Passed => glyphs.minus,
    }
}

/// A note of an answer: what was wanted, what was played, its sign.
pub(crate) fn pair(note: &NoteAnswer, look: &crate::Look) -> (String, String, char) {
    let tab = |way: Option<Way>| way.map_or(String::new(), |way| look.tab(way));
    let sign = match note.is {
        NoteIs::Right => look.glyphs.centred,
        NoteIs::Other | NoteIs::Missing | NoteIs::Extra => look.glyphs.missed,
    };
    (tab(note.wanted.map(|wanted| wanted.way)), tab(note.played.map(|(_, way)| way)), sign)
}
