//! The thread that writes.

use crate::entry::Noted;
use crate::file::Found;
use crate::store::Sitting;
use crate::{Backup, By, Journal, JournalError, When};
use course::{Day, Past};
use layout::Way;
use scoring::Trace;
use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// What could not be written is tried again after this long.
const AGAIN: Duration = Duration::from_secs(3);
/// How many entries one commit takes at most, so that a long list is not lost as a whole again and again.
const AT_ONCE: usize = 256;

/// What there is to tell the player. Each is told once.
#[derive(Clone, Debug, PartialEq)]
pub enum KeeperNews {
    /// The journal cannot be written for now, and why; what is practised is held in memory.
    Held(String),
    /// What was held is written.
    Written,
    /// The journal will not be written at all, and why.
    Given(String),
    /// What the player practised, day by day: when the journal is opened, and again when something of the player's own
    /// has ended.
    Past(Box<Past>),
    /// How the pitch went in the last tries at each way, as [`Journal::traces`] has it: when the journal is opened.
    Traces(Vec<(Way, Trace)>),
    /// The file was damaged and stands under another name; and the newest good copy, if there is one.
    SetAside(PathBuf, Option<PathBuf>),
}

enum Command {
    Keep(Box<Noted>),
    /// Writes what there is and ends.
    Close,
}

/// Keeps what is practised. Handing something over never waits.
#[derive(Debug)]
pub struct Keeper {
    commands: Sender<Command>,
    news: Receiver<KeeperNews>,
    thread: Option<JoinHandle<usize>>,
}

impl Keeper {
    /// Begins to keep in a file what a player practises from now on; the file is opened in the keeper's own thread.
    pub fn new(file: PathBuf, player: &str, program: &str, now: fn() -> When) -> Self {
        let (commands, orders) = channel();
        let (tell, news) = channel();
        let sitting = Sitting::new(player, program, now());
        let writer = Writer {
            file,
            now,
            sitting,
            journal: None,
            past: Past::default(),
            changed: None,
            written: 0,
            held: VecDeque::new(),
            told: false,
            over: false,
            tell,
        };
        let thread =
            std::thread::Builder::new().name("journal".to_owned()).spawn(move || writer.run(&orders)).ok();
        Self { commands, news, thread }
    }

    /// Keeps this.
    pub fn keep(&self, noted: Noted) {
        // The writer is gone only after it was told to go.
        let _ = self.commands.send(Command::Keep(Box::new(noted)));
    }

    /// What there is to tell the player.
    pub fn news(&self) -> Option<KeeperNews> {
        self.news.try_recv().ok()
    }

    /// Writes what there is to write, and ends; says how many entries of the player's own could not be written, or 1 if
    /// the disk did not answer within `patience`.
    pub fn close(mut self, patience: Duration) -> usize {
        let _ = self.commands.send(Command::Close);
        let until = Instant::now() + patience;
        let Some(thread) = self.thread.take() else { return 0 };
        while !thread.is_finished() && Instant::now() < until {
            std::thread::sleep(Duration::from_millis(2));
        }
        // A disk that does not answer must not hold up the end of the program.
        if thread.is_finished() { thread.join().unwrap_or_default() } else { 1 }
    }
}

struct Writer {
    file: PathBuf,
    now: fn() -> When,
    sitting: Sitting,
    journal: Option<Journal>,
    /// What the player practised, as it was told last.
    past: Past,
    /// The earliest day that was written to since `past` was told.
    changed: Option<Day>,
    /// Entries of this session that are committed.
    written: usize,
    /// What is still to be written, the oldest first.
    held: VecDeque<Noted>,
    /// The player knows that it cannot be written for now.
    told: bool,
    /// Nothing will be written in this session any more.
    over: bool,
    tell: Sender<KeeperNews>,
}

impl Writer {
    /// Writes until told to end; says how many entries of the player's own are left unwritten.
    fn run(mut self, orders: &Receiver<Command>) -> usize {
        // Whatever is wrong with the file is told at once, not after the first try.
        self.open();
        loop {
            let order = if self.held.is_empty() || self.over {
                orders.recv().map_err(|_| RecvTimeoutError::Disconnected)
            } else {
                orders.recv_timeout(AGAIN)
            };
            let ends = match order {
                Ok(Command::Keep(noted)) => {
                    if !self.over {
                        self.held.push_back(*noted);
                    }
                    false
                }
                Ok(Command::Close) | Err(RecvTimeoutError::Disconnected) => true,
                Err(RecvTimeoutError::Timeout) => false,
            };
            // All that is held is written: the new entry, and those that could not be written before.
            self.write();
            if ends {
                return self.held.iter().filter(|noted| noted.by == By::Player).count();
            }
        }
    }

    fn open(&mut self) {
        if self.journal.is_some() || self.over {
            return;
        }
        match Journal::open(&self.file, (self.now)()) {
            Ok((journal, found)) => {
                if let Found::Damaged { aside, backup } = found {
                    // What was written of this session went with the damaged file.
                    self.written = 0;
                    self.sitting.rename((self.now)());
                    self.say(KeeperNews::SetAside(aside, backup));
                }
                self.journal = Some(journal);
                self.tell_past(Day(i32::MIN));
                self.tell_traces();
            }
            Err(error @ (JournalError::Newer(..) | JournalError::NotAFile(..))) => {
                self.over = true;
                self.held.clear();
                self.say(KeeperNews::Given(error.to_string()));
            }
            Err(error) => self.fail(&error),
        }
    }

    fn write(&mut self) {
        while !self.held.is_empty() {
            self.open();
            let Some(journal) = &mut self.journal else { return };
            if self.written == 0 && !Backup::is_made(&self.file, (self.now)()) {
                // Before the first entries of a session are written, the journal is copied, unless there is a copy of
                // this day. If the copy fails, the entries are written all the same.
                let _ = journal.back_up((self.now)());
            }
            let some = self.held.len().min(AT_ONCE);
            let entries = &self.held.make_contiguous()[..some];
            match journal.add(&self.sitting, self.written + 1, entries) {
                Ok(()) => {
                    let own = || entries.iter().filter(|noted| noted.by == By::Player);
                    let first = own().filter_map(|noted| noted.when.day()).min();
                    self.changed = self.changed.into_iter().chain(first).min();
                    let ended = own().any(|noted| noted.what.is_end());
                    self.held.drain(..some);
                    self.written += some;
                    if let Some(day) = self.changed.take_if(|_| ended) {
                        self.tell_past(day);
                    }
                    if std::mem::take(&mut self.told) {
                        self.say(KeeperNews::Written);
                    }
                }
                Err(error) => {
                    // A file that is damaged is set aside when it is opened again.
                    self.journal = None;
                    self.fail(&error);
                    return;
                }
            }
        }
    }

    /// Tells all that was practised, of which only the days from `from` on are read again. If they cannot be read,
    /// nothing is told: the screen does without it.
    fn tell_past(&mut self, from: Day) {
        let Some(journal) = &self.journal else { return };
        if journal.renew(&mut self.past, self.sitting.player(), from).is_ok() {
            self.say(KeeperNews::Past(Box::new(self.past.clone())));
        }
    }

    /// Tells how the pitch went in earlier tries, if there are any.
    fn tell_traces(&self) {
        let Some(journal) = &self.journal else { return };
        if let Ok(traces) = journal.traces(self.sitting.player())
            && !traces.is_empty()
        {
            self.say(KeeperNews::Traces(traces));
        }
    }

    /// Tells why the journal cannot be written, once something of the player's own is waiting: what the built-in player
    /// or a recording played is not worth a word.
    fn fail(&mut self, error: &JournalError) {
        if !self.told && self.held.iter().any(|noted| noted.by == By::Player) {
            self.told = true;
            self.say(KeeperNews::Held(error.to_string()));
        }
    }

    fn say(&self, news: KeeperNews) {
        // Perhaps nobody listens any more.
        let _ = self.tell.send(news);
    }
}
