//! What an exercise tells: where it stands, what happened, what came of a try.

use crate::chords::{ChordAsked, ChordTried};
use crate::ear::{Answered, EarPlan, Posed, Sounds};
use crate::jam::{ChorusOver, JamNote, JamOver, JamPlan};
use crate::run::{Plan, Rhythm, RunName, Tempo, swing_played};
use crate::{Drill, Feedback, Moment, PlayedNote, ReedSet};
use layout::{Harp, HarpKey, Way};
use scoring::reeds::Clean;
use scoring::timed::RunVerdict;
use scoring::{Outcome, Target, Tolerance, Trace, Verdict};
use serde::Serialize;

/// Where a drill stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// The item is shown, and what sounds still belongs to the note before it: the player has to let go, or to go on to
    /// what is asked for.
    Released,
    /// The item is shown and its try has not begun.
    Waiting,
    /// The try is sounding.
    Playing,
    /// The last verdict of the drill is shown; the drill ends after a moment of silence.
    Judged,
    /// Paused by the player; readings are not judged.
    Paused,
    /// All items are done.
    Done,
    /// The player left before the last item.
    Left,
}

/// Which drill it is: enough to find it again, and to say it.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
pub struct DrillId {
    /// The name by which it is started.
    pub name: String,
    /// Its title.
    pub title: String,
}

/// An item that is asked for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Asked {
    /// Index of the item in the drill.
    pub item: usize,
    /// Which note of the item, counted from 0; a joined item has several.
    pub note: usize,
    /// Which try at that item, counted from 1.
    pub attempt: u32,
    /// What to play.
    pub target: Target,
}

/// One finished try, complete in itself: what was asked, of whom, and what came of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tried {
    /// The drill.
    pub drill: DrillId,
    /// The harp that was asked to play it.
    pub harp: Harp,
    /// What was asked.
    pub asked: Asked,
    /// How near was near enough.
    pub tolerance: Tolerance,
    /// When the pitch was shown, as it was chosen when the try was judged.
    pub feedback: Feedback,
    /// When the try began to sound (or was given up as not heard).
    pub began: Moment,
    /// When the verdict was known.
    pub ended: Moment,
    /// The verdict.
    pub verdict: Verdict,
    /// Whether the note stayed alone, where the drill asks for that and the note itself was played.
    pub clean: Option<Clean>,
    /// How the pitch went.
    pub trace: Trace,
}

impl Tried {
    /// The way that was asked for.
    pub fn way(&self) -> Way {
        self.asked.target.way
    }

    /// Whether it is what was asked for: in tune and held, and clean where it had to be. Where it cannot be told
    /// whether anything leaked in, nothing is held against the player.
    pub fn has_landed(&self) -> bool {
        self.verdict.outcome == Outcome::Landed && !matches!(self.clean, Some(Clean::Leaked(..)))
    }
}

/// A note of free playing that is over.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Played {
    /// The note.
    pub note: PlayedNote,
    /// The reeds that sounded together meanwhile, the strongest first; none if no two did, or nobody listened for it.
    pub together: Vec<Way>,
    /// Whether nothing but this one reed sounded; nothing where that is not known.
    pub alone: Option<bool>,
    /// The note was still sounding when nobody listened any more, or samples were lost.
    pub unfinished: bool,
}

/// A model begins: what is to be played is played to the player, from now on, with `lead_s` of silence before its first
/// beat.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ModelBegan {
    /// Its tempo.
    pub tempo: Tempo,
    /// Seconds from now to the first beat.
    pub lead_s: f64,
}

/// A run that begins: its count-in, or, where the player gives the beat, its first note.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RunBegan {
    /// Which run it is, counted from 1.
    pub number: u32,
    /// Its tempo.
    pub tempo: Tempo,
    /// The bar for which it counts in; 0 but where a run was broken off.
    pub from_bar: usize,
    /// The sample, with its fraction, at which the first beat of the first bar sounds, or would sound if the run began
    /// there.
    pub first_beat_samples: f64,
    /// When that was known.
    pub at: Moment,
}

/// A run that is over, complete in itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RunJudged {
    /// What was played.
    pub name: RunName,
    /// The harp.
    pub harp: Harp,
    /// The rhythm, with the tempo of this run.
    pub rhythm: Rhythm,
    /// Which run it was, counted from 1.
    pub number: u32,
    /// How near was near enough.
    pub tolerance: Tolerance,
    /// When it was over.
    pub ended: Moment,
    /// What came of it.
    pub verdict: RunVerdict,
}

impl RunJudged {
    /// How long the first note of a pair was played against the second, as a ratio; `None` where notes do not come in
    /// pairs, or if fewer than four pairs were played.
    pub fn swing(&self) -> Option<f64> {
        swing_played(&self.rhythm, &self.verdict.notes)
    }
}

/// What an exercise is.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Started {
    /// A drill.
    Drill(Box<Drill>),
    /// Free playing.
    Free,
    /// Runs in time.
    Run(Box<Plan>),
    /// Free playing over a form.
    Jam(Box<JamPlan>),
    /// Questions by ear.
    Ear(Box<EarPlan>),
}

/// How an exercise ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Ending {
    /// Everything that was asked has been played.
    Done,
    /// The player left before that.
    Left,
}

/// What happened in an exercise. An event owns what it says, so that whoever is handed it needs nothing else.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Event {
    /// The player took this harp.
    TookHarp(Box<Harp>),
    /// An exercise begins.
    Started(Started),
    /// An item is asked for.
    Asked(Asked),
    /// The player paused: nothing is judged until an item is asked for again.
    Paused,
    /// A try began to sound.
    Began(Moment),
    /// A try is over.
    Judged(Box<Tried>),
    /// A chord of a drill is asked for.
    ChordAsked(ChordAsked),
    /// A try at a chord is over.
    ChordJudged(Box<ChordTried>),
    /// The player left in the middle of a try at a chord, which had begun at this moment.
    ChordUnfinished(ChordAsked, Moment),
    /// The last tries missed as if the harp in the hand were of this key. Said once in a drill.
    OtherHarp(HarpKey),
    /// The player left in the middle of a try, which had begun at this moment.
    Unfinished(Asked, Moment),
    /// A note of free playing is over.
    Played(Box<Played>),
    /// Reeds that sounded together in free playing, one or more, are over.
    Sounded(Box<ReedSet>),
    /// What a run asks for begins to be played to the player.
    ModelBegan(ModelBegan),
    /// The model has been played, or was left; the run comes next.
    ModelOver,
    /// A run begins, or a jam.
    RunBegan(RunBegan),
    /// A run is over.
    RunJudged(Box<RunJudged>),
    /// A note of a jam is over.
    JamNote(Box<JamNote>),
    /// A chorus of a jam is over.
    ChorusOver(Box<ChorusOver>),
    /// A jam is over, or was left.
    JamOver(Box<JamOver>),
    /// A question by ear is posed: what of it may be known.
    Posed(Box<Posed>),
    /// The question begins to be sounded.
    EarSounds(Box<Sounds>),
    /// What is sounded of the question ends now.
    EarSilent,
    /// A question by ear was answered or passed: what was asked, and what came of it.
    Answered(Box<Answered>),
    /// The exercise is over.
    Ended(Ending),
}
