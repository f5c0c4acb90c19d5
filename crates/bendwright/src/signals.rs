//! Signals: those that ask the program to end, and those that a full screen has to know of.

use crate::failure::Failure;
use crate::input::Input;
use std::sync::Arc;
use std::sync::atomic::{AtomicI32, Ordering};

/// The last signal that asked the program to end.
pub(crate) struct Signals {
    last: Arc<AtomicI32>,
}

impl Signals {
    /// Watches the signals that ask for the end from now on. Whoever runs a loop asks [`Signals::check`] and ends in
    /// good order; a program that has not ended a moment after the signal, because something it waits for never comes,
    /// is ended here.
    ///
    /// # Errors
    /// If the system refuses.
    pub(crate) fn watch() -> Result<Self, Failure> {
        Self::start(&[], |_| {}, || {})
    }

    /// The same for the full screen: tells it of every signal that concerns it, and gives the terminal back by
    /// `give_back` if the end has to be made here.
    ///
    /// # Errors
    /// If the system refuses.
    pub(crate) fn watch_for_screen(
        tell: impl FnMut(Input) + Send + 'static,
        give_back: impl FnOnce() + Send + 'static,
    ) -> Result<Self, Failure> {
        Self::start(SCREEN, tell, give_back)
    }

    fn start(
        more: &[i32],
        tell: impl FnMut(Input) + Send + 'static,
        last_act: impl FnOnce() + Send + 'static,
    ) -> Result<Self, Failure> {
        let last = Arc::new(AtomicI32::new(0));
        listen(more, Arc::clone(&last), tell, last_act)
            .map_err(|error| Failure::world(format!("cannot watch for signals: {error}")))?;
        Ok(Self { last })
    }

    /// Whether nobody has asked for the end yet.
    ///
    /// # Errors
    /// [`Failure::Signal`] if somebody has.
    pub(crate) fn check(&self) -> Result<(), Failure> {
        match self.last.load(Ordering::Relaxed) {
            0 => Ok(()),
            signal => Err(Failure::Signal(signal)),
        }
    }
}

#[cfg(unix)]
use unix::{SCREEN, listen};

#[cfg(unix)]
mod unix {
    use super::Input;
    use signal_hook::consts::{
        SIGABRT, SIGALRM, SIGBUS, SIGCONT, SIGHUP, SIGINT, SIGIO, SIGPROF, SIGQUIT, SIGSYS, SIGTERM, SIGTRAP,
        SIGTSTP, SIGUSR1, SIGUSR2, SIGVTALRM, SIGWINCH, SIGXCPU, SIGXFSZ,
    };
    use std::sync::Arc;
    use std::sync::atomic::{AtomicI32, Ordering};
    use std::time::Duration;
    use std::{io, process, thread};

    /// The time that a loop gets to end in good order.
    const GRACE: Duration = Duration::from_secs(2);

    /// The signals that end a process that does not catch them (POSIX.1-2024, `signal.h`), less those that no program
    /// may catch or that only a fault of its own raises. SIGPIPE is ignored by every Rust program.
    const END: [i32; 15] = [
        SIGABRT, SIGALRM, SIGBUS, SIGHUP, SIGINT, SIGIO, SIGPROF, SIGQUIT, SIGSYS, SIGTERM, SIGTRAP, SIGUSR1,
        SIGUSR2, SIGVTALRM, SIGXCPU,
    ];

    /// The other signals of Linux that end a process (signal(7)): those of a failing coprocessor, of a failing power
    /// supply, and the real-time signals that the C library leaves to programs.
    #[cfg(target_os = "linux")]
    fn end_here() -> impl Iterator<Item = i32> {
        /// SIGSTKFLT and SIGPWR, by the numbers they have on every processor that this is built for but MIPS and SPARC.
        const NAMED: [i32; 2] = [16, 30];
        /// The first that the C library leaves to programs (`SIGRTMIN` of glibc and musl).
        const REAL_TIME: i32 = if cfg!(target_env = "musl") { 35 } else { 34 };
        NAMED.into_iter().chain(REAL_TIME..=64)
    }

    #[cfg(not(target_os = "linux"))]
    fn end_here() -> impl Iterator<Item = i32> {
        std::iter::empty()
    }

    /// What a full screen has to know of beside the end.
    pub(super) const SCREEN: &[i32] = &[SIGCONT, SIGTSTP, SIGWINCH];

    pub(super) fn listen(
        more: &[i32],
        last: Arc<AtomicI32>,
        mut tell: impl FnMut(Input) + Send + 'static,
        last_act: impl FnOnce() + Send + 'static,
    ) -> io::Result<()> {
        // SIGXFSZ is caught and ignored, so that a write beyond the largest size of a file fails and the program lives
        // on to say so.
        let all = END.into_iter().chain(end_here()).chain([SIGXFSZ]).chain(more.iter().copied());
        let mut signals = signal_hook::iterator::Signals::new(all)?;
        let mut last_act = Some(last_act);
        let watch = move || {
            for signal in signals.forever() {
                tell(match signal {
                    SIGXFSZ => continue,
                    SIGWINCH => Input::Resized,
                    SIGTSTP => Input::Stop,
                    SIGCONT => Input::GoesOn,
                    signal => {
                        last.store(signal, Ordering::Relaxed);
                        if let Some(last_act) = last_act.take() {
                            end_after_grace(signal, last_act);
                        }
                        Input::End
                    }
                });
            }
        };
        thread::Builder::new().name("signals".into()).spawn(watch).map(drop)
    }

    fn end_after_grace(signal: i32, last_act: impl FnOnce() + Send + 'static) {
        let end = move || {
            thread::sleep(GRACE);
            last_act();
            process::exit(128 + signal);
        };
        // Without a thread the loop ends the program, if it can.
        let _ = thread::Builder::new().name("grace".into()).spawn(end);
    }
}

/// Elsewhere the system ends the program itself.
#[cfg(not(unix))]
const SCREEN: &[i32] = &[];

#[cfg(not(unix))]
fn listen(
    _more: &[i32],
    _last: Arc<AtomicI32>,
    _tell: impl FnMut(Input) + Send + 'static,
    _last_act: impl FnOnce() + Send + 'static,
) -> std::io::Result<()> {
    Ok(())
}
