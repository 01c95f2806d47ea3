//! Colours by meaning, each doubled by a shape that the view draws.
//!
//! Text stands in the terminal's own colours. Five meanings have a colour: tank, cans, enough, care
//! and short; words in such a colour are few and bold. The true colours are blues, a bluish green, an
//! orange and a red, as far apart for colour-blind eyes as a search found them among those that stand
//! out at 4.5 to 1 on black and on white alike (WCAG 2, text). Terminals that do not announce true colour get the
//! sixteen named ones; what those look like is the terminal's affair, and yellow, green or cyan words can often not be
//! read on a light ground, so that there shapes are coloured and of the words only the red ones. `NO_COLOR`
//! (no-color.org) leaves bold, dim and reversed.

use ratatui::style::{Color, Modifier, Style};

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

/// What the terminal can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// No colour.
    None,
    /// The sixteen named colours.
    Named,
    /// 24 bits.
    True,
}

impl Depth {
    /// The depth by the user's choice, then `NO_COLOR`, then `COLORTERM`.
    pub(crate) fn of(choice: ColorChoice, env: impl Fn(&str) -> Option<String>) -> Self {
        let set = |name| env(name).is_some_and(|value| !value.is_empty());
        if choice == ColorChoice::Never || (choice == ColorChoice::Auto && set("NO_COLOR")) {
            return Self::None;
        }
        match env("COLORTERM").as_deref() {
            Some("truecolor" | "24bit") => Self::True,
            _ => Self::Named,
        }
    }
}

/// What a colour means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// Fuel in the tank.
    Tank,
    /// Fuel in cans.
    Cans,
    /// Enough.
    Enough,
    /// Mind this.
    Care,
    /// Not enough.
    Short,
}

impl Meaning {
    /// Every meaning.
    pub const ALL: [Self; 5] = [
        Self::Tank,
        Self::Cans,
        Self::Enough,
        Self::Care,
        Self::Short,
    ];
}

/// The colours of one terminal.
#[derive(Clone, Copy, Debug)]
pub struct Theme {
    depth: Depth,
}

impl Theme {
    /// The theme for what the terminal can show.
    pub const fn new(depth: Depth) -> Self {
        Self { depth }
    }

    /// The colour of a meaning.
    pub const fn color(self, meaning: Meaning) -> Color {
        match (self.depth, meaning) {
            (Depth::None, _) => Color::Reset,
            (Depth::Named, Meaning::Tank) => Color::Blue,
            (Depth::Named, Meaning::Cans) => Color::Cyan,
            (Depth::Named, Meaning::Enough) => Color::Green,
            (Depth::Named, Meaning::Care) => Color::Yellow,
            (Depth::Named, Meaning::Short) => Color::Red,
            (Depth::True, Meaning::Tank) => Color::Rgb(0x00, 0x6c, 0xf8),
            (Depth::True, Meaning::Cans) => Color::Rgb(0x0c, 0x7c, 0xb8),
            (Depth::True, Meaning::Enough) => Color::Rgb(0x00, 0x84, 0x74),
            (Depth::True, Meaning::Care) => Color::Rgb(0xb4, 0x60, 0x10),
            (Depth::True, Meaning::Short) => Color::Rgb(0xe8, 0x10, 0x48),
        }
    }

    /// A shape in the colour of a meaning.
    pub(crate) fn fg(self, meaning: Meaning) -> Style {
        Style::new().fg(self.color(meaning))
    }

    /// Words in the colour of a meaning, where they can be read in it.
    pub(crate) fn words(self, meaning: Meaning) -> Style {
        match (self.depth, meaning) {
            (Depth::Named, Meaning::Short) | (Depth::True, _) => self.strong(meaning),
            _ => BOLD,
        }
    }

    /// A shape in the colour of a meaning, to be seen first.
    pub(crate) fn strong(self, meaning: Meaning) -> Style {
        self.fg(meaning).add_modifier(Modifier::BOLD)
    }
}

/// What stands out: headings, the chosen thing's name.
pub(crate) const BOLD: Style = Style::new().add_modifier(Modifier::BOLD);
/// What stands back: lines across, units of an axis.
pub(crate) const DIM: Style = Style::new().add_modifier(Modifier::DIM);
/// What is chosen.
pub(crate) const CHOSEN: Style = Style::new().add_modifier(Modifier::REVERSED);

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance, WCAG 2.
    fn luminance(color: Color) -> f64 {
        let Color::Rgb(r, g, b) = color else {
            panic!("a true colour, got {color}")
        };
        let linear = |channel: u8| {
            let c = f64::from(channel) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b)
    }

    /// WCAG 2, success criterion 1.4.3.
    #[test]
    fn colours_stand_out_on_black_and_on_white() {
        for meaning in Meaning::ALL {
            let l = luminance(Theme::new(Depth::True).color(meaning));
            let (on_black, on_white) = ((l + 0.05) / 0.05, 1.05 / (l + 0.05));
            assert!(
                on_black >= 4.5 && on_white >= 4.5,
                "{meaning:?} {on_black} {on_white}"
            );
        }
    }

    /// Colours as eyes without the second or the first kind of cones see them: Viénot, Brettel and
    /// Mollon (1999), in linear light, matrices for sRGB from memory.
    #[test]
    fn meanings_keep_apart_for_colour_blind_eyes() {
        const SEEN_BY: [[[f64; 3]; 3]; 2] = [
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
        ];
        let seen = |meaning, by: &[[f64; 3]; 3]| {
            let Color::Rgb(r, g, b) = Theme::new(Depth::True).color(meaning) else {
                panic!("a true colour")
            };
            let light = [r, g, b].map(|channel| (f64::from(channel) / 255.0).powf(2.2));
            by.map(|row| {
                let sum: f64 = row
                    .iter()
                    .zip(light)
                    .map(|(part, light)| part * light)
                    .sum();
                255.0 * sum.clamp(0.0, 1.0).powf(1.0 / 2.2)
            })
        };
        for by in &SEEN_BY {
            for (nth, &one) in Meaning::ALL.iter().enumerate() {
                for &other in &Meaning::ALL[nth + 1..] {
                    let (a, b) = (seen(one, by), seen(other, by));
                    let apart = a
                        .iter()
                        .zip(b)
                        .map(|(a, b)| (a - b).powi(2))
                        .sum::<f64>()
                        .sqrt();
                    assert!(apart > 40.0, "{one:?} and {other:?}: {apart:.0} of 255");
                }
            }
        }
    }

    #[test]
    fn the_choice_beats_the_environment() {
        let env = |no_color: &'static str, colorterm: &'static str| {
            move |name: &str| match name {
                "NO_COLOR" => Some(no_color.to_owned()),
                "COLORTERM" => Some(colorterm.to_owned()),
                _ => None,
            }
        };
        assert_eq!(
            Depth::of(ColorChoice::Auto, env("", "truecolor")),
            Depth::True
        );
        assert_eq!(
            Depth::of(ColorChoice::Auto, env("1", "truecolor")),
            Depth::None
        );
        assert_eq!(Depth::of(ColorChoice::Always, env("1", "")), Depth::Named);
        assert_eq!(Depth::of(ColorChoice::Never, env("", "24bit")), Depth::None);
        assert_eq!(Depth::of(ColorChoice::Auto, |_| None), Depth::Named);
    }
}
