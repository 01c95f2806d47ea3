//! How much work a search for cans is worth, and how it is shared out among its steps.

/// How much a choice of cans may cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::plan) struct Budget {
    /// Batches that are tried at most, at the best estimate.
    pub(crate) solved: usize,
    /// Batches and their arrangements that are looked at at most.
    pub(crate) listed: usize,
    /// Batches that are confirmed with simulated trips at most.
    pub(crate) confirmed: usize,
    /// Whether the set that holds most, where none does, is only a measure of what is missing: its cans are taken for
    /// full before they are, which spares most of the search for it.
    pub(crate) roughly: bool,
}

impl Budget {
    /// What the plan of a trip is worth.
    pub(crate) const USUAL: Self = Self {
        solved: 1_000,
        listed: 20_000,
        confirmed: 20,
        roughly: false,
    };

    /// The budget on a trip of so many legs: long trips are tried with fewer sets.
    pub(crate) fn on(self, legs: usize) -> Self {
        let most = |of_legs: usize| of_legs / legs.max(1) + FEWEST;
        Self {
            solved: self.solved.min(most(MOST_LEGS_SOLVED)),
            confirmed: self.confirmed.min(most(MOST_LEGS_CONFIRMED)),
            ..self
        }
    }
}

/// Legs of all batches together that are tried at most at the best estimate: some seconds' work. Chosen, no source.
const MOST_LEGS_SOLVED: usize = 1_000_000;
/// Legs of all batches together that are confirmed at most with simulated trips.
const MOST_LEGS_CONFIRMED: usize = 10_000;
/// Batches of any trip that are tried. Chosen, no source.
const FEWEST: usize = 10;

/// The budget of one search, and what of it is spent.
pub(super) struct Purse {
    budget: Budget,
    /// Batches that may be tried, listed and confirmed by now.
    may_solve: usize,
    may_list: usize,
    may_confirm: usize,
    solved: usize,
    listed: usize,
    confirmed: usize,
    /// Whether anything was left out for lack of it.
    pub(super) cut: bool,
}

impl Purse {
    /// A budget is allowed in so many parts.
    const PARTS: usize = 5;

    pub(super) fn new(budget: Budget) -> Self {
        Self {
            budget,
            may_solve: budget.solved,
            may_list: budget.listed,
            may_confirm: budget.confirmed,
            solved: 0,
            listed: 0,
            confirmed: 0,
            cut: false,
        }
    }

    /// Lets the search go on up to so many fifths of its budget.
    pub(super) fn allow_budget(&mut self, fifths: usize) {
        self.may_solve = self.budget.solved * fifths / Self::PARTS;
        self.may_list = self.budget.listed * fifths / Self::PARTS;
        self.may_confirm = self.budget.confirmed * fifths / Self::PARTS;
    }

    /// Whether cans are taken for full before they are.
    pub(super) fn roughly(&self) -> bool {
        self.budget.roughly
    }

    /// Batches that were tried at the best estimate.
    pub(super) fn solved(&self) -> usize {
        self.solved
    }

    /// How many may be listed now, and one more to see that there were too many.
    pub(super) fn may_list(&self) -> usize {
        self.may_list.saturating_sub(self.listed) + 1
    }

    /// Pays for what was listed, which was cut short or not; whether that was within the budget.
    pub(super) fn list(&mut self, listed: usize, cut: bool) -> bool {
        self.listed += listed;
        let too_many = self.listed > self.may_list;
        self.cut |= cut || too_many;
        !too_many
    }

    /// Pays for the arrangements of one batch, which are worth it in any case.
    pub(super) fn arrange(&mut self, listed: usize, cut: bool) {
        self.listed += listed;
        self.cut |= cut;
    }

    /// Pays for a try at the best estimate; whether that was within the budget.
    pub(super) fn solve(&mut self) -> bool {
        let may = self.solved < self.may_solve;
        self.solved += usize::from(may);
        self.cut |= !may;
        may
    }

    /// Pays for a confirmation with simulated trips; whether that was within the budget.
    pub(super) fn confirm(&mut self) -> bool {
        let may = self.confirmed < self.may_confirm;
        self.confirmed += usize::from(may);
        self.cut |= !may;
        may
    }
}
