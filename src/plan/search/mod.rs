//! Which cans are carried, and where: the first set in the order of preference that covers its own need within every
//! limit. Exact: what is passed over without being solved cannot be the answer.
//!
//! A batch (how many of which kind, and how many of each on the roof) is solved once with its own mass and drag; its
//! ways of being laid out are then only held against the places and axles. A batch is passed over when it holds less
//! than a lighter one was found to need, or weighs more than the total mass or the places have room for with that need
//! aboard: more mass never needs less. A limit that is broken with no can aboard is not held against the cans. At a confidence the
//! batches that do with everything at its likely value are confirmed with samples.
//!
//! A choice solves no more batches than its [`Bounds`] say, and tells where that left some out; of those that it may solve
//! a part is kept for the set that breaks a limit and for the largest, so that there is an answer also then.
//!
//! Left out: which of two equally good sets is handier. Ties go to the set whose cans hold more, then to the kind that
//! is listed first.

use crate::consumption::engine::fuel_density;
use crate::model::Trip;
use crate::model::vocabulary::CarryingPlace;
use crate::quantity::{Kilograms, Litres};
use crate::solver::cans::{self, Batch, CanSet, Holding, Stock};
use crate::solver::filling;
use crate::solver::fuel::{POUR_LOSS, ROUNDING};
use crate::solver::load::{self, Departure, LoadBar, LoadLimit};
use crate::solver::places::{PLACES, Room};

use crate::plan::facts::{Groundwork, Solution};

/// How much a choice may cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::plan) struct Bounds {
    /// Batches that are solved at most, with everything at its likely value.
    pub solved: usize,
    /// Batches and ways to lay them out that are looked at at most.
    pub listed: usize,
    /// Batches that are confirmed with samples at most.
    pub confirmed: usize,
    /// Whether the set that holds most, where none does, is only a measure of what is missing: its cans are taken for full
    /// before they are, which spares most of the search for it.
    pub roughly: bool,
}

impl Bounds {
    /// What the plan of a trip is worth.
    pub const USUAL: Self = Self {
        solved: 1_000,
        listed: 20_000,
        confirmed: 20,
        roughly: false,
    };
}

/// The trip solved with the cans of choice.
pub(in crate::plan) struct Choice {
    pub solution: Solution,
    /// Whether there were more sets than could be tried.
    pub cut: bool,
    /// Whether that was so before it was known that none does within every limit.
    pub cut_in_limits: bool,
    /// Sets that were solved with everything at its likely value.
    pub solved: usize,
}

impl Groundwork<'_> {
    /// The trip solved with the cans of choice; failing a set that does within every limit with the first that covers
    /// its need, and failing that with the one that holds most within the limits.
    pub fn choose(&self) -> Choice {
        self.choose_within(Bounds::USUAL)
    }

    /// The same for no more than so much work.
    pub fn choose_within(&self, bounds: Bounds) -> Choice {
        let plain = self.solve(CanSet::new());
        let (plainly, short) = (plain.need.spare, plain.short_at_start > ROUNDING);
        let bare = self.looked_at(plain);
        if bare.covers() && self.trip.rules().start_cans() <= Litres::ZERO {
            return Choice {
                solution: bare,
                cut: false,
                cut_in_limits: false,
                solved: 1,
            };
        }
        let mut search = Search::new(self, bounds, &bare, plainly, short);
        let found = search.part(3).first(true);
        let cut_in_limits = search.cut;
        let found = found
            .or_else(|| search.part(4).first(false))
            .or_else(|| search.part(PARTS).largest());
        Choice {
            solution: found.unwrap_or_else(|| self.confirmed(bare)),
            cut: search.cut,
            cut_in_limits,
            solved: search.solved + 1,
        }
    }
}

/// The cans to choose from on a trip: those that fit whole into the tank with the reserve in it.
pub(in crate::plan) fn stock(trip: &Trip) -> Stock {
    let tank = trip.vehicle.usable_tank();
    let room = tank - trip.rules().reserve_litres(&trip.vehicle).min(tank);
    Stock::of(trip.load().cans(), room, filling::most_full(trip))
}

/// The bounds of a search are spent in so many parts.
const PARTS: usize = 5;

/// More batches were to be tried than may be.
struct TooMany;

/// The limit of the place of that number.
const fn of_place(place: usize) -> LoadLimit {
    match PLACES[place] {
        CarryingPlace::Roof => LoadLimit::Roof { off_road: false },
        other => LoadLimit::Place(other),
    }
}

struct Search<'a> {
    ground: &'a Groundwork<'a>,
    bounds: Bounds,
    /// Batches that may be solved and listed by now.
    may_solve: usize,
    may_list: usize,
    stock: Stock,
    wanted: Holding,
    /// Limits that are broken with no can aboard.
    passed_anyway: Vec<LoadLimit>,
    /// Whether samples only ask for more, so that what fails without them fails with them. Not where they let the plan
    /// rely on a pump that it does without otherwise.
    screens: bool,
    /// What is needed with everything at its likely value and no can aboard.
    plainly: Litres,
    /// What may be had of total mass at the departure that needs most, with a full tank: cans and the fuel in them.
    mass_left: Option<Kilograms>,
    /// What each place has room for at the departure where it has most; nothing where it has no limit.
    rooms: [Option<Kilograms>; 3],
    /// What must be in cans at some departure, as far as that is known.
    in_cans: Litres,
    /// For sets without and with cans on the roof: empty mass of cans that was solved, and litres that it cannot do
    /// without.
    known: [Vec<(Kilograms, Litres)>; 2],
    solved: usize,
    listed: usize,
    confirmed: usize,
    cut: bool,
}

impl<'a> Search<'a> {
    fn new(
        ground: &'a Groundwork<'a>,
        bounds: Bounds,
        bare: &Solution,
        plainly: Litres,
        short: bool,
    ) -> Self {
        let trip = ground.trip;
        let rules = trip.rules();
        let tank = trip.vehicle.usable_tank();
        let over = bare.bars.iter().filter(|bar| bar.is_over());
        let passed_anyway: Vec<LoadLimit> = over.map(|bar| bar.what).collect();
        let screens = plainly <= bare.need.spare + ROUNDING;
        // The departure that needs most may be any of them, so the lightest stands for it.
        let lightest = ground
            .days
            .iter()
            .map(|&day| load::burden(trip, &[], day).dry_mass)
            .reduce(Kilograms::min);
        // Where the start lacks fuel nothing is known of what is aboard.
        let known = screens && !short && !passed_anyway.contains(&LoadLimit::Gvm);
        let mass_left = trip.vehicle.gvm_kg.zip(lightest).filter(|_| known);
        let mass_left =
            mass_left.map(|(limit, dry)| limit - dry - tank * fuel_density(trip.vehicle.fuel));
        let roomiest = |place: usize, limit: &dyn Fn(&Departure) -> Option<Kilograms>| {
            if passed_anyway.iter().any(|what| what.is_of(of_place(place))) {
                return None;
            }
            let left = |at: &Departure| limit(at).map(|limit| limit - at.in_places()[place]);
            let rooms: Option<Vec<Kilograms>> = bare.departures.iter().map(left).collect();
            rooms?.into_iter().reduce(Kilograms::max)
        };
        let rooms = [0, 1, 2].map(|place| {
            let rating = |at: &Departure| match PLACES[place] {
                CarryingPlace::Roof => load::roof_limit(trip, at.off_road),
                other => trip.load().place_rating(other),
            };
            roomiest(place, &rating)
        });
        Self {
            ground,
            bounds,
            may_solve: bounds.solved,
            may_list: bounds.listed,
            rooms,
            in_cans: if screens && !short {
                plainly
            } else {
                Litres::ZERO
            },
            stock: stock(trip),
            wanted: Holding {
                least: bare.need.spare.max(rules.start_cans()),
                most: rules.most_spare_l,
            },
            passed_anyway,
            screens,
            plainly,
            mass_left,
            known: [vec![], vec![]],
            solved: 0,
            listed: 0,
            confirmed: 0,
            cut: false,
        }
    }

    /// The batches of so many cans; nothing when there were too many already.
    fn batches(&mut self, count: u32, on_roof: bool, wanted: Holding) -> Option<Vec<Vec<Batch>>> {
        let most = self.may_list.saturating_sub(self.listed) + 1;
        let batches = self.stock.batches(count, on_roof, wanted, most);
        self.listed += batches.ranked.iter().map(Vec::len).sum::<usize>();
        let too_many = self.listed > self.may_list;
        self.cut |= batches.cut || too_many;
        (!too_many).then_some(batches.ranked)
    }

    /// Lets the search go on up to so many parts of its bounds.
    fn part(&mut self, part: usize) -> &mut Self {
        self.may_solve = self.bounds.solved * part / PARTS;
        self.may_list = self.bounds.listed * part / PARTS;
        self
    }

    /// Solves a batch as it lies lowest, with everything at its likely value; nothing when there were too many already.
    fn solve(&mut self, batch: &Batch, on_roof: bool) -> Option<Solution> {
        if self.solved >= self.may_solve {
            self.cut = true;
            return None;
        }
        self.solved += 1;
        let solution = self.ground.solve(self.stock.lowest(batch));
        if self.screens {
            self.learn(batch, on_roof, solution.spare);
        }
        Some(solution)
    }

    fn learn(&mut self, batch: &Batch, on_roof: bool, needs: Litres) {
        let known = &mut self.known[usize::from(on_roof)];
        known.push((self.stock.empty_mass(batch), needs));
    }

    /// The solution at the confidence, where one is asked for; nothing when there were too many already.
    fn confirm(&mut self, solution: Solution, batch: &Batch, on_roof: bool) -> Option<Solution> {
        if self.ground.doubts.is_none() {
            return Some(solution);
        }
        if self.confirmed == self.bounds.confirmed {
            self.cut = true;
            return None;
        }
        self.confirmed += 1;
        let solution = self.ground.looked_at(solution);
        // Another batch may lose less in pouring.
        let lost = POUR_LOSS * f64::from(cans::count(&solution.set));
        self.learn(batch, on_roof, solution.need.spare - lost);
        Some(solution)
    }

    /// The least that a batch can need, by what lighter ones were found to need.
    fn least(&self, batch: &Batch, on_roof: bool) -> Litres {
        let mass = self.stock.empty_mass(batch);
        let lighter = self.known[usize::from(on_roof)]
            .iter()
            .filter(|(known, _)| *known <= mass);
        lighter
            .map(|(_, needs)| *needs)
            .fold(self.wanted.least, Litres::max)
    }

    /// Whether the total mass has room for a batch with the least in it that the likely values ask for.
    fn is_light_enough(&self, batch: &Batch) -> bool {
        let fuel = self.plainly * fuel_density(self.ground.trip.vehicle.fuel);
        let mass = self.stock.empty_mass(batch) + fuel;
        self.mass_left
            .is_none_or(|left| mass <= left + Kilograms::new(1e-6))
    }

    /// Whether the places may have room for a batch with so much in it.
    fn may_lie(&self, batch: &Batch, litres: Litres) -> bool {
        let density = fuel_density(self.ground.trip.vehicle.fuel);
        self.stock.may_lie(batch, litres, density, |place| {
            let at = PLACES.iter().position(|&other| other == place)?;
            self.rooms[at]
        })
    }

    /// The lowest of the ways to lay out a solved batch that is within every limit.
    fn within(&mut self, solution: &Solution, batch: &Batch) -> Option<CanSet> {
        let passed = |what: LoadLimit| self.passed_anyway.iter().any(|other| what.is_of(*other));
        let too_heavy = |bar: &LoadBar| bar.what == LoadLimit::Gvm && bar.is_over();
        if solution.bars.iter().any(too_heavy) && !passed(LoadLimit::Gvm) {
            return None;
        }
        let aboard = self.ground.aboard(&solution.set, &solution.run);
        let room = Room::of(self.ground.trip, aboard, &self.passed_anyway);
        if room.bears(&solution.set) {
            return Some(solution.set.clone());
        }
        let most = self.may_list.saturating_sub(self.listed) + 1;
        let (laid, cut) = self.stock.laid(batch, most);
        self.listed += laid.len();
        self.cut |= cut;
        laid.into_iter().find(|set| room.bears(set))
    }

    /// The solution with its cans laid out otherwise.
    fn laid(&self, solution: Solution, set: CanSet) -> Solution {
        if set == solution.set {
            solution
        } else {
            self.ground.confirmed(self.ground.solve(set))
        }
    }

    /// A batch solved, where it covers its need and, if that is asked for, can be laid out within the limits. Nothing
    /// when it does not.
    ///
    /// # Errors
    /// When too many were tried already.
    fn does(
        &mut self,
        batch: &Batch,
        on_roof: bool,
        in_limits: bool,
    ) -> Result<Option<Solution>, TooMany> {
        let least = self.least(batch, on_roof);
        let holds_too_little = self.stock.fill(batch) < least - ROUNDING;
        let fits = || self.is_light_enough(batch) && self.may_lie(batch, self.in_cans);
        if holds_too_little || in_limits && !fits() {
            return Ok(None);
        }
        let solution = self.solve(batch, on_roof).ok_or(TooMany)?;
        if self.screens {
            let fits = !in_limits || self.within(&solution, batch).is_some();
            if !solution.covers() || !fits {
                return Ok(None);
            }
        }
        let solution = self.confirm(solution, batch, on_roof).ok_or(TooMany)?;
        if !solution.covers() {
            return Ok(None);
        }
        if !in_limits {
            return Ok(Some(solution));
        }
        let set = self.within(&solution, batch);
        Ok(set.map(|set| self.laid(solution, set)))
    }

    /// The first set in order of preference that covers its need, within the limits or whatever they are.
    fn first(&mut self, in_limits: bool) -> Option<Solution> {
        for on_roof in [false, true] {
            if self.stock.holds(on_roof) < self.wanted.least - ROUNDING {
                continue;
            }
            for count in 1..=self.stock.count(on_roof) {
                for equals in self.batches(count, on_roof, self.wanted)? {
                    let mut best: Option<Solution> = None;
                    for batch in equals {
                        let solution = self.does(&batch, on_roof, in_limits).ok()?;
                        best = [best, solution].into_iter().flatten().reduce(|a, b| {
                            if cans::preference(&b.set, &a.set).is_lt() {
                                b
                            } else {
                                a
                            }
                        });
                    }
                    if best.is_some() {
                        return best;
                    }
                }
            }
        }
        None
    }

    /// The set that holds most within the limits, the preferred of those that hold as much.
    fn largest(&mut self) -> Option<Solution> {
        let mut most = CanSet::new();
        'search: for on_roof in [false, true] {
            for count in (1..=self.stock.count(on_roof)).rev() {
                let wanted = Holding {
                    least: cans::fill(&most),
                    ..self.wanted
                };
                let Some(batches) = self.batches(count, on_roof, wanted) else {
                    break 'search;
                };
                let mut batches: Vec<Batch> = batches.into_iter().flatten().collect();
                let fill = |batch: &Batch| self.stock.fill(batch).get();
                batches.sort_by(|a, b| fill(b).total_cmp(&fill(a)));
                for batch in batches {
                    let held = cans::fill(&most);
                    let fill = self.stock.fill(&batch);
                    if fill < held - ROUNDING {
                        break;
                    }
                    let litres = if self.bounds.roughly {
                        fill
                    } else {
                        Litres::ZERO
                    };
                    if !self.may_lie(&batch, litres) {
                        continue;
                    }
                    let Some(solution) = self.solve(&batch, on_roof) else {
                        break 'search;
                    };
                    let Some(set) = self.within(&solution, &batch) else {
                        continue;
                    };
                    let more = fill > held + ROUNDING;
                    if more || most.is_empty() || cans::preference(&set, &most).is_lt() {
                        most = set;
                    }
                }
            }
        }
        (!most.is_empty()).then(|| self.ground.confirmed(self.ground.solve(most)))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use serde_json::{Value, json};

    use super::*;
    use crate::solver::cans::ChosenCans;

    /// A trip that needs spare fuel, whose limits are near to what the cans weigh.
    fn trips() -> impl Strategy<Value = Trip> {
        let can = (
            prop::sample::select(vec![5.0, 10.0, 10.0, 20.0]),
            prop::sample::select(vec![1.0, 2.0, 4.0]),
            (0..3_u32, 0..2_u32),
            prop::sample::subsequence(vec!["cargo", "rear", "roof"], 1..=3),
        )
            .prop_map(|(size, empty, (owned, may_buy), places)| {
                json!({ "size_l": size, "empty_kg": empty, "owned": owned, "may_buy": may_buy, "places": places })
            });
        let limit = |low: f64, high: f64| prop::option::weighted(0.7, low..high);
        (
            prop::collection::vec(can, 1..4),
            (400.0..700.0, 1500.0..1640.0),
            (limit(5.0, 60.0), limit(5.0, 60.0), limit(10.0, 90.0)),
            (limit(700.0, 800.0), limit(780.0, 900.0)),
            prop::option::weighted(0.3, 10.0..60.0),
            any::<bool>(),
        )
            .prop_map(|(cans, (km, gvm), (rear, cargo, roof), (front, back), most, warm)| {
                let mut ratings = json!({});
                let mut axles = json!({ "wheelbase_m": 2.35, "front_kerb_kg": 700 });
                let put = |to: &mut Value, key: &str, value: Option<f64>| {
                    if let Some(value) = value {
                        to[key] = json!(value);
                    }
                };
                put(&mut ratings, "rear", rear);
                put(&mut ratings, "cargo", cargo);
                put(&mut ratings, "roof", roof);
                put(&mut axles, "front_limit_kg", front);
                put(&mut axles, "rear_limit_kg", back);
                let mut rules = json!({});
                put(&mut rules, "most_spare_l", most);
                let mut legs = vec![
                    json!({ "to": "b", "distance_km": km / 2.0, "surface": "gravel" }),
                    json!({ "to": "c", "distance_km": km / 2.0, "day": 2, "fuel": {} }),
                ];
                if warm {
                    legs[0]["temperature_c"] = json!(38);
                }
                serde_json::from_value(json!({
                    "drystage": 1,
                    "vehicle": {
                        "fuel": "petrol", "engine_l": 1.8, "base_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1300,
                        "gvm_kg": gvm, "axles": axles
                    },
                    "load": {
                        "crew": [{ "name": "driver", "mass_kg": 80 }],
                        "items": [{ "name": "water", "mass_kg": 30, "place": "cargo", "use_per_day_kg": 5 }],
                        "roof": { "shape": "bars", "mass_kg": 8 },
                        "cans": cans, "place_ratings_kg": ratings
                    },
                    "rules": rules,
                    "start": { "name": "a", "fuel": {} },
                    "legs": legs
                }))
                .unwrap()
            })
    }

    /// Every set that may be carried, made by counting up.
    fn every(trip: &Trip) -> Vec<CanSet> {
        let mut sets: Vec<CanSet> = vec![vec![]];
        for kind in trip.load().cans() {
            let available = kind.owned() + kind.may_buy();
            let lies = |place| kind.places().contains(&place);
            let most = |place| if lies(place) { available } else { 0 };
            let mut wider = Vec::new();
            for cargo in 0..=most(CarryingPlace::Cargo) {
                for rear in 0..=most(CarryingPlace::Rear) {
                    for roof in 0..=most(CarryingPlace::Roof) {
                        if cargo + rear + roof > available {
                            continue;
                        }
                        let mut bought = (cargo + rear + roof).saturating_sub(kind.owned());
                        let counts = [
                            (CarryingPlace::Roof, roof),
                            (CarryingPlace::Rear, rear),
                            (CarryingPlace::Cargo, cargo),
                        ];
                        let group = counts.map(|(place, count)| {
                            let to_buy = bought.min(count);
                            bought -= to_buy;
                            ChosenCans {
                                size: kind.size_l,
                                fill: filling::fill(kind, filling::most_full(trip)),
                                empty: kind.empty_kg,
                                count,
                                place,
                                to_buy,
                            }
                        });
                        let group: CanSet =
                            group.into_iter().filter(|cans| cans.count > 0).collect();
                        wider.extend(sets.iter().map(|set| [set.clone(), group.clone()].concat()));
                    }
                }
            }
            sets = wider;
        }
        for set in &mut sets {
            set.sort_by(|a, b| b.fill.get().total_cmp(&a.fill.get()));
        }
        let most = trip.rules().most_spare_l;
        sets.retain(|set| most.is_none_or(|most| cans::fill(set) <= most));
        sets
    }

    /// The answer by solving every set.
    fn by_exhaustion(ground: &Groundwork<'_>) -> Solution {
        let bare = ground.solve(CanSet::new());
        if bare.covers() {
            return bare;
        }
        let over = |solution: &Solution| -> Vec<LoadLimit> {
            let over = solution.bars.iter().filter(|bar| bar.is_over());
            over.map(|bar| bar.what).collect()
        };
        let anyway = over(&bare);
        let within = |solution: &Solution| {
            let all = over(solution);
            all.iter()
                .all(|what| anyway.iter().any(|other| what.is_of(*other)))
        };
        let mut sets = every(ground.trip);
        sets.sort_by(|a, b| cans::preference(a, b));
        let solved: Vec<Solution> = sets.into_iter().map(|set| ground.solve(set)).collect();
        let found = solved
            .iter()
            .position(|solution| solution.covers() && within(solution))
            .or_else(|| solved.iter().position(Solution::covers));
        let found = found.unwrap_or_else(|| {
            let mut most = 0;
            for (at, solution) in solved.iter().enumerate() {
                let held = |at: usize| cans::fill(&solved[at].set);
                if within(solution) && held(at) > held(most) + ROUNDING {
                    most = at;
                }
            }
            most
        });
        solved.into_iter().nth(found).unwrap()
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            cases: 200,
            failure_persistence: None,
            ..ProptestConfig::default()
        })]

        /// The set that is found is as good as the best of all there are.
        #[test]
        fn the_choice_equals_exhaustive_search(trip in trips()) {
            let ground = Groundwork::of(&trip);
            let found = ground.choose();
            let best = by_exhaustion(&ground);
            prop_assert!(!found.cut);
            let found = found.solution.set;
            prop_assert!(
                cans::preference(&found, &best.set).is_eq(),
                "found {found:?}, best {:?}", best.set
            );
        }
    }
}
