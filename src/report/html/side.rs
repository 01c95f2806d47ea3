//! The vehicle seen from the side, its front on the left, with the load of each place and axle at the heaviest
//! departure.

use maud::{Markup, html};

use crate::present::load::Places;

/// The drawing with its caption.
pub(super) fn figure(places: &Places) -> Markup {
    let unit = places.unit;
    let says = |name: &str, mass: &str| format!("{name} {mass} {unit}");
    // A name over its mass, in the middle of a box.
    let filled = |x: u32, y: u32, width: u32, height: u32, name: &str, mass: &str| {
        let (middle, line) = (x + width / 2, y + height / 2);
        html! {
            rect.edge.frame x=(x) y=(y) width=(width) height=(height) rx="3" {}
            text text-anchor="middle" x=(middle) y=(line - 3) { (name) }
            text text-anchor="middle" x=(middle) y=(line + 13) { (mass) " " (unit) }
        }
    };
    let axles = places.axles.as_ref();
    let spoken = [
        says("seats", &places.seats),
        says("cabin", &places.cabin),
        says("cargo area", &places.cargo),
        says("tank", &places.tank),
        says("roof", &places.roof),
        says("rear carrier", &places.rear),
    ];
    html! {
        figure {
            div.wide tabindex="0" role="group" aria-label="Places of the vehicle, can be scrolled sideways" {
                svg viewBox="0 0 470 176" width="470" height="176" role="img" aria-label={ "Heaviest departure: " (spoken.join(", ")) } {
                    (filled(70, 2, 240, 36, "roof", &places.roof))
                    (filled(10, 46, 90, 70, "seats", &places.seats))
                    (filled(104, 46, 80, 70, "cabin", &places.cabin))
                    (filled(188, 46, 90, 70, "cargo area", &places.cargo))
                    (filled(282, 46, 70, 70, "tank", &places.tank))
                    (filled(364, 56, 100, 50, "rear carrier", &places.rear))
                    @for (at, mass) in [(60, axles.map(|axles| &axles[0])), (300, axles.map(|axles| &axles[1]))] {
                        circle.edge.frame cx=(at) cy="136" r="16" {}
                        @if let Some(mass) = mass { text text-anchor="middle" x=(at) y="172" { (mass) " " (unit) } }
                    }
                }
            }
            figcaption { "Loads at the heaviest departure, the front on the left" @if axles.is_some() { "; under the wheels the axle loads" } "." }
        }
    }
}
