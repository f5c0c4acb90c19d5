//! What is kept is forgotten only if the player says so.

use crate::terminal::{Terminal, bendwright};
use std::path::Path;

fn journal(data: &Path, arguments: &[&str]) -> Terminal {
    let mut command = bendwright(&[&["journal"], arguments].concat());
    command.env("XDG_DATA_HOME", data);
    Terminal::start(command, 120, 10)
}

#[test]
fn forgetting_takes_a_yes_and_nothing_else() {
    let data = tempfile::tempdir().unwrap();
    let mut remarked = journal(data.path(), &["remark", "jaw first"]);
    assert_eq!(remarked.wait_for_end(), 0);
    for (answer, said) in [
        ("y\r", "Nothing is forgotten."),
        ("\x04", "Nothing is forgotten."),
        ("yes\r", "Forgotten: 1 session"),
    ] {
        let mut terminal = journal(data.path(), &["forget", "--before", "9999-01-01"]);
        terminal.wait_for("with 1 entry");
        terminal.wait_for("Type yes:");
        terminal.type_keys(answer);
        terminal.wait_for(said);
        assert_eq!(terminal.wait_for_end(), 0);
    }
    let mut empty = journal(data.path(), &["forget", "--before", "9999-01-01"]);
    empty.wait_for("Nothing of all players ended before 9999-01-01.");
    assert_eq!(empty.wait_for_end(), 0);
}
