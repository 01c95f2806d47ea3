//! A plan as text or page to read, as a table or map file to take along, or as data to work with; words and columns
//! come from `present`.

#[macro_use]
mod object;

pub(crate) mod calibration;
pub mod compare;
pub mod csv;
mod daylight;
pub mod geojson;
pub mod gpx;
mod home;
pub mod html;
pub mod json;
mod ledger;
mod odds;
pub(crate) mod page;
mod payload;
mod places;
pub(crate) mod range;
pub mod text;
pub mod work;

use crate::plan::Plan;

/// A plan, and how its trip was changed from what the file states.
#[derive(Clone, Copy, Debug)]
pub struct Case<'a> {
    /// The plan, with its trip.
    pub plan: &'a Plan,
    /// Names of the what-ifs that were applied, in their order.
    pub what_ifs: &'a [String],
    /// Single values that were set before, as `POINTER=VALUE`, in their order.
    pub set: &'a [String],
}

/// A file for a map.
#[derive(Clone, Debug)]
pub struct Mapped {
    /// The file, GPX or GeoJSON.
    pub text: String,
    /// What has no position, and so is not in it.
    pub unplaced: Vec<String>,
}

impl<'a> Case<'a> {
    /// The plan of a trip as its file states it.
    pub const fn as_stated(plan: &'a Plan) -> Self {
        Self {
            plan,
            what_ifs: &[],
            set: &[],
        }
    }

    /// The plan to show: that of the return where the trip turns back now.
    fn shown(&self) -> &'a Plan {
        self.plan.return_plan().unwrap_or(self.plan)
    }

    /// Every change in words; `None` without any.
    fn changes(&self) -> Option<String> {
        let all: Vec<&str> = self
            .set
            .iter()
            .chain(self.what_ifs)
            .map(String::as_str)
            .collect();
        (!all.is_empty()).then(|| all.join("; "))
    }
}
