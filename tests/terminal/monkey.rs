//! A monkey at the keyboard: keys and halves of keys, pasted text, sizes, signals, stops, a terminal that nobody reads
//! and devices that come and go, in any order. Whatever it does, the program lives until it is asked to end, ends
//! when it is asked to, gives the terminal back, tells what was practised, and needs no more memory than before.
//!
//! `BENDWRIGHT_MONKEY_SECONDS` says how long (a few seconds where nothing is said), `BENDWRIGHT_MONKEY_SEED` which
//! monkey. Run through `tests/live/with-sound-server` it has a microphone, whose server it kills and starts again.

#![allow(clippy::print_stdout, reason = "what the monkey did is for whoever reads the run")]

use crate::terminal::{Terminal, bendwright};
use oorandom::Rand32;
use rustix::process::Signal;
use std::env;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::thread;
use std::time::{Duration, Instant};

/// What the end may take.
const AT_ONCE: Duration = Duration::from_secs(3);

/// How long a program is tormented at most before the next.
const LIFE: Duration = Duration::from_mins(5);

/// When a program has shown every view once and has the memory it needs.
const GROWN_UP: Duration = Duration::from_secs(10);

/// What a program may need more at its end than when it was grown up, kB: what was opened for the first time since, and
/// freed memory that is not given back at once. A queue without a bound grew by 87 kB a second.
const GROWTH_KB: u64 = 8_000;

/// Keys that do something somewhere and never end the program.
const KEYS: &str = "\r\r\rlmbb rranpPsSaAtTeEcuxkjk?? 5z";

/// Keys of several bytes.
const SEQUENCES: [&str; 9] =
    ["\x1b[A", "\x1b[B", "\x1b[C", "\x1b[D", "\x1bOC", "\x1b[1;5C", "\x1b[3~", "\x1b[15~", "\x1bOP"];

/// The beginnings of some. Esc alone would be a key that can end the program.
const HALVES: [&str; 6] = ["\x1b[", "\x1b[1", "\x1b[1;", "\x1bO", "\u{266d}", "\x1b[200~some of a paste"];

struct Monkey {
    random: Rand32,
    terminal: Terminal,
    /// What it did, for whoever wants to know how it came to this.
    done: Vec<String>,
    /// It has pressed a key that can end the program.
    may_have_left: bool,
}

#[test]
fn a_monkey_cannot_break_it() {
    let seconds = env::var("BENDWRIGHT_MONKEY_SECONDS").map_or(4, |text| text.parse().expect("seconds"));
    let seed = env::var("BENDWRIGHT_MONKEY_SEED").map_or(1, |text| text.parse().expect("a number"));
    let end = Instant::now() + Duration::from_secs(seconds);
    let mut random = Rand32::new(seed);
    while Instant::now() < end {
        let folder = tempfile::tempdir().unwrap();
        let errors = folder.path().join("errors");
        let mut monkey = Monkey::new(Rand32::new(random.rand_u32().into()), &errors);
        let life = LIFE.min(end.saturating_duration_since(Instant::now()));
        let life = life.mul_f32(0.3 + 0.7 * random.rand_float());
        monkey.play(life);
        monkey.leave(&errors);
    }
    server("--start");
}

/// Kills the sound server or starts it, if the test has one and that is something new.
fn server(order: &str) {
    if let (Ok(server), Some(room)) = (env::var("BENDWRIGHT_LIVE_SERVER"), env::var_os("BENDWRIGHT_LIVE_DIR"))
    {
        let is_up = Path::new(&room).join("server.pid").exists();
        if is_up == (order == "--stop") {
            assert!(Command::new(server).arg(order).status().expect("the script runs").success());
        }
    }
}

impl Monkey {
    fn new(mut random: Rand32, errors: &Path) -> Self {
        let starts =
            ["drill --from player", "drill --from player", "--from player", "listen --from player", ""];
        let start = starts[random.rand_range(0..starts.len() as u32) as usize];
        let binary = env!("CARGO_BIN_EXE_bendwright");
        let mut command = bendwright(&[]);
        let line = format!("exec {binary} {start} 2>{}", errors.display());
        *command.get_argv_mut() = ["/bin/sh", "-c", &line].map(Into::into).to_vec();
        // A key of the map writes files.
        command.cwd(errors.parent().unwrap());
        if env::var_os("BENDWRIGHT_LIVE").is_some() {
            for (name, value) in env::vars_os() {
                let known = name.to_string_lossy();
                if ["PULSE", "XDG", "ALSA"].iter().any(|start| known.starts_with(start)) || name == "HOME" {
                    command.env(name, value);
                }
            }
        } else {
            command.env("PULSE_SERVER", "unix:/nonexistent/socket");
            command.env("ALSA_CONFIG_PATH", "/nonexistent/alsa.conf");
        }
        let terminal = Terminal::start(command, 80, 24);
        terminal.wait_until("the first picture", Duration::from_secs(20), |_| terminal.in_full_screen());
        Self { random, terminal, done: vec![format!("started {start:?}")], may_have_left: false }
    }

    fn play(&mut self, life: Duration) {
        let begun = Instant::now();
        let mut grown_up = None;
        while begun.elapsed() < life && self.terminal.ended().is_none() {
            self.act();
            if begun.elapsed() > GROWN_UP && grown_up.is_none() {
                grown_up = self.memory_kb();
            }
        }
        let after = self.memory_kb();
        if let Some(code) = self.terminal.ended() {
            // While it leaves, the line is given back already, and makes a signal of a second Ctrl-C.
            assert!(self.may_have_left && [0, 130].contains(&code), "it ended with {code} by itself");
        } else if let (Some(before), Some(after)) = (grown_up, after) {
            println!("{} acts in {:.0?}: {before} kB, then {after} kB", self.done.len(), begun.elapsed());
            assert!(after < before + GROWTH_KB, "{before} kB became {after} kB");
        }
    }

    /// The memory it has when it draws a picture of the usual size, kB.
    fn memory_kb(&mut self) -> Option<u64> {
        self.terminal.read_again();
        self.terminal.resize(80, 24);
        thread::sleep(Duration::from_millis(500));
        self.terminal.resident_kb()
    }

    fn below(&mut self, end: u32) -> u32 {
        self.random.rand_range(0..end)
    }

    fn one_of(&mut self, some: &[&'static str]) -> &'static str {
        some[self.below(some.len() as u32) as usize]
    }

    fn key(&mut self) -> &'static str {
        let place = self.below(KEYS.len() as u32) as usize;
        &KEYS[place..=place]
    }

    fn act(&mut self) {
        match self.below(100) {
            0..40 => {
                let key = self.key();
                self.send(key);
            }
            40..55 => {
                let sequence = self.one_of(&SEQUENCES);
                self.send(sequence);
            }
            55..62 => {
                let half = self.one_of(&HALVES);
                self.send(half);
            }
            62..65 => self.send_slowly(),
            65..68 => {
                let burst = self.one_of(&["j", "k", "?", " ", "5"]).repeat(1_500);
                self.send(&burst);
            }
            68..72 => self.send("\x1b[200~pasted q\x03\x1b[A\r\x1b[201~"),
            72..80 => self.resize(),
            80..85 => self.stop_and_go_on(),
            85..88 => self.signal_that_is_nothing(),
            88..92 => self.read_or_not(),
            92..94 => self.lose_the_device(),
            94..95 => {
                self.may_have_left = true;
                let way = self.one_of(&["q", "\x1b", "\x03"]);
                self.send(way);
            }
            _ => thread::sleep(Duration::from_millis(500)),
        }
        let pause = self.below(60).into();
        thread::sleep(Duration::from_millis(pause));
    }

    /// A terminal whose program has ended takes no more keys, which is seen after the act.
    fn send(&mut self, bytes: &str) {
        let few: String = bytes.chars().take(24).collect();
        self.done.push(format!("sent {} bytes: {few:?}", bytes.len()));
        self.terminal.try_send(bytes.as_bytes());
    }

    fn send_slowly(&mut self) {
        let sequence = self.one_of(&SEQUENCES);
        for place in 0..sequence.len() {
            self.send(&sequence[place..=place]);
            thread::sleep(Duration::from_millis(200));
        }
        // On a busy computer the second byte may come too late for Esc not to be a key.
        self.may_have_left = true;
    }

    fn resize(&mut self) {
        let (columns, rows) = match self.below(10) {
            0 => (0, 0),
            1 => (1, 1),
            2..6 => (80, 24),
            _ => (1 + self.below(300) as u16, 1 + self.below(100) as u16),
        };
        self.done.push(format!("resized to {columns}×{rows}"));
        if columns == 0 {
            self.terminal.resize_unseen(columns, rows);
        } else {
            self.terminal.resize(columns, rows);
        }
    }

    fn stop_and_go_on(&mut self) {
        let signal = if self.below(2) == 0 { Signal::TSTP } else { Signal::STOP };
        self.done.push(format!("stopped by {signal:?}"));
        self.signal(signal);
        let end = Instant::now() + AT_ONCE;
        while self.terminal.state().is_some_and(|state| state != 'T' && state != 'Z') {
            assert!(Instant::now() < end, "it does not stop");
            thread::sleep(Duration::from_millis(10));
        }
        thread::sleep(Duration::from_millis(50));
        self.signal(Signal::CONT);
        // Until it has the line again, the line itself makes a signal of Ctrl-C.
        while self.terminal.line_is_given_back() && self.terminal.ended().is_none() {
            assert!(Instant::now() < end, "it does not go on");
            thread::sleep(Duration::from_millis(10));
        }
    }

    fn signal(&mut self, signal: Signal) {
        if self.terminal.ended().is_none() {
            self.terminal.signal(signal);
        }
    }

    fn signal_that_is_nothing(&mut self) {
        let signals = [Signal::WINCH, Signal::CONT, Signal::CHILD, Signal::URG, Signal::PIPE, Signal::XFSZ];
        let signal = signals[self.below(signals.len() as u32) as usize];
        self.done.push(format!("sent {signal:?}"));
        self.signal(signal);
    }

    fn read_or_not(&mut self) {
        if self.below(2) == 0 {
            self.done.push("read no more".into());
            self.terminal.read_no_more();
            thread::sleep(Duration::from_millis(700));
        } else {
            self.done.push("read again".into());
            self.terminal.read_again();
        }
    }

    fn lose_the_device(&mut self) {
        let order = self.one_of(&["--stop", "--start"]);
        self.done.push(format!("sound server: {order}"));
        // With no server the microphone is not there at all, and the program is asked for it.
        server(order);
        self.send("b");
    }

    /// Asks for the end in one of the ways there are, and looks at what is left.
    fn leave(mut self, errors: &Path) {
        if self.terminal.ended().is_some() {
            assert!(self.terminal.is_given_back());
            return;
        }
        // What was half sent is over after this time.
        thread::sleep(Duration::from_secs(1));
        let screen = self.terminal.wait_until("a picture", AT_ONCE, |screen| screen.trim() != "");
        let judged = ["landed ", "short by", "past by"].iter().any(|verdict| screen.contains(verdict));
        let way = self.below(8);
        self.done.push(format!("left in way {way}, a verdict on the screen: {judged}"));
        let signals = [Signal::TERM, Signal::HUP, Signal::INT, Signal::QUIT, Signal::USR1];
        let told = if way == 7 {
            self.unplug();
            fs::read_to_string(errors).unwrap()
        } else {
            let code = if let Some(signal) = signals.get(way as usize) {
                self.signal(*signal);
                128 + signal.as_raw().unsigned_abs()
            } else {
                self.send("\x03");
                0
            };
            assert_eq!(self.terminal.wait_for_end_within(AT_ONCE), code);
            assert!(self.terminal.is_given_back());
            self.terminal.screen()
        };
        assert!(!judged || told.contains(" landed"), "no results:\n{told}\nafter\n{screen}");
    }

    fn unplug(&mut self) {
        let other = Terminal::start(bendwright(&["--version"]), 80, 24);
        let mut child = std::mem::replace(&mut self.terminal, other).unplug();
        let end = Instant::now() + AT_ONCE;
        let code = loop {
            if let Some(status) = child.try_wait().unwrap() {
                break status.exit_code();
            }
            assert!(Instant::now() < end, "it outlives its terminal");
            thread::sleep(Duration::from_millis(20));
        };
        assert_eq!(code, 129, "the code of SIGHUP");
    }
}

impl Drop for Monkey {
    fn drop(&mut self) {
        if thread::panicking() {
            let last = self.done.len().saturating_sub(60);
            println!("the monkey did, at last:\n{}", self.done[last..].join("\n"));
        }
    }
}
