//! Spans made by hand.

use super::*;

/// Milliseconds of the clock.
fn ms(ms: u64) -> HostTime {
    HostTime::from_nanos(ms * 1_000_000)
}

fn heard_at(own: &OwnSound, at: u64) -> bool {
    own.covers(ms(at), ms(at))
}

#[test]
fn nothing_is_ours_before_anything_was_played() {
    let own = OwnSound::default();
    assert!(!heard_at(&own, 0) && !heard_at(&own, 1_000));
}

#[test]
fn a_tone_is_ours_from_its_first_frame_until_the_room_is_quiet() {
    let own = OwnSound::default();
    own.sounded(ms(10_000), ms(10_000));
    for block in 1..=160 {
        own.sounded(ms(10_000 + 10 * (block - 1)), ms(10_000 + 10 * block));
    }
    assert!(!heard_at(&own, 9_999));
    assert!(heard_at(&own, 10_000) && heard_at(&own, 10_900) && heard_at(&own, 11_600));
    let tail = TAIL.as_millis() as u64;
    assert!(heard_at(&own, 11_600 + tail));
    assert!(!heard_at(&own, 11_601 + tail));
}

#[test]
fn a_stretch_is_ours_if_any_part_of_it_is() {
    let own = OwnSound::default();
    own.sounded(ms(5_000), ms(6_000));
    assert!(own.covers(ms(4_900), ms(5_000)) && own.covers(ms(1_000), ms(20_000)));
    assert!(!own.covers(ms(4_900), ms(4_999)) && !own.covers(ms(6_551), ms(9_000)));
}

/// A loudspeaker that is gone takes no more sound, so nothing has to be said about it.
#[test]
fn a_lost_loudspeaker_mutes_nothing_beyond_the_tail() {
    let own = OwnSound::default();
    own.sounded(ms(1_000), ms(1_200)); // a tone of two seconds, lost after 0.2
    assert!(heard_at(&own, 1_750));
    assert!(!heard_at(&own, 1_751) && !heard_at(&own, 3_000));
}

#[test]
fn what_was_played_seconds_ago_is_still_known() {
    let own = OwnSound::default();
    for tone in 0..20 {
        own.sounded(ms(1_000 * tone), ms(1_000 * tone + 100));
    }
    for tone in 12..20 {
        assert!(heard_at(&own, 1_000 * tone + 50), "tone {tone}");
        assert!(!heard_at(&own, 1_000 * tone + 800), "after tone {tone}");
    }
    assert!(!heard_at(&own, 11_050), "older ones are forgotten");
}

#[test]
fn clones_see_the_same_spans() {
    let own = OwnSound::default();
    let other = own.clone();
    own.sounded(ms(10), ms(20));
    assert!(heard_at(&other, 15));
}
