//! Which sign stands for what, in Unicode and in ASCII.

use ratatui::buffer::Buffer;

/// Every sign that is drawn rather than written. Each is one column wide.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Glyphs {
    /// The reed that sounds on the blow; it points up, out of the harp.
    pub blow: char,
    /// The reed that sounds on the draw; it points down, into the harp.
    pub draw: char,
    /// A bend between the two reeds.
    pub bend: char,
    /// An overblow or overdraw, outside the two reeds.
    pub overbend: char,
    /// After a degree that a scale has on its way up only.
    pub rising: char,
    /// After a degree that a scale has on its way down only.
    pub falling: char,
    /// The mark that is asked for, if it is a bend or an overbend.
    pub target: char,
    /// The span of a hole between its marks.
    pub span: char,
    /// A rule across the screen.
    pub rule: char,
    /// The middle of the target band.
    pub centre: char,
    /// The edge of the target band.
    pub edge: char,
    /// The pitch now.
    pub now: char,
    /// The pitch a moment ago.
    pub lately: char,
    /// The pitch longer ago.
    pub before: char,
    /// The stretch over which the pitch moved within one row.
    pub sweep: char,
    /// The upright line of the pitch through all rows of the stair.
    pub upright: char,
    /// Flat, lower: to the left.
    pub flat: char,
    /// Sharp, higher: to the right.
    pub sharp: char,
    /// Landed in the middle of the band.
    pub centred: char,
    /// Landed, in tune.
    pub in_tune: char,
    /// Neither landed nor flat nor sharp: another note, let go early, unsteady.
    pub missed: char,
    /// What cannot be told, or was not heard.
    pub unknown: char,
    /// A try that is to come, in the row of tries.
    pub coming: char,
    /// The part of the target band that has been held.
    pub held: char,
    /// What is chosen in a list, and its place in a picture.
    pub chosen: char,
    /// Bars from the lowest to the highest.
    pub levels: [char; 4],
    /// Between two parts of a line.
    pub dot: char,
    /// Before a negative number.
    pub minus: char,
    /// Before a spread.
    pub spread: &'static str,
    /// Whether the plumb line may be drawn finely with braille dots.
    pub fine: bool,
    ascii: bool,
}

impl Glyphs {
    /// Signs for a UTF-8 terminal.
    pub const UNICODE: Self = Self {
        blow: '▲',
        draw: '▼',
        bend: '┼',
        overbend: '○',
        rising: '↑',
        falling: '↓',
        target: '◆',
        span: '─',
        rule: '─',
        centre: '│',
        edge: '┊',
        now: '●',
        lately: '•',
        before: '·',
        sweep: '╌',
        upright: '┃',
        flat: '◂',
        sharp: '▸',
        centred: '■',
        in_tune: '□',
        missed: '×',
        unknown: '?',
        coming: '·',
        held: '░',
        chosen: '»',
        levels: ['▁', '▃', '▅', '▇'],
        dot: '·',
        minus: '−',
        spread: "±",
        fine: true,
        ascii: false,
    };

    /// Signs for a console font, which has blocks and lines but no braille.
    pub const CONSOLE: Self = Self { fine: false, ..Self::UNICODE };

    /// Signs for a terminal that shows ASCII only.
    pub const ASCII: Self = Self {
        blow: '^',
        draw: 'v',
        bend: '+',
        overbend: 'o',
        rising: 'u',
        falling: 'd',
        target: '#',
        span: '-',
        rule: '-',
        centre: '|',
        edge: ':',
        now: '@',
        lately: '"',
        before: '.',
        sweep: '_',
        upright: '|',
        flat: '<',
        sharp: '>',
        centred: '=',
        in_tune: '~',
        missed: 'x',
        unknown: '?',
        coming: '.',
        held: '%',
        chosen: '*',
        levels: ['1', '2', '3', '4'],
        dot: '-',
        minus: '-',
        spread: "+/-",
        fine: false,
        ascii: true,
    };

    /// Whether only ASCII may reach the terminal.
    pub fn ascii(&self) -> bool {
        self.ascii
    }

    /// Replaces, for an ASCII terminal, whatever a title, a note name or a device name brought in.
    pub(crate) fn settle(&self, buf: &mut Buffer) {
        if !self.ascii {
            return;
        }
        for cell in &mut buf.content {
            if !cell.symbol().is_ascii() {
                let plain = cell.symbol().chars().next().map_or(' ', ascii_for);
                cell.set_char(plain);
            }
        }
    }
}

impl Default for Glyphs {
    fn default() -> Self {
        Self::UNICODE
    }
}

/// The ASCII sign nearest to `c`; `?` where there is none.
pub(crate) fn ascii_for(c: char) -> char {
    match c {
        '♭' => 'b',
        '♯' => '#',
        '−' | '–' | '—' | '·' => '-',
        '’' | '‘' | '′' => '\'',
        '“' | '”' => '"',
        '°' => 'o',
        'ø' => '0',
        '…' => '.',
        '←' => '<',
        '→' => '>',
        '↑' => '^',
        '↓' => 'v',
        c if c.is_ascii() => c,
        _ => '?',
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::layout::Rect;
    use unicode_width::UnicodeWidthChar;

    fn signs(g: &Glyphs) -> [char; 27] {
        [
            g.blow, g.draw, g.bend, g.overbend, g.rising, g.falling, g.target, g.span, g.rule, g.centre,
            g.edge, g.now, g.lately, g.before, g.sweep, g.upright, g.flat, g.sharp, g.centred, g.in_tune,
            g.missed, g.unknown, g.coming, g.held, g.chosen, g.dot, g.minus,
        ]
    }

    #[test]
    fn every_sign_is_one_column_wide() {
        for g in [Glyphs::UNICODE, Glyphs::ASCII] {
            for sign in signs(&g) {
                assert_eq!(sign.width(), Some(1), "{sign}");
            }
        }
    }

    #[test]
    fn ascii_signs_are_ascii() {
        assert!(signs(&Glyphs::ASCII).iter().all(char::is_ascii));
        assert!(Glyphs::ASCII.spread.is_ascii());
    }

    #[test]
    fn signs_that_may_meet_differ() {
        for g in [Glyphs::UNICODE, Glyphs::ASCII] {
            let row = [g.blow, g.draw, g.bend, g.overbend, g.rising, g.falling, g.target, g.span];
            let plumb = [g.centre, g.edge, g.now, g.lately, g.before, g.sweep, g.held];
            let verdicts =
                [g.centred, g.in_tune, g.flat, g.sharp, g.missed, g.unknown, g.coming, g.now, g.chosen];
            for set in [&row[..], &plumb, &verdicts] {
                for (i, a) in set.iter().enumerate() {
                    assert!(!set[i + 1..].contains(a), "{a} says two things");
                }
            }
        }
    }

    /// A sign with three meanings has to be guessed. The last two, the dot between words and the minus, are writing.
    #[test]
    fn a_sign_has_at_most_two_meanings() {
        for g in [Glyphs::UNICODE, Glyphs::ASCII] {
            let signs = signs(&g);
            let drawn = &signs[..signs.len() - 2];
            for sign in drawn {
                let meanings = drawn.iter().filter(|other| *other == sign).count();
                assert!(meanings <= 2, "{sign} has {meanings} meanings");
            }
        }
    }

    #[test]
    fn foreign_signs_settle_into_ascii() {
        let mut buf = Buffer::empty(Rect::new(0, 0, 12, 1));
        buf.set_string(0, 0, "B♭4 − é 音 ok", ratatui::style::Style::new());
        Glyphs::ASCII.settle(&mut buf);
        let text: String = buf.content().iter().map(ratatui::buffer::Cell::symbol).collect();
        assert_eq!(text, "Bb4 - ? ?  o");
    }
}
