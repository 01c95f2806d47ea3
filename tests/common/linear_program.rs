//! The fuel problem as a linear program, for a solver that knows nothing of fuel.

use drystage::quantity::Litres;
use drystage::solver::fuel::Problem;
use good_lp::{
    Expression, ProblemVariables, Solution, SolverModel, Variable, constraint, microlp, variable,
};

/// The least spare fuel: what is taken at each meeting of each pump is free.
pub fn in_cans(problem: &Problem) -> f64 {
    let n = problem.legs.len();
    let counts = 1.0 + problem.extra.get();
    let mut variables = ProblemVariables::new();
    let mut litres = || variables.add(variable().min(0.0));
    let in_cans = litres();
    let departure: Vec<Variable> = (0..n).map(|_| litres()).collect();
    let taken: Vec<Option<Variable>> = (0..n)
        .map(|j| (j > 0 && problem.fuel_stops[j].is_some()).then(&mut litres))
        .collect();
    let mut constraints = Vec::new();
    for (j, leg) in problem.legs.iter().enumerate() {
        constraints.push(constraint!(departure[j] <= problem.tank.get() + in_cans));
        let arrival =
            (1.0 - counts * leg.slope().get()) * departure[j] - counts * leg.empty().get();
        constraints.push(constraint!(arrival.clone() >= problem.reserve[j + 1].get()));
        if let Some(&next) = departure.get(j + 1) {
            let taken = taken[j + 1].map_or(Expression::default(), Expression::from);
            constraints.push(constraint!(arrival + taken == next));
        }
    }
    for number in 0..problem.fuel_stop_numbers() {
        let meetings = (1..n)
            .filter(|&j| problem.fuel_stops[j].is_some_and(|fuel_stop| fuel_stop.number == number));
        let supply = meetings.clone().find_map(|j| problem.fuel_stops[j]?.supply);
        if let Some(supply) = supply.map(Litres::get) {
            let all: Expression = meetings.filter_map(|j| taken[j]).sum();
            constraints.push(constraint!(all <= supply));
        }
    }
    let model = variables.minimise(in_cans).using(microlp);
    let solved = constraints
        .into_iter()
        .fold(model, SolverModel::with)
        .solve()
        .expect("enough spare fuel makes every trip possible");
    solved.value(in_cans)
}
