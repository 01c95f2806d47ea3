//! The laws: what the printed figures promise, in the forward simulation.

use drystage::model::Trip;
use drystage::model::vocabulary::{Rely, UnconfirmedStops};

use drystage::plan::Effort;
use serde_json::Value;

use super::drive::{AtDry, Checks, Course, Driven, Ending, Fuel, Manner};
use super::instructions::Kind;
use super::shares::{Share, Shares};
use super::trips::random;
use super::validation::{SAMPLES, Subject, sample};

/// Two simulations of the same trips are apart by no more than this, besides their sampling errors.
const NEAR: f64 = 0.02;
/// Standard errors between two shares at most.
const ERRORS: f64 = 3.0;
/// The same for laws that have no other tolerance: passed once in 100,000 figures.
const STRICT: f64 = 4.3;
/// Share at which the fuel checks stand, whatever the target.
const CHECKED_AT: f64 = 0.95;
/// Litres by which a quantile may differ: which can is filled first makes as much.
const SAME_LITRES: f64 = 1.0;
/// Standard deviation of a gauge, in litres.
const GAUGE: f64 = 3.0;

/// Trips of the planner's simulation in the tests that run with all others.
pub const EFFORT: Effort = Effort {
    blocks: 16,
    ..Effort::FIRST
};

/// Only what is relied on, whatever luck may add.
const NO_LUCK: Manner = Manner {
    luck: false,
    ..Manner::AS_PRINTED
};
/// With fuel at all stops that are relied on.
const AS_CHECKED: Manner = Manner {
    fuel: Fuel::ReliedOn,
    ..NO_LUCK
};
/// The same with nobody turned back.
const UNCHECKED: Manner = Manner {
    checks: Checks::None,
    ..AS_CHECKED
};

/// Laws that a trip breaks, each with its figures.
#[derive(Default)]
struct Broken(Vec<String>);

impl Broken {
    fn unless(&mut self, holds: bool, law: impl FnOnce() -> String) {
        if !holds {
            self.0.push(law());
        }
    }
}

/// What only many trips together tell.
#[derive(Debug, Default)]
struct Pool {
    /// Trips turned back by a check that had enough to return, and those of them that ran out.
    turned_back: usize,
    then_ran_out: usize,
    /// Trips that arrived at a decision point with about the figure to continue, and those that ran out before the next
    /// refuge; without luck and with it.
    near: [usize; 2],
    near_ran_out: [usize; 2],
    go: usize,
    all: usize,
}

fn number(value: &Value) -> Option<f64> {
    value.as_f64()
}

fn litres(value: &Value, key: &str) -> f64 {
    number(&value[key]).unwrap_or_else(|| panic!("{key} in {value}"))
}

fn place(value: &Value, key: &str) -> Option<usize> {
    usize::try_from(value[key].as_u64()?).ok()
}

fn rows<'a>(report: &'a Value, key: &str) -> &'a [Value] {
    report[key].as_array().unwrap()
}

/// A printed share with its error.
fn printed(value: &Value) -> Option<Share> {
    Some(Share {
        share: number(&value["share"])?,
        se: number(&value["se"])?,
    })
}

fn apart(a: Share, b: Share) -> f64 {
    (a.share - b.share).abs() - ERRORS * a.se.hypot(b.se)
}

/// A subject with what the laws ask of it more than once.
struct Tried<'a> {
    subject: &'a Subject,
    count: u64,
    target: f64,
    go: bool,
    turn_back: bool,
    /// As the checks see it, nobody turned back.
    unchecked: Shares,
    /// As the checks see it.
    checked: Shares,
}

impl<'a> Tried<'a> {
    fn new(subject: &'a Subject, count: u64) -> Self {
        let rules = subject.trip.rules();
        Self {
            target: litres(&subject.report["cans"], "target"),
            go: subject.report["verdict"]["go"] == true,
            turn_back: rules.unconfirmed_stops() == UnconfirmedStops::TurnBack,
            unchecked: subject.drive(UNCHECKED, 11, count),
            checked: subject.drive(AS_CHECKED, 11, count),
            subject,
            count,
        }
    }

    fn report(&self) -> &Value {
        &self.subject.report
    }

    fn drive(&self, manner: Manner) -> Shares {
        self.subject.drive(manner, 11, self.count)
    }

    fn broken(&self, pool: &mut Pool) -> Broken {
        let mut broken = Broken::default();
        self.printed_outcomes(&mut broken);
        self.target_is_met(&mut broken);
        self.arrivals(&mut broken);
        self.turned_back(&mut broken, pool);
        self.gauge(&mut broken);
        self.turn_back_points(&mut broken);
        self.dry_stops(&mut broken);
        self.rows_make_sense(&mut broken);
        self.verdict(&mut broken);
        self.near_the_threshold(pool);
        pool.all += 1;
        pool.go += usize::from(self.go);
        broken
    }
}

/// What is printed of the outcomes.
impl Tried<'_> {
    fn printed_outcomes(&self, broken: &mut Broken) {
        for (key, manner) in [
            ("outcomes", Manner::AS_PRINTED),
            ("outcomes_without_luck", NO_LUCK),
        ] {
            let outcomes = &self.report()[key];
            let own = self.drive(manner);
            for (ending, name) in super::validation::ENDINGS {
                let Some(printed) = printed(&outcomes[name]) else {
                    broken.0.push(format!("{key}: {name} is not printed"));
                    continue;
                };
                let own = own.of(ending);
                broken.unless(apart(own, printed) < NEAR, || {
                    format!("{key}: {name} printed {printed:?}, driven {own:?}")
                });
            }
            if let Some(printed) = printed(&outcomes["neither_advised"]) {
                let own = own.that(|trip| trip.neither);
                broken.unless(apart(own, printed) < NEAR, || {
                    format!("{key}: neither advised printed {printed:?}, driven {own:?}")
                });
            }
        }
    }

    /// In a plan that says GO.
    fn target_is_met(&self, broken: &mut Broken) {
        if !self.go {
            return;
        }
        let manner = if self.turn_back { AS_CHECKED } else { NO_LUCK };
        let finish = self.drive(manner).of(Ending::FinishReserveIntact);
        let least = self.target - NEAR - ERRORS * finish.se;
        // Where nobody can turn back from a stop, its chance is that of the trip.
        let mut chance = 1.0;
        let course = Course {
            ground: &self.subject.ground,
            instructions: &self.subject.instructions,
            manner,
        };
        let mut to_turn_back = Vec::new();
        if self.turn_back {
            for (stop, number) in self.relied_on_that_may_be_dry() {
                if course.refuge_before(stop).is_some() {
                    to_turn_back.push((stop, number));
                } else {
                    chance *= self.subject.ground.chances[number];
                }
            }
        }
        broken.unless(finish.share * chance >= least, || {
            format!(
                "target: {} of trips finish, {finish:?}, chance {chance}",
                self.target
            )
        });
        for (stop, number) in to_turn_back {
            let trips = self.drive(Manner {
                fuel: Fuel::Without(number),
                ..AS_CHECKED
            });
            let reached = trips.trips.iter().filter(|trip| trip.met_dry).count();
            let is_well = |trip: &&Driven| {
                let well = [Ending::FinishReserveIntact, Ending::TurnedBackReserveIntact];
                trip.met_dry && well.contains(&trip.ending)
            };
            let well = Share::of(trips.trips.iter().filter(is_well).count(), reached.max(1));
            let least = self.target - NEAR - ERRORS * well.se;
            broken.unless(reached < 100 || well.share >= least, || {
                format!("target: without fuel at place {stop} {well:?} of {reached} end well")
            });
        }
    }

    /// First place and number of each fuel stop after the start that is relied on and may have no fuel.
    fn relied_on_that_may_be_dry(&self) -> Vec<(usize, usize)> {
        let mut met: Vec<(usize, usize)> = Vec::new();
        for stop in &self.subject.instructions.stops {
            let there = self.subject.ground.stops[stop.place].unwrap();
            let is_new = met.iter().all(|(_, number)| *number != there.number);
            let chance = self.subject.ground.chances[there.number];
            if stop.place > 0 && stop.relied_on && stop.used && chance < 1.0 && is_new {
                met.push((stop.place, there.number));
            }
        }
        met
    }
}

/// The fuel checks.
impl Tried<'_> {
    /// Law 1: what is expected on arrival is enough to continue.
    fn arrivals(&self, broken: &mut Broken) {
        let low = 1.0 - f64::min(self.target, CHECKED_AT);
        for (at, row) in rows(self.report(), "fuel_checks").iter().enumerate() {
            let name = format!("km {:.1}, {}", litres(row, "at_km"), row["place"]);
            let found: Vec<f64> = self
                .unchecked
                .trips
                .iter()
                .map(|trip| trip.found[at].map_or(f64::NEG_INFINITY, |found| found.on_board))
                .collect();
            let mut sorted = found.clone();
            sorted.sort_by(f64::total_cmp);
            let below = |litres: f64| {
                // Who ran out before has nothing on board.
                let count = found
                    .iter()
                    .filter(|found| found.max(0.0) < litres - 1e-6)
                    .count();
                Share::of(count, found.len())
            };
            for (key, percent) in [
                ("expected_p05_l", 5_u8),
                ("expected_p50_l", 50),
                ("expected_p95_l", 95),
            ] {
                let share = f64::from(percent) / 100.0;
                let Some(litres) = number(&row[key]) else {
                    broken.0.push(format!("{name}: {key} is not printed"));
                    continue;
                };
                let below = below(litres);
                // A figure at which many trips meet, such as a full tank, has a share on either side of it.
                let with = found
                    .iter()
                    .filter(|found| found.max(0.0) <= litres + 1e-6)
                    .count();
                let with = Share::of(with, found.len());
                let reach = NEAR + ERRORS * below.se.max(with.se);
                let own = sorted[sorted.len() * usize::from(percent) / 100];
                let is_same = (own.max(0.0) - litres).abs() < SAME_LITRES
                    || below.share - reach < share && share < with.share + reach;
                broken.unless(is_same, || {
                    format!(
                        "{name}: {key} {litres:.2}, driven {own:.2}, {below:?} arrive with less"
                    )
                });
            }
            if !self.go || row["kind"] == "after" {
                continue;
            }
            let Some(enough) = number(&row["continue_l"]) else {
                broken.0.push(format!("{name}: no figure to continue"));
                continue;
            };
            let turned = below(enough);
            broken.unless(turned.share < low + 0.01 + STRICT * turned.se, || {
                format!("law 1: {name}: continue with {enough:.2}, {turned:?} arrive with less")
            });
            if self.target >= CHECKED_AT {
                let expected = number(&row["expected_p05_l"]).unwrap_or(f64::NAN);
                broken.unless(expected >= enough - 0.3, || {
                    format!(
                        "law 1: {name}: continue with {enough:.2}, 5 % arrive with {expected:.2}"
                    )
                });
            }
        }
    }

    /// Laws 2 and 3: few are turned back, and they get back.
    fn turned_back(&self, broken: &mut Broken, pool: &mut Pool) {
        let all = self.checked.that(|trip| trip.turned_back_at.is_some());
        let most = 1.0 - self.target + 0.005 + ERRORS * all.se;
        broken.unless(!self.go || all.share <= most, || {
            format!("law 2: {all:?} turned back at a target of {}", self.target)
        });
        // Of those turned back at a figure at least one in twenty would have run out, but for neither advised.
        let would = self.unchecked.of(Ending::RanOut);
        let bound = (would.share + ERRORS * would.se) / (1.0 - CHECKED_AT);
        broken.unless(all.share <= bound + ERRORS * all.se, || {
            format!("law 2: {all:?} turned back, and without checks {would:?} run out")
        });
        let mut sum = 0.0;
        for (at, row) in rows(self.report(), "fuel_checks").iter().enumerate() {
            let name = format!("km {:.1}, {}", litres(row, "at_km"), row["place"]);
            let Some(printed) = number(&row["share_turned_back"]) else {
                broken
                    .0
                    .push(format!("{name}: share turned back is not printed"));
                continue;
            };
            sum += printed;
            let own = self.checked.that(|trip| trip.turned_back_at == Some(at));
            broken.unless((own.share - printed).abs() < NEAR + ERRORS * own.se, || {
                format!("{name}: turned back printed {printed:.4}, driven {own:?}")
            });
        }
        broken.unless(!self.go || sum <= 1.0 - self.target + 0.01, || {
            format!(
                "law 2: printed {sum:.4} turned back at a target of {}",
                self.target
            )
        });
        if self.go {
            let back = self.checked.trips.iter();
            let back = back.filter(|trip| trip.turned_back_at.is_some() && !trip.neither);
            for trip in back {
                pool.turned_back += 1;
                pool.then_ran_out += usize::from(trip.ending == Ending::RanOut);
            }
        }
    }

    /// A reading that may be off turns back few more.
    fn gauge(&self, broken: &mut Broken) {
        if !self.go {
            return;
        }
        let trips = self.drive(Manner {
            checks: Checks::All { gauge: GAUGE },
            ..AS_CHECKED
        });
        let back = trips.that(|trip| trip.turned_back_at.is_some());
        let most = 1.0 - self.target + NEAR + ERRORS * back.se;
        broken.unless(back.share <= most, || {
            format!("pencil: with a gauge of +-{GAUGE} L {back:?} are turned back")
        });
    }

    /// Trips that arrive at a decision point with about the figure to continue, and run out before the next refuge.
    fn near_the_threshold(&self, pool: &mut Pool) {
        /// Litres on either side of the figure.
        const WITHIN: f64 = 0.75;
        if !self.go {
            return;
        }
        let with_luck = Manner {
            luck: true,
            ..UNCHECKED
        };
        for (kind, manner) in [(0, UNCHECKED), (1, with_luck)] {
            let trips = if manner.luck {
                &self.drive(manner)
            } else {
                &self.unchecked
            };
            let course = Course {
                ground: &self.subject.ground,
                instructions: &self.subject.instructions,
                manner,
            };
            for (at, check) in self.subject.instructions.checks.iter().enumerate() {
                let Some(enough) = check
                    .asked
                    .continue_with
                    .filter(|_| check.kind == Kind::Decision)
                else {
                    continue;
                };
                let legs = &self.subject.ground.legs;
                let leg = legs.iter().position(|leg| check.at_km <= leg.to_km + 1e-9);
                let ahead = leg.unwrap() + usize::from(check.place.is_some());
                let refuge = course.refuge_from(check.place.unwrap_or(ahead + 1));
                let mut arriving: Vec<(f64, bool)> = trips
                    .trips
                    .iter()
                    .filter_map(|trip| {
                        let found = trip.found[at]?;
                        let lucky = found.lucky > 0.0;
                        let margin = found.on_board - enough - check.rises_per_litre * found.lucky;
                        let is_short = trip.ran_out_on.is_some_and(|leg| leg < refuge);
                        (lucky == (kind == 1)).then_some((margin, is_short))
                    })
                    .collect();
                // Farther from the figure on either side the chance is another one.
                arriving.retain(|(margin, _)| margin.abs() < WITHIN);
                pool.near[kind] += arriving.len();
                pool.near_ran_out[kind] += arriving.iter().filter(|(_, short)| *short).count();
            }
        }
    }
}

/// Turn-back points and dry stops.
impl Tried<'_> {
    fn turn_back_points(&self, broken: &mut Broken) {
        for stage in rows(self.report(), "stages") {
            let name = format!("stage to {}", stage["to"]);
            let Some(refuge) = place(stage, "refuge_place_number") else {
                broken.unless(stage["turn_back_km"].is_null(), || {
                    format!("{name}: a turn-back point without a refuge")
                });
                continue;
            };
            let unconfirmed = &stage["unconfirmed"];
            broken.unless(
                unconfirmed.is_null() || litres(unconfirmed, "chance") > 0.0,
                || format!("{name}: a turn-back point for a stop without a chance"),
            );
            let Some(km) = number(&stage["turn_back_km"]) else {
                continue;
            };
            let from = place(stage, "from_place_number").unwrap();
            let from_km = self.subject.ground.legs[from].from_km;
            let to_km = from_km + litres(stage, "distance_km");
            if km <= from_km + 1e-6 {
                continue;
            }
            let at = |km: f64, fuel: Fuel| {
                let trips = self.drive(Manner {
                    turn_at: Some((km, refuge)),
                    fuel,
                    ..UNCHECKED
                });
                trips.of(Ending::TurnedBackReserveIntact)
            };
            let own = at(km, Fuel::ReliedOn);
            // The planner's own draws for it are few.
            let error = (self.target * (1.0 - self.target) / 2048.0).sqrt();
            let least = self.target - STRICT * own.se.hypot(error);
            broken.unless(own.share >= least, || {
                format!("turn-back point: {name}: at km {km:.1} {own:?} get back with the reserve")
            });
            let leg = self
                .subject
                .ground
                .legs
                .iter()
                .find(|leg| km < leg.to_km - 1e-6);
            let can_return = leg.is_some_and(|leg| leg.back.is_some());
            let starts_leg = leg.is_some_and(|leg| (km - leg.from_km).abs() < 1e-6);
            if km < to_km - 1.0 && can_return && !starts_leg {
                // All simulated trips count, unless one turns back where there is no fuel.
                let fuel = if self.turn_back {
                    Fuel::ReliedOn
                } else {
                    Fuel::AsDrawn
                };
                let beyond = at((km + 10.0).min(to_km), fuel);
                let most = self.target + NEAR + STRICT * beyond.se.hypot(error);
                broken.unless(beyond.share <= most, || {
                    format!("turn-back point: {name}: at km {km:.1} + 10 {beyond:?} get back")
                });
            }
        }
    }

    fn dry_stops(&self, broken: &mut Broken) {
        for stop in rows(self.report(), "if_dry") {
            let name = format!("if dry: {}", stop["place"]);
            let at = place(stop, "place_number").unwrap();
            if stop["relied_on"] != true {
                continue;
            }
            let needed = litres(&self.report()["cans"], "needed_l");
            let without = number(&stop["needed_without_l"]);
            broken.unless(
                without.is_some_and(|without| without >= needed - 0.05),
                || format!("{name}: without it {without:?}, with it {needed:.2}"),
            );
            let there = self.subject.ground.stops[at].unwrap();
            let mut ran_out = Vec::new();
            for (key, word, at_dry) in [
                ("continue_shares", "continue_word", AtDry::Continue),
                ("return_shares", "return_word", AtDry::Return),
            ] {
                let shares = &stop[key];
                if shares.is_null() {
                    broken.unless(at_dry == AtDry::Return, || format!("{name}: no {key}"));
                    continue;
                }
                let trips = self.drive(Manner {
                    fuel: Fuel::Without(there.number),
                    at_dry,
                    ..NO_LUCK
                });
                let met: Vec<&Driven> = trips.trips.iter().filter(|trip| trip.met_dry).collect();
                let se = litres(shares, "se");
                for (key, endings) in [
                    (
                        "reserve_intact",
                        [Ending::FinishReserveIntact, Ending::TurnedBackReserveIntact],
                    ),
                    (
                        "using_reserve",
                        [Ending::FinishUsingReserve, Ending::TurnedBackUsingReserve],
                    ),
                    ("ran_out", [Ending::RanOut; 2]),
                ] {
                    let count = met
                        .iter()
                        .filter(|trip| endings.contains(&trip.ending))
                        .count();
                    let own = Share::of(count, met.len().max(1));
                    let share = litres(shares, key);
                    broken.unless(
                        met.len() < 100 || apart(own, Share { share, se }) < NEAR,
                        || format!("{name}: {at_dry:?} {key} printed {share:.4}, driven {own:?}"),
                    );
                }
                let [intact, out] = ["reserve_intact", "ran_out"].map(|key| litres(shares, key));
                ran_out.push(out);
                let fits = match stop[word].as_str().unwrap() {
                    "yes" => intact >= self.target - 1e-9,
                    "using-reserve" => intact < self.target && out <= 1.0 - self.target + 1e-9,
                    _ => intact < self.target && out > 1.0 - self.target - 1e-9,
                };
                broken.unless(fits, || format!("{name}: {word} {}: {shares}", stop[word]));
            }
            if let [onward, back] = ran_out[..] {
                let clearly = if stop["recommended"] == "continue" {
                    onward <= 1.0 - CHECKED_AT + 1e-9 || onward < back
                } else {
                    onward > 1.0 - CHECKED_AT
                };
                broken.unless(clearly, || {
                    format!(
                        "{name}: recommended {}: {onward} and {back} run out",
                        stop["recommended"]
                    )
                });
            }
        }
    }
}

/// What must be true of the printed figures themselves.
impl Tried<'_> {
    fn rows_make_sense(&self, broken: &mut Broken) {
        let stages = rows(self.report(), "stages");
        for stage in stages {
            let from = place(stage, "from_place_number").unwrap();
            let on_board = litres(&rows(self.report(), "legs")[from], "start_l");
            let required = litres(stage, "required_l");
            broken.unless(!self.go || required <= on_board + 0.01, || {
                format!(
                    "stage to {}: leave with {required:.2}, {on_board:.2} on board",
                    stage["to"]
                )
            });
        }
        let checks = rows(self.report(), "fuel_checks");
        for row in checks {
            let name = format!("km {:.1}, {}", litres(row, "at_km"), row["place"]);
            let figure = |key: &str| number(&row[key]);
            if let Some(place_number) = place(row, "place_number") {
                let leg = &rows(self.report(), "legs")[place_number - 1];
                for (here, there) in [
                    ("expected_p05_l", "end_l_p05"),
                    ("expected_p95_l", "end_l_p95"),
                ] {
                    let [here, there] = [litres(row, here), litres(leg, there)];
                    broken.unless((here - there).abs() < 0.001, || {
                        format!("{name}: {here:.3} on arrival, of the leg {there:.3}")
                    });
                }
            }
            let [onward, back, finish] = ["continue_l", "return_l", "finish_l"].map(figure);
            if row["kind"] == "after" {
                broken.unless(onward.is_none(), || {
                    format!("{name}: after, yet with a decision")
                });
                continue;
            }
            // No amount is enough to continue with cans that do not do.
            let is_asked = onward.is_some() || !self.go && row["kind"] == "decision";
            broken.unless(is_asked && back.is_some(), || {
                format!("{name}: no decision")
            });
            if let (Some(onward), Some(back), Some(finish)) = (onward, back, finish) {
                broken.unless(onward <= finish + 1e-6, || {
                    format!("{name}: continue with {onward:.2}, which is more than to finish, {finish:.2}")
                });
                broken.unless(back <= finish + 1e-6, || {
                    format!("{name}: a return for {back:.2} where to finish takes {finish:.2}")
                });
            }
        }
        for stage in stages {
            let from = place(stage, "from_place_number").unwrap();
            let start = self.subject.ground.legs[from].from_km;
            let end = start + litres(stage, "distance_km");
            let deciding: Vec<f64> = checks
                .iter()
                .filter(|row| row["kind"] == "decision")
                .map(|row| litres(row, "at_km"))
                .filter(|&km| start + 1e-6 < km && km <= end + 1e-6)
                .collect();
            let printed: Vec<f64> = number(&stage["decision_km"]).into_iter().collect();
            broken.unless(deciding == printed, || {
                format!(
                    "stage to {}: decides at {deciding:?}, printed {printed:?}",
                    stage["to"]
                )
            });
        }
    }

    fn verdict(&self, broken: &mut Broken) {
        let forbids: Vec<&Value> = rows(self.report(), "findings")
            .iter()
            .filter(|finding| finding["severity"] == "no-go")
            .collect();
        broken.unless(self.go == forbids.is_empty(), || {
            format!("verdict: go is {}, findings {forbids:?}", self.go)
        });
    }
}

/// Tries trips; the laws that are broken, and what many trips together tell.
fn survey(
    trips: impl Iterator<Item = (String, Trip)>,
    effort: Effort,
    count: u64,
) -> (Vec<String>, Pool) {
    let (mut all, mut pool) = (Vec::new(), Pool::default());
    for (name, trip) in trips {
        let subject = Subject::new(trip, effort);
        let tried = Tried::new(&subject, count);
        let go = if tried.go { "GO" } else { "NO-GO" };
        let laws = tried.broken(&mut pool).0.into_iter();
        all.extend(laws.map(|law| format!("{name}, {go} at {}: {law}", tried.target)));
    }
    (all, pool)
}

/// Fails with everything that is broken at once.
fn hold((broken, pool): &(Vec<String>, Pool)) {
    let [all, pooled] = [broken.join("\n"), pool.broken().join("\n")];
    assert!(
        all.is_empty() && pooled.is_empty(),
        "{pool:?}\n{all}\n{pooled}"
    );
}

impl Pool {
    fn broken(&self) -> Vec<String> {
        let mut broken = Broken::default();
        let ran_out = Share::of(self.then_ran_out, self.turned_back.max(1));
        broken.unless(
            ran_out.share <= 1.0 - CHECKED_AT + ERRORS * ran_out.se,
            || format!("law 3: {ran_out:?} of those turned back run out"),
        );
        for (near, out) in self.near.into_iter().zip(self.near_ran_out) {
            let out = Share::of(out, near.max(1));
            broken.unless(
                out.share <= 1.0 - CHECKED_AT + 0.03 + ERRORS * out.se,
                || format!("{out:?} of {near} that continue with just enough run out"),
            );
        }
        broken.0
    }
}

/// What a trip needs without a fuel stop is what it needs where that has no chance of fuel.
#[test]
fn without_a_stop_is_the_trip_planned_without_it() {
    for name in SAMPLES {
        let trip = sample(name);
        let with = Subject::new(trip.clone(), EFFORT).report;
        for stop in rows(&with, "if_dry") {
            let Some(without) = number(&stop["needed_without_l"]) else {
                continue;
            };
            let mut document = trip.to_document();
            for at in rows(stop, "place_numbers") {
                let leg = at.as_u64().unwrap() - 1;
                let chance = format!("/legs/{leg}/fuel/chance");
                let fuel = document.pointer_mut(&format!("/legs/{leg}/fuel")).unwrap();
                fuel["chance"] = 0.into();
                assert!(document.pointer(&chance).is_some());
            }
            let trip: Trip = serde_json::from_value(document).unwrap();
            let anew = litres(&Subject::new(trip, EFFORT).report["cans"], "needed_l");
            assert!(
                (anew - without).abs() < 1e-6,
                "{name}: {}: {without}, planned anew {anew}",
                stop["place"]
            );
        }
    }
}

#[test]
fn samples_keep_the_laws() {
    let samples = SAMPLES.map(|name| (name.to_owned(), sample(name)));
    hold(&survey(samples.into_iter(), Effort::FIRST, 8192));
}

#[test]
fn random_trips_keep_the_laws() {
    hold(&survey(random(0, 24), EFFORT, 1024));
}

/// The second half of them, for a second core.
#[test]
fn more_random_trips_keep_the_laws() {
    hold(&survey(random(100, 24), EFFORT, 1024));
}

/// Random trips that say to rely on every fuel stop, whatever its chance.
fn always_relying(first: usize, count: usize) -> impl Iterator<Item = (String, Trip)> {
    random(first, count).map(|(name, mut trip)| {
        for fuel in trip.legs.iter_mut().filter_map(|leg| leg.fuel.as_mut()) {
            fuel.rely = Some(Rely::Always);
        }
        (format!("{name}, relying always"), trip)
    })
}

#[test]
fn trips_that_always_rely_on_stops_keep_the_laws() {
    hold(&survey(always_relying(200, 16), EFFORT, 1024));
}

/// Numbers of random trips that once broke a law: a stop that was left as planned after luck at another (870, 1414), checks
/// that turned out too fine for a gauge only with many trips (328, 1078, 1590), checks from which no amount leads on
/// (1452, 1519), the detour to a stop left out of what is pumped there (1927), a plan for a gauge that went by what was used
/// and not by what the gauge says (474, 534), a return whose climbs are the descents of the way out (662), less than
/// either figure (239, and at a stop without fuel 1996), a return for more than the way on once decanting is counted (1568),
/// and trips that no amount saves (724).
const ONCE_BROKEN: [usize; 15] = [
    239, 328, 474, 534, 662, 724, 870, 1078, 1414, 1452, 1519, 1568, 1590, 1927, 1996,
];

#[test]
fn trips_that_once_broke_a_law_keep_the_laws() {
    let trips = ONCE_BROKEN.into_iter().flat_map(|number| random(number, 1));
    hold(&survey(trips, Effort::FIRST, 8192));
}

/// In a release build, half an hour: `cargo test --release --test forward -- --ignored`. `FIRST=200 TRIPS=100` tries fewer.
#[test]
#[ignore = "takes minutes in a release build"]
fn laws_on_thousands_of_trips() {
    let asked = |name: &str, otherwise: usize| {
        std::env::var(name).map_or(otherwise, |text| text.parse().unwrap())
    };
    let (first, count) = (asked("FIRST", 200), asked("TRIPS", 3000));
    hold(&survey(random(first, count), Effort::FIRST, 8192));
}

#[test]
#[ignore = "takes minutes in a release build"]
fn laws_on_thousands_of_trips_that_always_rely_on_stops() {
    hold(&survey(always_relying(200, 1000), Effort::FIRST, 8192));
}
