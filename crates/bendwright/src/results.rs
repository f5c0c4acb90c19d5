//! What was practised since the program began, for the shell.

use practice::{Asked, Ending, Event, Moment, Session, Summary};
use screen::words;

/// More drills than this are not told one by one; the oldest are left out.
const MOST: usize = 20;

/// One drill that was practised.
struct Practised {
    title: String,
    summary: Summary,
    ending: Option<Ending>,
}

/// Every drill in which something was judged, in order.
#[derive(Default)]
pub(crate) struct Results {
    drills: Vec<Practised>,
    left_out: usize,
    /// The drill that is going on is the last of `drills`.
    on: bool,
    unfinished: Option<(Asked, Moment)>,
}

impl Results {
    /// Takes what the exercise said; `session` is the drill that is going on.
    pub(crate) fn event(&mut self, event: &Event, session: Option<&Session>) {
        match event {
            Event::Started(_) => self.on = false,
            Event::Judged(_) => {
                if let Some(session) = session {
                    self.note(session);
                }
            }
            Event::Unfinished(asked, began) => self.unfinished = Some((asked.clone(), *began)),
            Event::Ended(ending) if self.on => {
                if let Some(drill) = self.drills.last_mut() {
                    drill.ending = Some(*ending);
                }
            }
            _ => {}
        }
    }

    fn note(&mut self, session: &Session) {
        let drill = session.drill();
        let now = Practised { title: drill.title.clone(), summary: session.summary(), ending: None };
        if self.on {
            self.drills.pop();
        }
        self.drills.push(now);
        self.on = true;
        if self.drills.len() > MOST {
            self.drills.remove(0);
            self.left_out += 1;
        }
    }

    /// Whether there is anything to tell.
    pub(crate) fn any(&self) -> bool {
        !self.drills.is_empty()
    }

    /// A line for each drill, and one for the try that was sounding at the end.
    pub(crate) fn lines(&self) -> Vec<String> {
        let mut lines = Vec::new();
        if self.left_out > 0 {
            lines.push(format!("{} drills before these are not listed", self.left_out));
        }
        lines.extend(self.drills.iter().map(Practised::line));
        if let Some((asked, _)) = &self.unfinished {
            lines.push(format!("unfinished: {} was still sounding", words::ask(asked.target.way)));
        }
        lines
    }
}

impl Practised {
    fn line(&self) -> String {
        let Summary { tries, landed, median_cents_off, weakest, .. } = self.summary;
        let end = if self.ending == Some(Ending::Done) { "done" } else { "left early" };
        let median =
            median_cents_off.map(|c| format!(", usually {} off", words::cents(c))).unwrap_or_default();
        let worst = weakest.map(|way| format!("; worst: {way}")).unwrap_or_default();
        format!("{}: {end}, {landed} of {tries} landed{median}{worst}", self.title)
    }
}
