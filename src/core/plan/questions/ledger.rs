//! The ledger of the fuel in cans: which cause, on which leg, it is carried for.
//!
//! On the stage that sets the litres in cans K, the litres of each leg over base are split among the causes by the
//! logarithmic mean (Ang, The LMDI approach to decomposition analysis, 2005): cause c has `L·ln m_c`, with the leg's
//! multipliers m and `L = (litres − base) / ln(litres / base)`, so that the parts add up exactly. What the leg takes
//! more because more fuel must be on board than is planned to be goes to the load. Detours, decanting, and what is held
//! back (the per-cent share, or what the samples require beyond the likely litres, whichever binds) are parts too.
//!
//! The way itself at base and the fixed reserve are always there, less the tank and what fuel stops on the route add.
//! What of the parts does not go into the tank is K, and K is split among them by the Shapley value of the game `max(0,
//! always + what is present)`: the mean of what a part adds over all orders in which they can be brought in. A cause's
//! share goes to the legs in proportion to their litres. The rows add up to K.
//!
//! Left out: a share is what a part is answerable for beside the others, not what is saved by taking it away; that
//! is beside it, the trip solved anew with every leg's litres without the cause, on the same draws where the doubt
//! binds.

use std::collections::BTreeMap;

use crate::consumption::shapley::shapley;
use crate::consumption::usage::Usage;
use crate::quantity::{Factor, Litres, LitresPerKm, Share};
use crate::solver::fuel::{Need, Problem};

use super::again::Again;
use crate::consumption::causes::Cause;
use crate::plan::answers::ledger::{CanFor, Ledger, LedgerPart, LedgerRow};
use crate::plan::kept::ledger_input::LedgerInput;
use crate::plan::parts::Plan;
use crate::plan::parts::doubt::Doubt;
use crate::solver::cans::ChosenCans;

/// Parts smaller than this are none.
const NOTHING: f64 = 1e-9;

/// A part on a leg.
type LedgerEntry = (LedgerPart, Option<usize>, f64);

impl Plan {
    /// What the fuel in cans is carried for; computed when first asked for.
    pub fn ledger(&self) -> &Ledger {
        self.answers
            .ledger
            .get_or_init(|| self.kept.ledger_input.ledger(self))
    }

    /// What [`Plan::ledger`] gives, if it was asked before.
    pub fn known_ledger(&self) -> Option<&Ledger> {
        self.answers.ledger.get()
    }
}

impl LedgerInput {
    /// The fuel in cans of a plan split by what it is carried for.
    fn ledger(&self, plan: &Plan) -> Ledger {
        let in_cans = plan.in_cans.needed;
        if in_cans.get() <= NOTHING {
            return Ledger::default();
        }
        let plain = self.problem.need_using(&self.need);
        // Which of the two holds more back: the per-cent share, or the doubt in its stead.
        let doubted = in_cans.get() > plain.in_cans.get() + NOTHING;
        let doubt = plan.doubt.as_ref().filter(|_| doubted);
        if let Some(doubt) = doubt {
            plan.attribute_all(doubt.effort().threads);
        }
        let problem = Problem {
            extra: if doubted {
                Share::ZERO
            } else {
                self.problem.extra
            },
            ..self.problem.clone()
        };
        let need = if doubted {
            problem.need_using(&self.need)
        } else {
            plain
        };
        let chain = chain(&problem, &need);
        let mut entries = chain.entries(plan);
        let mut always = chain.always - problem.tank.get();
        for used in &chain.used {
            always += base(plan, used.0);
        }
        let again = doubt.map(Doubt::again);
        if doubted {
            let known: f64 = entries.iter().map(|entry| entry.2).sum();
            let unknown = in_cans.get() - always - known;
            let checks = again
                .as_ref()
                .map_or(0.0, |again| again.cost_of_checks().get());
            let checks = checks.min(unknown.max(0.0));
            entries.push((LedgerPart::Checks, None, checks));
            entries.push((LedgerPart::Doubt, None, unknown - checks));
        }
        let mut rows = shared_out(always, &entries);
        for row in &mut rows {
            if let LedgerPart::Cause(cause) = row.part {
                let without = self.without(plan, cause, again.as_ref());
                row.without = Some(without);
                row.cans_fewer = Some(cans_fewer(&plan.in_cans.cans, without));
            }
        }
        rows.sort_by(|a, b| b.litres.get().total_cmp(&a.litres.get()));
        Ledger {
            in_cans,
            stage: Some((chain.from, chain.to)),
            cans: cans_for(&plan.in_cans.cans, in_cans, &rows),
            rows,
        }
    }

    /// The litres in cans with every leg's litres without a cause; where the doubt holds more back than the per-cent
    /// share, from draws that are asked again.
    fn without(&self, plan: &Plan, cause: Cause, again: Option<&Again<'_>>) -> Litres {
        let mut problem = self.problem.clone();
        let left = plan.legs.iter().map(|leg| {
            let shares = &plan.attribution(leg.n).causes;
            let without = shares.iter().find(|share| share.cause == cause);
            let without = without.filter(|_| leg.fuel > Litres::ZERO);
            Factor::new(without.map_or(1.0, |share| share.without / leg.fuel))
        });
        let left: Vec<Factor> = left.collect();
        for (usage, &left) in problem.legs.iter_mut().zip(&left) {
            *usage = usage.scaled(left, Litres::ZERO, left);
        }
        let with_percent = problem.need_using(&self.need).in_cans;
        let sure = again.map_or(Litres::ZERO, |again| {
            again.in_cans_with(&problem.legs, &left)
        });
        sure.max(with_percent)
    }
}

/// The litres of a leg at the baseline consumption.
fn base(plan: &Plan, leg: usize) -> f64 {
    let rate: LitresPerKm = plan.base.reference.into();
    (plan.legs[leg].distance * rate).get()
}

/// What is required on the stage that sets the fuel in cans, from its first place on until nothing more is passed back.
struct Chain {
    from: usize,
    to: usize,
    /// The fixed reserve at its end, less what limited fuel stops on the route add.
    always: f64,
    /// Legs with the litres that they burn.
    used: Vec<(usize, f64)>,
    /// Detours, decanting and per cent, by leg.
    others: Vec<LedgerEntry>,
}

/// Follows what is required from the place that requires most.
fn chain(problem: &Problem, need: &Need) -> Chain {
    let n = problem.legs.len();
    let most =
        |j: usize| need.at_fuel_stop[j].map_or(need.departure[j], |at| at.max(need.departure[j]));
    let from = (0..n)
        .max_by(|&a, &b| most(a).get().total_cmp(&most(b).get()).then(b.cmp(&a)))
        .unwrap_or(0);
    let counts = 1.0 + problem.extra.get();
    let mut chain = Chain {
        from,
        to: n,
        always: problem.reserve[n].get(),
        used: Vec::new(),
        others: Vec::new(),
    };
    let mut burn = |part: Option<LedgerPart>, leg: usize, litres: Litres| {
        let burnt = litres.get() / counts;
        match part {
            Some(part) => chain.others.push((part, Some(leg), burnt)),
            None => chain.used.push((leg, burnt)),
        }
        chain
            .others
            .push((LedgerPart::Percent, Some(leg), litres.get() - burnt));
    };
    let mut given = Litres::ZERO;
    let mut decanted = Vec::new();
    let (mut to, mut left) = (n, problem.reserve[n]);
    for j in from..n {
        if let Some(at_fuel_stop) = need.at_fuel_stop[j] {
            burn(
                Some(LedgerPart::Detours),
                j.saturating_sub(1),
                at_fuel_stop - need.departure[j],
            );
        }
        let needed = problem.legs[j].needed_for(need.arrival[j + 1], problem.extra);
        decanted.push((
            LedgerPart::Decanting,
            Some(j),
            (need.departure[j] - needed).get(),
        ));
        // Driven legs take nothing more.
        if problem.legs[j] != Usage::NONE {
            burn(None, j, needed - need.arrival[j + 1]);
        }
        let next = j + 1;
        let reserve = problem.reserve[next];
        if next == n {
            break;
        }
        if let Some(at_fuel_stop) = need.at_fuel_stop[next] {
            let before =
                need.allowance[next].map_or(reserve, |share| reserve.max(at_fuel_stop - share));
            burn(Some(LedgerPart::Detours), j, need.arrival[next] - before);
            if before <= reserve {
                (to, left) = (next, reserve);
                break;
            }
            given += need.allowance[next].unwrap_or_default();
        } else if reserve >= need.departure[next] {
            (to, left) = (next, reserve);
            break;
        }
    }
    chain.others.extend(decanted);
    chain.to = to;
    chain.always = (left - given).get();
    chain
}

impl Chain {
    /// Everything that is not always there, by part and leg.
    fn entries(&self, plan: &Plan) -> Vec<LedgerEntry> {
        let mut entries = self.others.clone();
        for &(at, litres) in &self.used {
            let leg = plan.legs[at].n;
            let base = base(plan, at);
            let mut rest = litres - base;
            for share in &plan.attribution(leg).causes {
                let Some(multiplier) = share.multiplier else {
                    continue;
                };
                let all = (plan.legs[at].fuel.get() / base).ln();
                let part = logarithmic_mean(base, all) * multiplier.get().ln();
                entries.push((LedgerPart::Cause(share.cause), Some(at), part));
                rest -= part;
            }
            // A stay burns for the extras alone; on a leg what is left over is the mass of the fuel itself.
            let cause = if base > 0.0 {
                Cause::Load
            } else {
                Cause::Extras
            };
            entries.push((LedgerPart::Cause(cause), Some(at), rest));
        }
        entries
    }
}

/// The logarithmic mean of `base` and `base·e^log`.
fn logarithmic_mean(base: f64, log: f64) -> f64 {
    if log.abs() < 1e-9 {
        base
    } else {
        base * log.exp_m1() / log
    }
}

/// Splits `max(0, always + all entries)` among the parts and their legs; parts that have nothing are left out.
fn shared_out(always: f64, entries: &[LedgerEntry]) -> Vec<LedgerRow> {
    let mut parts: Vec<(LedgerPart, f64)> = Vec::new();
    for &(part, _, litres) in entries {
        match parts.iter_mut().find(|(other, _)| *other == part) {
            Some((_, sum)) => *sum += litres,
            None => parts.push((part, litres)),
        }
    }
    parts.retain(|(_, litres)| litres.abs() > NOTHING);
    let litres: Vec<f64> = parts.iter().map(|(_, litres)| *litres).collect();
    let mut rows: Vec<LedgerRow> = parts
        .iter()
        .zip(split(always, &litres))
        .map(|(&(part, sum), share)| {
            let mut by_leg: BTreeMap<usize, Litres> = BTreeMap::new();
            for &(_, leg, litres) in entries.iter().filter(|entry| entry.0 == part) {
                let Some(leg) = leg else { continue };
                *by_leg.entry(leg + 1).or_default() += Litres::new(litres * share / sum);
            }
            by_leg.retain(|_, litres| litres.get().abs() > NOTHING);
            let mut legs: Vec<(usize, Litres)> = by_leg.into_iter().collect();
            legs.sort_by(|a, b| b.1.get().total_cmp(&a.1.get()));
            LedgerRow {
                part,
                litres: Litres::new(share),
                legs,
                without: None,
                cans_fewer: None,
            }
        })
        .collect();
    if always > 0.0 {
        rows.push(LedgerRow {
            part: LedgerPart::Way,
            litres: Litres::new(always),
            legs: Vec::new(),
            without: None,
            cans_fewer: None,
        });
    }
    rows
}

/// The Shapley value of the game `max(0, always + Σ litres of those present)`, over all its coalitions.
fn split(always: f64, litres: &[f64]) -> Vec<f64> {
    let mut sums = vec![always; 1 << litres.len()];
    for present in 1..sums.len() {
        let last = present.trailing_zeros() as usize;
        sums[present] = sums[present & (present - 1)] + litres[last];
    }
    let worth: Vec<Litres> = sums
        .into_iter()
        .map(|sum| Litres::new(sum.max(0.0)))
        .collect();
    shapley(&worth).into_iter().map(Litres::get).collect()
}

/// The cans of a set one by one as size and fill, the largest fill first.
fn each(cans: &[ChosenCans]) -> Vec<(Litres, Litres)> {
    let one_by_one = cans
        .iter()
        .flat_map(|group| std::iter::repeat_n((group.size, group.fill), group.count as usize));
    let mut each: Vec<(Litres, Litres)> = one_by_one.collect();
    each.sort_by(|a, b| b.1.get().total_cmp(&a.1.get()));
    each
}

/// How many of the cans need not be carried for `in_cans` litres, the largest filled first.
fn cans_fewer(cans: &[ChosenCans], in_cans: Litres) -> usize {
    let each = each(cans);
    let mut held = Litres::ZERO;
    let needed = each.iter().take_while(|(_, fill)| {
        let more = held.get() < in_cans.get() - 1e-6;
        held += *fill;
        more
    });
    each.len() - needed.count()
}

/// What each can is carried for: the rows, most first, fill one can after the other. What saves fuel lessens all rows
/// alike.
fn cans_for(cans: &[ChosenCans], in_cans: Litres, rows: &[LedgerRow]) -> Vec<CanFor> {
    let mut of_legs: Vec<LedgerEntry> = Vec::new();
    for row in rows.iter().filter(|row| row.litres > Litres::ZERO) {
        let legs = row.legs.iter().filter(|(_, litres)| *litres > Litres::ZERO);
        let sum: Litres = legs.clone().map(|(_, litres)| *litres).sum();
        if sum > Litres::ZERO {
            of_legs.extend(
                legs.map(|&(leg, litres)| (row.part, Some(leg), litres / sum * row.litres.get())),
            );
        } else {
            of_legs.push((row.part, None, row.litres.get()));
        }
    }
    of_legs.sort_by(|a, b| b.2.total_cmp(&a.2));
    let all: f64 = of_legs.iter().map(|entry| entry.2).sum();
    let mut left = of_legs
        .into_iter()
        .map(|(part, leg, litres)| (part, leg, litres * in_cans.get() / all));
    let mut next: Option<LedgerEntry> = left.next();
    let mut filled = Vec::new();
    for (size, fill) in each(cans) {
        let (mut room, mut parts) = (fill.get(), Vec::new());
        while let Some((part, leg, litres)) = next {
            let taken = litres.min(room);
            if taken > NOTHING {
                parts.push((part, leg, Litres::new(taken)));
            }
            room -= taken;
            if litres > taken {
                next = Some((part, leg, litres - taken));
                break;
            }
            next = left.next();
        }
        parts.sort_by(|a, b| b.2.get().total_cmp(&a.2.get()));
        filled.push(CanFor { size, parts });
    }
    filled
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::consumption::usage::Usage;

    fn near(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-9, "{a}, by hand {b}");
    }

    /// By hand: 10 L of tank are free, sand takes 8 L and the roof 6 L, so 4 L must be in cans. Either alone needs
    /// none, so each adds 4 L as the second and nothing as the first: 2 L each. With 7 L free, sand alone needs 1 L,
    /// both 7 L: sand adds 1 or 7, the mean is 4, and the roof 0 or 6, the mean 3.
    #[test]
    fn what_needs_both_is_shared_by_both() {
        let shares = split(-10.0, &[8.0, 6.0]);
        near(shares[0], 2.0);
        near(shares[1], 2.0);
        let shares = split(-7.0, &[8.0, 6.0]);
        near(shares[0], 4.0);
        near(shares[1], 3.0);
    }

    /// The shares add up, equal parts have equal shares, what is nothing has none, and a part has no more than it is.
    #[test]
    fn shares_add_up_and_are_fair() {
        let litres = [3.0, 5.0, -2.0, 5.0, 0.0, 11.0, 0.5];
        for always in [-30.0, -15.0, -4.0, 0.0, 3.0] {
            let shares = split(always, &litres);
            let all = (always + litres.iter().sum::<f64>()).max(0.0);
            near(shares.iter().sum::<f64>() + always.max(0.0), all);
            near(shares[1], shares[3]);
            near(shares[4], 0.0);
            for (share, litres) in shares.iter().zip(litres) {
                assert!(share.abs() <= litres.abs() + 1e-12 && share * litres >= 0.0);
            }
        }
    }

    /// By hand, on a tank of 50 L with 2 L to be left: two legs of 40 L and 20 L from a fuel stop between them require
    /// 40 + 42 − 20 = 62 L, so 12 L must be in cans; with a tenth held back 44 + 46 − 20 = 70 L, 8 L of them for that.
    #[test]
    fn what_is_required_adds_up_along_the_stage() {
        let takes = |litres: f64| {
            let litres = Litres::new(litres);
            Usage::between(litres, litres, Litres::new(100.0))
        };
        let fuel_stop = crate::solver::fuel::FuelStopVisit {
            supply: Some(Litres::new(20.0)),
            number: 0,
            detour: Usage::NONE,
        };
        let mut problem = Problem {
            tank: Litres::new(50.0),
            legs: vec![takes(40.0), takes(40.0)],
            reserve: vec![Litres::new(2.0); 3],
            extra: Share::ZERO,
            fuel_stops: vec![None, Some(fuel_stop), None],
            cans: Vec::new(),
        };
        for (extra, in_cans, percent) in [(0.0, 12.0, 0.0), (0.1, 20.0, 8.0)] {
            problem.extra = Share::new(extra);
            let need = problem.need();
            near(need.in_cans.get(), in_cans);
            let chain = chain(&problem, &need);
            assert_eq!((chain.from, chain.to), (0, 2));
            near(chain.always, 2.0 - 20.0);
            assert_eq!(chain.used.len(), 2);
            for (_, litres) in &chain.used {
                near(*litres, 40.0);
            }
            near(chain.others.iter().map(|other| other.2).sum(), percent);
        }
    }

    /// By hand: 20 L at base and twice that on the leg; the causes 1.6 and 1.25 have ln 1.6/ln 2 and ln 1.25/ln 2 of
    /// the 20 L more.
    #[test]
    fn the_logarithmic_mean_splits_without_a_rest() {
        let mean = logarithmic_mean(20.0, 2.0_f64.ln());
        near(mean * (1.6_f64.ln() + 1.25_f64.ln()), 20.0);
        near(mean * 1.6_f64.ln(), 20.0 * 0.678_071_905_112_637_7);
        near(logarithmic_mean(20.0, 0.0), 20.0);
    }
}
