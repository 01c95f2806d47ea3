//! Labels that depend on columns and do not run into one another.
//!
//! Each label has a column that it points at, and is to the right of it, else to the left, in
//! the first row that is free there. All are placed in their shortest wording first, the more
//! important ones before the others; then each, in the same order, gets the longest wording that
//! there is still room for. Labels that have a least wording get it before any other label is
//! placed. A label that has one wording only may be cut. A label without room is left out; the row
//! of the ground or of the fuel still shows what it is about.

use super::text::{columns, cut};

/// A cut label keeps at least this many columns.
const LEAST: u16 = 5;

/// A label that wants to be placed.
#[derive(Clone, Debug)]
pub(crate) struct Label<T> {
    /// The column that it points at.
    pub(crate) column: u16,
    /// Who chooses first: 0.
    pub(crate) rank: u8,
    /// The shape at the column.
    pub(crate) shape: &'static str,
    /// The wordings, the longest first, each without the shape; an only one may be cut.
    pub(crate) wordings: Vec<String>,
    /// The one for which less important labels are left out; `None`: the shortest.
    pub(crate) least: Option<usize>,
    /// What it belongs to.
    pub(crate) of: T,
}

/// A label with its place.
#[derive(Clone, Debug)]
pub(crate) struct Placed<T> {
    /// Row, from 0.
    pub(crate) row: usize,
    /// First column, from 0.
    pub(crate) column: u16,
    /// The text with its shape.
    pub(crate) text: String,
    /// Whether the best wording found room.
    pub(crate) in_full: bool,
    /// What it belongs to.
    pub(crate) of: T,
}

/// Places the labels in `rows` rows of `room` columns.
pub(crate) fn place<T>(mut labels: Vec<Label<T>>, rows: usize, room: u16) -> Vec<Placed<T>> {
    labels.sort_by_key(|label| (label.rank, label.column));
    let mut taken = Taken(vec![vec![false; usize::from(room)]; rows]);
    let mut found: Vec<Option<Found>> = labels.iter().map(|_| None).collect();
    for has_least in [true, false] {
        let mut those: Vec<_> = (labels.iter().zip(&mut found))
            .filter(|(label, _)| label.least.is_some() == has_least)
            .collect();
        for (label, found) in &mut those {
            **found = label.wordings.len().checked_sub(1).and_then(|shortest| {
                let room = taken.find(label, shortest);
                room.or_else(|| taken.find_cut(label))
            });
            if let Some(found) = found {
                taken.set(found, true);
            }
        }
        for (label, found) in those {
            if let (Some(least), Some(found)) = (label.least, found) {
                taken.lengthen(label, found, least);
            }
        }
    }
    for (label, found) in labels.iter().zip(&mut found) {
        if let Some(found) = found {
            taken.lengthen(label, found, 0);
        }
    }
    labels
        .into_iter()
        .zip(found)
        .filter_map(|(label, found)| {
            let found = found?;
            Some(Placed {
                row: found.row,
                column: found.column,
                text: found.text,
                in_full: found.wording == 0,
                of: label.of,
            })
        })
        .collect()
}

/// Where a label found room.
struct Found {
    row: usize,
    column: u16,
    text: String,
    wording: usize,
}

/// Which columns of which row are taken. The blank column at either side of a label is not, but
/// nothing is placed into it.
struct Taken(Vec<Vec<bool>>);

impl Taken {
    fn set(&mut self, found: &Found, taken: bool) {
        let from = usize::from(found.column);
        let to = from + usize::from(columns(&found.text));
        self.0[found.row][from..to].fill(taken);
    }

    /// Gives a label the longest wording that finds room, of those from `longest` on.
    fn lengthen<T>(&mut self, label: &Label<T>, found: &mut Found, longest: usize) {
        self.set(found, false);
        if let Some(longer) = (longest..found.wording).find_map(|nth| self.find(label, nth)) {
            *found = longer;
        }
        self.set(found, true);
    }

    /// Whether columns `from..to` and one on either side are free.
    fn is_free(row: &[bool], from: usize, to: usize) -> bool {
        let around = from.saturating_sub(1)..(to + 1).min(row.len());
        to <= row.len() && row[around].iter().all(|taken| !taken)
    }

    /// Room for a wording in full.
    fn find<T>(&self, label: &Label<T>, wording: usize) -> Option<Found> {
        let words = label.wordings.get(wording)?;
        let at = usize::from(label.column);
        let right = format!("{}{words}", label.shape);
        let width = usize::from(columns(&right));
        self.0.iter().enumerate().find_map(|(nth, row)| {
            let found = |from: usize, text: String| {
                Some(Found {
                    row: nth,
                    column: u16::try_from(from).ok()?,
                    text,
                    wording,
                })
            };
            if Self::is_free(row, at, at + width) {
                return found(at, right.clone());
            }
            let from = (at + 1).checked_sub(width)?;
            if Self::is_free(row, from, at + 1) {
                let words = words.trim_start();
                let gap = " ".repeat(width - usize::from(columns(words) + columns(label.shape)));
                return found(from, format!("{gap}{words}{}", label.shape));
            }
            None
        })
    }

    /// Room for a part of a label's only wording.
    fn find_cut<T>(&self, label: &Label<T>) -> Option<Found> {
        let [words] = &label.wordings[..] else {
            return None;
        };
        let at = usize::from(label.column);
        self.0.iter().enumerate().find_map(|(nth, row)| {
            if !Self::is_free(row, at, at + 1) {
                return None;
            }
            let free = row[at..].iter().take_while(|taken| !**taken).count();
            // The column before the next label stays free.
            let blank = usize::from(at + free < row.len());
            let room = u16::try_from(free - blank)
                .ok()
                .filter(|&room| room >= LEAST)?;
            let text = cut(&format!("{}{words}", label.shape), room).into_owned();
            Some(Found {
                row: nth,
                column: label.column,
                text,
                wording: 1,
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn label(column: u16, rank: u8, text: &str) -> Label<()> {
        Label {
            column,
            rank,
            shape: "◆",
            wordings: vec![text.to_owned()],
            least: None,
            of: (),
        }
    }

    #[test]
    fn the_important_one_chooses_first_and_the_last_column_is_known_from_the_left() {
        let placed = place(
            vec![
                label(0, 1, "Cold Spring"),
                label(4, 0, "Two Cairns"),
                label(29, 0, "End"),
            ],
            1,
            30,
        );
        let shown: Vec<_> = placed.iter().map(|p| (p.column, p.text.as_str())).collect();
        assert_eq!(shown, [(4, "◆Two Cairns"), (26, "End◆")]);
    }

    #[test]
    fn a_least_wording_leaves_out_what_is_less_important() {
        let mark = |column, rank, least| Label {
            wordings: vec!["227".to_owned(), String::new()],
            least,
            ..label(column, rank, "")
        };
        let shown = |least| -> Vec<String> {
            let labels = vec![mark(0, 1, None), mark(2, 0, least), mark(4, 1, None)];
            let placed = place(labels, 1, 10).into_iter();
            placed.map(|placed| placed.text).collect()
        };
        assert_eq!(shown(None), ["◆", "◆", "◆227"]);
        assert_eq!(shown(Some(0)), ["◆227", "◆"]);
        let both = [mark(4, 0, Some(0)), mark(6, 0, Some(0))];
        let placed = place(both.into(), 1, 10).into_iter();
        let shown: Vec<String> = placed.map(|placed| placed.text).collect();
        assert_eq!(shown, ["227◆", "◆227"], "none of these leaves out another");
    }

    #[test]
    fn a_long_wording_pushes_no_other_label_out() {
        let mark = |column, rank, long: &str| Label {
            wordings: vec![long.to_owned(), "P".to_owned()],
            ..label(column, rank, "")
        };
        let placed = place(
            vec![mark(0, 0, " turn back before"), mark(8, 1, " decant")],
            1,
            20,
        );
        let shown: Vec<_> = placed
            .iter()
            .map(|p| (p.column, p.text.as_str(), p.in_full))
            .collect();
        assert_eq!(shown, [(0, "◆P", false), (8, "◆ decant", true)]);
    }

    proptest! {
        #[test]
        fn labels_never_overlap_nor_leave_their_rows(
            wanted in prop::collection::vec((0_u16..60, 0_u8..3, "\\PC{0,12}"), 0..30),
            rows in 1_usize..3,
        ) {
            let labels = wanted.iter().map(|(column, rank, text)| label(*column, *rank, text)).collect();
            let mut used = vec![vec![0; 60]; rows];
            for placed in place(labels, rows, 60) {
                for column in placed.column..placed.column + columns(&placed.text) {
                    used[placed.row][usize::from(column)] += 1;
                }
            }
            prop_assert!(used.iter().flatten().all(|&times| times <= 1));
        }
    }
}
