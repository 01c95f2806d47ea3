//! The fullest can lost, on whichever kilometre that hurts most.

use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::dry::Again;
use crate::solver::run::Span;

use crate::plan::answers::dry::{CanLost, best, way_out};
use crate::plan::kept::what_if_dry::WhatIfDry;

impl WhatIfDry {
    /// The fullest can lost where that hurts most: at the ends of every span in which some are full, since between
    /// them what is aboard and what is needed run alongside.
    pub(super) fn can_lost(&self) -> Option<CanLost> {
        let carried = self
            .spans
            .iter()
            .filter(|span| span.fullest_can > Litres::ZERO);
        let ends = carried.flat_map(|span| {
            [
                (span, span.from, span.tank_from),
                (span, span.to, span.tank_to),
            ]
        });
        let lost = ends.map(|(span, at_km, tank)| self.lost_at(span, at_km, tank));
        let worst = lost.min_by(|a, b| {
            let (a, b) = (best(a.go_on, a.turn_back), best(b.go_on, b.turn_back));
            a.get().total_cmp(&b.get())
        })?;
        Some(CanLost {
            spare: self.spare_with_loss(),
            ..worst
        })
    }

    /// The spare litres with which the trip goes through whenever the fullest can is lost.
    ///
    /// A litre that will be lost has to be carried until then, so between two pumps the last moment at which a can of
    /// some size is the fullest asks for most.
    fn spare_with_loss(&self) -> Litres {
        let need = self.plain.need();
        let mut spare = need.spare;
        let (mut fullest_later, mut leg_later) = (Litres::ZERO, need.at_pump.len());
        for span in self.spans.iter().rev() {
            let pump_between = (span.leg + 1..=leg_later)
                .any(|node| need.at_pump.get(node).is_some_and(Option::is_some));
            if pump_between {
                fullest_later = Litres::ZERO;
            }
            if span.fullest_can > fullest_later {
                let part = self.part_at(span.leg, span.to);
                let lost = span.fullest_can;
                spare = spare.max(self.plain.spare_with_loss(span.leg, part, lost));
            }
            fullest_later = fullest_later.max(span.fullest_can);
            leg_later = span.leg;
        }
        spare
    }

    /// Part of a leg at a kilometre of the trip.
    fn part_at(&self, leg: usize, at_km: Kilometres) -> Share {
        let (from, to) = (self.km[leg], self.km[leg + 1]);
        Share::new(if to > from {
            (at_km - from) / (to - from)
        } else {
            1.0
        })
    }

    fn lost_at(&self, span: &Span, at_km: Kilometres, tank: Litres) -> CanLost {
        let leg = span.leg;
        let aboard = self.usable(tank, span.cans - span.fullest_can);
        let part = self.part_at(leg, at_km);
        let rest = self.problem().legs[leg].part(Share::new(1.0 - part.get()));
        let needed = |again: &Again| rest.needed_for(again.need().arrival[leg + 1], Share::ZERO);
        let home =
            self.home[leg].and_then(|home| home.over(self.back[leg].map(|back| back.part(part))));
        CanLost {
            litres: span.fullest_can,
            at_km,
            leg: leg + 1,
            spare: Litres::ZERO,
            go_on: way_out(
                self.next_stop(leg + 1, &[]),
                aboard,
                needed(&self.fixed),
                needed(&self.bare),
            ),
            turn_back: home.map(|home| home.way(aboard)),
        }
    }
}
