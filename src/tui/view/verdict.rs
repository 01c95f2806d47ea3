//! Whether the fuel gets there, in one row.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::State;
use super::super::theme::{Meaning, Theme};
use super::text::write_all;
use crate::plan::Verdict;
use crate::present::number::Toward;
use crate::quantity::{Kilometres, Litres};

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let (shape, word, meaning) = match state.plan().verdict() {
        Verdict::TankDoes | Verdict::CansDo => ("✓", "GO", Meaning::Enough),
        Verdict::Overloaded => ("▲", "OVERLOADED", Meaning::Care),
        Verdict::FuelShort(_) => ("■", "SHORT", Meaning::Short),
    };
    let head = format!("{shape} {word}  ");
    let says = format!("{}{}", sentence(state), least_left(state));
    write_all(
        buf,
        area,
        [
            (head.as_str(), theme.strong(meaning)),
            (says.as_str(), Style::new()),
        ],
    );
}

/// Where least is left over the reserve.
fn least_left(state: &State) -> String {
    let units = state.units();
    let Some(worst) = state
        .strip()
        .worst(Kilometres::ZERO..state.strip().length())
    else {
        return String::new();
    };
    let at = units.at(worst.at, Toward::Nearest);
    if worst.margin() < Litres::ZERO {
        let missing = units.fuel(-worst.margin(), Toward::Up);
        format!(" · {missing} under the reserve at {at}")
    } else {
        let left = units.fuel(worst.margin(), Toward::Down);
        format!(" · at the least {left} over the reserve, at {at}")
    }
}

fn sentence(state: &State) -> String {
    let units = state.units();
    match state.plan().verdict() {
        Verdict::TankDoes => "the tank alone gets there".to_owned(),
        Verdict::CansDo => "gets there with the cans".to_owned(),
        Verdict::Overloaded => "the fuel gets there, a load limit is broken".to_owned(),
        Verdict::FuelShort(short) => {
            format!("{} short", units.fuel(short, Toward::Up))
        }
    }
}
