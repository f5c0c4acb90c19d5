//! Where a run stands while it goes on, and what the keys do to it, on readings that are made by hand.

use crate::player::{RATE, plan};
use crate::rhythms::{over, rhythm};
use crate::{blues, harp, ways};
use practice::run::{Clicked, Clicking, Material, Plan, RunPhase, StartAt, Tempi};
use practice::{Ending, Event, Exercise, Order, RunJudged};
use scoring::Tolerance;
use scoring::timed::{AskedNote, Timing};

/// Samples from one reading to the next: 5 ms.
const HOP: u64 = 240;

struct Player {
    exercise: Exercise,
    time: u64,
    said: Vec<Event>,
    /// So late everything is played, seconds.
    late_s: f64,
}

impl Player {
    fn at(plan: Plan) -> Self {
        let mut exercise = Exercise::new(harp("C"), Tolerance::USUAL, RATE);
        let said = exercise.order(Order::Run(Box::new(plan)));
        Self { exercise, time: 0, said, late_s: 0.0 }
    }

    fn running(&self) -> &practice::run::Running {
        self.exercise.running().unwrap()
    }

    fn order(&mut self, order: Order) -> Vec<Event> {
        let events = self.exercise.order(order);
        self.said.extend(events.clone());
        events
    }

    /// What is asked now sounds now.
    fn asked_now(&self) -> Option<f64> {
        let now = self.running().now().unwrap_or(-9.0) - self.late_s;
        let sounds = |note: &&AskedNote| (0.0..0.7 * note.length_s.min(0.4)).contains(&(now - note.onset_s));
        self.running().asked().iter().find(sounds).and_then(|note| harp("C").hz(note.way))
    }

    fn hear(&mut self, hz: Option<f64>) {
        let (time, known) = (self.time, self.time + HOP);
        let level_dbfs = if hz.is_some() { -18.0 } else { -70.0 };
        let reading =
            pitch::Reading { time, known, hz, sigma_cents: 0.5, clarity: 0.9, level_dbfs, onset: false };
        self.time += HOP;
        let events = self.exercise.hear(&reading);
        self.said.extend(events);
    }

    /// Plays what is asked when it is asked, until this holds, or for a minute.
    #[track_caller]
    fn until(&mut self, holds: impl Fn(&practice::run::Running) -> bool) -> &mut Self {
        for _ in 0..12_000 {
            if holds(self.running()) {
                return self;
            }
            let going = matches!(self.running().phase(), RunPhase::Playing | RunPhase::CountIn);
            self.hear(self.asked_now().filter(|_| going));
        }
        panic!("it never came to that: {:?}", self.running().phase());
    }

    fn judged(&self) -> Vec<&RunJudged> {
        let judged = self.said.iter().filter_map(|event| match event {
            Event::RunJudged(judged) => Some(&**judged),
            _ => None,
        });
        judged.collect()
    }
}

fn is(phase: RunPhase) -> impl Fn(&practice::run::Running) -> bool {
    move |running| running.phase() == phase
}

fn from(seconds: f64) -> impl Fn(&practice::run::Running) -> bool {
    move |running| running.phase() == RunPhase::Playing && running.now().is_some_and(|now| now >= seconds)
}

/// The blues scale, thirteen eighths at 120: two bars of two seconds.
fn runs(count: u32) -> Plan {
    Plan { runs: count, ..plan(blues(&harp("C"), 120.0)) }
}

#[test]
fn a_run_counts_in_for_a_bar_and_is_judged_when_its_last_note_may_have_come() {
    let mut player = Player::at(runs(1));
    player.until(is(RunPhase::CountIn)).hear(None);
    assert_eq!((player.running().count_in_beats(), player.running().count_in_s()), (4, 2.0));
    let to_go = player.running().to_go_s().unwrap();
    let now = player.running().now().unwrap();
    assert!((to_go + now).abs() < 1e-9 && to_go > 1.9, "{to_go} {now}");
    player.until(from(0.1));
    assert_eq!((player.running().to_go_s(), player.running().from_bar()), (None, 0));
    player.until(is(RunPhase::Done));
    // Two bars are over at 4 s; a late note is waited for for a beat of half a second.
    let now = player.running().now().unwrap();
    assert!((now - 4.5).abs() < 0.02, "{now}");
    let judged = player.judged();
    assert_eq!((judged.len(), judged[0].verdict.whole.right, judged[0].verdict.whole.clean), (1, 13, true));
    assert_eq!(player.said.last(), Some(&Event::Ended(Ending::Done)));
}

#[test]
fn a_verdict_is_shown_for_three_seconds_or_held_and_then_the_next_run_begins() {
    let mut player = Player::at(runs(3));
    player.until(is(RunPhase::Shown));
    assert_eq!((player.running().number(), player.running().shown_s()), (1, 3.0));
    let shown = player.time;
    player.until(is(RunPhase::CountIn));
    let seconds = (player.time - shown) as f64 / RATE;
    assert!((seconds - 3.0).abs() < 0.02, "{seconds}");
    assert_eq!(player.running().number(), 2);
    // Held, it waits; and again, and it goes on.
    player.until(is(RunPhase::Shown)).order(Order::Pause);
    assert_eq!(player.running().phase(), RunPhase::Held);
    (0..2_000).for_each(|_| player.hear(None));
    assert_eq!((player.running().phase(), player.running().number()), (RunPhase::Held, 2));
    player.order(Order::Pause);
    assert_eq!((player.running().phase(), player.running().number()), (RunPhase::CountIn, 3));
    // After the last run the same once more is one run more.
    player.until(is(RunPhase::Done)).order(Order::Again);
    assert_eq!((player.running().phase(), player.running().number()), (RunPhase::CountIn, 4));
    assert_eq!(player.running().plan().runs, 4);
    player.until(is(RunPhase::Done));
    assert_eq!(player.judged().len(), 4);
}

#[test]
fn what_is_skipped_or_paused_is_not_judged() {
    let mut player = Player::at(runs(2));
    player.until(from(2.5));
    assert_eq!(player.order(Order::Pause), [Event::Paused]);
    // It was paused in the second bar, and counts in for that.
    assert_eq!((player.running().phase(), player.running().from_bar()), (RunPhase::Paused, 1));
    player.order(Order::Pause);
    player.until(is(RunPhase::CountIn)).hear(None);
    assert!(player.running().to_go_s().unwrap() > 1.9, "a bar again");
    // The next run, without waiting for the end of this one; and behind the last one the end.
    assert_eq!(player.order(Order::Next), [Event::Paused]);
    assert_eq!(player.running().number(), 2);
    player.until(from(1.0));
    assert_eq!(player.order(Order::Next), [Event::Ended(Ending::Left)]);
    assert!(player.order(Order::Next).is_empty() && player.judged().is_empty());
    assert!(!player.exercise.is_on());
}

#[test]
fn a_verdict_that_is_shown_can_be_passed() {
    let mut player = Player::at(runs(2));
    // Nothing sounds then that would have to stop.
    assert!(player.until(is(RunPhase::Shown)).order(Order::Next).is_empty());
    assert_eq!((player.running().phase(), player.running().number()), (RunPhase::CountIn, 2));
}

#[test]
fn runs_that_were_left_do_not_go_on() {
    let mut player = Player::at(runs(2));
    player.until(from(1.0)).order(Order::Leave);
    assert!(player.order(Order::Next).is_empty());
    assert_eq!((player.running().phase(), player.running().number()), (RunPhase::Left, 1));
}

#[test]
fn every_second_bar_is_silent_where_the_players_own_time_is_tried() {
    let clicking = Clicking { what: Clicked::Beats, silent_bars: 1 };
    let mut player = Player::at(Plan { clicking, ..runs(1) });
    player.until(is(RunPhase::CountIn));
    let clicks = player.running().clicks(0);
    // Four of the count-in and four of the first bar.
    assert_eq!(clicks.len(), 8);
    assert!(!player.running().is_silent());
    player.until(from(1.0));
    assert!(!player.running().is_silent());
    player.until(from(2.2));
    assert!(player.running().is_silent());
    let mut open = Player::at(runs(1));
    open.until(from(2.2));
    assert!(!open.running().is_silent() && open.running().clicks(0).len() == 12);
}

#[test]
fn where_the_delay_is_not_known_a_run_is_held_against_its_own_middle() {
    let timing = |delay_s, late_s| {
        let mut player = Player::at(Plan { delay_s, ..runs(1) });
        player.late_s = late_s;
        player.until(is(RunPhase::Done));
        let verdict = player.judged()[0].verdict.clone();
        (verdict.notes[5].timing.unwrap(), verdict.whole.late_s.is_some(), verdict.whole.right)
    };
    assert_eq!(timing(Some(0.0), 0.08), (Timing::Late, true, 0));
    assert_eq!(timing(None, 0.08), (Timing::Tight, false, 13));
    // Of a delay of 80 ms that was measured nothing is left.
    assert_eq!(timing(Some(0.08), 0.0).0, Timing::Tight);
}

#[test]
fn a_run_that_begins_with_the_player_waits_for_the_first_note() {
    let mut player = Player::at(Plan { start: StartAt::FirstNote, ..runs(1) });
    (0..400).for_each(|_| player.hear(None));
    assert_eq!((player.running().phase(), player.running().now()), (RunPhase::Waiting, None));
    assert!(player.running().clicks(0).is_empty() && player.running().is_timed());
    let first = harp("C").hz(player.running().asked()[0].way);
    let began = player.time;
    (0..40).for_each(|_| player.hear(first));
    assert_eq!(player.running().phase(), RunPhase::Playing);
    // The first beat is where the note began.
    let now = player.running().now().unwrap();
    assert!((now - (player.time - began) as f64 / RATE).abs() < 0.02, "{now}");
    let mut free = Player::at(Plan { start: StartAt::FreeTime, ..runs(1) });
    assert!(!free.running().is_timed());
    free.order(Order::Leave);
    assert_eq!(free.running().phase(), RunPhase::Left);
}

#[test]
fn a_clean_run_moves_the_tempo_by_steps_of_four() {
    // Two clean runs of three move it; before that it stays.
    let mut player = Player::at(Plan { tempi: Tempi::Steps, ..runs(9) });
    let mut tempi = Vec::new();
    for number in 2..=4 {
        player.until(move |running| running.number() == number);
        tempi.push(player.running().tempo().bpm());
    }
    assert_eq!(tempi, [120.0, 124.0, 124.0]);
}

#[test]
fn a_run_that_begins_with_the_player_ends_after_its_last_bar_and_one_in_free_time_after_silence() {
    // One note of 0.2 s, and then nothing or the same note on and on.
    let ends_s = |start, plays_on: bool| {
        let mut player = Player::at(Plan { start, ..runs(1) });
        let first = harp("C").hz(player.running().asked()[0].way);
        (0..40).for_each(|_| player.hear(first));
        let began = player.time - 40 * HOP;
        while player.running().phase() != RunPhase::Done && player.time < 20 * RATE as u64 {
            player.hear(first.filter(|_| plays_on));
        }
        (player.time - began) as f64 / RATE
    };
    // Two bars of two seconds. Of who has been silent for two seconds by then no late note is to be expected; who plays
    // on has a beat for it, of half a second.
    let after_the_bars = ends_s(StartAt::FirstNote, false);
    assert!((after_the_bars - 4.0).abs() < 0.05, "{after_the_bars}");
    let played_on = ends_s(StartAt::FirstNote, true);
    assert!((played_on - 4.5).abs() < 0.05, "{played_on}");
    // Two seconds of silence behind the note of 0.2 s.
    let after_silence = ends_s(StartAt::FreeTime, false);
    assert!((after_silence - 2.2).abs() < 0.1, "{after_silence}");
}

#[test]
fn the_tempo_of_a_first_run_in_free_time_is_that_of_the_runs_behind_it() {
    let mut player = Player::at(Plan { own_tempo_first: true, ..runs(2) });
    assert!(!player.running().is_timed() && player.running().clicks(0).is_empty());
    // The notes come in the rhythm that is asked for, but at three quarters of its tempo: 90 for 120.
    let asked = player.running().asked().to_vec();
    let harp = harp("C");
    for time in 0..2_400 {
        let now_s = f64::from(time) * 0.005;
        let sounds = asked.iter().find(|note| (0.0..0.2).contains(&(now_s - note.onset_s / 0.75 - 0.5)));
        player.hear(sounds.and_then(|note| harp.hz(note.way)));
        if player.running().phase() == RunPhase::Shown {
            break;
        }
    }
    assert_eq!(player.running().phase(), RunPhase::Shown);
    let rushing = player.judged()[0].verdict.whole.rushing.unwrap();
    assert!((rushing + 0.25).abs() < 0.01, "{rushing}");
    assert!(!player.judged()[0].verdict.whole.timed, "nothing is early or late in it");
    player.order(Order::Next);
    assert!(player.running().is_timed() && (player.running().tempo().bpm() - 90.0).abs() <= 1.0);
}

#[test]
fn what_is_set_while_runs_go_on_holds_from_then_on() {
    let mut player = Player::at(runs(2));
    assert!(player.running().delay_is_known());
    player.order(Order::TakeDelay(None));
    assert!(!player.running().delay_is_known());
    player.order(Order::TakeDelay(Some(0.08)));
    assert!(player.running().delay_is_known());
    // A run is judged by the tolerance that was taken while it went on.
    let right = |tolerance: Tolerance| {
        let mut player = Player::at(runs(1));
        player.order(Order::TakeTolerance(tolerance));
        player.until(is(RunPhase::Done));
        player.judged()[0].tolerance
    };
    assert_eq!([Tolerance::USUAL, Tolerance::EXPERT].map(right), [Tolerance::USUAL, Tolerance::EXPERT]);
}

#[test]
fn in_a_new_stream_a_run_counts_in_for_its_bar_and_a_verdict_stays_shown() {
    let mut player = Player::at(runs(2));
    player.until(from(2.5));
    let events = player.exercise.restart(RATE);
    player.said.extend(events);
    player.time = 0;
    assert_eq!((player.running().phase(), player.running().from_bar()), (RunPhase::CountIn, 1));
    player.until(is(RunPhase::Shown));
    let events = player.exercise.restart(RATE);
    player.said.extend(events);
    player.time = 0;
    assert_eq!(player.running().phase(), RunPhase::Shown);
    player.until(is(RunPhase::CountIn));
    assert_eq!(player.running().number(), 2);
    // Three seconds again, counted in the new stream.
    assert!((player.time as f64 / RATE - 3.0).abs() < 0.02, "{}", player.time);
}

/// A click that is to sound at once cannot be brought to the loudspeaker in time, and one that is late does not sound:
/// so every count-in begins 0.6 s after it was ordered, whichever run it is for and whatever was before it.
#[test]
fn the_first_click_of_every_count_in_can_still_be_ordered() {
    let ahead_s = |player: &mut Player| {
        player.until(is(RunPhase::CountIn)).hear(None);
        let running = player.running();
        running.clicks(running.from_bar())[0].at_s - running.now().unwrap()
    };
    let mut player = Player::at(runs(3));
    let mut ahead = vec![ahead_s(&mut player)];
    // The second run, which comes by itself; the same once more; paused in its first bar, and in its second.
    player.until(|running| running.number() == 2);
    ahead.push(ahead_s(&mut player));
    player.order(Order::Again);
    ahead.push(ahead_s(&mut player));
    for second in [0.5, 2.5] {
        player.until(from(second)).order(Order::Pause);
        player.order(Order::Pause);
        ahead.push(ahead_s(&mut player));
    }
    // The third run, which was asked for.
    player.order(Order::Next);
    ahead.push(ahead_s(&mut player));
    assert!(ahead.iter().all(|ahead_s| (ahead_s - 0.6).abs() < 1e-6), "{ahead:?}");
}

/// At 60 a minute half a beat lasts 0.5 s.
#[test]
fn what_is_played_more_than_half_a_beat_before_the_first_one_is_warming_up() {
    let counts = |delay_s, before_s: f64| {
        let mut player = Player::at(Plan { delay_s, ..plan(blues(&harp("C"), 60.0)) });
        // Nobody asked for 10 blow.
        let other = harp("C").hz(ways(&harp("C"), "10")[0]);
        while player.running().phase() != RunPhase::Done {
            let now = player.running().now().unwrap_or(-9.0);
            let early = other.filter(|_| (0.0..0.1).contains(&(now + before_s)));
            player.hear(early.or(player.asked_now()));
        }
        player.judged()[0].verdict.extra.len()
    };
    assert_eq!([0.4, 0.7].map(|before_s| counts(Some(0.0), before_s)), [1, 0]);
    // Where nobody knows when the beat was heard, it counts for 0.35 s more.
    assert_eq!([0.4, 0.7, 1.0].map(|before_s| counts(None, before_s)), [1, 1, 0]);
}

/// Four bars of four quarters at 120, the fourth hole over and over: two seconds each.
fn four_bars(clicking: Clicking) -> Plan {
    let quarters = rhythm(120.0, "4/4", "quarters", 1.0);
    let material = Material::of_ways("four".to_owned(), &ways(&harp("C"), "4").repeat(16), quarters).unwrap();
    Plan { clicking, ..plan(material) }
}

#[test]
fn a_count_in_is_never_silent_nor_is_a_bar_over_a_band() {
    // The second and the fourth bar are silent. What is counted in for the third sounds where the second was.
    let mut player = Player::at(four_bars(Clicking { what: Clicked::Beats, silent_bars: 1 }));
    player.until(from(4.5)).order(Order::Pause);
    player.order(Order::Pause);
    (0..300).for_each(|_| player.hear(None));
    assert_eq!((player.running().phase(), player.running().from_bar()), (RunPhase::CountIn, 2));
    assert!((2.0..4.0).contains(&player.running().now().unwrap()) && !player.running().is_silent());
    player.until(from(6.1));
    assert!(player.running().is_silent());
    // A band is clicked to by nothing but the count-in: its kit is the beat, and nobody's own time is tried.
    let mut player = Player::at(four_bars(Clicking { what: Clicked::CountIn, silent_bars: 0 }));
    player.until(from(2.5));
    assert!(!player.running().is_silent());
}

/// A band plays by the clock: to a beat of the player's own there is none.
#[test]
fn the_band_sounds_where_the_clock_counts_in() {
    let material = blues(&harp("C"), 120.0);
    let with = Plan { over: Some(over(&material.rhythm)), ..runs(2) };
    let band = |plan: &Plan| Player::at(plan.clone()).running().band().cloned();
    assert_eq!(band(&with), with.over);
    assert_eq!(band(&Plan { start: StartAt::FirstNote, ..with.clone() }), None);
    assert_eq!(band(&Plan { own_tempo_first: true, ..with }), None);
}

/// Three fifths of 120 are 72. The full tempo has been clean once by the fourth run, and stays.
#[test]
fn slow_and_full_tempo_take_turns() {
    let mut player = Player::at(Plan { tempi: Tempi::InTurn, ..runs(9) });
    let tempi = [1, 2, 3, 4].map(|number| {
        player.until(move |running| running.number() == number);
        player.running().tempo().bpm()
    });
    assert_eq!(tempi, [72.0, 120.0, 72.0, 120.0]);
}

/// Two quarters of one hole without a gap between them are one note, unless samples were lost there: then what sounded
/// is over, and what is heard behind it is another note.
#[test]
fn lost_samples_end_the_note_that_sounds() {
    let right = |lost: bool| {
        let mut player = Player::at(four_bars(Clicking::default()));
        let hz = harp("C").hz(ways(&harp("C"), "4")[0]);
        while player.running().phase() != RunPhase::Done {
            let now = player.running().now().unwrap_or(-9.0);
            if lost && (0.5..0.505).contains(&now) {
                assert!(player.exercise.gap().is_empty());
                player.time += 2 * HOP;
            }
            player.hear(hz.filter(|_| (0.0..0.9).contains(&now)).or(player.asked_now()));
        }
        let verdict = player.judged()[0].verdict.clone();
        verdict.notes.iter().filter(|note| note.is_right()).count()
    };
    assert_eq!([false, true].map(right), [15, 16]);
}
