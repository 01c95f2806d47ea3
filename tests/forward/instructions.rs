//! What the driver has on paper, read from the JSON report.

use serde_json::Value;

/// All instructions of a plan.
#[derive(Clone, Debug)]
pub struct Instructions {
    pub stops: Vec<Stop>,
    /// In driving order.
    pub checks: Vec<Check>,
    /// Fill of each can on board.
    pub cans: Vec<f64>,
    /// Gauge level at and below which a can of a fill may be decanted, unusable fuel included.
    pub decants: Vec<(f64, f64)>,
}

/// The instruction at a fuel stop.
#[derive(Clone, Debug)]
pub struct Stop {
    pub place: usize,
    pub relied_on: bool,
    pub used: bool,
    pub chance: f64,
    pub leave_tank: Option<f64>,
    pub leave_cans: Option<f64>,
    pub at_most: Option<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Check,
    Decision,
    After,
}

/// What a row asks for.
#[derive(Clone, Copy, Debug)]
pub struct Asked {
    pub continue_with: Option<f64>,
    pub return_with: Option<f64>,
    /// With less than both, whether to return.
    pub returns_if_neither: bool,
}

/// One row of the fuel checks.
#[derive(Clone, Debug)]
pub struct Check {
    pub at_km: f64,
    /// `None` en route.
    pub place: Option<usize>,
    pub kind: Kind,
    pub asked: Asked,
    /// What is asked instead at a fuel stop that has no fuel.
    pub asked_if_dry: Option<Asked>,
    pub return_to: Option<usize>,
    pub rises_per_litre: f64,
    /// Litres pumped at most, and litres to leave with.
    pub pumped: Vec<[f64; 2]>,
}

impl Check {
    /// What the row asks for on arrival. A dash asks for nothing; at the decision point it says that no amount is
    /// enough.
    pub fn asks(&self) -> Option<Asked> {
        let asks = match self.kind {
            Kind::Check => self.asked.continue_with.is_some(),
            Kind::Decision => true,
            Kind::After => false,
        };
        asks.then_some(self.asked)
    }
}

fn list<'a>(document: &'a Value, key: &str) -> &'a [Value] {
    document[key].as_array().map_or(&[], Vec::as_slice)
}

fn number(value: &Value) -> Option<f64> {
    value.as_f64()
}

fn place(value: &Value) -> Option<usize> {
    usize::try_from(value.as_u64()?).ok()
}

impl Instructions {
    pub fn new(report: &Value) -> Self {
        let cans = list(&report["cans"], "chosen").iter().flat_map(|kind| {
            let count = place(&kind["count"]).unwrap();
            std::iter::repeat_n(number(&kind["fill_l"]).unwrap(), count)
        });
        Self {
            stops: list(report, "stops").iter().map(stop).collect(),
            checks: list(report, "fuel_checks").iter().map(check).collect(),
            cans: cans.collect(),
            decants: list(report, "decants").iter().map(decant).collect(),
        }
    }

    pub fn stop(&self, place: usize) -> Option<&Stop> {
        self.stops.iter().find(|stop| stop.place == place)
    }

    /// The row on arrival at a place.
    pub fn check_at(&self, place: usize) -> Option<usize> {
        self.checks
            .iter()
            .position(|check| check.place == Some(place))
    }

    /// The rows en route between two kilometres.
    pub fn checks_between(&self, from: f64, to: f64) -> impl Iterator<Item = usize> {
        let rows = self.checks.iter().enumerate();
        rows.filter(move |(_, check)| {
            check.place.is_none() && from < check.at_km && check.at_km < to
        })
        .map(|(row, _)| row)
    }
}

fn stop(stop: &Value) -> Stop {
    Stop {
        place: place(&stop["place_number"]).unwrap(),
        relied_on: stop["relied_on"] == true,
        used: stop["used"] == true,
        chance: number(&stop["chance"]).unwrap(),
        leave_tank: number(&stop["leave_tank_l"]),
        leave_cans: number(&stop["leave_cans_l"]),
        at_most: number(&stop["at_most_l"]),
    }
}

fn check(row: &Value) -> Check {
    let pumped = list(row, "pumped")
        .iter()
        .map(|row| [&row["up_to_l"], &row["leave_with_l"]].map(|litres| number(litres).unwrap()));
    Check {
        at_km: number(&row["at_km"]).unwrap(),
        place: place(&row["place_number"]),
        kind: match row["kind"].as_str().unwrap() {
            "check" => Kind::Check,
            "decision" => Kind::Decision,
            "after" => Kind::After,
            other => panic!("{other}"),
        },
        asked: Asked {
            continue_with: number(&row["continue_l"]),
            return_with: number(&row["return_l"]),
            returns_if_neither: row["if_neither"] == "return",
        },
        asked_if_dry: row["if_neither_and_dry"].as_str().map(|if_neither| Asked {
            continue_with: number(&row["continue_if_dry_l"]),
            return_with: number(&row["return_if_dry_l"]),
            returns_if_neither: if_neither == "return",
        }),
        return_to: place(&row["return_to_place_number"]),
        rises_per_litre: number(&row["rises_per_litre"]).unwrap_or(0.0),
        pumped: pumped.collect(),
    }
}

/// What was in the can, and the gauge level at which it may be decanted.
fn decant(row: &Value) -> (f64, f64) {
    let [litres, lost, level] =
        ["litres", "lost_l", "when_tank_at_most_l"].map(|key| number(&row[key]).unwrap());
    (litres + lost, level)
}
