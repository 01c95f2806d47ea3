//! Which cans are carried, and where: the first set in the order of preference that covers its own need within every
//! limit. Exact: what is passed over without being tried cannot be the answer.
//!
//! A batch (how many of which kind, and how many of each on the roof) is tried once with its own mass and drag; its
//! arrangements are then only held against the places and axles. A batch is passed over when it holds less than a
//! lighter one was found to need, or weighs more than the total mass or the places have room for with that need on
//! board: more mass never needs less. A limit that is exceeded with no can on board is not held against the cans. For a
//! success target the batches that do at the best estimate are confirmed with simulated trips; how many of those one
//! confirmation needed the next begins with.
//!
//! A search tries no more batches than its [`Budget`] allows, and reports where that left some out; of those that it
//! may try a part is kept for the set that exceeds a limit and for the largest, so that there is an answer also then.
//!
//! Left out: which of two equally good sets is handier. Ties go to the set whose cans hold more, then to the kind that
//! is listed first.

mod budget;
mod smaller;
#[cfg(test)]
mod tests;

use crate::consumption::engine::fuel_density;
use crate::model::Trip;
use crate::model::vocabulary::CarryingPlace;
use crate::quantity::{Kilograms, Litres};
use crate::solver::cans::{self, Batch, CanSet, Holding, Stock};
use crate::solver::filling;
use crate::solver::fuel::{DECANTING_LOSS, ROUNDING};
use crate::solver::load::{self, Departure, LoadBar, LoadLimit};
use crate::solver::places::{PLACES, Room};

use crate::plan::facts::TripFacts;
use crate::plan::loadout::Loadout;
use crate::plan::policy::Policy;
use crate::plan::trial::{Trial, try_loadout};
pub(in crate::plan) use budget::Budget;
use budget::Purse;

/// The trip tried with the cans of choice.
pub(in crate::plan) struct Choice {
    pub(crate) trial: Trial,
    /// Whether there were more sets than could be tried.
    pub(crate) cut: bool,
    /// Whether that was so before it was known that none does within every limit.
    pub(crate) cut_in_limits: bool,
    /// Sets that were tried at the best estimate.
    pub(crate) solved: usize,
}

impl Choice {
    /// How many sets of cans were tried, if there were more than could be.
    pub(crate) fn tried_of_more(&self) -> Option<usize> {
        self.cut.then_some(self.solved)
    }
}

/// The trip tried with the cans of choice, for no more than so much work; failing a set that does within every limit
/// with the first that covers its need, and failing that with the one that holds most within the limits.
pub(in crate::plan) fn choose(facts: &TripFacts<'_>, policy: Policy<'_>, budget: Budget) -> Choice {
    let choice = search(facts, policy, budget);
    match policy {
        // What to buy where is decided once the cans are chosen.
        Policy::Cheapest(_) => Choice {
            trial: try_loadout(facts, policy, choice.trial.loadout),
            ..choice
        },
        Policy::BestEstimate(_) | Policy::Target(_) => choice,
    }
}

fn search(facts: &TripFacts<'_>, policy: Policy<'_>, budget: Budget) -> Choice {
    let mut tries = Tries { facts, policy };
    let estimate = tries.estimate(CanSet::new());
    let (estimated, short) = (estimate.need.in_cans, estimate.short_at_start > ROUNDING);
    let bare = tries.confirm_if_sufficient(estimate);
    if bare.covers() && facts.trip.rules().start_cans() <= Litres::ZERO {
        return Choice {
            trial: bare,
            cut: false,
            cut_in_limits: false,
            solved: 1,
        };
    }
    let budget = budget.on(facts.distances.len());
    let mut search = Search::new(tries, budget, &bare, estimated, short);
    let found = search.allow_budget(3).first(Limits::Kept);
    let found = match found {
        None if search.purse.cut => search.allow_budget(4).first_of_fullest(),
        found => found,
    };
    let cut_in_limits = search.purse.cut;
    let found = found
        .or_else(|| search.allow_budget(4).first(Limits::Any))
        .or_else(|| {
            let largest = search.allow_budget(5).largest()?;
            Some(search.no_more_than_needed(largest))
        })
        .map(|trial| search.without_idle_can(trial));
    Choice {
        trial: found.unwrap_or_else(|| search.tries.at_target(bare)),
        cut: search.purse.cut,
        cut_in_limits,
        solved: search.purse.solved() + 1,
    }
}

/// The cans to choose from on a trip: those that fit whole into the tank with the reserve in it.
pub(in crate::plan) fn stock(trip: &Trip) -> Stock {
    let tank = trip.vehicle.usable_tank();
    let room = tank - trip.rules().reserve_litres(&trip.vehicle).min(tank);
    Stock::new(trip.load().cans(), room, filling::most_full(trip))
}

/// Tries one after the other under one policy; each begins with what those before it found.
struct Tries<'a> {
    facts: &'a TripFacts<'a>,
    policy: Policy<'a>,
}

impl Tries<'_> {
    /// A set of cans at the best estimate.
    fn estimate(&self, cans: CanSet) -> Trial {
        let loadout = Loadout::new(self.facts, cans);
        try_loadout(self.facts, self.policy.estimate(), loadout)
    }

    /// The trial for the success target, where one is asked for and the cans may hold what that needs.
    fn confirm_if_sufficient(&mut self, trial: Trial) -> Trial {
        let Policy::Target(aim) = self.policy else {
            return trial;
        };
        let policy = Policy::Target(aim.confirm_if_sufficient());
        let trial = try_loadout(self.facts, policy, trial.loadout);
        self.policy = Policy::Target(aim.with_blocks(trial.blocks));
        trial
    }

    /// The trial for the success target, where one is asked for, whatever the cans hold.
    fn at_target(&mut self, trial: Trial) -> Trial {
        match self.policy {
            Policy::Target(aim) if trial.simulation.is_none() => {
                let policy = Policy::Target(aim.at_target());
                let trial = try_loadout(self.facts, policy, trial.loadout);
                self.policy = Policy::Target(aim.with_blocks(trial.blocks));
                trial
            }
            _ => trial,
        }
    }
}

/// More batches were to be tried than may be.
struct TooMany;

/// Whether cans are on the roof.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Roof {
    Empty,
    Used,
}

impl Roof {
    /// Both, the better first.
    const BOTH: [Self; 2] = [Self::Empty, Self::Used];

    fn is_used(self) -> bool {
        self == Self::Used
    }
}

/// Whether a set must be within every limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Limits {
    Kept,
    Any,
}

/// The limit of the place of that number.
const fn of_place(place: usize) -> LoadLimit {
    match PLACES[place] {
        CarryingPlace::Roof => LoadLimit::Roof { off_road: false },
        other => LoadLimit::Place(other),
    }
}

struct Search<'a> {
    tries: Tries<'a>,
    purse: Purse,
    stock: Stock,
    wanted: Holding,
    /// Limits that are exceeded with no can on board.
    exceeded_without_cans: Vec<LoadLimit>,
    /// Whether simulated trips only require more, so that what fails without them fails with them. Not where they let
    /// the plan rely on a fuel stop that it does without otherwise.
    screens: bool,
    /// What is needed at the best estimate with no can on board.
    estimated: Litres,
    /// What may be had of total mass at the departure that needs most, with a full tank: cans and the fuel in them.
    mass_left: Option<Kilograms>,
    /// What each place has room for at the departure where it has most; `None` if it has no limit.
    rooms: [Option<Kilograms>; 3],
    /// What must be in cans at some departure, as far as that is known.
    in_cans: Litres,
    /// For sets without and with cans on the roof: empty mass of cans that was tried, and litres that it cannot do
    /// without.
    known: [Vec<(Kilograms, Litres)>; 2],
    /// Sets of cans that simulated trips found too small.
    too_small: Vec<CanSet>,
    /// The first trial that covers its need but not within the limits.
    beyond_limits: Option<Trial>,
}

impl<'a> Search<'a> {
    fn new(tries: Tries<'a>, budget: Budget, bare: &Trial, estimated: Litres, short: bool) -> Self {
        let facts = tries.facts;
        let trip = facts.trip;
        let rules = trip.rules();
        let tank = trip.vehicle.usable_tank();
        let over = bare.bars.iter().filter(|bar| bar.is_over());
        let exceeded_without_cans: Vec<LoadLimit> = over.map(|bar| bar.what).collect();
        let screens = estimated <= bare.need.in_cans + ROUNDING;
        // The departure that needs most may be any of them, so the lightest represents it.
        let lightest = facts
            .days
            .iter()
            .map(|&day| load::burden(trip, &[], day).dry_mass)
            .reduce(Kilograms::min);
        // Where the start lacks fuel nothing is known of what is on board.
        let known = screens && !short && !exceeded_without_cans.contains(&LoadLimit::Gvm);
        let mass_left = trip.vehicle.gvm_kg.zip(lightest).filter(|_| known);
        let mass_left =
            mass_left.map(|(limit, dry)| limit - dry - tank * fuel_density(trip.vehicle.fuel));
        let roomiest = |place: usize, limit: &dyn Fn(&Departure) -> Option<Kilograms>| {
            if exceeded_without_cans
                .iter()
                .any(|what| what.is_of(of_place(place)))
            {
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
            purse: Purse::new(budget),
            rooms,
            in_cans: if screens && !short {
                estimated
            } else {
                Litres::ZERO
            },
            stock: stock(trip),
            wanted: Holding {
                least: bare.need.in_cans.max(rules.start_cans()),
                most: rules.most_in_cans_l,
            },
            exceeded_without_cans,
            screens,
            estimated,
            mass_left,
            known: [vec![], vec![]],
            too_small: Vec::new(),
            beyond_limits: None,
            tries,
        }
    }

    /// Lets the search go on up to so many fifths of its budget.
    fn allow_budget(&mut self, fifths: usize) -> &mut Self {
        self.purse.allow_budget(fifths);
        self
    }

    /// The batches of so many cans; `None` if there were too many already.
    fn batches(&mut self, count: u32, roof: Roof, wanted: Holding) -> Option<Vec<Vec<Batch>>> {
        let most = self.purse.may_list();
        let batches = self.stock.batches(count, roof.is_used(), wanted, most);
        let paid = self.purse.list(batches.looked_at, batches.cut);
        paid.then_some(batches.ranked)
    }

    /// Tries a batch with its cans in their first places, at the best estimate; `None` if there were too many
    /// already.
    fn solve(&mut self, batch: &Batch, roof: Roof) -> Option<Trial> {
        if !self.purse.solve() {
            return None;
        }
        let trial = self.tries.estimate(self.stock.in_first_places(batch));
        if self.screens {
            self.learn(batch, roof, trial.in_cans);
        }
        Some(trial)
    }

    fn learn(&mut self, batch: &Batch, roof: Roof, needs: Litres) {
        let known = &mut self.known[usize::from(roof.is_used())];
        known.push((self.stock.empty_mass(batch), needs));
    }

    /// The trial for the success target, where one is required; `None` if there were too many already.
    fn confirm(&mut self, trial: Trial, batch: &Batch, roof: Roof) -> Option<Trial> {
        if !matches!(self.tries.policy, Policy::Target(_)) {
            return Some(trial);
        }
        let is_known = |known: &Trial| known.loadout.cans == trial.loadout.cans;
        if let Some(known) = self.beyond_limits.take_if(|known| is_known(known)) {
            return Some(known);
        }
        if !self.purse.confirm() {
            return None;
        }
        let trial = self.tries.confirm_if_sufficient(trial);
        if !trial.covers() {
            self.too_small.push(trial.loadout.cans.clone());
        }
        // Another batch may lose less in decanting.
        let lost = DECANTING_LOSS * f64::from(cans::count(&trial.loadout.cans));
        self.learn(batch, roof, trial.need.in_cans - lost);
        Some(trial)
    }

    /// The least that a batch can need, by what lighter ones were found to need.
    fn least(&self, batch: &Batch, roof: Roof) -> Litres {
        let mass = self.stock.empty_mass(batch);
        let lighter = self.known[usize::from(roof.is_used())]
            .iter()
            .filter(|(known, _)| *known <= mass);
        lighter
            .map(|(_, needs)| *needs)
            .fold(self.wanted.least, Litres::max)
    }

    /// Whether the total mass has room for a batch with the least in it that the likely values require.
    fn is_light_enough(&self, batch: &Batch) -> bool {
        let fuel = self.estimated * fuel_density(self.tries.facts.trip.vehicle.fuel);
        let mass = self.stock.empty_mass(batch) + fuel;
        self.mass_left
            .is_none_or(|left| mass <= left + load::EQUAL_MASS * 2.0)
    }

    /// Whether the places may have room for a batch with so much in it.
    fn may_lie(&self, batch: &Batch, litres: Litres) -> bool {
        let density = fuel_density(self.tries.facts.trip.vehicle.fuel);
        self.stock.may_lie(batch, litres, density, |place| {
            let at = PLACES.iter().position(|&other| other == place)?;
            self.rooms[at]
        })
    }

    /// Whether a limit is exceeded with no can on board.
    fn is_exceeded_anyway(&self, what: LoadLimit) -> bool {
        let exceeded = &self.exceeded_without_cans;
        exceeded.iter().any(|other| what.is_of(*other))
    }

    /// Whether a trial is within every limit that is not exceeded anyway.
    fn is_within(&self, trial: &Trial) -> bool {
        let over = trial.bars.iter().filter(|bar| bar.is_over());
        over.map(|bar| bar.what)
            .all(|what| self.is_exceeded_anyway(what))
    }

    /// The first of the arrangements of a tried batch that is within every limit.
    fn within(&mut self, trial: &Trial, batch: &Batch) -> Option<CanSet> {
        let too_heavy = |bar: &LoadBar| bar.what == LoadLimit::Gvm && bar.is_over();
        if trial.bars.iter().any(too_heavy) && !self.is_exceeded_anyway(LoadLimit::Gvm) {
            return None;
        }
        let departing = trial.departing(self.tries.facts);
        let room = Room::new(
            self.tries.facts.trip,
            departing,
            &self.exceeded_without_cans,
        );
        if room.bears(&trial.loadout.cans) {
            return Some(trial.loadout.cans.clone());
        }
        let (arrangements, cut) = self.stock.laid(batch, self.purse.may_list());
        self.purse.arrange(arrangements.len(), cut);
        arrangements.into_iter().find(|set| room.bears(set))
    }

    /// The trial with its cans arranged otherwise.
    fn arranged(&mut self, trial: Trial, cans: CanSet) -> Trial {
        if cans == trial.loadout.cans {
            return trial;
        }
        let estimate = self.tries.estimate(cans);
        self.tries.at_target(estimate)
    }

    /// A batch tried, where it covers its need and, if that is asked for, has an arrangement within the limits. `None`
    /// if it does not.
    ///
    /// # Errors
    /// When too many were tried already.
    fn try_batch(
        &mut self,
        batch: &Batch,
        roof: Roof,
        limits: Limits,
    ) -> Result<Option<Trial>, TooMany> {
        let in_limits = limits == Limits::Kept;
        let least = self.least(batch, roof);
        let holds_too_little = self.stock.fill(batch) < least - ROUNDING;
        let fits = || self.is_light_enough(batch) && self.may_lie(batch, self.in_cans);
        if holds_too_little || in_limits && !fits() {
            return Ok(None);
        }
        let trial = self.solve(batch, roof).ok_or(TooMany)?;
        if self.screens {
            let fits = !in_limits || self.within(&trial, batch).is_some();
            if !trial.covers() || !fits {
                return Ok(None);
            }
        }
        if self.too_small.contains(&trial.loadout.cans) {
            return Ok(None);
        }
        let trial = self.confirm(trial, batch, roof).ok_or(TooMany)?;
        if !trial.covers() {
            return Ok(None);
        }
        if !in_limits {
            return Ok(Some(trial));
        }
        if let Some(set) = self.within(&trial, batch) {
            return Ok(Some(self.arranged(trial, set)));
        }
        self.beyond_limits.get_or_insert(trial);
        Ok(None)
    }

    /// The first set in order of preference that covers its need, within the limits or whatever they are.
    fn first(&mut self, limits: Limits) -> Option<Trial> {
        for roof in Roof::BOTH {
            if self.stock.holds(roof.is_used()) < self.wanted.least - ROUNDING {
                continue;
            }
            for count in 1..=self.stock.count(roof.is_used()) {
                for equals in self.batches(count, roof, self.wanted)? {
                    let mut best: Option<Trial> = None;
                    for batch in equals {
                        let trial = self.try_batch(&batch, roof, limits).ok()?;
                        best = [best, trial].into_iter().flatten().reduce(|a, b| {
                            if cans::preference(&b.loadout.cans, &a.loadout.cans).is_lt() {
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

    /// Where the search for the first set within the limits was cut short: the first of those that hold most of as many
    /// cans.
    fn first_of_fullest(&mut self) -> Option<Trial> {
        for roof in Roof::BOTH {
            for count in 1..=self.stock.count(roof.is_used()) {
                let batch = self.fullest(count, roof);
                let trial = batch.map(|batch| self.try_batch(&batch, roof, Limits::Kept));
                if let Some(found) = trial.transpose().ok()?.flatten() {
                    return Some(found);
                }
            }
        }
        None
    }

    /// The batch of so many cans that holds most, if it holds no more than may be carried.
    fn fullest(&self, count: u32, roof: Roof) -> Option<Batch> {
        let batch = self.stock.fullest(count, roof.is_used())?;
        let most = self.wanted.most.unwrap_or(Litres::new(f64::INFINITY));
        (self.stock.fill(&batch) <= most).then_some(batch)
    }

    /// The set that holds most within the limits, the preferred of those that hold as much.
    fn largest(&mut self) -> Option<Trial> {
        let mut most = CanSet::new();
        'search: for roof in Roof::BOTH {
            for count in (1..=self.stock.count(roof.is_used())).rev() {
                let wanted = Holding {
                    least: cans::fill(&most),
                    ..self.wanted
                };
                let mut batches: Vec<Batch> = match self.batches(count, roof, wanted) {
                    Some(batches) => batches.into_iter().flatten().collect(),
                    // Where they are too many, one of them represents all.
                    None => self.fullest(count, roof).into_iter().collect(),
                };
                let fill = |batch: &Batch| self.stock.fill(batch).get();
                batches.sort_by(|a, b| fill(b).total_cmp(&fill(a)));
                for batch in batches {
                    let held = cans::fill(&most);
                    let fill = self.stock.fill(&batch);
                    if fill < held - ROUNDING {
                        break;
                    }
                    let litres = if self.purse.roughly() {
                        fill
                    } else {
                        Litres::ZERO
                    };
                    if !self.may_lie(&batch, litres) {
                        continue;
                    }
                    let Some(trial) = self.solve(&batch, roof) else {
                        break 'search;
                    };
                    let Some(set) = self.within(&trial, &batch) else {
                        continue;
                    };
                    let more = fill > held + ROUNDING;
                    if more || most.is_empty() || cans::preference(&set, &most).is_lt() {
                        most = set;
                    }
                }
            }
        }
        if most.is_empty() {
            return None;
        }
        let estimate = self.tries.estimate(most);
        Some(self.tries.at_target(estimate))
    }
}
