//! One sentence for every finding, with the next step in it.
//!
//! The numbers are the finding's own; the names of legs, places and pumps are looked up in the
//! plan. What is missing is rounded up and what may stay is rounded down, so that doing what the
//! sentence says is enough.

use super::carrying::{cans_short, carrying_place, elsewhere};
use super::name::plain;
use super::number::{Figure, Toward, Units, days, factor, money, odds, percent, trimmed};
use super::relied::{not_relied_on, target_missed};
use crate::consumption::surface::AIRED_DOWN_FASTEST;
use crate::plan::{Finding, NotLeast, OfTrack, Plan, What, Where};
use crate::quantity::{Days, Grade, Kilograms, Kilometres, Litres, Metres, Share};
use crate::solver::carriage::Broken;

/// Where the finding belongs, in two or three words: `leg 4`, `Two Cairns`, `load`.
pub fn place(at: Where, plan: &Plan) -> String {
    match at {
        Where::Trip => "trip".to_owned(),
        Where::Vehicle => "vehicle".to_owned(),
        Where::Load => "load".to_owned(),
        Where::Node(node) => node_name(plan, node),
        Where::Leg(n) => format!("leg {n}"),
    }
}

/// The finding as one sentence that names the next step.
#[expect(
    clippy::too_many_lines,
    reason = "a table of sentences: one match, so that the compiler misses none"
)]
pub fn sentence(finding: &Finding, plan: &Plan, units: Units) -> String {
    let at = finding.at;
    let up = |litres: Litres| units.fuel(litres, Toward::Up);
    let near = |litres: Litres| units.litres(litres);
    let heavy = |mass: Kilograms| units.mass(mass, Toward::Up);
    let allowed = |mass: Kilograms| units.mass(mass, Toward::Down);
    match &finding.what {
        What::ShortAtStart { short } if plan.behind.is_some() => format!(
            "At {} you have {} less than the target needs, and there is no fuel there.",
            place(at, plan),
            up(*short),
        ),
        What::ShortAtStart { short } => format!(
            "You are {} short of what it takes to leave {}, and there is no fuel there. Set out with that much more, or \
             add a fuel stop nearer to it.",
            up(*short),
            node_name(plan, 0),
        ),
        What::TargetMissed {
            stops,
            chance,
            target,
        } => target_missed(stops, *chance, *target, plan),
        What::CansShort { needed, most, why } => cans_short(*needed, *most, *why, plan, units),
        What::ReserveOverTank { reserve, tank } => format!(
            "The reserve of {} is more than the {} that a full tank can give. Set a smaller reserve; cans cannot hold it.",
            up(*reserve),
            units.fuel(*tank, Toward::Down),
        ),
        What::BelowReserve {
            left,
            reserve,
            covers,
        } => format!(
            "{} with {}, {} below the minimum of {}.{}",
            leg_arrives(at, plan),
            units.fuel(*left, Toward::Down),
            up(*reserve - *left),
            near(*reserve),
            fill_more(at, *covers, plan, &up(*reserve - *left).to_string()),
        ),
        What::RunsDry {
            short,
            reserve,
            covers,
        } => format!(
            "{} runs out of fuel {} short of {}.{}",
            leg_alone(at, plan),
            up(*short),
            leg_end(at, plan),
            fill_more(at, *covers, plan, &up(*short + *reserve).to_string()),
        ),
        What::TankLowOnRough { tank, floor } => format!(
            "{}: the tank drops to {}. On rough or steep ground the fuel pickup needs at least {}. Decant a can before this \
             leg.",
            leg_name(at, plan),
            near(*tank),
            near(*floor),
        ),
        What::NoTurnBack { to } => format!(
            "Between {} and {} there is no point from which a sure pump behind can be reached: \
             once you leave, you must get through. Carry more, or have somebody who can bring fuel.",
            place(at, plan),
            node_name(plan, *to),
        ),
        What::OverMostInCans { litres, limit } => format!(
            "{} of spare fuel is more than the {} that may be carried: break the longest stretch \
             with a fuel stop, or check what the law on the way allows.",
            near(*litres),
            near(*limit),
        ),
        What::UnconfirmedStop { chance } => format!(
            "The plan relies on {}, where the chance of fuel is only {}. Confirm before you leave, and turn back by the \
             turn-back point if you cannot.",
            place(at, plan),
            percent(*chance),
        ),
        What::StopStrands {
            on_to,
            run_out,
            back,
        } => format!(
            "If {} has no fuel, {} of trips run out if they continue to {}{}. Carry more, or confirm fuel there before \
             you leave.",
            place(at, plan),
            odds(*run_out),
            node_name(plan, *on_to),
            back.map_or_else(
                || ", and no return is possible".to_owned(),
                |(to, run_out)| format!(
                    " and {} if they return to {}",
                    odds(run_out),
                    node_name(plan, to)
                ),
            ),
        ),
        What::StopNotReliedOn { chance, why } => not_relied_on(&place(at, plan), *chance, *why),
        What::CanSetsCut { tried } => format!(
            "There are more sets of cans than could be tried ({tried} were): list fewer kinds or places of cans to \
             be sure that the best is among them."
        ),
        What::SharingCut => "A fuel stop with limited stock is visited so often that not every way to share its \
                             stock among the visits could be tried: another way may need less fuel in cans."
            .to_owned(),
        What::OverGvm { mass, limit } => format!(
            "On leaving {} the vehicle weighs {}, {} over its gross vehicle mass of {}. Leave {} behind.",
            heaviest(at, plan),
            heavy(*mass),
            heavy(*mass - *limit),
            allowed(*limit),
            heavy(*mass - *limit),
        ),
        What::GvmUnknown => "No gross vehicle mass is stated, so the load cannot be judged: copy \
                             it from the plate into vehicle.gvm_kg."
            .to_owned(),
        What::OverAxle { front, mass, limit } => format!(
            "On leaving {} the {} axle carries {}, {} over its limit of {}. {}.",
            heaviest(at, plan),
            if *front { "front" } else { "rear" },
            heavy(*mass),
            heavy(*mass - *limit),
            allowed(*limit),
            if *front {
                "Leave weight behind, or move it back"
            } else {
                "Leave weight behind, or move it forward; what is behind the axle counts more than its mass"
            },
        ),
        What::AxlesUnknown => "A limit of an axle is stated, and not what stands on it: weigh the front axle at kerb \
                               mass and state vehicle.axles.front_kerb_kg and wheelbase_m."
            .to_owned(),
        What::OverRoof {
            mass,
            limit,
            off_road,
        } => format!(
            "The roof carries {} including the rack, {} over its {}limit of {}. Take {} off the roof.",
            heavy(*mass),
            heavy(*mass - *limit),
            if *off_road { "off-road " } else { "" },
            allowed(*limit),
            heavy(*mass - *limit),
        ),
        What::RoofRatingUnknown { mass } => format!(
            "The roof bears {} and no rating is stated: find what it may carry while driving, rack \
             included, and state it as vehicle.roof_rating_kg.",
            heavy(*mass),
        ),
        What::OverPlace { place, mass, limit } => format!(
            "The load of {} is {}, {} over its limit of {}. Move {} elsewhere, or leave it behind.",
            carrying_place(*place),
            heavy(*mass),
            heavy(*mass - *limit),
            allowed(*limit),
            heavy(*mass - *limit),
        ),
        What::FuelOnRoof { litres } => format!(
            "{} of fuel ride on the roof, where weight tips the vehicle and a knock spills it: \
             carry them on the rear carrier if it bears them, and pour roof cans first.",
            units.litres(*litres),
        ),
        What::CansElsewhere(cans) => elsewhere(*cans, units),
        What::FuelInCabin { litres } => format!(
            "Cans for {} are listed for the cabin, where the plan never puts fuel: vapour explodes and \
             poisons, carry them outside.",
            units.litres(*litres),
        ),
        What::OverCarriage(broken) => carriage(*broken, units),
        What::HeatFill { share, air } => format!(
            "It gets as hot as {}, and fuel expands: fill cans to {} of their size and no more, and keep them in the \
             shade.",
            units.temperature(*air),
            percent(Share::new((share.get() * 100.0).floor() / 100.0)),
        ),
        What::WaterTraded { fuel, water } => format!(
            "{} of fuel ride in cans while {} of water are missing: water comes before fuel; carry the water first, \
             and see what room is left for cans.",
            units.litres(*fuel),
            up(*water),
        ),
        What::WaterShortAtTurnBack { at, lasts, back } => format!(
            "At the turn-back point, {}, you have water for {}, but the return takes {}. Carry more water, or turn back \
             earlier.",
            units.at(*at, Toward::Down),
            in_days(*lasts),
            days(*back),
        ),
        What::WaterHeat { stated, in_heat } => format!(
            "Water is counted at {} a person and day; in the heat of this trip people drink about {}: state so much as \
             rules.water_l_per_person_day and carry it.",
            near(*stated),
            up(*in_heat),
        ),
        What::SupplyShort { name, lasts, days: of } => format!(
            "\"{}\" lasts {} of {}: carry more, or use less of it.",
            plain(name),
            days(*lasts),
            in_days(*of),
        ),
        What::WaterUnstated => {
            "No water is listed in the load: list it with `water: true`, so that the \
                                days it lasts are counted. Water comes before fuel."
                .to_owned()
        }
        What::KerbFromBook => "The kerb mass comes from a handbook, and no mass accounts for the \
                               rack or other accessories: weigh the vehicle and state \
                               vehicle.kerb_from weighbridge."
            .to_owned(),
        What::EngineLimit {
            legs,
            slowest,
            speed,
            wanted,
        } => {
            let (speed, wanted) = (
                units.speed(*speed, Toward::Down),
                units.speed(*wanted, Toward::Nearest),
            );
            let manages = match legs.as_slice() {
                [_] => format!(
                    "{}: on the steepest part the engine manages {speed}, not the {wanted} set",
                    leg_name(at, plan)
                ),
                legs => format!(
                    "{}: on the steepest parts the engine does not manage the speed set; on leg {slowest} it manages \
                     {speed}, not {wanted}",
                    leg_numbers(legs)
                ),
            };
            format!("{manages}. The driving time shown allows for this.")
        }
        What::AiredDownFast { speed } => format!(
            "{}: {} on tyres that are let down overheats them: pump them up, or stay below {}.",
            leg_name(at, plan),
            units.speed(*speed, Toward::Nearest),
            units.speed(AIRED_DOWN_FASTEST, Toward::Down),
        ),
        What::NotSofter { soft, road } => format!(
            "Tyres are let down on some legs, but to {}, which is not below the road pressure of {}: that saves nothing. \
             State the pressure you let them down to.",
            units.pressure(*soft),
            units.pressure(*road),
        ),
        What::PressureLow {
            front,
            load,
            needed,
            road,
        } => format!(
            "On leaving {} the {} axle carries {}: its tyres need {} for that, and the road pressure is stated as {}. \
             Pump them up, by the maker's table.",
            heaviest(at, plan),
            if *front { "front" } else { "rear" },
            heavy(*load),
            units.pressure(*needed),
            units.pressure(*road),
        ),
        What::WindIgnored => format!(
            "{}: the wind is ignored, because the bearing of the leg is not known. Add coordinates to both of its places, or \
             set a headwind instead.",
            leg_name(at, plan),
        ),
        What::Cold { temperature, more } => format!(
            "{}: at {} a cold engine, stiff oil and winter fuel take {} more; twice as much is possible. Use oil and \
             fuel made for that cold, and expect a hard start.",
            leg_name(at, plan),
            units.temperature(*temperature),
            percent(*more),
        ),
        What::StartCansOver { stated, held } => format!(
            "The rules state {} in cans at the start, and the cans of this plan hold {}: the rest is \
             neither counted nor weighed. List every can that is aboard.",
            near(*stated),
            near(*held),
        ),
        What::BaselineSpeedNotReached { speed, wanted } => format!(
            "The engine as stated holds {} and not the base speed of {}; the base figure is taken \
             to hold at the lower one: check engine, revs_per_km and base speed.",
            units.speed(*speed, Toward::Down),
            units.speed(*wanted, Toward::Nearest),
        ),
        What::FactorOdd { k } => format!(
            "The base figure is {} times what the model expects of such a vehicle: check base, \
             engine, drag area and masses.",
            factor(*k),
        ),
        What::BaselineConditionsMissing => "The base figure comes from fill-ups, and under which load, \
                                       roof and tyres is not stated: state vehicle.baseline_conditions, \
                                       or a rack counts twice."
            .to_owned(),
        What::DistanceGuessed {
            straight,
            factor: detour,
        } => format!(
            "{} has no distance; it was taken as {} in a straight line times {}: measure it on a \
             map.",
            leg_name(at, plan),
            units.distance(*straight, Toward::Nearest),
            factor(*detour),
        ),
        What::TrackUnread => format!(
            "{}: the file of its track was not read, so nothing is taken from it.",
            leg_name(at, plan),
        ),
        What::TrackDiffers(figure) => {
            let (what, stated, track) = of_track(*figure, units);
            format!(
                "{}: {what} is stated as {stated} and the track gives {track}; the stated value is used: correct it or \
                 remove it.",
                leg_name(at, plan),
            )
        }
        What::LongDay { day, hours, limit } => format!(
            "Day {day} has {} at the wheel, more than the {} wanted: move a camp, or split the day.",
            units.time(*hours),
            units.time(*limit),
        ),
        What::WaterShort { days_covered, days: of } => format!(
            "The water lasts {} days of {}: carry more, or plan where to draw it. Water comes \
             before fuel.",
            days(*days_covered),
            trimmed(of.get()),
        ),
        What::WhatIfStale { name, why } => format!(
            "The what-if \"{}\" no longer fits the trip ({}): write it anew or remove it.",
            plain(name),
            plain(why),
        ),
        What::CostNotLeast { why } => match why {
            NotLeast::NoPrices => "The least cost is asked for and no fuel stop has a price: the tank is filled at every \
                 pump; state what a litre costs."
                .to_owned(),
            NotLeast::NotThrough => "The least cost is asked for and the fuel does not go through as it is: the tank is \
                 filled at every pump until it does."
                .to_owned(),
            NotLeast::NotProven => "Not every way to use the fuel stops was tried: a cheaper plan may exist with other \
                 stops off the route, or with limited fuel shared out otherwise among the visits to it."
                .to_owned(),
        },
        What::PriceMissing { counted_as } => format!(
            "{} has no price and is taken for the dearest, {} a litre, so what the trip costs is not known if fuel is \
             bought there: state its price.",
            place(at, plan),
            money(
                *counted_as * Litres::new(1.0),
                plan.trip.rules().currency.as_deref()
            ),
        ),
        What::LogContradicts { places: [from, to] } => format!(
            "The readings at {} and {} contradict one another or the way: what was used between them is far from what the \
             way can take, so nothing is learnt from them. Check litres, odometer and what was filled; `drystage arrive` at \
             the same place again, or typing over it on the screen, puts a reading right.",
            plain(from),
            plain(to),
        ),
        What::LogNoDeparture { places: [from, to] } => format!(
            "The departure from {} was not written down, so it is not known what was used until {}: the way there stands \
             as planned, and nothing is learnt from it. Enter it by `drystage arrive TRIP 0 --odometer KM --left L`, or by A on the screen.",
            plain(from),
            plain(to),
        ),
    }
}

fn leg_number(at: Where) -> Option<usize> {
    match at {
        Where::Leg(n) if n > 0 => Some(n),
        _ => None,
    }
}

/// `Leg 4 to Dune Gate`, to begin a sentence.
fn leg_name(at: Where, plan: &Plan) -> String {
    match leg_number(at).and_then(|n| plan.legs.get(n - 1)) {
        Some(leg) => format!("Leg {} to {}", leg.n, plain(&leg.to)),
        None => place(at, plan),
    }
}

/// `Leg 4`, to begin a sentence.
fn leg_alone(at: Where, plan: &Plan) -> String {
    leg_number(at).map_or_else(|| place(at, plan), |n| format!("Leg {n}"))
}

/// `Leg 4 arrives at Dune Gate`, to begin a sentence.
fn leg_arrives(at: Where, plan: &Plan) -> String {
    format!("{} arrives at {}", leg_alone(at, plan), leg_end(at, plan))
}

/// Where a leg ends.
fn leg_end(at: Where, plan: &Plan) -> String {
    let leg = leg_number(at).and_then(|n| plan.legs.get(n - 1));
    leg.map_or_else(|| "its end".to_owned(), |leg| plain(&leg.to).into_owned())
}

/// Name of a place by its number.
pub(super) fn node_name(plan: &Plan, node: usize) -> String {
    if node <= plan.trip.legs.len() {
        plain(plan.trip.place(node).name).into_owned()
    } else {
        format!("place {node}")
    }
}

fn heaviest(at: Where, plan: &Plan) -> String {
    match at {
        Where::Node(node) => node_name(plan, node),
        _ => node_name(plan, plan.load.heaviest_at),
    }
}

/// Where the missing fuel can be had, as a sentence of its own: the last stop before the leg that is relied on and has
/// enough for sure, else before setting out. Nothing where another leg has that finding, or no more can be carried.
fn fill_more(at: Where, covers: Option<[usize; 2]>, plan: &Plan, litres: &str) -> String {
    let Some([first, last]) = covers else {
        return String::new();
    };
    let leg = leg_number(at).unwrap_or(1).min(plan.trip.legs.len());
    let driven = plan.behind.as_deref().map_or(0, |behind| behind.node);
    let stop = (driven..leg)
        .rev()
        .map(|node| plan.trip.place(node))
        .find(|place| {
            place
                .fuel
                .is_some_and(|fuel| fuel.is_counted() && fuel.is_unlimited())
        });
    let fill = match stop {
        Some(place) => format!("Fill {litres} more in cans at {}", plain(place.name)),
        None if plan.behind.is_some() => format!("It takes {litres} more"),
        None => format!("Set out with {litres} more"),
    };
    let legs = match last.saturating_sub(first) {
        0 => String::new(),
        1 => format!("; this covers legs {first} and {last}"),
        _ => format!("; this covers legs {first} to {last}"),
    };
    format!(" {fill}{legs}.")
}

/// `Leg 4`, `Legs 3 and 5`, `Legs 3, 5 to 7 and 12 more`; no longer however many they are.
fn leg_numbers(legs: &[usize]) -> String {
    const MOST: usize = 5;
    let runs = legs.chunk_by(|a, b| *b == *a + 1);
    let mut names: Vec<String> = Vec::new();
    let mut told = 0;
    for run in runs.take(MOST) {
        told += run.len();
        match run {
            [one] => names.push(one.to_string()),
            [first, second] => names.extend([first, second].map(ToString::to_string)),
            [first, .., last] => names.push(format!("{first} to {last}")),
            [] => {}
        }
    }
    if told < legs.len() {
        names.push(format!("{} more", legs.len() - told));
    }
    format!("Legs {}", listed(&names))
}

/// `A`, `A and B`, `A, B and C`.
pub(super) fn listed(names: &[String]) -> String {
    match names.split_last() {
        None => String::new(),
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
    }
}

/// `2.5 days`.
fn in_days(time: Days) -> String {
    let number = days(time);
    let word = if number == "1" { "day" } else { "days" };
    format!("{number} {word}")
}

/// A published limit on carried fuel that the cans break.
fn carriage(broken: Broken, units: Units) -> String {
    let of = broken.of;
    let says = |what: &str, figures: Option<[Figure; 2]>| {
        let [found, most] = figures?;
        Some(format!("{what} {found}, and {most} is the most"))
    };
    let litres = |(found, most)| [found, most].map(|litres| units.litres(litres));
    let mass = |(found, most)| {
        [
            units.mass(found, Toward::Up),
            units.mass(most, Toward::Down),
        ]
    };
    let (over, most) = (broken.over, of.most);
    let says = [
        says("the largest can holds", over.can.zip(most.can).map(litres)),
        says("the cans hold", over.vehicle.zip(most.vehicle).map(litres)),
        says(
            "the heaviest can weighs",
            over.can_mass.zip(most.can_mass).map(mass),
        ),
        says("the cans weigh", over.mass.zip(most.mass).map(mass)),
    ];
    let says: Vec<String> = says.into_iter().flatten().collect();
    format!(
        "What a private person may carry: {} in {} ({}). Rules differ from place to place and are often stricter: ask \
         where you go.",
        says.join("; "),
        of.name,
        of.source,
    )
}

/// What a figure of the track is called, the stated value and the track's.
fn of_track(figure: OfTrack, units: Units) -> (&'static str, String, String) {
    let way = |way: Kilometres| units.distance(way, Toward::Nearest).to_string();
    let height = |height: Metres| units.height(height).to_string();
    let grade = |grade: Grade| percent(Share::new(grade.get())).to_string();
    match figure {
        OfTrack::Distance(stated, track) => ("the distance", way(stated), way(track)),
        OfTrack::Ascent(stated, track) => ("the climb", height(stated), height(track)),
        OfTrack::Descent(stated, track) => ("the descent", height(stated), height(track)),
        OfTrack::AscentGrade(stated, track) => {
            ("the grade of the climbs", grade(stated), grade(track))
        }
        OfTrack::DescentGrade(stated, track) => {
            ("the grade of the descents", grade(stated), grade(track))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::vocabulary::{CarryingPlace, UnitSystem};
    use crate::plan::{LoadLimit, NoMoreCans};

    fn plan() -> Plan {
        let document = include_str!("../../tests/data/example-trip.json");
        let trip = crate::model::check::read(serde_json::from_str(document).unwrap()).unwrap();
        Plan::of(trip)
    }

    fn told(at: Where, what: What) -> String {
        sentence(&Finding { at, what }, &plan(), Units(UnitSystem::Metric))
    }

    #[test]
    fn a_breach_names_the_leg_the_litres_and_the_stop_once() {
        let what = |covers| What::BelowReserve {
            left: Litres::new(2.1),
            reserve: Litres::new(6.0),
            covers,
        };
        let breach = "Leg 4 arrives at Dune Gate with 2.1 L, 3.9 L below the minimum of 6.0 L.";
        assert_eq!(told(Where::Leg(4), what(None)), breach);
        assert_eq!(
            told(Where::Leg(4), what(Some([4, 4]))),
            format!("{breach} Fill 3.9 L more in cans at Harrow Cross.")
        );
        assert_eq!(
            told(Where::Leg(4), what(Some([3, 5]))),
            format!("{breach} Fill 3.9 L more in cans at Harrow Cross; this covers legs 3 to 5.")
        );
    }

    #[test]
    fn what_must_be_left_behind_is_rounded_up() {
        let what = What::OverGvm {
            mass: Kilograms::new(1849.2),
            limit: Kilograms::new(1790.0),
        };
        assert_eq!(
            told(Where::Node(2), what),
            "On leaving Two Cairns the vehicle weighs 1850 kg, 60 kg over its gross vehicle mass of 1790 kg. \
             Leave 60 kg behind."
        );
    }

    /// What forbids more cans comes before what is needed, with kilograms and where.
    #[test]
    fn a_shortage_of_cans_says_first_what_forbids_more() {
        let short = |most: f64, why| {
            let (needed, most) = (Litres::new(187.0), Litres::new(most));
            told(Where::Trip, What::CansShort { needed, most, why })
        };
        let mass = |what| NoMoreCans::Mass {
            what,
            left: Kilograms::new(5.4),
            node: 2,
        };
        let none = short(0.0, mass(LoadLimit::Gvm));
        assert!(
            none.starts_with(
                "5 kg left to the gross vehicle mass on leaving Two Cairns: no can can be carried."
            ),
            "{none}"
        );
        let some = short(19.0, mass(LoadLimit::Place(CarryingPlace::Rear)));
        assert!(
            some.starts_with(
                "5 kg left to the rear carrier's limit on leaving Two Cairns: no more cans than those of 19.0 L can be \
                 carried. The trip needs 187.0 L in cans."
            ),
            "{some}"
        );
        let none = short(0.0, NoMoreCans::NoneListed);
        assert!(
            none.contains("no cans are allowed. Allow cans for 187.0 L, "),
            "{none}"
        );
        let all = short(19.0, NoMoreCans::AllCarried);
        assert!(
            all.contains("hold 19.0 L. Allow cans for 168.0 L more, "),
            "{all}"
        );
    }

    #[test]
    fn legs_are_listed_in_runs_and_never_at_length() {
        assert_eq!(leg_numbers(&[3, 5]), "Legs 3 and 5");
        assert_eq!(leg_numbers(&[3, 5, 6, 7]), "Legs 3 and 5 to 7");
        assert_eq!(leg_numbers(&[1, 2, 9]), "Legs 1, 2 and 9");
        let odd: Vec<usize> = (0..1000).map(|n| 2 * n + 1).collect();
        assert_eq!(leg_numbers(&odd), "Legs 1, 3, 5, 7, 9 and 995 more");
    }
}
