//! What a chorus and a whole jam come to, and how it goes on its way.

use crate::{Stage, plan, played};
use layout::Breath;
use practice::jam::{Form, FormError, JamPhase, JamPlan, Met};
use practice::{Ending, Event, Order};
use theory::{Ability, Groove, Level, Progression};

fn met(notes: &[crate::Played<'_>]) -> Vec<String> {
    let stage = played(plan("I7 | IV7 | V7", Groove::Straight, 1), notes);
    let word = |met: Met| match met {
        Met::OfChord(degree) => degree.to_string(),
        Met::Other => "other".to_owned(),
        Met::Rest => "rest".to_owned(),
        Met::CannotTell => "?".to_owned(),
    };
    let changes = &stage.over().tally.changes;
    assert_eq!(
        changes.iter().map(|change| (change.bar, change.chord.as_str())).collect::<Vec<_>>(),
        [(1, "D7"), (2, "E7"), (3, "A7")]
    );
    changes.iter().map(|change| word(change.met)).collect()
}

/// The changes are to D7 on beat 4, to E7 on beat 8, and to A7, on which it ends, on beat 12.
#[test]
fn a_change_is_met_by_a_note_of_the_new_chord() {
    // On the beat; a half-beat before and tied over; a little behind.
    assert_eq!(
        met(&[("F#5", 0.0, 4.0, 0.8), ("G#5", 0.0, 7.5, 1.5), ("C#5", 0.0, 12.4, 0.5)]),
        ["3", "3", "3"]
    );
    // Another note; nothing; a note that was over before.
    assert_eq!(met(&[("G5", 0.0, 4.0, 0.8), ("A5", 0.0, 10.0, 1.8)]), ["other", "rest", "rest"]);
    // Held over, a note of both chords; a slide into the third; between two notes.
    assert_eq!(
        met(&[("A5", 0.0, 2.0, 3.0), ("G5", 0.0, 8.0, 0.2), ("G#5", 0.0, 8.2, 0.8), ("C5", 50.0, 12.0, 0.8)]),
        ["5", "3", "?"]
    );
}

/// A staccato note that is pushed: what sounds longer behind the change than before it was meant for the new chord,
/// however soon it is let go. Common practice, no source.
#[test]
fn a_short_note_that_is_pushed_belongs_to_the_chord_in_which_most_of_it_sounds() {
    // A tenth of a beat before the change and three twentieths behind it; three tenths of which two lie before it.
    assert_eq!(met(&[("F#5", 0.0, 3.9, 0.25), ("G#5", 0.0, 7.8, 0.3)]), ["3", "rest", "rest"]);
    // The same with a note that is foreign to the new chord.
    assert_eq!(met(&[("G5", 0.0, 3.9, 0.25), ("A5", 0.0, 7.8, 0.3)]), ["other", "rest", "rest"]);
}

#[test]
fn a_change_at_which_one_of_two_notes_cannot_be_named_is_not_called_missed() {
    // A G, which is none of E7, and behind it a pitch between C and C♯; then the other way round.
    let (g, between) = (("G5", 0.0), ("C5", 50.0));
    for [first, second] in [[g, between], [between, g]] {
        let notes = [(first.0, first.1, 8.0, 0.25), (second.0, second.1, 8.3, 0.5)];
        assert_eq!(met(&notes)[1], "?", "{notes:?}");
    }
}

/// Two chords share a bar of four beats evenly, so the second one comes on beat 3.
#[test]
fn a_change_within_a_bar_has_its_beat() {
    let stage = played(plan("I7 IV7 | V7 I7", Groove::Straight, 1), &[]);
    let changes = &stage.over().tally.changes;
    let told: Vec<_> =
        changes.iter().map(|change| (change.bar, change.beat.round(), change.chord.as_str())).collect();
    assert_eq!(told, [(0, 3.0, "D7"), (1, 1.0, "E7"), (1, 3.0, "A7")]);
    assert!(changes.iter().all(|change| (change.beat - change.beat.round()).abs() < 1e-3), "{changes:?}");
}

#[test]
fn nothing_is_called_a_miss_where_the_delay_is_not_known() {
    let unmeasured = JamPlan { delay_s: None, ..plan("I7 | IV7", Groove::Straight, 1) };
    // Just behind the change by the microphone's clock, and perhaps before it in truth.
    let stage = played(unmeasured.clone(), &[("G5", 0.0, 4.1, 0.2), ("F#5", 0.0, 4.35, 1.0)]);
    assert!(matches!(stage.over().tally.changes[0].met, Met::OfChord(_)), "{:?}", stage.over().tally.changes);
    let stage = played(unmeasured, &[("G5", 0.0, 4.05, 0.2)]);
    assert_eq!(stage.over().tally.changes[0].met, Met::CannotTell);
}

#[test]
fn blow_and_draw_and_what_was_never_played_are_told() {
    // On a D harp F♯5 is 5 blow, B5 is 6 draw, D5 is 4 blow, and A4 may be 2 draw or 3 blow. At 120 a beat is half a
    // second.
    let notes = [
        ("F#5", 0.0, 0.0, 2.0),
        ("B5", 0.0, 4.0, 1.0),
        ("A4", 0.0, 5.0, 1.0),
        ("D5", 0.0, 8.0, 3.0),
        ("F#5", 0.0, 11.1, 2.0),
    ];
    let stage = played(plan("I7 | IV7 | V7 | I7", Groove::Straight, 1), &notes);
    let tally = &stage.over().tally;
    let near = |a: f64, b: f64| (a - b).abs() < 0.05;
    assert!(near(tally.blow_s, 3.5) && near(tally.draw_s, 0.5) && near(tally.either_s, 0.5), "{tally:?}");
    let (breath, seconds, bar) = tally.longest.unwrap();
    assert!(breath == Breath::Blow && near(seconds, 2.55) && bar == 2, "{:?}", tally.longest);
    // What a player without bends has of the blues scale of A on a D harp, and what is left of it when A4 and D5 were
    // played (worked out by hand from the layout).
    let plain = plan("I7", Groove::Straight, 1);
    let unused = |plan: JamPlan, notes: &[crate::Played<'_>]| {
        let stage = played(plan, notes);
        stage.over().unused.iter().map(ToString::to_string).collect::<Vec<_>>()
    };
    let level = |level| JamPlan { ability: Ability::new(level), ..plain.clone() };
    let all = unused(level(Level::Plain), &[]);
    // Natural reeds of a D harp in A blues: D4 1, E4 -1, A4 -2 or 3, D5 4, E5 -4, G5 -5, A5 6, D6 7, E6 -8, G6 -9, A6
    // 9, D7 10.
    assert_eq!(all.len(), 12, "{all:?}");
    let less =
        unused(level(Level::Plain), &[("A4", 0.0, 0.0, 1.0), ("D5", 0.0, 2.0, 1.0), ("F#5", 0.0, 3.2, 0.5)]);
    assert_eq!(less.len(), 10, "{less:?}");
    assert!(less.iter().all(|way| all.contains(way)));
}

/// The longest stretch on one breath ends with the breath and with a rest in which the player lets go of it. On a D
/// harp F♯5 and D5 are blown, and B5 is drawn; a beat is half a second.
#[test]
fn a_rest_and_the_other_breath_end_a_stretch_on_one_breath() {
    let longest = |notes: &[crate::Played<'_>]| {
        let stage = played(plan("I7 | IV7", Groove::Straight, 1), notes);
        stage.over().tally.longest.unwrap()
    };
    for (notes, breath, seconds, bar) in [
        // A rest of a fifth of a second; the first stretch is the longer one, and then the second.
        ([("F#5", 0.0, 0.0, 2.0), ("D5", 0.0, 2.4, 1.2)], Breath::Blow, 1.0, 0),
        ([("F#5", 0.0, 0.0, 1.2), ("D5", 0.0, 4.2, 2.0)], Breath::Blow, 1.0, 1),
        // The breath turns without a rest.
        ([("F#5", 0.0, 1.0, 2.0), ("B5", 0.0, 3.0, 1.0)], Breath::Blow, 1.0, 0),
        ([("F#5", 0.0, 1.0, 1.0), ("B5", 0.0, 2.0, 2.0)], Breath::Draw, 1.0, 0),
        // A tongue stroke of a twentieth of a second lets go of nothing.
        ([("F#5", 0.0, 4.5, 1.0), ("D5", 0.0, 5.6, 1.9)], Breath::Blow, 1.5, 1),
    ] {
        let (way, told, began) = longest(&notes);
        assert!(
            way == breath && (told - seconds).abs() < 0.05 && began == bar,
            "{notes:?}: {way:?} for {told} s from bar {began}"
        );
    }
}

#[test]
fn it_goes_round_and_ends_or_is_left() {
    let mut stage = Stage::new(plan("I7 | IV7", Groove::Straight, 2));
    stage.play(&[("A4", 0.0, 1.0, 0.5), ("D5", 0.0, 9.0, 0.5), ("A4", 0.0, 16.0, 0.5)], f64::INFINITY);
    assert_eq!(stage.jam().phase(), JamPhase::Done);
    // The note on the bar behind the last chorus, on which the band ends, belongs to that chorus.
    let chorus = |event: &Event| {
        if let Event::ChorusOver(over) = event { Some((over.number, over.tally.notes)) } else { None }
    };
    assert_eq!(stage.said.iter().filter_map(chorus).collect::<Vec<_>>(), [(1, 1), (2, 2)]);
    assert!(matches!(&stage.said[stage.said.len() - 2..], [Event::JamOver(_), Event::Ended(Ending::Done)]));
    let mut stage = Stage::new(plan("I7 | IV7", Groove::Straight, 9));
    stage.play(&[("A4", 0.0, 1.0, 0.5), ("D5", 0.0, 9.0, 9.0)], 11.0);
    stage.order(Order::Leave);
    let over = stage.over();
    assert_eq!((over.choruses, over.tally.notes, over.tally.changes.len()), (1, 2, 2), "{over:?}");
    assert_eq!(stage.said.last(), Some(&Event::Ended(Ending::Left)));
    // Left twice it is told once.
    stage.order(Order::Leave);
    assert_eq!(stage.said.iter().filter(|event| matches!(event, Event::JamOver(_))).count(), 1);
}

/// A bar that was broken off by a pause is counted in for, and played, anew.
#[test]
fn a_pause_comes_back_on_the_bar() {
    let mut stage = Stage::new(plan("I7 | IV7 | V7", Groove::Straight, 1));
    stage.play(&[("A4", 0.0, 1.0, 0.5), ("D5", 0.0, 4.5, 0.5)], 6.0);
    stage.order(Order::Pause);
    assert_eq!((stage.jam().phase(), stage.jam().from_bar()), (JamPhase::Paused, 1));
    stage.order(Order::Pause);
    stage.play(&[("F#5", 0.0, 4.0, 0.5), ("G#5", 0.0, 8.0, 0.5)], f64::INFINITY);
    let began: Vec<usize> = stage
        .said
        .iter()
        .filter_map(|event| if let Event::RunBegan(began) = event { Some(began.from_bar) } else { None })
        .collect();
    assert_eq!(began, [0, 1]);
    let tally = &stage.over().tally;
    assert_eq!((tally.notes, tally.of_chord), (3, 3), "{tally:?}");
    assert_eq!(tally.met(|met| matches!(met, Met::OfChord(_))), 2, "{tally:?}");
}

#[test]
fn a_form_that_is_too_long_or_too_crowded_is_none() {
    let scale = plan("I7", Groove::Straight, 1).scale;
    let form = |bars: &str| Form::new(&Progression::new("x", bars).unwrap(), &scale, &crate::harp());
    assert_eq!(form(&["I"; 65].join("|")).unwrap_err(), FormError::TooLong(65));
    assert_eq!(form("I | I IV V I IV").unwrap_err(), FormError::TooMany(2, 5));
    assert!(form(&["I"; 64].join("|")).is_ok());
}
