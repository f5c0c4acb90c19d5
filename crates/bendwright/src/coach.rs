//! The built-in player: a simulated learner behind the same ring as a microphone, who plays what the drill asks.

mod ear;

use layout::{Breath, Harp, Technique, Way};
use practice::run::{Running, StartAt};
use practice::{Event, Exercise, Phase, RunBegan, Started};
use scoring::reeds::ReedsTarget;
use scoring::timed::AskedNote;
use sound::Generator;
use std::sync::mpsc::{Receiver, Sender, channel};
use synth::{Gesture, Learner, SimulatedPlayer, Slur, Timed};

/// What the built-in player takes to begin by himself, seconds.
const BREATH_S: f64 = 0.8;

/// The rate at which the built-in player sounds, hertz.
const SAMPLE_RATE: f64 = 48_000.0;

/// The learner's mind: hears what is asked and sends the hands what to play.
pub(crate) struct Coach {
    learner: Learner,
    hands: Sender<Order>,
    /// How many notes of its own it has yet to play; nothing in a drill.
    notes_left: Option<usize>,
    /// The sample of the first beat of the jam that goes on, and the bar from which it plays.
    jam_begins: Option<(f64, usize)>,
}

/// What the mind sends to the hands.
enum Order {
    /// Play this when everything before it is over.
    Play(Box<Gesture>),
    /// Play this so that it begins at this sample.
    PlayAt(Box<Gesture>, f64),
    /// Stop playing, and forget what was to come.
    Hush,
    /// Play this harp from now on.
    Take(Box<Harp>),
}

/// The learner's hands: plays what the mind sends, one gesture after the other, and is quiet in between.
struct Hands {
    player: SimulatedPlayer,
    orders: Receiver<Order>,
    seed: u64,
}

impl Coach {
    /// A learner with a harp, and the sound that the learner makes. The same seed plays the same way.
    pub(crate) fn new(harp: &Harp, seed: u64) -> (Self, Box<dyn Generator>) {
        let (hands, orders) = channel();
        let player = SimulatedPlayer::new(harp, SAMPLE_RATE, seed);
        let coach = Self { learner: Learner::new(seed), hands, notes_left: None, jam_begins: None };
        (coach, Box::new(Hands { player, orders, seed }))
    }

    /// Whether it has played all that it had to play of its own.
    pub(crate) fn is_done(&self) -> bool {
        self.notes_left == Some(0)
    }

    /// Whether an event that follows a key takes away what is being played.
    pub(crate) fn interrupts(event: &Event) -> bool {
        matches!(
            event,
            Event::Asked(_)
                | Event::ChordAsked(_)
                | Event::Paused
                | Event::EarSilent
                | Event::TookHarp(_)
                | Event::Ended(_)
        )
    }

    /// Comes in where an exercise stands.
    pub(crate) fn join(&mut self, exercise: &Exercise) {
        if let Some(session) = exercise.session()
            && matches!(session.phase(), Phase::Released | Phase::Waiting | Phase::Playing)
            && let Some(target) = session.target()
        {
            self.asked(target.way, target.hold_s);
        } else if let Some(chords) = exercise.chords()
            && matches!(chords.phase(), Phase::Released | Phase::Waiting | Phase::Playing)
            && let Some(target) = chords.target()
        {
            self.chord(target);
        } else if exercise.free().is_some() {
            self.play_freely(exercise.harp());
        }
    }

    /// Takes what the exercise said.
    pub(crate) fn event(&mut self, event: &Event, exercise: &Exercise) {
        match event {
            Event::Asked(asked) => self.asked(asked.target.way, asked.target.hold_s),
            Event::ChordAsked(asked) => self.chord(asked.target),
            Event::Started(Started::Free) => self.play_freely(exercise.harp()),
            Event::RunBegan(began) if exercise.jam().is_some() => self.jam_on(began, exercise),
            Event::ChorusOver(over) => self.play_chorus(over.number as usize + 1, exercise),
            Event::Started(Started::Run(_)) | Event::ModelOver => {
                self.begin_by_itself(0.0, exercise, Running::start);
            }
            Event::ModelBegan(_) => self.hush(),
            Event::Posed(posed) => self.posed(posed, exercise),
            Event::EarSounds(sounds) => self.sounds(sounds, exercise),
            Event::RunJudged(_) if exercise.is_on() => {
                let shown_s = exercise.running().map_or(0.0, Running::shown_s);
                self.begin_by_itself(shown_s, exercise, |running| running.plan().start);
            }
            Event::RunBegan(began)
                if exercise.running().is_some_and(|run| run.start() == StartAt::CountIn) =>
            {
                self.play_in_time((began.first_beat_samples, began.from_bar), exercise);
            }
            Event::TookHarp(harp) => {
                self.send(Order::Take(harp.clone()));
                if exercise.free().is_some() {
                    self.play_freely(harp);
                }
            }
            Event::Played(_) => self.notes_left = self.notes_left.map(|left| left.saturating_sub(1)),
            _ => {}
        }
    }

    /// Plays what a drill has just asked for.
    fn asked(&mut self, way: Way, hold_s: f64) {
        let gesture = self.learner.answer(way, hold_s);
        self.send(Order::Play(Box::new(gesture)));
    }

    /// Plays a chord that a drill has just asked for.
    fn chord(&mut self, target: ReedsTarget) {
        let ways: Vec<Way> = target.ways().collect();
        let gesture = self.learner.answer_chord(&ways, target.hold_s);
        self.send(Order::Play(Box::new(gesture)));
    }

    /// Where the player gives the beat, somebody has to begin: after so many seconds, and a breath.
    fn begin_by_itself(&mut self, after_s: f64, exercise: &Exercise, start: fn(&Running) -> StartAt) {
        if exercise.running().is_some_and(|running| start(running) != StartAt::CountIn) {
            let first_beat = exercise.now().samples as f64 + (after_s + BREATH_S) * SAMPLE_RATE;
            self.play_in_time((first_beat, 0), exercise);
        }
    }

    /// Plays a run from a bar on, to a first beat at this sample.
    fn play_in_time(&mut self, (first_beat, from_bar): (f64, usize), exercise: &Exercise) {
        let Some(running) = exercise.running() else { return };
        // A run that was broken off is not played on.
        self.hush();
        for slur in Slur::all(running.asked().iter().filter(|note| note.bar >= from_bar).map(timed)) {
            let Some(first) = slur.first() else { continue };
            let (gesture, late_s) = self.learner.in_time(first.way, slur.length_s());
            let gesture = gesture.together(&first.ways());
            let onset = first_beat + (first.onset_s + late_s) * SAMPLE_RATE;
            self.send(Order::PlayAt(Box::new(slur.onto(gesture)), onset));
        }
    }

    /// Plays freely over the form, from the bar for which it counts in to the end of the next chorus.
    fn jam_on(&mut self, began: &RunBegan, exercise: &Exercise) {
        self.hush();
        self.jam_begins = Some((began.first_beat_samples, began.from_bar));
        let bars = exercise.jam().map_or(1, |jam| jam.plan().form.bars()).max(1);
        let chorus = began.from_bar / bars;
        self.play_chorus(chorus, exercise);
        self.play_chorus(chorus + 1, exercise);
    }

    /// Plays freely over a chorus, counted from 0. Its notes are ordered a chorus ahead, so that none is late.
    fn play_chorus(&mut self, chorus: usize, exercise: &Exercise) {
        let (Some((first_beat, from_bar)), Some(jam)) = (self.jam_begins, exercise.jam()) else { return };
        let (plan, harp) = (jam.plan(), exercise.harp());
        let bars = plan.form.bars();
        let (begin, end) = (chorus * bars, (chorus + 1) * bars);
        let end = plan.form.last_bar().map_or(end, |last| if end == last { last + 1 } else { end.min(last) });
        for note in plan.walk(harp, begin..end, chorus as u64).iter().filter(|note| note.bar >= from_bar) {
            let (gesture, late_s) = self.learner.in_time(note.way, note.length_s);
            let onset = first_beat + (note.onset_s + late_s) * SAMPLE_RATE;
            self.send(Order::PlayAt(Box::new(gesture), onset));
        }
    }

    /// Plays something of its own, up from 2 draw and down again. Like many learners it does not
    /// close off 5 draw the first time it comes to 4 draw, so that there is something to see of reeds that leak.
    fn play_freely(&mut self, harp: &Harp) {
        let draw = |hole, technique| Way::new(hole, Breath::Draw, technique);
        let blow = |hole| Way::new(hole, Breath::Blow, Technique::Natural);
        let up = [
            draw(2, Technique::Natural),
            draw(3, Technique::Bend(1)),
            blow(4),
            draw(4, Technique::Natural),
            blow(5),
            blow(6),
        ];
        let run = up.iter().chain(up.iter().rev().skip(1)).filter(|way| harp.note(**way).is_some());
        let mut leaks = harp.reed(5, Breath::Draw).is_some();
        let mut notes = 0;
        for way in run {
            let mut gesture = self.learner.answer(*way, 0.5);
            if leaks && *way == draw(4, Technique::Natural) {
                gesture = gesture.leak(5, -14.0);
                leaks = false;
            }
            self.send(Order::Play(Box::new(gesture)));
            notes += 1;
        }
        self.notes_left = Some(notes);
    }

    /// Stops playing: the player has moved on to something else.
    pub(crate) fn hush(&self) {
        self.send(Order::Hush);
    }

    fn send(&self, order: Order) {
        // The hands are gone only when the feed is closed, and then nothing is left to be played.
        let _ = self.hands.send(order);
    }
}

/// An asked note as it is played.
pub(crate) fn timed(note: &AskedNote) -> Timed {
    let AskedNote { way, onset_s, length_s, joined, .. } = *note;
    let others = std::array::from_fn(|at| note.ways().nth(at + 1));
    Timed { way, onset_s, length_s, joined, others }
}

impl Generator for Hands {
    fn sample_rate(&self) -> f64 {
        SAMPLE_RATE
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        for order in self.orders.try_iter() {
            match order {
                // A way that this harp does not have is never asked for; were it, silence is the honest answer.
                Order::Play(gesture) => drop(self.player.play(*gesture)),
                Order::PlayAt(gesture, onset) => drop(self.player.play_at(&gesture, onset)),
                Order::Hush => self.player.hush(),
                Order::Take(harp) => self.player = SimulatedPlayer::new(&harp, SAMPLE_RATE, self.seed),
            }
        }
        self.player.fill(out);
        out.len()
    }
}
