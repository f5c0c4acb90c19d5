//! Prints a page about a scale on a harp: `cargo run -p screen --example chart -- C 2 blues draw-bends`.

use layout::{Harp, HarpKey};
use screen::{Chart, Look};
use theory::{Ability, Level, Position, ScaleInKey, Scales};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let word = |i: usize, usual: &'static str| words.get(i).map_or(usual, String::as_str).to_owned();
    let harp = Harp::richter(word(0, "C").parse::<HarpKey>()?);
    let position: Position = word(1, "2").parse()?;
    let key = ScaleInKey::in_position(Scales::ours().find(&word(2, "blues"))?.clone(), &harp, position);
    let level =
        Level::ALL.into_iter().find(|level| level.name() == word(3, "draw-bends")).unwrap_or_default();
    let (look, ability) = (Look::default(), Ability::new(level));
    let chart = Chart { look: &look, harp: &harp, key: &key, ability: &ability, note: None, chord: None };
    let columns = word(4, "80").parse()?;
    std::io::Write::write_all(&mut std::io::stdout(), chart.page(columns).as_bytes())?;
    Ok(())
}
