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

fn rendered(renderer: &mut Renderer, n: usize) -> Vec<f32> {
    let mut out = vec![9.0; n];
    let (made, _) = renderer.render(&mut out);
    out.truncate(made);
    out
}

#[test]
fn a_sound_plays_to_its_end_and_says_so_once() {
    let mut renderer = Renderer::new(1_000.0);
    renderer.play(Box::new(Constant(0.5, 5)));
    assert_eq!(rendered(&mut renderer, 3), [0.5; 3]);
    assert_eq!(rendered(&mut renderer, 3), [0.5; 2]);
    let mut out = [0.0; 3];
    assert_eq!(renderer.render(&mut out), (0, Progress::Finished));
    assert_eq!(renderer.render(&mut out), (0, Progress::Going));
}

#[test]
fn a_stopped_sound_fades_and_the_next_begins_in_full() {
    let mut renderer = Renderer::new(1_000.0);
    renderer.play(Box::new(Constant(1.0, 500)));
    assert_eq!(rendered(&mut renderer, 5), [1.0; 5]);
    renderer.play(Box::new(Constant(-0.5, 500)));
    let fade = rendered(&mut renderer, 50);
    assert!(fade.windows(2).all(|pair| (pair[0] - pair[1]).abs() < 0.101), "it is cut off: {fade:?}");
    assert_eq!(fade[11..], [0.0; 39]);
    assert_eq!(rendered(&mut renderer, 5), [-0.5; 5]);
    renderer.stop();
    rendered(&mut renderer, 50);
    assert!(rendered(&mut renderer, 5).is_empty());
}

#[test]
fn nothing_is_louder_than_full_scale_or_no_number() {
    for (made, wanted) in [(7.0, 1.0), (-7.0, -1.0), (f32::NAN, 0.0), (f32::INFINITY, 0.0)] {
        let mut renderer = Renderer::new(1_000.0);
        renderer.play(Box::new(Constant(made, 1)));
        assert_eq!(rendered(&mut renderer, 1), [wanted]);
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
    let mut renderer = Renderer::new(1_000.0);
    renderer.play(Box::new(Broken));
    let mut out = [0.0; 3];
    assert_eq!(renderer.render(&mut out), (0, Progress::Broke("on purpose".to_owned())));
    assert_eq!(renderer.render(&mut out), (0, Progress::Going));
}
