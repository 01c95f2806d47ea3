//! What the user states: the trip file as types.
//!
//! A [`Trip`] is exactly what was written; nothing computed is kept in it, an optional value that
//! was not stated stays absent, and a default that was stated stays stated. Accessors without a
//! unit in their name (`leg.surface()`) give the stated value or the documented default.
//!
//! Invariants of a trip that came through [`check`]: every number finite and in
//! the range of its field, shares within 0…1, places and days in order, latitudes with longitudes,
//! the unusable remainder smaller than the tank.

/// Types of the trip file: what is not stated is absent, and no other key is known.
macro_rules! stated {
    ($($type:item)+) => {$(
        #[serde_with::skip_serializing_none]
        #[derive(
            Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize, schemars::JsonSchema,
        )]
        #[serde(deny_unknown_fields)]
        #[expect(
            missing_docs,
            reason = "each field is documented once, in model::field"
        )]
        $type
    )+};
}

pub mod calendar;
pub mod calibration;
pub mod change;
pub mod check;
pub mod climb;
pub mod drape;
pub mod field;
pub mod fills;
pub mod geodesic;
pub mod line;
pub mod load;
pub mod log;
pub mod near;
mod part;
pub mod route;
pub mod rules;
pub mod schema;
pub mod slider;
pub mod starter;
pub mod survey;
pub mod track;
pub mod trip;
pub(crate) mod tyre;
pub mod vehicle;
pub mod vocabulary;
pub mod what_if;

pub use trip::Trip;
