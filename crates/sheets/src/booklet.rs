//! Booklets: sheets that belong together.

use crate::{Request, Sheet};
use layout::{Harp, HarpKey};
use theory::{Position, Scales};

/// The request's scale in each of the twelve positions of its harp.
pub fn every_position(request: &Request<'_>) -> Vec<Sheet> {
    Position::all().map(|position| Sheet::new(&Request { position, ..*request })).collect()
}

/// The positions of the request's harp whose tonic is a plain note, each with the scale that the plain notes form.
pub fn every_mode(request: &Request<'_>, scales: &Scales) -> Vec<Sheet> {
    Position::all()
        .filter_map(|position| Some((position, position.mode(request.harp, scales)?)))
        .map(|(position, scale)| Sheet::new(&Request { position, scale, ..*request }))
        .collect()
}

/// The request's scale and position on the twelve usual harps, from G to F♯, all of the request's tuning and reference
/// pitch.
pub fn every_key(request: &Request<'_>) -> Vec<Sheet> {
    let (tuning, concert) = (request.harp.tuning(), request.harp.concert());
    HarpKey::usual_keys()
        .map(|key| Harp::new(key, tuning.clone(), concert))
        .map(|harp| Sheet::new(&Request { harp: &harp, ..*request }))
        .collect()
}
