//! Reading tab.

use super::{NotTab, TabError, TabFault, TabStep, TabStyle};
use crate::{Breath, Harp, Technique, Way};

/// A piece of a tab line and where it stands.
#[derive(Clone, Copy)]
struct Piece<'a> {
    text: &'a str,
    /// Column of its first character, counted from 1.
    column: usize,
}

impl Piece<'_> {
    /// An error at the character `into` this piece.
    fn not_tab(self, into: usize, why: NotTab) -> TabError {
        TabError { column: self.column + into, text: self.text.to_owned(), fault: TabFault::NotTab(why) }
    }
}

impl TabStyle {
    /// Reads one way. Whether a harp can play it, [`Harp::play`] or [`TabStyle::read_for`] says.
    ///
    /// Typographic signs count as the plain ones: `−` as `-`, `’` and `′` as `'`. Where the blow has no mark and the
    /// draw has one before the number, `+4` is read as `4`.
    ///
    /// # Errors
    /// If the text is no tab, or more than one way.
    pub fn read(&self, text: &str) -> Result<Way, TabError> {
        let whole = Piece { text, column: 1 };
        match &*pieces(text) {
            [] => Err(whole.not_tab(0, NotTab::Empty)),
            [piece] if !piece.text.contains(['(', ')']) => self.way(*piece),
            _ => Err(whole.not_tab(0, NotTab::Several)),
        }
    }

    /// Reads one way that `harp` can play.
    ///
    /// # Errors
    /// If the text is no tab ([`TabFault::NotTab`]), or the harp cannot play it ([`TabFault::Cannot`]).
    pub fn read_for(&self, harp: &Harp, text: &str) -> Result<Way, TabError> {
        let way = self.read(text)?;
        let column = pieces(text).first().map_or(1, |piece| piece.column);
        can_play(harp, way, Piece { text: text.trim(), column })?;
        Ok(way)
    }

    /// Reads a line of tab: ways set apart by spaces, holes together in brackets: `4 -4 (4 5 6) -3'`.
    ///
    /// # Errors
    /// At the first piece that is no tab. An empty line is an empty list.
    pub fn read_line(&self, text: &str) -> Result<Vec<TabStep>, TabError> {
        self.steps(text, |_, _| Ok(()))
    }

    /// Reads a line of tab that `harp` can play.
    ///
    /// # Errors
    /// At the first piece that is no tab, or that the harp cannot play.
    pub fn read_line_for(&self, harp: &Harp, text: &str) -> Result<Vec<TabStep>, TabError> {
        self.steps(text, |way, piece| can_play(harp, way, piece))
    }

    /// Reads a line, passing every way through `check`.
    fn steps(
        &self,
        text: &str,
        check: impl Fn(Way, Piece<'_>) -> Result<(), TabError>,
    ) -> Result<Vec<TabStep>, TabError> {
        let mut steps = Vec::new();
        let mut open: Option<(Piece<'_>, Vec<Way>)> = None;
        for piece in pieces(text) {
            match (piece.text, open.take()) {
                ("(", None) => open = Some((piece, Vec::new())),
                (")", Some((bracket, ways))) => steps.push(together(bracket, ways)?),
                ("(" | ")", _) => return Err(piece.not_tab(0, NotTab::Bracket)),
                (_, outer) => {
                    let way = self.way(piece)?;
                    check(way, piece)?;
                    match outer {
                        None => steps.push(TabStep::One(way)),
                        Some((bracket, mut ways)) => {
                            ways.push(way);
                            open = Some((bracket, ways));
                        }
                    }
                }
            }
        }
        match open {
            Some((bracket, _)) => Err(bracket.not_tab(0, NotTab::Bracket)),
            None => Ok(steps),
        }
    }

    /// Reads a piece without spaces or brackets.
    fn way(&self, piece: Piece<'_>) -> Result<Way, TabError> {
        let mut rest = Rest { piece, chars: piece.text.chars().map(plain).collect(), at: 0 };
        let before = if self.marks().breath_after { None } else { self.take_breath(&mut rest) };
        let hole = self.take_hole(&mut rest)?;
        let breath = match before {
            Some(breath) => breath,
            None => self.breath_after(&mut rest)?,
        };
        let mut depth = 0_u8;
        while rest.take(&self.marks().bend) {
            depth = depth.saturating_add(1);
        }
        let overbend = rest.take(&self.marks().overbend);
        if overbend && (depth > 0 || !rest.done()) {
            return Err(piece.not_tab(rest.at.saturating_sub(1), NotTab::Mixed));
        }
        if let Some(sign) = rest.sign() {
            return Err(piece.not_tab(rest.at, NotTab::UnknownSign(sign, self.signs())));
        }
        let technique = match depth {
            0 if overbend => Technique::Overbend,
            0 => Technique::Natural,
            _ => Technique::Bend(depth),
        };
        Ok(Way::new(hole, breath, technique))
    }

    /// Takes the breath's mark, if one is there.
    fn take_breath(&self, rest: &mut Rest<'_>) -> Option<Breath> {
        let marked = [Breath::Blow, Breath::Draw]
            .into_iter()
            .find(|breath| !self.breath_mark(*breath).is_empty() && rest.take(self.breath_mark(*breath)));
        // A bare blow may also be written with a plus before it. A plus after the number could be a technique's mark.
        let may_be_plus = self.marks().blow.is_empty() && !self.marks().breath_after;
        marked.or_else(|| (may_be_plus && rest.take("+")).then_some(Breath::Blow))
    }

    /// Takes the hole number. Its size is for the harp to judge, as far as a `u8` holds it.
    fn take_hole(&self, rest: &mut Rest<'_>) -> Result<u8, TabError> {
        let digits = rest.take_digits();
        if !digits.is_empty() {
            let start = rest.at - digits.len();
            return digits.parse().map_err(|_| rest.piece.not_tab(start, NotTab::HugeHole));
        }
        let at = rest.at;
        let known = rest.take(&self.marks().bend) || rest.take(&self.marks().overbend);
        let why = match rest.sign() {
            Some(sign) if !known => NotTab::UnknownSign(sign, self.signs()),
            _ => NotTab::NoHole,
        };
        Err(rest.piece.not_tab(at, why))
    }

    /// The breath after the hole number: its mark, or the breath that has none.
    fn breath_after(&self, rest: &mut Rest<'_>) -> Result<Breath, TabError> {
        let marked = if self.marks().breath_after { self.take_breath(rest) } else { None };
        let bare =
            [Breath::Blow, Breath::Draw].into_iter().find(|breath| self.breath_mark(*breath).is_empty());
        marked.or(bare).ok_or_else(|| {
            let why = match rest.sign().filter(|_| self.marks().breath_after) {
                Some(sign) => NotTab::UnknownSign(sign, self.signs()),
                None => NotTab::NoBreath {
                    blow: self.marks().blow.clone(),
                    draw: self.marks().draw.clone(),
                    after: self.marks().breath_after,
                },
            };
            rest.piece.not_tab(if self.marks().breath_after { rest.at } else { 0 }, why)
        })
    }

    /// The signs that have a meaning, for an error message.
    fn signs(&self) -> String {
        let marks = self.marks();
        let breath = [&marks.blow, &marks.draw].into_iter().filter(|mark| !mark.is_empty());
        breath.chain([&marks.bend, &marks.overbend]).map(String::as_str).collect::<Vec<_>>().join(" ")
    }
}

/// What is left of a piece while it is read.
struct Rest<'a> {
    piece: Piece<'a>,
    chars: Vec<char>,
    at: usize,
}

impl Rest<'_> {
    /// The next character.
    fn sign(&self) -> Option<char> {
        self.chars.get(self.at).copied()
    }

    /// Whether nothing is left.
    fn done(&self) -> bool {
        self.sign().is_none()
    }

    /// Takes `mark` if it comes next.
    fn take(&mut self, mark: &str) -> bool {
        let length = mark.chars().count();
        let next = self.chars[self.at..].iter().take(length).copied();
        let taken = next.eq(mark.chars().map(plain));
        if taken {
            self.at += length;
        }
        taken
    }

    /// Takes the digits that come next.
    fn take_digits(&mut self) -> String {
        let digits: String = self.chars[self.at..].iter().take_while(|c| c.is_ascii_digit()).collect();
        self.at += digits.len();
        digits
    }
}

/// Splits a line into pieces: runs without spaces, and single brackets.
fn pieces(text: &str) -> Vec<Piece<'_>> {
    let mut pieces = Vec::new();
    let mut column = 1;
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let is_border = |c: char| c.is_whitespace() || matches!(c, '(' | ')');
        let length =
            if is_border(first) { first.len_utf8() } else { rest.find(is_border).unwrap_or(rest.len()) };
        let (piece, tail) = rest.split_at(length);
        if !first.is_whitespace() {
            pieces.push(Piece { text: piece, column });
        }
        column += piece.chars().count();
        rest = tail;
    }
    pieces
}

/// A step of several holes, checked.
fn together(bracket: Piece<'_>, ways: Vec<Way>) -> Result<TabStep, TabError> {
    let one_breath = ways.windows(2).all(|pair| pair[0].breath == pair[1].breath);
    let twice = ways.iter().enumerate().find(|(i, way)| ways[..*i].iter().any(|w| w.hole == way.hole));
    match (ways.len(), twice) {
        (0 | 1, _) => Err(bracket.not_tab(0, NotTab::Alone)),
        _ if !one_breath => Err(bracket.not_tab(0, NotTab::BothBreaths)),
        (_, Some((_, way))) => Err(bracket.not_tab(0, NotTab::Twice(way.hole))),
        _ => Ok(TabStep::Together(ways)),
    }
}

/// Passes a way that the harp can play.
fn can_play(harp: &Harp, way: Way, piece: Piece<'_>) -> Result<(), TabError> {
    harp.play(way).map(|_| ()).map_err(|why| TabError {
        column: piece.column,
        text: piece.text.to_owned(),
        fault: TabFault::Cannot(why),
    })
}

/// The plain sign for a typographic one.
pub(super) fn plain(c: char) -> char {
    match c {
        '−' | '–' => '-',
        '’' | '′' => '\'',
        _ => c,
    }
}
