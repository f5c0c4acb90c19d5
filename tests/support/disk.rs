//! A disk that is really full.

#![allow(dead_code, reason = "each test program uses a part of it")]
#![allow(clippy::print_stderr, reason = "a test that cannot be made says why")]

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

/// A small disk in memory; it goes when it is dropped.
pub(crate) struct SmallDisk(TempDir);

impl SmallDisk {
    /// One of 64 kilobytes.
    pub(crate) fn new() -> Option<Self> {
        Self::of(64)
    }

    /// Mounts one of so many kilobytes, which only the superuser may. Where it is not allowed, that is said and the
    /// test is over; the machines that check every change have to allow it.
    pub(crate) fn of(kilobytes: u32) -> Option<Self> {
        let folder = tempfile::tempdir().expect("a folder");
        let mut mount = Command::new("mount");
        mount.args(["-t", "tmpfs", "-o", &format!("size={kilobytes}k"), "none"]).arg(folder.path());
        match mount.output() {
            Ok(done) if done.status.success() => return Some(Self(folder)),
            Ok(done) => eprintln!("no small disk can be mounted: {}", String::from_utf8_lossy(&done.stderr)),
            Err(error) => eprintln!("no small disk can be mounted: {error}"),
        }
        assert!(std::env::var_os("BENDWRIGHT_CHECK_ALL").is_none(), "a full disk has to be tried here");
        None
    }

    /// Where it is.
    pub(crate) fn path(&self) -> &Path {
        self.0.path()
    }

    /// Mounts it again with another option of `mount`: `ro`, `size=8m`.
    #[allow(dead_code, reason = "not every test that has a small disk changes it")]
    pub(crate) fn change(&self, option: &str) {
        let mut mount = Command::new("mount");
        let done = mount.args(["-o", &format!("remount,{option}")]).arg(self.path()).status();
        assert!(done.is_ok_and(|done| done.success()), "{option}");
    }

    /// Fills it to the last byte.
    pub(crate) fn fill(&self) {
        let mut file = fs::File::create(self.path().join("rubbish")).expect("a file");
        while file.write(&[0; 512]).is_ok_and(|written| written > 0) {}
        assert!(fs::write(self.path().join("more"), [0; 64]).is_err(), "the disk takes more");
        let _ = fs::remove_file(self.path().join("more"));
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        // Whether it goes well shows when the folder is removed.
        let _ = Command::new("umount").arg(self.path()).status();
    }
}
