//! What every drawing needs: coordinates as text, paths, and labels that neither run into one another nor are crossed.

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

/// A coordinate in tenths of a pixel.
#[expect(
    clippy::cast_possible_truncation,
    reason = "what is far outside the drawing may end at the largest number"
)]
fn tenths(value: f64) -> i64 {
    (value * 10.0).round() as i64
}

/// Tenths as a number of a path, `-.5`, which needs no zero before its point.
fn short(tenths: i64) -> String {
    let number = format!("{}", tenths as f64 / 10.0);
    match number.strip_prefix("0.") {
        Some(decimals) => format!(".{decimals}"),
        None => number.replacen("-0.", "-.", 1),
    }
}

/// The `d` of an SVG path.
#[derive(Default)]
pub(super) struct Path {
    d: String,
    /// Where the pen is, in tenths.
    at: [i64; 2],
}

impl Path {
    pub(super) const fn new() -> Self {
        Self {
            d: String::new(),
            at: [0, 0],
        }
    }

    /// Starts a new line.
    pub(super) fn start(&mut self, x: f64, y: f64) {
        self.at = [tenths(x), tenths(y)];
        let [x, y] = self.at.map(short);
        let _ = write!(self.d, "M{x} {y}");
    }

    /// Draws to a point. The way there takes fewer digits than the point itself, and straight across or down one number.
    pub(super) fn to(&mut self, x: f64, y: f64) {
        let to = [tenths(x), tenths(y)];
        let [dx, dy] = [0, 1].map(|axis| to[axis].saturating_sub(self.at[axis]));
        let _ = match [dx, dy] {
            [0, dy] => write!(self.d, "v{}", short(dy)),
            [dx, 0] => write!(self.d, "h{}", short(dx)),
            [dx, dy] if dy < 0 => write!(self.d, "l{}{}", short(dx), short(dy)),
            [dx, dy] => write!(self.d, "l{} {}", short(dx), short(dy)),
        };
        self.at = to;
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
        self.d += &Self::line(points.iter().copied()).d;
        self.d.push('z');
    }

    /// Whether nothing was drawn.
    pub(super) fn is_empty(&self) -> bool {
        self.d.is_empty()
    }

    /// The text of the attribute.
    pub(super) fn d(&self) -> &str {
        &self.d
    }
}

/// A point that wants a label.
pub(super) struct Wish {
    pub(super) x: f64,
    pub(super) text: String,
    /// Pixels between the point and its text: room for a sign, or for the line to the point.
    pub(super) gap: f64,
}

/// Where a label found room.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Placed {
    /// 0 is nearest to the points.
    pub(super) row: usize,
    /// Left end of the text.
    pub(super) x: f64,
    pub(super) text: String,
    /// The point.
    at: f64,
    gap: f64,
}

impl Placed {
    /// Both ends of the text.
    pub(super) fn text_ends(&self) -> (f64, f64) {
        (self.x, self.x + text_width(&self.text))
    }

    /// Both ends of text, sign and line.
    fn ends(&self) -> (f64, f64) {
        let (from, to) = self.text_ends();
        (from.min(self.at - self.gap), to.max(self.at + self.gap))
    }

    /// Whether two labels, or the line from one of them to its point and the other, run into each other.
    fn hits(&self, other: &Self) -> bool {
        if self.row == other.row {
            let ((from, to), (left, right)) = (self.ends(), other.ends());
            return from < right + GAP && left < to + GAP;
        }
        let (near, far) = if self.row < other.row {
            (self, other)
        } else {
            (other, self)
        };
        let (from, to) = near.text_ends();
        !near.text.is_empty() && from - 1.0 < far.at && far.at < to + 1.0
    }
}

/// Rows for labels between two pixels.
pub(super) struct Rows {
    pub(super) count: usize,
    pub(super) left: f64,
    pub(super) right: f64,
}

/// Most labels for which room is sought.
const MOST_LABELS: usize = 80;
/// Letters of a name that is cut, with its `…`.
const CUT: f64 = 9.0;

impl Rows {
    /// Room for labels, the most important first. No line from a label to its point crosses another label. A text that
    /// finds no room is cut, then left out: an empty text where at least its sign has room, else `None`.
    pub(super) fn place(&self, wishes: &[Wish]) -> Vec<Option<Placed>> {
        let mut kept: Vec<(usize, String)> = Vec::new();
        for (nth, wish) in wishes.iter().enumerate().take(MOST_LABELS) {
            let cut = cut_to(&wish.text, CUT * LETTER).filter(|cut| *cut != wish.text);
            let texts = [Some(wish.text.clone()), cut, Some(String::new())];
            for text in texts.into_iter().flatten() {
                kept.push((nth, text));
                if self.arranged(wishes, &kept).is_some() {
                    break;
                }
                kept.pop();
            }
        }
        let mut placed: Vec<Option<Placed>> = wishes.iter().map(|_| None).collect();
        let arranged = self.arranged(wishes, &kept).unwrap_or_default();
        for ((nth, _), label) in kept.iter().zip(arranged) {
            placed[*nth] = Some(label);
        }
        placed
    }

    /// All of some labels in their rows; `None` if there is no room. From right to left each label that begins at its
    /// point takes the nearest row, so that the lines of those on its left pass it; then those that end at their point.
    fn arranged(&self, wishes: &[Wish], kept: &[(usize, String)]) -> Option<Vec<Placed>> {
        let begins = |&(nth, ref text): &(usize, String)| {
            let wish = &wishes[nth];
            wish.x + wish.gap + text_width(text) <= self.right + 0.5
        };
        let (mut order, mut ending): (Vec<usize>, Vec<usize>) =
            (0..kept.len()).partition(|&n| begins(&kept[n]));
        let x = |n: &usize| wishes[kept[*n].0].x;
        order.sort_by(|a, b| x(b).total_cmp(&x(a)));
        ending.sort_by(|a, b| x(a).total_cmp(&x(b)));
        let last_beginning = order.len();
        order.extend(ending);
        let mut done: Vec<(usize, Placed)> = Vec::new();
        for (nth, n) in order.into_iter().enumerate() {
            let (wish, text) = (&wishes[kept[n].0], &kept[n].1);
            let x = if nth < last_beginning {
                wish.x + wish.gap
            } else {
                wish.x - wish.gap - text_width(text)
            };
            let mut labels = (0..self.count).map(|row| Placed {
                row,
                x,
                text: text.clone(),
                at: wish.x,
                gap: wish.gap,
            });
            let found = labels.find(|label| {
                let is_free = done.iter().all(|(_, other)| !label.hits(other));
                label.x >= self.left - 0.5 && is_free
            })?;
            done.push((n, found));
        }
        done.sort_by_key(|(n, _)| *n);
        Some(done.into_iter().map(|(_, label)| label).collect())
    }
}

/// A text in a drawing: its left and right end, its upper and lower edge.
pub(super) struct Text {
    pub(super) ends: (f64, f64),
    pub(super) edges: (f64, f64),
}

/// The parts of a vertical line that cross no text.
pub(super) fn broken(x: f64, [top, foot]: [f64; 2], texts: &[Text]) -> Vec<(f64, f64)> {
    let mut crossed: Vec<(f64, f64)> = texts
        .iter()
        .filter(|text| text.ends.0 - 1.0 < x && x < text.ends.1 + 1.0)
        .map(|text| text.edges)
        .collect();
    crossed.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut parts = Vec::new();
    let mut at = top;
    for (above, below) in crossed {
        if above > at {
            parts.push((at, above.min(foot)));
        }
        at = at.max(below);
    }
    if at < foot {
        parts.push((at, foot));
    }
    parts
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

    fn wish(x: f64, text: &str) -> Wish {
        Wish {
            x,
            text: text.to_owned(),
            gap: 3.0,
        }
    }

    /// Four places, nearer than their names are long, the last at the right edge.
    #[test]
    fn no_line_crosses_a_label() {
        let rows = Rows {
            count: 4,
            left: -3.0,
            right: 200.0,
        };
        let wishes = [
            wish(0.0, "Harrow"),
            wish(20.0, "Cairns"),
            wish(60.0, "Gate"),
            wish(199.0, "Finish"),
        ];
        let placed: Vec<Placed> = rows.place(&wishes).into_iter().flatten().collect();
        let rows_of: Vec<usize> = placed.iter().map(|label| label.row).collect();
        assert_eq!(rows_of, [2, 1, 0, 0]);
        assert!(placed[3].text_ends().1 <= 199.0);
        for (n, label) in placed.iter().enumerate() {
            for other in &placed[n + 1..] {
                assert!(!label.hits(other), "{label:?} {other:?}");
            }
        }
    }

    #[test]
    fn without_room_the_less_important_label_is_cut_or_left_out() {
        let rows = Rows {
            count: 1,
            left: 0.0,
            right: 100.0,
        };
        let placed = rows.place(&[wish(5.0, "Broken Stair"), wish(40.0, "Gate")]);
        let texts: Vec<Option<&str>> = placed
            .iter()
            .map(|label| label.as_ref().map(|label| label.text.as_str()))
            .collect();
        assert_eq!(texts, [Some("Broken Stair"), None]);
        let cut = cut_to("Broken Stair", 50.0);
        assert_eq!(cut.as_deref(), Some("Broken …"));
    }

    #[test]
    fn a_line_stops_at_a_text() {
        let text = |ends| Text {
            ends,
            edges: (10.0, 20.0),
        };
        let texts = [text((0.0, 50.0)), text((60.0, 90.0))];
        assert_eq!(
            broken(25.0, [0.0, 40.0], &texts),
            [(0.0, 10.0), (20.0, 40.0)]
        );
        assert_eq!(broken(55.0, [0.0, 40.0], &texts), [(0.0, 40.0)]);
    }
}
