//! The five answers at a glance: whether to go, with how many litres in which cans, where the margin is smallest, whether
//! the load is legal, and where to decide to turn back.
//!
//! The head of the screen and page 1 of the printed report are both made of them. All figures are those of the target
//! plan; without a simulation they are best estimates, and there is no verdict.

use super::number::{Toward, Units, odds, outcome};
use super::{load, margin, under_way, verdict};
use crate::plan::doubt::MOST_LEGS;
use crate::plan::progress::Advice;
use crate::plan::{CheckKind, FuelCheck, LoadBar, Plan, Verdict};
use crate::quantity::{Kilograms, Litres};

/// The verdict in a word or two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "`words` has them")]
pub enum Badge {
    Go,
    NoGo,
    Continue,
    FillThenContinue,
    TurnBack,
    NeitherAdvised,
    Return,
    Finished,
    /// Nothing was simulated, so there is no verdict.
    BestEstimate,
}

impl Badge {
    /// The badge of a plan.
    pub fn new(plan: &Plan) -> Self {
        if verdict::is_finished(plan) {
            return Self::Finished;
        }
        if plan.doubt.is_none() {
            return Self::BestEstimate;
        }
        if verdict::is_forbidden_by_other_than_fuel(plan) {
            return Self::NoGo;
        }
        match plan.now().map(|now| now.advice) {
            _ if plan.is_return => Self::Return,
            Some(Advice::Continue) => Self::Continue,
            Some(Advice::Fill) => Self::FillThenContinue,
            Some(Advice::TurnBack) => Self::TurnBack,
            Some(Advice::Neither) => Self::NeitherAdvised,
            None if verdict::may_go(plan) => Self::Go,
            None => Self::NoGo,
        }
    }

    /// Its words, at most 15 letters.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Go => "GO",
            Self::NoGo => "NO-GO",
            Self::Continue => "CONTINUE",
            Self::FillThenContinue => "FILL, CONTINUE",
            Self::TurnBack => "TURN BACK",
            Self::NeitherAdvised => "NEITHER ADVISED",
            Self::Return => "RETURN",
            Self::Finished => "FINISHED",
            Self::BestEstimate => "BEST ESTIMATE",
        }
    }
}

/// How an answer compares with what it is measured by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// The target or the limit is met.
    Met,
    /// It is missed or exceeded.
    Missed,
    /// No sign, because there is nothing to be met.
    None,
}

/// One answer: `load`, met, `+4 kg, rear carrier`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// What is answered: `fuel`, `load`, `finish`, `decide`, or `return` where there is nothing to decide.
    pub name: &'static str,
    /// Whether the target or the limit is met.
    pub sign: Sign,
    /// In a few words, and in fewer.
    pub text: [String; 2],
}

/// The answers of one plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answers {
    /// The verdict as a word and its colour.
    pub badge: Badge,
    /// Fuel in cans, and under way what is on board, as one line: in full, in fewer words, in as few as can be. What forbids
    /// setting out comes first where none of the four answers shows it.
    pub fuel_in_cans: [String; 3],
    /// Fuel, load, finish, decide.
    pub four: [Answer; 4],
}

impl Answers {
    /// The answers of a plan.
    pub fn new(plan: &Plan, units: Units) -> Self {
        let four = [
            fuel(plan, units),
            load(plan, units),
            finish(plan),
            decide(plan, units),
        ];
        let in_cans = fuel_in_cans(plan, units);
        let is_shown = four.iter().any(|answer| answer.sign == Sign::Missed);
        Self {
            badge: Badge::new(plan),
            fuel_in_cans: match verdict::other_than_fuel_and_load(plan, units) {
                Some(reason) if !is_shown => after(&reason, in_cans),
                _ => in_cans,
            },
            four,
        }
    }
}

/// Why it is a NO-GO, before the fuel in cans as far as there is room for both.
fn after(reason: &str, [long, short, _]: [String; 3]) -> [String; 3] {
    [
        format!("{reason}; {long}"),
        format!("{reason}; {short}"),
        reason.to_owned(),
    ]
}

/// What is carried in cans and what is needed; under way what is on board and what continuing and returning need.
fn fuel_in_cans(plan: &Plan, units: Units) -> [String; 3] {
    if let Some(progress) = plan.progress.as_deref() {
        let here = under_way::here(progress, units);
        let long = match plan.now() {
            Some(now) if !plan.is_return => {
                format!("{here} {}", under_way::needs(plan, &now, units))
            }
            _ => here.clone(),
        };
        let on_board = units.fuel_tenths(progress.on_board, Toward::Down);
        return [long, here, format!("{on_board} on board")];
    }
    let in_cans = &plan.in_cans;
    if plan.trip.legs.len() > MOST_LEGS {
        let text = "too long to simulate, no verdict".to_owned();
        return [text.clone(), text, "too long to simulate".to_owned()];
    }
    let standard = match &plan.doubt {
        Some(doubt) => format!("at {}", odds(doubt.success_target)),
        None => "by the best estimate".to_owned(),
    };
    let carried = units.fuel_tenths(in_cans.carried, Toward::Down);
    let needed = verdict::needed(plan, units);
    let count = verdict::counted(plan.cans() as usize, "can", "cans");
    let short = match plan.verdict() {
        Verdict::FuelShort(short) => {
            format!(
                "{} short {standard}: ",
                units.fuel_tenths(short, Toward::Up)
            )
        }
        _ => String::new(),
    };
    // What is short comes before what is carried.
    let shortest = |carried: &str| match plan.verdict() {
        Verdict::FuelShort(litres) => format!("{} short", units.fuel_tenths(litres, Toward::Up)),
        _ => carried.to_owned(),
    };
    let needed = if short.is_empty() {
        format!("{needed} needed {standard}")
    } else {
        format!("{needed} needed")
    };
    if in_cans.cans.is_empty() {
        return if in_cans.needed > Litres::ZERO || !short.is_empty() {
            let text = format!("{short}no cans, {needed}");
            [text.clone(), text, shortest("no cans")]
        } else {
            let text = format!("the tank alone: no fuel in cans needed {standard}");
            let brief = "the tank alone".to_owned();
            [text, brief.clone(), brief]
        };
    }
    [
        format!(
            "{short}{carried} in cans ({}), {needed}",
            verdict::carried(&in_cans.cans)
        ),
        format!("{short}{carried} in {count}, {needed}"),
        shortest(&format!("{carried} in {count}")),
    ]
}

/// The smallest margin over the reserve, or where the fuel first falls below it.
fn fuel(plan: &Plan, units: Units) -> Answer {
    let smallest = margin::smallest(plan);
    let is_met = smallest.is_none_or(|(margin, _)| !units.margin(margin).number.starts_with('-'));
    let text = smallest.map_or_else(
        || "-".to_owned(),
        |(margin, leg)| format!("{}, leg {leg}", units.margin(margin)),
    );
    Answer {
        name: "fuel",
        sign: sign(is_met),
        text: [text.clone(), text],
    }
}

/// The limit that leaves least, or the one that is exceeded most, with its margin.
pub(super) fn tightest_limit(plan: &Plan) -> Option<(&LoadBar, Kilograms)> {
    let bars = plan.load.bars.iter();
    bars.filter_map(|bar: &LoadBar| Some((bar, bar.left()?)))
        .min_by(|a, b| a.1.get().total_cmp(&b.1.get()))
}

fn load(plan: &Plan, units: Units) -> Answer {
    let (sign, text) = match tightest_limit(plan) {
        None => (
            Sign::None,
            ["no limit set", "no limit set"].map(str::to_owned),
        ),
        Some((bar, left)) => {
            let (sign, margin) = if bar.is_over() {
                let over = units.mass(-left, Toward::Up);
                (Sign::Missed, format!("{over} over"))
            } else {
                let left = units.mass_margin(left.max(Kilograms::ZERO));
                (Sign::Met, left.to_string())
            };
            let names = [load::name(bar.what), load::short_name(bar.what)];
            (sign, names.map(|name| format!("{margin}, {name}")))
        }
    };
    Answer {
        name: "load",
        sign,
        text,
    }
}

/// The share of simulated trips that finish with the reserve intact.
fn finish(plan: &Plan) -> Answer {
    let doubt = plan.doubt.as_ref();
    let share = doubt.map(|doubt| outcome(doubt.outcomes.finish_reserve_intact.share));
    let text = share.unwrap_or_else(|| "not simulated".to_owned());
    let is_missed = doubt.is_some() && verdict::misses_target(plan);
    Answer {
        name: "finish",
        sign: if is_missed { Sign::Missed } else { Sign::None },
        text: [text.clone(), text],
    }
}

/// The next decision point, or whether a return is possible where there is none.
fn decide(plan: &Plan, units: Units) -> Answer {
    let check = decision_point(plan);
    let (name, text) = match (Badge::new(plan), check) {
        (Badge::Finished, _) => ("decide", "-".to_owned()),
        (Badge::TurnBack, _) => ("turn back", "now".to_owned()),
        (_, Some(check)) => {
            let at = units.at(check.at_km, Toward::Nearest);
            ("decide", format!("at {at}"))
        }
        (_, None) if plan.stages.iter().any(|stage| stage.turn_back.is_some()) => {
            ("return", "possible".to_owned())
        }
        (_, None) => ("return", "not possible".to_owned()),
    };
    Answer {
        name,
        sign: Sign::None,
        text: [text.clone(), text],
    }
}

/// The first decision point that is still ahead.
pub(crate) fn decision_point(plan: &Plan) -> Option<&FuelCheck> {
    let here = plan.here();
    let mut checks = plan.fuel_checks.iter();
    checks.find(|check| {
        check.kind == CheckKind::Decision && here.is_none_or(|here| check.at_km >= here)
    })
}

const fn sign(is_met: bool) -> Sign {
    if is_met { Sign::Met } else { Sign::Missed }
}
