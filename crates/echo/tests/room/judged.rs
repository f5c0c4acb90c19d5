//! What a run makes of what is heard.

use crate::place::RATE;
use crate::playing::Playing;
use echo::{Gate, Remover, Tape};
use pitch::{Ear, Settings};
use scoring::Tolerance;
use scoring::timed::{AskedNote, Beat, Divided, Follower, Masked, NoteVerdict, Notes, PlayedAt, RunVerdict};
use std::cell::RefCell;

/// What was heard of a take.
pub(crate) struct Heard {
    pub(crate) verdicts: Vec<NoteVerdict>,
    pub(crate) notes: Vec<PlayedAt>,
}

fn ear(playing: &Playing) -> Ear {
    let fundamentals = playing.harp.ways().filter_map(|way| playing.harp.hz(way)).collect();
    Ear::new(Settings::new(RATE).with_harp(fundamentals)).unwrap()
}

/// With what was sounded known; `None` for an ear by itself.
pub(crate) fn heard(playing: &Playing, microphone: &[f32], reference: Option<(&[f32], f64)>) -> Heard {
    let mut ear = ear(playing);
    let rate = RATE / ear.factor() as f64;
    let remover = RefCell::new(Remover::new(rate));
    let (mut gate, mut tape) = (Gate::new(RATE), Tape::new(RATE, rate, 48_000));
    let (mut n, mut pushed) = (0_usize, 0_usize);
    let clean = |x: f32| {
        let Some((reference, ppm)) = reference else { return x };
        let place = n as f64 * RATE / rate * (1.0 + ppm * 1e-6);
        n += 1;
        while pushed < reference.len() && (pushed as f64) < place + tape.ahead() + 1.0 {
            tape.push(reference[pushed]);
            pushed += 1;
        }
        remover.borrow_mut().remove(tape.at(place), x)
    };
    let mut notes = Notes::new(RATE, 0.06);
    let (mut divided, mut masked): (Vec<Divided>, Masked) = (Vec::new(), Masked::default());
    ear.push_cleaned(microphone, clean, |reading| {
        let gated = gate.pass(&remover.borrow(), reading);
        if let Some((from, until)) = gated.masked {
            masked.add(from, until, RATE);
        }
        divided.extend(notes.hear(playing.harp.concert(), &gated.reading));
    });
    divided.extend(notes.end());
    let notes: Vec<PlayedAt> = divided.iter().map(|note| PlayedAt::new(note, 0.0, RATE)).collect();
    let asked = asked(playing);
    let mut follower = Follower::new(&asked, &playing.harp, true);
    for note in &notes {
        follower.hear(note.note, note.onset_s);
    }
    let verdict = RunVerdict::new(
        (&asked, &notes, &masked.seconds(0.0, RATE)),
        &follower,
        (&playing.harp, Tolerance::USUAL),
        Beat::Known,
    );
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
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Figures {
    /// Notes that were judged right without a band; of them, those that were judged right, wrong, and not.
    right: usize,
    same: usize,
    blamed: usize,
    untold: usize,
    /// Notes that were heard where none was played.
    falsely: usize,
    seconds: f64,
}

impl Figures {
    /// What the rows say.
    pub(crate) const HEAD: &str = "of the notes judged right without a band: called wrong, cannot tell, judged the same; notes in rests";

    /// Takes what was heard of a take without a band, and over one.
    pub(crate) fn add(&mut self, playing: &Playing, alone: &Heard, over: &Heard) {
        for (_, with) in alone.verdicts.iter().zip(&over.verdicts).filter(|(alone, _)| alone.is_right()) {
            self.right += 1;
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
            self.falsely += usize::from(!touches);
        }
        self.seconds += playing.samples.len() as f64 / RATE;
    }

    /// Takes those of other takes.
    pub(crate) fn join(&mut self, other: Self) {
        self.right += other.right;
        self.same += other.same;
        self.blamed += other.blamed;
        self.untold += other.untold;
        self.falsely += other.falsely;
        self.seconds += other.seconds;
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

    pub(crate) fn row(&self) -> String {
        format!(
            "{:4} notes: {:5.2} %  {:5.2} %  {:6.2} %  {:.2} a minute",
            self.right,
            100.0 * self.blamed_share(),
            100.0 * self.share(self.untold),
            100.0 * self.same_share(),
            self.false_per_minute()
        )
    }
}
