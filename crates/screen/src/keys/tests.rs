//! Tests of the key table.

use super::*;
use proptest::prelude::*;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

fn press(text: &str) -> Press {
    text.parse().unwrap()
}

fn event(code: KeyCode, modifiers: KeyModifiers) -> KeyEvent {
    KeyEvent::new(code, modifiers)
}

#[test]
fn the_table_is_sound() {
    assert_eq!(KeyMap::with([]), Ok(KeyMap::default()));
    for row in &TABLE {
        assert!(!KeyMap::default().presses(row.command).is_empty(), "{} has no key", row.name);
        assert!(row.help.ends_with('.'), "{} has no sentence", row.name);
        assert!(!row.views.is_empty());
        assert_eq!(row.command.row().map(|row| row.name), Some(row.name));
    }
}

#[test]
fn keys_are_read_and_written() {
    for text in
        ["q", "?", "+", "space", "enter", "f12", "ctrl+x", "alt+left", "ctrl+alt+delete", "ctrl++", "Q"]
    {
        assert_eq!(press(text).to_string(), text);
    }
    assert_eq!(press("Ctrl+X"), press("ctrl+x"));
    assert_ne!(press("Q"), press("q"));
}

#[test]
fn no_key_says_what_is_allowed() {
    for text in ["", "qq", "f13", "super+x", "ctrl+", " "] {
        let error = text.parse::<Press>().unwrap_err().to_string();
        assert!(error.contains("f1 to f12") && error.contains("space"), "{error}");
    }
}

#[test]
fn shift_is_part_of_the_character() {
    let map = KeyMap::default();
    let help = event(KeyCode::Char('?'), KeyModifiers::SHIFT);
    assert_eq!(map.command(View::Home, &help), Some(Command::Help));
}

#[test]
fn a_key_does_what_its_place_says() {
    let map = KeyMap::default();
    let key = event(KeyCode::Char('n'), KeyModifiers::NONE);
    assert_eq!(map.command(View::Drill, &key), Some(Command::Next));
    assert_eq!(map.command(View::Home, &key), None);
}

#[test]
fn own_keys_take_precedence() {
    let map = KeyMap::with([("next", "q")]).unwrap();
    assert_eq!(map.presses(Command::Next), [press("q")]);
    assert_eq!(map.presses(Command::Leave), [press("esc")], "leave keeps what is left");
}

#[test]
fn two_commands_may_trade_keys() {
    let map = KeyMap::with([("next", "a"), ("again", "n")]).unwrap();
    assert_eq!(map.presses(Command::Next), [press("a")]);
    assert_eq!(map.presses(Command::Again), [press("n")]);
}

#[test]
fn mistakes_say_what_is_allowed() {
    let said =
        |own: &[(&'static str, &'static str)]| KeyMap::with(own.iter().copied()).unwrap_err().to_string();
    assert!(said(&[("jump", "x")]).contains("start leave-out sooner later more-time"));
    assert!(said(&[("next", "hop")]).starts_with("the key for next: \"hop\" is no key"));
    assert_eq!(said(&[("next", " ")]), "next is left without a key; give it one");
    assert_eq!(
        said(&[("next", "r"), ("again", "r"), ("hear", "h")]),
        "r would be both again and next; give one of them another key"
    );
    assert_eq!(said(&[("next", "r")]), "hear is left without a key; give it one");
}

proptest! {
    #[test]
    fn any_text_is_a_key_or_a_sentence(text in "\\PC{0,12}") {
        match text.parse::<Press>() {
            Ok(press) => prop_assert_eq!(press.to_string().parse::<Press>(), Ok(press)),
            Err(error) => prop_assert!(error.to_string().contains("is no key")),
        }
    }
}
