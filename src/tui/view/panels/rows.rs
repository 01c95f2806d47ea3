//! The rows of a panel: spans in their styles, as wide as the panel, the head that stays above them, and which of them belong
//! to what is chosen.

use std::ops::Range;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::Window;
use crate::tui::view::text::{below, columns, past, row, wrap, write};

/// Text in one style at a column of its row.
#[derive(Clone, Debug)]
struct Span {
    column: u16,
    text: String,
    style: Style,
}

/// One row, its spans from left to right.
#[derive(Clone, Debug, Default)]
pub(super) struct PanelRow {
    spans: Vec<Span>,
}

impl PanelRow {
    /// A row of one span.
    pub(super) fn new(text: impl Into<String>, style: Style) -> Self {
        Self::default().at(0, text, style)
    }

    /// The row with a span that begins at a column.
    #[must_use]
    pub(super) fn at(mut self, column: u16, text: impl Into<String>, style: Style) -> Self {
        let text = text.into();
        self.spans.push(Span {
            column,
            text,
            style,
        });
        self
    }

    /// The row with a span that ends before a column.
    #[must_use]
    pub(super) fn before(self, column: u16, text: impl Into<String>, style: Style) -> Self {
        let text = text.into();
        let from = column.saturating_sub(columns(&text));
        self.at(from, text, style)
    }

    fn draw(&self, place: Rect, buf: &mut Buffer) {
        for span in &self.spans {
            write(buf, past(place, span.column), &span.text, span.style);
        }
    }
}

/// Rows from which on a panel has room for the head of its table.
const WITH_HEAD: u16 = 3;

/// The rows of a panel.
#[derive(Clone, Debug)]
pub(super) struct Rows {
    width: u16,
    head: Option<PanelRow>,
    all: Vec<PanelRow>,
    chosen: Option<Range<usize>>,
}

impl Rows {
    /// No rows yet, `width` columns wide.
    pub(super) const fn new(width: u16) -> Self {
        Self {
            width,
            head: None,
            all: Vec::new(),
            chosen: None,
        }
    }

    pub(super) const fn width(&self) -> u16 {
        self.width
    }

    /// Sets the head of a table, which stays in sight wherever the rows are scrolled to.
    pub(super) fn set_head(&mut self, row: PanelRow) {
        self.head = Some(row);
    }

    pub(super) fn push(&mut self, row: PanelRow) {
        self.all.push(row);
    }

    /// A text in as many rows as it needs.
    pub(super) fn words(&mut self, text: &str, style: Style) {
        self.indented(0, text, style);
    }

    /// A text from a column on, in as many rows as it needs.
    pub(super) fn indented(&mut self, indent: u16, text: &str, style: Style) {
        for line in wrap(text, self.width.saturating_sub(indent)) {
            self.push(PanelRow::default().at(indent, line, style));
        }
    }

    /// A shape in its style, and a text beside it in as many rows as it needs.
    pub(super) fn entry(&mut self, shape: &str, style: Style, text: &str) {
        let indent = columns(shape) + 1;
        let from = self.all.len();
        self.indented(indent, text, Style::new());
        if let Some(first) = self.all.get_mut(from) {
            *first = std::mem::take(first).at(0, shape, style);
        }
    }

    /// Marks the rows since `from` as those of what is chosen.
    pub(super) fn choose_since(&mut self, from: usize) {
        self.chosen = Some(from..self.all.len().max(from + 1));
    }

    pub(super) fn chosen(&self) -> Option<Range<usize>> {
        self.chosen.clone()
    }

    pub(super) const fn len(&self) -> usize {
        self.all.len()
    }

    /// The part of a panel's area below the head.
    pub(super) fn under_head(&self, area: Rect) -> Rect {
        match self.head {
            Some(_) if area.height >= WITH_HEAD => below(area, 1),
            _ => area,
        }
    }

    /// The first row of the last full page.
    pub(super) fn last_page(&self, area: Rect) -> usize {
        let height = self.under_head(area).height;
        self.all.len().saturating_sub(height.into())
    }

    /// Draws a page that begins with row `from`.
    pub(super) fn draw(&self, area: Rect, from: usize, buf: &mut Buffer) -> Window {
        let body = self.under_head(area);
        if body != area
            && let Some(head) = &self.head
        {
            head.draw(row(area, 0), buf);
        }
        let shown = self.all.iter().skip(from).take(body.height.into());
        let mut to = from;
        for (nth, line) in shown.enumerate() {
            line.draw(row(body, nth), buf);
            to += 1;
        }
        Window {
            from,
            to,
            all: self.all.len(),
        }
    }
}
