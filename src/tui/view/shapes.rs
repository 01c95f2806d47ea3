//! The shapes of the strip, and what each becomes on a terminal that has ASCII only.

use ratatui::buffer::Buffer;

use crate::model::vocabulary::Surface;
use crate::present::mark::MarkKind;
use crate::present::strip::Supply;

/// A cell full of tank.
pub(crate) const FULL: &str = "█";
/// A cell filled from below by so many eighths.
pub(crate) const PARTS: [&str; 9] = [" ", "▁", "▂", "▃", "▄", "▅", "▆", "▇", FULL];
/// Fuel in cans.
pub(crate) const CANS: &str = "▒";
/// Fuel of a column that is below the reserve.
pub(crate) const SHORT: &str = "╳";
/// A column without fuel.
pub(crate) const DRY: &str = "!";
/// Fuel in cans that is expected, while 5 % of trips have less.
pub(crate) const CANS_TINT: &str = "░";
/// Fuel in the tank that is expected, while 5 % of trips have less.
pub(crate) const TANK_TINT: &str = "▓";
/// The line that the fuel must stay above: the reserve or the minimum.
pub(crate) const LINE: &str = "┅";
/// The top of the tank.
pub(crate) const TANK_TOP: &str = "╌";
/// The top of the fuel of the plan as saved, while another is tried.
pub(crate) const SAVED: &str = "─";
/// Litres that were read off on the route.
pub(crate) const READ_OFF: &str = "●";
/// Litres after filling.
pub(crate) const FILLED: &str = "○";
/// The border of a day.
pub(crate) const DAY: &str = "┊";
/// The border of a leg.
pub(crate) const LEG: &str = "┼";
/// The cursor through the fuel.
pub(crate) const CURSOR: &str = "│";
/// The cursor on the axis.
pub(crate) const HERE: &str = "▲";
/// A round number on the axis.
pub(crate) const TICK: &str = "╵";
/// A share of soft sand.
pub(crate) const SAND: &str = "░";
/// A share of low range.
pub(crate) const LOW_RANGE: &str = "▚";
/// A share of dunes.
pub(crate) const DUNES: &str = "^";
/// Dunes in low range.
pub(crate) const DUNES_IN_LOW: &str = "∆";
/// Soft sand in low range.
pub(crate) const SAND_IN_LOW: &str = "▓";

/// The sign for a surface.
pub(crate) const fn surface(surface: Surface) -> &'static str {
    match surface {
        Surface::Sealed => "━",
        Surface::Gravel => "∙",
        Surface::Corrugated => "≈",
        Surface::Earth => "-",
        Surface::Rock => "∩",
        Surface::Mud => "~",
        Surface::Salt => "_",
        Surface::Snow => "*",
    }
}

/// A fuel stop that the plan relies on, and one that it does not rely on.
pub(crate) const RELIED_ON: &str = "◆";
pub(crate) const NOT_RELIED_ON: &str = "◇";
/// Decanting a can, and turning back.
pub(crate) const DECANT: &str = "▽";
pub(crate) const TURN_BACK: &str = "◁";

/// The sign for a place, by the fuel there.
pub(crate) const fn place(supply: Supply) -> &'static str {
    match supply {
        Supply::Counted => RELIED_ON,
        Supply::NotCounted => NOT_RELIED_ON,
        Supply::None => "○",
    }
}

/// Something that happens.
pub(crate) const fn mark(kind: MarkKind) -> &'static str {
    match kind {
        MarkKind::RunsDry => DRY,
        MarkKind::BelowReserve | MarkKind::BelowMinimum => SHORT,
        MarkKind::TurnBack { .. } => TURN_BACK,
        MarkKind::Decant { .. } => DECANT,
    }
}

/// Turns every cell into ASCII. A character without a substitute becomes `?`.
pub(crate) fn to_ascii(buf: &mut Buffer) {
    for cell in &mut buf.content {
        if !cell.symbol().is_ascii() {
            let stand_in = ascii(cell.symbol());
            cell.set_symbol(stand_in);
        }
    }
}

fn ascii(symbol: &str) -> &'static str {
    match symbol {
        FULL | "▇" | "▆" | "▅" | "▊" | "▉" | "▋" => "#",
        "▄" | "▃" | "▌" | "▍" | "▎" => "=",
        "▂" | "▁" | "▏" => "_",
        CANS => "%",
        SHORT => "x",
        TANK_TOP => ".",
        DAY | CURSOR | TICK | "├" | "┤" => "|",
        LEG => "+",
        HERE | "↑" => "^",
        SAND => ":",
        LOW_RANGE => "L",
        SAND_IN_LOW => "&",
        DUNES_IN_LOW => "A",
        "━" => "=",
        "∙" | "·" => ".",
        "≈" => "w",
        "∩" => "n",
        "◆" => "@",
        "◇" => "0",
        "○" => "o",
        "◁" | "←" => "<",
        "→" | "▶" => ">",
        "¿" => "?",
        "▽" | "↓" => "v",
        "×" => "x",
        "─" | "–" => "-",
        "■" => "!",
        "✓" => "+",
        "…" | "±" | LINE => "~",
        "●" => "O",
        _ if is_braille(symbol) => braille(symbol),
        _ => "?",
    }
}

fn is_braille(symbol: &str) -> bool {
    symbol
        .chars()
        .next()
        .is_some_and(|c| ('\u{2800}'..='\u{28ff}').contains(&c))
}

/// Dots in the upper half, in the lower one, in both.
fn braille(symbol: &str) -> &'static str {
    /// Bits of the dots of the two upper rows (Unicode, block U+2800).
    const UPPER: u32 = 0x1b;
    let bits = symbol.chars().next().map_or(0, u32::from) & 0xff;
    match (bits & UPPER != 0, bits & !UPPER != 0) {
        (true, true) => ":",
        (true, false) => "'",
        _ => ".",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What can be in one row of the strip stays apart: a fuller cell may look like a full one, no more.
    #[test]
    fn shapes_of_a_row_stay_apart_in_ascii() {
        let half = PARTS[4];
        let fuel = [
            FULL, half, PARTS[1], CANS, SHORT, DRY, CANS_TINT, TANK_TINT, LINE, TANK_TOP, SAVED,
            DAY,
        ];
        let sown = [SAND, LOW_RANGE, SAND_IN_LOW, DUNES, DUNES_IN_LOW, LEG];
        let ground: Vec<&str> = Surface::ALL
            .iter()
            .map(|&s| surface(s))
            .chain(sown)
            .collect();
        let places = [Supply::Counted, Supply::NotCounted, Supply::None].map(place);
        let marks = ["!", SHORT, "◁", "¿", "▽"];
        for row in [&fuel[..], &ground, &places, &marks] {
            let stand_in = |shape: &'static str| {
                if shape.is_ascii() {
                    shape
                } else {
                    ascii(shape)
                }
            };
            let mut shapes: Vec<&str> = row.iter().map(|&shape| stand_in(shape)).collect();
            shapes.sort_unstable();
            let count = shapes.len();
            shapes.dedup();
            assert_eq!(shapes.len(), count, "{row:?}: {shapes:?}");
        }
    }
}
