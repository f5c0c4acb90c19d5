//! What the player does now, without a screen.

use crate::ear::{ByEar, EarPhase, EarPlan};
use crate::jam::{Jam, JamPhase, JamPlan};
use crate::moment::{Clock, Step};
use crate::run::{Plan, RunPhase, Running};
use crate::{Chords, Drill, Ending, Event, Feedback, Free, Moment, Phase, PlayOrder, Session, Started};
use layout::Harp;
use oorandom::Rand32;
use pitch::{Reading, reeds};
use scoring::{Judge, Tolerance};

/// One practice of one thing: a drill, free playing, runs in time, a jam, questions by ear, or the rest between two of
/// them, with the harp in the hand.
///
/// It is fed with readings, reeds that sound together, gaps, restarts of the stream and the player's orders, and
/// answers with [`Event`]s in their order. Screens, lines of text and tests show what it says and keep nothing of it
/// themselves; in particular it is the one that knows which harp is being played.
///
/// ```
/// use layout::{Harp, HarpKey};
/// use practice::{Drill, Event, Exercise, Order, built_in};
/// use scoring::Tolerance;
///
/// let harp = Harp::richter("A".parse::<HarpKey>().unwrap());
/// let (name, text) = built_in()[0];
/// let drill = Drill::parse(name, text, &harp).unwrap();
/// let mut exercise = Exercise::new(harp, Tolerance::USUAL, 48_000.0);
/// let events = exercise.order(Order::Drill(Box::new(drill)));
/// assert!(matches!(&events[..], [Event::Started(_), Event::Asked(asked)] if asked.attempt == 1));
/// assert!(matches!(&exercise.order(Order::Leave)[..], [Event::Ended(practice::Ending::Left)]));
/// ```
#[derive(Clone, Debug)]
pub struct Exercise {
    harp: Harp,
    tolerance: Tolerance,
    feedback: Feedback,
    clock: Clock,
    kind: Kind,
    /// Decides in which order a shuffled drill is asked for.
    shuffle: Rand32,
}

/// What is practised.
#[derive(Clone, Debug)]
enum Kind {
    Rest,
    Drill(Box<Session>),
    Chords(Box<Chords>),
    Free(Box<Free>),
    Run(Box<Running>),
    Jam(Box<Jam>),
    Ear(Box<ByEar>),
}

/// What the player wants.
#[derive(Clone, Debug, PartialEq)]
pub enum Order {
    /// Begin this drill.
    Drill(Box<Drill>),
    /// Play freely.
    PlayFreely,
    /// Play this in time.
    Run(Box<Plan>),
    /// Play freely over this form.
    Jam(Box<JamPlan>),
    /// Ask this by ear.
    Ear(Box<EarPlan>),
    /// There is nothing on which a question by ear could be sounded. What has to sound is paused; what can be named is
    /// named.
    CannotSound,
    /// Before the run that goes on, or the next one, play to the player what it asks for. The exercise only says when:
    /// whoever has a loudspeaker sounds it.
    Model,
    /// From now on this is how long a sound takes from the loudspeaker to the microphone, seconds; nothing if that is
    /// not known.
    TakeDelay(Option<f64>),
    /// Take this harp. A drill that is going on was read for the harp of before, and is left.
    TakeHarp(Box<Harp>),
    /// Judge by this tolerance, where an item has none of its own. A try that is going on begins afresh; what has been
    /// judged stays as it is.
    TakeTolerance(Tolerance),
    /// From now on show at these times how a try of a drill goes.
    TakeFeedback(Feedback),
    /// Pause, or go on.
    Pause,
    /// The same item once more; earlier results stay.
    ///
    /// A try that is going on begins afresh. After a verdict, and at the end of the drill, it is one more try than the
    /// drill has.
    Again,
    /// The next item.
    Next,
    /// Leave what is practised. A drill stays to be looked at until something else begins.
    Leave,
    /// Put the drill away and rest.
    Rest,
}

impl Exercise {
    /// The player rests, a harp in the hand; readings will come at `sample_rate` samples a second.
    pub fn new(harp: Harp, tolerance: Tolerance, sample_rate: f64) -> Self {
        Self {
            harp,
            tolerance,
            feedback: Feedback::default(),
            clock: Clock::new(sample_rate),
            kind: Kind::Rest,
            shuffle: Rand32::new(0),
        }
    }

    /// The same exercise, with shuffled drills in an order that this seed decides.
    #[must_use]
    pub fn shuffled_by(self, seed: u64) -> Self {
        Self { shuffle: Rand32::new(seed), ..self }
    }

    /// Takes one reading.
    pub fn hear(&mut self, reading: &Reading) -> Vec<Event> {
        let mut events = match self.clock.step(reading.known) {
            Step::On => Vec::new(),
            Step::Stale => return Vec::new(),
            Step::Anew => {
                let events = self.restart(self.clock.base.rate);
                self.clock.step(reading.known);
                events
            }
        };
        match &mut self.kind {
            // Chords are judged by the reeds that sound together.
            Kind::Rest | Kind::Chords(_) => {}
            Kind::Drill(session) => events.extend(session.hear(&self.harp, reading)),
            Kind::Free(free) => events.extend(free.hear(&self.harp, reading)),
            Kind::Run(running) => events.extend(running.hear(&self.harp, reading)),
            Kind::Jam(jam) => events.extend(jam.hear(&self.harp, reading)),
            Kind::Ear(ear) => events.extend(ear.hear(&self.harp, reading)),
        }
        events
    }

    /// Takes a reading of the reeds that sound together.
    pub fn hear_reeds(&mut self, sounding: &reeds::Sounding) -> Vec<Event> {
        match &mut self.kind {
            Kind::Free(free) => free.hear_reeds(&self.harp, sounding),
            Kind::Chords(chords) => chords.hear_reeds(&self.harp, sounding),
            Kind::Drill(session) => {
                session.hear_reeds(sounding);
                Vec::new()
            }
            Kind::Run(running) => running.hear_reeds(sounding).into_iter().collect(),
            Kind::Rest | Kind::Jam(_) | Kind::Ear(_) => Vec::new(),
        }
    }

    /// Samples were lost: a try that was sounding is not scored and is asked again, a note of free playing ends.
    pub fn gap(&mut self) -> Vec<Event> {
        match &mut self.kind {
            Kind::Rest => Vec::new(),
            Kind::Drill(session) => session.gap(&self.harp),
            Kind::Chords(chords) => chords.gap(&self.harp),
            Kind::Free(free) => free.end(&self.harp),
            Kind::Run(running) => {
                running.gap();
                Vec::new()
            }
            Kind::Jam(jam) => jam.gap(&self.harp),
            Kind::Ear(ear) => ear.gap(&self.harp),
        }
    }

    /// Between these two samples the player could not be told from what the program itself sounds: nothing is told
    /// against him there. Free playing is never judged, so it takes no notice.
    pub fn mask(&mut self, from: u64, until: u64) {
        match &mut self.kind {
            Kind::Drill(session) => session.mask(from, until),
            Kind::Chords(chords) => chords.mask(from, until),
            Kind::Run(running) => running.mask(from, until),
            Kind::Jam(jam) => jam.mask(from, until),
            Kind::Ear(ear) => ear.mask(from, until),
            Kind::Rest | Kind::Free(_) => {}
        }
    }

    /// The stream begins anew, perhaps at another rate, and its sample count at nought: a device that went away is
    /// back. This is a [`gap`](Exercise::gap) as well. Results so far keep their times. A rate that no judge works at
    /// is not taken.
    pub fn restart(&mut self, sample_rate: f64) -> Vec<Event> {
        let events = self.gap();
        let usable = Judge::SAMPLE_RATES.contains(&sample_rate);
        self.clock.restart(if usable { sample_rate } else { self.clock.base.rate });
        match &mut self.kind {
            Kind::Rest => {}
            Kind::Drill(session) => session.restart(&self.harp, self.clock.base),
            Kind::Chords(chords) => chords.restart(self.clock.base),
            Kind::Free(free) => free.restart(self.clock.base),
            Kind::Run(running) => running.restart(self.clock.base),
            Kind::Jam(jam) => jam.restart(self.clock.base),
            Kind::Ear(ear) => ear.restart(self.clock.base),
        }
        events
    }

    /// Does what the player wants.
    pub fn order(&mut self, order: Order) -> Vec<Event> {
        match order {
            Order::Drill(drill) => {
                let mut events = self.leave();
                events.push(Event::Started(Started::Drill(drill.clone())));
                events.extend(self.begin(*drill));
                events
            }
            Order::PlayFreely => {
                let mut events = self.leave();
                events.push(Event::Started(Started::Free));
                self.kind = Kind::Free(Box::new(Free::new(self.clock.base)));
                events
            }
            Order::Run(plan) => {
                let mut events = self.leave();
                events.push(Event::Started(Started::Run(plan.clone())));
                let running = Running::new(*plan, &self.harp, self.tolerance, self.clock.base);
                self.kind = Kind::Run(Box::new(running));
                events
            }
            Order::Jam(plan) => {
                let mut events = self.leave();
                events.push(Event::Started(Started::Jam(plan.clone())));
                self.kind = Kind::Jam(Box::new(Jam::new(*plan, self.clock.base)));
                events
            }
            Order::Ear(plan) => self.ask_by_ear(*plan),
            Order::Model => match &mut self.kind {
                Kind::Run(running) => running.play_model(&self.harp),
                _ => Vec::new(),
            },
            Order::TakeDelay(delay_s) => {
                match &mut self.kind {
                    Kind::Run(running) => running.take_delay(delay_s),
                    Kind::Jam(jam) => jam.take_delay(delay_s),
                    _ => {}
                }
                Vec::new()
            }
            Order::TakeHarp(harp) => self.take_harp(*harp),
            Order::TakeFeedback(feedback) => self.take_feedback(feedback),
            Order::TakeTolerance(tolerance) => {
                self.tolerance = tolerance;
                match &mut self.kind {
                    Kind::Drill(session) => session.take_tolerance(&self.harp, tolerance),
                    Kind::Run(running) => {
                        running.take_tolerance(tolerance);
                        Vec::new()
                    }
                    Kind::Ear(ear) => {
                        ear.take_tolerance(tolerance);
                        Vec::new()
                    }
                    Kind::Rest | Kind::Chords(_) | Kind::Free(_) | Kind::Jam(_) => Vec::new(),
                }
            }
            Order::Leave => self.leave(),
            Order::Rest => {
                let events = self.leave();
                self.kind = Kind::Rest;
                events
            }
            Order::Pause | Order::Again | Order::Next | Order::CannotSound => self.steer(&order),
        }
    }

    /// The harp in the player's hand.
    pub fn harp(&self) -> &Harp {
        &self.harp
    }

    /// How near is near enough.
    pub fn tolerance(&self) -> Tolerance {
        self.tolerance
    }

    /// When it is shown how a try of a drill goes.
    pub fn feedback(&self) -> Feedback {
        self.feedback
    }

    /// The drill that is going on, or that was left or done last.
    pub fn session(&self) -> Option<&Session> {
        match &self.kind {
            Kind::Drill(session) => Some(session),
            _ => None,
        }
    }

    /// The drill of chords that is going on, or that was left or done last.
    pub fn chords(&self) -> Option<&Chords> {
        match &self.kind {
            Kind::Chords(chords) => Some(chords),
            _ => None,
        }
    }

    /// The drill, of notes or of chords, that is going on, or that was left or done last.
    pub fn drill(&self) -> Option<&Drill> {
        self.session().map(Session::drill).or(self.chords().map(Chords::drill))
    }

    /// Free playing, while it goes on.
    pub fn free(&self) -> Option<&Free> {
        match &self.kind {
            Kind::Free(free) => Some(free),
            _ => None,
        }
    }

    /// Runs in time, while they go on, or those that were left or done last.
    pub fn running(&self) -> Option<&Running> {
        match &self.kind {
            Kind::Run(running) => Some(running),
            _ => None,
        }
    }

    /// The jam that is going on, or that was left or done last.
    pub fn jam(&self) -> Option<&Jam> {
        match &self.kind {
            Kind::Jam(jam) => Some(jam),
            _ => None,
        }
    }

    /// The questions by ear that are asked, or those that were left or done last.
    pub fn by_ear(&self) -> Option<&ByEar> {
        match &self.kind {
            Kind::Ear(ear) => Some(ear),
            _ => None,
        }
    }

    /// Whether anything is practised now, paused or not.
    pub fn is_on(&self) -> bool {
        match &self.kind {
            Kind::Rest => false,
            Kind::Drill(session) => !matches!(session.phase(), Phase::Done | Phase::Left),
            Kind::Chords(chords) => !matches!(chords.phase(), Phase::Done | Phase::Left),
            Kind::Free(_) => true,
            Kind::Run(running) => !matches!(running.phase(), RunPhase::Done | RunPhase::Left),
            Kind::Jam(jam) => !matches!(jam.phase(), JamPhase::Done | JamPhase::Left),
            Kind::Ear(ear) => !matches!(ear.phase(), EarPhase::Done | EarPhase::Left),
        }
    }

    /// The newest moment that something is known of.
    pub fn now(&self) -> Moment {
        self.clock.now()
    }

    /// Whether it wants to be told which reeds sound together.
    pub fn wants_reeds(&self) -> bool {
        match &self.kind {
            Kind::Free(_) | Kind::Chords(_) => true,
            Kind::Drill(session) => session.drill().wants_reeds(),
            Kind::Run(running) => running.plan().material.is_of_chords(),
            Kind::Rest | Kind::Jam(_) | Kind::Ear(_) => false,
        }
    }

    /// Begins a drill, of notes or of chords.
    fn begin(&mut self, drill: Drill) -> Vec<Event> {
        let order = self.in_order(&drill);
        if drill.is_of_chords() {
            let (chords, asked) = Chords::new((drill, order), &self.harp, self.clock.base);
            self.kind = Kind::Chords(Box::new(chords));
            return asked;
        }
        let (mut session, asked) = Session::new((drill, order), &self.harp, self.tolerance, self.clock.base);
        session.take_feedback(self.feedback);
        self.kind = Kind::Drill(Box::new(session));
        asked
    }

    /// Indices of a drill's items in the order in which they are asked for.
    fn in_order(&mut self, drill: &Drill) -> Vec<usize> {
        let mut order: Vec<usize> = (0..drill.items.len()).collect();
        if drill.order == PlayOrder::Random {
            // Fisher and Yates's shuffle (Knuth, The Art of Computer Programming 2, 3.4.2, algorithm P; from memory).
            for last in (1..order.len()).rev() {
                let other = self.shuffle.rand_range(0..last as u32 + 1) as usize;
                order.swap(last, other);
            }
        }
        order
    }

    fn take_feedback(&mut self, feedback: Feedback) -> Vec<Event> {
        self.feedback = feedback;
        if let Kind::Drill(session) = &mut self.kind {
            session.take_feedback(feedback);
        }
        Vec::new()
    }

    fn ask_by_ear(&mut self, plan: EarPlan) -> Vec<Event> {
        let mut events = self.leave();
        events.push(Event::Started(Started::Ear(Box::new(plan.clone()))));
        let (ear, posed) = ByEar::new(plan, &self.harp, (self.tolerance, self.clock.base));
        self.kind = Kind::Ear(Box::new(ear));
        events.extend(posed);
        events
    }

    fn take_harp(&mut self, harp: Harp) -> Vec<Event> {
        let mut events = match &mut self.kind {
            Kind::Rest => Vec::new(),
            Kind::Drill(session) => session.leave(),
            Kind::Chords(chords) => chords.leave(),
            Kind::Free(free) => {
                let events = free.end(&self.harp);
                free.restart(self.clock.base);
                events
            }
            Kind::Run(running) => running.leave(),
            Kind::Jam(jam) => jam.leave(&self.harp),
            Kind::Ear(ear) => ear.leave(&self.harp),
        };
        self.harp = harp;
        events.push(Event::TookHarp(Box::new(self.harp.clone())));
        events
    }

    fn steer(&mut self, order: &Order) -> Vec<Event> {
        match (&mut self.kind, order) {
            (Kind::Ear(ear), order) => ear.steer(&self.harp, order),
            (_, Order::CannotSound) => Vec::new(),
            (Kind::Drill(session), Order::Next) => session.skip(&self.harp),
            (Kind::Drill(session), Order::Again) => session.again(&self.harp),
            (Kind::Drill(session), _) => session.toggle_pause(&self.harp),
            (Kind::Chords(chords), Order::Next) => chords.skip(&self.harp),
            (Kind::Chords(chords), Order::Again) => chords.again(),
            (Kind::Chords(chords), _) => chords.toggle_pause(),
            (Kind::Run(running), Order::Next) => running.skip(&self.harp),
            (Kind::Run(running), Order::Again) => {
                running.again(&self.harp);
                Vec::new()
            }
            (Kind::Run(running), _) => running.toggle_pause(&self.harp),
            (Kind::Jam(jam), Order::Pause) => jam.toggle_pause(&self.harp),
            (Kind::Jam(jam), Order::Again) => {
                jam.again();
                Vec::new()
            }
            (Kind::Rest | Kind::Free(_) | Kind::Jam(_), _) => Vec::new(),
        }
    }

    /// Ends what is practised and says so, unless it is over already.
    fn leave(&mut self) -> Vec<Event> {
        match &mut self.kind {
            Kind::Rest => Vec::new(),
            Kind::Drill(session) => session.leave(),
            Kind::Chords(chords) => chords.leave(),
            Kind::Run(running) => running.leave(),
            Kind::Jam(jam) => jam.leave(&self.harp),
            Kind::Ear(ear) => ear.leave(&self.harp),
            Kind::Free(free) => {
                let mut events = free.end(&self.harp);
                self.kind = Kind::Rest;
                events.push(Event::Ended(Ending::Left));
                events
            }
        }
    }
}
