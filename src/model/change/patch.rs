//! A JSON Patch on the trip's own parts, where its operations are plain ones.
//!
//! A stored what-if is tried with every plan, so it must not cost the whole document. One that tests,
//! sets or takes away single values is done on the objects that hold them. Whatever else it may hold,
//! or when it fails, nothing comes out, and the whole document is patched by the general way, which also
//! tells what is wrong.

use json_patch::PatchOperation;
use serde_json::Value;

use super::scope::Scope;
use super::value;
use crate::model::Trip;
use crate::model::what_if::equal;

/// The trip with the operations done; nothing where they are not plain, or do not fit, or make no sound trip.
pub(in crate::model) fn patched(trip: &Trip, operations: &[PatchOperation]) -> Option<Trip> {
    let mut changed = trip.clone();
    let mut scope = Scope::default();
    for operation in operations {
        let at = operation.path().as_str();
        let to = match operation {
            PatchOperation::Test(step) => {
                if equal(&value::get(&changed, at)?, &step.value) {
                    continue;
                }
                return None;
            }
            PatchOperation::Replace(step) => {
                value::get(&changed, at)?;
                Some(&step.value)
            }
            PatchOperation::Add(step) => {
                holder(&changed, at)?;
                Some(&step.value)
            }
            PatchOperation::Remove(_) => {
                holder(&changed, at)?;
                value::get(&changed, at)?;
                None
            }
            PatchOperation::Move(_) | PatchOperation::Copy(_) => return None,
        };
        if to.is_some_and(has_null) {
            return None;
        }
        value::set(&mut changed, at, to).ok()?;
        scope.add_value(at, to.is_some(), &changed);
    }
    scope.problems(&changed).is_empty().then_some(changed)
}

/// Something, if what holds the value is an object that is there.
fn holder(trip: &Trip, at: &str) -> Option<()> {
    let (holder, _) = at.rsplit_once('/')?;
    let is_object = holder.is_empty() || value::get(trip, holder)?.is_object();
    is_object.then_some(())
}

/// A null is refused by the format, and means nothing stated where values are set one by one.
fn has_null(value: &Value) -> bool {
    match value {
        Value::Null => true,
        Value::Array(list) => list.iter().any(has_null),
        Value::Object(object) => object.values().any(has_null),
        _ => false,
    }
}
