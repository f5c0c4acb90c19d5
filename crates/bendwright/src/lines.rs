//! An exercise from sound to lines of text, without a screen.

use crate::clicks::{self, Clicks};
use crate::ear_sound::EarSound;
use crate::failure::Failure;
use crate::keeping::{self, JournalNews, Keeping};
use crate::model::{ModelSound, without_model};
use crate::pipeline::{Heard, Pipeline};
use crate::practising::{Follower, Practising};
use crate::report::{ChordLine, EarLine, JamLine, Line, Report, TimedLine};
use crate::setup::{HearFrom, Setup};
use crate::signals::Signals;
use crate::source::Opened;
use crate::state::State;
use crate::tones::{Tones, TonesNews};
use layout::TabStyle;
use practice::ear::EarPhase;
use practice::jam::Jam;
use practice::{Ending, Event, Exercise, Order, Started};
use screen::{Notice, ear_words, words};
use std::time::{Duration, Instant};
use theory::Position;

/// A beat begins when microphone and loudspeaker have run for so long: then it is known how fast each of them runs, and
/// the first clicks are as exact as the last.
const CLOCKS_KNOWN: Duration = Duration::from_secs(3);

/// Carries out the orders, the first of which begins the practice, to its end or to the end of the sound, and writes
/// what happens. Degrees count from the home of `position`.
///
/// # Errors
/// If the output cannot be written, the sound cannot be heard, or a signal ends the program.
pub(crate) fn run(
    orders: Vec<Order>,
    setup: &Setup,
    source: Opened,
    (report, position): (Report, Position),
) -> Result<(), Failure> {
    let Opened { mut pipeline, coach } = source;
    let rate = pipeline.sample_rate();
    // A beat is sounded for a microphone only: everything else runs as fast as it can.
    let is_heard = matches!(
        (&orders[..], &setup.from),
        ([Order::Run(_) | Order::Jam(_) | Order::Ear(_), ..], HearFrom::Mic(_))
    );
    let beat = is_heard.then(|| Beat {
        is_timed: !matches!(orders.first(), Some(Order::Ear(_))),
        clicks: Clicks::new(rate).with_own_band(setup.own_band.clone()),
        model: ModelSound::default(),
        ear: EarSound::default(),
        tones: Tones::new(),
        changed: false,
    });
    if let Some(beat) = &beat {
        pipeline = pipeline.without(beat.tones.sounded());
    }
    let mut lines = Lines { report, tab: setup.tab.clone(), position, beat, unsounded: None, told: 0 };
    let exercise = setup.exercise(rate);
    let mut practising = Practising::new(exercise, setup.journal.as_ref().map(Keeping::new));
    practising.listen_to(coach, (rate, keeping::by(&setup.from)), &mut lines);
    if let Some(beat) = &mut lines.beat {
        beat.tones.open();
        let known = Instant::now() + CLOCKS_KNOWN;
        go_through(&mut practising, &mut pipeline, (&mut lines, &setup.state), |_| Instant::now() < known)?;
    }
    if matches!(orders.first(), Some(Order::Jam(_))) && lines.beat.is_some() {
        lines.report.notice(Some(clicks::HEADPHONES.to_owned()));
    }
    for order in orders {
        practising.order(order, &mut lines);
    }
    // The devices were opened before the practice began that wants to know their delay.
    if let Some(beat) = &mut lines.beat {
        beat.changed = true;
    }
    if practising.exercise().wants_reeds()
        && let Err(failure) = pipeline.tell_reeds(true)
    {
        // Notes can be heard where reeds cannot be told apart.
        lines.report.notice(failure.message().map(str::to_owned));
    }
    let end = go_through(&mut practising, &mut pipeline, (&mut lines, &setup.state), |practising| {
        // A question that cannot be sounded is not waited for.
        let by_ear = practising.exercise().by_ear();
        practising.goes_on() && by_ear.is_none_or(|it| it.phase() != EarPhase::Paused)
    });
    practising.order(Order::Leave, &mut lines);
    lines.report.notice(practising.close_journal());
    lines.report.check()?;
    match lines.unsounded {
        Some(why) => end.and(Err(Failure::world(why))),
        None => end,
    }
}

fn go_through(
    practising: &mut Practising,
    pipeline: &mut Pipeline,
    (lines, state): (&mut Lines, &State),
    goes_on_by: impl Fn(&Practising) -> bool,
) -> Result<(), Failure> {
    let signals = Signals::watch()?;
    let mut goes_on = true;
    while goes_on && goes_on_by(practising) {
        signals.check()?;
        let mut hear = |heard: Heard| {
            if let Some(beat) = &mut lines.beat {
                beat.changed |= beat.clicks.hear(&heard, beat.tones.speaker());
            }
            practising.hear(heard, lines);
        };
        goes_on = pipeline.step(&mut hear).map_err(begin_again)?;
        lines.look_at_the_speaker(practising, state);
        if let Some(JournalNews::Said(sentence)) = practising.journal_news() {
            lines.report.notice(Some(sentence));
        }
        for click in lines.beat.iter_mut().flat_map(|beat| beat.clicks.expected()) {
            pipeline.expect(click);
        }
        lines.report.check()?;
    }
    Ok(())
}

/// What to do when what is listened to broke down.
fn begin_again(failure: Failure) -> Failure {
    match failure {
        Failure::World(why) => Failure::World(format!("not listening: {why}; give the command again")),
        other => other,
    }
}

fn chord(line: ChordLine) -> Line {
    Line::Chord(Box::new(line))
}

/// Writes what happens.
struct Lines {
    report: Report,
    tab: TabStyle,
    position: Position,
    beat: Option<Beat>,
    /// Why what was asked by ear could not be asked.
    unsounded: Option<String>,
    /// Tries of the drill that were told.
    told: usize,
}

/// The click, and what sounds it.
struct Beat {
    /// Whether early and late are told; a question by ear has no beat.
    is_timed: bool,
    clicks: Clicks,
    model: ModelSound,
    ear: EarSound,
    tones: Tones,
    /// Another microphone or loudspeaker is open, and with it perhaps another delay.
    changed: bool,
}

impl Lines {
    /// Takes what the loudspeaker has to say.
    fn look_at_the_speaker(&mut self, practising: &mut Practising, state: &State) {
        let mut moved = false;
        let Some(beat) = &mut self.beat else { return };
        let (mut amiss, mut absent) = (false, false);
        while let Some(news) = beat.tones.news() {
            amiss |= matches!(news, TonesNews::Gone(_) | TonesNews::Absent(_));
            absent |= matches!(news, TonesNews::Absent(_));
            match news {
                TonesNews::Opened(name) => {
                    beat.clicks.speaker_opened(name);
                    beat.changed = true;
                }
                TonesNews::Gone(sentence) => {
                    beat.clicks.speaker_gone();
                    self.report.notice(Some(sentence));
                }
                TonesNews::Moved(sentence) => {
                    beat.clicks.speaker_moved();
                    moved = true;
                    self.report.notice(Some(sentence));
                }
                TonesNews::Said(sentence) => self.report.notice(Some(sentence)),
                TonesNews::Absent(sentence) => self.report.notice(sentence),
            }
        }
        if absent && let Some(by_ear) = practising.exercise().by_ear() {
            let plan = by_ear.plan().clone();
            let why = ear_words::cannot_sound(&plan);
            if plan.has_to_sound() {
                self.unsounded = Some(why);
            } else {
                self.report.notice(Some(why));
            }
            practising.order(Order::CannotSound, self);
            return;
        }
        if std::mem::take(&mut beat.changed) && beat.is_timed {
            let (delay_s, sentence) = beat.clicks.delay(state);
            self.report.notice(sentence.or_else(|| beat.clicks.offer(state)));
            practising.order(Order::TakeDelay(delay_s), self);
        }
        if moved {
            practising.count_in_again(self);
        }
        if let Some(order) = without_model(practising.exercise()).filter(|_| amiss) {
            practising.order(order, self);
        }
    }
}

impl Lines {
    /// Writes the tries that may be told by now.
    fn tries(&mut self, exercise: &Exercise) {
        let Some(session) = exercise.session() else { return };
        for tried in session.told().iter().skip(self.told) {
            self.report.say(&Line::judged(tried, &self.tab));
        }
        self.told = session.told().len();
    }

    /// Writes what a jam says.
    fn jam(&mut self, event: &Event, exercise: &Exercise) {
        let (tab, plan) = (&self.tab, exercise.jam().map(Jam::plan));
        let line = match (event, plan) {
            (Event::JamNote(note), Some(plan)) => JamLine::note(note, plan, tab),
            (Event::ChorusOver(over), Some(plan)) => JamLine::chorus(over, plan, tab),
            (Event::JamOver(over), _) => JamLine::end(over, tab),
            _ => return,
        };
        self.report.say(&Line::Jam(Box::new(line)));
    }
}

impl Follower for Lines {
    fn event(&mut self, event: &Event, exercise: &Exercise) {
        if let Some(beat) = &mut self.beat {
            beat.model.event(event, exercise, &beat.tones);
            beat.ear.event(event, exercise, &beat.tones);
            beat.clicks.event(event, exercise, beat.tones.speaker());
        }
        if matches!(event, Event::Started(_)) {
            self.told = 0;
        }
        if matches!(event, Event::Ended(_) | Event::Unfinished(..)) {
            self.tries(exercise);
        }
        let (harp, tab) = (exercise.harp(), &self.tab);
        let line = match event {
            Event::Started(Started::Drill(drill)) => Line::drill(drill, harp),
            Event::Asked(asked) => Line::asked(asked, harp, tab),
            Event::Judged(_) => return self.tries(exercise),
            Event::ChordAsked(asked) => chord(ChordLine::asked(asked, tab)),
            Event::ChordJudged(tried) => chord(ChordLine::judged(tried, tab)),
            Event::ChordUnfinished(asked, began) => chord(ChordLine::unfinished(asked, *began, tab)),
            Event::OtherHarp(key) => Line::Notice { message: words::other_harp(*key, harp.key()) },
            Event::Unfinished(asked, began) => Line::unfinished(asked, *began, tab),
            Event::Played(played) => Line::note(played, self.position.tonic_name(harp), tab),
            Event::Sounded(set) if set.voices.len() > 1 => Line::together(set, tab),
            Event::Started(Started::Run(plan)) => Line::Timed(Box::new(TimedLine::plan(plan, harp, tab))),
            Event::Started(Started::Ear(plan)) => Line::Ear(Box::new(EarLine::plan(plan, harp))),
            Event::Posed(posed) => Line::Ear(Box::new(EarLine::posed(posed, tab))),
            Event::Answered(answered) => Line::Ear(Box::new(EarLine::answered(answered, tab))),
            Event::Started(Started::Jam(plan)) => Line::Jam(Box::new(JamLine::plan(plan, harp))),
            Event::JamNote(_) | Event::ChorusOver(_) | Event::JamOver(_) => {
                return self.jam(event, exercise);
            }
            Event::ModelBegan(began) => Line::Timed(Box::new(TimedLine::Model { tempo: began.tempo.bpm() })),
            Event::RunJudged(judged) => {
                for line in TimedLine::of(judged, tab) {
                    self.report.say(&Line::Timed(Box::new(line)));
                }
                return;
            }
            Event::Ended(ending) => match (exercise.session(), exercise.running()) {
                (Some(session), _) => Line::summary(session, *ending == Ending::Done),
                (None, Some(running)) => Line::Timed(Box::new(TimedLine::End {
                    runs: running.results().len(),
                    clean_tempo: running.ladder().clean_bpm(),
                    complete: *ending == Ending::Done,
                })),
                (None, None) => match (exercise.chords(), exercise.by_ear()) {
                    (Some(chords), _) => chord(ChordLine::summary(chords, *ending == Ending::Done, tab)),
                    (None, Some(by_ear)) => {
                        Line::Ear(Box::new(EarLine::end(by_ear, *ending == Ending::Done)))
                    }
                    (None, None) => return,
                },
            },
            Event::Sounded(_)
            | Event::Started(Started::Free)
            | Event::Began(_)
            | Event::ModelOver
            | Event::RunBegan(_)
            | Event::EarSounds(_)
            | Event::EarSilent
            | Event::Paused
            | Event::TookHarp(_) => return,
        };
        self.report.say(&line);
    }

    fn notice(&mut self, notice: &Notice) {
        // The lines themselves show where a recording ends.
        if *notice != Notice::Ended {
            self.report.notice(notice.sentence());
        }
    }
}
