//! Questions: over the foot of the screen, with what can be answered.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;
use ratatui::widgets::{Clear, Widget};

use super::super::editor::{Prompt, Purpose};
use super::super::state::{Question, State};
use super::super::theme::{BOLD, DIM, Meaning, Theme};
use super::text::{
    below, columns, field, first, more_below, past, row, rule, wrap, write, write_wrapped,
};
use crate::present::number::Toward;

/// Draws a question that is answered with a line of text; the position of the cursor.
pub(super) fn prompt(
    state: &State,
    prompt: &Prompt,
    theme: Theme,
    area: Rect,
    buf: &mut Buffer,
) -> Position {
    let asks = match prompt.purpose {
        Purpose::SaveAs { .. } => "save as".to_owned(),
        Purpose::KeepVehicle => "put the vehicle on the shelf under the name".to_owned(),
        Purpose::SaveWhatIf => "save this what-if under the name".to_owned(),
        Purpose::Find => "search for a place".to_owned(),
        Purpose::FindField => "search for a field".to_owned(),
        Purpose::SplitAt { length } => format!(
            "split leg {} of {} after",
            state.leg(),
            state.units().distance(length, Toward::Nearest)
        ),
    };
    Clear.render(area, buf);
    rule(buf, row(area, 0), &format!("▶ {asks}"));
    let line = row(area, 1);
    let unit = match prompt.purpose {
        Purpose::SaveAs { .. }
        | Purpose::KeepVehicle
        | Purpose::SaveWhatIf
        | Purpose::Find
        | Purpose::FindField => "",
        Purpose::SplitAt { .. } => state.units().distance_unit(),
    };
    let room = line.width.saturating_sub(columns(unit) + 1);
    let cursor = field(buf, first(line, room), &prompt.line);
    write(buf, past(line, room + 1), unit, Style::new());
    let (message, style) = match &prompt.problem {
        Some(problem) => (format!("▲ {problem}"), theme.words(Meaning::Short)),
        None => ("Enter accepts, Esc cancels".to_owned(), DIM),
    };
    write(buf, row(area, 2), &message, style);
    cursor
}

/// Draws a question for yes or no.
pub(super) fn question(state: &State, question: Question, area: Rect, buf: &mut Buffer) {
    let file = state.file.as_deref().unwrap_or("no file yet");
    let count = state.history().since_saved().count();
    let (asks, answers) = match question {
        Question::Quit => (
            format!("Save {} before quitting?", changes(count)),
            "y saves and quits, n discards them, Esc goes back; Ctrl-C quits and keeps them for the next start",
        ),
        Question::Overwrite { .. } => (
            format!(
                "Overwrite {}, changed on disk?",
                shortened(file, area.width)
            ),
            "y overwrites it, n or Esc leaves it; S saves under another name",
        ),
        Question::Replace { .. } => (
            format!(
                "Overwrite {}, which exists?",
                shortened(state.saving_to().unwrap_or(file), area.width)
            ),
            "y overwrites it, n or Esc leaves it",
        ),
        Question::Recover => (
            format!(
                "Restore {}, unsaved from last time?",
                changes(state.left_over().len())
            ),
            "y restores them, n discards them",
        ),
        Question::Reload => (
            format!("Reload {}, changed on disk?", shortened(file, area.width)),
            "y reloads it, n or Esc keeps your trip",
        ),
        Question::Proposal => {
            proposal(state, area, buf);
            return;
        }
    };
    Clear.render(area, buf);
    rule(buf, row(area, 0), &format!("▶ {asks}"));
    let names: Vec<&str> = match question {
        Question::Recover => state.left_over(),
        Question::Quit => state.history().since_saved().collect(),
        _ => Vec::new(),
    };
    let answered = wrap(answers, area.width).len();
    let room = usize::from(area.height).saturating_sub(1 + answered);
    // The last ones show best where you were.
    let from = names.len().saturating_sub(room);
    for (nth, name) in names[from..].iter().take(room).enumerate() {
        write(buf, row(area, 1 + nth), &format!("  {name}"), Style::new());
    }
    let last = below(area, 1 + names.len().min(room));
    write_wrapped(buf, last, answers, BOLD);
}

/// Lists what a proposal changes, and asks whether to make the change.
fn proposal(state: &State, area: Rect, buf: &mut Buffer) {
    let Some(proposed) = &state.proposed else {
        return;
    };
    let asks = if proposed.changes_something() {
        (
            "Make this change?",
            "y makes it, u undoes it later; n or Esc leaves the trip unchanged; ↑ ↓ scroll",
        )
    } else {
        ("There is nothing to change", "Esc goes back; ↑ ↓ scroll")
    };
    Clear.render(area, buf);
    listed(asks, proposed.listed(), area, buf);
}

/// A question with its answers about lines that are scrolled; the first row shown comes with them.
pub(super) fn listed(
    (asks, answers): (&str, &str),
    (from, lines): (usize, &[String]),
    area: Rect,
    buf: &mut Buffer,
) {
    rule(buf, row(area, 0), &format!("▶ {asks}"));
    let answered = wrap(answers, area.width);
    let foot = u16::try_from(answered.len()).unwrap_or(u16::MAX);
    let list = Rect {
        y: area.y.saturating_add(1),
        height: area.height.saturating_sub(1 + foot),
        ..area
    };
    let rows = lines.iter().skip(from);
    // What fits keeps its columns.
    let mut rows = rows.flat_map(|line| match columns(line) {
        width if width <= list.width => vec![line.clone()],
        _ => wrap(line, list.width),
    });
    for nth in 0..list.height {
        let Some(text) = rows.next() else { break };
        write(buf, row(list, nth.into()), &text, Style::new());
    }
    if rows.next().is_some() {
        more_below(list, buf);
    }
    write_wrapped(buf, below(area, (1 + list.height).into()), answers, BOLD);
}

/// A path that leaves room for a question, shortened from the left, since the ends of paths differ.
fn shortened(path: &str, width: u16) -> String {
    /// Columns of the longest question without its path.
    const QUESTION: u16 = 32;
    let room = usize::from(width.saturating_sub(QUESTION)).max(12);
    let letters = path.chars().count();
    if letters <= room {
        return path.to_owned();
    }
    let rest: String = path.chars().skip(letters + 1 - room).collect();
    format!("…{rest}")
}

fn changes(count: usize) -> String {
    match count {
        1 => "1 change".to_owned(),
        _ => format!("{count} changes"),
    }
}
