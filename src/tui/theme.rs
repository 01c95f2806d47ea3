//! Colours by meaning, each doubled by a shape that the view draws.
//!
//! Text stands in the terminal's own colours. Five meanings have a colour: tank, cans, enough, care
//! and short. The true colours are five of Okabe and Ito's eight (Color Universal Design, 2008),
//! which keep apart for colour-blind eyes, each darkened to about 18 % luminance, where WCAG 2's
//! contrast is 4.5 against black and white alike; the cans, which are an area and no text, are
//! lighter. Terminals that do not announce true colour get the sixteen named ones, and `NO_COLOR`
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
    pub fn of(choice: ColorChoice, env: impl Fn(&str) -> Option<String>) -> Self {
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
            (Depth::True, Meaning::Tank) => Color::Rgb(0x00, 0x7b, 0xc0),
            (Depth::True, Meaning::Cans) => Color::Rgb(0x4a, 0x9c, 0xcb),
            (Depth::True, Meaning::Enough) => Color::Rgb(0x00, 0x86, 0x61),
            (Depth::True, Meaning::Care) => Color::Rgb(0x9c, 0x6b, 0x00),
            (Depth::True, Meaning::Short) => Color::Rgb(0xc2, 0x54, 0x00),
        }
    }

    /// Something in the colour of a meaning.
    pub fn fg(self, meaning: Meaning) -> Style {
        Style::new().fg(self.color(meaning))
    }

    /// Something in the colour of a meaning, to be seen first.
    pub fn strong(self, meaning: Meaning) -> Style {
        self.fg(meaning).add_modifier(Modifier::BOLD)
    }
}

/// What stands out: headings, the chosen thing's name.
pub const BOLD: Style = Style::new().add_modifier(Modifier::BOLD);
/// What stands back: lines across, units of an axis.
pub const DIM: Style = Style::new().add_modifier(Modifier::DIM);
/// What is chosen.
pub const CHOSEN: Style = Style::new().add_modifier(Modifier::REVERSED);

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

    /// WCAG 2: 4.5 for text (success criterion 1.4.3), 3 for graphics (1.4.11).
    #[test]
    fn colours_stand_out_on_black_and_on_white() {
        for meaning in Meaning::ALL {
            let l = luminance(Theme::new(Depth::True).color(meaning));
            let least = if meaning == Meaning::Cans { 3.0 } else { 4.5 };
            let (on_black, on_white) = ((l + 0.05) / 0.05, 1.05 / (l + 0.05));
            assert!(
                on_black >= least && on_white >= least,
                "{meaning:?} {on_black} {on_white}"
            );
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
