//! What is in the way, gravest first, and the fixes for it.

use super::rows::Rows;
use crate::plan::Severity;
use crate::tui::state::{Panel, State};
use crate::tui::theme::{BOLD, CHOSEN, DIM, Meaning, Theme};
use ratatui::style::Style;

pub(super) fn rows(state: &State, theme: Theme, width: u16) -> Rows {
    let judged = state.judged_or_shown();
    let findings = &judged.plan().findings;
    let mut rows = Rows::new(width);
    if findings.is_empty() {
        rows.words("no findings", Style::new());
    }
    let chosen = (state.focus == Panel::Findings).then(|| state.scroll_of(Panel::Findings));
    let is_no_go = |nth: usize| findings[nth].severity() == Severity::Stop;
    let fixes = state.fixes();
    // Fixes follow what they mend.
    let last_no_go = (0..findings.len()).filter(|&nth| is_no_go(nth)).count();
    for (nth, sentence) in judged.told.findings.iter().enumerate() {
        if nth == last_no_go {
            add_fixes(&fixes, &mut rows);
        }
        let severity = findings[nth].severity();
        let (shape, style) = match severity {
            Severity::Stop => ("■", theme.strong(Meaning::Short)),
            Severity::Caution => ("▲", BOLD),
            Severity::Note => ("·", Style::new()),
        };
        let is_chosen = chosen == Some(nth);
        let style = if is_chosen {
            style.patch(CHOSEN)
        } else {
            style
        };
        let from = rows.len();
        rows.entry(shape, style, &format!("{}: {sentence}", severity.word()));
        if is_chosen {
            rows.choose_since(from);
        }
    }
    if last_no_go == findings.len() {
        add_fixes(&fixes, &mut rows);
    }
    rows
}

/// The fixes, the one that is made now with an arrow, and the key that tries the next.
fn add_fixes(fixes: &[(String, bool)], rows: &mut Rows) {
    if fixes.is_empty() {
        return;
    }
    rows.words("Fixes: f tries the next one, u undoes it.", DIM);
    for (sentence, is_made) in fixes {
        let (shape, style) = if *is_made { ("▶", BOLD) } else { ("f", DIM) };
        rows.entry(shape, style, sentence);
    }
}
