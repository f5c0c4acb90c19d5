//! News for the screen: of the journal, of the loudspeaker, of what is heard.

use super::Ui;
use crate::failure::Failure;
use crate::keeping::JournalNews;
use crate::listener::News;
use crate::model::without_model;
use crate::pipeline::Heard;
use crate::tones::TonesNews;
use practice::Order;
use screen::Notice;

impl Ui {
    pub(super) fn take_news(&mut self) -> Result<(), Failure> {
        self.hearing.answer();
        while let Some(news) = self.practising.journal_news() {
            match news {
                JournalNews::Said(sentence) => self.to.app.on_notice(&Notice::Say(sentence)),
                JournalNews::Traces(traces) => self.to.app.remember_traces(traces),
                JournalNews::Past(past, today) => {
                    let harp = self.practising.harp();
                    self.to.app.remember(*past, today, harp);
                }
            }
        }
        while let Some(news) = self.to.tones.news() {
            match news {
                TonesNews::Opened(name) => {
                    self.to.clicks.speaker_opened(name);
                    self.take_delay();
                }
                TonesNews::Gone(sentence) => {
                    self.to.clicks.speaker_gone();
                    self.to.app.on_notice(&Notice::Say(sentence));
                    self.leave_model();
                }
                TonesNews::Moved(sentence) => {
                    self.to.clicks.speaker_moved();
                    self.practising.count_in_again(&mut self.to);
                    self.to.app.on_notice(&Notice::Say(sentence));
                }
                TonesNews::Said(sentence) => self.to.app.on_notice(&Notice::Say(sentence)),
                TonesNews::Absent(sentence) => {
                    // In a run it is the click that is missing, and the rest of the sentence has no room on a narrow
                    // screen.
                    let runs = self.practising.exercise().running().is_some();
                    let jams = self.practising.exercise().jam().is_some();
                    let sentence = sentence.map(|why| match (jams, runs) {
                        (true, _) => format!("No band, but the form goes on here. {why}"),
                        (_, true) => format!("No click, but the beat is on the screen. {why}"),
                        _ => why,
                    });
                    if let Some(sentence) = sentence {
                        self.to.app.on_notice(&Notice::Say(sentence));
                    }
                    self.leave_model();
                    self.cannot_sound();
                }
            }
        }
        while let Some(news) = self.hearing.news() {
            match news {
                News::Open(rate) => self.hear(Heard::Restarted(rate)),
                News::NotOpened(failure) => self.hearing.missing(failure, &mut self.to.app)?,
                News::Heard(heard) => self.hear(heard),
                News::Stopped(why) => {
                    self.hearing.stopped();
                    self.practising.lose(&mut self.to);
                    self.to.app.on_notice(&Notice::Stopped(why));
                }
            }
        }
        Ok(())
    }

    /// Something is amiss with the loudspeaker: a model that cannot be heard is not waited for.
    fn leave_model(&mut self) {
        if let Some(order) = without_model(self.practising.exercise()) {
            self.practising.order(order, &mut self.to);
        }
    }

    /// Tells the exercise how long a sound takes from the loudspeaker to the microphone. The built-in player hears the
    /// beat as it is made.
    pub(super) fn take_delay(&mut self) {
        if self.hearing.is_microphone() {
            let (delay_s, sentence) = self.to.clicks.delay(&self.setup.state);
            self.practising.order(Order::TakeDelay(delay_s), &mut self.to);
            let exercise = self.practising.exercise();
            let runs = exercise.running().is_some() || exercise.jam().is_some();
            let offer = if runs { self.to.clicks.offer(&self.setup.state) } else { None };
            if let Some(sentence) = sentence.or(offer) {
                self.to.app.on_notice(&Notice::Say(sentence));
            }
        }
    }
}
