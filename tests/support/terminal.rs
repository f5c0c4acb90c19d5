//! A program in a pseudo-terminal, seen as a person would see it.

#![allow(dead_code, reason = "each test program uses a part of it")]

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use rustix::process::{Pid, Signal, kill_process};
use std::io::{Read, Write};
use std::num::NonZeroU16;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

/// How long to wait for something to appear before the test fails.
const PATIENCE: Duration = Duration::from_secs(20);

/// The program under test, its screen and its keyboard.
pub(crate) struct Terminal {
    child: Box<dyn Child + Send + Sync>,
    master: Box<dyn MasterPty + Send>,
    keyboard: Box<dyn Write + Send>,
    seen: Arc<Mutex<vt100::Parser>>,
    /// How the line was set before the program ran.
    line_before: String,
    /// Reads what the program writes, until told to stop by the flag.
    reader: thread::JoinHandle<()>,
    stop: Arc<AtomicBool>,
}

/// The built binary with an environment of its own: nothing of the developer's home, locale or colours.
pub(crate) fn bendwright(arguments: &[&str]) -> CommandBuilder {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_bendwright"));
    command.args(arguments);
    command.env_clear();
    command.env("TERM", "xterm-256color");
    command.env("LANG", "C.UTF-8");
    command.env("HOME", "/nonexistent");
    command.cwd("/");
    command
}

impl Terminal {
    /// Starts `command` in a terminal of `columns` by `rows`.
    pub(crate) fn start(command: CommandBuilder, columns: u16, rows: u16) -> Self {
        let size = PtySize { rows, cols: columns, ..PtySize::default() };
        let pair = native_pty_system().openpty(size).expect("a pseudo-terminal");
        let line_before = line(&*pair.master);
        let child = pair.slave.spawn_command(command).expect("the program starts");
        let mut reader = pair.master.try_clone_reader().expect("a reader");
        let size = (NonZeroU16::new(rows).expect("rows"), NonZeroU16::new(columns).expect("columns"));
        let seen = Arc::new(Mutex::new(vt100::Parser::new(size.0, size.1, 0)));
        let writes_to = Arc::clone(&seen);
        let stop = Arc::new(AtomicBool::new(false));
        let stopped = Arc::clone(&stop);
        let reader = thread::spawn(move || {
            let mut bytes = [0; 4096];
            while let Ok(n @ 1..) = reader.read(&mut bytes) {
                writes_to.lock().expect("parser").process(&bytes[..n]);
                if stopped.load(Ordering::Relaxed) {
                    break;
                }
            }
        });
        let keyboard = pair.master.take_writer().expect("a keyboard");
        Self { child, master: pair.master, keyboard, seen, line_before, reader, stop }
    }

    /// Types `keys` as they are: `"\x03"` is Ctrl-C.
    pub(crate) fn type_keys(&mut self, keys: &str) {
        self.keyboard
            .write_all(keys.as_bytes())
            .and_then(|()| self.keyboard.flush())
            .expect("keys are taken");
    }

    /// What is on the screen now.
    pub(crate) fn screen(&self) -> String {
        self.seen.lock().expect("parser").screen().contents()
    }

    /// Whether the program holds the alternate screen.
    pub(crate) fn in_full_screen(&self) -> bool {
        self.seen.lock().expect("parser").screen().alternate_screen()
    }

    /// Whether the terminal is as it was before the program ran: no alternate screen, the cursor to be seen, and keys
    /// echoed and taken line by line.
    pub(crate) fn is_given_back(&self) -> bool {
        let hidden = self.seen.lock().expect("parser").screen().hide_cursor();
        !self.in_full_screen() && !hidden && line(&*self.master) == self.line_before
    }

    /// How many cells have a colour of their own.
    pub(crate) fn coloured_cells(&self) -> usize {
        let seen = self.seen.lock().expect("parser");
        let (rows, columns) = seen.screen().size();
        let cells = (0..rows.get()).flat_map(|row| (0..columns.get()).map(move |column| (row, column)));
        cells
            .filter_map(|(row, column)| seen.screen().cell(row, column))
            .filter(|cell| cell.fgcolor() != vt100::Color::Default || cell.bgcolor() != vt100::Color::Default)
            .count()
    }

    /// Waits until `condition` holds for the screen; fails with the screen as it is.
    pub(crate) fn wait_until(
        &self,
        what: &str,
        patience: Duration,
        condition: impl Fn(&str) -> bool,
    ) -> String {
        let end = Instant::now() + patience;
        loop {
            let screen = self.screen();
            if condition(&screen) {
                return screen;
            }
            assert!(Instant::now() < end, "waited in vain for {what}; the screen:\n{screen}");
            thread::sleep(Duration::from_millis(15));
        }
    }

    /// Waits until `text` is on the screen.
    pub(crate) fn wait_for(&self, text: &str) -> String {
        self.wait_until(text, PATIENCE, |screen| screen.contains(text))
    }

    /// Gives the terminal another size.
    pub(crate) fn resize(&self, columns: u16, rows: u16) {
        let size = (NonZeroU16::new(rows).expect("rows"), NonZeroU16::new(columns).expect("columns"));
        self.seen.lock().expect("parser").screen_mut().set_size(size.0, size.1);
        self.master.resize(PtySize { rows, cols: columns, ..PtySize::default() }).expect("resize");
    }

    /// Takes the terminal away from the program, which goes on for as long as the result is held.
    pub(crate) fn unplug(self) -> Box<dyn Child + Send + Sync> {
        self.stop.store(true, Ordering::Relaxed);
        // The program draws for the new size, so the reader wakes and gives up its end of the terminal.
        self.resize(81, 24);
        self.reader.join().expect("the reader ends");
        self.child
    }

    /// The process number.
    pub(crate) fn pid(&self) -> u32 {
        self.child.process_id().expect("a process")
    }

    /// Sends a signal.
    pub(crate) fn signal(&self, signal: Signal) {
        let pid = i32::try_from(self.pid()).ok().and_then(Pid::from_raw);
        kill_process(pid.expect("a process number"), signal).expect("the signal is sent");
    }

    /// Waits for the end; the exit code.
    pub(crate) fn wait_for_end(&mut self) -> u32 {
        let end = Instant::now() + PATIENCE;
        loop {
            if let Some(status) = self.child.try_wait().expect("status") {
                // What the program printed last may still be on its way.
                thread::sleep(Duration::from_millis(100));
                return status.exit_code();
            }
            assert!(Instant::now() < end, "the program does not end; the screen:\n{}", self.screen());
            thread::sleep(Duration::from_millis(15));
        }
    }
}

/// How the line is set (POSIX termios), as text.
fn line(master: &dyn MasterPty) -> String {
    format!("{:?}", master.get_termios().expect("a line"))
}
