//! Tracks that follow the legs of a route.
//!
//! A file may hold a route through all places, and tracks of some of its legs: each track then runs from
//! one point of the route to the next. Such a route says how the way goes on where no track does; its
//! legs take what was measured on their tracks.

use crate::io::reading::Line;
use crate::model::geodesic;
use crate::model::route::Position;
use crate::quantity::Metres;

/// For each leg of the route the track that runs from its first point to its second; nothing where any of
/// the tracks follows no leg, or they do so in another order.
pub(super) fn followed<'a>(
    route: &Line,
    tracks: &[&'a Line],
    within: Metres,
) -> Option<Vec<Option<&'a Line>>> {
    let mut legs = vec![None; route.points.len().checked_sub(1)?];
    let mut next = 0;
    for &track in tracks {
        let (begins, ends) = (
            track.points.first()?.position(),
            track.points.last()?.position(),
        );
        let near = |a: Position, b: Position| geodesic::distance(a, b) <= within;
        let leg = (next..legs.len()).find(|&leg| {
            near(route.points[leg].position(), begins)
                && near(route.points[leg + 1].position(), ends)
        })?;
        legs[leg] = Some(track);
        next = leg + 1;
    }
    Some(legs)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::io::reading::LineKind;
    use crate::model::track::Point;
    use crate::quantity::Degrees;

    fn line(kind: LineKind, lats: &[f64]) -> Line {
        let point = |&lat: &f64| Point {
            lat: Degrees::new(lat),
            lon: Degrees::new(-130.0),
            height: None,
        };
        Line {
            kind,
            name: None,
            segment: 1,
            points: lats.iter().map(point).collect(),
            times: Vec::new(),
            words: Vec::new(),
        }
    }

    #[test]
    fn tracks_follow_legs_in_order_or_not_at_all() {
        let route = line(LineKind::Route, &[-48.0, -48.5, -49.0, -48.5]);
        let there = line(LineKind::Track, &[-48.5, -48.7, -49.0]);
        let back = line(LineKind::Track, &[-49.0, -48.5]);
        let which = |tracks: &[&Line]| {
            let legs = followed(&route, tracks, Metres::new(250.0))?;
            Some(legs.iter().map(Option::is_some).collect::<Vec<_>>())
        };
        assert_eq!(which(&[&there]), Some(vec![false, true, false]));
        assert_eq!(which(&[&there, &back]), Some(vec![false, true, true]));
        assert_eq!(which(&[&back, &there]), None);
        let through = line(LineKind::Track, &[-48.0, -48.5, -49.0]);
        assert_eq!(which(&[&through]), None);
    }
}
