//! The legend: what was drawn without words beside it, and nothing else.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use crate::tui::theme::DIM;
use crate::tui::view::text::{columns, past, write};

/// What the legend must explain.
#[derive(Clone, Debug, Default)]
pub(crate) struct Seen {
    /// Shapes with their meaning, in order.
    entries: Vec<(&'static str, &'static str, Style)>,
}

impl Seen {
    pub(super) fn add(&mut self, shape: &'static str, meaning: &'static str, style: Style) {
        if !self.entries.iter().any(|(_, known, _)| *known == meaning) {
            self.entries.push((shape, meaning, style));
        }
    }

    /// Writes the legend into a row, as far as whole entries fit, with `…` where some do not.
    pub(crate) fn render(&self, area: Rect, buf: &mut Buffer) {
        let mut used = 0;
        for (shape, meaning, style) in &self.entries {
            let width = columns(shape) + 1 + columns(meaning);
            if used + width > area.width {
                // The list of keys explains them all.
                write(buf, past(area, used), "…", DIM);
                break;
            }
            let shape_columns = write(buf, past(area, used), shape, *style);
            write(buf, past(area, used + shape_columns + 1), meaning, DIM);
            used += width + 2;
        }
    }
}
