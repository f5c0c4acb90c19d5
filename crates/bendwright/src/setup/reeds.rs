//! How far single reeds lie from equal temperament.

use crate::config::Config;
use crate::library::Library;
use layout::{ConcertPitch, Harp, ReedCents, Temperament};

/// How far the reeds of a harp lie from equal temperament: by the temperament, and by what the settings say of them.
pub(super) fn reed_cents(
    harp: &Harp,
    library: &Library,
    temperament: Option<&Temperament>,
    config: &Config,
) -> ReedCents {
    let tempered = temperament.map(|temperament| temperament.reed_cents(harp.tuning()));
    let own = config.reeds.iter().filter(|(name, own)| {
        own_reeds(library, (name, own), harp.concert())
            .is_ok_and(|own| own.key() == harp.key() && own.tuning() == harp.tuning())
    });
    own.fold(tempered.unwrap_or_default(), |cents, (_, own)| cents.plus(own))
}

/// The harp that a table of reeds is for, if its figures can be right.
pub(super) fn own_reeds(
    library: &Library,
    (name, own): (&str, &ReedCents),
    concert: ConcertPitch,
) -> Result<Harp, String> {
    let harp = library.tunings.harp(name, concert).map_err(|error| error.to_string())?;
    let holes = usize::from(harp.holes());
    if own.blow.len().max(own.draw.len()) > holes {
        return Err(format!("the harp has {holes} holes; give no more figures than that"));
    }
    let fits = |cents: f64| (-100.0..100.0).contains(&cents);
    match own.blow.iter().chain(&own.draw).find(|cents| !fits(**cents)) {
        Some(cents) => Err(format!("{cents} cents is a half step or more; stay below 100")),
        None => Ok(harp),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::Breath;

    #[test]
    fn single_reeds_count_on_their_own_harp_only() {
        let config: Config = toml::from_str("[reeds.'A natural minor']\ndraw = [0, -3.5]\n").unwrap();
        let library = Library::default();
        let just = Temperament::find(&library.temperaments, "just").unwrap();
        let offset = |name: &str, temperament| {
            let harp = library.tunings.harp(name, ConcertPitch::ISO).unwrap();
            let cents = reed_cents(&harp, &library, temperament, &config);
            harp.with_reed_cents(cents).reed_cents(2, Breath::Draw)
        };
        assert!((offset("A natural minor", None) + 3.5).abs() < 1e-9);
        assert!(offset("A", None).abs() < 1e-9 && offset("C natural minor", None).abs() < 1e-9);
        // 3/2 lies 1.955 cents above seven equal half steps (Ellis's cents).
        assert!((offset("A natural minor", Some(just)) - (1.955 - 3.5)).abs() < 1e-3);
        assert!((offset("C", Some(just)) - 1.955).abs() < 1e-3);
    }
}
