//! `--show-work`: one leg's calculation with every number, its unit and where it comes from, in a form
//! that can be redone with paper and a pocket calculator.
//!
//! Units are those of a workshop (km/h, kW, bar, 1/min), whatever the reader's system, because the
//! formulas hold in them; numbers have six or seven digits, so that the last printed line comes out to the
//! thousandth of a litre. What is read off tables or solved by trial (the speed that the engine can
//! hold) is printed as a number to be put in.

use crate::consumption::air::{SEA_LEVEL_DENSITY, geopotential, standard_temperature};
use crate::consumption::engine::WORKING_SHARE;
use crate::consumption::terrain::{self, LEAST_MEAN_GRADE, Terrain};
use crate::consumption::working::{PartWorking, Regime, Slope, Working};
use crate::model::route::{DETOUR_FACTOR, Leg};
use crate::model::vehicle::Vehicle;
use crate::model::vocabulary::{Fuel, Induction};
use crate::plan::{Plan, PlannedLeg};
use crate::present::name::{pad_left, plain};
use crate::present::number::to_decimals;
use crate::quantity::{Factor, Litres};

use super::page::Page;

/// Digits that count in a printed number.
const DIGITS: i32 = 7;
/// Digits that count in a table, where six numbers share a line.
const TABLE_DIGITS: i32 = 6;
/// Most digits after the point.
const MOST_DECIMALS: usize = 7;

const FORMULAS: &str = "\
m      = m_dry + f * rho_f
H      = 6356766 * z / (6356766 + z)
p      = 101325 * ((288.15 - 0.0065 * H) / 288.15)^5.25588
rho    = p / (287.05287 * (T + 273.15))
d      = D * share of the regime * share of the lean
Crr    = Crr_gnd * tread * press; low range press_lo; in sand Crr_sand;
         in dunes Crr_dune
F      = Crr*m*g + rho/2 * (CdA + CdA_rf) * (v+w)*|v+w| / 12.96 + m*a_c + m*g*i
P      = max(F, 0) * v / 3600 / eta + P_acc
n      = rpk * v / 60, at least n_lo (n_lolo in low range, n_dune in
         dunes), raised until pme <= pme_w, at most n_hi
cm     = 2 * stroke / 1000 * n / 60
pme    = 1200 * P / (Vd * n)
S      = a + b*cm + c*cm^2        W = pme - l - l2*cm^2
pmf    = 2 * W / (S + sqrt(S^2 + 4*a2*W))
t      = d / v
cold   = 1 + 0.001 * dT
L      = pmf * Vd * n / 1200 * 3.6 / Q * t * cold
litres = k * (sum of L + L_start) + L_idle";

/// The working of leg number `n` (from 1) of the plan.
///
/// # Panics
/// When there is no such leg.
pub fn report(plan: &Plan, n: usize) -> String {
    let (leg, stated) = (&plan.legs[n - 1], &plan.trip.legs[n - 1]);
    let terrain = &terrain::along(&plan.trip)[n - 1];
    let working = &plan.formula(n).working(plan.legs[n - 1].steady);
    let mut page = Page::default();
    page.paragraph(
        "",
        0,
        &format!(
            "LEG {}, {} to {}: its fuel, step by step",
            leg.n,
            plain(&leg.from),
            plain(&leg.to)
        ),
    );
    page.heading("FORMULAS", "");
    for line in FORMULAS.lines() {
        page.line(line);
    }
    mass(&mut page, plan, leg, working);
    air(&mut page, stated, terrain, working);
    vehicle(&mut page, plan, stated, working);
    ground(&mut page, stated, terrain, working);
    parts(&mut page, working);
    let is_driven = plan
        .progress
        .as_deref()
        .is_some_and(|progress| n <= progress.place_number);
    let in_plan = if is_driven {
        "by the fuel readings, shared out between two of them as the formula has it"
    } else {
        "in the plan, which assumes consumption linear in the fuel on board"
    };
    sum(
        &mut page,
        leg,
        (working, &by_factor(plan, n, working)),
        in_plan,
    );
    page.text
}

/// Numbers, one a line: symbol, value, unit, where it comes from.
macro_rules! numbers {
    ($page:expr; $($symbol:expr, $value:expr, $unit:literal, $from:expr;)*) => {
        $(number($page, &$symbol, $value.get(), $unit, &$from);)*
    };
}

fn number(page: &mut Page, symbol: &str, value: f64, unit: &str, from: &str) {
    let head = format!("{symbol:<8} {:>12} {unit:<6} ", digits(value));
    page.paragraph(&head, head.len(), from);
}

fn digits(value: f64) -> String {
    to_digits(value, DIGITS)
}

/// A number with so many digits that count and no zeros at its end.
fn to_digits(value: f64, count: i32) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    #[expect(
        clippy::cast_possible_truncation,
        reason = "the decimal exponent of a finite number is below 400"
    )]
    let exponent = value.abs().log10().floor() as i32;
    let decimals = usize::try_from(count - 1 - exponent).unwrap_or(0);
    to_decimals(Factor::new(value), decimals.min(MOST_DECIMALS))
}

/// `as in the trip`, or the source of the default.
fn from(is_stated: bool, default: &str) -> String {
    if is_stated {
        "as in the trip".to_owned()
    } else {
        format!("not set: {default}")
    }
}

fn wind_source(leg: &Leg) -> String {
    match leg.wind() {
        Some((wind, from)) => format!(
            "headwind_kmh, and {} km/h from {} degrees on the leg's bearing",
            digits(wind.get()),
            digits(from.get())
        ),
        None => from(leg.headwind_kmh.is_some(), "none"),
    }
}

fn mass(page: &mut Page, plan: &Plan, leg: &PlannedLeg, working: &Working) {
    let start = digits(leg.start.get());
    let density = match plan.trip.vehicle.fuel {
        Fuel::Petrol => "petrol at 15 deg C, typical of Reg. (EC) 692/2008 Annex IX",
        Fuel::Diesel => "diesel at 15 deg C, within EN 590",
    };
    page.heading("MASS", "");
    numbers!(page;
        "m_dry", working.dry_mass, "kg", "vehicle, people, gear of that day, roof rack, cans, unusable fuel";
        "f", working.on_board, "L", format!("usable fuel on board, its mean over the leg, which starts with {start} L");
        "rho_f", working.fuel_density, "kg/L", density;
        "m", working.mass, "kg", "by the formula";
        "g", working.gravity, "m/s2", "standard gravity";
    );
}

fn air(page: &mut Page, leg: &Leg, terrain: &Terrain, working: &Working) {
    let altitude = terrain.altitude;
    let temperature = leg
        .temperature_c
        .unwrap_or_else(|| standard_temperature(altitude));
    page.heading("AIR", "");
    numbers!(page;
        "z", altitude, "m", from(leg.mean_altitude_m.is_some(), "from the start's altitude and all climbs so far");
        "H", geopotential(altitude), "m", "geopotential height, by the formula";
        "T", temperature, "deg C", from(leg.temperature_c.is_some(), "standard atmosphere, 15 - 0.0065 * H");
        "rho", working.air_density, "kg/m3", "by the formula: ISO 2533 standard atmosphere";
        "w", working.head_wind, "km/h", wind_source(leg);
        "dT", working.cold, "K", "below 15 deg C, if a temperature is set";
        "cold", working.cold_factor, "", "stiff oil and tyres, winter fuel: set to US DOE Fact #818 and a log";
    );
}

fn vehicle(page: &mut Page, plan: &Plan, leg: &Leg, working: &Working) {
    let vehicle = &plan.trip.vehicle;
    let roof = plan.trip.load().roof.as_ref();
    let drag_area = from(
        vehicle.drag_area_m2.is_some(),
        "a boxy small 4x4 has 0.9 to 1.3, from memory",
    );
    let roof_area = from(
        roof.is_some_and(|roof| roof.drag_area_m2.is_some()),
        "by its shape, graded around measured boxes: Thomas, Huff, West, SAE 2014",
    );
    let driveline = from(
        vehicle.driveline_efficiency.is_some(),
        "gearbox and axle: Joachim, Boerner, Kurz, Gear Technology 2012",
    );
    let accessories = if leg.has_aircon() {
        "accessories (common practice) and air-conditioning (1.0 to 2.9)"
    } else {
        "accessories, common practice"
    };
    let base = digits(vehicle.baseline_l_per_100km.get());
    page.heading("VEHICLE", "");
    numbers!(page;
        "CdA", working.drag_area, "m2", drag_area;
        "CdA_rf", working.roof_area, "m2", roof_area;
        "eta", working.driveline, "", driveline;
        "P_acc", working.accessories, "kW", accessories;
    );
    engine(page, vehicle, working);
    numbers!(page;
        "Q", working.engine.energy, "MJ/L", "energy in a litre: ADR 2017, 1.1.3.2 note 1";
        "k", working.k, "", format!("makes the formula give the baseline consumption of {base} L/100 km in the baseline conditions");
    );
}

fn engine(page: &mut Page, vehicle: &Vehicle, working: &Working) {
    let engine = &working.engine;
    let gear = format!(
        "highest gear, {}; divided by the tyre ratio {}",
        from(vehicle.revs_per_km.is_some(), "common practice"),
        digits(vehicle.tyre_ratio().get())
    );
    let height = match vehicle.induction() {
        Induction::Natural => {
            let density = digits(SEA_LEVEL_DENSITY.get());
            format!(" * rho / {density}: thin air costs power")
        }
        Induction::Turbo => String::new(),
    };
    let full_load = digits(WORKING_SHARE.get());
    numbers!(page;
        "Vd", engine.swept, "L", "as in the trip";
        "stroke", engine.stroke, "mm", from(vehicle.stroke_mm.is_some(), "bore and stroke are taken as equal");
        "rpk", engine.revs_per_km, "1/km", gear;
        "n_lo", engine.lowest[0], "1/min", "lowest comfortable, common practice";
        "n_lolo", engine.lowest[1], "1/min", "lowest comfortable in low range";
        "n_dune", engine.in_dunes, "1/min", "lowest in dunes, common practice";
        "n_hi", engine.highest, "1/min", "highest that a driver uses, common practice";
        "pme_w", engine.working_pme, "bar", format!("{full_load} of full load (common practice){height}");
    );
    let names = ["a", "b", "c", "a2", "l", "l2"];
    for (name, coefficient) in names.into_iter().zip(engine.line) {
        let source = match name {
            "a" => {
                "extended Willans line, bar and m/s: European Commission JRC, light-duty \
                 type-approval CO2 model"
            }
            _ => "same",
        };
        numbers!(page; name, coefficient, "", source;);
    }
}

fn ground(page: &mut Page, leg: &Leg, terrain: &Terrain, working: &Working) {
    let straight = format!(
        "straight line times {}, common practice",
        digits(DETOUR_FACTOR.get())
    );
    let surface = leg.surface().word();
    let [press, press_low] = working.pressure;
    let pressure = |range: &str| {
        format!(
            "in {range} range, aired down, on firm surfaces only: Crr = 0.005 + (0.01 + 0.0095 (v/100)^2)/p, soft over road"
        )
    };
    page.heading("ROUTE", "");
    numbers!(page;
        "D", terrain.distance, "km", from(leg.distance_km.is_some(), &straight);
        "Crr_gnd", working.ground_resistance, "", format!("{surface}, most likely value of the published tables");
        "tread", working.tread, "", "on firm ground only, common practice";
        "press", press, "", pressure("high");
        "press_lo", press_low, "", pressure("low");
    );
    let aired = if leg.is_aired_down() {
        format!(
            ", times {} = ((p_road + 0.5) / (p_soft + 0.5))^-0.7 for aired-down tyres",
            digits(working.sand_pressure.get())
        )
    } else {
        String::new()
    };
    let [sand, dunes] = working.soft_resistances;
    if leg.sand_share().get() > 0.0 {
        numbers!(page;
            "Crr_sand", sand, "", format!("soft sand, most likely value of the published tables{aired}; very uncertain");
        );
    }
    if leg.dune_share().get() > 0.0 {
        numbers!(page;
            "Crr_dune", dunes, "", format!("dunes, unverified reports{aired}; extremely uncertain");
        );
    }
    let both = "0.7 of the smaller share + 0.3 of their product";
    let grade = format!(
        "the larger of {} and (up + down) / D, steeper if the other one is set and leaves less distance",
        digits(LEAST_MEAN_GRADE.get())
    );
    let height = "of climb or descent";
    numbers!(page;
        "sand", leg.sand_share(), "", from(leg.sand_share.is_some(), "none");
        "dune", leg.dune_share(), "", from(leg.dune_share.is_some(), "none");
        "low", leg.low_range_share(), "", from(leg.low_range_share.is_some(), "none");
        "both", leg.both_share(), "", from(leg.both_share.is_some(), both);
        "up", terrain.ascent, "m", height;
        "i_up", terrain.ascent_grade, "", from(leg.ascent_grade.is_some(), &grade);
        "down", terrain.descent, "m", height;
        "i_down", terrain.descent_grade, "", from(leg.descent_grade.is_some(), &grade);
    );
}

/// A column of a table of parts: its head and its cell.
type Column = (&'static str, fn(&PartWorking) -> f64);

/// The three tables of parts: what they are, what forces they need, what the engine does.
fn parts(page: &mut Page, working: &Working) {
    let row = |label: &str, cells: Vec<String>| {
        let cells: String = cells.iter().map(|cell| pad_left(cell, 10)).collect();
        format!("{label:<18} {cells}")
    };
    let mut table = |title: &str, note: &str, columns: [Column; 6]| {
        page.heading(title, note);
        page.line(&row(
            "part",
            columns.map(|(head, _)| head.to_owned()).to_vec(),
        ));
        for (index, part) in working.parts.iter().enumerate() {
            let cells = columns.map(|(_, cell)| to_digits(cell(part), TABLE_DIGITS));
            page.line(&row(&label(index, part), cells.to_vec()));
        }
    };
    table(
        "PARTS",
        "length d (km), grade i, rolling resistance Crr, unsteadiness a_c (m/s2), speed set and \
         speed v that the engine manages (km/h)",
        [
            ("d", |part| part.distance.get()),
            ("i", |part| part.grade.get()),
            ("Crr", |part| part.resistance.get()),
            ("a_c", |part| part.unsteadiness.get()),
            ("set", |part| part.wanted.get()),
            ("v", |part| part.speed.get()),
        ],
    );
    table(
        "FORCES",
        "the four terms of F and their sum (N), power P at the crank (kW)",
        [
            ("rolling", |part| part.forces[0].get()),
            ("air", |part| part.forces[1].get()),
            ("unsteady", |part| part.forces[2].get()),
            ("slope", |part| part.forces[3].get()),
            ("F", |part| {
                part.forces.iter().map(|force| force.get()).sum()
            }),
            ("P", |part| part.engine.power.get()),
        ],
    );
    table(
        "ENGINE",
        "speed n (1/min), piston speed cm (m/s), pressures (bar), time t (h), litres L before k",
        [
            ("n", |part| part.engine.revs.get()),
            ("cm", |part| part.engine.piston_speed.get()),
            ("pme", |part| part.engine.pme.get()),
            ("pmf", |part| part.engine.pmf.get()),
            ("t", |part| part.time.get()),
            ("L", |part| part.litres.get()),
        ],
    );
}

/// `1 low+sand up`.
fn label(index: usize, part: &PartWorking) -> String {
    let regime = match part.regime {
        Regime::Plain => "plain",
        Regime::Sand => "sand",
        Regime::LowRange => "low",
        Regime::Dunes => "dunes",
        Regime::LowRangeSand => "low+sand",
        Regime::LowRangeDunes => "low+dunes",
    };
    let lean = match part.lean {
        Slope::Climb => "up",
        Slope::Level => "level",
        Slope::Descent => "down",
    };
    format!("{} {regime} {lean}", index + 1)
}

/// What a fitted vehicle's factors apply to, before k; empty where nothing was fitted.
fn by_factor(plan: &Plan, n: usize, working: &Working) -> Vec<(&'static str, Litres, Factor)> {
    let Some(fitted) = &plan.vehicle().calibration else {
        return Vec::new();
    };
    let names = ["base", "sand", "low", "roof", "idle"];
    let litres = plan.formula(n).unfitted(working.on_board);
    let before_k = litres.map(|litres| litres / working.k.get());
    names
        .into_iter()
        .zip(before_k)
        .zip(fitted.factors())
        .map(|((name, litres), factor)| (name, litres, factor))
        .collect()
}

fn sum(
    page: &mut Page,
    leg: &PlannedLeg,
    (working, fitted): (&Working, &[(&'static str, Litres, Factor)]),
    in_plan: &str,
) {
    page.heading("LITRES", "");
    let driven: Litres = working.parts.iter().map(|part| part.litres).sum();
    let idle = working.idle;
    numbers!(page;
        "sum_L", driven, "L", "of all parts";
        "L_start", working.starts, "L", "0.003 * dT * Vd on a leg that begins a day: warming up";
    );
    if working.idling.get() > 0.0 {
        let rate = format!(
            "the same engine at rest: n {}, P = P_acc, pme {}, pmf {}; k does not touch it",
            digits(idle.revs.get()),
            digits(idle.pme.get()),
            digits(idle.pmf.get()),
        );
        numbers!(page;
            "idling", working.idling, "h", "as in the trip";
            "rate", idle.rate, "L/h", rate;
        );
    }
    if working.camp > Litres::ZERO {
        numbers!(page; "camp", working.camp, "L", "heater, stove, generator: set per day";);
    }
    let at_rest = working.idling * idle.rate + working.camp;
    numbers!(page; "L_idle", at_rest, "L", "idling * rate + camp";);
    for (name, litres, factor) in fitted {
        if *name != "idle" {
            let source = match *name {
                "roof" => "sum_L less the three above",
                "base" => "L of its parts worked again with CdA_rf 0, and L_start",
                _ => "sum of L of its parts worked again with CdA_rf 0",
            };
            numbers!(page; format!("L_{name}"), litres, "L", source;);
        }
        numbers!(page; format!("f_{name}"), factor, "", "calibration factor";);
    }
    let source = if fitted.is_empty() {
        "k * (sum_L + L_start) + L_idle"
    } else {
        "k * (f_base*L_base + f_sand*L_sand + f_low*L_low + f_roof*L_roof) + f_idle * L_idle"
    };
    numbers!(page;
        "litres", working.litres, "L", source;
        "plan", leg.fuel, "L", in_plan;
    );
    if let Some(rate) = leg.rate {
        numbers!(page; "per 100", rate, "L", "for 100 km, from the plan";);
    }
}
