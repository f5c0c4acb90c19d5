//! The filters. Each is handed all that was sounded and all that was heard at the rate of the ear, and gives back what
//! is left.

use fdaf_aec::FdafAec;
use sonora_aec3::block::Block;
use sonora_aec3::block_processor::BlockProcessor;
use sonora_aec3::config::EchoCanceller3Config;

pub trait Canceller {
    fn cancel(&mut self, sounded: &[f32], heard: &[f32]) -> Vec<f32>;
}

pub struct Peer {
    pub name: &'static str,
    pub canceller: Box<dyn Canceller>,
    /// Whether it is handed the sound as the clocks of the two devices place it, and not as it truly was.
    pub by_clocks: bool,
}

impl Peer {
    pub fn new(name: &'static str, canceller: Box<dyn Canceller>) -> Self {
        Self { name, canceller, by_clocks: false }
    }

    pub fn by_clocks(self) -> Self {
        Self { by_clocks: true, ..self }
    }
}

/// Takes nothing out.
pub struct Nothing;

impl Canceller for Nothing {
    fn cancel(&mut self, _: &[f32], heard: &[f32]) -> Vec<f32> {
        heard.to_vec()
    }
}

/// Normalised least mean squares (Haykin, Adaptive Filter Theory, the chapter on normalized LMS, from memory): the
/// error `e = y - w·u` moves the taps by `w += step · e · u / (small + u·u)`. It knows nothing of a player.
pub struct Nlms {
    taps: Vec<f32>,
    /// What was sounded, each sample twice, so that the newest of them always lie side by side.
    line: Vec<f32>,
    at: usize,
    step: f32,
}

/// Keeps the taps still where next to nothing sounds: the mean square of a tone of -80 dBFS, for each tap.
const SMALL: f32 = 5e-9;

impl Nlms {
    pub fn new(taps: usize, step: f32) -> Self {
        Self { taps: vec![0.0; taps], line: vec![0.0; 2 * taps], at: 0, step }
    }
}

impl Canceller for Nlms {
    fn cancel(&mut self, sounded: &[f32], heard: &[f32]) -> Vec<f32> {
        let length = self.taps.len();
        let mut power = 0.0_f64;
        let mut left = Vec::with_capacity(heard.len());
        for (x, y) in sounded.iter().zip(heard) {
            // The newest sample lies first.
            self.at = (self.at + length - 1) % length;
            power += f64::from(*x).powi(2) - f64::from(self.line[self.at]).powi(2);
            (self.line[self.at], self.line[self.at + length]) = (*x, *x);
            let line = &self.line[self.at..self.at + length];
            let error = y - dot(&self.taps, line);
            let move_by = self.step * error / (SMALL * length as f32 + power.max(0.0) as f32);
            for (tap, x) in self.taps.iter_mut().zip(line) {
                *tap += move_by * x;
            }
            left.push(error);
        }
        left
    }
}

/// A sum of products, eight at a time, which the compiler turns into vectors.
fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut sums = [0.0_f32; 8];
    for (a, b) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
        for (sum, (a, b)) in sums.iter_mut().zip(a.iter().zip(b)) {
            *sum += a * b;
        }
    }
    let rest = a.len() / 8 * 8;
    sums.iter().sum::<f32>() + a[rest..].iter().zip(&b[rest..]).map(|(a, b)| a * b).sum::<f32>()
}

/// A gradient filter in the frequency domain.
pub struct Gradient {
    filter: FdafAec,
    frame: usize,
}

impl Gradient {
    pub fn new(size: usize, step: f32) -> Self {
        Self { filter: FdafAec::new(size, step), frame: size / 2 }
    }
}

impl Canceller for Gradient {
    fn cancel(&mut self, sounded: &[f32], heard: &[f32]) -> Vec<f32> {
        let frames = sounded.chunks_exact(self.frame).zip(heard.chunks_exact(self.frame));
        frames.flat_map(|(sounded, heard)| self.filter.process(sounded, heard)).collect()
    }
}

/// A canceller made for speech; all of it, or only its linear filter.
pub struct Speech {
    linear: bool,
}

impl Speech {
    pub fn new(linear: bool) -> Self {
        Self { linear }
    }
}

/// Samples in a block of this canceller, and its full scale.
const BLOCK: usize = 64;
const FULL: f32 = 32_768.0;

impl Canceller for Speech {
    fn cancel(&mut self, sounded: &[f32], heard: &[f32]) -> Vec<f32> {
        let mut config = EchoCanceller3Config::default();
        config.filter.export_linear_aec_output = self.linear;
        let mut processor = BlockProcessor::new(&config, 16_000, 1, 1);
        let [mut render, mut capture, mut linear] = std::array::from_fn(|_| Block::new(1, 1));
        let mut left = Vec::with_capacity(heard.len());
        for (sounded, heard) in sounded.chunks_exact(BLOCK).zip(heard.chunks_exact(BLOCK)) {
            for (block, samples) in [(&mut render, sounded), (&mut capture, heard)] {
                for (out, x) in block.view_mut(0, 0).iter_mut().zip(samples) {
                    *out = FULL * x;
                }
            }
            processor.buffer_render(&render);
            processor.process_capture(false, false, self.linear.then_some(&mut linear), &mut capture);
            let out = if self.linear { &linear } else { &capture };
            left.extend(out.view(0, 0).iter().map(|x| x / FULL));
        }
        left
    }
}
