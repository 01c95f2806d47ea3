//! The place on the route, and how much of it the strip shows.

use super::{Panel, State};
use crate::plan::PlannedLeg;
use crate::quantity::Kilometres;

/// The least that the strip shows at once.
pub(super) const CLOSEST: Kilometres = Kilometres::new(1.0);
/// The cursor stays this part of the shown length away from the border of the strip.
const MARGIN: f64 = 0.05;

/// The part of the trip that the strip shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Where it begins, from the start of the trip.
    pub left: Kilometres,
    /// How much it shows.
    pub span: Kilometres,
}

impl State {
    /// Number of the chosen leg, from 1.
    pub const fn leg(&self) -> usize {
        self.leg
    }

    /// The chosen leg; `None` on a trip without legs.
    pub(crate) fn chosen(&self) -> Option<&PlannedLeg> {
        self.plan().legs.get(self.leg - 1)
    }

    /// The cursor, from the start of the trip.
    pub const fn at(&self) -> Kilometres {
        self.at
    }

    /// The part of the trip that is shown.
    pub const fn look(&self) -> Look {
        self.look
    }

    /// Whether the whole trip is shown.
    pub(crate) fn shows_all(&self) -> bool {
        self.look.span >= self.strip().length()
    }

    /// Chooses the first leg of the next day; of the day before, or of this day if the chosen leg is not its first.
    pub(in crate::tui) fn choose_day(&mut self, on: bool) {
        let days = self.trip().days();
        let at = self.leg - 1;
        let Some(&day) = days.get(at) else { return };
        let first_of = |day: u32| days.iter().position(|other| *other == day).unwrap_or(0);
        let leg = if on {
            days.iter().position(|other| *other > day)
        } else if first_of(day) < at {
            Some(first_of(day))
        } else {
            at.checked_sub(1).map(|before| first_of(days[before]))
        };
        if let Some(leg) = leg {
            self.choose(leg + 1);
        } else {
            let message = if on { "no later day" } else { "no earlier day" };
            self.status = Some(message.into());
        }
    }

    /// Chooses a leg and puts the cursor to its start.
    pub(in crate::tui) fn choose(&mut self, leg: usize) {
        // A leg that was just put in may not be planned yet.
        let last = if self.is_behind() {
            self.trip().legs.len()
        } else {
            self.plan().legs.len()
        };
        self.leg = leg.clamp(1, last.max(1));
        self.at = self
            .chosen()
            .map_or(self.strip().length(), |leg| leg.from_km);
        self.scroll[Panel::Leg as usize] = 0;
        self.cell.is_on_new = false;
        self.follow();
    }

    /// Puts the cursor to a kilometre and chooses the leg there.
    pub(in crate::tui) fn go_to(&mut self, km: Kilometres) {
        let km = km.max(Kilometres::ZERO).min(self.strip().length());
        self.choose(self.strip().leg_at(km));
        self.at = km;
        self.follow();
    }

    /// Goes to a place, with the leg chosen that leads there: it has the name and the fuel stop of the place.
    pub(in crate::tui) fn go_to_place(&mut self, place_number: usize) {
        let at = self.strip().place(place_number).at;
        self.choose(place_number);
        self.at = at;
        self.follow();
    }

    /// Shows `span` kilometres, the cursor staying where it is on the screen as far as can be.
    pub(in crate::tui) fn zoom_to(&mut self, span: Kilometres) {
        let before = (self.at - self.look.left) / self.look.span;
        self.look.span = span.max(CLOSEST).min(self.strip().length().max(CLOSEST));
        self.look.left = self.at - self.look.span * before;
        self.follow();
    }

    /// Shows the chosen leg and nothing else.
    pub(in crate::tui) fn zoom_to_leg(&mut self) {
        if let Some((from, length)) = self.chosen().map(|leg| (leg.from_km, leg.distance)) {
            self.look.span = length.max(CLOSEST).min(self.strip().length().max(CLOSEST));
            self.look.left = from;
            self.keep_inside();
        }
    }

    /// Scrolls the strip so that the cursor is on it.
    pub(super) fn follow(&mut self) {
        let margin = self.look.span * MARGIN;
        let leftmost = self.at + margin - self.look.span;
        let rightmost = self.at - margin;
        self.look.left = self.look.left.max(leftmost).min(rightmost);
        self.keep_inside();
    }

    /// Shows nothing before the start or past the end.
    fn keep_inside(&mut self) {
        let last = (self.strip().length() - self.look.span).max(Kilometres::ZERO);
        self.look.left = self.look.left.min(last).max(Kilometres::ZERO);
    }
}
