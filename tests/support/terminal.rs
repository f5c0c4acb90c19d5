//! A program in a pseudo-terminal, seen as a person would see it.

#![allow(dead_code, reason = "each test program uses a part of it")]

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use rustix::process::{Pid, Signal, kill_process};
use std::io::{Read, Write};
use std::num::NonZeroU16;
use std::process::Command;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

/// A home folder that does not exist and that nobody can make, root included, so that no test leaves anything behind in
/// it.
pub(crate) const NO_HOME: &str = "/proc/no-home";

/// What a program sends to give the main screen back: rmcup of the terminfo entry xterm-256color.
const MAIN_SCREEN: &[u8] = b"\x1b[?1049l";

/// How much of what the program wrote is kept, bytes.
const KEPT: usize = 256 * 1024;

/// How long to wait for something to appear before the test fails.
const PATIENCE: Duration = Duration::from_secs(20);

/// The program under test, its screen and its keyboard.
pub(crate) struct Terminal {
    child: Box<dyn Child + Send + Sync>,
    master: Box<dyn MasterPty + Send>,
    keyboard: Box<dyn Write + Send>,
    seen: Arc<Mutex<vt100::Parser>>,
    /// The last of what the program wrote, as it was written.
    written: Arc<Mutex<Vec<u8>>>,
    /// How the line was set before the program ran.
    line_before: String,
    /// Reads what the program writes, until told to stop by the flag.
    reader: thread::JoinHandle<()>,
    reading: Arc<Reading>,
}

/// What the reader is told.
#[derive(Default)]
struct Reading {
    stopped: AtomicBool,
    paused: AtomicBool,
}

/// The built binary with an environment of its own: nothing of the developer's home, locale or colours.
pub(crate) fn bendwright(arguments: &[&str]) -> CommandBuilder {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_bendwright"));
    command.args(arguments);
    command.env_clear();
    command.env("TERM", "xterm-256color");
    command.env("LANG", "C.UTF-8");
    command.env("HOME", NO_HOME);
    command.cwd("/");
    command
}

impl Terminal {
    /// Starts `command` in a terminal of `columns` by `rows`.
    pub(crate) fn start(command: CommandBuilder, columns: u16, rows: u16) -> Self {
        Self::start_sized(command, (columns, rows), (columns, rows))
    }

    /// Starts it in a terminal that has one size and says that it has another.
    pub(crate) fn start_sized(
        command: CommandBuilder,
        (columns, rows): (u16, u16),
        said: (u16, u16),
    ) -> Self {
        let size = PtySize { rows: said.1, cols: said.0, ..PtySize::default() };
        let pair = native_pty_system().openpty(size).expect("a pseudo-terminal");
        let line_before = line(&*pair.master);
        let child = pair.slave.spawn_command(command).expect("the program starts");
        let mut from = pair.master.try_clone_reader().expect("a reader");
        let size = (NonZeroU16::new(rows).expect("rows"), NonZeroU16::new(columns).expect("columns"));
        let seen = Arc::new(Mutex::new(vt100::Parser::new(size.0, size.1, 0)));
        let written = Arc::new(Mutex::new(Vec::new()));
        let reading = Arc::new(Reading::default());
        let to = (Arc::clone(&seen), Arc::clone(&written), Arc::clone(&reading));
        let reader = thread::spawn(move || {
            let mut bytes = [0; 4096];
            loop {
                while to.2.paused.load(Ordering::Relaxed) {
                    thread::sleep(Duration::from_millis(5));
                }
                let Ok(n @ 1..) = from.read(&mut bytes) else { break };
                to.0.lock().expect("parser").process(&bytes[..n]);
                let mut written = to.1.lock().expect("written");
                written.extend(&bytes[..n]);
                let old = written.len().saturating_sub(KEPT);
                written.drain(..old);
                if to.2.stopped.load(Ordering::Relaxed) {
                    break;
                }
            }
        });
        let keyboard = pair.master.take_writer().expect("a keyboard");
        Self { child, master: pair.master, keyboard, seen, written, line_before, reader, reading }
    }

    /// Stops reading what the program writes, after at most one more piece.
    pub(crate) fn read_no_more(&self) {
        self.reading.paused.store(true, Ordering::Relaxed);
    }

    /// Reads again.
    pub(crate) fn read_again(&self) {
        self.reading.paused.store(false, Ordering::Relaxed);
    }

    /// How often the program has given the main screen back lately.
    pub(crate) fn times_left(&self) -> usize {
        let written = self.written.lock().expect("written");
        written.windows(MAIN_SCREEN.len()).filter(|window| *window == MAIN_SCREEN).count()
    }

    /// Types `keys` as they are: `"\x03"` is Ctrl-C.
    pub(crate) fn type_keys(&mut self, keys: &str) {
        self.send(keys.as_bytes());
    }

    /// Sends bytes as a terminal sends keys.
    pub(crate) fn send(&mut self, bytes: &[u8]) {
        self.keyboard.write_all(bytes).and_then(|()| self.keyboard.flush()).expect("keys are taken");
    }

    /// Sends bytes, if the program still takes them.
    pub(crate) fn try_send(&mut self, bytes: &[u8]) {
        // The program may just have ended, which the test sees by other means.
        let _ = self.keyboard.write_all(bytes).and_then(|()| self.keyboard.flush());
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
        !self.in_full_screen() && !hidden && self.line_is_given_back()
    }

    /// Whether the program has asked for pasted text to be marked as such.
    pub(crate) fn marks_pasted_text(&self) -> bool {
        self.seen.lock().expect("parser").screen().bracketed_paste()
    }

    /// Whether the line is set as it was before the program ran.
    pub(crate) fn line_is_given_back(&self) -> bool {
        line(&*self.master) == self.line_before
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
        self.resize_unseen(columns, rows);
    }

    /// Gives the line another size without looking at the screen any more.
    pub(crate) fn resize_unseen(&self, columns: u16, rows: u16) {
        self.master.resize(PtySize { rows, cols: columns, ..PtySize::default() }).expect("resize");
    }

    /// Sets the line for another program, as a shell does.
    pub(crate) fn set_line(&self) {
        let name = self.master.tty_name().expect("a name");
        let set = Command::new("stty").arg("-F").arg(name).arg("sane").status();
        assert!(set.expect("stty").success());
    }

    /// Lets another program write to the terminal.
    pub(crate) fn write(&self, text: &str) {
        self.seen.lock().expect("parser").process(text.as_bytes());
    }

    /// Takes the terminal away from the program, which goes on for as long as the result is held.
    pub(crate) fn unplug(self) -> Box<dyn Child + Send + Sync> {
        self.reading.stopped.store(true, Ordering::Relaxed);
        self.read_again();
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
        send_signal(self.pid(), signal);
    }

    /// What the process does, by the letter that proc(5) has for it: `T` for stopped.
    pub(crate) fn state(&self) -> Option<char> {
        state(self.pid())
    }

    /// How much memory the process has, kB (proc(5), `VmRSS`).
    pub(crate) fn resident_kb(&self) -> Option<u64> {
        memory_kb(self.pid(), "VmRSS:")
    }

    /// How much it has had at most, kB.
    pub(crate) fn most_resident_kb(&self) -> Option<u64> {
        memory_kb(self.pid(), "VmHWM:")
    }

    /// Waits for the end; the exit code.
    pub(crate) fn wait_for_end(&mut self) -> u32 {
        self.wait_for_end_within(PATIENCE)
    }

    /// The same, for at most this long.
    pub(crate) fn wait_for_end_within(&mut self, patience: Duration) -> u32 {
        let end = Instant::now() + patience;
        loop {
            if let Some(code) = self.ended() {
                // What the program printed last may still be on its way.
                thread::sleep(Duration::from_millis(100));
                return code;
            }
            assert!(Instant::now() < end, "the program does not end; the screen:\n{}", self.screen());
            thread::sleep(Duration::from_millis(15));
        }
    }

    /// The exit code, if the program has ended.
    pub(crate) fn ended(&mut self) -> Option<u32> {
        self.child.try_wait().expect("status").map(|status| status.exit_code())
    }
}

/// Sends a signal to a process.
pub(crate) fn send_signal(pid: u32, signal: Signal) {
    let pid = i32::try_from(pid).ok().and_then(Pid::from_raw);
    kill_process(pid.expect("a process number"), signal).expect("the signal is sent");
}

/// What a process does, by the letter that proc(5) has for it; nothing if there is none.
pub(crate) fn state(pid: u32) -> Option<char> {
    let stat = std::fs::read_to_string(format!("/proc/{pid}/stat")).ok()?;
    stat.rsplit(')').next()?.trim_start().chars().next()
}

fn memory_kb(pid: u32, which: &str) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{pid}/status")).ok()?;
    let size = status.lines().find_map(|line| line.strip_prefix(which)?.strip_suffix("kB"))?;
    size.trim().parse().ok()
}

/// How the line is set (POSIX termios), as text.
fn line(master: &dyn MasterPty) -> String {
    format!("{:?}", master.get_termios().expect("a line"))
}
