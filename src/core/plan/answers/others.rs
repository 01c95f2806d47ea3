//! What comes of other sets of as many cans.

/// The other sets of as many cans, on the roof or not as the chosen ones are, that hold what is needed, each counted by
/// the first respect in which it comes after the chosen set.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Others {
    /// More of its cans would have to be bought.
    pub more_to_buy: usize,
    /// Its cans are heavier.
    pub heavier: usize,
    /// Its places are listed later in the trip.
    pub listed_later: usize,
    /// Its cans hold less.
    pub hold_less: usize,
    /// It is as good in all of this.
    pub equal: usize,
    /// It would come first, but it breaks a limit or burns more than it holds.
    pub barred: usize,
}

impl Others {
    /// How many there are.
    pub fn all(self) -> usize {
        self.more_to_buy
            + self.heavier
            + self.listed_later
            + self.hold_less
            + self.equal
            + self.barred
    }
}
