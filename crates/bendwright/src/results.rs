//! What was practised since the program began, for the shell.

use layout::TabStyle;
use practice::ear::{Answered, EarPlan};
use practice::jam::JamOver;
use practice::run::{Ladder, Tempo};
use practice::{ChordSummary, Ending, Event, Exercise, RunJudged, Session, Summary};
use screen::{chord_words, ear_words, jam_words, words};

/// More than this is not told one by one; the oldest are left out.
const MOST: usize = 20;

/// What was practised.
enum Practised {
    Drill { title: String, summary: Summary, ending: Option<Ending> },
    Chords { title: String, summary: ChordSummary, ending: Option<Ending> },
    Runs(Runs),
    Jam(Box<JamOver>),
    ByEar { plan: Box<EarPlan>, right: usize, answered: usize },
}

/// Runs of one thing, one after the other.
struct Runs {
    title: String,
    count: usize,
    ladder: Ladder,
    /// The most notes that were right in a run, of how many, at which tempo.
    best: (usize, usize, Tempo),
}

/// Every drill and every run in which something was judged, and every jam, in order.
#[derive(Default)]
pub(crate) struct Results {
    practised: Vec<Practised>,
    left_out: usize,
    /// The drill that is going on is the last of `practised`.
    on: bool,
    /// What was sounding when the player left, in words.
    unfinished: Option<String>,
}

impl Results {
    /// Takes what the exercise said.
    pub(crate) fn event(&mut self, event: &Event, exercise: &Exercise) {
        match event {
            Event::Started(_) => self.on = false,
            Event::Judged(_) => {
                if let Some(session) = exercise.session() {
                    self.note(session);
                }
            }
            Event::ChordJudged(_) => {
                if let Some(chords) = exercise.chords() {
                    let title = chords.drill().title.clone();
                    self.renew(Practised::Chords { title, summary: chords.summary(), ending: None });
                }
            }
            Event::RunJudged(judged) => self.note_run(judged),
            Event::JamOver(over) if over.tally.notes > 0 => self.push(Practised::Jam(over.clone())),
            Event::Unfinished(asked, _) => self.unfinished = Some(words::ask(asked.target.way)),
            Event::ChordUnfinished(asked, _) => self.unfinished = Some(chord_words::ask(asked.target)),
            Event::Answered(answered) => self.note_answer(answered),
            Event::Ended(ending) if self.on => {
                if let Some(Practised::Drill { ending: end, .. } | Practised::Chords { ending: end, .. }) =
                    self.practised.last_mut()
                {
                    *end = Some(*ending);
                }
            }
            _ => {}
        }
    }

    fn note(&mut self, session: &Session) {
        let drill = session.drill();
        self.renew(Practised::Drill { title: drill.title.clone(), summary: session.summary(), ending: None });
    }

    /// What the drill that is going on comes to by now.
    fn renew(&mut self, now: Practised) {
        if self.on {
            self.practised.pop();
        }
        self.push(now);
        self.on = true;
    }

    /// Notes a run that is over: with the runs before it, if they were of the same thing.
    fn note_run(&mut self, judged: &RunJudged) {
        match self.practised.last_mut() {
            Some(Practised::Runs(runs)) if runs.title == judged.name.title => runs.note(judged),
            _ => {
                let best = (0, 0, judged.rhythm.tempo);
                let (title, ladder) = (judged.name.title.clone(), Ladder::default());
                let mut runs = Runs { title, count: 0, ladder, best };
                runs.note(judged);
                self.push(Practised::Runs(runs));
            }
        }
    }

    /// Notes an answer: with the answers before it, if they belong to the same plan.
    fn note_answer(&mut self, answer: &Answered) {
        let Some(was_right) = answer.is_right() else { return };
        match self.practised.last_mut() {
            Some(Practised::ByEar { plan, right, answered }) if **plan == answer.plan => {
                *right += usize::from(was_right);
                *answered += 1;
            }
            _ => {
                let (plan, right) = (Box::new(answer.plan.clone()), usize::from(was_right));
                self.push(Practised::ByEar { plan, right, answered: 1 });
            }
        }
    }

    fn push(&mut self, practised: Practised) {
        self.practised.push(practised);
        if self.practised.len() > MOST {
            self.practised.remove(0);
            self.left_out += 1;
        }
    }

    /// Whether there is anything to tell.
    pub(crate) fn any(&self) -> bool {
        !self.practised.is_empty()
    }

    /// A line for each drill and each run, and one for the try that was sounding at the end.
    pub(crate) fn lines(&self) -> Vec<String> {
        let mut lines = Vec::new();
        if self.left_out > 0 {
            lines.push(format!("what was practised before these is not listed, {} lines", self.left_out));
        }
        lines.extend(self.practised.iter().map(Practised::line));
        if let Some(what) = &self.unfinished {
            lines.push(format!("unfinished: {what} was still sounding"));
        }
        lines
    }
}

impl Practised {
    fn line(&self) -> String {
        let (title, summary, ending) = match self {
            Self::Drill { title, summary, ending } => (title, summary, ending),
            Self::Chords { title, summary, ending } => {
                let end = if *ending == Some(Ending::Done) { "done" } else { "left early" };
                let mut parts = vec![format!("{title}: {end}, {} of {} right", summary.right, summary.tries)];
                parts.extend(chord_words::next(summary, |way| TabStyle::default().print(way)));
                return parts.join("; ");
            }
            Self::Runs(runs) => return runs.line(),
            Self::Jam(over) => return jam_words::line(over),
            Self::ByEar { plan, right, answered } => return ear_words::line(plan, (*right, *answered)),
        };
        let Summary { tries, landed, median_cents_off, weakest, .. } = *summary;
        let end = if *ending == Some(Ending::Done) { "done" } else { "left early" };
        let median =
            median_cents_off.map(|c| format!(", usually {} off", words::cents(c))).unwrap_or_default();
        let worst = weakest.map(|way| format!("; worst: {way}")).unwrap_or_default();
        format!("{title}: {end}, {landed} of {tries} landed{median}{worst}")
    }
}

impl Runs {
    fn note(&mut self, judged: &RunJudged) {
        let (whole, tempo) = (judged.verdict.whole, judged.rhythm.tempo);
        self.count += 1;
        if whole.timed {
            self.ladder.note(tempo, whole.clean);
        }
        if whole.right >= self.best.0 {
            self.best = (whole.right, whole.asked, tempo);
        }
    }

    fn line(&self) -> String {
        let Self { title, count, ladder, best: (right, asked, tempo) } = self;
        let runs = if *count == 1 { "1 run".to_owned() } else { format!("{count} runs") };
        let best = if *count == 1 { "" } else { "at best " };
        let came = ladder.clean_bpm().map_or_else(
            || format!("{best}{right} of {asked} right at {tempo}"),
            |bpm| format!("clean at {bpm}"),
        );
        format!("{title}: {runs}, {came}")
    }
}
