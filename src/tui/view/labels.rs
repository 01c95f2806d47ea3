//! Labels that hang on columns and do not run into one another.
//!
//! Each label has a column that it points at. The more important ones choose first: to the right of
//! their column, else to the left of it, in the first row that is free there; then in a shorter
//! wording, then cut. A label without room is left out, its mark in the row of the ground or of the
//! fuel still being there.

use super::text::{columns, cut};

/// A cut label keeps at least this many columns.
const LEAST: u16 = 5;

/// A label that wants to be placed.
#[derive(Clone, Debug)]
pub struct Label<T> {
    /// The column that it points at.
    pub column: u16,
    /// Who chooses first: 0.
    pub rank: u8,
    /// The shape at the column.
    pub shape: &'static str,
    /// The wordings, the best first, each without the shape.
    pub wordings: Vec<String>,
    /// Whether the last wording may be cut.
    pub may_cut: bool,
    /// What it belongs to.
    pub of: T,
}

/// A label with its place.
#[derive(Clone, Debug)]
pub struct Placed<T> {
    /// Row, from 0.
    pub row: usize,
    /// First column.
    pub column: u16,
    /// The text with its shape.
    pub text: String,
    /// Whether the best wording found room.
    pub in_full: bool,
    /// What it belongs to.
    pub of: T,
}

/// Places the labels in `rows` rows of `room` columns.
pub fn place<T>(mut labels: Vec<Label<T>>, rows: usize, room: u16) -> Vec<Placed<T>> {
    labels.sort_by_key(|label| (label.rank, label.column));
    let mut taken = vec![vec![false; usize::from(room)]; rows];
    labels
        .into_iter()
        .filter_map(|label| {
            let (row, column, text, in_full) = find(&label, &taken)?;
            // One blank column on either side stays free.
            let from = usize::from(column.saturating_sub(1));
            let to = usize::from((column + columns(&text) + 1).min(room));
            taken[row][from..to].fill(true);
            Some(Placed {
                row,
                column,
                text,
                in_full,
                of: label.of,
            })
        })
        .collect()
}

fn find<T>(label: &Label<T>, taken: &[Vec<bool>]) -> Option<(usize, u16, String, bool)> {
    let at = usize::from(label.column);
    let is_free = |row: &[bool], from: usize, to: usize| {
        to <= row.len() && row[from..to].iter().all(|taken| !taken)
    };
    for (nth, wording) in label.wordings.iter().enumerate() {
        let right = format!("{}{wording}", label.shape);
        let left = format!("{wording}{}", label.shape);
        let width = usize::from(columns(&right));
        for (index, row) in taken.iter().enumerate() {
            if is_free(row, at, at + width) {
                return Some((index, label.column, right, nth == 0));
            }
            if let Some(from) = (at + 1)
                .checked_sub(width)
                .filter(|&from| is_free(row, from, at + 1))
            {
                return Some((index, u16::try_from(from).ok()?, left, nth == 0));
            }
        }
    }
    let wording = label.wordings.last().filter(|_| label.may_cut)?;
    taken.iter().enumerate().find_map(|(index, row)| {
        let free = row.get(at..)?.iter().take_while(|taken| !**taken).count();
        // The column before the next label stays free.
        let free = u16::try_from(free).ok()?;
        let text = cut(&format!("{}{wording}", label.shape), free).into_owned();
        (free >= LEAST).then_some((index, label.column, text, false))
    })
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
            may_cut: true,
            of: (),
        }
    }

    #[test]
    fn the_important_one_chooses_first_and_the_last_column_is_told_from_the_left() {
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
