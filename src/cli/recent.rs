//! The list of recent trips: a line a trip with its path, when it was last open, and its verdict then.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;
use std::time::{Duration, SystemTime};

use crate::io::disk::Disk;
use crate::io::folders;
use crate::io::json;
use crate::io::save::{self, Existing};
use crate::model::Trip;
use crate::quantity::Kilometres;
use crate::tui::outside::Recent;

/// Trips that are listed.
const MOST: usize = 12;
/// A larger file is listed by its name alone.
const LARGEST: u64 = 2_000_000;
/// Between two fields of a line; a path that holds one is not listed.
const TAB: char = '\t';
const SECONDS_A_DAY: u64 = 24 * 3600;

/// A line of the list.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct RecentEntry {
    path: String,
    /// Seconds since 1970; `None` if the line has none.
    opened: Option<u64>,
    /// Empty if there was none.
    verdict: String,
}

impl RecentEntry {
    fn parse(line: &str) -> Self {
        let mut fields = line.splitn(3, TAB);
        let mut field = || fields.next().unwrap_or_default().to_owned();
        Self {
            path: field(),
            opened: field().parse().ok(),
            verdict: field(),
        }
    }

    fn line(&self) -> String {
        let opened = self.opened.map_or_else(String::new, |at| at.to_string());
        format!("{}{TAB}{opened}{TAB}{}\n", self.path, self.verdict)
    }
}

fn now() -> u64 {
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
    since.map_or(0, |since| since.as_secs())
}

/// The trips of the list, the last one first.
pub(super) fn trips(state: &Path) -> Vec<Recent> {
    let text = folders::read(&state.join("recent")).unwrap_or_default();
    text.lines()
        .take(MOST)
        .map(|line| recent(RecentEntry::parse(line)))
        .collect()
}

/// What the list shows of a trip; of one that cannot be read only its file.
fn recent(entry: RecentEntry) -> Recent {
    let path = Path::new(&entry.path);
    let trip = fs::metadata(path)
        .ok()
        .filter(|about| about.is_file() && about.len() <= LARGEST)
        .and_then(|_| json::parse(&fs::read(path).ok()?).ok());
    let changed = fs::metadata(path).and_then(|about| about.modified()).ok();
    let opened = entry
        .opened
        .map(|at| SystemTime::UNIX_EPOCH + Duration::from_secs(at + 1));
    // A verdict of another trip than the one in the file is none.
    let holds = changed
        .zip(opened)
        .is_some_and(|(changed, opened)| changed <= opened);
    let file = path.file_stem().unwrap_or_default().to_string_lossy();
    Recent {
        name: trip
            .as_ref()
            .and_then(|trip: &Trip| trip.name.clone())
            .unwrap_or_else(|| file.into_owned()),
        distance: trip.as_ref().and_then(distance),
        days: trip
            .as_ref()
            .and_then(|trip| trip.legs.iter().filter_map(|leg| leg.day).max()),
        opened: entry.opened.map_or_else(String::new, ago),
        verdict: if holds { entry.verdict } else { String::new() },
        path: entry.path,
    }
}

/// The distance of the legs; `None` if a track, which is not read here, has that of one.
fn distance(trip: &Trip) -> Option<Kilometres> {
    trip.legs.iter().map(|leg| leg.distance_km).sum()
}

/// `today`, `1 day ago`, `12 days ago`.
fn ago(at: u64) -> String {
    match now().saturating_sub(at) / SECONDS_A_DAY {
        0 => "today".to_owned(),
        1 => "1 day ago".to_owned(),
        days => format!("{days} days ago"),
    }
}

/// Puts a trip that was opened or saved first in the list.
pub(super) fn remember(path: &Path, disk: &dyn Disk) {
    change(path, disk, |entry| entry.opened = Some(now()));
}

/// Notes the verdict with which a trip was left.
pub(super) fn remember_verdict(path: &Path, verdict: &str, disk: &dyn Disk) {
    change(path, disk, |entry| {
        entry.opened = Some(now());
        verdict.clone_into(&mut entry.verdict);
    });
}

/// Changes the entry of a trip, which comes first from then on.
fn change(path: &Path, disk: &dyn Disk, change: impl FnOnce(&mut RecentEntry)) {
    let Some(state) = folders::state() else {
        return;
    };
    let Ok(path) = dunce::canonicalize(path) else {
        return;
    };
    let is_listed = |path: &&str| !path.contains(['\n', TAB]);
    let Some(path) = path.to_str().filter(is_listed) else {
        return;
    };
    let list = state.join("recent");
    let before = match folders::read(&list) {
        Err(error) if error.kind() != ErrorKind::NotFound => return,
        before => before.unwrap_or_default(),
    };
    let entries: Vec<RecentEntry> = before.lines().map(RecentEntry::parse).collect();
    let known = entries.iter().find(|entry| entry.path == path).cloned();
    let mut first = known.unwrap_or_else(|| RecentEntry {
        path: path.to_owned(),
        ..RecentEntry::default()
    });
    change(&mut first);
    let others = entries.into_iter().filter(|entry| entry.path != path);
    let text: String = std::iter::once(first)
        .chain(others)
        .take(MOST)
        .map(|entry| entry.line())
        .collect();
    if text != before && fs::create_dir_all(&state).is_ok() {
        // Nothing is lost but a convenience.
        let _ = save::save(disk, &list, Existing::Replace, |stream| {
            stream.write_all(text.as_bytes())
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A line of an older list has a path alone.
    #[test]
    fn lines_are_read_as_they_are_written() {
        let entry = RecentEntry {
            path: "/a b/trip.json".to_owned(),
            opened: Some(1_700_000_000),
            verdict: "NO-GO".to_owned(),
        };
        assert_eq!(
            RecentEntry::parse(entry.line().trim_end_matches('\n')),
            entry
        );
        let old = RecentEntry::parse("/a b/trip.json");
        assert_eq!((old.path.as_str(), old.opened), ("/a b/trip.json", None));
    }
}
