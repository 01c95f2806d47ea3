//! The printed working of a leg, redone from its text alone.

use std::collections::HashMap;
use std::fs;
use std::path::Path;

use drystage::io::{json, tracks};
use drystage::model::Trip;
use drystage::plan::Plan;
use drystage::quantity::{Celsius, Litres, Share};
use drystage::report::work;

/// The text of a working, read back.
struct Read {
    numbers: HashMap<String, f64>,
    /// Title of a table, then its rows: label and cells.
    tables: HashMap<String, Vec<(String, Vec<f64>)>>,
}

/// Numbers stand as `symbol value unit source`; tables have a title in capitals and a row of heads.
fn read(text: &str) -> Read {
    let mut numbers = HashMap::new();
    let mut tables: HashMap<String, Vec<(String, Vec<f64>)>> = HashMap::new();
    let mut section = String::new();
    for line in text.lines() {
        let words: Vec<&str> = line.split_whitespace().collect();
        let title = line.split(':').next().unwrap();
        if !title.is_empty() && title.chars().all(|c| c.is_ascii_uppercase()) {
            title.clone_into(&mut section);
        }
        if ["PARTS", "FORCES", "ENGINE"].contains(&section.as_str()) {
            let cells: Vec<f64> = words.iter().skip(3).flat_map(|word| word.parse()).collect();
            if cells.len() == 6 && words.len() == 9 {
                let label = words[..3].join(" ");
                tables
                    .entry(section.clone())
                    .or_default()
                    .push((label, cells));
            }
        } else if section != "FORMULAS"
            && !line.starts_with(' ')
            && let Some(Ok(value)) = words.get(1).map(|word| word.parse())
        {
            numbers.insert(words[0].to_owned(), value);
        }
    }
    Read { numbers, tables }
}

fn assert_near(redone: f64, printed: f64, what: &str) {
    let close = (redone - printed).abs() <= 2e-5 * printed.abs().max(0.01);
    assert!(close, "{what}: redone {redone}, printed {printed}");
}

/// Redoes every step by the formulas at the head of the text and gives the litres.
fn redo(text: &str) -> f64 {
    let Read { numbers, tables } = read(text);
    let n = |symbol: &str| *numbers.get(symbol).unwrap_or(&0.0);

    let mass = n("m_dry") + n("f") * n("rho_f");
    assert_near(mass, n("m"), "m");
    let height = 6_356_766.0 * n("z") / (6_356_766.0 + n("z"));
    assert_near(height, n("H"), "H");
    let pressure = 101_325.0 * ((288.15 - 0.0065 * n("H")) / 288.15).powf(5.25588);
    let rho = pressure / (287.05287 * (n("T") + 273.15));
    assert_near(rho, n("rho"), "rho");

    let cold = 1.0 + 0.001 * n("dT");
    assert_near(cold, n("cold"), "cold");

    let mut sum = 0.0;
    let mut way = 0.0;
    for (index, (label, part)) in tables["PARTS"].iter().enumerate() {
        let [d, grade, crr, unsteady, wanted, v] = part[..] else {
            panic!("{label} has six numbers");
        };
        let regime = label.split(' ').nth(1).unwrap();
        way += d;
        let sandy = n("sand") / (n("sand") + n("dune"));
        let share = match regime {
            "sand" => (n("sand") + n("dune") - n("both")) * sandy,
            "dunes" => (n("sand") + n("dune") - n("both")) * (1.0 - sandy),
            "low" => n("low") - n("both"),
            "low+sand" => n("both") * sandy,
            "low+dunes" => n("both") * (1.0 - sandy),
            _ => 1.0 - n("sand") - n("dune") - n("low") + n("both"),
        };
        let (up, down) = (n("up") / n("i_up"), n("down") / n("i_down"));
        let metres = match label.rsplit(' ').next().unwrap() {
            "up" => up,
            "down" => down,
            _ => n("D") * 1000.0 - up - down,
        };
        assert_near(share * metres / 1000.0, d, "d");
        let expected = if regime.contains("sand") {
            n("Crr_sand")
        } else if regime.contains("dunes") {
            n("Crr_dune")
        } else {
            let press = if regime == "low" { "press_lo" } else { "press" };
            n("Crr_gnd") * n("tread") * n(press)
        };
        assert_near(expected, crr, "Crr");

        let wind = v + n("w");
        let forces = [
            crr * mass * n("g"),
            rho / 2.0 * (n("CdA") + n("CdA_rf")) * wind * wind.abs() / 12.96,
            mass * unsteady,
            mass * n("g") * grade,
        ];
        let force: f64 = forces.iter().sum();
        let power = force.max(0.0) * v / 3600.0 / n("eta") + n("P_acc");
        let printed = &tables["FORCES"][index].1;
        for (redone, printed) in forces.iter().zip(printed) {
            assert_near(*redone, *printed, "a force");
        }
        assert_near(power, printed[5], "P");

        let lowest = if regime.contains("dunes") {
            n("n_dune")
        } else if regime.starts_with("low") {
            n("n_lolo")
        } else {
            n("n_lo")
        };
        let raised = 1200.0 * power / (n("Vd") * n("pme_w"));
        let revs = (n("rpk") * v / 60.0).max(lowest).max(raised).min(n("n_hi"));
        let piston = 2.0 * n("stroke") / 1000.0 * revs / 60.0;
        let pme = 1200.0 * power / (n("Vd") * revs);
        let slope = n("a") + n("b") * piston + n("c") * piston * piston;
        let wanted_pme = pme - n("l") - n("l2") * piston * piston;
        let pmf = 2.0 * wanted_pme / (slope + (slope * slope + 4.0 * n("a2") * wanted_pme).sqrt());
        let litres = pmf * n("Vd") * revs / 1200.0 * 3.6 / n("Q") * (d / v) * cold;
        for (redone, printed) in [revs, piston, pme, pmf, d / v, litres]
            .into_iter()
            .zip(&tables["ENGINE"][index].1)
        {
            assert_near(redone, *printed, label);
        }
        // Where the engine cannot hold the speed it works as hard as it may.
        if v < wanted {
            let most = n("pme_w") * n("Vd") * n("n_hi") / 1200.0;
            assert!(power > most * 0.999 || revs >= n("n_hi") * 0.999, "{label}");
        }
        sum += litres;
    }
    assert_near(way, n("D"), "the parts add up to the leg");
    assert_near(sum, n("sum_L"), "sum_L");
    let at_rest = n("idling") * n("rate") + n("camp");
    assert_near(at_rest, n("L_idle"), "L_idle");
    let is_first = n("L_start") > 0.0;
    if is_first {
        assert_near(0.003 * n("dT") * n("Vd"), n("L_start"), "L_start");
    }
    n("k") * (sum + n("L_start")) + at_rest
}

fn trips() -> Vec<std::path::PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut trips: Vec<_> = fs::read_dir(root.join("sample-routes"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "json"))
        .collect();
    trips.push(root.join("tests/data/example-trip.json"));
    trips
}

#[test]
fn litres_can_be_redone_from_the_printed_text() {
    for path in trips() {
        let mut trip = json::read(&path).unwrap();
        tracks::read(&mut trip, path.parent().unwrap()).unwrap();
        works_out(trip, &path.display().to_string());
    }
}

/// Cold, dunes in and out of low range, tyres let down and a heater at camp, on the legs of the example.
#[test]
fn what_few_trips_have_can_be_redone_too() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/example-trip.json");
    let mut trip = json::read(&path).unwrap();
    for (nth, leg) in trip.legs.iter_mut().enumerate() {
        leg.temperature_c = Some(Celsius::new(-12.0));
        leg.sand_share = Some(Share::new(0.2));
        leg.dune_share = Some(Share::new(0.3));
        leg.low_range_share = Some(Share::new(0.1 * nth as f64));
        leg.both_share = None;
        leg.aired_down = Some(true);
        leg.camp_l_per_day = Some(Litres::new(1.5));
    }
    works_out(trip, "cold dunes");
}

fn works_out(trip: Trip, name: &str) {
    let plan = Plan::best_estimate(trip);
    for leg in plan.legs.iter().filter(|leg| leg.distance.get() > 0.0) {
        let text = work::report(&plan, leg.n);
        let litres = redo(&text);
        let printed = read(&text).numbers["litres"];
        assert_near(litres, printed, "litres");
        // The plan's own figure takes use as linear in the fuel on board; where the engine comes to
        // its limit within that range the line has a bend.
        let off = (litres / leg.fuel.get() - 1.0).abs();
        assert!(off < 1e-3, "{name} leg {}: off by {off}", leg.n);
        assert!(
            text.lines().all(|line| line.chars().count() <= 80),
            "{text}"
        );
        assert!(text.is_ascii());
    }
}
