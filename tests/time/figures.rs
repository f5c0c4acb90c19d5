//! The figures of the bench, as `mir_eval` 0.8.2 defines them (Raffel and others, `mir_eval`: a transparent
//! implementation of common MIR metrics, ISMIR 2014): a note may answer one played note only, and as many as can be are
//! paired (a maximum matching).

/// A note that was played (or heard): seconds and hertz.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Truth {
    pub(crate) onset_s: f64,
    pub(crate) ended_s: f64,
    pub(crate) hz: f64,
}

/// Windows of the three F measures: seconds, and cents (none for bare onsets).
const WINDOWS: [(f64, Option<f64>); 3] = [(0.025, None), (0.050, Some(50.0)), (0.010, Some(10.0))];

/// `mir_eval` rounds distances in time to a tenth of a millisecond, and cents likewise to four places, before it
/// compares them.
fn rounded(x: f64) -> f64 {
    (x * 1e4).round() / 1e4
}

/// Counts of many takes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Figures {
    played: usize,
    heard: usize,
    hits: [usize; 3],
    /// Onset errors of the notes paired within 50 ms and 50 cents, seconds; late is positive.
    late_s: Vec<f64>,
}

/// Pairs as many played notes with heard ones as may be paired: for each heard note the index of its played one.
fn matching(played: &[Truth], heard: &[Truth], may: impl Fn(&Truth, &Truth) -> bool) -> Vec<Option<usize>> {
    let mut answers = vec![None; heard.len()];
    for index in 0..played.len() {
        let mut seen = vec![false; heard.len()];
        augment(index, &mut seen, &mut answers, &|p, h| may(&played[p], &heard[h]));
    }
    answers
}

/// Finds a heard note for a played one. A heard note that is taken becomes free if its played note can be moved to
/// another one.
fn augment(
    index: usize,
    seen: &mut [bool],
    answers: &mut [Option<usize>],
    may: &dyn Fn(usize, usize) -> bool,
) -> bool {
    for other in 0..answers.len() {
        if seen[other] || !may(index, other) {
            continue;
        }
        seen[other] = true;
        let free = answers[other].is_none_or(|taken| augment(taken, seen, answers, may));
        if free {
            answers[other] = Some(index);
            return true;
        }
    }
    false
}

impl Figures {
    /// The head of the table.
    pub(crate) const HEAD: &str = "| case | notes | too many | missed | F 25 ms | F1 50 ms 50 c | F1 10 ms 10 c | bias ms | p95 ms |\n\
                                   |---|---|---|---|---|---|---|---|---|";

    /// Adds a take.
    pub(crate) fn add(&mut self, played: &[Truth], heard: &[Truth]) {
        self.played += played.len();
        self.heard += heard.len();
        for (hits, (seconds, cents)) in self.hits.iter_mut().zip(WINDOWS) {
            let may = |p: &Truth, h: &Truth| {
                let near = rounded((p.onset_s - h.onset_s).abs()) <= seconds;
                near && cents.is_none_or(|most| rounded(1200.0 * (p.hz / h.hz).log2().abs()) <= most)
            };
            let answers = matching(played, heard, may);
            *hits += answers.iter().flatten().count();
            if seconds == 0.050 {
                let pairs = answers.iter().zip(heard).filter_map(|(p, h)| Some((played[(*p)?], h)));
                self.late_s.extend(pairs.map(|(p, h)| h.onset_s - p.onset_s));
            }
        }
    }

    /// Adds the figures of other takes.
    pub(crate) fn join(&mut self, other: Self) {
        self.played += other.played;
        self.heard += other.heard;
        for (hits, more) in self.hits.iter_mut().zip(other.hits) {
            *hits += more;
        }
        self.late_s.extend(other.late_s);
    }

    /// F of bare onsets (25 ms), of notes (50 ms, 50 cents) and of notes (10 ms, 10 cents).
    pub(crate) fn f(&self) -> [f64; 3] {
        self.hits.map(|hits| 2.0 * hits as f64 / (self.played + self.heard) as f64)
    }

    /// The mean error of the onset, seconds; late is positive.
    pub(crate) fn bias_s(&self) -> f64 {
        self.late_s.iter().sum::<f64>() / self.late_s.len() as f64
    }

    /// What 95 of a hundred onset errors stay below, seconds.
    pub(crate) fn p95_s(&self) -> f64 {
        let mut errors: Vec<f64> = self.late_s.iter().map(|late| late.abs()).collect();
        errors.sort_by(f64::total_cmp);
        errors[(errors.len() - 1) * 95 / 100]
    }

    /// A row of the table.
    pub(crate) fn row(&self, name: &str) -> String {
        let [onset, wide, tight] = self.f();
        let (more, missed) = (self.heard - self.hits[1], self.played - self.hits[1]);
        let (bias, p95) = (1e3 * self.bias_s(), 1e3 * self.p95_s());
        format!(
            "| {name} | {} | {more} | {missed} | {onset:.4} | {wide:.4} | {tight:.4} | {bias:+.1} | {p95:.1} |",
            self.played
        )
    }
}
