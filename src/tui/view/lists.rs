//! The panels that are lists: findings, what is done where, what the fuel in cans is for, what if a fuel stop is dry.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::picture::Told;
use super::super::state::{Panel, State};
use super::super::theme::{CHOSEN, Meaning, Theme};
use super::panel::{self, Entry};
use super::shapes;
use super::text::{head, row, write};
use crate::plan::Severity;
use crate::plan::dry::Open;
use crate::present;
use crate::present::card::{DECANT_SAFELY, decant_sentence, fill_sentence};
use crate::present::mark::MarkKind;
use crate::present::strip::Supply;

/// Columns of the bar of a part.
const BAR: usize = 12;

/// What must be told, gravest first.
pub(super) fn findings(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let judged = state.judged_or_shown();
    let plan = judged.plan();
    let area = panel::heading(state, Panel::Findings, &counted(&judged.told), area, buf);
    if plan.findings.is_empty() {
        write(buf, row(area, 0), "no findings", Style::new());
    }
    let shown = (0..plan.findings.len()).skip(state.scroll_of(Panel::Findings));
    let entries = shown.map(|nth| {
        let severity = plan.findings[nth].severity();
        let (shape, style) = match severity {
            Severity::Stop => ("■", theme.strong(Meaning::Short)),
            Severity::Caution => ("▲", theme.strong(Meaning::Care)),
            Severity::Note => ("·", Style::new()),
        };
        let sentence = head(&judged.told.findings[nth], area);
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
fn counted(told: &Told) -> String {
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

/// What is done at the fuel stops and on the way, by kilometre.
pub(super) fn stops(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let plan = state.judged_or_shown().plan();
    let area = panel::heading(state, Panel::Stops, panel::title(Panel::Stops), area, buf);
    let (mut stops, mut decants) = (plan.stops.iter().peekable(), plan.decants.iter().peekable());
    let by_way = std::iter::from_fn(|| {
        let stop_first = match (stops.peek(), decants.peek()) {
            (Some(stop), Some(decant)) => stop.at_km <= decant.at_km,
            (stop, _) => stop.is_some(),
        };
        if stop_first {
            stops.next().map(|stop| Entry {
                shape: shapes::place(if stop.counted {
                    Supply::Counted
                } else {
                    Supply::NotCounted
                }),
                style: theme.strong(Meaning::Tank),
                says: fill_sentence(stop, plan, state.units()),
            })
        } else {
            decants.next().map(|decant| Entry {
                shape: shapes::mark(MarkKind::Decant {
                    litres: decant.litres,
                }),
                style: theme.strong(Meaning::Cans),
                says: decant_sentence(decant, plan, state.units()),
            })
        }
    });
    let safely = (!plan.decants.is_empty()).then(|| Entry::plain(DECANT_SAFELY));
    let entries = by_way.chain(safely);
    panel::entries(entries.skip(state.scroll_of(Panel::Stops)), area, buf);
}

/// What the fuel in cans is for: each part with its share of it, the legs that have most, what would be needed without
/// it.
pub(super) fn ledger(state: &State, area: Rect, buf: &mut Buffer) {
    let area = panel::heading(state, Panel::Ledger, panel::title(Panel::Ledger), area, buf);
    let Some(of) = state.ledger() else {
        let says = "calculated when you stop typing";
        write(buf, row(area, 0), says, Style::new());
        return;
    };
    let units = state.units();
    let Some(how) = present::ledger::how_to_read(of, state.judged_or_shown().plan(), units) else {
        write(buf, row(area, 0), "no fuel in cans is needed", Style::new());
        return;
    };
    let parts = present::ledger::lines(of, units).into_iter().map(|line| {
        let bar = bar(line.of_most.get());
        Entry::plain(format!("{bar} {}", line.sentence()))
    });
    let lines = std::iter::once(Entry::plain(how))
        .chain(parts)
        .skip(state.scroll_of(Panel::Ledger));
    panel::entries(lines, area, buf);
}

/// `━━━━        ` for a third; what saves fuel goes the other way, `╌╌`.
fn bar(share: f64) -> String {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the length of the bar"
    )]
    let long = (share.abs() * BAR as f64).round().clamp(1.0, BAR as f64) as usize;
    let stroke = if share < 0.0 { "╌" } else { "━" };
    format!("{}{}", stroke.repeat(long), " ".repeat(BAR - long))
}

/// What if a fuel stop is dry or a can is lost: each stop that is relied on, the worst pair, the fullest can.
pub(super) fn dry(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let plan = state.judged_or_shown().plan();
    let area = panel::heading(state, Panel::Dry, panel::title(Panel::Dry), area, buf);
    if !present::dry::are_known(plan) {
        write(
            buf,
            row(area, 0),
            "calculated when you stop typing",
            Style::new(),
        );
        return;
    }
    let mut lines = present::dry::lines(plan).peekable();
    if lines.peek().is_none() {
        write(buf, row(area, 0), "no fuel stop on the route", Style::new());
    }
    let entries = lines.skip(state.scroll_of(Panel::Dry)).map(|line| {
        let (shape, style) = match line.open() {
            Some(Open::No) => ("■", theme.strong(Meaning::Short)),
            Some(Open::UsingReserve) => ("▲", theme.strong(Meaning::Care)),
            Some(Open::Yes) => ("✓", theme.strong(Meaning::Enough)),
            None => ("·", Style::new()),
        };
        Entry {
            shape,
            style,
            says: line.sentence(plan, state.units()),
        }
    });
    panel::entries(entries, area, buf);
}
