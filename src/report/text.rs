//! The text report, to be read and printed.
//!
//! The verdict first, then what decides under way (fuel checks), then the tables. At most 80 columns;
//! apart from the user's own names it is ASCII only, so that any printer can print it. What only a
//! program needs (full precision, litres without each cause) is in the JSON report.

use crate::consumption::causes::Cause;
use crate::plan::CheckKind;
use crate::plan::{LoadBar, Plan};
use crate::present::card::{CheckLine, Level, MORE_THAN_FULL, MORE_THAN_FULL_MEANS};
use crate::present::columns::{self, LEG};
use crate::present::name::{cut, pad_left, pad_right, plain, width};
use crate::present::number::Units;
use crate::present::{
    card, caution, dry, finding, fixes, ground, load, odds, under_way, verdict, why,
};
use crate::quantity::Share;

use super::page::{Page, WIDTH};
use super::{Case, payload};

/// Longest bar of a load limit, in columns.
const BAR: usize = 20;

/// Column in which the key figures of the head begin.
const KEY_FIGURE: usize = 18;

/// The whole text report of a plan.
pub fn report(case: Case<'_>, units: Units) -> String {
    let plan = case.shown();
    let mut page = Page::default();
    head(&mut page, case, units);
    under_way(&mut page, case.plan, units);
    fuel_checks(&mut page, plan, units);
    legs(&mut page, plan, units);
    super::range::left(&mut page, plan, units);
    super::daylight::section(&mut page, plan);
    let stops = card::stops_to_tell(plan);
    let fills = stops.map(|stop| card::fill_sentence(stop, plan, units));
    let start = std::iter::once(card::start_sentence(plan, units));
    page.list("FUEL STOPS", "", start.chain(fills));
    let decants = plan.decants.iter();
    let decants = decants.map(|decant| card::decant_sentence(decant, plan, units));
    page.list("DECANTING", card::DECANT_SAFELY, decants);
    let stages = plan.stages.iter();
    let stages = stages.map(|stage| card::stage_sentence(stage, plan, units));
    page.list("BETWEEN FUEL STOPS", "", stages);
    super::ledger::section(&mut page, plan, units);
    let dry = dry::lines(plan).map(|line| line.sentence(plan, units));
    page.list(&dry::TITLE.to_uppercase(), dry::HOW_TO_READ, dry);
    if !verdict::is_finished(plan) {
        super::odds::section(&mut page, plan, units);
    }
    super::calibration::section(&mut page, plan);
    page.list(
        &ground::TITLE.to_uppercase(),
        ground::HOW_TO_READ,
        ground::lines(plan),
    );
    load_limits(&mut page, plan, units);
    super::range::section(&mut page, &plan.range(), units);
    page.list("FIXES", "", fixes::lines(plan, units));
    why(&mut page, plan, units);
    page.list("FINDINGS", "", finding_lines(plan, units));
    page.list("CAUTIONS", "", caution::CAUTIONS);
    page.text
}

/// The page for those who stay at home, alone.
pub fn home(case: Case<'_>, units: Units) -> String {
    let mut page = Page::default();
    super::home::section(&mut page, case.shown(), units);
    if let Some(notice) = &case.shown().trip.notice {
        page.line("");
        page.paragraph("", 0, &format!("{}.", plain(notice)));
    }
    page.text
}

/// The findings alone, gravest first, or that there are none.
pub fn findings(plan: &Plan, units: Units) -> String {
    let mut page = Page::default();
    if plan.findings.is_empty() {
        page.line("no findings");
    }
    for line in finding_lines(plan, units) {
        page.paragraph("", 2, &line);
    }
    page.text
}

/// `no-go: Leg 4 ...`.
fn finding_lines(plan: &Plan, units: Units) -> impl Iterator<Item = String> {
    plan.findings.iter().map(move |found| {
        let word = found.severity().word();
        format!("{word}: {}", finding::sentence(found, plan, units))
    })
}

fn head(page: &mut Page, case: Case<'_>, units: Units) {
    let plan = case.shown();
    let name = plan.trip.name.as_deref().unwrap_or("Untitled trip");
    page.paragraph("", 0, &plain(name));
    if let Some(vehicle) = &plan.trip.vehicle.name {
        page.paragraph("", 0, &plain(vehicle));
    }
    if let Some(changes) = case.changes() {
        page.paragraph("", 2, &plain(&format!("Changed: {changes}")));
    }
    page.line("");
    for sentence in under_way::head(case.plan, units) {
        page.paragraph("", 0, &sentence.replace('±', "+-"));
    }
    for stop in verdict::other_reasons(plan) {
        page.paragraph("! ", 2, &finding::sentence(stop, plan, units));
    }
    page.line("");
    for (name, text) in verdict::key_figures(plan, units) {
        page.entry(name, KEY_FIGURE, &text);
    }
    // A trip that is over has no outcome left to simulate.
    let is_open = !verdict::is_finished(plan);
    if let Some(doubt) = plan.doubt.as_ref().filter(|_| is_open) {
        page.line("");
        page.paragraph("", 0, &odds::sentence(doubt));
        page.paragraph("", 0, &odds::best_estimate_beside(doubt, units));
    }
    page.line("");
    page.paragraph("", 0, &odds::basis(plan, units));
}

/// A trip under way: fuel used and planned, and the calibration factors that follow; what to do now is in the head.
fn under_way(page: &mut Page, plan: &Plan, units: Units) {
    let Some(progress) = plan.progress.as_deref() else {
        return;
    };
    page.heading(&under_way::TITLE.to_uppercase(), under_way::HOW_TO_READ);
    for row in under_way::intervals(plan, units) {
        page.paragraph("- ", 2, &under_way::sentence(&row, units));
    }
    page.paragraph("", 0, &under_way::factors(progress));
    if let Some(sentence) = under_way::keep_learnt(plan) {
        page.paragraph("", 0, sentence);
    }
    let legs = under_way::legs_used(plan, units);
    if legs.is_empty() {
        return;
    }
    let [title, how_to_read] = under_way::LEGS_USED;
    page.heading(
        &title.to_uppercase(),
        &format!("{how_to_read}, {}", units.fuel_unit()),
    );
    let line = |leg: &str, [planned, used, over]: [&str; 3]| {
        let leg = pad_right(leg, 40);
        format!("{leg} {planned:>8} {used:>8} {over:>8}")
    };
    page.line(&line("leg to", ["planned", "used", ""]));
    for row in &legs {
        let [planned, used] = &row.litres;
        let over = row.over.as_deref().unwrap_or_default();
        page.line(&line(&row.leg, [planned, used, over]));
    }
}

/// The fuel checks: one row a check, and below it what to do there.
fn fuel_checks(page: &mut Page, plan: &Plan, units: Units) {
    let lines = card::check_lines(plan, units);
    if lines.is_empty() {
        return;
    }
    page.heading(&card::CHECKS_TITLE.to_uppercase(), card::HOW_TO_READ);
    let odometer = lines.iter().any(|line| line.odometer.is_some());
    let row = |cells: [&str; 7]| check_row(cells, odometer);
    let unit = units.fuel_unit();
    page.line(&row(["", "", "", "expected", "5 %", "turn back", ""]));
    let below = format!("below {unit}");
    let km = units.distance_unit();
    page.line(&row([km, "odo", "place", unit, unit, &below, "to"]));
    for line in &lines {
        let (level, refuge) = match (&line.turn_back, &line.needed) {
            (Some((level, refuge)), _) => (level.short(), refuge.clone()),
            (None, Some(needed)) => (format!("needed from here {needed}"), String::new()),
            (None, None) if line.kind == CheckKind::Decision => Default::default(),
            (None, None) => ("-".to_owned(), String::new()),
        };
        let decides = line.kind == CheckKind::Decision;
        let km = line.at.rsplit(' ').next().unwrap_or_default();
        let at = if decides {
            format!(">>{}", pad_left(km, CHECK_AT - 2))
        } else {
            km.to_owned()
        };
        let shown = line.odometer.as_deref().unwrap_or_default();
        page.line(&row([
            &at,
            shown.trim_start_matches("odo "),
            &line.place,
            &line
                .expected
                .as_ref()
                .map_or("no fuel".to_owned(), Level::short),
            &line.low.number,
            &level,
            &refuge,
        ]));
        let indent = CHECK_AT + 1 + if odometer { CHECK_ODOMETER + 1 } else { 0 };
        for sentence in &line.says {
            page.paragraph(&" ".repeat(indent), indent, sentence);
        }
    }
    check_legend(page, &lines);
}

/// Columns of the kilometre and of the odometer in the table of fuel checks.
const CHECK_AT: usize = 6;
const CHECK_ODOMETER: usize = 7;

/// A row of the table of fuel checks; the odometer takes its room from the place.
fn check_row([at, shown, place, expected, low, back, refuge]: [&str; 7], odometer: bool) -> String {
    let (shown, room) = if odometer {
        (format!("{shown:>CHECK_ODOMETER$} "), 22)
    } else {
        (String::new(), 30)
    };
    let place = pad_right(&cut(place, room), room);
    let refuge = cut(refuge, 14);
    format!("{at:>CHECK_AT$} {shown}{place} {expected:>10} {low:>5} {back:>10} {refuge}")
}

/// What to do with less than needed, and the signs that occur in the table of fuel checks.
fn check_legend(page: &mut Page, lines: &[CheckLine]) {
    page.paragraph("", 0, card::WITH_LESS);
    let more = |level: &Level| level.gauge == MORE_THAN_FULL;
    let over = lines.iter().any(|line| {
        line.expected.iter().any(more) || line.turn_back.iter().any(|(level, _)| more(level))
    });
    if over {
        page.paragraph("", 0, MORE_THAN_FULL_MEANS);
    }
    let none = |line: &CheckLine| {
        line.turn_back.is_none() && line.needed.is_none() && line.kind != CheckKind::Decision
    };
    if lines.iter().any(none) {
        page.paragraph("", 0, "-: nothing to decide.");
    }
}

fn legs(page: &mut Page, plan: &Plan, units: Units) {
    page.heading("LEGS", columns::HOW_TO_READ);
    let (before, arrival): (Vec<_>, Vec<_>) = LEG.iter().partition(|column| !column.on_arrival);
    let columns = |of: &[&columns::Column]| of.iter().map(|column| column.width + 1).sum::<usize>();
    let group = columns(&arrival).saturating_sub(1);
    page.line(&format!(
        "{}{:-^group$}",
        " ".repeat(columns(&before)),
        " on arrival "
    ));
    for line in 0..2 {
        let cells = LEG
            .each_ref()
            .map(|column| column.fit(column.head(units)[line]));
        page.line(&cells.join(" "));
    }
    for leg in &plan.legs {
        let cells = LEG.each_ref().map(|column| column.cell(leg, plan, units));
        page.line(&cells.join(" "));
    }
}

fn load_limits(page: &mut Page, plan: &Plan, units: Units) {
    if plan.load.bars.is_empty() {
        return;
    }
    page.heading("LOAD", load::HOW_TO_READ);
    for bar in &plan.load.bars {
        page.line(&load_line(bar, plan, units));
    }
    for sentence in [load::why_these_cans(plan), load::heaviest(plan, units)]
        .into_iter()
        .flatten()
    {
        page.paragraph("", 0, &sentence);
    }
    if let Some(departure) = load::at_heaviest(plan) {
        payload::budget(page, &departure.made_of, plan.load.gvm, units);
    }
    payload::by_day(page, plan, units);
    payload::still(page, &plan.load.room, &plan.range(), units);
    for line in load::picture(plan, units, WIDTH) {
        page.line(&line);
    }
    for sentence in load::supplies(plan, units) {
        page.paragraph("", 0, &sentence);
    }
}

fn load_line(bar: &LoadBar, plan: &Plan, units: Units) -> String {
    let load::LoadLine {
        what,
        mass,
        limit,
        left,
        place,
    } = load::line(bar, plan, units);
    let (drawn, figures) = match (bar.limit, limit, left) {
        (Some(stated), Some(limit), Some(left)) => (
            drawn_bar(Share::new(bar.mass / stated)),
            format!("{} of {limit}, {left}", mass.number),
        ),
        _ => (" ".repeat(BAR + 2), format!("{mass}, no limit set")),
    };
    let line = format!("{} {drawn} {figures}", pad_right(&what, 14));
    let room = WIDTH.saturating_sub(width(&line) + 1);
    format!("{line} {}", cut(&format!("({place})"), room))
}

/// `[##########..........]`; full only if the limit is reached, an arrow at its end if it is exceeded.
fn drawn_bar(share: Share) -> String {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the length of the bar"
    )]
    let filled = (share.get() * BAR as f64).clamp(0.0, BAR as f64) as usize;
    let end = if share.get() > 1.0 { '>' } else { ']' };
    format!("[{}{}{end}", "#".repeat(filled), ".".repeat(BAR - filled))
}

/// The factors: a row a leg, a column a cause that acts anywhere.
fn why(page: &mut Page, plan: &Plan, units: Units) {
    let table = why::table(plan, units);
    if table.rows.is_empty() {
        return;
    }
    page.heading("WHY", &table.says);
    let widths: Vec<usize> = (0..table.causes.len())
        .map(|nth| {
            let cells = table.rows.iter().map(|row| width(&row.factors[nth]));
            let heads = short(table.causes[nth]).into_iter().map(width);
            cells.chain(heads).max().unwrap_or_default() + 1
        })
        .collect();
    let cells = |cells: &[&str]| -> String {
        let cells = cells.iter().zip(&widths);
        cells
            .map(|(cell, columns)| pad_left(cell, *columns))
            .collect()
    };
    let [rate, unit] = match units.rate_unit() {
        "L/100 km" => ["L/100", "km"],
        unit => ["", unit],
    };
    let rates = table.rows.iter().map(|row| width(&row.rate));
    let rate_width = rates
        .chain([rate, unit].map(width))
        .max()
        .unwrap_or_default();
    // What number, consumption, causes and two blanks leave of the line.
    let name = WIDTH
        .saturating_sub(5 + rate_width + widths.iter().sum::<usize>())
        .min(24);
    for (line, [leg, to, rate]) in [["", "", rate], ["leg", "to", unit]]
        .into_iter()
        .enumerate()
    {
        let heads = table.causes.iter().map(|&cause| short(cause)[line]);
        let heads = cells(&heads.collect::<Vec<_>>());
        page.line(&format!("{leg:>3} {to:<name$} {rate:>rate_width$}{heads}"));
    }
    for row in &table.rows {
        let factors: Vec<&str> = row.factors.iter().map(String::as_str).collect();
        let (leg, to) = (row.leg, pad_right(&cut(&row.to, name), name));
        page.line(&format!(
            "{leg:>3} {to} {:>rate_width$}{}",
            row.rate,
            cells(&factors)
        ));
    }
}

/// The cause as a head of two lines, each of at most five letters.
const fn short(cause: Cause) -> [&'static str; 2] {
    match cause {
        Cause::Surface => ["sur-", "face"],
        Cause::Pace => ["", "speed"],
        Cause::Sand => ["", "sand"],
        Cause::LowRange => ["low", "range"],
        Cause::Roof => ["", "roof"],
        Cause::Load => ["", "load"],
        Cause::Climb => ["", "climb"],
        Cause::Air => ["air,", "wind"],
        Cause::Cold => ["", "cold"],
        Cause::Tyres => ["", "tyres"],
        Cause::Extras => ["A/C,", "idle"],
    }
}
