//! A trip laid out from nothing, as one types it.

use super::place::{EMPTY, ESC, Place, SAVE};
use super::session::Session;
use drystage::quantity::{Kilometres, Share};

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

/// One step of the way from nothing to a trip: keys that the screen names at that moment, or a name that is typed.
enum Step {
    Keys(&'static str),
    Name(&'static str),
    /// What the screen shows before the next step.
    Shows(&'static str),
}
use Step::{Keys, Name, Shows};

/// The first trip of the guide: twelve legs, two fuel stops, two people, water, gear and cans. With the names
/// left out it takes no more than 250 keystrokes.
#[test]
#[expect(clippy::too_many_lines, reason = "one list of steps")]
fn a_first_trip_takes_few_keystrokes() {
    let place = Place::new();
    let mut session = place.start(&[]);
    session.wait_for_frame("a new trip in a few questions");
    let mut steps = vec![Keys("\r"), Shows("1 of 13"), Name("First"), Keys("\r")];
    // Diesel or petrol, litres, consumption, tank, masses.
    steps.extend([
        Keys("p\r1.3\r8.5\r45\r1050\r1470\r"),
        Shows("8 of 13"),
        Name("Camp"),
        Keys("\ry\r"),
        Name("Ford"),
        Keys("\r60\rg\r\r"),
        Shows("leg 1 of 1"),
        // The leg table.
        Keys("5\r"),
        Shows("Enter edit"),
    ]);
    let legs = [
        ("Gap", "80\r\rg\r"),
        ("Well", "64\r\re\r"),
        ("Dune", "35\r\re\r"),
        ("Pan", "70\r\rsa\r"),
        ("Kilns", "90\r\rg\r"),
        ("Post", "40\r\r\r"),
        ("Weir", "75\r\rg\r"),
        ("Hut", "55\r\rc\r"),
        ("Rim", "30\r\rro\r"),
        ("Mill", "85\r\rg\r"),
        ("Camp", "66\r\r\r"),
    ];
    // From the distance of the first leg down to the new row.
    steps.push(Keys("\u{1b}[F"));
    for (name, rest) in legs {
        steps.extend([Keys("\r"), Name(name), Keys("\r"), Keys(rest)]);
    }
    // Days: a range of legs is given to each of the later days.
    steps.extend([
        Shows("leg 12 of 12"),
        Keys("\u{1b}"),
        // Fuel on the way, and at the end: the form with all that is empty accepted.
        Keys("/"),
        Name("Post"),
        Keys("\rF"),
        Shows("fuel stop at Post"),
        Keys("80\r\r\r\r\r\r"),
        Shows("Post: "),
        // Another person, water, gear and cans.
        Keys("4e"),
        Shows("gear"),
        Keys("i"),
        Name("water"),
        Keys("\r40\r"),
        Keys("i"),
        Name("camping gear"),
        Keys("\r35\r"),
        Keys("\t"),
        Shows("cans"),
        Keys("i\r2\r"),
        Keys("\u{1b}[Z\u{1b}[Z"),
        Shows("people"),
        Keys("i"),
        Name("passenger"),
        Keys("\r64\r"),
        Shows("passenger"),
        Keys("\u{1b}"),
        Shows("e edit"),
        Keys("\u{13}"),
        Shows("save as"),
    ]);
    let mut keystrokes = 0;
    for step in steps {
        match step {
            Keys(keys) => {
                let is_one = keys.starts_with('\u{1b}') && !keys[1..].contains('\u{1b}');
                keystrokes += if is_one {
                    1
                } else {
                    keys.replace("\u{1b}[", "").chars().count()
                };
                session.send(keys);
            }
            Name(name) => session.send(name),
            Shows(text) => {
                session.wait_for_frame(text);
            }
        }
    }
    session.send(EMPTY);
    session.send("~/first.json\r");
    session.wait_for_frame("saved in");
    let trip = place.trip("first.json");
    let names: Vec<&str> = trip.legs.iter().map(|leg| leg.to.as_str()).collect();
    assert_eq!(
        names,
        [
            "Ford", "Gap", "Well", "Dune", "Pan", "Kilns", "Post", "Weir", "Hut", "Rim", "Mill",
            "Camp"
        ]
    );
    let load = trip.load();
    assert_eq!((load.people().len(), load.gear().len()), (2, 2));
    assert_eq!(load.cans()[0].owned, Some(2));
    assert_eq!(
        trip.legs[6].fuel.as_ref().unwrap().chance(),
        Share::new(0.8)
    );
    let distances = trip.legs.iter().filter_map(|leg| leg.distance_km);
    assert_eq!(distances.sum::<Kilometres>(), Kilometres::new(750.0));
    println!("a trip of twelve legs: {keystrokes} keystrokes beside names");
    assert!(keystrokes <= 250, "{keystrokes}");
}
