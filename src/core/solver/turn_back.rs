//! The last point of a stage from which a place behind can still be reached.
//!
//! All fuel on board counts, the fixed reserve stays untouched, and the way back is the same legs driven the other way.
//! What is on board falls and what the way back needs rises along the stage, so there is one such point, found on its
//! leg between two that close in on it. With equal burn both ways and nothing held back it is at half the usable fuel
//! (the point of no return of aviation, d = E·O·H / (O + H)).

use crate::consumption::usage::Usage;
use crate::quantity::{Hours, Litres, Share};

/// A leg out and back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct OutAndBack {
    pub(crate) out: Usage,
    /// The way back; `None` if the leg cannot be driven the other way.
    pub(crate) back: Option<Usage>,
    /// Usable litres on departure, on the route out.
    pub(crate) start: Litres,
}

/// A point on the route.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Point {
    /// Index of the leg, in the legs that were given.
    pub(crate) leg: usize,
    /// Part of the leg, 0 to 1.
    pub(crate) part: Share,
    /// Usable litres on board there.
    pub(crate) on_board: Litres,
    /// Usable litres needed there to get back with what must be left.
    pub(crate) needed: Litres,
}

impl Point {
    /// Usable litres over what is needed.
    fn over(self) -> Litres {
        self.on_board - self.needed
    }
}

/// The point at which what is over falls to nothing, between one where there is some and one where some is missing.
///
/// It falls nearly evenly, so the chord's zero is all but the answer. Where one end stays, its height is halved, so
/// that the other one comes over to its side too (the Illinois method; Dowell and Jarratt 1971).
fn between(can: Point, cannot: Point, at: impl Fn(Share) -> Point) -> Point {
    /// Far below a drop.
    const NOTHING: Litres = Litres::new(1e-9);
    const STEPS: u32 = 60;
    let mut best = can;
    let (mut low, mut low_over) = (can.part.get(), can.over());
    let (mut high, mut high_over) = (cannot.part.get(), cannot.over());
    let mut last_was_low = None;
    for _ in 0..STEPS {
        if best.over() <= NOTHING || low_over - high_over <= Litres::ZERO {
            break;
        }
        let point = at(Share::new(
            low + (high - low) * (low_over / (low_over - high_over)),
        ));
        let is_low = point.over() >= Litres::ZERO;
        let again = last_was_low == Some(is_low);
        if is_low {
            best = point;
            (low, low_over) = (point.part.get(), point.over());
            if again {
                high_over = high_over / 2.0;
            }
        } else {
            (high, high_over) = (point.part.get(), point.over());
            if again {
                low_over = low_over / 2.0;
            }
        }
        last_was_low = Some(is_low);
    }
    best
}

/// Litres needed to go back over one leg more and arrive with `left`; `None` if it cannot be driven the other way.
pub(crate) fn needed_back(back: Option<Usage>, left: Litres) -> Option<Litres> {
    Some(back?.needed_for(left, Share::ZERO))
}

/// The last point of a stage from which a return is still possible.
///
/// `legs` are those of the stage in driving order; `needed` are the litres with which one must be back at its
/// first place. `None` if not even the first place will do.
pub(crate) fn last_point(
    legs: impl IntoIterator<Item = OutAndBack>,
    needed: Litres,
) -> Option<Point> {
    let mut legs = legs.into_iter().enumerate().peekable();
    let (_, first) = legs.peek()?;
    if first.start < needed {
        return None;
    }
    let mut last = first.at_its_start(needed);
    for (index, leg) in legs {
        let start = Point {
            leg: index,
            ..leg.at_its_start(last.needed)
        };
        let Some(point) = last_on(leg, start) else {
            return Some(last);
        };
        last = point;
        if last.part < Share::new(1.0) {
            break;
        }
    }
    Some(last)
}

/// The last point of a leg from which a return is still possible, its end if it is from there; `None` if it cannot
/// be driven back. `start` is its first point.
pub(crate) fn last_on(leg: OutAndBack, start: Point) -> Option<Point> {
    let back = leg.back?;
    let at = |part: Share| Point {
        part,
        on_board: leg.start - leg.out.part(part).litres(leg.start),
        needed: back.part(part).needed_for(start.needed, Share::ZERO),
        ..start
    };
    let end = at(Share::new(1.0));
    Some(if end.over() < Litres::ZERO {
        between(start, end, at)
    } else {
        end
    })
}

impl OutAndBack {
    /// Its first point, from which `needed` takes one back.
    pub(crate) fn at_its_start(&self, needed: Litres) -> Point {
        Point {
            leg: 0,
            part: Share::ZERO,
            on_board: self.start,
            needed,
        }
    }
}

/// The point from which going on to the end takes as long as going back to the start: the leg and a part of it.
///
/// `legs` are the hours of each out and back. `None` if a leg that cannot be driven the other way is before it.
pub(crate) fn equal_time(legs: &[(Hours, Option<Hours>)]) -> Option<(usize, Share)> {
    let mut ahead: Hours = legs.iter().map(|(out, _)| *out).sum();
    let mut behind = Hours::ZERO;
    for (leg, &(out, back)) in legs.iter().enumerate() {
        let back = back?;
        let there_and_back = out + back;
        if there_and_back > Hours::ZERO {
            let part = (ahead - behind) / there_and_back;
            if part <= 1.0 {
                return Some((leg, Share::new(part.max(0.0))));
            }
        }
        ahead -= out;
        behind += back;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steady(km: f64, out_per_100: f64, back_per_100: f64, start: f64) -> OutAndBack {
        let usage = |rate: f64| {
            let litres = Litres::new(km * rate / 100.0);
            Usage::between(litres, litres, Litres::new(100.0))
        };
        OutAndBack {
            out: usage(out_per_100),
            back: Some(usage(back_per_100)),
            start: Litres::new(start),
        }
    }

    fn distance(legs: &[OutAndBack], km: f64, left: f64) -> f64 {
        let point = last_point(legs.iter().copied(), Litres::new(left)).unwrap();
        (point.leg as f64 + point.part.get()) * km
    }

    /// d = usable / (burn per km out + burn per km home), aviation texts: 40 L, 12 and 14 L/100 km.
    #[test]
    fn point_of_no_return() {
        let legs = [steady(400.0, 12.0, 14.0, 40.0)];
        assert!((distance(&legs, 400.0, 0.0) - 153.846_153_8).abs() < 1e-6);
        assert!((distance(&legs, 400.0, 4.0) - 138.461_538_4).abs() < 1e-6);
    }

    /// d = E·O·H / (O + H) with speeds as burn rates (one unit of fuel an hour). 8 h, 385 out, 465 home gives
    /// 1684.94 (an EASA-style question prints 1685); 10 h at 100 gives 500 in calm air and 375 with 50 of wind
    /// either way (an aviation text).
    #[test]
    fn published_cases() {
        let cases = [
            (8.0, 385.0, 465.0, 1684.94),
            (6.5, 240.0, 210.0, 728.0),
            (10.0, 100.0, 100.0, 500.0),
            (10.0, 50.0, 150.0, 375.0),
            (10.0, 150.0, 50.0, 375.0),
        ];
        for (hours, out, home, expected) in cases {
            let legs = [steady(5000.0, 100.0 / out, 100.0 / home, hours)];
            assert!(
                (distance(&legs, 5000.0, 0.0) - expected).abs() < 5e-3,
                "{expected}"
            );
        }
    }

    #[test]
    fn equal_burn_puts_it_at_half_the_fuel_and_a_reserve_never_moves_it_outward() {
        let legs = [steady(400.0, 12.0, 12.0, 40.0)];
        let point = last_point(legs, Litres::ZERO).unwrap();
        assert!((point.on_board - Litres::new(20.0)).abs() < Litres::new(1e-9));
        let points: Vec<f64> = (0..8)
            .map(|reserve| distance(&legs, 400.0, f64::from(reserve)))
            .collect();
        assert!(points.is_sorted_by(|a, b| a > b));
    }

    #[test]
    fn a_leg_of_no_return_ends_it_at_its_start() {
        let mut legs = [
            steady(50.0, 12.0, 12.0, 40.0),
            steady(50.0, 12.0, 12.0, 34.0),
        ];
        legs[1].back = None;
        let point = last_point(legs, Litres::new(2.0)).unwrap();
        assert_eq!((point.leg, point.part), (0, Share::new(1.0)));
    }

    /// Distance at a steady speed out and another back, in hours.
    fn hours(distance: f64, out: f64, back: f64) -> (Hours, Option<Hours>) {
        (
            Hours::new(distance / out),
            Some(Hours::new(distance / back)),
        )
    }

    /// D·H / (O + H): 2484 with 420 out and 500 home gives 1350 (an EASA-style question); 50 at 100 both ways and 25 at
    /// 150 out and 50 home give 33.33 (an aviation question).
    #[test]
    fn published_points_of_equal_time() {
        let (leg, part) = equal_time(&[hours(2484.0, 420.0, 500.0)]).unwrap();
        assert_eq!(leg, 0);
        assert!((part.get() * 2484.0 - 1350.0).abs() < 1e-9);
        let legs = [hours(50.0, 100.0, 100.0), hours(25.0, 150.0, 50.0)];
        let (leg, part) = equal_time(&legs).unwrap();
        assert_eq!(leg, 0);
        assert!((part.get() * 50.0 - 100.0 / 3.0).abs() < 1e-9);
    }

    #[test]
    fn beyond_a_leg_of_no_return_there_is_none() {
        let (short, long) = (hours(10.0, 50.0, 50.0), hours(100.0, 50.0, 50.0));
        let one_way = (short.0, None);
        assert_eq!(equal_time(&[one_way, long]), None);
        assert_eq!(equal_time(&[long, one_way]).unwrap().0, 0);
        assert_eq!(equal_time(&[]), None);
        assert_eq!(equal_time(&[(Hours::ZERO, Some(Hours::ZERO))]), None);
    }
}
