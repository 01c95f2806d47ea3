//! What a map shows along a part of a track: distance by surface, hazards, speed limits, and where the surface changes.

use super::matching::{Matched, ROUGH_FROM, Step};
use super::network::Network;
use super::tags::Ground;
use crate::model::vocabulary::{Hazard, Surface};
use crate::quantity::{KilometresPerHour, Metres, Share};

/// Grounds that a track's grade only suggests count half as known.
const SUGGESTED: f64 = 0.5;
/// A surface on a smaller part of a leg is that of the legs before and after it.
const LEAST_SURFACE: f64 = 0.05;
/// A way is driven from so many metres on: a fix at a crossing is on every way that meets there.
const LEAST_OF_PIECE: f64 = 0.01;
/// Hazards of a way that was driven over less than this are those of a junction.
const LEAST_OF_WAY: Metres = Metres::new(25.0);
/// Length of the windows that each have one surface, and the most windows of a track.
const WINDOW: Metres = Metres::new(100.0);
const MOST_WINDOWS: f64 = 2000.0;
/// A ferry crossing of this length is a part of its own.
const LEAST_FERRY: Metres = Metres::new(500.0);

/// A track with what it was driven on.
pub struct Along {
    steps: Vec<Shown>,
    sigma: Metres,
    spacing: Metres,
}

/// A step with what its ways show.
struct Shown {
    from: Metres,
    to: Metres,
    ground: Ground,
    probability: f64,
    /// Probability of a ground whose surface is known, those that are only suggested at half.
    known: f64,
    ways: Vec<i64>,
    hazards: Vec<(Hazard, Metres)>,
    /// Limit times metres, and metres with a limit.
    limit: (f64, f64),
}

/// What a part of a track was driven on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Summary {
    /// Length of the part.
    pub length: Metres,
    /// Length by likeliest ground, the longest first.
    pub grounds: Vec<(Ground, Metres)>,
    /// Share whose surface is known.
    pub known: Share,
    /// Mean probability of the surface taken, where one is.
    pub probability: Share,
    /// Numbers of the ways, in driving order.
    pub ways: Vec<i64>,
    /// Hazards, with where each is first met, from the start of the part, and its length.
    pub hazards: Vec<(Hazard, Metres, Metres)>,
    /// Mean speed limit, and the share of the distance that has one.
    pub limit: Option<(KilometresPerHour, Share)>,
}

/// What a leg would be cut by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Surface(Surface),
    Unknown,
    Ferry,
}

/// A run of one kind.
struct Run {
    kind: Kind,
    from: Metres,
    to: Metres,
}

impl Run {
    fn length(&self) -> Metres {
        self.to - self.from
    }

    fn is_short(&self, shortest: Metres) -> bool {
        let least = if self.kind == Kind::Ferry {
            LEAST_FERRY.min(shortest)
        } else {
            shortest
        };
        self.length() < least
    }
}

impl Along {
    /// What the ways of a network show along a matched track.
    pub fn new(network: &Network, matched: &Matched) -> Self {
        Self {
            steps: matched
                .steps
                .iter()
                .map(|step| Shown::new(network, step))
                .collect(),
            sigma: matched.sigma,
            spacing: matched.spacing,
        }
    }

    /// Whether fixes are so far apart that another way may have been driven between them.
    pub fn is_rough(&self) -> bool {
        self.spacing > ROUGH_FROM
    }

    /// Standard deviation of the fixes' distance from the ways.
    pub const fn sigma(&self) -> Metres {
        self.sigma
    }

    /// What the part between two distances along the track was driven on.
    pub fn summary(&self, from: Metres, to: Metres) -> Summary {
        let mut summary = Summary::default();
        let mut grounds = [Metres::ZERO; Ground::COUNT];
        let (mut known, mut sure, mut with_surface) = (0.0, 0.0, 0.0);
        let (mut limit, mut limited) = (0.0, 0.0);
        let first = self.steps.partition_point(|step| step.to <= from);
        for step in self.steps[first..].iter().take_while(|step| step.from < to) {
            let inside = step.to.min(to) - step.from.max(from);
            let share = if step.to > step.from {
                inside / (step.to - step.from)
            } else {
                0.0
            };
            let begins = summary.length;
            summary.length += inside;
            grounds[step.ground.index()] += inside;
            known += step.known * inside.get();
            if step.ground.surface().is_some() {
                sure += step.probability * inside.get();
                with_surface += inside.get();
            }
            limit += step.limit.0 * share;
            limited += step.limit.1 * share;
            for way in &step.ways {
                if summary.ways.last() != Some(way) {
                    summary.ways.push(*way);
                }
            }
            for &(hazard, length) in &step.hazards {
                let length = length * share;
                match summary
                    .hazards
                    .iter_mut()
                    .find(|(known, ..)| *known == hazard)
                {
                    Some((_, _, sum)) => *sum += length,
                    None => summary.hazards.push((hazard, begins, length)),
                }
            }
        }
        summary
            .hazards
            .retain(|(hazard, _, length)| *hazard == Hazard::Ford || *length >= LEAST_OF_WAY);
        summary.grounds = Ground::all()
            .zip(grounds)
            .filter(|(_, length)| *length > Metres::ZERO)
            .collect();
        summary
            .grounds
            .sort_by(|a, b| b.1.get().total_cmp(&a.1.get()));
        let length = summary.length.get();
        if length > 0.0 {
            summary.known = Share::new((known / length).clamp(0.0, 1.0));
            if limited > 0.0 {
                let share = Share::new((limited / length).min(1.0));
                summary.limit = Some((KilometresPerHour::new(limit / limited), share));
            }
        }
        if with_surface > 0.0 {
            summary.probability = Share::new(sure / with_surface);
        }
        summary
    }

    /// Where a part of the track changes its surface for `shortest` or longer.
    pub fn changes(&self, from: Metres, to: Metres, shortest: Metres) -> Vec<Metres> {
        let mut runs = self.runs(from, to);
        while runs.len() > 1 {
            let by_length = |a: &&Run, b: &&Run| a.length().get().total_cmp(&b.length().get());
            let shorts = runs.iter().filter(|run| run.is_short(shortest));
            let Some(least) = shorts.min_by(by_length) else {
                break;
            };
            let at = runs
                .iter()
                .position(|run| std::ptr::eq(run, least))
                .unwrap_or_default();
            absorb(&mut runs, at);
        }
        runs.iter().skip(1).map(|run| run.from).collect()
    }
}

impl Along {
    /// A part of the track in windows, each of the kind that most of it has; windows of one kind are joined.
    fn runs(&self, from: Metres, to: Metres) -> Vec<Run> {
        let to = to.min(self.steps.last().map_or(from, |step| step.to));
        let window = WINDOW.max((to - from) / MOST_WINDOWS);
        let mut runs: Vec<Run> = Vec::new();
        let mut next = self.steps.partition_point(|step| step.to <= from);
        let mut begin = from;
        while begin < to {
            let end = (begin + window).min(to);
            let mut kinds: Vec<(Kind, Metres)> = Vec::new();
            while let Some(step) = self.steps.get(next) {
                let inside = step.to.min(end) - step.from.max(begin);
                let kind = step.kind();
                match kinds.iter_mut().find(|(known, _)| *known == kind) {
                    Some((_, length)) => *length += inside,
                    None => kinds.push((kind, inside)),
                }
                if step.to > end {
                    break;
                }
                next += 1;
            }
            let most = kinds.iter().max_by(|a, b| a.1.get().total_cmp(&b.1.get()));
            let kind = most.map_or(Kind::Unknown, |(kind, _)| *kind);
            match runs.last_mut() {
                Some(last) if last.kind == kind => last.to = end,
                _ => runs.push(Run {
                    kind,
                    from: begin,
                    to: end,
                }),
            }
            begin = end;
        }
        runs
    }
}

/// Gives a run to the longer of its neighbours, and joins neighbours that are then alike.
fn absorb(runs: &mut Vec<Run>, at: usize) {
    let length = |n: Option<usize>| n.and_then(|n| runs.get(n)).map(Run::length);
    let (before, after) = (length(at.checked_sub(1)), length(Some(at + 1)));
    let to_before = before > after;
    let gone = runs.remove(at);
    if to_before {
        runs[at - 1].to = gone.to;
    } else {
        runs[at].from = gone.from;
    }
    let seam = if to_before { at } else { at.max(1) };
    for seam in [seam, seam.saturating_sub(1)] {
        if seam > 0 && seam < runs.len() && runs[seam].kind == runs[seam - 1].kind {
            let joined = runs.remove(seam);
            runs[seam - 1].to = joined.to;
        }
    }
}

impl Shown {
    fn new(network: &Network, step: &Step) -> Self {
        let (ground, probability) = step.taken();
        let known = Ground::all().zip(step.grounds).map(|(ground, share)| {
            f64::from(share)
                * match ground.surface() {
                    None => 0.0,
                    Some(_) if ground.is_stated() => 1.0,
                    Some(_) => SUGGESTED,
                }
        });
        let mut shown = Self {
            from: step.from,
            to: step.to,
            ground,
            probability,
            known: known.sum(),
            ways: Vec::new(),
            hazards: Vec::new(),
            limit: (0.0, 0.0),
        };
        if ground == Ground::Unmapped {
            return shown;
        }
        // Along a bend the way is longer than the step.
        let whole: f64 = step.pieces.iter().map(|piece| piece.1).sum();
        let scale = if whole > 0.0 {
            (step.to - step.from).get() / whole
        } else {
            0.0
        };
        let driven = step.pieces.iter().filter(|piece| piece.1 > LEAST_OF_PIECE);
        for &(segment, metres) in driven {
            let way = network.way_id(segment);
            if shown.ways.last() != Some(&way) {
                shown.ways.push(way);
            }
            let metres = metres * scale;
            let tags = network.tags(segment);
            if let Some(limit) = tags.limit {
                shown.limit.0 += limit.get() * metres;
                shown.limit.1 += metres;
            }
            let hazards = network.hazards(segment);
            for hazard in Hazard::ALL.iter().copied().filter(|one| hazards.has(*one)) {
                shown.hazards.push((hazard, Metres::new(metres)));
            }
        }
        shown
    }

    fn kind(&self) -> Kind {
        if self
            .hazards
            .iter()
            .any(|(hazard, _)| *hazard == Hazard::Ferry)
        {
            return Kind::Ferry;
        }
        self.ground.surface().map_or(Kind::Unknown, Kind::Surface)
    }
}

impl Summary {
    /// The surface of most of the distance without sand; `None` if the map shows none for more than the ends.
    pub fn surface(&self) -> Option<Surface> {
        let mut by_surface = [Metres::ZERO; Surface::ALL.len()];
        for (ground, length) in &self.grounds {
            if let Some(surface) = ground.surface().filter(|_| *ground != Ground::Sand) {
                by_surface[surface as usize] += *length;
            }
        }
        let longest = Surface::ALL.iter().max_by(|a, b| {
            by_surface[**a as usize]
                .get()
                .total_cmp(&by_surface[**b as usize].get())
        })?;
        let least = LEAST_SURFACE * self.length.get();
        if by_surface[*longest as usize].get() > least {
            return Some(*longest);
        }
        (self.of(Ground::Sand).get() > least).then_some(Surface::Earth)
    }

    /// Length on a ground.
    pub fn of(&self, ground: Ground) -> Metres {
        let of = self.grounds.iter().filter(|(known, _)| *known == ground);
        of.map(|(_, length)| *length).sum()
    }

    /// Share of the length on ways with a hazard.
    pub fn share_of(&self, hazard: Hazard) -> Share {
        let of = self.hazards.iter().filter(|(known, ..)| *known == hazard);
        let length: Metres = of.map(|(_, _, length)| *length).sum();
        if self.length > Metres::ZERO {
            Share::new((length / self.length).min(1.0))
        } else {
            Share::ZERO
        }
    }
}
