//! The rules that bind legs: within a leg, from one to the next, and between places of one name.
//!
//! They speak of few fields ([`Link`]), taken out of a document, where a value may be unsound by itself, or out of a
//! trip, where none is. So a trip that was read or changed is looked at as it is, and not written out for it.

use std::collections::HashMap;

use super::Found;
use super::across::{Part, ROUNDING};
use crate::model::Trip;
use crate::model::field::Kind;
use crate::model::field::route::GRADE;
use crate::model::route::{self, FuelStop, Leg, Start};
use crate::quantity::{Degrees, Grade, Kilometres, Litres, Metres, MoneyPerLitre, Share};

/// Two positions of one place may differ by this many degrees, about a kilometre.
const SAME_PLACE_DEGREES: f64 = 0.01;

/// What has a start and legs.
pub(super) trait Way<'a> {
    /// How many legs there are.
    fn length(&self) -> usize;
    /// The leg that ends at a place, or the start, which is place 0; nothing where there is none that can be read.
    fn place(&self, node: usize) -> Option<Link<'a>>;
}

impl<'a> Way<'a> for &'a Trip {
    fn length(&self) -> usize {
        self.legs.len()
    }

    fn place(&self, node: usize) -> Option<Link<'a>> {
        match node.checked_sub(1) {
            None => Some(Link::of_start(&self.start)),
            Some(leg) => self.legs.get(leg).map(|leg| Link::of_leg(node, leg)),
        }
    }
}

impl<'a> Way<'a> for Part<'a> {
    fn length(&self) -> usize {
        self.list("legs").len()
    }

    fn place(&self, node: usize) -> Option<Link<'a>> {
        let (place, name) = match node.checked_sub(1) {
            None => (self.part("start")?, "name"),
            Some(leg) => (self.item("legs", leg)?, "to"),
        };
        Some(Link::of_part(node, &place, name))
    }
}

/// A value as far as it can be used.
#[derive(Clone, Copy)]
enum Stated<T> {
    Absent,
    /// It breaks the range of its own field, which is told elsewhere.
    Unsound,
    Sound(T),
}

impl<T> Stated<T> {
    const fn is_there(&self) -> bool {
        !matches!(self, Self::Absent)
    }

    fn sound(self) -> Option<T> {
        match self {
            Self::Sound(value) => Some(value),
            _ => None,
        }
    }

    /// The value, or what its absence means; nothing where it is unsound.
    fn or(self, absent: T) -> Option<T> {
        match self {
            Self::Absent => Some(absent),
            stated => stated.sound(),
        }
    }
}

impl<T> From<Option<T>> for Stated<T> {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Absent, Self::Sound)
    }
}

/// What the rules ask of a leg and the place at its end, or of the start.
pub(super) struct Link<'a> {
    /// Number of the place.
    node: usize,
    name: Option<&'a str>,
    lat: Stated<f64>,
    lon: Stated<f64>,
    fuel: Option<Pump>,
    day: Stated<f64>,
    distance_km: Stated<f64>,
    has_track: bool,
    sand_share: Stated<f64>,
    low_range_share: Stated<f64>,
    both_share: Stated<f64>,
    ascent_m: Stated<f64>,
    descent_m: Stated<f64>,
    ascent_grade: Stated<f64>,
    descent_grade: Stated<f64>,
}

/// What must be the same of every stop at one pump, by its key.
type Pump = [(&'static str, Option<f64>); 3];

fn pump(litres: Option<f64>, chance: Option<f64>, price: Option<f64>) -> Pump {
    [
        ("litres", litres),
        ("chance", chance.or(Some(route::CHANCE.get()))),
        ("price_per_l", price),
    ]
}

fn pump_of(stop: &FuelStop) -> Pump {
    pump(
        stop.litres.map(Litres::get),
        stop.chance.map(Share::get),
        stop.price_per_l.map(MoneyPerLitre::get),
    )
}

impl<'a> Link<'a> {
    fn of_start(start: &'a Start) -> Self {
        use Stated::Absent;
        Self {
            node: 0,
            name: Some(&start.name),
            lat: start.lat.map(Degrees::get).into(),
            lon: start.lon.map(Degrees::get).into(),
            fuel: start.fuel.as_ref().map(pump_of),
            day: Absent,
            distance_km: Absent,
            has_track: false,
            sand_share: Absent,
            low_range_share: Absent,
            both_share: Absent,
            ascent_m: Absent,
            descent_m: Absent,
            ascent_grade: Absent,
            descent_grade: Absent,
        }
    }

    fn of_leg(node: usize, leg: &'a Leg) -> Self {
        Self {
            node,
            name: Some(&leg.to),
            lat: leg.lat.map(Degrees::get).into(),
            lon: leg.lon.map(Degrees::get).into(),
            fuel: leg.fuel.as_ref().map(pump_of),
            day: leg.day.map(f64::from).into(),
            distance_km: leg.distance_km.map(Kilometres::get).into(),
            has_track: leg.track.is_some(),
            sand_share: leg.sand_share.map(Share::get).into(),
            low_range_share: leg.low_range_share.map(Share::get).into(),
            both_share: leg.both_share.map(Share::get).into(),
            ascent_m: leg.ascent_m.map(Metres::get).into(),
            descent_m: leg.descent_m.map(Metres::get).into(),
            ascent_grade: leg.ascent_grade.map(Grade::get).into(),
            descent_grade: leg.descent_grade.map(Grade::get).into(),
        }
    }

    fn of_part(node: usize, part: &Part<'a>, name: &str) -> Self {
        let stated = |key| match part.number(key) {
            Some(number) => Stated::Sound(number),
            None if part.has(key) => Stated::Unsound,
            None => Stated::Absent,
        };
        let supply = |key| part.inside("fuel", key);
        Self {
            node,
            name: part.text(name),
            lat: stated("lat"),
            lon: stated("lon"),
            fuel: part
                .has("fuel")
                .then(|| pump(supply("litres"), supply("chance"), supply("price_per_l"))),
            day: stated("day"),
            distance_km: stated("distance_km"),
            has_track: part.has("track"),
            sand_share: stated("sand_share"),
            low_range_share: stated("low_range_share"),
            both_share: stated("both_share"),
            ascent_m: stated("ascent_m"),
            descent_m: stated("descent_m"),
            ascent_grade: stated("ascent_grade"),
            descent_grade: stated("descent_grade"),
        }
    }

    fn pointer(&self, key: &str) -> String {
        match self.node.checked_sub(1) {
            None => format!("/start/{key}"),
            Some(leg) => format!("/legs/{leg}/{key}"),
        }
    }

    fn tell(&self, key: &str, says: String, found: &mut Found) {
        found.add(self.pointer(key), says);
    }

    /// Where it lies, by key, if that is sound.
    fn position(&self) -> Option<[(&'static str, f64); 2]> {
        Some([("lat", self.lat.sound()?), ("lon", self.lon.sound()?)])
    }

    /// Whether it is stated at all where it lies.
    fn is_located(&self) -> bool {
        self.lat.is_there() && self.lon.is_there()
    }
}

/// Tells what is wrong with legs, from one to the next and between places of one name.
pub(super) fn between<'a>(way: &impl Way<'a>, found: &mut Found) {
    let mut places = Places::of_at_most(way.length() + 1);
    let mut day = f64::from(route::FIRST_DAY);
    let mut located = false;
    if let Some(start) = way.place(0) {
        position(&start, found);
        located = start.is_located();
        places.meet(&start, way);
    }
    for leg in (1..=way.length()).filter_map(|node| way.place(node)) {
        if let Some(stated) = leg.day.sound() {
            if stated < day {
                let says = format!("must be {day} or more, as on the leg before, got {stated}");
                leg.tell("day", says, found);
            }
            day = stated.max(day);
        }
        let was_located = located;
        located = leg.is_located();
        let measurable = leg.distance_km.is_there() || leg.has_track || (was_located && located);
        if !measurable {
            let says =
                "is missing; needed unless the leg has a track or both its places have lat and lon";
            leg.tell("distance_km", says.to_owned(), found);
        }
        within_leg(&leg, found);
        places.meet(&leg, way);
    }
    found.append(places.found);
}

/// Tells what is wrong within one leg.
pub(super) fn within<'a>(way: &impl Way<'a>, leg: usize, found: &mut Found) {
    if let Some(leg) = way.place(leg + 1) {
        within_leg(&leg, found);
    }
}

fn within_leg(leg: &Link<'_>, found: &mut Found) {
    position(leg, found);
    shares(leg, found);
    climbs(leg, found);
}

/// Tells of a latitude without a longitude and the reverse.
fn position(place: &Link<'_>, found: &mut Found) {
    let (lat, lon) = (("lat", &place.lat), ("lon", &place.lon));
    for ((there, stated), (missing, other)) in [(lat, lon), (lon, lat)] {
        if stated.is_there() && !other.is_there() {
            let says = format!("is missing; needed beside `{there}`");
            place.tell(missing, says, found);
        }
    }
}

/// Sand and low range overlap at least by what their sum is over 1, at most by the smaller of them.
fn shares(leg: &Link<'_>, found: &mut Found) {
    let (Some(sand), Some(low), Some(both)) = (
        leg.sand_share.or(0.0),
        leg.low_range_share.or(0.0),
        leg.both_share.sound(),
    ) else {
        return;
    };
    let (least, most) = ((sand + low - 1.0).max(0.0), sand.min(low));
    if !(least - ROUNDING..=most + ROUNDING).contains(&both) {
        let range = if least < most {
            format!("{} to {most}", short(least))
        } else {
            most.to_string()
        };
        let says = format!(
            "must be {range} with a sand share of {sand} and a low-range share of {low}, got {both}"
        );
        leg.tell("both_share", says, found);
    }
}

/// A sum of decimals without the noise of its last bits.
fn short(sum: f64) -> f64 {
    (sum * 1e6).round() / 1e6
}

/// Climbs and descents at their grades must fit into the length of the leg.
fn climbs(leg: &Link<'_>, found: &mut Found) {
    // What is not stated is as steep as can be.
    let Kind::Number { max: steepest, .. } = GRADE else {
        return;
    };
    let (Some(km), Some(up), Some(down), Some(up_grade), Some(down_grade)) = (
        leg.distance_km.sound(),
        leg.ascent_m.or(0.0),
        leg.descent_m.or(0.0),
        leg.ascent_grade.or(steepest),
        leg.descent_grade.or(steepest),
    ) else {
        return;
    };
    let needed_km = (up / up_grade + down / down_grade) / 1000.0;
    if needed_km > km * (1.0 + ROUNDING) {
        let key = if leg.ascent_m.is_there() {
            "ascent_m"
        } else {
            "descent_m"
        };
        let says = format!(
            "must fit into the leg's {km} km, got {up} m up at a grade of {up_grade} and {down} m down at {down_grade}, which take {needed_km:.1} km"
        );
        leg.tell(key, says, found);
    }
}

/// The places met so far by their names. Two of one name are one place: one position, one pump.
struct Places<'a> {
    first: HashMap<&'a str, First>,
    found: Found,
}

/// The number of the place where something of it is stated first.
#[derive(Default)]
struct First {
    position: Option<usize>,
    pump: Option<usize>,
}

impl<'a> Places<'a> {
    fn of_at_most(count: usize) -> Self {
        Self {
            first: HashMap::with_capacity(count),
            found: Found::default(),
        }
    }

    /// Tells what of a place is not as where it was stated first.
    fn meet(&mut self, place: &Link<'a>, way: &impl Way<'a>) {
        let position = place.position();
        let Some(name) = place.name else { return };
        if position.is_none() && place.fuel.is_none() {
            return;
        }
        let first = self.first.entry(name).or_default();
        if let Some(here) = position {
            match first.position.and_then(|node| way.place(node)) {
                None => first.position = Some(place.node),
                Some(first) => same_position(name, &first, place, here, &mut self.found),
            }
        }
        if let Some(here) = place.fuel {
            match first.pump.and_then(|node| way.place(node)) {
                None => first.pump = Some(place.node),
                Some(first) => same_pump(name, &first, place, here, &mut self.found),
            }
        }
    }
}

fn same_position(
    name: &str,
    first: &Link<'_>,
    place: &Link<'_>,
    here: [(&str, f64); 2],
    found: &mut Found,
) {
    for ((key, there), (_, here)) in first.position().into_iter().flatten().zip(here) {
        if (there - here).abs() > SAME_PLACE_DEGREES {
            let says = format!(
                "must be as at {}, since both are `{name}`: {there} there, got {here}",
                first.pointer(key)
            );
            place.tell(key, says, found);
        }
    }
}

fn same_pump(name: &str, first: &Link<'_>, place: &Link<'_>, here: Pump, found: &mut Found) {
    for ((key, there), (_, here)) in first.fuel.into_iter().flatten().zip(here) {
        // A price that is not stated is unknown; litres that are not stated are without end.
        let unknown = key == "price_per_l" && (there.is_none() || here.is_none());
        if there != here && !unknown {
            let told = |value: Option<f64>| {
                value.map_or("as much as one likes".to_owned(), |v| v.to_string())
            };
            let says = format!(
                "must be as at {}, since both are `{name}`: `{key}` is {} there, got {}",
                first.pointer("fuel"),
                told(there),
                told(here)
            );
            place.tell("fuel", says, found);
        }
    }
}
