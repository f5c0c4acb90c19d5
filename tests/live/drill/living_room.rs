//! A room between the loudspeaker and the microphone: what the sink sounds comes back from walls, after a delay, by a
//! clock that is off, and beside it somebody plays to the click as it arrives. The microphone is a pipe, so that its
//! clock is the room's: a second sink would play by a clock of its own and let the sound wait longer and longer.

use crate::{pactl, room};
use layout::Harp;
use std::collections::VecDeque;
use std::f64::consts::PI;
use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::{self, JoinHandle};
use synth::{Gesture, SimulatedPlayer};

pub(crate) const RATE: f64 = 48_000.0;
/// The name of the microphone.
pub(crate) const MICROPHONE: &str = "ear";
/// How much faster the microphone's clock runs than the loudspeaker's.
const FASTER: f64 = 1.0 + 50e-6;
/// The sound of the room falls by 60 dB in this time, seconds, and is heard for so long.
const RT60_S: f64 = 0.4;
const HEARD_S: f64 = 0.3;
/// Echoes a second, each loud or soft by chance: enough to sound like noise, few enough for a test.
const ECHOES: f64 = 2_000.0;
/// How loud the echoes are against the direct sound.
const ECHO: f64 = 0.25;
/// The loudspeaker is quiet for so long before a click begins, samples.
const QUIET: u64 = 2_400;
/// The sound between two samples is interpolated from so many on either side.
const REACH: usize = 16;
/// A question is over when it has been quiet for so many samples: longer than between two of its notes, and longer than
/// the program is deaf because of it.
const ASKED: u64 = 48_000;
/// Samples in a block.
const BLOCK: usize = 96;

/// A note to be played: how long after the first beat, seconds, and how.
pub(crate) type Note = (f64, Gesture);

/// What the room is told, and what it tells.
#[derive(Default)]
pub(crate) struct Told {
    /// Delay from the loudspeaker to the microphone, seconds, and the gain of the direct sound.
    pub(crate) delay_s: f64,
    pub(crate) gain: f64,
    /// How far the loudspeaker is driven: x becomes tanh(drive · x) / drive; 0 for a linear one.
    pub(crate) drive: f64,
    /// What is played when four more clicks have been heard, at beats of so many seconds.
    pub(crate) to_play: Option<(f64, Vec<Note>)>,
    /// What is played when something else has sounded and is over.
    pub(crate) answer: Option<Vec<Note>>,
    /// The samples of the microphone at which clicks arrived and notes began.
    pub(crate) clicks: Vec<f64>,
    pub(crate) began: Vec<u64>,
}

pub(crate) struct LivingRoom {
    pub(crate) told: Arc<Mutex<Told>>,
    over: Arc<AtomicBool>,
    listener: Child,
    thread: Option<JoinHandle<()>>,
}

impl LivingRoom {
    /// A room with a player in it.
    pub(crate) fn open(harp: &Harp) -> Self {
        let pipe = room().join("ear.pipe");
        pactl(&[
            "load-module",
            "module-pipe-source",
            &format!("source_name={MICROPHONE}"),
            &format!("file={}", pipe.display()),
            "format=float32le",
            "rate=48000",
            "channels=1",
        ]);
        let arguments = ["-d", "room.monitor", "--raw", "--format=float32le", "--rate=48000", "--channels=1"];
        let mut listener = Command::new("parec")
            .args(arguments)
            .arg("--latency-msec=2")
            .stdout(Stdio::piped())
            .spawn()
            .expect("parec");
        let sounds = listener.stdout.take().unwrap();
        let hears = OpenOptions::new().write(true).open(pipe).unwrap();
        let (told, over) = (Arc::new(Mutex::new(Told::default())), Arc::new(AtomicBool::new(false)));
        let mut air = Air::new(harp, Arc::clone(&told));
        let stop = Arc::clone(&over);
        let thread = thread::spawn(move || air.carry(sounds, hears, &stop));
        Self { told, over, listener, thread: Some(thread) }
    }

    /// From now on a sound arrives after so many seconds, so loud.
    pub(crate) fn carries(&self, delay_s: f64, gain: f64) {
        let mut told = self.told.lock().unwrap();
        (told.delay_s, told.gain) = (delay_s, gain);
    }

    /// From now on the loudspeaker is driven so far.
    pub(crate) fn drives(&self, drive: f64) {
        self.told.lock().unwrap().drive = drive;
    }

    /// Plays this to the next four clicks.
    pub(crate) fn play(&self, beat_s: f64, notes: Vec<Note>) {
        let mut told = self.told.lock().unwrap();
        told.clicks.clear();
        told.began.clear();
        told.to_play = Some((beat_s, notes));
    }

    /// Plays this, each note so many seconds later, behind the question that is sounded next.
    pub(crate) fn answer(&self, notes: Vec<Note>) {
        self.told.lock().unwrap().answer = Some(notes);
    }
}

impl Drop for LivingRoom {
    fn drop(&mut self) {
        self.over.store(true, Ordering::Relaxed);
        // It may have ended by itself.
        let _ = self.listener.kill();
        let _ = self.listener.wait();
        // Where nobody listens to the microphone the pipe is full and the thread waits, until the pipe is gone.
        pactl(&["unload-module", "module-pipe-source"]);
        let _ = self.thread.take().map(JoinHandle::join);
    }
}

/// What carries the sound.
struct Air {
    told: Arc<Mutex<Told>>,
    /// The echoes: after how many samples, and how loud.
    echoes: Vec<(usize, f64)>,
    player: SimulatedPlayer,
    /// Samples of the loudspeaker so far, and since when it has been quiet.
    sounded: u64,
    quiet: u64,
    /// What arrives from sample `first` of the loudspeaker on.
    arriving: VecDeque<f64>,
    first: u64,
    /// Samples of the microphone so far.
    heard: u64,
}

impl Air {
    fn new(harp: &Harp, told: Arc<Mutex<Told>>) -> Self {
        let mut random = oorandom::Rand64::new(11);
        let echo = |n: usize| {
            let at = (0.003 + (n as f64 + random.rand_float()) / ECHOES) * RATE;
            let loud = ECHO * (2.0 * random.rand_float() - 1.0) * (-6.908 * at / RATE / RT60_S).exp();
            (at as usize, loud)
        };
        let echoes: Vec<(usize, f64)> = (0..(HEARD_S * ECHOES) as usize).map(echo).collect();
        Self {
            told,
            echoes: [vec![(0, 1.0)], echoes].concat(),
            player: SimulatedPlayer::new(harp, RATE, 11),
            sounded: 0,
            quiet: 0,
            arriving: VecDeque::new(),
            first: 0,
            heard: 0,
        }
    }

    fn carry(&mut self, mut sounds: ChildStdout, mut hears: File, over: &AtomicBool) {
        let mut bytes = [0; 4 * BLOCK];
        while !over.load(Ordering::Relaxed) && sounds.read_exact(&mut bytes).is_ok() {
            for four in bytes.chunks_exact(4) {
                self.sound(f64::from(f32::from_le_bytes(four.try_into().unwrap())));
            }
            let heard: Vec<u8> = self.hear().into_iter().flat_map(f32::to_le_bytes).collect();
            // Nobody reads it any more when the sound server is gone.
            if hears.write_all(&heard).is_err() {
                return;
            }
        }
    }

    /// A sample of the loudspeaker, on all its paths to the microphone.
    fn sound(&mut self, x: f64) {
        let told = Arc::clone(&self.told);
        let mut told = told.lock().unwrap();
        let delay = (told.delay_s * RATE) as usize;
        let length = delay + (HEARD_S * RATE) as usize + 480;
        let here = (self.sounded - self.first) as usize;
        self.arriving.resize(self.arriving.len().max(here + length), 0.0);
        if x.abs() > 1e-6 {
            if self.quiet >= QUIET {
                let arrives = (self.sounded as f64 + delay as f64) * FASTER;
                self.click(arrives, &mut told);
            }
            self.quiet = 0;
            let x = if told.drive > 0.0 { (told.drive * x).tanh() / told.drive } else { x };
            for (after, loud) in &self.echoes {
                self.arriving[here + delay + after] += told.gain * loud * x;
            }
        } else {
            self.quiet += 1;
            // As long as nothing has sounded, the quiet is not the end of a question.
            if self.quiet == ASKED && self.sounded > ASKED {
                let now = (self.sounded as f64 + delay as f64) * FASTER;
                for (after_s, gesture) in told.answer.take().into_iter().flatten() {
                    told.began.push(self.player.play_at(&gesture, now + after_s * RATE).unwrap().began);
                }
            }
        }
        self.sounded += 1;
    }

    /// A click arrives; with the fourth of a count-in the player knows when to play.
    fn click(&mut self, arrives: f64, told: &mut Told) {
        told.clicks.push(arrives);
        if told.clicks.len() < 4 {
            return;
        }
        let Some((beat_s, notes)) = told.to_play.take() else { return };
        for (after_s, gesture) in notes {
            let at = told.clicks[0] + (4.0 * beat_s + after_s) * RATE;
            told.began.push(self.player.play_at(&gesture, at).unwrap().began);
        }
    }

    /// What arrives between two samples, by a sinc under a Hann window. Linear interpolation would change the highest
    /// sounds by up to half a decibel, to and fro with the drift, as no microphone does.
    fn between(&self, at: usize, part: f64) -> f64 {
        let reach = REACH as i64;
        let weigh = |i: i64| {
            let t = PI * (i as f64 - part);
            let sinc = if t == 0.0 { 1.0 } else { t.sin() / t };
            let place = (at as i64 + i).max(0) as usize;
            self.arriving[place] * sinc * (t / (2.0 * REACH as f64)).cos().powi(2)
        };
        (1 - reach..=reach).map(weigh).sum()
    }

    /// All that the microphone has heard by now.
    fn hear(&mut self) -> Vec<f32> {
        let mut heard = Vec::new();
        loop {
            let place = self.heard as f64 / FASTER;
            let (whole, part) = (place.floor() as u64, place.fract());
            if whole + REACH as u64 >= self.sounded {
                break;
            }
            let carried = self.between((whole - self.first) as usize, part);
            let mut own = [0.0];
            self.player.fill(&mut own);
            heard.push(carried as f32 + own[0]);
            self.heard += 1;
        }
        let done =
            ((self.heard as f64 / FASTER) as u64).saturating_sub(REACH as u64 + self.first).min(self.sounded);
        self.arriving.drain(..done as usize);
        self.first += done;
        heard
    }
}
