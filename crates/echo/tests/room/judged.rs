//! What a run makes of what is heard.

use crate::place::{Clocks, RATE};
use crate::playing::Playing;
use echo::{Gate, Gated, Pace, Remover, Tape};
use layout::cents_between;
use pitch::{Ear, Reading, Settings};
use scoring::Tolerance;
use scoring::timed::{AskedNote, Beat, Divided, Follower, Masked, NoteVerdict, Notes, PlayedAt, RunVerdict};
use std::cell::RefCell;

/// What the loudspeaker was handed, and what the clocks of the two devices tell.
pub(crate) type Reference<'a> = Option<(&'a [f32], Clocks)>;

/// What was heard of a take.
pub(crate) struct Heard {
    pub(crate) verdicts: Vec<NoteVerdict>,
    pub(crate) notes: Vec<PlayedAt>,
}

/// The ear that listens to a player.
pub(crate) fn ear() -> Ear {
    Ear::new(Settings::new(RATE)).unwrap()
}

/// The readings behind the gate, of a microphone with what was sounded known; `None` for an ear by itself.
pub(crate) fn readings(microphone: &[f32], reference: Reference<'_>) -> Vec<Reading> {
    gated(microphone, reference).into_iter().map(|gated| gated.reading).collect()
}

fn gated(microphone: &[f32], reference: Reference<'_>) -> Vec<Gated> {
    let (mut gate, mut all) = (Gate::new(RATE), Vec::new());
    listen(microphone, reference, |_| {}, |remover, reading| all.push(gate.pass(remover, reading)));
    all
}

/// Has an ear listen to what is left of a microphone with what was sounded known; hands its samples and its readings
/// on.
pub(crate) fn listen(
    microphone: &[f32],
    reference: Reference<'_>,
    mut sample: impl FnMut(f32),
    mut reading: impl FnMut(&Remover, Reading),
) {
    let mut ear = ear();
    let rate = RATE / ear.factor() as f64;
    let remover = RefCell::new(Remover::new(rate));
    let mut tape = Tape::new(RATE, rate, 48_000);
    let mut pace = Pace::new(RATE, rate);
    let (mut n, mut pushed) = (0_usize, 0_usize);
    let mut clean = |x: f32| {
        let Some((reference, clocks)) = reference else { return x };
        // Blocks of 10 ms, as devices hand them in.
        if n.is_multiple_of((0.01 * rate) as usize) {
            let (frame, drift) = clocks.told(n as f64 / rate);
            pace.clocks(frame, drift);
        }
        // Further than any clock here is off.
        while pushed < reference.len() && (pushed as f64) < RATE * (n as f64 / rate + 0.02) {
            tape.push(reference[pushed]);
            pushed += 1;
        }
        n += 1;
        pace.remove(&tape, &mut remover.borrow_mut(), x)
    };
    let cleaned = |x: f32| {
        let left = clean(x);
        sample(left);
        left
    };
    ear.push_cleaned(microphone, cleaned, |told| reading(&remover.borrow(), told));
}

/// What a run makes of it.
pub(crate) fn heard(playing: &Playing, microphone: &[f32], reference: Reference<'_>) -> Heard {
    told(playing, gated(microphone, reference))
}

/// What a run makes of readings.
pub(crate) fn told(playing: &Playing, readings: Vec<Gated>) -> Heard {
    let mut notes = Notes::new(RATE, 0.06);
    let (mut divided, mut masked): (Vec<Divided>, Masked) = (Vec::new(), Masked::default());
    for gated in readings {
        if let Some((from, until)) = gated.masked {
            masked.add(from, until, RATE);
        }
        divided.extend(notes.hear(playing.harp.concert(), &gated.reading));
    }
    divided.extend(notes.end());
    // What this harp cannot sound is no note of a run or of a jam.
    divided.retain(|note| !playing.harp.ways_to(note.note).is_empty());
    let notes: Vec<PlayedAt> = divided.iter().map(|note| PlayedAt::new(note, 0.0, RATE)).collect();
    let asked = asked(playing);
    let mut follower = Follower::new(&asked, &playing.harp, true);
    let masked = masked.seconds(0.0, RATE);
    for note in &notes {
        follower.hear(note.note, note.onset_s);
    }
    let verdict =
        RunVerdict::new((&asked, &notes, &masked), &follower, (&playing.harp, Tolerance::USUAL), Beat::Known);
    Heard { verdicts: verdict.notes, notes }
}

fn asked(playing: &Playing) -> Vec<AskedNote> {
    let asked = playing.played.iter().map(|played| AskedNote {
        way: played.way,
        note: playing.harp.note(played.way).unwrap(),
        onset_s: played.began as f64 / RATE + 0.010,
        length_s: (played.released - played.began) as f64 / RATE,
        bar: (played.began as f64 / RATE / 2.4) as usize,
        joined: false,
        holes: scoring::reeds::Holes::NONE,
    });
    asked.collect()
}

/// What came of the notes of some takes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Figures {
    /// Notes that were judged right without a band; and how many of these were judged right, wrong and not at all over
    /// one.
    right: usize,
    same: usize,
    blamed: usize,
    untold: usize,
    /// Notes that were heard where none was played.
    falsely: usize,
    seconds: f64,
    /// Notes that were played, that were heard, and that are both by onset and pitch.
    played: usize,
    heard: usize,
    hits: usize,
    /// By how much what is told of a note's time differs from what is told without a band, milliseconds.
    moved_ms: Vec<f64>,
}

/// A note is hit within this, seconds and cents: the tolerances of note transcription (`mir_eval` 0.8.2, without
/// offsets).
const HIT: (f64, f64) = (0.05, 50.0);

/// How many of the notes that were played are among those that were heard, each counted once.
fn hits(playing: &Playing, notes: &[PlayedAt]) -> usize {
    let concert = playing.harp.concert();
    let mut left: Vec<(f64, f64)> = notes
        .iter()
        .map(|note| (note.onset_s, note.held.map_or(concert.hz(note.note, 0.0), |(hz, _)| hz)))
        .collect();
    let asked = asked(playing);
    let hit = asked.iter().filter(|asked| {
        let truth = playing.harp.hz(asked.way).unwrap();
        let near = |(onset_s, hz): &(f64, f64)| {
            (onset_s - asked.onset_s).abs() <= HIT.0 && cents_between(truth, *hz).abs() <= HIT.1
        };
        left.iter().position(near).map(|place| left.swap_remove(place)).is_some()
    });
    hit.count()
}

impl Figures {
    /// What the rows say.
    pub(crate) const HEAD: &str = "of the notes judged right without a band: called wrong, cannot tell, judged the same; notes in rests; F1 of notes; their times move by (95 %)";

    /// Takes what was heard of a take without a band, and over one.
    pub(crate) fn add(&mut self, playing: &Playing, alone: &Heard, over: &Heard) {
        for (without, with) in alone.verdicts.iter().zip(&over.verdicts).filter(|(alone, _)| alone.is_right())
        {
            self.right += 1;
            self.moved_ms
                .extend(without.late_s.zip(with.late_s).map(|(without, with)| 1e3 * (with - without).abs()));
            let asked = with.asked;
            if with.is_right() {
                self.same += 1;
            } else if with.is_masked() {
                self.untold += 1;
            } else {
                self.blamed += 1;
                println!(
                    "   blamed: {:?} at {:.2} s, pitch {:?}, late {:?}",
                    asked.way, asked.onset_s, with.pitch, with.late_s
                );
            }
        }
        for note in &over.notes {
            let touches = playing.played.iter().any(|played| {
                note.onset_s < played.ended as f64 / RATE && note.ended_s > played.began as f64 / RATE - 0.03
            });
            if !touches {
                println!("   in a rest: {:?} from {:.2} to {:.2} s", note.note, note.onset_s, note.ended_s);
            }
            self.falsely += usize::from(!touches);
        }
        self.seconds += playing.samples.len() as f64 / RATE;
        self.played += playing.played.len();
        self.heard += over.notes.len();
        self.hits += hits(playing, &over.notes);
    }

    /// Takes those of other takes.
    pub(crate) fn join(&mut self, other: Self) {
        self.moved_ms.extend(other.moved_ms);
        self.right += other.right;
        self.same += other.same;
        self.blamed += other.blamed;
        self.untold += other.untold;
        self.falsely += other.falsely;
        self.seconds += other.seconds;
        self.played += other.played;
        self.heard += other.heard;
        self.hits += other.hits;
    }

    fn share(&self, count: usize) -> f64 {
        count as f64 / self.right as f64
    }

    pub(crate) fn blamed_share(&self) -> f64 {
        self.share(self.blamed)
    }

    pub(crate) fn same_share(&self) -> f64 {
        self.share(self.same)
    }

    pub(crate) fn false_per_minute(&self) -> f64 {
        self.falsely as f64 / self.seconds * 60.0
    }

    /// The harmonic mean of how many of the heard notes were played, and how many of the played were heard.
    pub(crate) fn f1(&self) -> f64 {
        2.0 * self.hits as f64 / (self.played + self.heard) as f64
    }

    /// By how much a band moves what is told of a note's time, at the 95th percentile, milliseconds.
    pub(crate) fn moved_ms(&self) -> f64 {
        let mut moved_ms = self.moved_ms.clone();
        moved_ms.sort_by(f64::total_cmp);
        moved_ms.get(moved_ms.len() * 95 / 100).copied().unwrap_or(0.0)
    }

    pub(crate) fn row(&self) -> String {
        format!(
            "{:4} notes: {:5.2} %  {:5.2} %  {:6.2} %  {:.2} a minute  {:.4}  {:4.1} ms",
            self.right,
            100.0 * self.blamed_share(),
            100.0 * self.share(self.untold),
            100.0 * self.same_share(),
            self.false_per_minute(),
            self.f1(),
            self.moved_ms()
        )
    }
}
