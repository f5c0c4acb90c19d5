//! Nothing that the screen says of the playing is untrue: recordings of the simulated player, who knows what it played,
//! are practised in the full screen while the window changes its size and keys are pressed that change nothing. The
//! screen is read back all the time, and held, as the lines of `--json` are, against the player's own record.
//!
//! `BENDWRIGHT_MONKEY_SECONDS` says how long (some seconds where nothing is said).

#![allow(clippy::print_stdout, reason = "the figures are for whoever reads the run")]

use crate::take::{self, TRIES};
use crate::terminal::{Terminal, bendwright};
use layout::{Harp, HarpKey};
use oorandom::Rand32;
use serde_json::Value;
use std::collections::BTreeMap;
use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::thread;
use std::time::{Duration, Instant};

const RATE: u32 = 48_000;
/// Seconds of one try in a recording, its rest and its slide included.
const TRY_S: f64 = 5.7;
/// A verdict may differ from what was played by this much, cents: the ear on a simulated player, and rounding twice.
const CENTS: f64 = 3.0;

/// A try as the player played it: tab, cents off, and the word that is due.
type Record = (&'static str, f64, &'static str);

/// What a line of the screen says of a try.
#[derive(Clone, Debug, PartialEq)]
struct Said {
    tab: String,
    word: String,
    /// Cents above the target.
    cents: f64,
}

/// Reads the line of the last verdict; the whole line as an error if it cannot be read.
fn read_verdict(line: &str) -> Option<Result<Said, String>> {
    let trimmed = line.trim();
    let rest = trimmed.strip_prefix("last try").or_else(|| trimmed.strip_prefix("verdict"))?;
    Some(read_words(rest).ok_or_else(|| format!("cannot be read: {trimmed}")))
}

/// "■ -3'  landed, in tune: 18 cents flat", "▸ -2'  short by 31 cents: bend deeper".
fn read_words(rest: &str) -> Option<Said> {
    let (sign, rest) = rest.trim().split_once(' ')?;
    let (tab, words) = rest.trim().split_once(' ')?;
    let words = words.trim();
    let word =
        ["landed", "short", "past", "flat", "sharp"].into_iter().find(|word| words.starts_with(word))?;
    let number = words.split(|c: char| !c.is_ascii_digit()).find_map(|part| part.parse::<f64>().ok());
    let size = number.or(words.contains("right on pitch").then_some(0.0))?;
    // A bend that is short is sharp, an overblow that is short is flat.
    let is_flat = match word {
        "landed" => words.contains("flat"),
        "short" => tab.contains('o'),
        "past" => !tab.contains('o'),
        word => word == "flat",
    };
    // The sign stands on the side on which the pitch lay.
    let fits = match sign {
        "■" | "□" => word == "landed",
        "◂" => is_flat && word != "landed",
        "▸" => !is_flat && word != "landed",
        _ => false,
    };
    let cents = if is_flat { -size } else { size };
    fits.then(|| Said { tab: tab.to_owned(), word: word.to_owned(), cents })
}

/// What is untrue of what was said of a try.
fn contradiction(said: &Said, record: &[Record]) -> Option<String> {
    let Some((_, error, word)) = record.iter().find(|(tab, ..)| *tab == said.tab) else {
        return Some(format!("{said:?}: nothing of the kind was played"));
    };
    let is_true = said.word == *word && (said.cents - error).abs() <= CENTS;
    (!is_true).then(|| format!("{said:?}: it was played {error:+} cents off, which is {word}"))
}

/// What one recording came to.
struct Watched {
    record: Vec<Record>,
    /// The last thing said of each try.
    said: BTreeMap<String, Said>,
    /// Pictures that were read, and what was untrue in them.
    pictures: usize,
    untrue: Vec<String>,
    in_shell: String,
}

struct Stage {
    folder: PathBuf,
    key: &'static str,
    record: Vec<Record>,
    seed: u32,
}

impl Stage {
    fn drill(&self) -> PathBuf {
        let path = self.folder.join("truth.toml");
        let items: Vec<String> =
            self.record.iter().map(|(tab, ..)| format!("[[item]]\nplay = \"{tab}\"\n")).collect();
        fs::write(&path, format!("title = \"Truth\"\nhold = 1.5\n{}", items.concat())).unwrap();
        path
    }

    fn wav(&self) -> PathBuf {
        let path = self.folder.join("truth.wav");
        let harp = Harp::richter(self.key.parse::<HarpKey>().unwrap());
        let samples = take::samples_of(&harp, f64::from(RATE), self.seed.into(), &self.record);
        take::write(&path, &samples, RATE);
        path
    }

    /// Practises the recording on the full screen, and with `--json`.
    fn play(&self) -> (Watched, Vec<Value>) {
        let (drill, wav) = (self.drill(), self.wav());
        let watched = self.watch(&drill, &wav);
        let output = Command::new(env!("CARGO_BIN_EXE_bendwright"))
            .args(["drill", "--json", "--harp", self.key, "--from"])
            .args([&wav, &drill])
            .env("HOME", "/proc/no-home")
            .output()
            .unwrap();
        let lines = String::from_utf8(output.stdout).unwrap();
        let lines = lines.lines().map(|line| serde_json::from_str(line).unwrap());
        (watched, lines.filter(|line: &Value| line["event"] == "judged").collect())
    }

    fn watch(&self, drill: &Path, wav: &Path) -> Watched {
        let arguments =
            ["drill", drill.to_str().unwrap(), "--harp", self.key, "--from", wav.to_str().unwrap()];
        let mut terminal = Terminal::start(bendwright(&arguments), 80, 24);
        let (begun, mut random) = (Instant::now(), Rand32::new(self.seed.into()));
        let end = begun + Duration::from_secs_f64(TRY_S * self.record.len() as f64 + 20.0);
        let (mut said, mut untrue, mut pictures) = (BTreeMap::new(), Vec::new(), 0);
        while Instant::now() < end && said.len() < self.record.len() {
            if random.rand_range(0..12) == 0 {
                let columns = [80, 80, 100, 132, 200][random.rand_range(0..5) as usize];
                terminal.resize(columns, 24 + random.rand_range(0..30) as u16);
            } else if random.rand_range(0..8) == 0 {
                // Help and back, keys that mean nothing, half a key.
                terminal.type_keys(["??", "z", "5", "\x1b["][random.rand_range(0..4) as usize]);
            }
            thread::sleep(Duration::from_millis(120));
            let screen = terminal.screen();
            thread::sleep(Duration::from_millis(40));
            // What is just being drawn is not read.
            if terminal.screen() != screen {
                continue;
            }
            pictures += 1;
            for line in screen.lines() {
                match read_verdict(line) {
                    Some(Ok(now)) => {
                        untrue.extend(contradiction(&now, &self.record));
                        untrue.extend(self.too_soon(&now, begun.elapsed()));
                        untrue.extend(self.wrong_place(&screen, &now));
                        said.insert(now.tab.clone(), now);
                    }
                    Some(Err(unread)) => untrue.push(unread),
                    None => {}
                }
            }
            let who = screen.contains("plays") || !screen.contains("Truth");
            if !who {
                untrue.push(format!("who plays is not said:\n{screen}"));
            }
        }
        terminal.resize(80, 24);
        thread::sleep(Duration::from_secs(2));
        terminal.type_keys("\x03");
        terminal.wait_for_end();
        let in_shell = terminal.screen();
        Watched { record: self.record.clone(), said, pictures, untrue, in_shell }
    }

    /// A verdict on what has not been played yet.
    fn too_soon(&self, said: &Said, elapsed: Duration) -> Option<String> {
        let index = self.record.iter().position(|(tab, ..)| *tab == said.tab)?;
        let begins_s = (TRY_S - 0.4) * index as f64 + take::REST_S;
        (elapsed.as_secs_f64() < begins_s).then(|| format!("{said:?} after {elapsed:?}: it had not begun"))
    }

    /// "note 3 of 12" is the note after the last verdict, or the note of the verdict.
    fn wrong_place(&self, screen: &str, said: &Said) -> Option<String> {
        let index = self.record.iter().position(|(tab, ..)| *tab == said.tab)?;
        let place = screen
            .lines()
            .find_map(|line| line.split_once("note ")?.1.split(' ').next()?.parse::<usize>().ok())?;
        let fits = place == index + 1 || place == index + 2;
        (!fits).then(|| format!("note {place}, and the last verdict is on the {}th", index + 1))
    }
}

/// Everything that is untrue or lost.
fn faults(watched: &Watched, lines: &[Value]) -> Vec<String> {
    let mut faults = watched.untrue.clone();
    let all = watched.record.len();
    if watched.said.len() != all || lines.len() != all {
        faults.push(format!("{} and {} verdicts for {all} tries", watched.said.len(), lines.len()));
    }
    for (line, (tab, ..)) in lines.iter().zip(&watched.record) {
        let cents = line["cents_off"].as_f64().unwrap_or(f64::NAN);
        let said = Said {
            tab: line["tab"].as_str().unwrap_or_default().to_owned(),
            word: line["outcome"].as_str().unwrap_or_default().to_owned(),
            cents,
        };
        faults.extend(contradiction(&said, &watched.record));
        // The screen rounds to whole cents, away from the edge of the tolerance.
        let agrees = |shown: &Said| shown.word == said.word && (shown.cents - cents).abs() <= 1.0;
        if !watched.said.get(*tab).is_some_and(agrees) {
            faults.push(format!("{tab}: --json says {said:?}, the screen {:?}", watched.said.get(*tab)));
        }
    }
    let landed = watched.record.iter().filter(|(.., word)| *word == "landed").count();
    if !watched.in_shell.contains(&format!("{landed} of {all} landed")) {
        faults.push(format!("{landed} of {all} landed, and the shell is told:\n{}", watched.in_shell));
    }
    faults
}

#[test]
fn the_screen_says_nothing_untrue_of_what_was_played() {
    let seconds: f64 = env::var("BENDWRIGHT_MONKEY_SECONDS").map_or(16.0, |text| text.parse().unwrap());
    let tries = ((seconds / TRY_S) as usize).max(2);
    let played: Vec<(Watched, Vec<Value>)> = thread::scope(|scope| {
        let run = |(at, key): (usize, &'static str)| {
            scope.spawn(move || {
                let mut runs = Vec::new();
                let mut left = tries;
                while left > 0 {
                    let folder = tempfile::tempdir().unwrap();
                    let from = (4 * at + tries - left) % TRIES.len();
                    let count = left.min(TRIES.len());
                    let record: Vec<Record> = TRIES.iter().cycle().skip(from).take(count).copied().collect();
                    let seed = 100 * at as u32 + left as u32;
                    runs.push(Stage { folder: folder.path().to_owned(), key, record, seed }.play());
                    left -= count;
                }
                runs
            })
        };
        let runs = [(0, "C"), (1, "low F"), (2, "high G")].map(run);
        runs.into_iter().flat_map(|run| run.join().unwrap()).collect()
    });
    let pictures: usize = played.iter().map(|(watched, _)| watched.pictures).sum();
    let verdicts: usize = played.iter().map(|(watched, _)| watched.record.len()).sum();
    let all: Vec<String> = played.iter().flat_map(|(watched, lines)| faults(watched, lines)).collect();
    println!("{pictures} pictures read, {verdicts} tries, {} untrue statements", all.len());
    assert!(all.is_empty(), "{}", all.join("\n"));

    // The check can fail: against the record of another player nearly everything is untrue.
    let (mut watched, lines) = played.into_iter().next().unwrap();
    for (_, error, _) in &mut watched.record {
        *error += 12.0;
    }
    assert!(faults(&watched, &lines).len() >= watched.record.len(), "a false record is not noticed");
}
