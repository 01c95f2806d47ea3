//! Stored what-ifs and readings follow what they refer to, when items of a list come, go or change places.
//!
//! A patch counts an item's number at the moment at which its operation is applied, so the patch is
//! walked beside two lists of the same marks: the list as it was, and the list as it is now. An
//! operation that names number 3 means the mark that is there in the first; its new number is
//! where that mark is in the second. Operations of the patch that insert or remove items move
//! the marks of both. What was taken away is nowhere: its pointer then ends in `-`, the item after
//! the last (RFC 6901, section 4), where no guard holds, so the what-if is reported as one that no longer
//! fits and never meets another item.

use json_patch::PatchOperation;
use json_patch::jsonptr::{Pointer, PointerBuf};
use serde_json::Value;

use crate::model::log::Reading;
use crate::model::what_if::WhatIf;

/// Where the items of a list went.
#[derive(Clone, Debug)]
pub(super) struct Moved {
    /// Pointer to the list.
    list: String,
    /// How many items it had.
    before: usize,
    /// For each item that it has, the number that it had; `None` for a new one.
    order: Vec<Option<usize>>,
}

impl Moved {
    /// `count` items were put in at `at`.
    pub(super) fn inserted(list: &str, before: usize, at: usize, count: usize) -> Self {
        let new = std::iter::repeat_n(None, count);
        let order = (0..at).map(Some).chain(new).chain((at..before).map(Some));
        Self::new(list, before, order.collect())
    }

    /// `count` items were taken out from `at` on.
    pub(super) fn removed(list: &str, before: usize, at: usize, count: usize) -> Self {
        let order = (0..at).chain(at + count..before).map(Some);
        Self::new(list, before, order.collect())
    }

    /// The items are in another order: the number that each had.
    pub(super) fn reordered(list: &str, order: &[usize]) -> Self {
        let was = order.iter().copied().map(Some).collect();
        Self::new(list, order.len(), was)
    }

    fn new(list: &str, before: usize, order: Vec<Option<usize>>) -> Self {
        Self {
            list: list.to_owned(),
            before,
            order,
        }
    }

    /// Whether these are the items of that list.
    pub(super) fn is_of(&self, list: &str) -> bool {
        self.list == list
    }

    /// The number that each item has now; `None` for one that is gone.
    fn now(&self) -> Vec<Option<usize>> {
        let mut now = vec![None; self.before];
        for (number, was) in self.order.iter().enumerate() {
            if let Some(was) = *was {
                now[was] = Some(number);
            }
        }
        now
    }
}

/// Rewrites the pointers of every what-if. Whether anything was rewritten.
pub(super) fn what_ifs(what_ifs: &mut [WhatIf], moved: &Moved) -> bool {
    let mut any = false;
    for what_if in what_ifs {
        any |= patch(&mut what_if.change, moved);
    }
    any
}

/// Gives every reading its place's new number; the number of a place that is gone, if a reading was taken there.
pub(super) fn readings(log: &mut [Reading], moved: &Moved) -> Result<(), u32> {
    let legs = moved.now();
    for reading in log {
        let Some(leg) = (reading.place_number as usize).checked_sub(1) else {
            continue;
        };
        let now = legs
            .get(leg)
            .copied()
            .flatten()
            .ok_or(reading.place_number)?;
        reading.place_number = u32::try_from(now + 1).map_err(|_| reading.place_number)?;
    }
    Ok(())
}

/// Lets guards on a name know the new one.
pub(super) fn rename(what_ifs: &mut [WhatIf], at: &str, was: &Value, now: &Value) -> bool {
    let mut any = false;
    for operation in what_ifs.iter_mut().flat_map(|what_if| &mut what_if.change) {
        if let PatchOperation::Test(test) = operation
            && test.path.as_str() == at
            && test.value == *was
        {
            test.value = now.clone();
            any = true;
        }
    }
    any
}

/// An item of the list, or one that an operation put in.
type Mark = usize;

/// The list as the patch knew it and as it is now.
struct ListVersions<'a> {
    list: &'a str,
    was: Vec<Mark>,
    is: Vec<Mark>,
    next: Mark,
}

fn patch(operations: &mut [PatchOperation], moved: &Moved) -> bool {
    let inside = format!("{}/", moved.list);
    let speaks_of_it = operations.iter().any(|operation| {
        let from = source(operation).is_some_and(|from| from.as_str().starts_with(&inside));
        from || operation.path().as_str().starts_with(&inside)
    });
    if !speaks_of_it {
        return false;
    }
    let mut next = moved.before;
    let is = moved.order.iter().map(|was| {
        was.unwrap_or_else(|| {
            next += 1;
            next - 1
        })
    });
    let is = is.collect();
    let mut versions = ListVersions {
        list: &moved.list,
        was: (0..moved.before).collect(),
        is,
        next,
    };
    let mut any = false;
    for operation in operations {
        // What replaces the whole list, or what it is in, leaves none of the old numbers.
        let whole = format!("{}/", operation.path());
        if !matches!(operation, PatchOperation::Test(_)) && inside.starts_with(&whole) {
            break;
        }
        any |= versions.follow(operation);
    }
    any
}

fn source(operation: &PatchOperation) -> Option<&Pointer> {
    match operation {
        PatchOperation::Move(step) => Some(&step.from),
        PatchOperation::Copy(step) => Some(&step.from),
        _ => None,
    }
}

impl ListVersions<'_> {
    /// Rewrites one operation, then does to both lists what it does.
    fn follow(&mut self, operation: &mut PatchOperation) -> bool {
        match operation {
            PatchOperation::Test(step) => self.item(&mut step.path).0,
            PatchOperation::Replace(step) => self.item(&mut step.path).0,
            PatchOperation::Remove(step) => {
                let (any, taken) = self.item(&mut step.path);
                self.take(taken);
                any
            }
            PatchOperation::Add(step) => {
                let mark = self.new_mark();
                self.put(&mut step.path, mark)
            }
            PatchOperation::Copy(step) => {
                let (any, _) = self.item(&mut step.from);
                let mark = self.new_mark();
                self.put(&mut step.path, mark) | any
            }
            PatchOperation::Move(step) => {
                let (any, taken) = self.item(&mut step.from);
                self.take(taken);
                let mark = taken.unwrap_or_else(|| self.new_mark());
                self.put(&mut step.path, mark) | any
            }
        }
    }

    fn new_mark(&mut self) -> Mark {
        self.next += 1;
        self.next - 1
    }

    /// The number in a pointer into the list, and what follows it.
    fn number<'p>(&self, path: &'p Pointer) -> Option<(usize, &'p str)> {
        let rest = path.as_str().strip_prefix(self.list)?.strip_prefix('/')?;
        let (step, behind) = match rest.find('/') {
            Some(at) => rest.split_at(at),
            None => (rest, ""),
        };
        let canonical = step == "0" || !step.starts_with(['0', '+']);
        let number = step.parse().ok().filter(|_| canonical)?;
        Some((number, behind))
    }

    /// Rewrites a pointer to an item or into one. Whether it changed, and the item if the pointer is to all of it.
    fn item(&self, path: &mut PointerBuf) -> (bool, Option<Mark>) {
        let Some((number, behind)) = self.number(path) else {
            return (false, None);
        };
        let Some(&mark) = self.was.get(number) else {
            return (false, None);
        };
        let whole = behind.is_empty().then_some(mark);
        let now = self.is.iter().position(|&other| other == mark);
        let behind = behind.to_owned();
        let step = now.map_or("-".to_owned(), |now| now.to_string());
        (self.rewrite(path, &step, &behind), whole)
    }

    /// Rewrites the pointer of something that is put in, and puts it into both lists if it becomes an item.
    fn put(&mut self, path: &mut PointerBuf, mark: Mark) -> bool {
        if path.as_str() == format!("{}/-", self.list) {
            self.was.push(mark);
            self.is.push(mark);
            return false;
        }
        match self.number(path) {
            Some((number, "")) if number <= self.was.len() => {
                // Before the next item that is still there.
                let standing = |mark: &Mark| self.is.iter().position(|other| other == mark);
                let now = self.was[number..].iter().find_map(standing);
                let now = now.unwrap_or(self.is.len());
                self.was.insert(number, mark);
                self.is.insert(now, mark);
                self.rewrite(path, &now.to_string(), "")
            }
            _ => self.item(path).0,
        }
    }

    fn take(&mut self, mark: Option<Mark>) {
        if let Some(mark) = mark {
            self.was.retain(|&other| other != mark);
            self.is.retain(|&other| other != mark);
        }
    }

    fn rewrite(&self, path: &mut PointerBuf, step: &str, behind: &str) -> bool {
        let new = format!("{}/{step}{behind}", self.list);
        if path.as_str() == new {
            return false;
        }
        // What was a pointer is one with another number in it.
        if let Ok(new) = PointerBuf::parse(new) {
            *path = new;
        }
        true
    }
}
