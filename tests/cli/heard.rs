//! What was heard of a player decides what he is taken to command.

use crate::journal::said;
use crate::kept::{TenTries, fill};
use crate::text;
use std::fs;

fn ability(data: &std::path::Path, arguments: &[&str]) -> String {
    let (code, out, err) = said(data, arguments);
    assert_eq!(code, 0, "{err}");
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    json["ability"]["words"].as_str().unwrap_or_else(|| panic!("{out}")).to_owned()
}

#[test]
fn what_was_heard_decides_for_the_map_and_for_choosing() {
    let data = tempfile::tempdir().unwrap();
    let data = data.path();
    let map = ["map", "--json"];
    assert_eq!(ability(data, &map), "draw-bends", "nothing was heard");
    let tries = |tab, landed, days_ago| TenTries { days_ago, tab, landed, cents: 5.0 };
    fill(
        data,
        "me",
        &[
            tries("-3'''", 0, 3),
            tries("-3'''", 0, 2),
            tries("6o", 10, 2),
            tries("6o", 10, 1),
            tries("-2''", 5, 1),
        ],
    );
    let heard = "draw-bends, 6o, learning -2'', not -3'''";
    assert_eq!(ability(data, &map), heard);
    assert_eq!(ability(data, &["choose", "--song-key", "A", "--json"]), heard);
    assert_eq!(ability(data, &["map", "--json", "--who", "Ida"]), "draw-bends", "that was somebody else");
    assert_eq!(ability(data, &["map", "--json", "--no-journal"]), "draw-bends");
    assert_eq!(ability(data, &["map", "--json", "--able", "plain"]), "plain", "the command line goes before");
    let config = data.join("config.toml");
    fs::write(&config, "[ability]\nsure = \"-3'''\"\nnot-yet = \"6o\"\n").unwrap();
    let own = ability(data, &["map", "--json", "--config", text(&config)]);
    assert_eq!(own, "draw-bends, learning -2''", "what the player says of single bends stays");
}

#[test]
fn what_the_built_in_player_plays_is_nobodys_ability() {
    let data = tempfile::tempdir().unwrap();
    let data = data.path();
    assert_eq!(said(data, &["drill", "overblows", "--from", "player", "--plain"]).0, 0);
    assert_eq!(ability(data, &["map", "--json"]), "draw-bends");
}

#[test]
fn a_run_says_what_it_leaves_out() {
    let data = tempfile::tempdir().unwrap();
    let data = data.path();
    let tries = |days_ago| TenTries { days_ago, tab: "-3'", landed: 0, cents: 40.0 };
    fill(data, "me", &[tries(3), tries(2), tries(1)]);
    let run = ["scale", "--position", "2", "--from", "player", "--runs", "1", "--plain"];
    let (code, _, err) = said(data, &run);
    assert_eq!(code, 0, "{err}");
    assert!(
        err.contains("left out, because it does not come yet: -3'; --able everything asks for it"),
        "{err}"
    );
    let (_, _, err) = said(data, &[&run[..], &["--able", "everything"]].concat());
    assert!(!err.contains("left out"), "{err}");
}
