//! Every finding in words: the reason first, then what to do.
//!
//! The numbers are the finding's own; the names of legs and places are looked up in the plan. What is
//! short is rounded up and what is allowed is rounded down, so that following the sentence is enough.

use super::card::target_or_best_estimate;
use super::carrying::{cans_short, carrying_place, elsewhere};
use super::daylight::clock;
use super::name::{capitalized, plain};
use super::number::{
    Figure, Toward, Units, days, factor, in_days, money, odds, outcome, percent, trimmed,
};
use super::relied::{not_relied_on, target_missed};
use super::under_way::driven;
use crate::consumption::surface::AIRED_DOWN_FASTEST;
use crate::model::vocabulary::Hazard;
use crate::plan::{Finding, NotLeast, OfTrack, Plan, What, Where};
use crate::quantity::{Grade, Hours, Kilograms, Kilometres, Litres, Metres, Share};
use crate::solver::carriage::Broken;

/// What follows the name of a leg with a hazard.
const fn of_hazard(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::FourWheelOnly => {
            "is marked for four-wheel drive only. Check that your vehicle and you are up to it."
        }
        Hazard::Ford => {
            "has a ford. Ask about the depth, walk it first, and turn back if in doubt."
        }
        Hazard::Seasonal => "is open in a season only. Ask whether it is open when you are there.",
        Hazard::NoAccess => {
            "is marked as closed to motor vehicles. Take another way, or delete this hazard once you know that it is open."
        }
        Hazard::Private => "is marked as private. Ask for permission before you go.",
        Hazard::Toll => "has a toll. Carry the means to pay it.",
        Hazard::Ferry => {
            "has a ferry, which burns no fuel. Ask whether it runs, and what it carries."
        }
        Hazard::Rough => "is marked as very rough: high clearance is needed. Drive slowly.",
        Hazard::VeryRough => {
            "is marked as passable for off-road vehicles only. Check clearance, and walk the worst parts first."
        }
        Hazard::Extreme => {
            "is marked as passable for specialised off-road vehicles only. Take another way if you can."
        }
        Hazard::Impassable => {
            "is marked as impassable. Take another way, or delete this hazard once you know that it can be driven."
        }
    }
}

/// What forbids setting out though fuel, load and odds are as they should be, in a few words: `water lasts 2.5 of 4 days`.
/// `None` for any other finding.
pub(super) fn other_than_fuel_and_load(
    found: &Finding,
    plan: &Plan,
    units: Units,
) -> Option<String> {
    let leg = || place(found.at, plan);
    match &found.what {
        What::WaterShort {
            days_covered,
            days: of,
        } => Some(format!(
            "water lasts {} of {} days",
            days(*days_covered),
            trimmed(of.get())
        )),
        What::AiredDownFast { speed } => Some(format!(
            "{}: aired down at {}",
            leg(),
            units.speed(*speed, Toward::Nearest)
        )),
        What::OverMostInCans { limit, .. } => Some(format!(
            "over the {} allowed in cans",
            units.fuel_tenths(*limit, Toward::Nearest)
        )),
        What::ReserveOverTank { .. } => Some("the reserve exceeds the tank".to_owned()),
        What::Hazard(Hazard::NoAccess) => Some(format!("{}: no access", leg())),
        What::Hazard(Hazard::Impassable) => Some(format!("{}: impassable", leg())),
        _ => None,
    }
}

/// Where the finding belongs, in two or three words: `leg 4`, `Two Cairns`, `load`.
pub fn place(at: Where, plan: &Plan) -> String {
    match at {
        Where::Trip => "trip".to_owned(),
        Where::Vehicle => "vehicle".to_owned(),
        Where::Load => "load".to_owned(),
        Where::Place(place_number) => place_name(plan, place_number),
        Where::Leg(n) => format!("leg {n}"),
    }
}

/// The finding in sentences, the last of which names the next step.
#[expect(
    clippy::too_many_lines,
    reason = "a table of sentences: one match, so that the compiler misses none"
)]
pub fn sentence(finding: &Finding, plan: &Plan, units: Units) -> String {
    let at = finding.at;
    let up = |litres: Litres| units.fuel(litres, Toward::Up);
    let heavy = |mass: Kilograms| units.mass(mass, Toward::Up);
    let allowed = |mass: Kilograms| units.mass(mass, Toward::Down);
    let over =
        |mass: Kilograms, limit: Kilograms| [heavy(mass), heavy(mass - limit), allowed(limit)];
    match &finding.what {
        What::ShortAtStart { short } if plan.progress.is_some() => format!(
            "At {} you are {} short of finishing with the reserve intact ({}), and there is no fuel there.",
            place(at, plan),
            up(*short),
            target_or_best_estimate(plan),
        ),
        What::ShortAtStart { short } => format!(
            "You are {} short of what it takes to leave {}, and there is no fuel there. Set out with that much more, or \
             add a fuel stop nearer to it.",
            up(*short),
            place_name(plan, 0),
        ),
        What::TargetMissed {
            stops,
            chance,
            target,
        } => target_missed(stops, *chance, *target, plan),
        What::CansShort { needed, most, why } => cans_short(*needed, *most, *why, plan, units),
        What::ReserveOverTank { reserve, tank } => format!(
            "The reserve of {} is more than the {} of usable fuel in a full tank, and cans cannot hold it. Set a smaller reserve.",
            units.fuel_tenths(*reserve, Toward::Up),
            units.fuel_tenths(*tank, Toward::Down),
        ),
        What::BelowReserve {
            left,
            reserve,
            covers,
        } => format!(
            "{} with {}, {} below the minimum of {}.{}",
            leg_arrives(at, plan),
            units.fuel_tenths(*left, Toward::Down),
            units.fuel_tenths(*reserve - *left, Toward::Up),
            units.fuel_tenths(*reserve, Toward::Nearest),
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
            units.fuel_tenths(*tank, Toward::Nearest),
            units.fuel_tenths(*floor, Toward::Nearest),
        ),
        What::NoTurnBack { to } => format!(
            "Between {} and {} no return to a confirmed fuel stop is possible. Carry more, or arrange for someone to bring \
             fuel.",
            place(at, plan),
            place_name(plan, *to),
        ),
        What::OverMostInCans { litres, limit } => format!(
            "{} in cans is more than the {} allowed by the rules. Add a fuel stop on the longest stage, or check what the law \
             on the route allows.",
            units.fuel_tenths(*litres, Toward::Nearest),
            units.fuel_tenths(*limit, Toward::Nearest),
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
            "If {} has no fuel, {} of trips run out when they continue to {}{}. Carry more, or confirm fuel there before you \
             leave.",
            place(at, plan),
            outcome(*run_out),
            place_name(plan, *on_to),
            back.map_or_else(
                || ", and no return is possible".to_owned(),
                |(to, run_out)| format!(
                    ", and {} when they return to {}",
                    outcome(run_out),
                    place_name(plan, to)
                ),
            ),
        ),
        What::StopNotReliedOn { chance, why } => not_relied_on(&place(at, plan), *chance, *why),
        What::CanSetsCut { tried } => format!(
            "Only {tried} of the possible sets of cans were tried. List fewer kinds or places of cans, so that all can be tried."
        ),
        What::SharingCut => "A fuel stop with limited stock has so many visits that not every division of its stock among them \
                             was tried. Another division may need less fuel in cans."
            .to_owned(),
        What::OverGvm { mass, limit } => {
            let [mass, over, limit] = over(*mass, *limit);
            format!(
                "On leaving {} the vehicle weighs {mass}, {over} over its gross vehicle mass (GVM) of {limit}. Leave {over} behind.",
                heaviest(at, plan),
            )
        }
        What::GvmUnknown => "The gross vehicle mass (GVM) is not set, so the load cannot be checked against it. Copy it from the \
                             plate into vehicle.gvm_kg."
            .to_owned(),
        What::OverAxle { front, mass, limit } => {
            let [mass, over, limit] = over(*mass, *limit);
            let (axle, advice) = if *front {
                ("front", "Leave weight behind, or move it back")
            } else {
                (
                    "rear",
                    "Leave weight behind, or move it forward. Weight behind the rear axle loads it by more than its own mass",
                )
            };
            format!(
                "On leaving {} the {axle} axle carries {mass}, {over} over its limit of {limit}. {advice}.",
                heaviest(at, plan),
            )
        }
        What::AxlesUnknown => "An axle limit is set, but not the axle load at kerb mass. Weigh the front axle, and set \
                               vehicle.axles.front_kerb_kg and wheelbase_m."
            .to_owned(),
        What::OverRoof {
            mass,
            limit,
            off_road,
        } => {
            let [mass, over, limit] = over(*mass, *limit);
            let off_road = if *off_road { "off-road " } else { "" };
            format!(
                "The roof carries {mass} including the rack, {over} over its {off_road}limit of {limit}. Take {over} off the roof."
            )
        }
        What::RoofRatingUnknown { mass } => format!(
            "The roof carries {} including the rack, and no limit is set. Find the dynamic roof rating, which includes the \
             rack, and set vehicle.roof_rating_kg.",
            heavy(*mass),
        ),
        What::OverPlace { place, mass, limit } => {
            let [mass, over, limit] = over(*mass, *limit);
            let place = capitalized(carrying_place(*place));
            format!(
                "{place} carries {mass}, {over} over its limit of {limit}. Move {over} elsewhere, or leave it behind."
            )
        }
        What::FuelOnRoof { litres } => format!(
            "{} of fuel is on the roof. Weight there raises the risk of rollover, and a collision can spill it. Move the cans \
             to the rear carrier if it can carry them, and decant roof cans first.",
            units.fuel_tenths(*litres, Toward::Nearest),
        ),
        What::CansElsewhere(cans) => elsewhere(*cans, units),
        What::FuelInCabin { litres } => format!(
            "Cans for {} are listed for the cabin. The plan leaves them out, as fuel vapour explodes and poisons. List them for \
             a place outside the cabin.",
            units.fuel_tenths(*litres, Toward::Nearest),
        ),
        What::OverCarriage(broken) => carriage(*broken, units),
        What::HeatFill { share, air } => format!(
            "Fuel expands in the heat of up to {}. Fill cans to {} of capacity at most, and store them in the shade.",
            units.temperature(*air),
            percent(Share::new((share.get() * 100.0).floor() / 100.0)),
        ),
        What::WaterTraded { fuel, water } => format!(
            "{} of fuel is carried in cans, but the water is {} short. Water comes before fuel: load the water first, then plan \
             the cans.",
            units.fuel_tenths(*fuel, Toward::Nearest),
            units.fuel_tenths(*water, Toward::Up),
        ),
        What::WaterShortAtTurnBack { at, lasts, back } => format!(
            "At the turn-back point, {}, you have water for {}, but the return takes {}. Carry more water, or turn back \
             earlier.",
            units.at(*at, Toward::Down),
            in_days(*lasts),
            days(*back),
        ),
        What::WaterHeat { stated, in_heat } => format!(
            "The plan counts {} of water per person per day, but in the heat of this trip people drink about {}. Set \
             rules.water_l_per_person_day to that, and carry it.",
            units.fuel_tenths(*stated, Toward::Nearest),
            units.fuel_tenths(*in_heat, Toward::Up),
        ),
        What::SupplyShort { name, lasts, days: of } => format!(
            "\"{}\" lasts {} of {}. Carry more, or use less.",
            plain(name),
            days(*lasts),
            in_days(*of),
        ),
        What::WaterUnstated => {
            "No water is listed in the load. Add it with `water: true`, so that the plan can check how many days it lasts. \
             Water comes before fuel."
                .to_owned()
        }
        What::KerbFromBook => "The kerb mass comes from a handbook, which does not include the rack and other accessories. Weigh the \
                               vehicle, and set vehicle.kerb_from to weighbridge."
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
            "{}: {} overheats aired-down tyres. Air up before this leg, or stay below {}.",
            leg_name(at, plan),
            units.speed(*speed, Toward::Nearest),
            units.speed(AIRED_DOWN_FASTEST, Toward::Down),
        ),
        What::NotSofter { soft, road } => format!(
            "The aired-down pressure of {} is not below the road pressure of {}, so airing down has no effect. Set the pressure \
             to which you air down.",
            units.pressure(*soft),
            units.pressure(*road),
        ),
        What::PressureLow {
            front,
            load,
            needed,
            road,
        } => format!(
            "On leaving {} the {} axle carries {}. Its tyres need {} for that; the road pressure is set to {}. Air them up by the \
             maker's table.",
            heaviest(at, plan),
            if *front { "front" } else { "rear" },
            heavy(*load),
            units.pressure_toward(*needed, Toward::Up),
            units.pressure(*road),
        ),
        What::WindIgnored => format!(
            "{}: the wind is ignored, because the bearing of the leg is not known. Add coordinates to both of its places, or \
             set a headwind instead.",
            leg_name(at, plan),
        ),
        What::Cold { temperature, more } => format!(
            "{}: at {} a cold engine, stiff oil and winter fuel burn {} more, possibly twice that. Use oil and fuel for that cold, \
             and expect a hard start.",
            leg_name(at, plan),
            units.temperature(*temperature),
            percent(*more),
        ),
        What::StartCansOver { stated, held } => format!(
            "The rules set {} in cans at the start, but the cans of this plan hold {}. The rest is not in the plan or in the load. \
             List every can on board.",
            units.fuel_tenths(*stated, Toward::Nearest),
            units.fuel_tenths(*held, Toward::Nearest),
        ),
        What::BaselineSpeedNotReached { speed, wanted } => format!(
            "The engine as set manages {}, not the baseline speed of {}. The baseline consumption is assumed to apply at the \
             lower speed. Check engine, revs_per_km and baseline speed.",
            units.speed(*speed, Toward::Down),
            units.speed(*wanted, Toward::Nearest),
        ),
        What::FactorOdd { k } => format!(
            "The baseline consumption is {} times what the model expects of such a vehicle. Check baseline consumption, engine, \
             drag area and masses.",
            factor(*k),
        ),
        What::BaselineConditionsMissing => "The baseline consumption comes from fill-ups, but its load, roof and tyres are not set. Set \
                                            vehicle.baseline_conditions; otherwise a roof rack is counted twice."
            .to_owned(),
        What::BaselineGuessed { more, of_fills } => format!(
            "The baseline consumption is a guess: one vehicle in twenty uses {} more, which is usually the largest cause of the \
             fuel in cans. From your own fill-ups it would be {} more. Fill to the brim twice on a sealed road, enter the \
             litres per 100 km, and set the baseline source to fills; or use `calibrate` with a fill-up log.",
            odds(*more),
            odds(*of_fills),
        ),
        What::DistanceGuessed {
            straight,
            factor: detour,
        } => format!(
            "{} has no distance. It is estimated as {} in a straight line times {}. Measure it on a map.",
            leg_name(at, plan),
            units.distance(*straight, Toward::Nearest),
            factor(*detour),
        ),
        What::TrackUnread { path, with_climb } => format!(
            "{}: track file `{}` not found. The plan uses the {}. Put the file beside the trip, or delete `track`.",
            leg_name(at, plan),
            plain(path),
            if *with_climb {
                "distance and climb as set"
            } else {
                "distance as set and no climb, because none is set"
            },
        ),
        What::SurfaceUnknown { known } => format!(
            "{}: the surface of only {} of the distance is known. The simulation varies the rest. Set `surface`, and set the \
             known share to 100 %, once you know it.",
            leg_name(at, plan),
            percent(*known),
        ),
        What::Hazard(hazard) => format!("{} {}", leg_name(at, plan), of_hazard(*hazard)),
        What::TrackDiffers(figure) => {
            let (what, stated, track) = of_track(*figure, units);
            format!(
                "{}: {what} is set to {stated}, but the track has {track}. The set value is used; correct it or remove it.",
                leg_name(at, plan),
            )
        }
        What::LongDay { day, hours, limit } => format!(
            "Day {day} has {} of driving; the limit set is {}. Move a camp, or split the day.",
            units.time(*hours),
            units.time(*limit),
        ),
        What::DayAfterDark {
            day,
            arrival,
            dusk,
            latest_departure,
        } => {
            let dark = dusk.map_or_else(
                || "there is no daylight".to_owned(),
                |dusk| format!("it is dark from {}", clock(dusk)),
            );
            format!(
                "Day {day} ends at {} at {}, and {dark}. {}",
                clock(*arrival),
                place(at, plan),
                earlier(*latest_departure)
            )
        }
        What::CampSearch {
            day,
            arrival,
            sunset,
            latest_departure,
        } => format!(
            "Day {day} ends at {} at {}; sunset is at {}. That leaves too little light to find a camp. {}",
            clock(*arrival),
            place(at, plan),
            clock(*sunset),
            earlier(*latest_departure)
        ),
        What::SleepAltitude { altitude, before } => format!(
            "The night at {} is at {}, {} higher than the night before. Above {}, guidelines advise at most {} more a night. This \
             is not medical advice: ask a doctor.",
            place(at, plan),
            units.height(*altitude),
            units.height(*altitude - *before),
            units.height(Metres::new(3000.0)),
            units.height(Metres::new(500.0)),
        ),
        What::WaterShort { days_covered, days: of } => format!(
            "The water lasts {}; the trip takes {}. Carry more, or plan where to get water. Water comes before fuel.",
            in_days(*days_covered),
            trimmed(of.get()),
        ),
        What::WhatIfStale { name, why } => format!(
            "The what-if \"{}\" no longer applies to the trip ({}). Save it again, or delete it.",
            plain(name),
            plain(why),
        ),
        What::CostNotLeast { why } => match why {
            NotLeast::NoPrices => "The objective is least cost, but no fuel stop has a price, so the plan fills the tank at every \
                 stop. Set prices."
                .to_owned(),
            NotLeast::NotThrough => "The objective is least cost, but the trip cannot be finished on the fuel. The plan fills the \
                 tank at every stop until it can."
                .to_owned(),
            NotLeast::NotProven => "Not every use of the fuel stops was tried. A cheaper plan may exist with other stops off the \
                 route, or with limited stock divided differently among visits."
                .to_owned(),
        },
        What::PriceMissing { counted_as } => format!(
            "{} has no price, so the highest price is assumed, {} a litre. The cost is uncertain if you fill there. Set its \
             price.",
            place(at, plan),
            money(
                *counted_as * Litres::new(1.0),
                plan.trip.rules().currency.as_deref()
            ),
        ),
        What::LogContradicts { places: [from, to] } => format!(
            "The fuel readings at {} and {} conflict with each other or with the distance, and are ignored for calibration. Check \
             litres, odometer and fills. To correct a reading, repeat `drystage arrive` at that place or edit it on the screen.",
            plain(from),
            plain(to),
        ),
        What::LogNoDeparture { places: [from, to] } => format!(
            "There is no fuel reading of the departure from {}, so the fuel used until {} is unknown. That part keeps its planned \
             figures and is ignored for calibration. Enter it with `drystage arrive TRIP 0 --odometer KM --left L`, or with A on \
             the screen.",
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

/// Name of the place at the end of a leg.
fn leg_end(at: Where, plan: &Plan) -> String {
    let leg = leg_number(at).and_then(|n| plan.legs.get(n - 1));
    leg.map_or_else(|| "its end".to_owned(), |leg| plain(&leg.to).into_owned())
}

/// Name of a place by its number.
pub(super) fn place_name(plan: &Plan, place_number: usize) -> String {
    if place_number <= plan.trip.legs.len() {
        plain(plan.trip.place(place_number).name).into_owned()
    } else {
        format!("place {place_number}")
    }
}

fn heaviest(at: Where, plan: &Plan) -> String {
    match at {
        Where::Place(place_number) => place_name(plan, place_number),
        _ => place_name(plan, plan.load.heaviest_at),
    }
}

/// Where to fill what is short, as a sentence of its own: at the last stop before the leg that is relied on and
/// unlimited, else at the start. Empty if another leg has that remedy, or if no more can be carried.
fn fill_more(at: Where, covers: Option<[usize; 2]>, plan: &Plan, litres: &str) -> String {
    let Some([first, last]) = covers else {
        return String::new();
    };
    let leg = leg_number(at).unwrap_or(1).min(plan.trip.legs.len());
    let stop = (driven(plan)..leg)
        .rev()
        .map(|place_number| plan.trip.place(place_number))
        .find(|place| {
            place
                .fuel
                .is_some_and(|fuel| fuel.is_counted() && fuel.is_unlimited())
        });
    let fill = match stop {
        Some(place) => format!("Fill {litres} more in cans at {}", plain(place.name)),
        None if plan.progress.is_some() => format!("You need {litres} more"),
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
    let mut named = 0;
    for run in runs.take(MOST) {
        named += run.len();
        match run {
            [one] => names.push(one.to_string()),
            [first, second] => names.extend([first, second].map(ToString::to_string)),
            [first, .., last] => names.push(format!("{first} to {last}")),
            [] => {}
        }
    }
    if named < legs.len() {
        names.push(format!("{} more", legs.len() - named));
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

/// The advice to depart earlier.
fn earlier(latest_departure: Option<Hours>) -> String {
    match latest_departure {
        Some(latest) if latest > Hours::ZERO => {
            format!("Leave by {}, or move the camp.", clock(latest))
        }
        _ => "Move the camp, or split the day.".to_owned(),
    }
}

/// A published limit on carried fuel that the cans exceed.
fn carriage(broken: Broken, units: Units) -> String {
    let of = broken.of;
    let over_limit = |what: &str, figures: Option<[Figure; 2]>| {
        let [found, most] = figures?;
        Some(format!("{what} {found}, the limit is {most}"))
    };
    let litres =
        |(found, most)| [found, most].map(|litres| units.fuel_tenths(litres, Toward::Nearest));
    let mass = |(found, most)| {
        [
            units.mass(found, Toward::Up),
            units.mass(most, Toward::Down),
        ]
    };
    let (over, most) = (broken.over, of.most);
    let parts = [
        over_limit("the largest can holds", over.can.zip(most.can).map(litres)),
        over_limit("the cans hold", over.vehicle.zip(most.vehicle).map(litres)),
        over_limit(
            "the heaviest can weighs",
            over.can_mass.zip(most.can_mass).map(mass),
        ),
        over_limit("the cans weigh", over.mass.zip(most.mass).map(mass)),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    format!(
        "The cans exceed a limit for private persons in {} ({}): {}. Limits differ from place to place and are often stricter. \
         Ask where you go.",
        of.name,
        of.source,
        parts.join("; "),
    )
}

/// The name of a figure of the track, the value set and the track's.
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
        Plan::best_estimate(trip)
    }

    fn words(at: Where, what: What) -> String {
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
        assert_eq!(words(Where::Leg(4), what(None)), breach);
        assert_eq!(
            words(Where::Leg(4), what(Some([4, 4]))),
            format!("{breach} Fill 3.9 L more in cans at Harrow Cross.")
        );
        assert_eq!(
            words(Where::Leg(4), what(Some([3, 5]))),
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
            words(Where::Place(2), what),
            "On leaving Two Cairns the vehicle weighs 1850 kg, 60 kg over its gross vehicle mass (GVM) of 1790 kg. \
             Leave 60 kg behind."
        );
    }

    /// What forbids more cans comes before what is needed, with kilograms and where.
    #[test]
    fn a_shortage_of_cans_says_first_what_forbids_more() {
        let short = |most: f64, why| {
            let (needed, most) = (Litres::new(187.0), Litres::new(most));
            words(Where::Trip, What::CansShort { needed, most, why })
        };
        let mass = |what| NoMoreCans::Mass {
            what,
            left: Kilograms::new(5.4),
            place_number: 2,
        };
        let none = short(0.0, mass(LoadLimit::Gvm));
        assert!(
            none.starts_with(
                "On leaving Two Cairns, 5 kg is left to the gross vehicle mass, too little for a can. "
            ),
            "{none}"
        );
        let some = short(19.0, mass(LoadLimit::Place(CarryingPlace::Rear)));
        assert!(
            some.starts_with(
                "On leaving Two Cairns, 5 kg is left to the rear carrier's limit, too little for more than 19.0 L in cans. The \
                 trip needs 187.0 L in cans."
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
