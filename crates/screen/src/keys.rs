//! The one table of keys: what can be asked for, with which key, where, and in which words.
//!
//! The table drives dispatch ([`KeyMap::command`]), the key line and the help overlay, and a player's configuration
//! changes it ([`KeyMap::with`]), so that what is shown is what happens.

use crate::View;

mod map;
mod press;

pub use map::{KeyMap, KeyMapError};
pub use press::{Press, PressError};

/// What a key can ask for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Command {
    /// Begin what is chosen.
    Start,
    /// Choose the line above.
    Up,
    /// Choose the line below.
    Down,
    /// A page up.
    PageUp,
    /// A page down.
    PageDown,
    /// The first line.
    First,
    /// The last line.
    Last,
    /// Take a harp a half step lower.
    Lower,
    /// Take a harp a half step higher.
    Higher,
    /// Play freely.
    Listen,
    /// Let the built-in player play.
    Player,
    /// Pause, or go on.
    Pause,
    /// Sound the note that is asked for, or all of a run before its count-in.
    Hear,
    /// Take the item once more.
    Again,
    /// Go to the next item.
    Next,
    /// Only what did not land.
    Missed,
    /// The weakest note by itself.
    Weakest,
    /// The next drill of the list.
    NextDrill,
    /// Do without a block of today's practice, or with it after all.
    LeaveOut,
    /// Practise the block sooner.
    Sooner,
    /// Practise the block later.
    Later,
    /// More minutes for today's practice.
    MoreTime,
    /// Fewer minutes.
    LessTime,
    /// Open the list of everything that can be practised.
    List,
    /// See what has changed.
    Progress,
    /// Type a remark.
    Remark,
    /// Hand the harp to another player, or back.
    HandOver,
    /// Practise only the bars that went worst.
    WeakBars,
    /// Practise all bars again.
    AllBars,
    /// Play the runs slower.
    Slower,
    /// Play them faster.
    Faster,
    /// Practise what the map shows, in time.
    InTime,
    /// Play freely over a form; in a jam over the next one.
    Jam,
    /// Be asked by ear.
    ByEar,
    /// Be asked something else by ear.
    Shape,
    /// Let the band play in another feel.
    Feel,
    /// Runs over the band, or to the click again.
    Band,
    /// Judge less strictly.
    Wider,
    /// Judge more strictly.
    Narrower,
    /// See the pitch always, less and less, or after each try.
    Feedback,
    /// Turn a dial of the map one step, forwards if true.
    Turn(Dial, bool),
    /// Open the map.
    Map,
    /// Look at the next chord of the map.
    Chord,
    /// Sound the scale of the map.
    Run,
    /// Sound the chord of the map.
    HearChord,
    /// Write the sheet of the map.
    WriteSheet,
    /// Show or hide the keys.
    Help,
    /// Leave the view.
    Leave,
    /// Put the program to sleep in the shell.
    Suspend,
    /// Leave the program.
    Quit,
}

/// What can be turned on the map, each way with one key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Dial {
    /// The position.
    Position,
    /// The scale.
    Scale,
    /// What the player is taken to command.
    Ability,
    /// The tuning of the harp.
    Tuning,
    /// The temperament of its reeds.
    Temperament,
}

/// One row of the table.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// What is asked for.
    pub command: Command,
    /// Its name in the configuration.
    pub name: &'static str,
    /// The keys it has from the start, separated by spaces.
    pub keys: &'static str,
    /// Where it works.
    pub views: &'static [View],
    /// The sentence in the help.
    pub help: &'static str,
}

const EVERYWHERE: &[View] = &[
    View::Today,
    View::Home,
    View::Drill,
    View::Run,
    View::Jam,
    View::Ear,
    View::Listen,
    View::Summary,
    View::Map,
    View::Progress,
];

/// Where the harp may change; in a drill the screen asks first.
const HARP: &[View] = &[View::Today, View::Home, View::Drill, View::Listen, View::Map];
/// Where the position may change; in a drill, which has to be one of the map, the screen asks first.
const POSITION: &[View] = &[View::Drill, View::Jam, View::Ear, View::Listen, View::Map];
/// Where the scale may change.
const SCALE: &[View] = &[View::Jam, View::Ear, View::Listen, View::Map];
/// Where a key goes to the next note, run or question.
const ASKING: &[View] = &[View::Drill, View::Run, View::Ear];
/// Where the player plays or is about to.
const PLAYING: &[View] = &[View::Home, View::Drill, View::Listen];

/// Runs in time only.
const RUN: &[View] = &[View::Run];
/// Where a tempo is kept.
const TIMED: &[View] = &[View::Run, View::Jam];
/// Where it is chosen who plays.
const WHO: &[View] = &[View::Today, View::Home, View::Drill, View::Run, View::Jam, View::Ear, View::Listen];

/// Where a note can be sounded.
const TONES: &[View] = &[View::Drill, View::Run, View::Map];
/// Where what is practised is chosen.
const CHOOSING: &[View] = &[View::Today, View::Home];
/// Today's practice only.
const TODAY: &[View] = &[View::Today];
/// The end of a drill only.
const SUMMARY: &[View] = &[View::Summary];
/// The map only.
const MAP: &[View] = &[View::Map];

/// A row of the table; a function so that a row is one line.
const fn row(
    command: Command,
    [name, keys]: [&'static str; 2],
    views: &'static [View],
    help: &'static str,
) -> Row {
    Row { command, name, keys, views, help }
}

/// The table, in the order of the help.
#[rustfmt::skip]
pub const TABLE: [Row; 59] = [
    row(Command::Start, ["start", "enter"], &[View::Today, View::Home, View::Run, View::Jam, View::Ear, View::Summary, View::Map], "Start what is chosen, go on to the next block, do a drill again, or practise the scale of the map."),
    row(Command::LeaveOut, ["leave-out", "n"], TODAY, "Do without this block today, or with it after all."),
    row(Command::Sooner, ["sooner", "K"], TODAY, "Practise this block sooner."),
    row(Command::Later, ["later", "J"], TODAY, "Practise this block later."),
    row(Command::MoreTime, ["more-time", "+ ="], TODAY, "More minutes for today."),
    row(Command::LessTime, ["less-time", "-"], TODAY, "Fewer minutes."),
    row(Command::List, ["list", "d"], TODAY, "Every drill, scale and phrase, to choose from."),
    row(Command::Remark, ["remark", "c"], &[View::Today, View::Run, View::Summary], "Type a remark; it is kept with what was practised."),
    row(Command::HandOver, ["hand-over", "h"], TODAY, "Hand the harp to another player, or back."),
    row(Command::Progress, ["progress", "g"], CHOOSING, "What has changed in a month: each bend, tempo, minutes."),
    row(Command::Missed, ["missed", "o"], SUMMARY, "Only what did not land."),
    row(Command::Weakest, ["weakest", "w"], SUMMARY, "Work on the weakest note until it lands three times in a row."),
    row(Command::NextDrill, ["next-drill", "n"], SUMMARY, "The next drill of the list."),
    row(Command::Lower, ["lower", "left"], HARP, "Take the harp before; your own come first."),
    row(Command::Higher, ["higher", "right"], HARP, "Take the next harp; your own come first."),
    row(Command::Listen, ["listen", "l"], CHOOSING, "Play freely and see what it hears."),
    row(Command::Jam, ["jam", "f"], &[View::Today, View::Home, View::Jam, View::Map], "Play freely over the chords of a form; in a jam over the next form."),
    row(Command::Feel, ["feel", "e"], &[View::Jam], "The next feel: shuffle, swing, waltz."),
    row(Command::Band, ["band", "f"], RUN, "Over the band, or to the click again."),
    row(Command::ByEar, ["by-ear", "y"], &[View::Today, View::Home, View::Map], "Be asked by ear: calls, drones, intervals."),
    row(Command::Shape, ["something-else", "e"], &[View::Ear], "Be asked something else."),
    row(Command::Player, ["player", "b"], WHO, "Built-in player, or the microphone again."),
    row(Command::Pause, ["pause", "space"], &[View::Drill, View::Run, View::Jam, View::Ear], "Pause: nothing is judged; then go on."),
    row(Command::Hear, ["hear", "r"], TONES, "Sound the note that is asked for or looked at; of a run all notes, before its count-in."),
    row(Command::Again, ["again", "a"], &[View::Drill, View::Run, View::Jam, View::Ear], "Take this note, run or question once more."),
    row(Command::Next, ["next", "n"], ASKING, "Go to the next note, run or question."),
    row(Command::WeakBars, ["weak-bars", "w"], RUN, "Only the bars that went worst."),
    row(Command::AllBars, ["all-bars", "W"], RUN, "All bars again, after only some of them."),
    row(Command::Slower, ["slower", "- left"], TIMED, "Begin anew, four beats a minute slower."),
    row(Command::Faster, ["faster", "+ = right"], TIMED, "Begin anew, four beats a minute faster."),
    row(Command::Wider, ["wider", "+ ="], PLAYING, "Wider tolerance: more counts as in tune, for as long as the program runs."),
    row(Command::Narrower, ["narrower", "-"], PLAYING, "Narrower tolerance: less counts as in tune."),
    row(Command::Feedback, ["feedback", "v"], &[View::Drill], "Show your pitch always, fading, or after a try."),
    row(Command::Map, ["map", "m"], CHOOSING, "See a harp with scales, positions and chords."),
    row(Command::Turn(Dial::Position, true), ["position", "p >"], POSITION, "Next position: another home note."),
    row(Command::Turn(Dial::Position, false), ["position-back", "P <"], POSITION, "The position before."),
    row(Command::Turn(Dial::Scale, true), ["scale", "s"], SCALE, "Next scale."),
    row(Command::Turn(Dial::Scale, false), ["scale-back", "S"], SCALE, "The scale before."),
    row(Command::Turn(Dial::Ability, true), ["ability", "a"], MAP, "Count on more skill: bends, overbends."),
    row(Command::Turn(Dial::Ability, false), ["ability-back", "A"], MAP, "Count on less skill."),
    row(Command::Turn(Dial::Tuning, true), ["tuning", "i"], MAP, "Next tuning."),
    row(Command::Turn(Dial::Tuning, false), ["tuning-back", "I"], MAP, "The tuning before."),
    row(Command::Turn(Dial::Temperament, true), ["temperament", "e"], MAP, "Next temperament."),
    row(Command::Turn(Dial::Temperament, false), ["temperament-back", "E"], MAP, "The temperament before."),
    row(Command::Chord, ["chord", "c"], MAP, "Look at the next chord."),
    row(Command::InTime, ["in-time", "t"], MAP, "Practise the scale in time, up and down."),
    row(Command::Run, ["run", "u"], MAP, "Sound the scale, up and down."),
    row(Command::HearChord, ["hear-chord", "x"], MAP, "Sound the chord looked at."),
    row(Command::WriteSheet, ["write", "w"], MAP, "Write a sheet to print, a PDF, into the folder you are in."),
    row(Command::Up, ["up", "up k"], EVERYWHERE, "Up: in the list, on the map, on this page."),
    row(Command::Down, ["down", "down j"], EVERYWHERE, "Down: in the list, on the map, on this page."),
    row(Command::PageUp, ["page-up", "pageup"], EVERYWHERE, "A page up; on the map an octave."),
    row(Command::PageDown, ["page-down", "pagedown"], EVERYWHERE, "A page down; on the map an octave."),
    row(Command::First, ["first", "home"], EVERYWHERE, "To the beginning; on the map the lowest note."),
    row(Command::Last, ["last", "end"], EVERYWHERE, "To the end; on the map the highest note."),
    row(Command::Help, ["help", "? f1"], EVERYWHERE, "Show or hide this page."),
    row(Command::Leave, ["leave", "q esc"], EVERYWHERE, "One level up; out of the program where it began."),
    row(Command::Suspend, ["suspend", "ctrl+z"], EVERYWHERE, "Put the program to sleep; fg wakes it."),
    row(Command::Quit, ["quit", "ctrl+c"], EVERYWHERE, "Leave the program at once."),
];

impl Command {
    /// Its row of the table.
    pub fn row(self) -> Option<&'static Row> {
        TABLE.iter().find(|row| row.command == self)
    }
}

#[cfg(test)]
mod tests;
