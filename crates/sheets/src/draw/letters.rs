//! Widths of the letters of Helvetica and Helvetica Bold, two of the fonts that every PDF reader has.
//!
//! From the Adobe Font Metrics of the fourteen standard fonts (AFM 4.1, Core 14), in thousandths of the type size; the
//! numbers are those that the library `reportlab` 5.1.0 carries.

/// Characters from the space (32) to the tilde (126).
#[rustfmt::skip]
const REGULAR: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
    333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
    556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];

/// The no-break space (160) to ÿ (255), as in Latin-1.
#[rustfmt::skip]
const REGULAR_LATIN: [u16; 96] = [
    278, 333, 556, 556, 556, 556, 260, 556, 333, 737, 370, 556, 584, 333, 737, 333,
    400, 584, 333, 333, 333, 556, 537, 278, 333, 333, 365, 556, 834, 834, 834, 611,
    667, 667, 667, 667, 667, 667, 1000, 722, 667, 667, 667, 667, 278, 278, 278, 278,
    722, 722, 778, 778, 778, 778, 778, 584, 778, 722, 722, 722, 722, 667, 667, 611,
    556, 556, 556, 556, 556, 556, 889, 500, 556, 556, 556, 556, 278, 278, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 584, 611, 556, 556, 556, 556, 500, 556, 500,
];

/// As [`REGULAR`].
#[rustfmt::skip]
const BOLD: [u16; 95] = [
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611,
    975, 722, 722, 722, 722, 667, 611, 778, 722, 278, 556, 722, 611, 833, 722, 778,
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 333, 278, 333, 584, 556,
    333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556, 278, 889, 611, 611,
    611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584,
];

/// As [`REGULAR_LATIN`].
#[rustfmt::skip]
const BOLD_LATIN: [u16; 96] = [
    278, 333, 556, 556, 556, 556, 280, 556, 333, 737, 370, 556, 584, 333, 737, 333,
    400, 584, 333, 333, 333, 611, 556, 278, 333, 333, 365, 556, 834, 834, 834, 611,
    722, 722, 722, 722, 722, 722, 1000, 722, 667, 667, 667, 667, 278, 278, 278, 278,
    722, 722, 778, 778, 778, 778, 778, 584, 778, 722, 722, 722, 722, 667, 667, 611,
    556, 556, 556, 556, 556, 556, 889, 556, 556, 556, 556, 556, 278, 278, 278, 278,
    611, 611, 611, 611, 611, 611, 611, 584, 611, 611, 611, 611, 611, 556, 611, 556,
];

/// The width of an en dash, the same in both weights.
const EN_DASH: u16 = 556;

/// The weight of the letters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Weight {
    Regular,
    Bold,
}

/// The code of a character in the encoding that PDF calls `WinAnsi`, if it has one.
pub(crate) fn win_ansi(c: char) -> Option<u8> {
    match c {
        ' '..='~' | '\u{a0}'..='ÿ' => u8::try_from(u32::from(c)).ok(),
        '–' => Some(0x96),
        _ => None,
    }
}

/// The width of a character in thousandths of the type size, if the fonts have it.
pub(crate) fn letter_width(c: char, weight: Weight) -> Option<u16> {
    let (ascii, latin) = match weight {
        Weight::Regular => (&REGULAR, &REGULAR_LATIN),
        Weight::Bold => (&BOLD, &BOLD_LATIN),
    };
    match win_ansi(c)? {
        0x96 => Some(EN_DASH),
        code @ 32..=126 => ascii.get(usize::from(code - 32)).copied(),
        code => latin.get(usize::from(code.checked_sub(160)?)).copied(),
    }
}
