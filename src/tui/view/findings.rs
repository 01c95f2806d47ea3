//! What must be told, gravest first.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::super::theme::{CHOSEN, Meaning, Theme};
use super::super::told::Told;
use super::panel::{self, Entry};
use super::text::{head, row, write};
use crate::plan::Severity;

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let judged = state.judged_or_shown();
    let plan = judged.plan();
    let area = panel::heading(state, Panel::Findings, &title(&judged.told), area, buf);
    if plan.findings.is_empty() {
        write(buf, row(area, 0), "nothing to tell", Style::new());
    }
    let shown = (0..plan.findings.len()).skip(state.scroll_of(Panel::Findings));
    let entries = shown.map(|nth| {
        let severity = plan.findings[nth].severity();
        let (shape, style) = match severity {
            Severity::Stop => ("■", theme.strong(Meaning::Short)),
            Severity::Caution => ("▲", theme.strong(Meaning::Care)),
            Severity::Note => ("·", Style::new()),
        };
        let sentence = head(judged.told.finding(nth, plan, state.units()), area);
        let chosen = state.focus == Panel::Findings && nth == state.scroll_of(Panel::Findings);
        Entry {
            shape,
            style: if chosen { style.patch(CHOSEN) } else { style },
            says: format!("{}: {sentence}", severity.word()),
        }
    });
    panel::entries(entries, area, buf);
}

/// The heading with the numbers of each severity.
fn title(told: &Told) -> String {
    let counts = told.counts.iter().filter(|(_, count)| *count > 0);
    let parts: Vec<String> = counts
        .map(|(severity, count)| {
            let plural = if *count == 1 { "" } else { "s" };
            format!("{count} {}{plural}", severity.word())
        })
        .collect();
    if parts.is_empty() {
        panel::title(Panel::Findings).to_owned()
    } else {
        format!("{}: {}", panel::title(Panel::Findings), parts.join(", "))
    }
}
