//! One simulated trip, driven under the instructions.

use drystage::consumption::usage::Usage;
use drystage::quantity::{Litres, Share};

use super::draws::Draw;
use super::ground::{Ground, first};
use super::instructions::{Asked, Instructions, Stop};

/// Spilt and left in a can at each decanting.
const LOST: f64 = 0.2;
/// The tank alone keeps this part of itself on rough ground.
const LOWEST_ON_ROUGH: f64 = 0.12;
/// Litres that differ by less are equal.
const HAIR: f64 = 1e-6;

/// How a trip ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    FinishReserveIntact,
    FinishUsingReserve,
    TurnedBackReserveIntact,
    TurnedBackUsingReserve,
    RanOut,
}

/// A trip that was driven.
#[derive(Clone, Debug)]
pub struct Driven {
    pub ending: Ending,
    /// The fuel check that turned it back.
    pub turned_back_at: Option<usize>,
    /// Whether at some check the fuel was enough neither to continue nor to return.
    pub neither: bool,
    /// What each check that was reached found.
    pub found: Vec<Option<Found>>,
    /// The leg on which it ran out on the route out.
    pub ran_out_on: Option<usize>,
    /// Whether it came to the stop that is without fuel.
    pub met_dry: bool,
}

/// What a check finds.
#[derive(Clone, Copy, Debug)]
pub struct Found {
    pub on_board: f64,
    /// Litres from stops that are not relied on, since the last full fill.
    pub lucky: f64,
}

/// Which fuel stops have fuel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fuel {
    /// By their chances.
    AsDrawn,
    /// All that are relied on.
    ReliedOn,
    /// All that are relied on but the one of this number.
    Without(usize),
}

/// Which fuel checks are obeyed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Checks {
    None,
    /// All of them, read with a gauge of this standard deviation.
    All {
        gauge: f64,
    },
}

/// What a driver does who finds no fuel at the stop of a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AtDry {
    AsChecked,
    /// Continue to the next refuge, whatever the checks say.
    Continue,
    /// Return.
    Return,
}

/// How the trips are driven.
#[derive(Clone, Copy, Debug)]
pub struct Manner {
    /// Whether stops that are not relied on may have fuel.
    pub luck: bool,
    pub fuel: Fuel,
    pub checks: Checks,
    pub at_dry: AtDry,
    /// Where to turn back whatever the checks say: kilometre and place to return to.
    pub turn_at: Option<(f64, usize)>,
    /// Whether limited stops fill the tank to the brim, as instructions of version 1 mean it.
    pub brim_at_limited: bool,
}

impl Manner {
    /// As printed, luck included.
    pub const AS_PRINTED: Self = Self {
        luck: true,
        fuel: Fuel::AsDrawn,
        checks: Checks::All { gauge: 0.0 },
        at_dry: AtDry::AsChecked,
        turn_at: None,
        brim_at_limited: false,
    };
}

/// Everything that does not change from one simulated trip to the next.
pub struct Course<'a> {
    pub ground: &'a Ground,
    pub instructions: &'a Instructions,
    pub manner: Manner,
}

impl Course<'_> {
    /// Whether a trip can end or start anew at a place: the finish, or a confirmed, unlimited stop that is relied on.
    pub fn is_refuge(&self, place: usize) -> bool {
        place == self.ground.legs.len()
            || self.ground.stops[place].is_some_and(|there| {
                let stop = self.instructions.stop(place);
                self.ground.stocks[there.number].is_none()
                    && stop.is_some_and(|stop| stop.relied_on && stop.chance >= 1.0)
            })
    }

    /// The nearest refuge before a place, where every leg back to it can be driven the other way.
    pub fn refuge_before(&self, place: usize) -> Option<usize> {
        let to = (0..place).rev().find(|&place| self.is_refuge(place))?;
        let legs = &self.ground.legs[to..place];
        legs.iter().all(|leg| leg.back.is_some()).then_some(to)
    }

    /// The next refuge from a place on.
    pub fn refuge_from(&self, place: usize) -> usize {
        let finish = self.ground.legs.len();
        (place..finish)
            .find(|&place| self.is_refuge(place))
            .unwrap_or(finish)
    }
}

/// A vehicle on its way.
struct Vehicle<'a> {
    course: &'a Course<'a>,
    draw: &'a Draw,
    tank: f64,
    /// Litres in each can.
    cans: Vec<f64>,
    /// What is left of each stock.
    left: Vec<Option<f64>>,
    /// Litres from stops that are not relied on, since the last full fill.
    lucky: f64,
    reserve_intact: bool,
    /// Whether it continues to the next refuge, whatever the checks say.
    to_refuge: bool,
    driven: Driven,
}

/// Why a trip does not go on.
enum End {
    RanOut,
    /// From a leg, after a part of it, to a place.
    Return {
        leg: usize,
        part: f64,
        to: usize,
    },
    /// Turned back at a refuge itself.
    AtRefuge,
}

/// Drives one trip.
pub fn drive(course: &Course<'_>, draw: &Draw) -> Driven {
    let [tank, mut in_cans] = course.ground.start;
    let cans = course.instructions.cans.iter().map(|fill| {
        let litres = fill.min(in_cans);
        in_cans -= litres;
        litres
    });
    let mut vehicle = Vehicle {
        draw,
        course,
        tank: tank.min(course.ground.tank),
        cans: cans.collect(),
        left: course.ground.stocks.clone(),
        lucky: 0.0,
        reserve_intact: true,
        to_refuge: false,
        driven: Driven {
            ending: Ending::RanOut,
            turned_back_at: None,
            neither: false,
            found: vec![None; course.instructions.checks.len()],
            ran_out_on: None,
            met_dry: false,
        },
    };
    let ending = match vehicle.out() {
        Ok(()) if vehicle.reserve_intact => Ending::FinishReserveIntact,
        Ok(()) => Ending::FinishUsingReserve,
        Err(End::RanOut) => Ending::RanOut,
        Err(End::AtRefuge) if vehicle.reserve_intact => Ending::TurnedBackReserveIntact,
        Err(End::AtRefuge) => Ending::TurnedBackUsingReserve,
        Err(End::Return { leg, part, to }) => {
            // Of a turn-back point the return alone is asked.
            vehicle.reserve_intact |= course.manner.turn_at.is_some();
            vehicle.back(leg, part, to)
        }
    };
    Driven {
        ending,
        ..vehicle.driven
    }
}

impl Vehicle<'_> {
    fn on_board(&self) -> f64 {
        self.tank + self.cans.iter().sum::<f64>()
    }

    /// All legs, as far as it goes.
    fn out(&mut self) -> Result<(), End> {
        for place in 0..self.course.ground.legs.len() {
            self.at_place(place)?;
            self.decant();
            self.leg(place)?;
            self.look(place + 1)?;
            let is_here = |km: f64| (km - self.course.ground.legs[place].to_km).abs() < 1e-9;
            if let Some((_, to)) = self.course.manner.turn_at.filter(|&(km, _)| is_here(km)) {
                return Err(End::Return {
                    leg: place,
                    part: 1.0,
                    to,
                });
            }
            if self.to_refuge && self.is_refuge(place + 1) {
                return Ok(());
            }
        }
        Ok(())
    }

    /// Takes note of the reserve on arrival at a place.
    fn look(&mut self, place: usize) -> Result<(), End> {
        if self.on_board() < self.course.ground.reserve[place] - HAIR {
            self.reserve_intact = false;
        }
        self.has_not_run_out(place.saturating_sub(1))
    }

    fn has_not_run_out(&mut self, leg: usize) -> Result<(), End> {
        if self.on_board() < -HAIR {
            self.driven.ran_out_on = Some(leg);
            return Err(End::RanOut);
        }
        Ok(())
    }

    fn is_refuge(&self, place: usize) -> bool {
        self.course.is_refuge(place)
    }

    fn has_fuel(&self, number: usize, relied_on: bool) -> bool {
        match self.course.manner.fuel {
            Fuel::AsDrawn => self.draw.has_fuel[number],
            Fuel::ReliedOn => relied_on || self.draw.has_fuel[number],
            Fuel::Without(missing) => {
                number != missing && (relied_on || self.draw.has_fuel[number])
            }
        }
    }

    /// Checks the fuel on arrival, then fills, or checks again where there is no fuel.
    fn at_place(&mut self, place: usize) -> Result<(), End> {
        let check = self.course.instructions.check_at(place);
        let (Some(stop), Some(there)) = (
            self.course.instructions.stop(place),
            self.course.ground.stops[place],
        ) else {
            return check.map_or(Ok(()), |check| self.check(check, place, 1.0));
        };
        if !stop.relied_on || !stop.used {
            if let Some(check) = check {
                self.check(check, place, 1.0)?;
            }
            let has_fuel = !stop.relied_on && self.has_fuel(there.number, false);
            if has_fuel && self.course.manner.luck && !there.off_route {
                self.top_up(there.number);
            }
            return Ok(());
        }
        let is_missing = self.course.manner.fuel == Fuel::Without(there.number);
        self.driven.met_dry |= is_missing;
        // At the start one sees what there is.
        let has_fuel = place == 0 || self.has_fuel(there.number, true);
        // Off the route it is only known at the stop.
        if let Some(check) = check.filter(|_| has_fuel || there.off_route) {
            self.check(check, place, 1.0)?;
        }
        let detour = self.draw.detour(self.course.ground, place);
        self.tank -= detour.litres(Litres::new(self.on_board())).get();
        self.look(place)?;
        let at_stop = self.on_board();
        let pumped = if has_fuel {
            self.fill(stop, there.number, there.detour)
        } else {
            0.0
        };
        self.tank -= detour.litres(Litres::new(self.on_board())).get();
        match check {
            _ if is_missing && self.course.manner.at_dry != AtDry::AsChecked => {
                self.without_fuel(place)
            }
            Some(check) if !has_fuel => self.check_dry(check, place, at_stop),
            Some(check) => self.check_pumped(check, pumped, detour),
            None => Ok(()),
        }
    }

    /// The tank at a stop that is not relied on.
    fn top_up(&mut self, number: usize) {
        let room = self.course.ground.tank - self.tank;
        let taken = room.min(self.left[number].unwrap_or(room)).max(0.0);
        self.tank += taken;
        self.lucky += taken;
        if let Some(left) = &mut self.left[number] {
            *left -= taken;
        }
    }

    /// Fills as instructed; litres pumped.
    fn fill(&mut self, stop: &Stop, number: usize, detour: Usage) -> f64 {
        let full = self.course.ground.tank;
        let brim = self.course.manner.brim_at_limited && self.left[number].is_some();
        let leave_tank = stop.leave_tank.filter(|_| !brim).unwrap_or(full);
        let leave_cans = stop.leave_cans.unwrap_or(0.0);
        let mut may = self.left[number].unwrap_or(f64::INFINITY);
        may = may.min(stop.at_most.unwrap_or(f64::INFINITY)).max(0.0);
        let back = detour.litres(Litres::new(leave_tank + leave_cans)).get();
        let target = (leave_tank + back).min(full);
        let tank = (target - self.tank).min(may).max(0.0);
        self.tank += tank;
        let cans = self.fill_cans(leave_cans, may - tank);
        if let Some(left) = &mut self.left[number] {
            *left -= tank + cans;
        }
        let in_cans: f64 = self.cans.iter().sum();
        if self.tank > target - HAIR && in_cans > leave_cans - HAIR {
            self.lucky = 0.0;
        }
        tank + cans
    }

    /// Whole cans first, as near as they come to what is to be in them; litres filled.
    fn fill_cans(&mut self, target: f64, may: f64) -> f64 {
        let mut filled = 0.0;
        loop {
            let missing = target - self.cans.iter().sum::<f64>();
            if missing <= HAIR || filled >= may - HAIR {
                return filled;
            }
            let fills = &self.course.instructions.cans;
            let room = |can: usize| fills[can] - self.cans[can];
            let open = || (0..self.cans.len()).filter(|&can| room(can) > HAIR);
            let largest = open()
                .filter(|&can| room(can) <= missing + HAIR)
                .max_by(|&a, &b| room(a).total_cmp(&room(b)));
            let smallest = || open().min_by(|&a, &b| room(a).total_cmp(&room(b)));
            let Some(can) = largest.or_else(smallest) else {
                return filled;
            };
            let taken = room(can).min(missing).min(may - filled);
            self.cans[can] += taken;
            filled += taken;
        }
    }

    /// The level of the tank at and below which a can may be decanted, as printed for one of its fill.
    fn level(&self, can: usize) -> f64 {
        let printed = self.course.instructions.decants.iter();
        let mut printed = printed.filter(|(litres, _)| (litres - self.cans[can]).abs() < HAIR);
        printed.next().map_or(
            self.course.ground.tank - (self.cans[can] - LOST).max(0.0),
            |(_, gauge)| gauge - self.course.ground.unusable,
        )
    }

    fn can_to_decant(&self) -> Option<usize> {
        (0..self.cans.len())
            .filter(|&can| self.cans[can] > 0.0 && self.tank <= self.level(can) + HAIR)
            .max_by(|&a, &b| self.cans[a].total_cmp(&self.cans[b]))
    }

    /// Empties every can that fits.
    fn decant(&mut self) {
        while let Some(can) = self.can_to_decant() {
            self.tank += (self.cans[can] - LOST).max(0.0);
            self.cans[can] = 0.0;
        }
    }

    /// Drives a way, after which as much again as `beyond` is burnt before the next halt. En route a can is decanted as
    /// soon as it fits, but only where the tank alone would fall below `keep` before that halt.
    fn over(&mut self, way: Usage, beyond: f64, keep: f64) {
        let mut driven = 0.0;
        loop {
            let rest = first(way, 1.0 - driven);
            let on_board = Litres::new(self.on_board());
            let burnt = rest.litres(on_board).get();
            let next = (0..self.cans.len())
                .filter(|&can| self.cans[can] > 0.0)
                .map(|can| self.level(can))
                .max_by(f64::total_cmp);
            let until = next
                .filter(|_| self.tank - burnt - beyond < keep)
                .and_then(|level| {
                    let burnt = (self.tank - level).max(0.0);
                    rest.part_until(on_board, on_board - Litres::new(burnt))
                });
            let Some(part) = until.map(Share::get).filter(|&part| part < 1.0) else {
                self.tank -= burnt;
                return;
            };
            self.tank -= first(rest, part).litres(on_board).get();
            driven += part * (1.0 - driven);
            self.decant();
        }
    }

    /// Drives a leg, checking the fuel en route.
    fn leg(&mut self, leg: usize) -> Result<(), End> {
        let of = &self.course.ground.legs[leg];
        let way = self.draw.out(self.course.ground, leg);
        let length = of.to_km - of.from_km;
        let reserve = &self.course.ground.reserve;
        let lowest = if of.rough {
            LOWEST_ON_ROUGH * self.course.ground.tank
        } else {
            0.0
        };
        let keep = reserve[leg].max(reserve[leg + 1]).max(lowest);
        let mut points: Vec<(f64, Option<usize>)> = self
            .course
            .instructions
            .checks_between(of.from_km, of.to_km)
            .map(|row| (self.course.instructions.checks[row].at_km, Some(row)))
            .collect();
        let turn = self.course.manner.turn_at;
        let is_here = |(km, _): &(f64, usize)| of.from_km <= *km && *km < of.to_km - 1e-9;
        if let Some((km, _)) = turn.filter(is_here) {
            points.push((km, None));
        }
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut driven = 0.0;
        for (km, row) in points {
            let to = (km - of.from_km) / length;
            let beyond = first(way, 1.0 - to).litres(Litres::new(self.on_board()));
            self.over(first(way, to - driven), beyond.get(), keep);
            driven = to;
            self.has_not_run_out(leg)?;
            match (row, turn) {
                (Some(row), _) => self.check(row, leg + 1, to)?,
                (None, Some((_, home))) => {
                    return Err(End::Return {
                        leg,
                        part: to,
                        to: home,
                    });
                }
                (None, None) => {}
            }
        }
        self.over(first(way, 1.0 - driven), 0.0, keep);
        Ok(())
    }

    /// A fuel check on arrival at a place, or after a part of the leg to it.
    fn check(&mut self, row: usize, place: usize, part: f64) -> Result<(), End> {
        let check = &self.course.instructions.checks[row];
        let on_board = self.on_board();
        self.driven.found[row] = Some(Found {
            on_board,
            lucky: self.lucky,
        });
        let Checks::All { gauge } = self.course.manner.checks else {
            return Ok(());
        };
        if place == 0 || self.to_refuge {
            return Ok(());
        }
        let seen = on_board + gauge * self.draw.gauge;
        check.asks().map_or(Ok(()), |asked| {
            self.decide(row, asked, seen, (place - 1, part))
        })
    }

    /// The rule of a row.
    fn decide(
        &mut self,
        row: usize,
        asked: Asked,
        seen: f64,
        (leg, part): (usize, f64),
    ) -> Result<(), End> {
        let check = &self.course.instructions.checks[row];
        let rise = check.rises_per_litre * self.lucky;
        let has = |litres: f64| seen >= litres - HAIR;
        if asked.continue_with.is_some_and(|litres| has(litres + rise)) {
            return Ok(());
        }
        let Some(to) = check.return_to else {
            self.driven.neither = true;
            return Ok(());
        };
        if !asked.return_with.is_some_and(has) {
            self.driven.neither = true;
            if !asked.returns_if_neither {
                return Ok(());
            }
        }
        self.driven.turned_back_at = Some(row);
        Err(End::Return { leg, part, to })
    }

    /// Continues or returns from the stop without fuel, as it is to be tried out.
    fn without_fuel(&mut self, place: usize) -> Result<(), End> {
        if self.to_refuge {
            return Ok(());
        }
        self.reserve_intact = true;
        match self.course.manner.at_dry {
            AtDry::Return => match self.course.refuge_before(place) {
                Some(to) => Err(End::Return {
                    leg: place - 1,
                    part: 1.0,
                    to,
                }),
                None => Err(End::RanOut),
            },
            AtDry::Continue | AtDry::AsChecked => {
                self.to_refuge = true;
                Ok(())
            }
        }
    }

    /// At a stop that is relied on and has no fuel.
    fn check_dry(&mut self, row: usize, place: usize, at_stop: f64) -> Result<(), End> {
        let check = &self.course.instructions.checks[row];
        self.driven.found[row].get_or_insert(Found {
            on_board: at_stop,
            lucky: self.lucky,
        });
        if self.to_refuge {
            return Ok(());
        }
        match self.course.manner.checks {
            Checks::None => Ok(()),
            Checks::All { gauge } => {
                let seen = at_stop + gauge * self.draw.gauge;
                // Where nothing is taken it does not matter whether there is any.
                let asked = check.asked_if_dry.or_else(|| check.asks());
                asked.map_or(Ok(()), |asked| {
                    self.decide(row, asked, seen, (place - 1, 1.0))
                })
            }
        }
    }

    /// What the litres pumped at an unlimited stop say.
    fn check_pumped(&mut self, row: usize, pumped: f64, back: Usage) -> Result<(), End> {
        let check = &self.course.instructions.checks[row];
        let rows = &check.pumped;
        let advised = rows.iter().position(|[up_to, _]| pumped <= up_to + HAIR);
        let obeys = matches!(self.course.manner.checks, Checks::All { .. });
        // Who never turns back still fills as the table says.
        let last = rows.len().checked_sub(1).filter(|_| !obeys);
        let Some(advised) = advised.or(last) else {
            if rows.is_empty() {
                return Ok(());
            }
            self.driven.turned_back_at = Some(row);
            return Err(End::AtRefuge);
        };
        // The first of several is what was filled already.
        if advised + 1 < rows.len() {
            return Ok(());
        }
        let [_, leave_with] = &rows[advised];
        // More than as planned: the tank to the brim, then cans; what the way back to the route takes is lost first.
        let more = leave_with - self.on_board();
        if more > HAIR {
            let room = self.course.ground.tank - self.tank;
            let lost = if self.course.ground.stops[check.place.unwrap_or(0)]
                .is_some_and(|stop| stop.off_route)
            {
                back.litres(Litres::new(*leave_with)).get()
            } else {
                0.0
            };
            let tank = more.min((room - lost).max(0.0));
            self.tank += tank;
            let in_cans: f64 = self.cans.iter().sum();
            self.fill_cans(in_cans + more - tank, f64::INFINITY);
        }
        Ok(())
    }

    /// Returns over the same legs to a place.
    fn back(&mut self, leg: usize, part: f64, to: usize) -> Ending {
        for at in (to..=leg).rev() {
            let Some(way) = self.draw.back(self.course.ground, at) else {
                return Ending::RanOut;
            };
            self.decant();
            self.over(if at == leg { first(way, part) } else { way }, 0.0, 0.0);
            if self.on_board() < -HAIR {
                return Ending::RanOut;
            }
        }
        let detour = self.draw.detour(self.course.ground, to);
        self.tank -= detour.litres(Litres::new(self.on_board())).get();
        let on_board = self.on_board();
        if on_board < -HAIR {
            Ending::RanOut
        } else if !self.reserve_intact || on_board < self.course.ground.reserve[to] - HAIR {
            Ending::TurnedBackUsingReserve
        } else {
            Ending::TurnedBackReserveIntact
        }
    }
}
