//! A click of ours that comes back through the microphone: when it first arrives.

use std::f64::consts::TAU;

/// Seconds before the click is due that belong to what is given: they tell how much sounds at its pitch anyway.
pub const QUIET_S: f64 = 0.02;
/// Time constant, seconds, of the two memories: the sound at a moment is measured over about so much before it and
/// after it. That is enough to tell the pitch of a click, which is above a kilohertz, and less than a click lasts.
const MEMORY_S: f64 = 0.0015;
/// The rise at a click is at least this factor times the average level before the click is due. In mere noise the
/// greatest rise is about three times that level.
const STANDS_OUT: f64 = 6.0;
/// The rise at the first arrival is at least this share of the rise at the strongest echo.
const FIRST: f64 = 0.5;
/// Least amplitude of a click, relative to full scale: −80 dB.
const SOFTEST: f64 = 1e-4;

/// How long after it was due a click first arrives, seconds; `None` if it does not. `heard` begins [`QUIET_S`] before
/// the click was due and ends when it must have come; `hz` is the pitch of the click.
///
/// A click is quiet before and loud after it begins. So the sound at its pitch is taken twice at each moment, once from
/// what comes after and once from what came before, each with a memory that fades; where the first exceeds the second
/// most, the click begins. A tone that goes on, even one at the pitch of the click, is as loud before as after. Each
/// memory takes one complex multiplication a sample; the memory of what comes after runs from the end backwards.
pub fn returned(heard: &[f32], rate: f64, hz: f64) -> Option<f64> {
    let quiet = (QUIET_S * rate) as usize;
    if heard.len() <= 2 * quiet {
        return None;
    }
    let onset = onsets(heard, rate, hz);
    let before = &onset[..quiet];
    let usual = before.iter().map(|moment| moment.before).sum::<f64>() / quiet as f64;
    // The quiet part is left out, because the beginning of `heard` looks like the beginning of a sound.
    let later = onset.get(quiet..)?;
    let most = later.iter().map(Moment::rise).fold(0.0, f64::max);
    // A memory of a tone of amplitude 1 holds half of its time constant in samples.
    if most < STANDS_OUT * usual || most < SOFTEST * MEMORY_S * rate / 2.0 {
        return None;
    }
    let first = later.iter().position(|moment| moment.rise() >= FIRST * most)?;
    let near = first..(first + (MEMORY_S * rate) as usize).min(later.len());
    let begins = near.max_by(|a, b| later[*a].rise().total_cmp(&later[*b].rise()))?;
    Some(begins as f64 / rate)
}

/// How much sounds at a pitch before a moment and from it on.
struct Moment {
    before: f64,
    after: f64,
}

impl Moment {
    fn rise(&self) -> f64 {
        self.after - self.before
    }
}

fn onsets(heard: &[f32], rate: f64, hz: f64) -> Vec<Moment> {
    let fades = (-1.0 / (MEMORY_S * rate)).exp();
    let turn = TAU * hz / rate;
    // A memory is a complex number; each sample turns it by the phase that `hz` advances in one sample, and fades it.
    let (cos, sin) = (fades * turn.cos(), fades * turn.sin());
    let turned = |(re, im): (f64, f64), x: f64| (x + cos * re - sin * im, sin * re + cos * im);
    let mut past = (0.0_f64, 0.0_f64);
    let mut moments: Vec<Moment> = Vec::with_capacity(heard.len());
    for &x in heard {
        moments.push(Moment { before: past.0.hypot(past.1), after: 0.0 });
        past = turned(past, f64::from(x));
    }
    let mut future = (0.0_f64, 0.0_f64);
    for (moment, &x) in moments.iter_mut().zip(heard).rev() {
        future = turned(future, f64::from(x));
        moment.after = future.0.hypot(future.1);
    }
    moments
}

#[cfg(test)]
mod tests;
