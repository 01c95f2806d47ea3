//! Colours by meaning, each doubled by a shape that the view draws.
//!
//! Text has the terminal's own colours. Four meanings have a colour, the same one wherever they appear: fuel in the tank,
//! fuel in cans, short of a limit or a target, and turning back. Tank and cans have a tint beside their full tone, for fuel
//! that one trip in twenty no longer has. There is a palette for dark and one for light ground, each for true colour, for the
//! 256 and for the 16 colours of a terminal; `NO_COLOR` (no-color.org) leaves bold, dim and reversed, and textures in place
//! of tones.

use ratatui::style::{Color, Modifier, Style};

use crate::platform::Platform;
use crate::present::answers::Sign;

/// When to use colour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ColorChoice {
    /// Unless `NO_COLOR` is set.
    #[default]
    Auto,
    /// Even then.
    Always,
    /// Not at all.
    Never,
}

/// The colours that the terminal can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// No colour.
    None,
    /// The sixteen named colours.
    Named,
    /// The 256 colours of xterm.
    Indexed,
    /// 24 bits.
    True,
}

impl Depth {
    /// The depth by the user's choice, then `NO_COLOR`, `COLORTERM` and `TERM`.
    pub(crate) fn from_env(
        choice: ColorChoice,
        platform: Platform,
        env: impl Fn(&str) -> Option<String>,
    ) -> Self {
        let set = |name| env(name).is_some_and(|value| !value.is_empty());
        if choice == ColorChoice::Never || (choice == ColorChoice::Auto && set("NO_COLOR")) {
            return Self::None;
        }
        let term = env("TERM").unwrap_or_default();
        match env("COLORTERM").as_deref() {
            Some("truecolor" | "24bit") => Self::True,
            // The consoles of Windows have no name, and show every colour since 2017 (from memory).
            _ if term.is_empty() && platform == Platform::Windows => Self::True,
            _ if term.contains("256color") => Self::Indexed,
            _ if is_monochrome(&term) && choice == ColorChoice::Auto => Self::None,
            _ => Self::Named,
        }
    }
}

/// Whether a terminal of that name has no colours (terminfo's own names; from memory).
fn is_monochrome(term: &str) -> bool {
    let is_old = ["vt100", "vt102", "vt220", "vt320", "dumb"].contains(&term);
    is_old || term.ends_with("-m") || term.ends_with("-mono")
}

/// The ground that a terminal writes on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ground {
    /// Black or nearly so.
    #[default]
    Dark,
    /// White or nearly so.
    Light,
}

/// What a colour means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// Fuel in the tank.
    Tank,
    /// Fuel in cans.
    Cans,
    /// Below the reserve, over a limit, not to go.
    Short,
    /// Deciding and turning back.
    TurnBack,
}

impl Meaning {
    /// Every meaning.
    pub const ALL: [Self; 4] = [Self::Tank, Self::Cans, Self::Short, Self::TurnBack];
}

/// One palette: tank, cans, short, turn back, then the tints of tank and cans.
type Palette = [Color; 6];

const fn rgb(hex: u32) -> Color {
    let [_, r, g, b] = hex.to_be_bytes();
    Color::Rgb(r, g, b)
}

const DARK: Palette = [
    rgb(0x2f_86_ea),
    rgb(0xff_c2_47),
    rgb(0xff_5f_57),
    rgb(0xd7_af_ff),
    rgb(0x1b_4a_80),
    rgb(0x8e_6c_20),
];
const LIGHT: Palette = [
    rgb(0x0a_58_b0),
    rgb(0xbe_7d_00),
    rgb(0xb3_00_1b),
    rgb(0x86_31_6b),
    rgb(0x74_a1_d6),
    rgb(0xe6_c4_72),
];
const DARK_INDEXED: Palette = [
    Color::Indexed(33),
    Color::Indexed(214),
    Color::Indexed(203),
    Color::Indexed(183),
    Color::Indexed(24),
    Color::Indexed(136),
];
const LIGHT_INDEXED: Palette = [
    Color::Indexed(25),
    Color::Indexed(136),
    Color::Indexed(124),
    Color::Indexed(89),
    Color::Indexed(68),
    Color::Indexed(180),
];
const DARK_NAMED: Palette = [
    Color::LightBlue,
    Color::LightYellow,
    Color::LightRed,
    Color::LightMagenta,
    Color::Blue,
    Color::Yellow,
];
const LIGHT_NAMED: Palette = [
    Color::Blue,
    Color::Yellow,
    Color::Red,
    Color::Magenta,
    Color::LightBlue,
    Color::LightYellow,
];

/// The colours of one terminal.
#[derive(Clone, Copy, Debug)]
pub struct Theme {
    depth: Depth,
    ground: Ground,
    is_ascii: bool,
}

impl Theme {
    /// The theme for what the terminal can show, on dark ground.
    pub const fn new(depth: Depth) -> Self {
        Self {
            depth,
            ground: Ground::Dark,
            is_ascii: false,
        }
    }

    /// The theme for ASCII alone.
    #[must_use]
    pub const fn ascii(self, is_ascii: bool) -> Self {
        Self { is_ascii, ..self }
    }

    /// Whether only ASCII may be used.
    pub(crate) const fn is_ascii(self) -> bool {
        self.is_ascii
    }

    /// The theme on another ground.
    #[must_use]
    pub const fn on(self, ground: Ground) -> Self {
        Self { ground, ..self }
    }

    /// Whether it has colours.
    pub(crate) const fn is_coloured(self) -> bool {
        !matches!(self.depth, Depth::None)
    }

    /// Whether tones are distinguished by textures, not by colour.
    pub(crate) const fn is_textured(self) -> bool {
        self.is_ascii || matches!(self.depth, Depth::None)
    }

    /// The sign before an answer.
    pub(crate) const fn sign(self, sign: Sign) -> &'static str {
        match (sign, self.is_ascii) {
            (Sign::None, _) => "",
            (Sign::Met, false) => "✓",
            (Sign::Met, true) => "OK",
            (Sign::Missed, false) => "■",
            (Sign::Missed, true) => "!!",
        }
    }

    const fn palette(self) -> Palette {
        match (self.depth, self.ground) {
            (Depth::None, _) => [Color::Reset; 6],
            (Depth::Named, Ground::Dark) => DARK_NAMED,
            (Depth::Named, Ground::Light) => LIGHT_NAMED,
            (Depth::Indexed, Ground::Dark) => DARK_INDEXED,
            (Depth::Indexed, Ground::Light) => LIGHT_INDEXED,
            (Depth::True, Ground::Dark) => DARK,
            (Depth::True, Ground::Light) => LIGHT,
        }
    }

    /// The colour of a meaning.
    pub const fn color(self, meaning: Meaning) -> Color {
        self.palette()[meaning as usize]
    }

    /// The tint of fuel in the tank or in cans; other meanings have none and keep their colour.
    pub const fn tint(self, meaning: Meaning) -> Color {
        match meaning {
            Meaning::Tank => self.palette()[4],
            Meaning::Cans => self.palette()[5],
            Meaning::Short | Meaning::TurnBack => self.color(meaning),
        }
    }

    /// A shape in the colour of a meaning.
    pub(crate) const fn fg(self, meaning: Meaning) -> Style {
        Style::new().fg(self.color(meaning))
    }

    /// Words in the colour of a meaning, where they can be read in it.
    pub(crate) const fn words(self, meaning: Meaning) -> Style {
        match (meaning, self.ground) {
            (Meaning::Tank, _) | (Meaning::Cans, Ground::Light) => BOLD,
            _ => self.strong(meaning),
        }
    }

    /// A shape in the colour of a meaning, to be seen first.
    pub(crate) const fn strong(self, meaning: Meaning) -> Style {
        self.fg(meaning).add_modifier(Modifier::BOLD)
    }

    /// A line drawn over fuel.
    pub(crate) const fn line_over(self, meaning: Meaning) -> Color {
        match (self.depth, meaning) {
            (Depth::None, _) => Color::Reset,
            (_, Meaning::Cans) => Color::Black,
            _ => Color::White,
        }
    }
}

/// What is emphasised: headings, the chosen thing's name.
pub(crate) const BOLD: Style = Style::new().add_modifier(Modifier::BOLD);
/// What is dimmed: lines across, units of an axis.
pub(crate) const DIM: Style = Style::new().add_modifier(Modifier::DIM);
/// What is chosen.
pub(crate) const CHOSEN: Style = Style::new().add_modifier(Modifier::REVERSED);
/// What belongs to the chosen leg.
pub(crate) const OF_CHOSEN_LEG: Style = Style::new().add_modifier(Modifier::UNDERLINED);

#[cfg(test)]
mod tests {
    use super::*;

    /// Grounds that terminals have by default (common practice, no source), dark and light.
    const GROUNDS: [(Ground, [Color; 2]); 2] = [
        (Ground::Dark, [rgb(0x00_00_00), rgb(0x1e_1e_1e)]),
        (Ground::Light, [rgb(0xff_ff_ff), rgb(0xfd_f6_e3)]),
    ];

    /// Red, green and blue; of the 256 colours those of xterm's cube, six steps a channel.
    fn channels(color: Color) -> [u8; 3] {
        match color {
            Color::Rgb(r, g, b) => [r, g, b],
            Color::Indexed(n) => {
                let steps = [0, 95, 135, 175, 215, 255];
                let n = usize::from(n) - 16;
                [n / 36, n / 6 % 6, n % 6].map(|step| steps[step])
            }
            other => panic!("a colour of known channels, got {other}"),
        }
    }

    /// Relative luminance, WCAG 2.
    fn luminance(color: Color) -> f64 {
        let linear = |channel: u8| {
            let c = f64::from(channel) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        let [r, g, b] = channels(color).map(linear);
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    /// Contrast, WCAG 2.
    fn contrast(one: Color, other: Color) -> f64 {
        let (one, other) = (luminance(one) + 0.05, luminance(other) + 0.05);
        one.max(other) / one.min(other)
    }

    /// WCAG 2, success criteria 1.4.3 (text, 4.5 to 1) and 1.4.11 (shapes, 3 to 1).
    #[test]
    fn colours_stand_out_from_their_ground() {
        for depth in [Depth::Indexed, Depth::True] {
            for (ground, backgrounds) in GROUNDS {
                let theme = Theme::new(depth).on(ground);
                for meaning in Meaning::ALL {
                    let is_written = theme.words(meaning) != BOLD;
                    let least = if is_written { 4.5 } else { 3.0 };
                    for background in backgrounds {
                        let found = contrast(theme.color(meaning), background);
                        assert!(found >= least, "{depth:?} {ground:?} {meaning:?}: {found}");
                    }
                }
            }
        }
    }

    /// Tints against the ground, the full tone of the same fuel, and each other: 1.5 to 1.
    #[test]
    fn tints_differ_from_ground_tone_and_each_other() {
        for depth in [Depth::Indexed, Depth::True] {
            for (ground, backgrounds) in GROUNDS {
                let theme = Theme::new(depth).on(ground);
                let [tank, cans] = [Meaning::Tank, Meaning::Cans];
                let mut pairs = vec![(theme.tint(tank), theme.tint(cans))];
                for meaning in [tank, cans] {
                    pairs.push((theme.tint(meaning), theme.color(meaning)));
                    pairs.extend(backgrounds.map(|background| (theme.tint(meaning), background)));
                }
                for (one, other) in pairs {
                    let found = contrast(one, other);
                    assert!(found >= 1.5, "{depth:?} {ground:?} {one} {other}: {found}");
                }
            }
        }
    }

    /// Colours as eyes without one kind of cones see them: Viénot, Brettel and Mollon (1999) for the first two, Brettel,
    /// Viénot and Mollon (1997) simplified to one plane for the third, in linear light; matrices for sRGB from memory.
    #[test]
    fn meanings_differ_for_colour_blind_eyes() {
        const SEEN_BY: [[[f64; 3]; 3]; 3] = [
            [
                [0.292_75, 0.707_25, 0.0],
                [0.292_75, 0.707_25, 0.0],
                [-0.022_34, 0.022_34, 1.0],
            ],
            [
                [0.112_38, 0.887_62, 0.0],
                [0.112_38, 0.887_62, 0.0],
                [0.004_01, -0.004_01, 1.0],
            ],
            [
                [1.0, 0.127_40, -0.127_40],
                [0.0, 0.873_91, 0.126_09],
                [0.0, 0.873_91, 0.126_09],
            ],
        ];
        let seen = |color: Color, by: &[[f64; 3]; 3]| {
            let light = channels(color).map(|channel| (f64::from(channel) / 255.0).powf(2.2));
            by.map(|row| {
                let sum: f64 = row
                    .iter()
                    .zip(light)
                    .map(|(part, light)| part * light)
                    .sum();
                255.0 * sum.clamp(0.0, 1.0).powf(1.0 / 2.2)
            })
        };
        for depth in [Depth::Indexed, Depth::True] {
            for ground in [Ground::Dark, Ground::Light] {
                let theme = Theme::new(depth).on(ground);
                for by in &SEEN_BY {
                    for (nth, &one) in Meaning::ALL.iter().enumerate() {
                        for &other in &Meaning::ALL[nth + 1..] {
                            let [a, b] = [one, other].map(|meaning| seen(theme.color(meaning), by));
                            let squares = a.iter().zip(b).map(|(a, b)| (a - b).powi(2));
                            let apart = squares.sum::<f64>().sqrt();
                            assert!(
                                apart > 40.0,
                                "{depth:?} {ground:?} {one:?} {other:?}: {apart:.0} of 255"
                            );
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn the_choice_precedes_the_environment() {
        let of = |choice, [no_color, colorterm, term]: [&str; 3]| {
            Depth::from_env(choice, Platform::Unix, |name| match name {
                "NO_COLOR" => Some(no_color.to_owned()),
                "COLORTERM" => Some(colorterm.to_owned()),
                "TERM" => Some(term.to_owned()),
                _ => None,
            })
        };
        assert_eq!(of(ColorChoice::Auto, ["", "truecolor", ""]), Depth::True);
        assert_eq!(of(ColorChoice::Auto, ["1", "truecolor", ""]), Depth::None);
        assert_eq!(of(ColorChoice::Always, ["1", "", ""]), Depth::Named);
        assert_eq!(of(ColorChoice::Never, ["", "24bit", ""]), Depth::None);
        assert_eq!(
            of(ColorChoice::Auto, ["", "", "xterm-256color"]),
            Depth::Indexed
        );
        assert_eq!(of(ColorChoice::Auto, ["", "", "xterm"]), Depth::Named);
        assert_eq!(of(ColorChoice::Auto, ["", "", "vt100"]), Depth::None);
        assert_eq!(of(ColorChoice::Always, ["", "", "vt100"]), Depth::Named);
        let nameless = |platform| Depth::from_env(ColorChoice::Auto, platform, |_| None);
        assert_eq!(nameless(Platform::Unix), Depth::Named);
        assert_eq!(nameless(Platform::Windows), Depth::True);
    }
}
