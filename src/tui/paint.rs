//! Cells to what a terminal is sent, and to text with the same escape sequences.
//!
//! Named colours go out as `3N` and `9N` (ECMA-48 and the aixterm extension), which every terminal with colours knows, and
//! not as `38;5;N`, which only those with 256 colours do.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::io::{self, Write};

use ratatui::backend::{Backend, ClearType, CrosstermBackend, WindowSize};
use ratatui::buffer::{Buffer, Cell};
use ratatui::crossterm::cursor::MoveTo;
use ratatui::crossterm::queue;
use ratatui::crossterm::terminal::{
    BeginSynchronizedUpdate, Clear as Erase, ClearType as EraseType, EndSynchronizedUpdate,
};
use ratatui::layout::{Position, Size};
use ratatui::style::{Color, Modifier, Style};

use crate::present::name::width;

/// Modifiers with their parameters (ECMA-48, SGR).
const MODIFIERS: [(Modifier, u8); 5] = [
    (Modifier::BOLD, 1),
    (Modifier::DIM, 2),
    (Modifier::ITALIC, 3),
    (Modifier::UNDERLINED, 4),
    (Modifier::REVERSED, 7),
];

/// What makes cells look different.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Look {
    fg: Color,
    bg: Color,
    modifier: Modifier,
}

impl From<&Cell> for Look {
    fn from(cell: &Cell) -> Self {
        Self {
            fg: cell.fg,
            bg: cell.bg,
            modifier: cell.modifier,
        }
    }
}

impl Look {
    /// The sequence from another look to this one; empty if they are the same.
    fn after(self, before: Self) -> String {
        if self == before {
            return String::new();
        }
        let mut codes = Vec::new();
        let is_less = !self.modifier.contains(before.modifier);
        let from = if is_less {
            // One modifier cannot be turned off everywhere, all of them can.
            codes.push("0".to_owned());
            Self::default()
        } else {
            before
        };
        let added = self.modifier.difference(from.modifier);
        let added = MODIFIERS
            .iter()
            .filter(|(modifier, _)| added.contains(*modifier));
        codes.extend(added.map(|(_, code)| code.to_string()));
        if self.fg != from.fg {
            codes.push(color(self.fg, 30));
        }
        if self.bg != from.bg {
            codes.push(color(self.bg, 40));
        }
        format!("\u{1b}[{}m", codes.join(";"))
    }
}

/// The parameters of a colour; `base` is 30 for the text and 40 for its ground.
fn color(color: Color, base: u8) -> String {
    let named = |n: u8| (base + n).to_string();
    let bright = |n: u8| (base + 60 + n).to_string();
    match color {
        Color::Reset => named(9),
        Color::Black => named(0),
        Color::Red => named(1),
        Color::Green => named(2),
        Color::Yellow => named(3),
        Color::Blue => named(4),
        Color::Magenta => named(5),
        Color::Cyan => named(6),
        Color::Gray => named(7),
        Color::DarkGray => bright(0),
        Color::LightRed => bright(1),
        Color::LightGreen => bright(2),
        Color::LightYellow => bright(3),
        Color::LightBlue => bright(4),
        Color::LightMagenta => bright(5),
        Color::LightCyan => bright(6),
        Color::White => bright(7),
        Color::Indexed(n) => format!("{};5;{n}", base + 8),
        Color::Rgb(r, g, b) => format!("{};2;{r};{g};{b}", base + 8),
    }
}

/// The characters of the screen, a line a row.
pub(crate) fn plain_text(buf: &Buffer) -> String {
    let mut plain = buf.clone();
    for cell in &mut plain.content {
        cell.set_style(Style::reset());
    }
    text(&plain)
}

/// The screen as text, a line a row, blanks at the end of a line left out where they have no ground of their own.
pub(crate) fn text(buf: &Buffer) -> String {
    let mut text = String::new();
    for y in buf.area.top()..buf.area.bottom() {
        let row = (buf.area.left()..buf.area.right()).map(|x| &buf[(x, y)]);
        let cells: Vec<&Cell> = row.collect();
        let is_blank = |cell: &&&Cell| {
            cell.symbol() == " " && cell.bg == Color::Reset && cell.modifier.is_empty()
        };
        let blanks = cells.iter().rev().take_while(is_blank).count();
        let mut look = Look::default();
        let mut hidden = 0;
        for cell in &cells[..cells.len() - blanks] {
            // A wide character hides the cell behind it.
            if hidden > 0 {
                hidden -= 1;
                continue;
            }
            hidden = width(cell.symbol()).saturating_sub(1);
            let next = Look::from(*cell);
            // Writing to a text cannot fail.
            let _ = write!(text, "{}{}", next.after(look), cell.symbol());
            look = next;
        }
        text.push_str(&Look::default().after(look));
        text.push('\n');
    }
    text
}

/// A terminal that is sent its colours as described above; everything else is crossterm's.
///
/// A row in which a character of uncertain width came or went is erased and painted whole: what a terminal made of the old
/// one may be wider than was reckoned, and would stay.
#[derive(Debug)]
pub(super) struct Painter<W: Write> {
    inner: CrosstermBackend<W>,
    /// What was painted, by row and column.
    painted: BTreeMap<(u16, u16), Cell>,
    cursor: Cursor,
    /// Whether something of the frame was sent: then it is one update for the terminal. A frame that changes nothing
    /// sends nothing.
    is_begun: bool,
}

/// What was done to the terminal's cursor last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Cursor {
    Unknown,
    Hidden,
    At(Position),
}

/// Whether terminals may differ in the width of a cell.
fn is_of_uncertain_width(cell: &Cell) -> bool {
    let symbol = cell.symbol();
    !symbol.is_ascii() && (symbol.chars().nth(1).is_some() || width(symbol) != 1)
}

impl<W: Write> Painter<W> {
    pub(super) const fn new(writer: W) -> Self {
        Self {
            inner: CrosstermBackend::new(writer),
            painted: BTreeMap::new(),
            cursor: Cursor::Unknown,
            is_begun: false,
        }
    }

    /// Begins the update of a frame.
    fn begin(&mut self) -> io::Result<()> {
        if !std::mem::replace(&mut self.is_begun, true) {
            queue!(self.inner, BeginSynchronizedUpdate)?;
        }
        Ok(())
    }

    /// Cells one after the other, those of `rows` in place of what was there.
    fn put<'a>(
        &mut self,
        cells: impl Iterator<Item = (u16, u16, &'a Cell)>,
        rows: &BTreeSet<u16>,
    ) -> io::Result<()> {
        let mut look = Look::default();
        let mut next: Option<(u16, u16)> = None;
        let mut erased = None;
        for (x, y, cell) in cells {
            if rows.contains(&y) && erased != Some(y) {
                write!(self.inner, "{}", Look::default().after(look))?;
                queue!(self.inner, MoveTo(0, y), Erase(EraseType::CurrentLine))?;
                (look, next, erased) = (Look::default(), None, Some(y));
            }
            if next != Some((x, y)) {
                queue!(self.inner, MoveTo(x, y))?;
            }
            next = Some((x + 1, y));
            let wanted = Look::from(cell);
            write!(self.inner, "{}{}", wanted.after(look), cell.symbol())?;
            look = wanted;
        }
        write!(self.inner, "{}", Look::default().after(look))
    }
}

/// The cells of a row without those that a wide one hides.
fn seen(row: Vec<(u16, Cell)>) -> impl Iterator<Item = (u16, Cell)> {
    let mut free_from = 0;
    row.into_iter().filter(move |(x, cell)| {
        let is_seen = *x >= free_from;
        if is_seen {
            free_from = x + u16::try_from(width(cell.symbol()).max(1)).unwrap_or(1);
        }
        is_seen
    })
}

impl<W: Write> Write for Painter<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.inner.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        Write::flush(&mut self.inner)
    }
}

impl<W: Write> Backend for Painter<W> {
    type Error = io::Error;

    fn draw<'a, I>(&mut self, content: I) -> io::Result<()>
    where
        I: Iterator<Item = (u16, u16, &'a Cell)>,
    {
        let changed: Vec<(u16, u16, &Cell)> = content.collect();
        if changed.is_empty() {
            return Ok(());
        }
        self.begin()?;
        let mut rows = BTreeSet::new();
        for &(x, y, cell) in &changed {
            let before = self.painted.insert((y, x), cell.clone());
            if is_of_uncertain_width(cell) || before.as_ref().is_some_and(is_of_uncertain_width) {
                rows.insert(y);
            }
        }
        let whole: Vec<(u16, u16, Cell)> = rows
            .iter()
            .flat_map(|&y| {
                let row = self.painted.range((y, 0)..=(y, u16::MAX));
                let row = row.map(|(&(_, x), cell)| (x, cell.clone())).collect();
                seen(row).map(move |(x, cell)| (x, y, cell))
            })
            .collect();
        let others = changed.into_iter().filter(|(_, y, _)| !rows.contains(y));
        self.put(others, &BTreeSet::new())?;
        self.put(whole.iter().map(|(x, y, cell)| (*x, *y, cell)), &rows)
    }

    fn hide_cursor(&mut self) -> io::Result<()> {
        if self.cursor == Cursor::Hidden {
            return Ok(());
        }
        self.begin()?;
        self.cursor = Cursor::Hidden;
        self.inner.hide_cursor()
    }

    fn show_cursor(&mut self) -> io::Result<()> {
        if matches!(self.cursor, Cursor::At(_)) {
            return Ok(());
        }
        self.cursor = Cursor::Unknown;
        self.inner.show_cursor()
    }

    fn get_cursor_position(&mut self) -> io::Result<Position> {
        self.inner.get_cursor_position()
    }

    fn set_cursor_position<P: Into<Position>>(&mut self, position: P) -> io::Result<()> {
        let position = position.into();
        // Whatever is painted moves it.
        if self.cursor == Cursor::At(position) && !self.is_begun {
            return Ok(());
        }
        self.cursor = Cursor::At(position);
        self.inner.set_cursor_position(position)
    }

    fn clear(&mut self) -> io::Result<()> {
        self.painted.clear();
        self.cursor = Cursor::Unknown;
        self.begin()?;
        self.inner.clear()
    }

    fn clear_region(&mut self, clear_type: ClearType) -> io::Result<()> {
        self.painted.clear();
        self.inner.clear_region(clear_type)
    }

    fn size(&self) -> io::Result<Size> {
        self.inner.size()
    }

    fn window_size(&mut self) -> io::Result<WindowSize> {
        self.inner.window_size()
    }

    fn flush(&mut self) -> io::Result<()> {
        if std::mem::take(&mut self.is_begun) {
            queue!(self.inner, EndSynchronizedUpdate)?;
        }
        Backend::flush(&mut self.inner)
    }
}

#[cfg(test)]
mod tests {
    use ratatui::layout::Rect;
    use ratatui::style::Style;

    use super::*;

    fn painted(style: Style) -> String {
        let mut buf = Buffer::empty(Rect::new(0, 0, 4, 1));
        buf.set_string(0, 0, "ab", style);
        let mut written = Vec::new();
        let cells = (0..2).map(|x| (x, 0, &buf[(x, 0)]));
        Painter::new(&mut written).draw(cells).unwrap();
        String::from_utf8(written).unwrap()
    }

    /// ECMA-48, SGR: 34 blue, 94 bright blue; 38;5;N only for the 256 colours.
    #[test]
    fn named_colours_go_out_by_their_own_codes() {
        assert!(painted(Style::new().fg(Color::Blue)).contains("\u{1b}[34mab"));
        assert!(painted(Style::new().fg(Color::LightBlue)).contains("\u{1b}[94mab"));
        assert!(painted(Style::new().fg(Color::Indexed(33))).contains("\u{1b}[38;5;33mab"));
    }

    /// A wide name goes: its row is erased and painted whole, the other rows only where they changed.
    #[test]
    fn a_row_that_a_wide_character_left_is_painted_whole() {
        let mut written = Vec::new();
        let mut painter = Painter::new(&mut written);
        let mut paint = |text: &str| {
            let mut buf = Buffer::empty(Rect::new(0, 0, 4, 2));
            buf.set_string(0, 0, text, Style::new());
            buf.set_string(0, 1, text.replace('漢', "a"), Style::new());
            let cells = [(0, 0), (2, 0), (0, 1)];
            painter
                .draw(cells.map(|(x, y)| (x, y, &buf[(x, y)])).into_iter())
                .unwrap();
        };
        paint("漢x");
        paint("abx");
        let written = String::from_utf8(written).unwrap();
        assert_eq!(written.matches("\u{1b}[2K").count(), 2, "{written:?}");
        assert!(
            written.ends_with("\u{1b}[1;1H\u{1b}[2K\u{1b}[1;1Ha\u{1b}[1;3Hx"),
            "{written:?}"
        );
    }

    #[test]
    fn a_text_ends_each_row_in_the_terminals_own_look() {
        let mut buf = Buffer::empty(Rect::new(0, 0, 5, 2));
        buf.set_string(0, 0, "ab", Style::new().add_modifier(Modifier::BOLD));
        buf.set_string(2, 0, "c", Style::new());
        assert_eq!(text(&buf), "\u{1b}[1mab\u{1b}[0mc\n\n");
    }

    /// What was written, seen from outside.
    #[derive(Clone, Default)]
    struct Written(std::rc::Rc<std::cell::RefCell<Vec<u8>>>);

    impl Write for Written {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0.borrow_mut().write(bytes)
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    /// The same frame again sends nothing, with or without a cursor; a moved cursor alone is sent.
    #[test]
    fn a_frame_that_changes_nothing_sends_nothing() {
        use ratatui::{Terminal, TerminalOptions, Viewport};
        let area = Rect::new(0, 0, 8, 2);
        let viewport = Viewport::Fixed(area);
        let written = Written::default();
        let painter = Painter::new(written.clone());
        let options = TerminalOptions { viewport };
        let mut terminal = Terminal::with_options(painter, options).unwrap();
        let mut sent = |text: &str, cursor: Option<(u16, u16)>| {
            terminal
                .draw(|frame| {
                    frame.buffer_mut().set_string(0, 0, text, Style::new());
                    if let Some(cursor) = cursor {
                        frame.set_cursor_position(cursor);
                    }
                })
                .unwrap();
            std::mem::take(&mut *written.0.borrow_mut())
        };
        assert!(!sent("ab", None).is_empty());
        assert!(sent("ab", None).is_empty());
        assert!(!sent("ab", Some((1, 0))).is_empty());
        assert!(sent("ab", Some((1, 0))).is_empty());
        assert!(!sent("ab", Some((0, 1))).is_empty());
        let changed = sent("ac", Some((0, 1)));
        assert!(changed.ends_with(b"\x1b[?2026l"), "{changed:?}");
        assert!(sent("ac", Some((0, 1))).is_empty());
    }
}
