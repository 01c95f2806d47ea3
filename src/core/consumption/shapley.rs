//! Shares of what several causes bring about together, whatever the order in which they are thought to come.

use crate::quantity::Quantity;

/// The Shapley value of each of `n` parts (Shapley 1953): the mean, over all orders in which they may come, of what its
/// coming adds. `worth` is what each coalition brings about: bit i of its index is set if part i is in it, so there
/// are `2^n` of them. Cost: n 2^n.
pub(crate) fn shapley<Q: Quantity>(worth: &[Q]) -> Vec<Q> {
    let n = worth.len().trailing_zeros() as usize;
    // A coalition of s others comes before a given part in s! (n−1−s)! of the n! orders.
    let mut weights = vec![1.0 / n.max(1) as f64; n];
    for s in 1..n {
        weights[s] = weights[s - 1] * s as f64 / (n - s) as f64;
    }
    let adds = |part: usize, present: usize| {
        let weight = weights[present.count_ones() as usize];
        (worth[present | 1 << part] - worth[present]) * weight
    };
    let without = |part: usize| (0..worth.len()).filter(move |present| present >> part & 1 == 0);
    (0..n)
        .map(|part| without(part).map(|present| adds(part, present)).sum())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Litres;

    /// The glove game (from memory): two right gloves, one left, a pair is worth 1. The left one comes to 2/3 and each
    /// right one to 1/6, by its orders: it completes a pair in 4 of 6, each right one in 1 of 6.
    #[test]
    fn the_glove_game() {
        // Bit 0 is the left glove.
        let worth = [0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0];
        let shares = shapley(&worth.map(Litres::new));
        for (share, by_hand) in shares.iter().zip([2.0 / 3.0, 1.0 / 6.0, 1.0 / 6.0]) {
            assert!((share.get() - by_hand).abs() < 1e-15, "{shares:?}");
        }
    }

    #[test]
    fn of_nothing_there_is_no_share() {
        assert!(shapley(&[Litres::new(5.0)]).is_empty());
    }
}
