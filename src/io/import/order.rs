//! The order in which lines are driven.
//!
//! It is the order of the files and of what stands in them, unless that leaves gaps which the time stamps,
//! or ends that join, do not: files are often named so that a shell sorts the tenth day before the second.
//! A line is never turned round.

use super::notes::{Notes, counted, listed};
use super::trip_line::TripLine;
use crate::io::moment::Moment;
use crate::model::geodesic;
use crate::present::number::{Toward, Units};
use crate::quantity::{Hours, Kilometres, Metres};

/// Nearer to each other than this, ends join.
pub(super) const GAP: Metres = Metres::new(1000.0);
/// More lines than this are not tried in the order of their ends, which takes time by their cube.
const MOST_JOINED: usize = 200;
/// Two lines that were recorded at once for longer than this are perhaps one.
const AT_ONCE: Hours = Hours::new(0.1);

/// Brings lines into the order in which they are driven, and notes if that is another one.
pub(super) fn bring(ways: &mut Vec<TripLine<'_>>, units: Units, notes: &mut Notes) {
    let given: Vec<usize> = (0..ways.len()).collect();
    let by_time = by_time(ways);
    let gaps = |order: &[usize]| gaps(ways, order);
    let in_order = gaps(&given);
    let mut chosen = None;
    if let Some(by_time) = &by_time
        && *by_time != given
        && in_order - gaps(by_time) > GAP
    {
        chosen = Some((by_time.clone(), "by time stamps"));
    } else if in_order > Metres::ZERO
        && by_time.as_ref() != Some(&given)
        && let Some(joined) = by_ends(ways)
    {
        chosen = Some((joined, "by matching ends"));
    }
    let names: Vec<String> = ways.iter().map(TripLine::title).collect();
    let list = |order: &[usize]| listed(&order.iter().map(|&n| &names[n]).collect::<Vec<_>>());
    if let Some((order, why)) = chosen {
        notes.add(format!(
            "The tracks were reordered {why}, which shortens the gaps by {}: {}",
            units.distance(Kilometres::from(in_order - gaps(&order)), Toward::Nearest),
            list(&order)
        ));
        let mut taken: Vec<Option<TripLine>> = std::mem::take(ways).into_iter().map(Some).collect();
        ways.extend(order.iter().filter_map(|&n| taken[n].take()));
    } else if let Some(by_time) = by_time
        && by_time != given
    {
        notes.add(format!(
            "The order of the files was used, although the time stamps have another order: {}",
            list(&by_time)
        ));
    }
    tell_of_copies(ways, notes);
}

/// Way from the end of each line to the beginning of the next, where they do not join.
fn gaps(ways: &[TripLine], order: &[usize]) -> Metres {
    let gap = |pair: &[usize]| gap(&ways[pair[0]], &ways[pair[1]]);
    order.windows(2).map(gap).filter(|gap| *gap >= GAP).sum()
}

fn gap(from: &TripLine, to: &TripLine) -> Metres {
    geodesic::distance(from.end().position(), to.begin().position())
}

/// The order of the first stamps, where every line has one.
fn by_time(ways: &[TripLine]) -> Option<Vec<usize>> {
    let first: Option<Vec<Moment>> = ways
        .iter()
        .map(|way| way.span().map(|(first, _)| first))
        .collect();
    let first = first?;
    let mut order: Vec<usize> = (0..ways.len()).collect();
    order.sort_by_key(|&n| first[n]);
    Some(order)
}

/// An order in which every line begins where the one before ends, if there is one from any beginning by
/// taking the nearest each time.
fn by_ends(ways: &[TripLine]) -> Option<Vec<usize>> {
    if ways.len() > MOST_JOINED {
        return None;
    }
    let gaps: Vec<Vec<Metres>> = ways
        .iter()
        .map(|from| ways.iter().map(|to| gap(from, to)).collect())
        .collect();
    (0..ways.len()).find_map(|first| {
        let mut order = vec![first];
        let mut left: Vec<usize> = (0..ways.len()).filter(|&n| n != first).collect();
        while !left.is_empty() {
            let from = &gaps[order[order.len() - 1]];
            let (at, off) = left
                .iter()
                .map(|&n| from[n])
                .enumerate()
                .min_by(|a, b| a.1.get().total_cmp(&b.1.get()))?;
            if off >= GAP {
                return None;
            }
            order.push(left.remove(at));
        }
        Some(order)
    })
}

/// Lines that were recorded at the same time, or have the same points.
fn tell_of_copies(ways: &[TripLine], notes: &mut Notes) {
    let at_once = |a: &TripLine, b: &TripLine| {
        let ((a_first, a_last), (b_first, b_last)) = a.span().zip(b.span())?;
        Some(a_last.min(b_last).since(a_first.max(b_first)) > AT_ONCE)
    };
    let twice = ways.windows(2).filter(|pair| {
        pair[0].line().points == pair[1].line().points
            || at_once(&pair[0], &pair[1]).unwrap_or(false)
    });
    let names: Vec<String> = twice
        .map(|pair| format!("{} and {}", pair[0].title(), pair[1].title()))
        .collect();
    notes.add_of(&names, |many, names| {
        format!(
            "{}, recorded at the same time or with the same points: {names}. Leave out the copies",
            counted(many, "possible duplicate", "possible duplicates"),
        )
    });
}
