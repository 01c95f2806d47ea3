//! A trip laid out from nothing, as one types it.

use super::place::{EMPTY, ESC, Place, SAVE};
use super::session::Session;

/// From no trip at all: questions, then five more legs, saved and read again.
#[test]
fn a_trip_of_six_legs_is_laid_out_from_nothing() {
    let place = Place::new();
    let mut session = place.start(&[]);
    session.wait_for_frame("a new trip in a few questions");
    let mut keystrokes = 0;
    let mut send = |session: &mut Session, keys: &str, wait: &str| {
        keystrokes += if keys.starts_with('\u{1b}') {
            1
        } else {
            keys.chars().count()
        };
        session.send(keys);
        session.wait_for_frame(wait);
    };
    send(&mut session, "\r", "1 of 13");
    let answers = [
        "Loop", "p", "1.3", "8,5", "40", "1050", "", "Camp", "y", "Ford", "120", "g", "",
    ];
    for (number, answer) in answers.iter().enumerate() {
        let wait = if number + 2 <= answers.len() {
            format!("{} of 13", number + 2)
        } else {
            "leg 1 of 1".to_owned()
        };
        send(&mut session, &format!("{answer}\r"), &wait);
    }
    send(&mut session, "e", "row 1 of");
    for (number, (name, km)) in [
        ("Gap", "80"),
        ("Well", "64"),
        ("Dune", "55,5"),
        ("Pan", "90"),
        ("Camp", "140"),
    ]
    .into_iter()
    .enumerate()
    {
        let legs = number + 2;
        send(&mut session, "i", &format!("leg {legs} of {legs}"));
        // The first letter takes the place of the name that was guessed, and after the name comes the length.
        send(&mut session, &format!("{name}\r"), "row 5 of");
        send(&mut session, &format!("{km}\r"), "row 6 of");
    }
    send(&mut session, SAVE, "save as");
    session.wait_for_frame("loop.json");
    // In the folder of the test, not where the program was started.
    session.send(EMPTY);
    let path = place.path("loop.json");
    session.send(path.to_str().unwrap());
    send(&mut session, "\r", "saved in");
    let trip = place.trip("loop.json");
    let legs: Vec<(&str, f64)> = trip
        .legs
        .iter()
        .map(|leg| (leg.to.as_str(), leg.distance_km.unwrap().get()))
        .collect();
    assert_eq!(
        legs,
        [
            ("Ford", 120.0),
            ("Gap", 80.0),
            ("Well", 64.0),
            ("Dune", 55.5),
            ("Pan", 90.0),
            ("Camp", 140.0)
        ]
    );
    println!("a trip of six legs: {keystrokes} keystrokes");
    // Names and numbers are half of it.
    assert!(keystrokes <= 95, "{keystrokes}");
    session.send(ESC);
    session.wait_for_frame("e edit");
    session.send("q");
    assert_eq!(session.ended(), 0);
    // The next time it is offered first.
    let mut session = place.start(&[]);
    session.wait_for_frame("recent   ");
    session.send("\r");
    session.wait_for_frame("leg 1 of 6");
}
