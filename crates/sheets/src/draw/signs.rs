//! Signs that the standard fonts lack, as outlines: accidentals, arrows, and a box for every other character.

/// A step of an outline; coordinates in thousandths of the type size, the baseline at 0, upwards positive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Step {
    Move(i16, i16),
    Line(i16, i16),
    /// Two control points and the end of a cubic curve.
    Curve([i16; 6]),
    Close,
}

/// A drawn character.
#[derive(Debug, PartialEq)]
pub(crate) struct Sign {
    pub(crate) character: char,
    /// Its name in the font.
    pub(crate) name: &'static str,
    /// How far the pen moves on, in thousandths of the type size.
    pub(crate) width: u16,
    /// Filled by the even-odd rule.
    pub(crate) outline: &'static [Step],
}

use Step::{Close, Curve, Line, Move};

/// All signs; the last one stands for every other character.
pub(crate) static SIGNS: [Sign; 5] = [
    Sign {
        character: '♭',
        name: "flat",
        width: 440,
        outline: &[
            Move(60, 800),
            Line(116, 800),
            Line(116, 372),
            Curve([170, 420, 220, 440, 262, 440]),
            Curve([330, 440, 384, 394, 384, 318]),
            Curve([384, 190, 250, 110, 60, -24]),
            Close,
            Move(116, 316),
            Line(116, 86),
            Curve([220, 166, 296, 226, 296, 312]),
            Curve([296, 360, 270, 386, 232, 386]),
            Curve([196, 386, 156, 362, 116, 316]),
            Close,
        ],
    },
    Sign {
        character: '♯',
        name: "sharp",
        width: 500,
        outline: &[
            // Drawn as one outline with three holes, so that crossing bars stay black under the even-odd rule.
            Move(140, -90),
            Line(190, -90),
            Line(190, 150),
            Line(310, 192),
            Line(310, -50),
            Line(360, -50),
            Line(360, 210),
            Line(440, 238),
            Line(440, 322),
            Line(360, 294),
            Line(360, 486),
            Line(440, 514),
            Line(440, 598),
            Line(360, 570),
            Line(360, 800),
            Line(310, 800),
            Line(310, 552),
            Line(190, 510),
            Line(190, 760),
            Line(140, 760),
            Line(140, 492),
            Line(60, 464),
            Line(60, 380),
            Line(140, 408),
            Line(140, 216),
            Line(60, 188),
            Line(60, 104),
            Line(140, 132),
            Close,
            Move(190, 234),
            Line(190, 426),
            Line(310, 468),
            Line(310, 276),
            Close,
        ],
    },
    Sign {
        character: '↑',
        name: "arrowup",
        width: 480,
        outline: &[
            Move(215, -40),
            Line(265, -40),
            Line(265, 560),
            Line(400, 430),
            Line(400, 500),
            Line(240, 720),
            Line(80, 500),
            Line(80, 430),
            Line(215, 560),
            Close,
        ],
    },
    Sign {
        character: '↓',
        name: "arrowdown",
        width: 480,
        outline: &[
            Move(215, 720),
            Line(265, 720),
            Line(265, 120),
            Line(400, 250),
            Line(400, 180),
            Line(240, -40),
            Line(80, 180),
            Line(80, 250),
            Line(215, 120),
            Close,
        ],
    },
    Sign {
        character: '\u{fffd}',
        name: "missing",
        width: 560,
        outline: &[
            Move(60, 0),
            Line(500, 0),
            Line(500, 700),
            Line(60, 700),
            Close,
            Move(110, 50),
            Line(110, 650),
            Line(450, 650),
            Line(450, 50),
            Close,
        ],
    },
];

/// The number of the sign that draws a character, counted from 0.
pub(crate) fn sign_for(c: char) -> usize {
    SIGNS.iter().position(|sign| sign.character == c).unwrap_or(SIGNS.len() - 1)
}
