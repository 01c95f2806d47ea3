//! What must be told, gravest first.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::super::theme::{Meaning, Theme};
use super::panel::{self, Entry};
use crate::plan::Severity;
use crate::present::finding::sentence;

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let findings = &state.plan().findings;
    let area = panel::heading(state, Panel::Findings, &title(state), area, buf);
    if findings.is_empty() {
        super::text::write(
            buf,
            super::text::row(area, 0),
            "nothing to tell",
            Style::new(),
        );
    }
    let shown = findings.iter().skip(state.scroll_of(Panel::Findings));
    let entries = shown.map(|finding| {
        let (shape, style) = match finding.severity() {
            Severity::Stop => ("■", theme.strong(Meaning::Short)),
            Severity::Caution => ("▲", theme.strong(Meaning::Care)),
            Severity::Note => ("·", Style::new()),
        };
        Entry {
            shape,
            style,
            says: format!(
                "{}: {}",
                finding.severity().word(),
                sentence(finding, state.plan(), state.units())
            ),
        }
    });
    panel::entries(entries, area, buf);
}

/// The heading with the numbers of each severity.
fn title(state: &State) -> String {
    let count = |severity| {
        let findings = state.plan().findings.iter();
        findings
            .filter(|finding| finding.severity() == severity)
            .count()
    };
    let parts: Vec<String> = [Severity::Stop, Severity::Caution, Severity::Note]
        .into_iter()
        .map(|severity| (count(severity), severity))
        .filter(|&(count, _)| count > 0)
        .map(|(count, severity)| {
            let plural = if count == 1 { "" } else { "s" };
            format!("{count} {}{plural}", severity.word())
        })
        .collect();
    if parts.is_empty() {
        "findings".to_owned()
    } else {
        format!("findings: {}", parts.join(", "))
    }
}
