//! Whatever happens to the process, to the disk or to the file: what was practised is kept, nothing panics, and the
//! rows fit together. A table tells how often each was tried.

use crate::disk::SmallDisk;
use crate::journal::{exported, folder, of_kind, program, said};
use crate::text;
use oorandom::Rand32;
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::thread;
use std::time::{Duration, SystemTime};

/// Tries of the take that is practised.
const TRIES: usize = 12;
/// Bytes of the head of a log of `SQLite`, and of a frame in it: a head and a page (`SQLite` file format, section 4).
const LOG: (usize, usize) = (32, 24 + 4_096);

/// What is tried: each with the take as a recording and as a drill, and a data folder of its own.
struct Trial {
    take: tempfile::TempDir,
    random: Rand32,
}

fn journal(data: &Path) -> PathBuf {
    data.join("bendwright/journal.sqlite")
}

fn beside(file: &Path, end: &str) -> PathBuf {
    PathBuf::from(format!("{}{end}", file.display()))
}

/// Files of a folder whose names begin so.
fn named(data: &Path, begin: &str) -> usize {
    let entries = fs::read_dir(data.join("bendwright")).unwrap().flatten();
    entries.filter(|entry| entry.file_name().to_string_lossy().starts_with(begin)).count()
}

/// Asserts that a check finds nothing wrong; gives back how many tries there are.
fn sound(data: &Path) -> usize {
    let (code, out, err) = said(data, &["journal", "check"]);
    if out.starts_with("Nothing is kept yet") {
        return 0;
    }
    assert_eq!((code, out.starts_with("All is well")), (0, true), "{out}{err}");
    of_kind(&exported(data), "try").len()
}

impl Trial {
    /// Practises the take, which has to go well whatever the journal is like; says what was told.
    fn practise(&self, data: &Path) -> String {
        let (drill, wav) = (self.take.path().join("drill.toml"), self.take.path().join("take.wav"));
        let (code, out, err) = said(data, &["drill", text(&drill), "--from", text(&wav), "--plain"]);
        assert!(code == 0 && out.contains("summary: done, 4 of 12 landed"), "{code}: {out}{err}");
        assert!(!err.contains("panicked"), "{err}");
        format!("{out}{err}")
    }

    /// A row of the table: past the test runner, which shows the output of a test only when it fails.
    fn tell(what: &str, times: usize, came: &str) {
        let mut out = io::stderr().lock();
        writeln!(out, "journal: {times:4} × {what:<28} {came}").unwrap();
    }

    /// The program listening to a pipe through which the take comes ten times as fast as it was played.
    fn listening(&self, data: &Path, zone: &str) -> Child {
        let drill = self.take.path().join("drill.toml");
        let mut command = program(data, &["drill", text(&drill), "--from", "-", "--json"]);
        command.env("TZ", zone).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = command.spawn().unwrap();
        let (mut pipe, wav) =
            (child.stdin.take().unwrap(), fs::read(self.take.path().join("take.wav")).unwrap());
        thread::spawn(move || {
            // A hundredth of a second at ten times 16 000 samples of four bytes.
            for block in wav.chunks(6_400) {
                if pipe.write_all(block).is_err() {
                    return;
                }
                thread::sleep(Duration::from_millis(10));
            }
        });
        child
    }

    /// Killed after so many judged tries and a moment; says how many had been told.
    fn killed(&self, data: &Path, tries: usize, moment: Duration) -> usize {
        let mut child = self.listening(data, "UTC");
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let mut judged = 0;
        while judged < tries {
            let line = lines.next().expect("it goes on").unwrap();
            judged += usize::from(line.contains("\"event\":\"judged\""));
        }
        thread::sleep(moment);
        child.kill().unwrap();
        child.wait().unwrap();
        judged + lines.map_while(Result::ok).filter(|line| line.contains("\"event\":\"judged\"")).count()
    }

    /// When the process dies, nothing is lost but the try in progress and the one that was judged in the moment before:
    /// it is told at once and written by another thread. Here four programs want the same disk ten times as often as
    /// players would.
    fn kills(&mut self, kills: usize) {
        let data = tempfile::tempdir().unwrap();
        let plan: Vec<(usize, Duration)> = (0..kills)
            .map(|_| {
                let tries = 1 + self.random.rand_range(0..4) as usize;
                (tries, Duration::from_micros(self.random.rand_range(5_000..120_000).into()))
            })
            .collect();
        let trial = &*self;
        let four = |some: &[(usize, Duration)]| {
            thread::scope(|scope| {
                let run = |(tries, moment): &(usize, Duration)| {
                    let (tries, moment, data) = (*tries, *moment, data.path());
                    scope.spawn(move || trial.killed(data, tries, moment))
                };
                let runs: Vec<_> = some.iter().map(run).collect();
                runs.into_iter().map(|run| run.join().unwrap()).sum::<usize>()
            })
        };
        let told: usize = plan.chunks(4).map(four).sum();
        let kept = sound(data.path());
        assert!(kept + kills >= told && kept <= told + kills, "{told} told, {kept} kept");
        Self::tell("killed at a random moment", kills, &format!("{told} tries were told, {kept} are kept"));
    }

    /// Disks of every size from one on which nothing fits to one on which everything does. What fits is there, and
    /// sound.
    fn full_disks(&mut self, times: usize) {
        let sizes = [8, 1_024, 192, 64, 128, 256, 160, 384, 16, 32, 96, 512];
        let sizes = &sizes[..times.clamp(2, sizes.len())];
        let mut kept = BTreeMap::new();
        for size in sizes {
            let Some(disk) = SmallDisk::of(*size) else {
                return Self::tell("full disk", 0, "not tried: no small disk can be mounted here");
            };
            self.practise(disk.path());
            disk.change("size=8m");
            let tries = sound(disk.path());
            kept.insert(*size, tries);
            // With room it goes on.
            self.practise(disk.path());
            assert_eq!(sound(disk.path()), tries + TRIES, "after a disk of {size} kB");
        }
        assert_eq!((kept[&8], kept[&1_024]), (0, TRIES), "{kept:?}");
        Self::tell("full disk, 8 to 1024 kB", sizes.len(), &format!("kept by size: {kept:?}"));
    }

    /// Permissions do not bind the superuser, so the whole disk is mounted for reading only.
    fn read_only(&mut self) {
        let Some(disk) = SmallDisk::of(1_024) else {
            return Self::tell("folder may only be read", 0, "not tried: no small disk can be mounted here");
        };
        for before in [false, true] {
            if before {
                self.practise(disk.path());
            }
            disk.change("ro");
            self.practise(disk.path());
            disk.change("rw");
        }
        assert_eq!(sound(disk.path()), TRIES);
        Self::tell(
            "folder may only be read",
            2,
            &format!("practice went on, {TRIES} tries of before are there"),
        );
    }

    /// Garbage in one page. What is noticed is set aside as it is, or told by a check; what was practised since is
    /// never lost.
    fn garbage(&mut self, times: usize) {
        let data = tempfile::tempdir().unwrap();
        let data = data.path();
        self.practise(data);
        let good = fs::read(journal(data)).unwrap();
        let (mut aside, mut told, mut unharmed) = (0, 0, 0);
        for time in 0..times {
            let mut bad = good.clone();
            // The first page first, because everything hangs on it.
            let page =
                if time == 0 { 0 } else { self.random.rand_range(0..(bad.len() / 4_096) as u32) as usize };
            for byte in &mut bad[4_096 * page..4_096 * (page + 1)] {
                *byte = self.random.rand_range(0..256) as u8;
            }
            let _ = fs::remove_dir_all(data.join("bendwright"));
            fs::create_dir_all(data.join("bendwright")).unwrap();
            fs::write(journal(data), &bad).unwrap();
            self.practise(data);
            let (code, out, err) = said(data, &["journal", "check"]);
            assert!(
                !err.contains("panicked") && (code == 0 || code == 1 && !err.is_empty()),
                "{code}: {out}{err}"
            );
            if named(data, "journal.sqlite.damaged") > 0 {
                aside += 1;
                assert_eq!(sound(data), TRIES, "what was practised since is in the new file");
            } else if code == 1 {
                told += 1;
            } else {
                unharmed += 1;
                assert_eq!(sound(data), 2 * TRIES);
            }
        }
        assert!(aside > 0, "the first page was garbage");
        let came = format!(
            "{aside} set aside and begun anew, {told} told by a check, {unharmed} in a page without use"
        );
        Self::tell("page of garbage", times, &came);
    }

    /// The log of a killed process, cut where a frame ends and at random bytes: a beginning of what was written is
    /// there and sound.
    fn torn_logs(&mut self, times: usize) {
        let (data, whole) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let (data, whole) = (data.path(), whole.path());
        self.practise(whole);
        self.killed(whole, 4, Duration::from_millis(80));
        let (file, log) =
            (fs::read(journal(whole)).unwrap(), fs::read(beside(&journal(whole), "-wal")).unwrap());
        let frames = (log.len() - LOG.0) / LOG.1;
        assert!(frames > 4, "{frames} frames were written");
        let random = &mut self.random;
        let mut below = |most: usize| random.rand_range(0..most as u32) as usize;
        let mut cuts: Vec<(usize, bool)> =
            (0..times).map(|_| (LOG.0 + LOG.1 * below(frames + 1), true)).collect();
        cuts.extend((0..times).map(|_| (below(log.len()), false)));
        cuts.sort_unstable();
        let mut before = TRIES;
        for (cut, _) in &cuts {
            let _ = fs::remove_dir_all(data.join("bendwright"));
            fs::create_dir_all(data.join("bendwright")).unwrap();
            fs::write(journal(data), &file).unwrap();
            fs::write(beside(&journal(data), "-wal"), &log[..*cut]).unwrap();
            let tries = sound(data);
            assert!(tries >= before, "a longer log has no less: {tries} after {before}");
            before = tries;
        }
        self.practise(data);
        assert_eq!(sound(data), before + TRIES);
        let at_frames = cuts.iter().filter(|(_, at_frame)| *at_frame).count();
        Self::tell("log cut where a frame ends", at_frames, &format!("{frames} frames; always sound"));
        Self::tell("log cut anywhere", cuts.len() - at_frames, "always sound, a longer log never had less");
    }

    fn two_at_once(&mut self, times: usize) {
        let data = tempfile::tempdir().unwrap();
        for _ in 0..times {
            thread::scope(|scope| {
                let both = [(); 2].map(|()| scope.spawn(|| self.practise(data.path())));
                for one in both {
                    one.join().unwrap();
                }
            });
        }
        let kept = sound(data.path());
        assert_eq!(kept, 2 * times * TRIES);
        Self::tell("two programs write at once", times, &format!("all {kept} tries are kept"));
    }

    /// What was practised yesterday on a clock that was two days ahead lies in the future now.
    fn clock_set_back(&mut self) {
        let (data, ahead) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        self.practise(ahead.path());
        let day_ms = 86_400_000;
        let lines = exported(ahead.path()).into_iter().map(|mut line| {
            for name in ["at_ms", "began_ms"] {
                if let Some(ms) = line[name].as_i64() {
                    line[name] = (ms + 2 * day_ms).into();
                }
            }
            if line["by"] == "recording" {
                line["by"] = "player".into();
            }
            format!("{line}\n")
        });
        let file = data.path().join("ahead.jsonl");
        fs::write(&file, lines.collect::<Vec<_>>().concat()).unwrap();
        assert_eq!(said(data.path(), &["journal", "import", text(&file)]).0, 0);
        self.practise(data.path());
        assert_eq!(sound(data.path()), 2 * TRIES);
        let (code, out, err) = said(data.path(), &["journal"]);
        assert!(code == 0 && out.contains("4 of 12 landed"), "{out}{err}");
        Self::tell("clock set back by two days", 1, &format!("all {} tries are kept", 2 * TRIES));
    }

    /// It is a few seconds before four in the morning where the player is: the day changes in mid-practice.
    fn day_change(&mut self) {
        let data = tempfile::tempdir().unwrap();
        let now = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).unwrap().as_secs().cast_signed();
        // A few tries before and a few after; a zone of POSIX says how far it is behind UTC.
        let behind_s = (now + 2 - 4 * 3_600).rem_euclid(86_400);
        let zone = format!("DAY{}:{:02}:{:02}", behind_s / 3_600, behind_s / 60 % 60, behind_s % 60);
        let mut child = self.listening(data.path(), &zone);
        let lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
        let told = lines.filter(|line| line.contains("\"event\":\"judged\"")).count();
        assert!(child.wait().unwrap().success());
        assert_eq!((told, sound(data.path())), (TRIES, TRIES));
        let mut days: BTreeMap<i64, usize> = BTreeMap::new();
        for entry in of_kind(&exported(data.path()), "entry").iter().filter(|entry| entry["entry"] == "try") {
            let local_ms = entry["at_ms"].as_i64().unwrap() + 1_000 * entry["offset_s"].as_i64().unwrap();
            *days.entry((local_ms - 4 * 3_600_000).div_euclid(86_400_000)).or_default() += 1;
        }
        let parts: Vec<usize> = days.into_values().collect();
        assert_eq!(parts.len(), 2, "{parts:?} tries a day in {zone}");
        Self::tell("day change in mid-practice", 1, &format!("{parts:?} tries on the two days"));
    }

    /// The number of a later schema, which stands at byte 60 (`SQLite` file format, section 1.3).
    fn later_schema(&mut self) {
        let data = tempfile::tempdir().unwrap();
        let data = data.path();
        self.practise(data);
        let mut bytes = fs::read(journal(data)).unwrap();
        bytes[60..64].copy_from_slice(&99_u32.to_be_bytes());
        fs::write(journal(data), &bytes).unwrap();
        assert!(self.practise(data).contains("version 99"));
        assert_eq!(fs::read(journal(data)).unwrap(), bytes);
        let (code, _, err) = said(data, &["journal"]);
        assert!(code == 1 && err.contains("version 99"), "{code}: {err}");
        Self::tell("schema of a later program", 1, "told, and left as it is");
    }

    fn directory(&mut self) {
        let data = tempfile::tempdir().unwrap();
        let data = data.path();
        fs::create_dir_all(journal(data)).unwrap();
        let told = self.practise(data);
        assert!(told.contains("nothing is kept in a journal") && told.contains("no regular file"), "{told}");
        let (code, _, err) = said(data, &["journal"]);
        assert!(code == 1 && err.contains("no regular file"), "{code}: {err}");
        Self::tell("directory in its place", 1, "told");
    }
}

/// `BENDWRIGHT_KILLS` says how often the program is killed, and how often what is random is tried.
#[test]
fn nothing_that_was_practised_is_lost() {
    let times = std::env::var("BENDWRIGHT_KILLS").map_or(8, |kills| kills.parse().unwrap());
    let mut trial = Trial { take: folder(), random: Rand32::new(7) };
    trial.kills(times);
    trial.full_disks(times / 2);
    trial.read_only();
    trial.garbage(times.div_ceil(2));
    trial.torn_logs(times);
    trial.two_at_once(times.div_ceil(4));
    trial.clock_set_back();
    trial.day_change();
    trial.later_schema();
    trial.directory();
}
