//! What is kept of a course to be asked what if a fuel stop is dry.

use std::collections::BTreeMap;

use crate::model::Trip;
use crate::model::route::FuelStop;
use crate::quantity::{Litres, Share};
use crate::solver::dry::Again;
use crate::solver::fuel::Problem;
use crate::solver::turn_back::needed_back;

use super::course::Course;
use crate::plan::kept::what_if_dry::{Home, WhatIfDry};

impl Course<'_> {
    /// What is kept to be asked what if a fuel stop is dry.
    pub(super) fn what_if_dry(&self) -> WhatIfDry {
        let course = self;
        let (trial, trip) = (course.trial, course.trip());
        let n = trip.legs.len();
        let poured = Again::of(trial.problem.clone(), &trial.need.allowance);
        let without_cans = Problem {
            cans: Vec::new(),
            ..trial.problem.clone()
        };
        let plain = Again::of(without_cans, &trial.need.allowance);
        let fixed = plain.holding_back(Share::ZERO, &trial.problem.reserve);
        let bare = plain.holding_back(Share::ZERO, &vec![Litres::ZERO; n + 1]);
        let mut nodes = vec![Vec::new(); trial.problem.pump_numbers()];
        let mut first_used = vec![None; nodes.len()];
        // At the place where the plan begins one sees what there is.
        let first = course.facts.from() + 1;
        for (node, pump) in trial.problem.pumps.iter().enumerate().take(n).skip(first) {
            let Some(pump) = pump else { continue };
            let used = trial.need.at_pump[node].is_some();
            nodes[pump.number].push(node);
            if used && first_used[pump.number].is_none() {
                first_used[pump.number] = Some(node);
            }
        }
        let met = first_used
            .iter()
            .zip(nodes)
            .filter_map(|(first, nodes)| Some(((*first)?, nodes)))
            .map(|(first, nodes)| {
                (
                    first,
                    nodes.into_iter().filter(|&node| node >= first).collect(),
                )
            })
            .collect();
        let arriving = std::iter::once([Litres::ZERO; 2]).chain(
            trial
                .run
                .legs
                .iter()
                .map(|leg| [leg.end_tank, leg.end_cans]),
        );
        let passed = passed(course, &met);
        let aside = passed.values().flatten().map(|&node| {
            let way = trial.loadout.detour(course.facts, node);
            (node, way)
        });
        WhatIfDry {
            aside: aside.collect(),
            passed,
            plain,
            poured,
            fixed,
            bare,
            km: course.km.clone(),
            arriving: arriving.collect(),
            leaving: trial.run.legs.iter().map(|leg| leg.start).collect(),
            spans: trial.run.spans.clone(),
            back: course.back.clone(),
            home: homes(course),
            refuges: (0..=n).map(|node| course.is_refuge(node)).collect(),
            met,
            chances: (0..=n)
                .map(|node| {
                    trip.place(node)
                        .fuel
                        .map_or(Share::new(1.0), FuelStop::chance)
                })
                .collect(),
            carried: trial.loadout.fill,
            largest: largest_can(trip),
        }
    }
}

/// The places of the pumps on the route that are not among those relied on, by the first of each.
fn passed(
    course: &Course<'_>,
    relied: &BTreeMap<usize, Vec<usize>>,
) -> BTreeMap<usize, Vec<usize>> {
    let numbers = course.facts.stop_numbers();
    let n = numbers.len() - 1;
    let relied: Vec<Option<usize>> = relied.keys().map(|&node| numbers[node]).collect();
    let mut first: BTreeMap<usize, usize> = BTreeMap::new();
    let mut passed: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (node, &number) in numbers
        .iter()
        .enumerate()
        .take(n)
        .skip(course.facts.from() + 1)
    {
        let Some(number) = number else { continue };
        if relied.contains(&Some(number)) {
            continue;
        }
        let of = *first.entry(number).or_insert(node);
        passed.entry(of).or_default().push(node);
    }
    passed
}

/// What going back to the nearest refuge takes, from each place.
fn homes(course: &Course<'_>) -> Vec<Option<Home>> {
    let mut homes: Vec<Option<Home>> = Vec::with_capacity(course.home.len());
    for (node, home) in course.home.iter().enumerate() {
        let home = home.and_then(|(fixed, refuge)| {
            let bare = if refuge == node {
                course.to_pump(node, Litres::ZERO)
            } else {
                let behind = homes.last().copied().flatten()?;
                needed_back(course.back[node - 1], behind.bare)?
            };
            let bare = match course.aside.filter(|_| node == course.facts.from()) {
                Some(aside) => needed_back(aside.back, bare)?,
                None => bare,
            };
            Some(Home {
                refuge,
                fixed,
                bare,
            })
        });
        homes.push(home);
    }
    homes
}

/// Size and fill of the largest kind of can that fits whole into the tank.
fn largest_can(trip: &Trip) -> Option<[Litres; 2]> {
    let kinds = trip.load().cans().iter();
    kinds
        .map(|kind| [kind.size_l, kind.fill()])
        .filter(|[_, fill]| *fill <= trip.vehicle.usable_tank())
        .max_by(|[_, a], [_, b]| a.get().total_cmp(&b.get()))
}
