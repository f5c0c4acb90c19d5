//! Which style says what.

use ratatui::style::{Color, Modifier, Style};

/// The styles of the screen by what they say. No style sets a background; the terminal keeps its own.
///
/// Every difference that a colour makes is also made by a word, a glyph or a place. Text never takes a colour: it is
/// read best in the terminal's own foreground, and no colour is read well on white and on black alike. Marks, lines and
/// signs drawn large take one of two: [`Theme::target`] and [`Theme::voice`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Theme {
    /// Ordinary text.
    pub plain: Style,
    /// What matters now: headings, the note asked for.
    pub strong: Style,
    /// What is there for orientation only: rules, scales, labels.
    pub faint: Style,
    /// Marks of the target: its band, its tab drawn large. Not for text.
    pub target: Style,
    /// Marks of the player's own pitch. Not for text.
    pub voice: Style,
    /// A key in the key line.
    pub key: Style,
    /// What is chosen in a list.
    pub chosen: Style,
    /// A warning.
    pub warning: Style,
}

/// The blue of the target and the orange of the player, out of the 256 colours of xterm, which nearly every terminal
/// has and shows alike: #0087d7 and #d75f00. Each has a contrast of at least 3 : 1 on the backgrounds of the usual
/// light and dark palettes, as WCAG 2.1 (1.4.11) asks of graphics. Of the sixteen colours that a palette may change, no
/// blue and no yellow has that contrast everywhere; the tests below work it out.
const BLUE: Color = Color::Indexed(32);
const ORANGE: Color = Color::Indexed(166);

impl Theme {
    /// The terminal's own colours with one blue (the target) and one orange (the player).
    pub const COLOUR: Self = Self {
        plain: Style::new(),
        strong: Style::new().add_modifier(Modifier::BOLD),
        faint: Style::new().add_modifier(Modifier::DIM),
        target: Style::new().fg(BLUE),
        voice: Style::new().fg(ORANGE).add_modifier(Modifier::BOLD),
        key: Style::new().add_modifier(Modifier::BOLD),
        chosen: Style::new().add_modifier(Modifier::REVERSED),
        warning: Style::new().add_modifier(Modifier::BOLD.union(Modifier::UNDERLINED)),
    };

    /// No colour at all: bold, dim, reverse and underline only.
    pub const MONO: Self =
        Self { target: Style::new(), voice: Style::new().add_modifier(Modifier::BOLD), ..Self::COLOUR };

    /// The theme of this name, as written in the configuration.
    pub fn named(name: &str) -> Option<Self> {
        Self::all().into_iter().find(|(known, _)| *known == name).map(|(_, theme)| theme)
    }

    /// Every theme with its name, the default first.
    pub fn all() -> [(&'static str, Self); 2] {
        [("default", Self::COLOUR), ("mono", Self::MONO)]
    }
}

impl Default for Theme {
    fn default() -> Self {
        Self::COLOUR
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    type Rgb = (u8, u8, u8);

    /// What a palette makes of the colours in question: the eight plain ones and the eight bright ones, in the order of
    /// ECMA-48 (black, red, green, yellow, blue, magenta, cyan, white), and the backgrounds it is used on.
    struct Palette {
        name: &'static str,
        colours: [u32; 16],
        backgrounds: [u32; 2],
    }

    /// Palettes that come with terminals, from memory: xterm's own (XTerm-col.ad), that of VGA's text mode, Tango's
    /// (the desktop guidelines of 2004) and Solarized (Schoonover, 2011) in its light and its dark form.
    const PALETTES: [Palette; 4] = [
        Palette {
            name: "xterm",
            colours: [
                0x00_0000, 0xcd_0000, 0x00_cd00, 0xcd_cd00, 0x00_00ee, 0xcd_00cd, 0x00_cdcd, 0xe5_e5e5,
                0x7f_7f7f, 0xff_0000, 0x00_ff00, 0xff_ff00, 0x5c_5cff, 0xff_00ff, 0x00_ffff, 0xff_ffff,
            ],
            backgrounds: [0x00_0000, 0xff_ffff],
        },
        Palette {
            name: "VGA",
            colours: [
                0x00_0000, 0xaa_0000, 0x00_aa00, 0xaa_5500, 0x00_00aa, 0xaa_00aa, 0x00_aaaa, 0xaa_aaaa,
                0x55_5555, 0xff_5555, 0x55_ff55, 0xff_ff55, 0x55_55ff, 0xff_55ff, 0x55_ffff, 0xff_ffff,
            ],
            backgrounds: [0x00_0000, 0xff_ffff],
        },
        Palette {
            name: "Tango",
            colours: [
                0x2e_3436, 0xcc_0000, 0x4e_9a06, 0xc4_a000, 0x34_65a4, 0x75_507b, 0x06_989a, 0xd3_d7cf,
                0x55_5753, 0xef_2929, 0x8a_e234, 0xfc_e94f, 0x72_9fcf, 0xad_7fa8, 0x34_e2e2, 0xee_eeec,
            ],
            backgrounds: [0x2e_3436, 0xee_eeec],
        },
        Palette {
            name: "Solarized",
            colours: [
                0x07_3642, 0xdc_322f, 0x85_9900, 0xb5_8900, 0x26_8bd2, 0xd3_3682, 0x2a_a198, 0xee_e8d5,
                0x00_2b36, 0xcb_4b16, 0x58_6e75, 0x65_7b83, 0x83_9496, 0x6c_71c4, 0x93_a1a1, 0xfd_f6e3,
            ],
            backgrounds: [0x00_2b36, 0xfd_f6e3],
        },
    ];

    fn rgb(value: u32) -> Rgb {
        let [_, red, green, blue] = value.to_be_bytes();
        (red, green, blue)
    }

    /// A colour of xterm's cube of 6 × 6 × 6 (256colres.pl, from memory): the levels are 0 and 95 to 255 in
    /// steps of 40.
    fn of_cube(index: u8) -> Rgb {
        let place = index - 16;
        let level = |step: u8| if step == 0 { 0 } else { 55 + 40 * step };
        (level(place / 36), level(place / 6 % 6), level(place % 6))
    }

    /// Relative luminance (WCAG 2.1).
    fn luminance((red, green, blue): Rgb) -> f64 {
        let linear = |byte: u8| {
            let share = f64::from(byte) / 255.0;
            if share <= 0.040_45 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)
    }

    /// Contrast (WCAG 2.1): from 1 to 21.
    fn contrast(a: Rgb, b: Rgb) -> f64 {
        let (a, b) = (luminance(a) + 0.05, luminance(b) + 0.05);
        a.max(b) / a.min(b)
    }

    /// The least contrast of a mark on the background of any palette, and where that is.
    fn worst(colour: impl Fn(&Palette) -> Rgb) -> (f64, &'static str) {
        let all = PALETTES.iter().flat_map(|palette| {
            let mark = colour(palette);
            palette.backgrounds.map(|background| (contrast(mark, rgb(background)), palette.name))
        });
        all.min_by(|a, b| a.0.total_cmp(&b.0)).unwrap()
    }

    /// Black on white is 21 : 1, and #777777 on white 4.48 : 1 (WCAG 2.1, understanding 1.4.3).
    #[test]
    fn contrast_is_that_of_wcag() {
        assert!((contrast((0, 0, 0), (255, 255, 255)) - 21.0).abs() < 1e-9);
        assert!((contrast((0x77, 0x77, 0x77), (255, 255, 255)) - 4.48).abs() < 0.01);
    }

    #[test]
    fn text_takes_no_colour() {
        for (name, theme) in Theme::all() {
            let Theme { plain, strong, faint, key, chosen, warning, .. } = theme;
            for style in [plain, strong, faint, key, chosen, warning] {
                assert_eq!((style.fg, style.bg), (None, None), "{name}");
            }
        }
    }

    #[test]
    fn marks_are_seen_on_every_usual_background() {
        for style in [Theme::COLOUR.target, Theme::COLOUR.voice] {
            let Some(Color::Indexed(index)) = style.fg else { panic!("{style:?}") };
            let (least, palette) = worst(|_| of_cube(index));
            assert!(least >= 3.0, "colour {index} has {least:.2} : 1 in {palette}");
        }
    }

    /// Why the colours are none of the sixteen: what each of those comes to in the worst case.
    #[test]
    fn no_blue_and_no_yellow_of_the_sixteen_is_seen_everywhere() {
        for (name, index, expected) in [
            ("yellow", 3, 1.70),
            ("light yellow", 11, 1.07),
            ("blue", 4, 1.58),
            ("light blue", 12, 2.39),
            ("cyan", 6, 1.98),
        ] {
            let (least, palette) = worst(|palette| rgb(palette.colours[index]));
            assert!(least < 3.0 && (least - expected).abs() < 0.02, "{name}: {least:.2} : 1 in {palette}");
        }
    }
}
