//! What lies behind, in the text report: used against planned, the factors that follow, and whether to turn back now.

use super::page::Page;
use crate::model::fitted::Component;
use crate::plan::Plan;
use crate::plan::way_on::Behind;
use crate::present::fit::component;
use crate::present::name::plain;
use crate::present::number::{Toward, Units};

/// The section; nothing where nothing lies behind.
pub(super) fn section(page: &mut Page, plan: &Plan, units: Units) {
    let Some(behind) = plan.behind.as_deref() else {
        return;
    };
    page.heading("ON THE WAY", "");
    let place = plain(&behind.place);
    page.paragraph(
        "",
        0,
        &format!(
            "At {place}: {} usable aboard, of which {} are counted on (less 1.645 spreads of how it was measured). All below plans from here.",
            units.fuel(behind.aboard, Toward::Down),
            units.fuel(behind.counted, Toward::Down),
        ),
    );
    turn_back(page, behind, units);
    page.paragraph(
        "",
        0,
        "Pumps behind are not in the tables below: for going back later on take the card of the whole trip (--from-start).",
    );
    for way in &behind.ways {
        let [from, to] = way.places.each_ref().map(|place| plain(place));
        let [planned_km, driven_km] = way.distance;
        let over = if way.planned.get() > 0.0 {
            format!(" ({:+.0} %)", (way.used / way.planned - 1.0) * 100.0)
        } else {
            String::new()
        };
        let doubt = if way.counts {
            ""
        } else {
            " These readings contradict one another or the way; nothing is learnt from them: check litres, odometer and what was filled."
        };
        page.paragraph(
            "- ",
            2,
            &format!(
                "{from} to {to}: used {} +- {:.1}, planned {}{over}; driven {}, planned {}.{doubt}",
                units.litres(way.used),
                way.spread.get(),
                units.litres(way.planned),
                units.distance(driven_km, Toward::Nearest),
                units.distance(planned_km, Toward::Nearest),
            ),
        );
    }
    let [before, after] = &behind.factors;
    let moved: Vec<String> = Component::ALL
        .into_iter()
        .filter(|&each| (before.value(each).get() - after.value(each).get()).abs() >= 0.005)
        .map(|each| {
            format!(
                "{} {:.2} +- {:.2} (was {:.2} +- {:.2})",
                component(each),
                after.value(each).get(),
                after.spread(each).get(),
                before.value(each).get(),
                before.spread(each).get()
            )
        })
        .collect();
    if moved.is_empty() {
        page.paragraph(
            "",
            0,
            "The readings are too few or too rough to move a factor of the vehicle by 0.005.",
        );
    } else {
        page.paragraph(
            "",
            0,
            &format!("Factors of the vehicle now: {}.", moved.join(", ")),
        );
    }
}

fn turn_back(page: &mut Page, behind: &Behind, units: Units) {
    let says = match &behind.back {
        Some((refuge, needed)) => {
            let verdict = if behind.counted >= *needed {
                "that can still be done"
            } else if behind.aboard >= *needed {
                "that is no longer sure"
            } else {
                "that can no longer be done with the reserve untouched"
            };
            format!(
                "Turning back from here to {} takes {}: {verdict}.",
                plain(refuge),
                units.fuel(*needed, Toward::Up)
            )
        }
        None => "No sure pump lies behind that could be gone back to from here.".to_owned(),
    };
    page.paragraph("", 0, &says);
}
