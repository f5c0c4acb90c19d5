//! What reaches the ring.

use super::*;

struct Constant(f32, usize);

impl Generator for Constant {
    fn sample_rate(&self) -> f64 {
        1_000.0
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        let n = self.1.min(out.len());
        out[..n].fill(self.0);
        self.1 -= n;
        n
    }
}

fn rendered(mixer: &mut Mixer, n: usize) -> Vec<f32> {
    let mut out = vec![9.0; n];
    let (made, _) = mixer.render(&mut out);
    out.truncate(made);
    out
}

#[test]
fn a_sound_plays_to_its_end_and_says_so_once() {
    let mut mixer = Mixer::new(1_000.0);
    mixer.play(Box::new(Constant(0.5, 5)));
    assert_eq!(rendered(&mut mixer, 3), [0.5; 3]);
    let mut out = [0.0; 3];
    assert_eq!((mixer.render(&mut out), out), ((2, Progress::Finished), [0.5, 0.5, 0.0]));
    assert_eq!(mixer.render(&mut out), (0, Progress::Going));
}

#[test]
fn beats_join_a_tone_at_their_frames_and_outlast_it() {
    let mut mixer = Mixer::new(1_000.0);
    mixer.play(Box::new(Constant(0.25, 4)));
    mixer.join(Box::new(Constant(0.5, 3)), 2);
    mixer.join(Box::new(Constant(0.5, 1)), 6);
    let mut out = [9.0; 8];
    assert_eq!(mixer.render(&mut out), (7, Progress::Finished));
    assert_eq!(out[..7], [0.25, 0.25, 0.75, 0.75, 0.5, 0.0, 0.5]);
    assert!(mixer.is_silent());
}

#[test]
fn another_tone_fades_the_tone_and_not_the_beats_and_a_stop_fades_both() {
    let mut mixer = Mixer::new(1_000.0);
    mixer.play(Box::new(Constant(0.25, 500)));
    mixer.join(Box::new(Constant(0.5, 500)), 0);
    rendered(&mut mixer, 5);
    mixer.play(Box::new(Constant(0.125, 500)));
    rendered(&mut mixer, 20);
    assert_eq!(rendered(&mut mixer, 3), [0.625; 3]);
    mixer.join(Box::new(Constant(1.0, 5)), 100);
    mixer.stop();
    rendered(&mut mixer, 20);
    assert!(mixer.is_silent(), "what had not begun is forgotten");
}

#[test]
fn a_stopped_sound_fades_and_the_next_begins_in_full() {
    let mut mixer = Mixer::new(1_000.0);
    mixer.play(Box::new(Constant(1.0, 500)));
    assert_eq!(rendered(&mut mixer, 5), [1.0; 5]);
    mixer.play(Box::new(Constant(-0.5, 500)));
    let fade = rendered(&mut mixer, 50);
    assert!(fade.windows(2).all(|pair| (pair[0] - pair[1]).abs() < 0.101), "it is cut off: {fade:?}");
    assert_eq!(fade[11..], [0.0; 39]);
    assert_eq!(rendered(&mut mixer, 5), [-0.5; 5]);
    mixer.stop();
    rendered(&mut mixer, 50);
    assert!(rendered(&mut mixer, 5).is_empty());
}

#[test]
fn nothing_is_louder_than_full_scale_or_no_number() {
    for (made, wanted) in [(7.0, 1.0), (-7.0, -1.0), (f32::NAN, 0.0), (f32::INFINITY, 0.0)] {
        let mut mixer = Mixer::new(1_000.0);
        mixer.play(Box::new(Constant(made, 1)));
        assert_eq!(rendered(&mut mixer, 1), [wanted]);
    }
}

#[test]
fn a_generator_that_panics_is_dropped() {
    struct Broken;
    impl Generator for Broken {
        fn sample_rate(&self) -> f64 {
            1_000.0
        }
        fn fill(&mut self, _: &mut [f32]) -> usize {
            panic!("on purpose")
        }
    }
    let mut mixer = Mixer::new(1_000.0);
    mixer.play(Box::new(Broken));
    let mut out = [0.0; 3];
    assert_eq!(mixer.render(&mut out), (0, Progress::Broke("on purpose".to_owned())));
    assert_eq!(mixer.render(&mut out), (0, Progress::Going));
}
