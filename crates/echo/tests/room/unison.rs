//! A player who holds a note in unison with a drone from the loudspeaker.

use crate::judged::readings;
use crate::place::{Clocks, Place, RATE};
use crate::playing::{Playing, harp};
use layout::Technique;
use synth::{Gesture, SimulatedPlayer, Tone};

/// The drone sounds alone for so long, and then with the player, seconds.
const ALONE_S: f64 = 4.0;
const TOGETHER_S: f64 = 10.0;
/// The player's last second is measured, short of its release.
const MEASURED_S: (f64, f64) = (12.8, 13.8);

/// What a player loses of his level who is so many cents off, decibels, and how far off he is told to be, cents.
fn unison(cents: f64) -> (f64, f64) {
    let harp = harp();
    let way = harp.ways().find(|way| way.technique == Technique::Natural && way.hole == 4).unwrap();
    let hz = harp.hz(way).unwrap();
    let length = ((ALONE_S + TOGETHER_S) * RATE) as usize;
    let mut drone = vec![0.0; length];
    Tone::new(hz, RATE).unwrap().level(-20.0).unwrap().fill(&mut drone);
    let mut player = SimulatedPlayer::new(&harp, RATE, 3);
    let gesture = Gesture::new(way).cents_off(cents).seconds(TOGETHER_S).level(-18.0);
    let played = vec![player.play_at(&gesture, ALONE_S * RATE).unwrap()];
    let mut samples = vec![0.0; length];
    player.fill(&mut samples);
    let playing = Playing { harp, samples, played };
    let place = Place { rt60_s: 0.3, delay_s: 0.02, ppm: 50.0, clip: 0.1, echo_db: 0.0, seed: 5 };
    let echo = place.echo(&drone, &playing);
    let microphone = playing.over(&echo);
    let measured = |microphone: &[f32], reference| {
        let (mut level, mut hz) = (0.0, Vec::new());
        let all = readings(microphone, reference);
        let (from, until) = MEASURED_S;
        let late = all.iter().filter(|reading| (from..until).contains(&(reading.time as f64 / RATE)));
        for reading in late.clone() {
            level += 10_f64.powf(f64::from(reading.level_dbfs) / 10.0);
            hz.extend(reading.hz);
        }
        assert!(hz.len() > 350, "{cents} cents: {} readings with a pitch in a second", hz.len());
        hz.sort_by(f64::total_cmp);
        (10.0 * (level / late.count() as f64).log10(), hz[hz.len() / 2])
    };
    let alone = measured(&playing.samples, None);
    let over = measured(&microphone, Some((&drone[..], Clocks { ppm: 50.0, seed: 5 })));
    (alone.0 - over.0, 1200.0 * (over.1 / alone.1).log2())
}

/// Goals: 1 dB and 2 cents. The clocks tell the speed roughly, and a steady tone cannot mend that: what is left of the
/// drone adds up to 1.1 dB to him.
#[test]
fn a_player_in_unison_with_a_drone_keeps_his_level_and_his_pitch() {
    let told = [0.0, 2.0, 5.0, 10.0].map(|cents| (cents, unison(cents)));
    for (cents, (lost_db, off)) in told {
        println!("{cents:4.1} cents off the drone: {lost_db:+.2} dB lost, told {off:+.2} cents off");
    }
    assert!(
        told.iter().all(|(_, (lost_db, off))| (-1.2..=1.0).contains(lost_db) && off.abs() <= 2.0),
        "{told:?}"
    );
}
