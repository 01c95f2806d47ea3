//! The text report: what a person takes along on paper.
//!
//! Verdict first, then what decides on the way (go/no-go card), then the tables behind it. At most
//! 80 columns; apart from the user's own names it holds ASCII only, so that any printer takes it.
//! It leaves out what only a program wants (full precision, litres without each cause): that is in
//! the JSON report.

use crate::consumption::causes::Cause;
use crate::plan::{LoadBar, Plan};
use crate::present::card::{Level, MORE_THAN_FULL};
use crate::present::columns::LEG;
use crate::present::name::{cut, pad_left, pad_right, plain, width};
use crate::present::number::Units;
use crate::present::{behind, card, caution, dry, finding, load, margin, odds, verdict, ways, why};
use crate::quantity::Share;

use super::Case;
use super::page::{Page, WIDTH};

/// Longest bar of a load limit, in columns.
const BAR: usize = 20;

/// The whole report.
pub fn report(case: Case<'_>, units: Units) -> String {
    let plan = case.shown();
    let mut page = Page::default();
    head(&mut page, case, units);
    under_way(&mut page, case.plan, units);
    fuel_checks(&mut page, plan, units);
    legs(&mut page, plan, units);
    let stops = card::stops_to_tell(plan);
    let fills = stops.map(|stop| card::fill_sentence(stop, plan, units));
    let start = std::iter::once(card::start_sentence(plan, units));
    page.list("FUEL STOPS", "", start.chain(fills));
    let pours = plan.pours.iter();
    let pours = pours.map(|pour| card::pour_sentence(pour, plan, units));
    page.list("POURS", "", pours);
    let stages = plan.stretches.iter();
    let stages = stages.map(|stage| card::stretch_sentence(stage, plan, units));
    page.list("BETWEEN FUEL STOPS", "", stages);
    super::ledger::section(&mut page, plan, units);
    let dry = dry::lines(plan).map(|line| line.sentence(plan, units));
    page.list(&dry::TITLE.to_uppercase(), dry::HOW_TO_READ, dry);
    super::odds::section(&mut page, plan, units);
    super::calibration::section(&mut page, plan);
    load_limits(&mut page, plan, units);
    page.list("WAYS TO MAKE IT FIT", "", ways::lines(plan, units));
    why(&mut page, plan, units);
    page.list("FINDINGS", "", finding_lines(plan, units));
    page.list("CAUTIONS", "", caution::CAUTIONS);
    page.text
}

/// The findings alone, gravest first, or a word that there are none.
pub fn findings(plan: &Plan, units: Units) -> String {
    let mut page = Page::default();
    if plan.findings.is_empty() {
        page.line("nothing found");
    }
    for line in finding_lines(plan, units) {
        page.paragraph("", 2, &line);
    }
    page.text
}

/// `stop: Leg 4 ...`.
fn finding_lines(plan: &Plan, units: Units) -> impl Iterator<Item = String> {
    plan.findings.iter().map(move |found| {
        let word = found.severity().word();
        format!("{word}: {}", finding::sentence(found, plan, units))
    })
}

fn head(page: &mut Page, case: Case<'_>, units: Units) {
    let plan = case.shown();
    let name = plan.trip.name.as_deref().unwrap_or("Trip without a name");
    page.paragraph("", 0, &plain(name));
    if let Some(vehicle) = &plan.trip.vehicle.name {
        page.paragraph("", 0, &plain(vehicle));
    }
    if let Some(changes) = case.changes() {
        page.paragraph("", 2, &plain(&format!("Changed: {changes}")));
    }
    page.line("");
    if let Some(title) = behind::return_title(case.plan) {
        page.paragraph("", 0, &title);
    }
    page.paragraph("", 0, &verdict::sentence(plan, units));
    for stop in verdict::other_reasons(plan) {
        page.paragraph("! ", 2, &finding::sentence(stop, plan, units));
    }
    page.paragraph("", 0, &verdict::totals(plan, units));
    if let Some(tightest) = margin::sentence(plan, units) {
        page.paragraph("", 0, &tightest);
    }
    if let Some([critical, _]) = dry::critical(plan, units) {
        page.paragraph("", 0, &critical);
    }
    if let Some(doubt) = &plan.doubt {
        page.paragraph("", 0, &odds::sentence(doubt));
        page.paragraph("", 0, &odds::best_estimate_beside(doubt, units));
    }
    page.paragraph("", 0, &odds::basis(plan));
}

/// A trip under way: whether to turn back now, used against planned, the factors that follow.
fn under_way(page: &mut Page, plan: &Plan, units: Units) {
    let Some(lies_behind) = plan.behind.as_deref() else {
        return;
    };
    page.heading(&behind::TITLE.to_uppercase(), behind::HOW_TO_READ);
    if let Some(now) = behind::now(plan, units) {
        page.paragraph("", 0, &now.replace('±', "+-"));
    }
    for row in behind::ways(plan, units) {
        page.paragraph("- ", 2, &behind::sentence(&row, units));
    }
    page.paragraph("", 0, &behind::factors(lies_behind));
}

/// The fuel checks: one row a check, and below it what to do there.
fn fuel_checks(page: &mut Page, plan: &Plan, units: Units) {
    let lines = card::check_lines(plan, units);
    if lines.is_empty() {
        return;
    }
    page.heading(&card::CHECKS_TITLE.to_uppercase(), card::HOW_TO_READ);
    // The odometer takes its room from the names.
    let odometer = lines.iter().any(|line| line.odometer.is_some());
    let room = if odometer { 20 } else { 28 };
    let row = |[at, shown, place, expected, low, back, refuge]: [&str; 7]| {
        let shown = if odometer {
            format!("{} ", pad_left(shown, 7))
        } else {
            String::new()
        };
        format!(
            "{} {shown}{} {} {} {}  {}",
            pad_left(at, 6),
            pad_right(&cut(place, room), room),
            pad_left(expected, 10),
            pad_left(low, 5),
            pad_left(back, 10),
            cut(refuge, 15),
        )
    };
    let unit = units.fuel_unit();
    page.line(&row(["", "", "", "expected", "5 %", "turn back", ""]));
    let below = format!("below {unit}");
    let km = units.distance_unit();
    page.line(&row([km, "odo", "place", unit, unit, &below, ""]));
    for line in &lines {
        let (level, refuge) = match &line.turn_back {
            Some((level, refuge)) => (level.short(), format!("to {refuge}")),
            None => ("-".to_owned(), String::new()),
        };
        let needed = line
            .needed
            .as_ref()
            .map(|needed| format!("needed: {needed}"));
        let shown = line.odometer.as_deref().unwrap_or_default();
        page.line(&row([
            line.at.rsplit(' ').next().unwrap_or_default(),
            shown.trim_start_matches("odo "),
            &line.place,
            &line
                .expected
                .as_ref()
                .map_or("no fuel".to_owned(), Level::short),
            &line.low.number,
            &level,
            needed.as_deref().unwrap_or(&refuge),
        ]));
        for says in &line.says {
            page.paragraph(&" ".repeat(7), 7, says);
        }
    }
    page.paragraph("", 0, card::WITH_LESS);
    let more = |level: &Level| level.gauge == MORE_THAN_FULL;
    let over = lines.iter().any(|line| {
        line.expected.iter().any(more) || line.turn_back.iter().any(|(level, _)| more(level))
    });
    if over {
        page.paragraph(
            "",
            0,
            &format!("{MORE_THAN_FULL}: more than a full tank, only with extra fuel in cans."),
        );
    }
}

fn legs(page: &mut Page, plan: &Plan, units: Units) {
    page.heading(
        "LEGS",
        "left is on arrival, before filling; ! is below keep, the reserve there",
    );
    page.line(
        &LEG.each_ref()
            .map(|column| column.fit(column.title))
            .join(" "),
    );
    page.line(
        &LEG.each_ref()
            .map(|column| column.fit((column.unit)(units)))
            .join(" "),
    );
    for leg in &plan.legs {
        let cells = LEG.each_ref().map(|column| column.cell(leg, plan, units));
        page.line(&cells.join(" "));
    }
}

fn load_limits(page: &mut Page, plan: &Plan, units: Units) {
    if plan.load.bars.is_empty() {
        return;
    }
    page.heading("LOAD", "each limit at its worst departure");
    for bar in &plan.load.bars {
        page.line(&load_line(bar, plan, units));
    }
    let says = [
        load::why_these_cans(plan),
        load::heaviest(plan, units),
        load::by_day(plan, units),
    ];
    for says in says.into_iter().flatten() {
        page.paragraph("", 0, &says);
    }
    for line in load::picture(plan, units, WIDTH) {
        page.line(&line);
    }
    for says in load::supplies(plan, units) {
        page.paragraph("", 0, &says);
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
    let (drawn, says) = match (bar.limit, limit, left) {
        (Some(stated), Some(limit), Some(left)) => (
            drawn_bar(Share::new(bar.mass / stated)),
            format!("{} of {limit}, {left}", mass.number),
        ),
        _ => (" ".repeat(BAR + 2), format!("{mass}, no limit stated")),
    };
    let line = format!("{} {drawn} {says}", pad_right(&what, 14));
    let room = WIDTH.saturating_sub(width(&line) + 1);
    format!("{line} {}", cut(&format!("({place})"), room))
}

/// `[##########..........]`; full only when the limit is reached, an arrow at its end when it is passed.
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

/// The multipliers: a row a leg, a column a cause that acts anywhere.
fn why(page: &mut Page, plan: &Plan, units: Units) {
    let table = why::table(plan, units);
    if table.rows.is_empty() {
        return;
    }
    page.heading("WHY", &table.says);
    let head: String = table
        .causes
        .iter()
        .map(|&cause| pad_left(short(cause), 6))
        .collect();
    // What the causes leave of the line: number, rate and two blanks take 11 columns.
    let name = WIDTH.saturating_sub(11 + 6 * table.causes.len()).min(24);
    page.line(&format!("leg {}   rate{head}", pad_right("to", name)));
    for row in &table.rows {
        let cells: String = row
            .factors
            .iter()
            .map(|factor| pad_left(factor, 6))
            .collect();
        page.line(&format!(
            "{} {} {}{cells}",
            pad_left(&row.leg.to_string(), 3),
            pad_right(&cut(&row.to, name), name),
            pad_left(&row.rate, 6),
        ));
    }
}

/// The cause as a head of at most six letters less a blank.
const fn short(cause: Cause) -> &'static str {
    match cause {
        Cause::Surface => "surf.",
        Cause::Pace => "pace",
        Cause::Sand => "sand",
        Cause::LowRange => "low r",
        Cause::Roof => "roof",
        Cause::Load => "load",
        Cause::Climb => "climb",
        Cause::Air => "air",
        Cause::Cold => "cold",
        Cause::Tyres => "tyres",
        Cause::Extras => "extra",
    }
}
