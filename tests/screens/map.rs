//! The map of the leg panel.

use drystage::tui::state::Panel;

use super::{screen, state, trip};

/// Whatever the size: the map, with coordinates and without, draws inside its panel and says what is missing.
#[test]
fn the_map_is_drawn_at_every_size_and_says_what_is_missing() {
    let mut state = state(trip());
    state.focus = Panel::Leg;
    let mut bare = trip();
    (bare.start.lat, bare.start.lon) = (None, None);
    for leg in &mut bare.legs {
        (leg.lat, leg.lon, leg.track) = (None, None, None);
    }
    let mut without = super::state(bare);
    without.focus = Panel::Leg;
    for (width, height) in [
        (40, 10),
        (40, 12),
        (60, 20),
        (80, 24),
        (120, 40),
        (200, 60),
        (300, 80),
    ] {
        screen(&state, width, height);
        screen(&without, width, height);
    }
    assert!(screen(&without, 80, 60).contains("no map"));
    if state.chart().is_some() {
        assert!(screen(&state, 80, 30).contains("north"));
    }
}
