//! The text report: what a person takes along on paper.
//!
//! Verdict first, then what decides on the way (go/no-go card), then the tables behind it. At most
//! 80 columns; apart from the user's own names it holds ASCII only, so that any printer takes it.
//! It leaves out what only a program wants (full precision, litres without each cause): that is in
//! the JSON report.

use crate::consumption::causes::Cause;
use crate::plan::{LoadBar, Plan, Severity};
use crate::present::card::{Level, MORE_THAN_FULL};
use crate::present::columns::LEG;
use crate::present::name::{cut, pad_left, pad_right, plain, width};
use crate::present::number::Units;
use crate::present::{card, caution, dry, finding, load, odds, verdict, ways, why};
use crate::quantity::{Litres, Share};

use super::Case;
use super::page::{Page, WIDTH};

/// Longest bar of a load limit, in columns.
const BAR: usize = 20;

/// The whole report.
pub fn report(case: Case<'_>, units: Units) -> String {
    let plan = case.plan;
    let mut page = Page::default();
    head(&mut page, case, units);
    super::behind::section(&mut page, plan, units);
    go_card(&mut page, plan, units);
    legs(&mut page, plan, units);
    let last = plan.legs.len();
    let fills = plan
        .stops
        .iter()
        // The start has a line of its own, and usually nothing is done at the finish.
        .filter(|stop| stop.node != 0)
        .filter(|stop| stop.node != last || stop.tank + stop.cans > Litres::ZERO)
        .map(|stop| card::fill_sentence(stop, plan, units));
    list(
        &mut page,
        "FUEL STOPS",
        std::iter::once(card::start_sentence(plan, units)).chain(fills),
    );
    list(
        &mut page,
        "POURS",
        plan.pours
            .iter()
            .map(|pour| card::pour_sentence(pour, plan, units)),
    );
    list(
        &mut page,
        "STRETCHES FROM PUMP TO PUMP",
        plan.stretches
            .iter()
            .map(|stretch| card::stretch_sentence(stretch, plan, units)),
    );
    super::ledger::section(&mut page, plan, units);
    dry_stops(&mut page, plan, units);
    super::odds::section(&mut page, plan, units);
    super::fit::section(&mut page, plan);
    load_limits(&mut page, plan, units);
    ways(&mut page, plan, units);
    why(&mut page, plan, units);
    list(&mut page, "FINDINGS", finding_lines(plan, units));
    list(&mut page, "CAUTIONS", caution::CAUTIONS);
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

/// A heading and one paragraph for each item; nothing when there is none.
fn list<T: AsRef<str>>(page: &mut Page, title: &str, items: impl IntoIterator<Item = T>) {
    let mut items = items.into_iter().peekable();
    if items.peek().is_some() {
        page.heading(title, "");
    }
    for item in items {
        page.paragraph("- ", 2, item.as_ref());
    }
}

fn head(page: &mut Page, case: Case<'_>, units: Units) {
    let plan = case.plan;
    let name = plan.trip.name.as_deref().unwrap_or("Trip without a name");
    page.paragraph("", 0, &plain(name));
    if let Some(vehicle) = &plan.trip.vehicle.name {
        page.paragraph("", 0, &plain(vehicle));
    }
    if let Some(changes) = case.changes() {
        page.paragraph("", 2, &plain(&format!("Changed: {changes}")));
    }
    page.line("");
    page.paragraph("", 0, &verdict::sentence(plan, units));
    let stops = plan
        .findings
        .iter()
        .filter(|found| found.severity() == Severity::Stop);
    for stop in stops {
        page.paragraph("! ", 2, &finding::sentence(stop, plan, units));
    }
    page.paragraph("", 0, &verdict::totals(plan, units));
    if let Some(tightest) = verdict::tightest(plan, units) {
        page.paragraph("", 0, &tightest);
    }
    if let Some([hinge, _]) = dry::hinge(plan, units) {
        page.paragraph("", 0, &hinge);
    }
    if let Some(doubt) = &plan.doubt {
        page.paragraph("", 0, &odds::sentence(doubt));
        page.paragraph("", 0, &odds::plain_beside(doubt, units));
    }
    page.paragraph("", 0, &odds::basis(plan));
}

fn go_card(page: &mut Page, plan: &Plan, units: Units) {
    let lines = card::go_lines(plan, units);
    if lines.is_empty() {
        return;
    }
    page.heading(
        "GO / NO-GO",
        &format!(
            "fuel aboard on arrival, tank and cans together, in brackets the gauge with the cans as planned. {}",
            card::HOW_TO_READ.replace('`', "\""),
        ),
    );
    // The odometer takes its room from the names.
    let odometer = lines.iter().any(|line| line.odometer.is_some());
    let room = if odometer { 15 } else { 23 };
    let row = |[at, shown, place, go_on, planned, back, refuge]: [&str; 7]| {
        let shown = if odometer {
            format!("{} ", pad_left(shown, 7))
        } else {
            String::new()
        };
        format!(
            "{} {shown}{} {} {} {}  {}",
            pad_left(at, 9),
            pad_right(&cut(place, room), room),
            pad_left(go_on, 12),
            pad_left(planned, 5),
            pad_left(back, 12),
            cut(refuge, 13),
        )
    };
    let unit = units.fuel_unit();
    page.line(&row(["at", "odo", "place", "go on", "plan", "back", "to"]));
    page.line(&row(["", "", "", unit, unit, unit, ""]));
    for line in &lines {
        let (back, refuge) = match &line.back {
            Some((level, refuge)) => (level.short(), refuge.as_str()),
            None => ("-".to_owned(), ""),
        };
        let shown = line.odometer.as_deref().unwrap_or_default();
        page.line(&row([
            &line.at,
            shown.trim_start_matches("odo "),
            &line.place,
            &line.go_on.short(),
            line.planned
                .as_ref()
                .map_or("dry", |planned| &planned.number),
            &back,
            refuge,
        ]));
        if let Some(at_pump) = &line.at_pump {
            page.paragraph(&" ".repeat(10), 10, at_pump);
        }
    }
    let mut notes = Vec::new();
    if lines.iter().any(|line| line.back.is_none()) {
        notes.push("-: no sure pump behind can be reached.");
    }
    let more = |level: &Level| level.gauge == MORE_THAN_FULL;
    if lines
        .iter()
        .any(|line| more(&line.go_on) || line.back.iter().any(|(level, _)| more(level)))
    {
        notes.push("full+: a full tank, and more in cans than planned.");
    }
    for note in notes {
        page.paragraph("", 2, note);
    }
}

fn legs(page: &mut Page, plan: &Plan, units: Units) {
    page.heading(
        "LEGS",
        "left is on arrival, before filling; ! is below keep, the reserve there",
    );
    let row = |cells: Vec<String>| cells.join(" ");
    page.line(&row(LEG
        .iter()
        .map(|column| column.fit(column.title))
        .collect()));
    page.line(&row(LEG
        .iter()
        .map(|column| column.fit((column.unit)(units)))
        .collect()));
    for leg in &plan.legs {
        page.line(&row(LEG
            .iter()
            .map(|column| column.cell(leg, plan, units))
            .collect()));
    }
}

fn dry_stops(page: &mut Page, plan: &Plan, units: Units) {
    let mut lines = dry::lines(plan).peekable();
    if lines.peek().is_some() {
        page.heading(
            &dry::TITLE.to_uppercase(),
            &dry::HOW_TO_READ.replace('`', "\""),
        );
    }
    for line in lines {
        page.paragraph("- ", 2, &line.sentence(plan, units));
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
    for line in load::picture(plan, units, super::page::WIDTH) {
        page.line(&line);
    }
    for says in load::supplies(plan, units) {
        page.paragraph("", 0, &says);
    }
}

/// What would make it fit; nothing where it fits.
fn ways(page: &mut Page, plan: &Plan, units: Units) {
    list(page, "WAYS TO MAKE IT FIT", ways::lines(plan, units));
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
        Cause::Tyres => "tyres",
        Cause::Extras => "extra",
    }
}
