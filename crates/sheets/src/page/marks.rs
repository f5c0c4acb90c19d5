//! The marks of the stair: triangles for reeds, diamonds for bends, circles for overbends.

use crate::MarkKind;
use crate::draw::{BLACK, DIM, Gray, Point, Shape};

/// Half the height of a mark, in points.
pub(super) const RADIUS: f32 = 3.6;

const WHITE: Gray = 1.0;

/// How a mark stands in the picture; size and filling say it, grey only repeats it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Standing {
    /// In the scale and in reach.
    Full,
    /// In the scale, out of reach.
    OutOfReach,
    /// Not in the scale.
    Beside,
}

pub(super) fn shape(kind: MarkKind, (x, y): Point, standing: Standing) -> Shape {
    let (fill, gray, r) = match standing {
        Standing::Full => (BLACK, BLACK, RADIUS),
        Standing::OutOfReach => (WHITE, DIM, RADIUS),
        Standing::Beside => (WHITE, DIM, RADIUS * 0.62),
    };
    let polygon = |points: &[Point]| Shape::Polygon {
        points: points.iter().map(|(dx, dy)| (x + r * dx, y + r * dy)).collect(),
        fill: Some(fill),
        width: 0.6,
        gray,
    };
    match kind {
        MarkKind::Blow => polygon(&[(0.0, -1.0), (1.0, 0.85), (-1.0, 0.85)]),
        MarkKind::Draw => polygon(&[(0.0, 1.0), (1.0, -0.85), (-1.0, -0.85)]),
        MarkKind::Bend => polygon(&[(0.0, -1.0), (0.8, 0.0), (0.0, 1.0), (-0.8, 0.0)]),
        MarkKind::Overbend => {
            Shape::Circle { centre: (x, y), radius: r * 0.88, fill: Some(fill), width: 0.6, gray }
        }
    }
}
