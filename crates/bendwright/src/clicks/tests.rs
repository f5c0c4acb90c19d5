//! Beats that are due, by a microphone whose clock is known to be off.

use super::*;
use practice::Moment;
use practice::run::Tempo;
use sound::Anchor;

const RATE: f64 = 48_000.0;

fn a_run(beats: usize, beat_s: f64, first_beat_samples: f64) -> Sounding {
    let began = RunBegan {
        number: 1,
        tempo: Tempo::new(60.0 / beat_s).unwrap(),
        from_bar: 0,
        first_beat_samples,
        at: Moment { samples: 0, rate: RATE, epoch: 0 },
    };
    let click = |n: usize| Click {
        at_s: (n as f64 - 4.0) * beat_s,
        weight: if n.is_multiple_of(4) { Weight::First } else { Weight::Other },
    };
    Sounding {
        began,
        clicks: (0..beats).map(click).collect(),
        counts_in: (0.0, beat_s),
        ordered: 0,
        upto_bar: usize::MAX,
        backing: None,
    }
}

/// When a microphone that is off by so many millionths hands in a sample, seconds.
fn true_s(ppm: f64, sample: f64) -> f64 {
    5.0 + sample / (RATE * (1.0 + ppm / 1e6))
}

fn moment(seconds: f64) -> HostTime {
    HostTime::from_nanos((seconds * 1e9).round() as u64)
}

#[test]
fn the_clicks_of_three_minutes_stay_on_the_beat_of_a_microphone_that_is_off() {
    for ppm in [-100.0, 100.0] {
        let mut clicks = Clicks::new(RATE);
        clicks.run = Some(a_run(300, 0.6, 5.0 * RATE));
        let (mut ordered, mut worst_s) = (0, 0.0_f64);
        for block in 1..=9_500_u64 {
            let frame = block * 960;
            // Three callbacks in four are late, by up to 6 ms.
            let late_s = (block % 4) as f64 * 0.002;
            let anchor = Anchor { frame, at: moment(true_s(ppm, frame as f64) + late_s) };
            clicks.clock.see(anchor);
            clicks.now = anchor.at;
            for (at, beat) in clicks.due() {
                assert!(at >= clicks.now + SOONEST && at <= clicks.now + AHEAD);
                let truth = true_s(ppm, 5.0 * RATE + (f64::from(ordered) - 4.0) * 0.6 * RATE);
                worst_s = worst_s.max((at.since(moment(0.0)).as_secs_f64() - truth).abs());
                assert_eq!(beat.accent == Accent::First, ordered % 4 == 0);
                ordered += 1;
            }
        }
        assert_eq!(ordered, 300);
        assert!(worst_s < 0.001, "{ppm}: {worst_s} s off the beat");
    }
}

#[test]
fn a_loudspeaker_that_is_back_takes_up_the_beat() {
    let mut clicks = Clicks::new(RATE);
    clicks.run = Some(a_run(40, 0.5, 3.0 * RATE));
    let see = |clicks: &mut Clicks, second: f64| {
        let frame = (second * RATE) as u64;
        clicks.clock.see(Anchor { frame, at: moment(true_s(0.0, second * RATE)) });
        clicks.now = moment(true_s(0.0, second * RATE));
        let told: Vec<f64> =
            clicks.due().into_iter().map(|(at, _)| at.since(moment(5.0)).as_secs_f64()).collect();
        told
    };
    assert_eq!(see(&mut clicks, 0.02), [1.0]);
    assert_eq!(see(&mut clicks, 0.9), [1.5]);
    assert_eq!(see(&mut clicks, 0.92), [0.0; 0], "a click is ordered once");
    clicks.speaker_gone();
    let again = see(&mut clicks, 1.3);
    assert_eq!(again, [1.5, 2.0], "what is over is over, and what is due is sounded by the next one");
}

#[test]
fn a_count_in_that_comes_back_tells_a_delay_that_another_measurement_does_not_confirm() {
    let mut state = State::default();
    let mut clicks = Clicks::new(RATE);
    clicks.devices = (Some("desk".into()), Some("shelf".into()));
    let back = |clicks: &mut Clicks, delays: &[f64]| -> Vec<bool> {
        clicks.returned.clear();
        delays.iter().map(|delay| clicks.take_return(*delay)).collect()
    };
    assert_eq!(back(&mut clicks, &[0.080, 0.120]), [false, false]);
    assert_eq!(clicks.delay(&state), (None, None), "two that disagree tell nothing");
    assert_eq!(back(&mut clicks, &[0.031, 0.084, 0.085, 0.0845]), [false, false, false, true]);
    let (delay_s, sentence) = clicks.delay(&state);
    assert_eq!(delay_s, Some(0.0845));
    assert!(sentence.is_some_and(|sentence| sentence.contains("after 85 ms")));
    assert_eq!(clicks.delay(&state).1, None, "it is told once");
    assert_eq!(back(&mut clicks, &[0.083, 0.084, 0.085, 0.084]), [false; 4], "the next run confirms it");
    state.remember_delay("desk", "shelf", 0.081).unwrap();
    assert_eq!(clicks.delay(&state), (Some(0.081), None), "what was measured at leisure holds");
    state.remember_delay("desk", "shelf", 0.052).unwrap();
    back(&mut clicks, &[0.094, 0.094, 0.095, 0.094]);
    let (delay_s, sentence) = clicks.delay(&state);
    assert_eq!(delay_s, Some(0.094));
    assert!(sentence.is_some_and(|said| said.contains("94 ms") && said.contains("52 ms")));
    clicks.restart(RATE);
    assert_eq!(clicks.delay(&state), (Some(0.052), None), "another stream may have another delay");
}

#[test]
fn two_devices_that_were_never_measured_are_told_of_once() {
    let mut state = State::default();
    let mut clicks = Clicks::new(RATE);
    assert_eq!(clicks.offer(&state), None, "nothing is open yet");
    clicks.devices = (Some("desk".into()), None);
    assert_eq!(clicks.offer(&state), None, "without a loudspeaker there is nothing to measure");
    clicks.speaker_opened("shelf".into());
    assert!(clicks.offer(&state).is_some_and(|said| said.contains("sound --delay")));
    assert_eq!(clicks.offer(&state), None, "it is said once");
    clicks.speaker_opened("headphones".into());
    assert!(clicks.offer(&state).is_some(), "these are others");
    clicks.speaker_opened("kitchen".into());
    state.remember_delay("desk", "kitchen", 0.081).unwrap();
    assert_eq!(clicks.offer(&state), None, "these were measured");
}
