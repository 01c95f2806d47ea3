//! Shares of what several causes bring about together, whatever the order in which they are thought to come.

/// The Shapley value of each of `n` parts (Shapley 1953): the mean, over all orders in which they may come, of what its
/// coming adds. `worth` is what each coalition brings about: bit i of its index says that part i is in it, so there
/// are `2^n` of them. Cost: n 2^n.
pub(crate) fn shapley(worth: &[f64]) -> Vec<f64> {
    let n = worth.len().trailing_zeros() as usize;
    // A coalition of s others comes before a given part in s! (n−1−s)! of the n! orders.
    let mut weights = vec![1.0 / n.max(1) as f64; n];
    for s in 1..n {
        weights[s] = weights[s - 1] * s as f64 / (n - s) as f64;
    }
    (0..n)
        .map(|i| {
            (0..worth.len())
                .filter(|present| present >> i & 1 == 0)
                .map(|present| {
                    let adds = worth[present | 1 << i] - worth[present];
                    weights[present.count_ones() as usize] * adds
                })
                .sum()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The glove game (from memory): two right gloves, one left, a pair is worth 1. The left one comes to 2/3 and each
    /// right one to 1/6, by its orders: it completes a pair in 4 of 6, each right one in 1 of 6.
    #[test]
    fn the_glove_game() {
        // Bit 0 is the left glove.
        let worth = [0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0];
        let shares = shapley(&worth);
        for (share, by_hand) in shares.iter().zip([2.0 / 3.0, 1.0 / 6.0, 1.0 / 6.0]) {
            assert!((share - by_hand).abs() < 1e-15, "{shares:?}");
        }
    }

    #[test]
    fn of_nothing_there_is_no_share() {
        assert!(shapley(&[5.0]).is_empty());
    }
}
