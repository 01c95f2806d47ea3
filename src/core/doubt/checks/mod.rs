//! Fuel checks: with how many litres to continue, and with how many to return, at each place and on the route.
//!
//! `route` calculates what the simulated trips have on board at each check and what is ahead and behind; `conditional`
//! fits what is needed to what was used; `fitted` finds which checks decide and what they require; `obeyed` ends the
//! trips as drivers end them who obey; `in_trouble` finds what happens if fuel is missing; `now` judges a reading under
//! way.

mod conditional;
mod dry;
mod fitted;
mod in_trouble;
mod now;
mod obeyed;
mod route;

pub use fitted::{CheckFigures, CheckKind, FuelChecks, IfDry, Leaving};
pub use in_trouble::{Action, Ends, InTrouble, Trouble};
pub use now::NowFigures;
pub use obeyed::{CheckCard, Obeyed, ObeyedOutcomes};
pub(super) use obeyed::{chances_by_gauge, on_board_at_point};
pub use route::CheckRoute;
