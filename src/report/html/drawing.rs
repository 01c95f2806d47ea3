//! What every drawing needs: coordinates as text, paths, and labels that do not run into one another.

use std::fmt::Write as _;

use crate::present::name::width;

/// Pixels of a letter of the drawings' text, on average and a little over.
const LETTER: f64 = 6.2;
/// Pixels that stay free between two labels of a row.
const GAP: f64 = 6.0;

/// A coordinate with at most one decimal; a tenth of a pixel shows nowhere.
pub(super) fn px(value: f64) -> String {
    // `+ 0.0` makes a negative zero positive.
    let tenths = (value * 10.0).round() / 10.0 + 0.0;
    format!("{tenths}")
}

/// Pixels that a text takes up.
pub(super) fn text_width(text: &str) -> f64 {
    width(text) as f64 * LETTER
}

/// The text cut to so many pixels, with `…` where something is missing; `None` if no four letters fit.
pub(super) fn cut_to(text: &str, room: f64) -> Option<String> {
    if text_width(text) <= room {
        return Some(text.to_owned());
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a number of letters, clamped"
    )]
    let columns = (room / LETTER).clamp(0.0, 1000.0) as usize;
    (columns >= 5).then(|| crate::present::name::cut(text, columns).replace('~', "\u{2026}"))
}

/// The `d` of an SVG path.
#[derive(Default)]
pub(super) struct Path(String);

impl Path {
    /// Starts a new line.
    pub(super) fn start(&mut self, x: f64, y: f64) {
        let _ = write!(self.0, "M{} {}", px(x), px(y));
    }

    /// Draws to a point.
    pub(super) fn to(&mut self, x: f64, y: f64) {
        let _ = write!(self.0, "L{} {}", px(x), px(y));
    }

    /// A line through some points.
    pub(super) fn line(points: impl IntoIterator<Item = (f64, f64)>) -> Self {
        let mut path = Self::default();
        for (x, y) in points {
            if path.is_empty() {
                path.start(x, y);
            } else {
                path.to(x, y);
            }
        }
        path
    }

    /// A closed area through some points.
    pub(super) fn area(&mut self, points: &[(f64, f64)]) {
        self.0 += &Self::line(points.iter().copied()).0;
        self.0.push('Z');
    }

    /// Whether nothing was drawn.
    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The text of the attribute.
    pub(super) fn d(&self) -> &str {
        &self.0
    }
}

/// Rows in which labels stand.
pub(super) struct Rows {
    taken: Vec<Vec<(f64, f64)>>,
    left: f64,
    right: f64,
}

/// Where a label found room.
pub(super) struct Placed {
    pub(super) row: usize,
    /// Left end of the text.
    pub(super) x: f64,
    pub(super) text: String,
}

impl Rows {
    /// So many empty rows between two pixels.
    pub(super) fn new(rows: usize, left: f64, right: f64) -> Self {
        Self {
            taken: vec![Vec::new(); rows],
            left,
            right,
        }
    }

    /// Finds room for a text that belongs to the point `x`: beginning at it, else ending at it, in the first row that
    /// has it; else cut to what the widest row has beside it. Nothing where there is no room at all.
    pub(super) fn place(&mut self, x: f64, text: &str) -> Option<Placed> {
        let wide = text_width(text);
        for (row, taken) in self.taken.iter_mut().enumerate() {
            for from in [x, x - wide] {
                let fits = from >= self.left - 0.5 && from + wide <= self.right + 0.5;
                if fits && is_free(taken, from, from + wide) {
                    taken.push((from, from + wide));
                    return Some(Placed {
                        row,
                        x: from,
                        text: text.to_owned(),
                    });
                }
            }
        }
        let (row, room) = self
            .taken
            .iter()
            .enumerate()
            .map(|(row, taken)| (row, self.room_from(taken, x)))
            .max_by(|(_, a), (_, b)| a.total_cmp(b))?;
        let text = cut_to(text, room)?;
        self.taken[row].push((x, x + text_width(&text)));
        Some(Placed { row, x, text })
    }

    /// Room for something of a known width without words, beginning at `x` in the first row that has it.
    pub(super) fn place_exactly(&mut self, x: f64, wide: f64) -> Option<Placed> {
        let row = self
            .taken
            .iter()
            .position(|taken| is_free(taken, x, x + wide))?;
        self.taken[row].push((x, x + wide));
        Some(Placed {
            row,
            x,
            text: String::new(),
        })
    }

    /// Pixels to the right of a point up to the next label.
    fn room_from(&self, taken: &[(f64, f64)], x: f64) -> f64 {
        if !is_free(taken, x, x) {
            return 0.0;
        }
        let next = taken
            .iter()
            .map(|&(from, _)| from - GAP)
            .filter(|&from| from >= x)
            .fold(self.right, f64::min);
        next - x
    }
}

fn is_free(taken: &[(f64, f64)], from: f64, to: f64) -> bool {
    taken
        .iter()
        .all(|&(left, right)| to + GAP <= left || right + GAP <= from)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_short_and_never_a_negative_zero() {
        assert_eq!(px(12.345), "12.3");
        assert_eq!(px(-0.01), "0");
        assert_eq!(px(7.0), "7");
    }

    #[test]
    fn labels_do_not_run_into_one_another() {
        let mut rows = Rows::new(2, 0.0, 100.0);
        let first = rows.place(0.0, "Harrow").unwrap();
        assert_eq!((first.row, first.text.as_str()), (0, "Harrow"));
        let second = rows.place(10.0, "Cairns").unwrap();
        assert_eq!(second.row, 1);
        // At the right end a text ends where its point is.
        let third = rows.place(99.0, "Gate").unwrap();
        assert!(third.x + text_width("Gate") <= 99.5);
        // What does not fit is cut, and left out where nothing fits.
        let cut = rows.place(48.0, "Long Name").map(|placed| placed.text);
        assert_eq!(cut, None);
        assert_eq!(
            cut_to("Broken Stair", 50.0).as_deref(),
            Some("Broken \u{2026}")
        );
    }
}
