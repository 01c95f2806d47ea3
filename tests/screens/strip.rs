//! The strip: what is visible is a slice of the whole, and the cursor stays in sight.

use drystage::model::vocabulary::UnitSystem;
use drystage::plan::{Effort, Plan};
use drystage::present::number::Units;
use drystage::quantity::{Kilometres, Litres, Share};
use drystage::tui::message::Message;
use drystage::tui::state::{Panel, State};
use drystage::tui::update::update;
use ratatui::buffer::Buffer;

use super::{Look, PLAIN, after, drawn, short_trip, state, text, trip};

/// A scrolled strip shows what the whole strip shows there, and its labels do not move.
#[test]
fn what_is_visible_is_a_slice_of_the_whole() {
    const PARTS: u16 = 4;
    const LABELS: u16 = 8;
    const COLUMNS: u16 = 72;
    for trip in [trip(), short_trip()] {
        let whole = state(trip.clone());
        // The same rows of the strip at both widths.
        let full = drawn(&whole, PLAIN, LABELS + PARTS * COLUMNS, 40);
        let mut part = after(state(trip), &[Message::ZoomIn, Message::ZoomIn]);
        let per_column = whole.strip().length() / f64::from(PARTS * COLUMNS);
        let labels = |buf: &Buffer| -> Vec<String> {
            (0..20)
                .map(|y| (0..LABELS).map(|x| buf[(x, y)].symbol()).collect())
                .collect()
        };
        for _ in 0..8 {
            let shown = drawn(&part, PLAIN, LABELS + COLUMNS, 40);
            assert_eq!(labels(&shown)[3..], labels(&full)[3..]);
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a column"
            )]
            let first = (part.look().left / per_column + 1e-9).floor() as u16;
            let cursors = [&part, &whole].map(|state| state.at() / per_column);
            for y in (6..18).filter(|y| !labels(&shown)[usize::from(*y)].contains("marks")) {
                for x in 0..COLUMNS {
                    let column = f64::from(first + x);
                    let under_cursor = cursors.iter().any(|at| (at - column).abs() < 1.5);
                    let (a, b) = (&shown[(LABELS + x, y)], &full[(LABELS + first + x, y)]);
                    assert!(
                        under_cursor || a.symbol() == b.symbol(),
                        "{x} {y} from {first}\n{}\n{}",
                        text(&shown),
                        text(&full)
                    );
                }
            }
            update(&mut part, Message::PageOn);
        }
    }
}

#[test]
fn the_cursor_goes_leg_by_leg_and_stays_in_sight() {
    let mut state = after(
        state(trip()),
        &[Message::ZoomIn, Message::ZoomIn, Message::ZoomIn],
    );
    for leg in 1..=6 {
        assert_eq!(state.leg(), leg);
        let look = state.look();
        assert!(look.left <= state.at() && state.at() <= look.left + look.span);
        update(&mut state, Message::NextLeg);
    }
    assert_eq!(state.leg(), 6);
    update(&mut state, Message::TripEnd);
    assert_eq!(state.at(), state.strip().length());
    update(&mut state, Message::PreviousLeg);
    assert_eq!(state.leg(), 6, "to the start of the leg first");
    update(&mut state, Message::PreviousLeg);
    assert_eq!(state.leg(), 5);
    update(&mut state, Message::TripStart);
    assert_eq!((state.leg(), state.at()), (1, Kilometres::ZERO));
}

/// A tank that runs dry is marked to its end, also where the lower edge of the samples lies in the same row.
#[test]
fn what_runs_dry_is_marked_beneath_the_samples_too() {
    let mut dry = short_trip();
    dry.legs[3].fuel = None;
    dry.rules.get_or_insert_default().start_l = Some(Litres::new(20.0));
    dry.start.fuel = None;
    let plan = Plan::at_target(dry, Effort::FIRST);
    let state = State::new(plan, Units(UnitSystem::Metric));
    let buf = drawn(&state, PLAIN, 80, 24);
    let shown = text(&buf);
    assert!(state.strip().band(state.strip().length()).is_some());
    let lowest = shown.lines().rfind(|line| line.contains("╳╳")).unwrap();
    let after: String = lowest.chars().skip_while(|c| *c != '╳').collect();
    assert!(after.contains('!') && !after.contains('▓'), "{shown}");
}

/// Dunes take a third to three times the litres of a sandy track: the two must not look alike.
#[test]
fn dunes_have_a_symbol_of_their_own() {
    let mut trip = trip();
    let leg = &mut trip.legs[0];
    (leg.sand_share, leg.dune_share) = (Some(Share::new(0.3)), Some(Share::new(0.3)));
    (leg.low_range_share, leg.both_share) = (Some(Share::new(0.3)), Some(Share::new(0.3)));
    for (look, kinds) in [
        (
            PLAIN,
            [
                "░ sand",
                "^ dunes",
                "▓ sand in low range",
                "∆ dunes in low range",
            ],
        ),
        (
            Look {
                ascii: true,
                ..PLAIN
            },
            [
                ": sand",
                "^ dunes",
                "& sand in low range",
                "A dunes in low range",
            ],
        ),
    ] {
        let shown = after(state(trip.clone()), &[Message::Focus(Panel::Leg)]);
        let picture = text(&drawn(&shown, look, 200, 60));
        let ground = picture.lines().find(|line| {
            kinds
                .iter()
                .all(|kind| line.contains(&kind[..kind.find(' ').unwrap()]))
        });
        assert!(ground.is_some(), "{picture}");
        for kind in kinds {
            assert!(picture.contains(kind), "no {kind:?} in\n{picture}");
        }
        assert!(picture.contains("30 % sand, 30 % dunes"), "{picture}");
    }
}
