//! Files that a player writes, and their mistakes.

use theory::{Progressions, Scales};

fn scale_error(text: &str) -> String {
    Scales::read(text).unwrap_err().to_string()
}

fn progression_error(text: &str) -> String {
    Progressions::read(text).unwrap_err().to_string()
}

#[test]
fn the_files_that_come_with_the_program_are_sound() {
    Scales::read(include_str!("../../../../assets/scales.toml")).unwrap();
    Progressions::read(include_str!("../../../../assets/progressions.toml")).unwrap();
    assert!(Scales::ours().iter().count() >= 25);
    for name in ["twelve-bar", "minor twelve-bar", "I-IV-V", "ii-V-I", "I-vi-IV-V"] {
        Progressions::ours().find(name).unwrap();
    }
}

#[test]
fn a_players_own_scale_joins_ours_or_replaces_one() {
    let own =
        "[[scale]]\nname = 'Blues'\ndegrees = '1 b3 4 5'\n[[scale]]\nname = \"Sunday\"\ndegrees = \"1 5\"\n";
    let scales = Scales::ours().with(Scales::read(own).unwrap());
    assert_eq!(scales.iter().count(), Scales::ours().iter().count() + 1);
    assert_eq!(scales.find("blues").unwrap().degrees().len(), 4);
    assert_eq!(scales.find("sunday").unwrap().degrees().len(), 2);
}

#[test]
fn a_mistaken_scale_is_pointed_at() {
    let at = |degrees: &str| scale_error(&format!("[[scale]]\nname = \"x\"\ndegrees = \"{degrees}\"\n"));
    assert_eq!(
        at("1 b3 H 5"),
        "line 3, column 17: \"H\" is no degree; write a number, after b or # if needed, like 1, b3, #4"
    );
    assert_eq!(at("1 b3 9"), "line 3, column 17: 9 lies an octave up; a scale uses the degrees 1 to 7");
    assert_eq!(at("2 3"), "line 3, column 12: the degrees must begin with 1, the tonic");
    assert_eq!(at(""), "line 3, column 12: the degrees must begin with 1, the tonic");
    assert_eq!(at("1 3 b3"), "line 3, column 16: ♭3 does not lie above the degree before it");
    assert_eq!(
        at("1 #4/5"),
        "line 3, column 14: ♯4 and 5 are different notes; a slash joins two names of one"
    );
}

#[test]
fn mistakes_in_the_shape_of_a_file_say_what_is_allowed() {
    let error = scale_error("[[scale]]\nname = \"x\"\ndegree = \"1\"\n");
    assert!(
        error.starts_with("line 3, column 1: there is no entry \"degree\"") && error.contains("\"degrees\""),
        "{error}"
    );
    let error = scale_error("[[scale]]\nname = \"x\"\n");
    assert!(error.contains("degrees is missing"), "{error}");
    let error = scale_error("[[scale]\n");
    assert!(error.starts_with("line 1"), "{error}");
    let error = scale_error("[[scale]]\nname = \" \"\ndegrees = \"1\"\n");
    assert_eq!(error, "line 2, column 8: a scale needs a name of at least one character");
    let twice = "[[scale]]\nname = \"x\"\ndegrees = \"1 5\"\n[[scale]]\nname = \"y\"\nalso = [\"X\"]\ndegrees = \"1 4\"\n";
    assert_eq!(
        scale_error(twice),
        "line 6, column 9: \"X\" is a name of the scale \"x\" already; choose another"
    );
}

#[test]
fn a_mistaken_progression_is_pointed_at() {
    let at = |bars: &str| progression_error(&format!("[[progression]]\nname = \"x\"\nbars = {bars}\n"));
    assert!(
        at("\"I7 | IV7 Q\"")
            .starts_with("line 3, column 18: \"Q\" is no chord in a key; write a roman numeral")
    );
    assert!(at("\"I7 | iV\"").starts_with("line 3, column 14: \"iV\" is no chord"));
    assert!(at("\"I7 | I13\"").starts_with("line 3, column 14: \"I13\" is no chord"));
    assert_eq!(
        at("\"I7 | | V7\""),
        "line 3, column 13: a bar needs at least one chord; take out the bar line or add a chord"
    );
    assert!(at("\"\"\"\nI7 | IV7 |\n V7 Q\"\"\"").starts_with("line 5, column 5: \"Q\""));
}
