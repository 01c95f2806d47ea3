//! Which ways a track was driven on, as probabilities: hidden-Markov map matching (Newson and Krumm 2009, doi
//! 10.1145/1653771.1653818) with one more state, "on no mapped way".
//!
//! A state is a place on a way near a fix of the track. How far it is from the fix decides how likely the fix is there,
//! and by how much the way between two states differs from the straight line decides how likely the step is. Without
//! the state on no way a track that leaves the map would be forced onto whatever is nearest. Which of two parallel
//! tracks of gravel it was does not matter, so the answer is not the likeliest path but the probability of each
//! [`Ground`] on each step, by the forward–backward algorithm.

use rayon::prelude::*;

use super::network::{Near, Network, Plane};
use super::shortest::{Piece, Search};
use super::tags::Ground;
use crate::model::geodesic;
use crate::model::track::Point;
use crate::quantity::Metres;

/// Fixes nearer to each other are one: more of them repeat the same error of the receiver.
const SPACING: Metres = Metres::new(30.0);
/// Steps longer than this leave room for several ways between two fixes.
pub const ROUGH_FROM: Metres = Metres::new(150.0);
/// Error of a receiver at best, a standard deviation (Newson and Krumm measured 4.07 m).
const LEAST_SIGMA: f64 = 5.0;
/// A track whose median is farther from any way is not a track of roads.
const MOST_SIGMA: f64 = 25.0;
/// From a median distance to a standard deviation of a normal.
const FROM_MEDIAN: f64 = 1.4826;
/// States of a fix are looked for within this distance, or 4 σ.
const RADIUS: f64 = 50.0;
const RADIUS_SIGMAS: f64 = 4.0;
/// States of a fix, and of one way among them.
const MOST_STATES: usize = 10;
const MOST_OF_WAY: usize = 2;
/// Scale of the difference between way and straight line: its least, and as a part of a step, of short steps and of
/// steps that leave room for several ways. Found by trying on drawn routes; a larger scale fills gaps of the map with
/// ways beside them.
const BETA: f64 = 8.0;
const BETA_OF_STEP: f64 = 0.25;
const BETA_OF_ROUGH_STEP: f64 = 0.6;
/// A way may be longer than the straight line by a part of it, by so many times that scale, and by so much at most.
const LONGER: f64 = 1.6;
const LONGER_BETAS: f64 = 12.0;
const LONGER_MOST: f64 = 2000.0;
/// On no way: as likely as a way at this many σ, found on drawn routes as the most that leaves gaps of the map open ...
const NO_WAY_AT: f64 = 1.7;
/// ... and this logarithm for leaving the map or coming back.
const NO_WAY_COST: f64 = 5.0;
/// Pairs of states less likely than this do not count.
const LEAST_PAIR: f64 = 1e-3;
/// Steps that one thread takes at a time.
const CHUNK: usize = 256;

/// What a track was driven on.
#[derive(Clone, Debug, Default)]
pub struct Matched {
    /// Its steps, in order and without gaps.
    pub steps: Vec<Step>,
    /// Standard deviation of the fixes' distance from the ways.
    pub sigma: Metres,
    /// Median length of a step.
    pub spacing: Metres,
}

/// From one fix to the next, or a part of it on one ground.
#[derive(Clone, Debug)]
pub struct Step {
    /// Distance along the track at which the step begins.
    pub from: Metres,
    /// Distance along the track at which the step ends.
    pub to: Metres,
    /// Probability of each ground, by its index.
    pub(crate) grounds: [f32; Ground::COUNT],
    /// Segments of the likeliest way, in driving order.
    pub(crate) pieces: Vec<Piece>,
}

impl Step {
    /// The likeliest ground and its probability.
    pub(crate) fn taken(&self) -> (Ground, f64) {
        let grounds = Ground::all().zip(self.grounds);
        let likeliest = grounds.max_by(|a, b| a.1.total_cmp(&b.1));
        likeliest.map_or((Ground::Unmapped, 0.0), |(ground, share)| {
            (ground, f64::from(share))
        })
    }

    /// Probability of a ground.
    pub fn probability(&self, ground: Ground) -> crate::quantity::Share {
        crate::quantity::Share::new(f64::from(self.grounds[ground.index()]))
    }
}

/// A fix: its place in the network's count, and its distance along the track.
struct Fix {
    place: [f64; 2],
    along: f64,
}

/// Logarithms of the probabilities of steps from each state to each; the last of both is the one on no way.
type Transitions = Vec<Vec<f32>>;

struct Scale {
    sigma: f64,
    radius: f64,
    beta: f64,
}

/// Matches a track to the ways of a network.
pub fn matched(network: &Network, points: &[Point]) -> Matched {
    let fixes = fixes(network, points);
    if fixes.len() < 2 {
        return Matched::default();
    }
    let (scale, spacing) = scale(network, &fixes);
    let states: Vec<Vec<Near>> = fixes
        .par_iter()
        .with_min_len(CHUNK)
        .map(|fix| states(network, fix, scale.radius))
        .collect();
    let transitions: Vec<Transitions> = (0..fixes.len() - 1)
        .into_par_iter()
        .with_min_len(CHUNK)
        .map_init(
            || Search::new(network),
            |search, n| {
                transitions(
                    network,
                    search,
                    &fixes[n..=n + 1],
                    &states[n..=n + 1],
                    &scale,
                )
            },
        )
        .collect();
    let emissions: Vec<Vec<f64>> = states
        .iter()
        .map(|states| {
            let on_way = states.iter().map(|near| (near.off / scale.sigma).powi(2));
            let all = on_way.chain([NO_WAY_AT * NO_WAY_AT]);
            all.map(|square| -0.5 * square).collect()
        })
        .collect();
    let forward = forward(&emissions, &transitions);
    let backward = backward(&emissions, &transitions);
    let steps: Vec<Vec<Step>> = (0..fixes.len() - 1)
        .into_par_iter()
        .with_min_len(CHUNK)
        .map_init(
            || Search::new(network),
            |search, n| {
                let pairs = pairs(
                    &forward[n],
                    &transitions[n],
                    &emissions[n + 1],
                    &backward[n + 1],
                );
                steps(
                    network,
                    search,
                    &fixes[n..=n + 1],
                    &states[n..=n + 1],
                    &pairs,
                    &scale,
                )
            },
        )
        .collect();
    Matched {
        steps: steps.into_iter().flatten().collect(),
        sigma: Metres::new(scale.sigma),
        spacing: Metres::new(spacing),
    }
}

/// The points of a track, thinned.
fn fixes(network: &Network, points: &[Point]) -> Vec<Fix> {
    let mut fixes: Vec<Fix> = Vec::new();
    let mut along = 0.0;
    for (n, point) in points.iter().enumerate() {
        if let Some(before) = n.checked_sub(1).map(|before| &points[before]) {
            along += geodesic::distance(before.position(), point.position()).get();
        }
        let is_last = n + 1 == points.len();
        let step = fixes
            .last()
            .map_or(f64::INFINITY, |last| along - last.along);
        if step >= SPACING.get() || is_last && step > 0.0 {
            fixes.push(Fix {
                place: network.place(point.position()),
                along,
            });
        }
    }
    fixes
}

/// The error of the fixes and what follows from it, and the median step.
fn scale(network: &Network, fixes: &[Fix]) -> (Scale, f64) {
    let mut offs: Vec<f64> = fixes
        .par_iter()
        .with_min_len(CHUNK)
        .filter_map(|fix| {
            let near = network.near(fix.place, Metres::new(RADIUS));
            let offs = near.iter().map(|near| near.off);
            offs.min_by(f64::total_cmp)
        })
        .collect();
    let mut steps: Vec<f64> = fixes
        .windows(2)
        .map(|pair| pair[1].along - pair[0].along)
        .collect();
    let spacing = median(&mut steps);
    let sigma = (FROM_MEDIAN * median(&mut offs)).clamp(LEAST_SIGMA, MOST_SIGMA);
    let beta_of_step = if spacing > ROUGH_FROM.get() {
        BETA_OF_ROUGH_STEP
    } else {
        BETA_OF_STEP
    };
    let scale = Scale {
        sigma,
        radius: RADIUS.max(RADIUS_SIGMAS * sigma),
        beta: BETA.max(beta_of_step * spacing),
    };
    (scale, spacing)
}

fn median(values: &mut [f64]) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// Places on ways that a fix may be at, nearest first.
fn states(network: &Network, fix: &Fix, radius: f64) -> Vec<Near> {
    let mut near = network.near(fix.place, Metres::new(radius));
    near.sort_by(|a, b| a.off.total_cmp(&b.off).then(a.segment.cmp(&b.segment)));
    let mut states: Vec<Near> = Vec::with_capacity(MOST_STATES);
    for place in near {
        let way = |near: &Near| network.segments[near.segment as usize].way;
        let of_way = states.iter().filter(|state| way(state) == way(&place));
        if of_way.count() < MOST_OF_WAY {
            states.push(place);
        }
        if states.len() == MOST_STATES {
            break;
        }
    }
    states
}

fn straight(fixes: &[Fix]) -> f64 {
    Plane::at(fixes[0].place).of(fixes[1].place).length()
}

/// Longest way between two fixes that is looked for.
fn limit(straight: f64, scale: &Scale) -> f64 {
    LONGER * straight + (LONGER_BETAS * scale.beta).min(LONGER_MOST) + 2.0 * scale.radius
}

fn transitions(
    network: &Network,
    search: &mut Search,
    fixes: &[Fix],
    states: &[Vec<Near>],
    scale: &Scale,
) -> Transitions {
    let straight = straight(fixes);
    let limit = limit(straight, scale);
    let mut rows: Transitions = states[0]
        .iter()
        .map(|from| {
            if !states[1].is_empty() {
                search.run(network, from, limit);
            }
            let on_way = states[1]
                .iter()
                .map(|to| match search.distance(network, from, to) {
                    Some(way) if way <= limit => -(way - straight).abs() / scale.beta,
                    _ => f64::NEG_INFINITY,
                });
            short(on_way.chain([-NO_WAY_COST]))
        })
        .collect();
    let back = std::iter::repeat_n(-NO_WAY_COST, states[1].len());
    rows.push(short(back.chain([0.0])));
    rows
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "logarithms of probabilities"
)]
fn short(logs: impl Iterator<Item = f64>) -> Vec<f32> {
    logs.map(|log| log as f32).collect()
}

/// The logarithm of a sum of exponentials.
fn log_sum(logs: impl Iterator<Item = f64> + Clone) -> f64 {
    let most = logs.clone().fold(f64::NEG_INFINITY, f64::max);
    if most == f64::NEG_INFINITY {
        return most;
    }
    most + logs.map(|log| (log - most).exp()).sum::<f64>().ln()
}

/// For each fix the logarithms of its states' probabilities given the fixes so far, up to a constant.
fn forward(emissions: &[Vec<f64>], transitions: &[Transitions]) -> Vec<Vec<f64>> {
    let mut all = vec![emissions[0].clone()];
    for (n, rows) in transitions.iter().enumerate() {
        let before = &all[n];
        let mut now: Vec<f64> = (0..emissions[n + 1].len())
            .map(|to| {
                let from = before
                    .iter()
                    .zip(rows)
                    .map(|(log, row)| log + f64::from(row[to]));
                emissions[n + 1][to] + log_sum(from)
            })
            .collect();
        centre(&mut now);
        all.push(now);
    }
    all
}

/// For each fix the logarithms of the probabilities of all later fixes given its states, up to a constant.
fn backward(emissions: &[Vec<f64>], transitions: &[Transitions]) -> Vec<Vec<f64>> {
    let last = emissions.len() - 1;
    let mut all = vec![vec![0.0; emissions[last].len()]];
    for n in (0..last).rev() {
        let after = &all[last - 1 - n];
        let mut now: Vec<f64> = transitions[n]
            .iter()
            .map(|row| {
                let to = row.iter().zip(&emissions[n + 1]).zip(after);
                log_sum(to.map(|((step, emission), log)| f64::from(*step) + emission + log))
            })
            .collect();
        centre(&mut now);
        all.push(now);
    }
    all.reverse();
    all
}

/// Keeps logarithms near 0; only their differences count.
fn centre(logs: &mut [f64]) {
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if most.is_finite() {
        for log in logs {
            *log -= most;
        }
    }
}

/// Pairs of states before and after a step with their probability, those that count.
fn pairs(
    forward: &[f64],
    rows: &Transitions,
    emissions: &[f64],
    backward: &[f64],
) -> Vec<(usize, usize, f64)> {
    let mut pairs = Vec::new();
    for (from, (log, row)) in forward.iter().zip(rows).enumerate() {
        for (to, step) in row.iter().enumerate() {
            pairs.push((
                from,
                to,
                log + f64::from(*step) + emissions[to] + backward[to],
            ));
        }
    }
    let most = pairs
        .iter()
        .map(|pair| pair.2)
        .fold(f64::NEG_INFINITY, f64::max);
    for pair in &mut pairs {
        pair.2 = (pair.2 - most).exp();
    }
    let sum: f64 = pairs.iter().map(|pair| pair.2).sum();
    pairs.retain(|pair| pair.2 >= LEAST_PAIR * sum);
    let sum: f64 = pairs.iter().map(|pair| pair.2).sum();
    for pair in &mut pairs {
        pair.2 /= sum;
    }
    pairs
}

/// A way between two fixes as shares of the step: where each part ends, and its ground.
type Course = Vec<(f64, Ground)>;

/// The grounds of a step, from the ways between its pairs of states. A step whose likeliest way changes its ground is
/// several: otherwise each change of surface would be wrong by half a step.
fn steps(
    network: &Network,
    search: &mut Search,
    fixes: &[Fix],
    states: &[Vec<Near>],
    pairs: &[(usize, usize, f64)],
    scale: &Scale,
) -> Vec<Step> {
    let limit = limit(straight(fixes), scale);
    let mut courses: Vec<(f64, Course)> = Vec::with_capacity(pairs.len());
    let mut likeliest: (f64, usize, Vec<Piece>) = (0.0, 0, Vec::new());
    let mut searched = None;
    for &(from, to, probability) in pairs {
        let ground_at = |near: &Near| network.tags(near.segment).ground;
        let mut pieces = Vec::new();
        let course = match (states[0].get(from), states[1].get(to)) {
            (Some(here), Some(there)) => {
                if searched != Some(from) {
                    search.run(network, here, limit);
                    searched = Some(from);
                }
                pieces = search.pieces(network, here, there);
                pieces.reverse();
                course(network, &pieces)
            }
            // Half of a step that leaves the map or comes back to it is on the way there.
            (Some(near), None) => vec![(0.5, ground_at(near)), (1.0, Ground::Unmapped)],
            (None, Some(near)) => vec![(0.5, Ground::Unmapped), (1.0, ground_at(near))],
            (None, None) => vec![(1.0, Ground::Unmapped)],
        };
        if probability > likeliest.0 {
            likeliest = (probability, courses.len(), pieces);
        }
        courses.push((probability, course));
    }
    let (_, likeliest, pieces) = likeliest;
    let Some((_, course)) = courses.get(likeliest) else {
        return Vec::new();
    };
    let (from, to) = (fixes[0].along, fixes[1].along);
    let ends = course.iter().enumerate().filter_map(|(n, &(end, ground))| {
        let next = course.get(n + 1);
        next.is_none_or(|next| next.1 != ground).then_some(end)
    });
    let mut begin = 0.0;
    let mut steps = Vec::new();
    for end in ends.collect::<Vec<f64>>() {
        steps.push(Step {
            from: Metres::new(from + begin * (to - from)),
            to: Metres::new(from + end * (to - from)),
            grounds: grounds(&courses, begin, end),
            pieces: between(&pieces, begin, end),
        });
        begin = end;
    }
    steps
}

/// The grounds along the segments of a way; alike ones stay apart.
fn course(network: &Network, pieces: &[Piece]) -> Course {
    let length: f64 = pieces.iter().map(|piece| piece.1).sum();
    let ground = |piece: &Piece| network.tags(piece.0).ground;
    // A vehicle at rest moved along no segment, but was on one.
    if length <= 0.0 {
        return pieces
            .last()
            .map_or_else(Vec::new, |last| vec![(1.0, ground(last))]);
    }
    let mut along = 0.0;
    let mut course: Course = Vec::with_capacity(pieces.len());
    for piece in pieces.iter().filter(|piece| piece.1 > 0.0) {
        along += piece.1;
        course.push((along / length, ground(piece)));
    }
    // Sums of lengths may fall short of the whole by a rounding error.
    if let Some(last) = course.last_mut() {
        last.0 = 1.0;
    }
    course
}

/// Probability of each ground between two shares of a step.
fn grounds(courses: &[(f64, Course)], begin: f64, end: f64) -> [f32; Ground::COUNT] {
    let mut grounds = [0.0_f64; Ground::COUNT];
    for (probability, course) in courses {
        let mut from = 0.0;
        for &(to, ground) in course {
            let inside = f64::min(to, end) - f64::max(from, begin);
            if inside > 0.0 {
                grounds[ground.index()] += probability * inside / (end - begin);
            }
            from = to;
        }
    }
    #[expect(clippy::cast_possible_truncation, reason = "probabilities")]
    grounds.map(|share| share as f32)
}

/// The parts of a way between two shares of it.
fn between(pieces: &[Piece], begin: f64, end: f64) -> Vec<Piece> {
    let length: f64 = pieces.iter().map(|piece| piece.1).sum();
    if length <= 0.0 {
        return pieces.to_vec();
    }
    let mut from = 0.0;
    let mut inside = Vec::new();
    for &(segment, metres) in pieces {
        let to = from + metres;
        let part = f64::min(to, end * length) - f64::max(from, begin * length);
        if part > 0.0 {
            inside.push((segment, part));
        }
        from = to;
    }
    inside
}

/// The ground of the nearest way at each step, for comparison.
pub fn nearest(network: &Network, points: &[Point]) -> Matched {
    let fixes = fixes(network, points);
    let steps = fixes.windows(2).map(|pair| {
        let mut grounds = [0.0; Ground::COUNT];
        for fix in pair {
            let near = network.near(fix.place, Metres::new(RADIUS));
            let nearest = near.iter().min_by(|a, b| a.off.total_cmp(&b.off));
            let ground = nearest.map_or(Ground::Unmapped, |near| network.tags(near.segment).ground);
            grounds[ground.index()] += 0.5;
        }
        Step {
            from: Metres::new(pair[0].along),
            to: Metres::new(pair[1].along),
            grounds,
            pieces: Vec::new(),
        }
    });
    Matched {
        steps: steps.collect(),
        ..Matched::default()
    }
}
