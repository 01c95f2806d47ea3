//! `--show-work`: one leg's calculation with every number, its unit and where it comes from, in a form
//! that can be redone with paper and a pocket calculator.
//!
//! Units are those of a workshop (km/h, kW, bar, 1/min), whatever the reader's system, because the
//! formulas hold in them; numbers have six or seven digits, so that the last printed line comes out to the
//! thousandth of a litre. What is read off tables or solved by trial (the speed that the engine can
//! hold) is printed as a number to be put in.

use crate::consumption::air::{SEA_LEVEL_DENSITY, geopotential, standard_temperature};
use crate::consumption::engine::WORKING_SHARE;
use crate::consumption::surface::SAND_AIRED_DOWN;
use crate::consumption::terrain::{self, LEAST_MEAN_GRADE, Terrain};
use crate::consumption::working::{Lean, PartWorking, Regime, Working};
use crate::model::route::{DETOUR_FACTOR, Leg};
use crate::model::vehicle::Vehicle;
use crate::model::vocabulary::{Fuel, Induction};
use crate::plan::{Plan, PlannedLeg};
use crate::present::name::{pad_left, pad_right, plain};
use crate::quantity::{Factor, Litres};

use super::page::Page;

/// Digits that count in a printed number.
const DIGITS: i32 = 7;
/// The same in a table, where six numbers share a line.
const TABLE_DIGITS: i32 = 6;
/// Most digits after the point.
const MOST_DECIMALS: usize = 7;

const FORMULAS: &str = "\
m      = m_dry + f * rho_f
H      = 6356766 * z / (6356766 + z)
p      = 101325 * ((288.15 - 0.0065 * H) / 288.15)^5.25588
rho    = p / (287.05287 * (T + 273.15))
d      = D * share of the regime * share of the lean
Crr    = Crr_gnd * tread * press; low range press_lo; in sand Crr_sand
F      = Crr*m*g + rho/2 * (CdA + CdA_rf) * (v+w)*|v+w| / 12.96 + m*a_c + m*g*i
P      = max(F, 0) * v / 3600 / eta + P_acc
n      = rpk * v / 60, at least n_lo (n_lolo in low range), raised until
         pme <= pme_w, at most n_hi
cm     = 2 * stroke / 1000 * n / 60
pme    = 1200 * P / (Vd * n)
S      = a + b*cm + c*cm^2        W = pme - l - l2*cm^2
pmf    = 2 * W / (S + sqrt(S^2 + 4*a2*W))
t      = d / v
L      = pmf * Vd * n / 1200 * 3.6 / Q * t
litres = k * (sum of L) + L_idle";

/// The working of leg number `n` (from 1) of the plan.
///
/// # Panics
/// When there is no such leg.
pub fn report(plan: &Plan, n: usize) -> String {
    let (leg, stated) = (&plan.legs[n - 1], &plan.trip.legs[n - 1]);
    let terrain = &terrain::of(&plan.trip)[n - 1];
    let working = &plan.formula(n).working(plan.legs[n - 1].steady);
    let mut page = Page::default();
    page.paragraph(
        "",
        0,
        &format!(
            "LEG {}, {} to {}: its litres, step by step",
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
    sum(&mut page, leg, working, &by_factor(plan, n, working));
    page.text
}

/// One number: symbol, value, unit, where it comes from.
fn number(page: &mut Page, symbol: &str, value: f64, unit: &str, from: &str) {
    let head = format!(
        "{} {} {} ",
        pad_right(symbol, 8),
        pad_left(&digits(value, DIGITS), 12),
        pad_right(unit, 6)
    );
    page.paragraph(&head, head.len(), from);
}

/// A number with so many digits that count and no zeros at its end.
fn digits(value: f64, count: i32) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    #[expect(
        clippy::cast_possible_truncation,
        reason = "the decimal exponent of a finite number is below 400"
    )]
    let exponent = value.abs().log10().floor() as i32;
    let decimals = usize::try_from(count - 1 - exponent)
        .unwrap_or(0)
        .min(MOST_DECIMALS);
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// `stated`, or where the default comes from.
fn from<T>(stated: Option<&T>, default: &str) -> String {
    match stated {
        Some(_) => "stated".to_owned(),
        None => format!("not stated; {default}"),
    }
}

fn mass(page: &mut Page, plan: &Plan, leg: &PlannedLeg, working: &Working) {
    page.heading("MASS", "");
    number(
        page,
        "m_dry",
        working.dry_mass.get(),
        "kg",
        "vehicle, crew, load of that day, roof carrier, cans, unusable fuel",
    );
    number(
        page,
        "f",
        working.on_board.get(),
        "L",
        &format!(
            "usable fuel aboard, its mean over the leg, which starts with {} L",
            digits(leg.start.get(), DIGITS)
        ),
    );
    number(
        page,
        "rho_f",
        working.fuel_density.get(),
        "kg/L",
        match plan.trip.vehicle.fuel {
            Fuel::Petrol => "petrol at 15 deg C, typical of Reg. (EC) 692/2008 Annex IX",
            Fuel::Diesel => "diesel at 15 deg C, within EN 590",
        },
    );
    number(page, "m", working.mass.get(), "kg", "by the formula");
    number(page, "g", working.gravity.get(), "m/s2", "standard gravity");
}

fn air(page: &mut Page, leg: &Leg, terrain: &Terrain, working: &Working) {
    page.heading("AIR", "");
    number(
        page,
        "z",
        terrain.altitude.get(),
        "m",
        &from(
            leg.mean_altitude_m.as_ref(),
            "from the start's altitude and all climbs so far",
        ),
    );
    number(
        page,
        "H",
        geopotential(terrain.altitude).get(),
        "m",
        "geopotential height, by the formula",
    );
    number(
        page,
        "T",
        leg.temperature_c
            .unwrap_or_else(|| standard_temperature(terrain.altitude))
            .get(),
        "deg C",
        &from(
            leg.temperature_c.as_ref(),
            "standard atmosphere, 15 - 0.0065 * H",
        ),
    );
    number(
        page,
        "rho",
        working.air_density.get(),
        "kg/m3",
        "by the formula: ISO 2533 standard atmosphere",
    );
    number(
        page,
        "w",
        working.head_wind.get(),
        "km/h",
        &from(leg.headwind_kmh.as_ref(), "none"),
    );
}

fn vehicle(page: &mut Page, plan: &Plan, leg: &Leg, working: &Working) {
    let vehicle = &plan.trip.vehicle;
    let engine = &working.engine;
    page.heading("VEHICLE", "");
    number(
        page,
        "CdA",
        working.drag_area.get(),
        "m2",
        &from(
            vehicle.drag_area_m2.as_ref(),
            "a boxy small 4x4 has 0.9 to 1.3, from memory",
        ),
    );
    let roof = plan.trip.load().roof.as_ref();
    number(
        page,
        "CdA_rf",
        working.roof_area.get(),
        "m2",
        &from(
            roof.and_then(|roof| roof.drag_area_m2.as_ref()),
            "by its shape, graded around measured boxes: Thomas, Huff, West, SAE 2014",
        ),
    );
    number(
        page,
        "eta",
        working.driveline.get(),
        "",
        &from(
            vehicle.driveline_efficiency.as_ref(),
            "gearbox and axle: Joachim, Boerner, Kurz, Gear Technology 2012",
        ),
    );
    number(
        page,
        "P_acc",
        working.accessories.get(),
        "kW",
        if leg.has_aircon() {
            "accessories (common practice) and air-conditioning (1.0 to 2.9)"
        } else {
            "accessories, common practice"
        },
    );
    engine_numbers(page, vehicle, working);
    number(
        page,
        "Q",
        engine.energy.get(),
        "MJ/L",
        "energy in a litre: ADR 2017, 1.1.3.2 note 1",
    );
    number(
        page,
        "k",
        working.k.get(),
        "",
        &format!(
            "makes the formula give the base figure of {} L/100 km in its own condition",
            digits(vehicle.base_l_per_100km.get(), DIGITS)
        ),
    );
}

fn engine_numbers(page: &mut Page, vehicle: &Vehicle, working: &Working) {
    let engine = &working.engine;
    number(page, "Vd", engine.swept.get(), "L", "stated");
    number(
        page,
        "stroke",
        engine.stroke.get(),
        "mm",
        &from(
            vehicle.stroke_mm.as_ref(),
            "bore and stroke are taken as equal",
        ),
    );
    number(
        page,
        "rpk",
        engine.revs_per_km.get(),
        "1/km",
        &format!(
            "highest gear, {}; divided by the tyre ratio {}",
            from(vehicle.revs_per_km.as_ref(), "common practice"),
            digits(vehicle.tyre_ratio().get(), DIGITS)
        ),
    );
    number(
        page,
        "n_lo",
        engine.lowest[0].get(),
        "1/min",
        "lowest comfortable, common practice",
    );
    number(
        page,
        "n_lolo",
        engine.lowest[1].get(),
        "1/min",
        "the same in low range",
    );
    number(
        page,
        "n_hi",
        engine.highest.get(),
        "1/min",
        "highest that a driver uses, common practice",
    );
    number(
        page,
        "pme_w",
        engine.working_pme.get(),
        "bar",
        &format!(
            "{} of full load (common practice){}",
            digits(WORKING_SHARE.get(), DIGITS),
            match vehicle.induction() {
                Induction::Natural => format!(
                    " * rho / {}: height takes power",
                    digits(SEA_LEVEL_DENSITY.get(), DIGITS)
                ),
                Induction::Turbo => String::new(),
            }
        ),
    );
    let names = ["a", "b", "c", "a2", "l", "l2"];
    for (name, coefficient) in names.into_iter().zip(engine.line) {
        let source = if name == "a" {
            "extended Willans line, bar and m/s: European Commission JRC, light-duty \
             type-approval CO2 model"
        } else {
            "same"
        };
        number(page, name, coefficient.get(), "", source);
    }
}

fn ground(page: &mut Page, leg: &Leg, terrain: &Terrain, working: &Working) {
    page.heading("WAY", "");
    number(
        page,
        "D",
        terrain.distance.get(),
        "km",
        &from(
            leg.distance_km.as_ref(),
            &format!(
                "straight line times {}, common practice",
                digits(DETOUR_FACTOR.get(), DIGITS)
            ),
        ),
    );
    let surface = leg.surface().word();
    number(
        page,
        "Crr_gnd",
        working.ground_resistance.get(),
        "",
        &format!("{surface}, likely value of published tables"),
    );
    number(
        page,
        "tread",
        working.tread.get(),
        "",
        "on firm ground only, common practice",
    );
    let pressures = [("press", "high"), ("press_lo", "low")];
    for ((symbol, range), factor) in pressures.into_iter().zip(working.pressure) {
        number(
            page,
            symbol,
            factor.get(),
            "",
            &format!(
                "in {range} range, tyres let down, on firm ground only: Crr = 0.005 + (0.01 + 0.0095 (v/100)^2)/p, soft over road"
            ),
        );
    }
    if leg.sand_share().get() > 0.0 {
        let aired = if leg.is_aired_down() {
            format!(
                ", times {} for tyres let down",
                digits(SAND_AIRED_DOWN.get(), DIGITS)
            )
        } else {
            String::new()
        };
        number(
            page,
            "Crr_sand",
            working.sand_resistance.get(),
            "",
            &format!("soft sand, likely value of published tables{aired}; wide doubt"),
        );
    }
    for (symbol, share, what) in [
        ("sand", leg.sand_share(), leg.sand_share.as_ref()),
        ("low", leg.low_range_share(), leg.low_range_share.as_ref()),
        ("both", leg.both_share(), leg.both_share.as_ref()),
    ] {
        let default = match symbol {
            "both" => "0.7 of the smaller share + 0.3 of their product",
            _ => "none",
        };
        number(page, symbol, share.get(), "", &from(what, default));
    }
    for (symbol, height, grade, stated) in [
        ("up", terrain.ascent, terrain.ascent_grade, leg.ascent_grade),
        (
            "down",
            terrain.descent,
            terrain.descent_grade,
            leg.descent_grade,
        ),
    ] {
        number(page, symbol, height.get(), "m", "of climb or descent");
        let default = format!(
            "the larger of {} and (up + down) / D, steeper where a stated one leaves less way",
            digits(LEAST_MEAN_GRADE.get(), DIGITS)
        );
        number(
            page,
            &format!("i_{symbol}"),
            grade.get(),
            "",
            &from(stated.as_ref(), &default),
        );
    }
}

/// The three tables of parts: what they are, what forces they need, what the engine does.
fn parts(page: &mut Page, working: &Working) {
    let row = |label: &str, cells: &[String]| {
        let cells: String = cells.iter().map(|cell| pad_left(cell, 10)).collect();
        format!("{} {cells}", pad_right(label, 18))
    };
    let heads = |names: &[&str]| {
        names
            .iter()
            .map(|&name| name.to_owned())
            .collect::<Vec<_>>()
    };
    let label = |(index, part): (usize, &PartWorking)| {
        format!(
            "{} {} {}",
            index + 1,
            match part.regime {
                Regime::Plain => "plain",
                Regime::Sand => "sand",
                Regime::LowRange => "low",
                Regime::Both => "low+sand",
            },
            match part.lean {
                Lean::Climb => "up",
                Lean::Level => "level",
                Lean::Descent => "down",
            }
        )
    };
    let mut table =
        |title: &str, note: &str, names: &[&str], cells: fn(&PartWorking) -> Vec<f64>| {
            page.heading(title, note);
            page.line(&row("part", &heads(names)));
            for (index, part) in working.parts.iter().enumerate() {
                let cells: Vec<String> = cells(part)
                    .into_iter()
                    .map(|cell| digits(cell, TABLE_DIGITS))
                    .collect();
                page.line(&row(&label((index, part)), &cells));
            }
        };
    table(
        "PARTS",
        "length d (km), grade i, rolling resistance Crr, unsteadiness a_c (m/s2), speed wanted and \
         speed v that the engine holds (km/h)",
        &["d", "i", "Crr", "a_c", "wanted", "v"],
        |part| {
            vec![
                part.distance.get(),
                part.grade.get(),
                part.resistance.get(),
                part.unsteadiness.get(),
                part.wanted.get(),
                part.speed.get(),
            ]
        },
    );
    table(
        "FORCES",
        "the four terms of F and their sum (N), power P at the crank (kW)",
        &["rolling", "air", "unsteady", "slope", "F", "P"],
        |part| {
            let mut cells: Vec<f64> = part.forces.iter().map(|force| force.get()).collect();
            cells.push(cells.iter().sum());
            cells.push(part.engine.power.get());
            cells
        },
    );
    table(
        "ENGINE",
        "speed n (1/min), piston speed cm (m/s), pressures (bar), time t (h), litres L before k",
        &["n", "cm", "pme", "pmf", "t", "L"],
        |part| {
            vec![
                part.engine.revs.get(),
                part.engine.piston_speed.get(),
                part.engine.pme.get(),
                part.engine.pmf.get(),
                part.time.get(),
                part.litres.get(),
            ]
        },
    );
}

/// What a fitted vehicle's factors apply to, before k; empty where nothing was fitted.
fn by_factor(plan: &Plan, n: usize, working: &Working) -> Vec<(&'static str, Litres, Factor)> {
    let Some(fitted) = &plan.vehicle().fitted else {
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
    working: &Working,
    fitted: &[(&'static str, Litres, Factor)],
) {
    page.heading("LITRES", "");
    let driven: Litres = working.parts.iter().map(|part| part.litres).sum();
    number(page, "sum_L", driven.get(), "L", "of all parts");
    let idle = working.idle;
    if working.idling.get() > 0.0 {
        number(page, "idling", working.idling.get(), "h", "stated");
        number(
            page,
            "rate",
            idle.rate.get(),
            "L/h",
            &format!(
                "the same engine at rest: n {}, P = P_acc, pme {}, pmf {}; k does not touch it",
                digits(idle.revs.get(), DIGITS),
                digits(idle.pme.get(), DIGITS),
                digits(idle.pmf.get(), DIGITS),
            ),
        );
    }
    number(
        page,
        "L_idle",
        (working.idling * idle.rate).get(),
        "L",
        "idling * rate",
    );
    let source = if fitted.is_empty() {
        "k * sum_L + L_idle"
    } else {
        "k * (f_base*L_base + f_sand*L_sand + f_low*L_low + f_roof*L_roof) + f_idle * L_idle"
    };
    for (name, litres, factor) in fitted {
        if *name != "idle" {
            let source = match *name {
                "roof" => "sum_L less the three above",
                _ => "sum of L of its parts worked again with CdA_rf 0",
            };
            number(page, &format!("L_{name}"), litres.get(), "L", source);
        }
        number(
            page,
            &format!("f_{name}"),
            factor.get(),
            "",
            "fitted to fill-ups",
        );
    }
    number(page, "litres", working.litres.get(), "L", source);
    number(
        page,
        "plan",
        leg.fuel.get(),
        "L",
        "in the plan, which takes the use as linear in the fuel aboard",
    );
    if let Some(rate) = leg.rate {
        number(
            page,
            "per 100",
            rate.get(),
            "L",
            "for 100 km, from the plan",
        );
    }
}
