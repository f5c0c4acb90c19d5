//! The windows of time: what is tight, what is on the beat, and what is not.

use scoring::timed::{Timing, Window};

/// An eighth lasts half a beat, a sixteenth a quarter of one.
fn window(bpm: f64, notes_of_beat: f64) -> Window {
    Window::of_shortest(60.0 / bpm / notes_of_beat)
}

/// 25 ms is what ensembles keep to (Rasch, Acustica 43:121–131, 1979: standard deviations of 27 to 49 ms are not heard
/// as uneven), 50 ms the onset tolerance of `mir_eval` 0.8.2; a fifth of the shortest note is ours. Worked out by hand.
#[test]
fn windows_are_25_and_50_ms_and_at_most_a_fifth_of_the_shortest_note() {
    // An eighth at 120 beats a minute lasts 250 ms, of which a fifth is 50 ms; all that is slower keeps both windows.
    for (bpm, notes_of_beat, tight_ms, on_ms) in [
        (60.0, 2.0, 25.0, 50.0),
        (120.0, 2.0, 25.0, 50.0),
        (121.0, 2.0, 25.0, 49.587),
        (180.0, 2.0, 25.0, 33.333),
        (180.0, 3.0, 22.222, 22.222),
        (120.0, 4.0, 25.0, 25.0),
        (150.0, 4.0, 20.0, 20.0),
        (240.0, 4.0, 12.5, 12.5),
    ] {
        let window = window(bpm, notes_of_beat);
        assert!((1e3 * window.tight_s - tight_ms).abs() < 1e-3, "{bpm} {notes_of_beat} {window:?}");
        assert!((1e3 * window.on_s - on_ms).abs() < 1e-3, "{bpm} {notes_of_beat} {window:?}");
    }
    // Of swung eighths, two to one at 120, the shorter lasts 166.7 ms; the shortest of all counts.
    let swung = Window::of_notes([1.0 / 3.0, 1.0 / 6.0, 1.0].into_iter());
    assert!((swung.on_s - 1.0 / 30.0).abs() < 1e-9, "{swung:?}");
    assert_eq!(Window::of_notes(std::iter::empty()), Window { tight_s: 0.0, on_s: 0.0 });
}

#[test]
fn the_windows_of_neighbouring_notes_never_meet() {
    for bpm in 30..=240 {
        for notes_of_beat in [1.0, 2.0, 3.0, 4.0, 6.0] {
            let apart_s = 60.0 / f64::from(bpm) / notes_of_beat;
            assert!(
                2.0 * window(f64::from(bpm), notes_of_beat).on_s < apart_s / 2.0,
                "{bpm} {notes_of_beat}"
            );
        }
    }
}

#[test]
fn what_is_within_a_window_is_in_time_its_edge_included() {
    let window = window(100.0, 2.0);
    for (late_ms, timing) in [
        (0.0, Timing::Tight),
        (25.0, Timing::Tight),
        (-25.0, Timing::Tight),
        (25.1, Timing::OnBeat),
        (-50.0, Timing::OnBeat),
        (50.1, Timing::Late),
        (-50.1, Timing::Early),
    ] {
        let given = Timing::of(late_ms / 1e3, window);
        assert_eq!(given, timing, "{late_ms}");
        assert_eq!(given.in_time(), late_ms.abs() <= 50.0, "{late_ms}");
    }
}
