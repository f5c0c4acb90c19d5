//! What the program remembers by itself, what it never writes to, and what it reads again.

use crate::disk::SmallDisk;
use crate::terminal::{NO_HOME, Terminal, bendwright};
use portable_pty::CommandBuilder;
use std::fs;
use std::path::Path;
use std::time::Duration;

/// The settings as a player may have them: a link to a file with lines of another system, a second name, and rights of
/// its own.
#[test]
fn the_settings_are_never_written_and_the_harp_is_remembered_all_the_same() {
    use std::os::unix::fs::{MetadataExt, symlink};
    let folder = tempfile::tempdir().unwrap();
    let [kept, second, config] =
        ["kept.toml", "second.toml", "config.toml"].map(|name| folder.path().join(name));
    let content = "# mine\r\nharp = \"C\"\r\nowned = \"C, low F\"\r\n";
    fs::write(&kept, content).unwrap();
    fs::hard_link(&kept, &second).unwrap();
    symlink(&kept, &config).unwrap();
    let facts = || {
        let known = fs::metadata(&config).unwrap();
        (known.ino(), known.mode(), known.nlink(), known.mtime_nsec(), fs::read_to_string(&config).unwrap())
    };
    let before = facts();
    let start = || {
        let mut command = bendwright(&["--from", "player", "--config", config.to_str().unwrap()]);
        command.env("XDG_STATE_HOME", folder.path());
        Terminal::start(command, 80, 24)
    };
    let mut terminal = start();
    terminal.wait_for("◂ C harp ▸");
    terminal.type_keys("\x1b[D");
    terminal.wait_for("◂ low F harp ▸");
    terminal.type_keys("msp");
    terminal.wait_for("G major blues · 3rd position");
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
    assert_eq!(facts(), before);
    assert!(fs::symlink_metadata(&config).unwrap().is_symlink());
    let mut terminal = start();
    terminal.wait_for("◂ low F harp ▸");
    terminal.type_keys("m");
    terminal.wait_for("G major blues · 3rd position");
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
}

/// What the map shows is written as `sheet` writes it, and nothing is written over.
#[test]
fn the_map_is_written_to_print_where_the_program_was_started() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path().canonicalize().unwrap();
    let mut command = bendwright(&["--from", "player"]);
    command.cwd(&here);
    let mut terminal = Terminal::start(command, 200, 40);
    terminal.wait_for("Today, ");
    terminal.type_keys("msw");
    let name = "c-harp-2nd-position-g-major-blues";
    terminal.wait_for(&format!("wrote {name}.pdf in {}", here.display()));
    let first = fs::read(here.join(format!("{name}.pdf"))).unwrap();
    terminal.type_keys("Aw");
    terminal.wait_for(&format!("wrote {name}-02.pdf in {}", here.display()));
    assert_eq!(fs::read(here.join(format!("{name}.pdf"))).unwrap(), first, "the first one stays");
    let second = fs::read(here.join(format!("{name}-02.pdf"))).unwrap();
    assert!(first.starts_with(b"%PDF") && second.starts_with(b"%PDF"));
    assert_ne!(first, second, "for another ability the sheet is another");
    let ours = here.join("ours.pdf");
    let mut sheet = std::process::Command::new(env!("CARGO_BIN_EXE_bendwright"));
    sheet.args(["sheet", "--scale", "major blues", "--able", "draw-bends", "--out"]).arg(&ours);
    assert!(sheet.env("HOME", NO_HOME).output().unwrap().status.success());
    assert_eq!(fs::read(ours).unwrap(), first, "the same page as on the command line");
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
}

#[test]
fn a_sheet_that_cannot_be_written_costs_a_sentence() {
    let Some(disk) = SmallDisk::new() else { return };
    disk.fill();
    let mut command = bendwright(&["--from", "player"]);
    command.cwd(disk.path());
    let mut terminal = Terminal::start(command, 120, 40);
    terminal.wait_for("Today, ");
    terminal.type_keys("mw");
    terminal.wait_for("c-harp-2nd-position-g-blues.pdf cannot be written: no space left on device");
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
}

/// Takes another harp twice on a disk that takes nothing: a sentence, and the program goes on.
fn another_harp_on_a_full_disk(mut command: CommandBuilder, state: &Path) {
    command.env("XDG_STATE_HOME", state);
    command.env("HOME", NO_HOME);
    command.env("TERM", "xterm-256color");
    command.env("LANG", "C.UTF-8");
    let mut terminal = Terminal::start(command, 80, 24);
    terminal.wait_for("Bendwright");
    terminal.type_keys("\x1b[C");
    terminal.wait_for("what you chose is not remembered: ");
    terminal.type_keys("\x1b[C");
    terminal.wait_until("another harp and no more words", Duration::from_secs(5), |screen| {
        screen.contains("◂ D harp ▸") && !screen.contains("not remembered")
    });
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
    assert!(!terminal.screen().contains("not remembered"), "said again:\n{}", terminal.screen());
}

#[test]
fn a_choice_that_cannot_be_saved_costs_one_sentence() {
    let folder = tempfile::tempdir().unwrap();
    // No file may grow at all, which is what a full disk looks like to the writer.
    let mut limited = CommandBuilder::new("sh");
    let binary = env!("CARGO_BIN_EXE_bendwright");
    limited.cwd("/");
    limited.args(["-c", &format!("trap '' XFSZ; ulimit -f 0; exec {binary} --from player")]);
    another_harp_on_a_full_disk(limited, folder.path());
    let left: Vec<_> = fs::read_dir(folder.path().join("bendwright")).unwrap().collect();
    assert!(left.is_empty(), "a piece is left behind: {left:?}");
}

#[test]
fn on_a_full_disk_the_old_choice_stays() {
    let Some(disk) = SmallDisk::new() else { return };
    let state = disk.path().join("bendwright/state.toml");
    fs::create_dir(state.parent().unwrap()).unwrap();
    fs::write(&state, "version = 1\nposition = 3\n").unwrap();
    disk.fill();
    another_harp_on_a_full_disk(bendwright(&["--from", "player"]), disk.path());
    assert_eq!(fs::read_to_string(&state).unwrap(), "version = 1\nposition = 3\n");
}

#[test]
fn own_files_are_read_again_when_they_change() {
    let folder = tempfile::tempdir().unwrap();
    let config = folder.path().join("config.toml");
    fs::write(&config, "").unwrap();
    let mut terminal =
        Terminal::start(bendwright(&["--from", "player", "--config", config.to_str().unwrap()]), 80, 40);
    terminal.wait_for("Today, ");
    terminal.type_keys("d");
    terminal.wait_for("» First half steps");
    let drill = folder.path().join("drills/mine.toml");
    fs::create_dir(drill.parent().unwrap()).unwrap();
    fs::write(&drill, "title = \"My own bend\"\n[[item]]\nplay = \"-4'\"\n").unwrap();
    terminal.wait_for("My own bend");
    fs::write(&drill, "title = \"My own bend\"\n[[item]]\nplya = \"-4'\"\n").unwrap();
    terminal.wait_for("there is no entry \"plya\"; did you mean \"play\"?");
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
}
