//! A try as a drill tells it.

use layout::{Harp, TabStyle};
use practice::{Asked, DrillId, Feedback, Timebase, Tried};
use scoring::{Figures, Outcome, Target, Tolerance, Trace, Verdict};

/// The try of this number, which begins at as many seconds: at a note by its tab, so many cents off, without a trace.
pub(crate) fn tried(harp: &Harp, (tab, cents_off): (&str, f64), (number, outcome): (u32, Outcome)) -> Tried {
    let base = Timebase::new(48_000.0);
    let way = TabStyle::default().read_for(harp, tab).unwrap();
    let figures = Figures {
        cents_off,
        depth_semitones: 0.9,
        reach_s: 0.2,
        held_s: 1.1,
        spread_cents: 3.0,
        drift_cents_per_s: -1.0,
        overshoot_cents: 0.0,
        sigma_cents: 0.4,
        level_spread_db: 0.5,
        hnr_db: 30.0,
        vibrato: None,
    };
    let began = u64::from(number) * 48_000;
    Tried {
        drill: DrillId { name: "hole-3-depths".to_owned(), title: "Hole 3".to_owned() },
        harp: harp.clone(),
        asked: Asked { item: 0, note: 0, attempt: number, target: Target { way, cents: 0.0, hold_s: 0.8 } },
        tolerance: Tolerance::USUAL,
        feedback: Feedback::default(),
        began: base.moment(began),
        ended: base.moment(began + 40_000),
        verdict: Verdict { outcome, figures: Some(figures), between: None },
        clean: None,
        trace: Trace::default(),
    }
}
