//! The listener thread: pitch is found beside the screen, never in it.

use crate::failure::Failure;
use crate::fault;
use crate::pipeline::{Expected, Heard, KnownHarp, Pipeline};
use sound::FeedEvent;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};
use std::thread::{self, JoinHandle};

/// Pieces of news that may wait, some five seconds of sound. When the screen is held up for longer, the listener waits,
/// and what a device loses meanwhile is told as lost: what was heard is never dropped without a word.
const WAITING: usize = 1024;

/// What the listener thread says: everything the pipeline hears, in order, and how it ended if it ended badly.
#[derive(Debug)]
pub(crate) enum News {
    /// The source is open, at this sample rate in hertz.
    Open(f64),
    /// The source could not be opened, and the thread is over.
    NotOpened(Failure),
    /// From the pipeline.
    Heard(Heard),
    /// The thread is over; a sentence why.
    Stopped(String),
}

/// What the listener thread is told.
#[derive(Debug)]
enum Order {
    /// The player took this harp.
    Harp(KnownHarp),
    /// Whether to tell which reeds sound together.
    Reeds(bool),
    /// A click is sounded, and may come back.
    Expect(Expected),
}

/// A running listener thread. Dropping it stops the thread.
pub(crate) struct Listener {
    /// `None` once the thread shall end.
    news: Option<Receiver<News>>,
    orders: Sender<Order>,
    stop: Arc<AtomicBool>,
    open: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Listener {
    /// Opens a pipeline and runs it, all in a thread of its own: a sound system that hangs must not freeze the screen.
    /// Every reading is kept in order (a queue, not the latest value), because verdicts rest on all of them. `wake` is
    /// called in that thread whenever there is news; it must not wait.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub(crate) fn start(
        opening: impl FnOnce() -> Result<Pipeline, Failure> + Send + 'static,
        wake: impl Fn() + Send + 'static,
    ) -> Result<Self, Failure> {
        let (sender, news) = sync_channel(WAITING);
        let sender = Told { news: sender, wake: Box::new(wake) };
        let (orders, order) = channel();
        let (stop, open) = (Arc::new(AtomicBool::new(false)), Arc::new(AtomicBool::new(false)));
        let flags = (Arc::clone(&stop), Arc::clone(&open));
        let thread = thread::Builder::new()
            .name("listener".into())
            .spawn(move || match opening() {
                Ok(pipeline) => {
                    flags.1.store(true, Ordering::Relaxed);
                    tell(&sender, News::Open(pipeline.sample_rate()));
                    listen(pipeline, &sender, &order, &flags.0);
                }
                Err(failure) => tell(&sender, News::NotOpened(failure)),
            })
            .map_err(|error| Failure::world(format!("cannot start listening: {error}")))?;
        Ok(Self { news: Some(news), orders, stop, open, thread: Some(thread) })
    }

    /// Tells the ear which harp it hears.
    pub(crate) fn take_harp(&self, harp: KnownHarp) {
        self.order(Order::Harp(harp));
    }

    /// Asks to be told which reeds sound together, or not any more.
    pub(crate) fn tell_reeds(&self, wanted: bool) {
        self.order(Order::Reeds(wanted));
    }

    /// Says that a click is sounded, and may come back.
    pub(crate) fn expect(&self, click: Expected) {
        self.order(Order::Expect(click));
    }

    fn order(&self, order: Order) {
        // A thread that is over has no use for it, and has said why it is over.
        let _ = self.orders.send(order);
    }

    /// The next piece of news, if there is one already.
    pub(crate) fn next(&self) -> Option<News> {
        self.news.as_ref()?.try_recv().ok()
    }
}

impl Drop for Listener {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        // A thread that waits for room in the queue does not see the flag.
        self.news = None;
        // A thread that is still opening a device may be held up there for seconds; it is left to end by itself.
        if let Some(thread) = self.thread.take_if(|_| self.open.load(Ordering::Relaxed)) {
            // It has caught its own panics; there is nothing to learn from how it ended.
            let _ = thread.join();
        }
    }
}

/// Where news goes, and what wakes whoever reads it.
struct Told {
    news: SyncSender<News>,
    wake: Box<dyn Fn() + Send>,
}

impl Told {
    /// Puts news into the queue. A closed queue means that the screen is gone; `stop` follows at once.
    fn put(&self, what: News) {
        let _ = self.news.send(what);
    }
}

/// Tells one piece of news by itself.
fn tell(told: &Told, what: News) {
    told.put(what);
    (told.wake)();
}

fn listen(mut pipeline: Pipeline, news: &Told, orders: &Receiver<Order>, stop: &AtomicBool) {
    let work = AssertUnwindSafe(|| -> Result<(), Failure> {
        while !stop.load(Ordering::Relaxed) {
            fault::strike("listener");
            for order in orders.try_iter() {
                follow(&mut pipeline, order, news)?;
            }
            // One block brings several pieces of news; whoever reads them is woken once for all.
            let goes_on = pipeline.step(&mut |heard| news.put(News::Heard(heard)));
            (news.wake)();
            let goes_on = goes_on?;
            if !goes_on {
                break;
            }
        }
        Ok(())
    });
    let why = match catch_unwind(work) {
        Ok(Ok(())) => return,
        Ok(Err(failure)) => failure.message().unwrap_or_default().to_owned(),
        Err(panic) => format!("listening failed inside the program ({})", fault::words(&*panic)),
    };
    tell(news, News::Stopped(why));
}

fn follow(pipeline: &mut Pipeline, order: Order, news: &Told) -> Result<(), Failure> {
    match order {
        Order::Harp(harp) => pipeline.take_harp(harp),
        Order::Expect(click) => {
            pipeline.expect(click);
            Ok(())
        }
        Order::Reeds(wanted) => {
            // Where reeds cannot be told apart, notes still can.
            if let Err(failure) = pipeline.tell_reeds(wanted) {
                let why = failure.message().unwrap_or_default().to_owned();
                tell(news, News::Heard(Heard::Feed(FeedEvent::Warning(why))));
            }
            Ok(())
        }
    }
}

#[cfg(test)]
mod tests;
