//! Powers of e for a whole block at once.

use std::f64::consts::LOG2_E;

use super::Lane;

/// Each number becomes the power of e that it is the exponent of.
///
/// By `e^x = 2^k e^r` with `|r|` at most half of ln 2, there by its series up to the 13th power, which is exact to the
/// last bit or two. Additions and multiplications alone, which give the same on every machine, and which the compiler
/// does for several numbers at a time.
pub(super) fn exponentials(exponents: &mut Lane) {
    for exponent in exponents {
        *exponent = exponential(*exponent);
    }
}

#[inline]
fn exponential(x: f64) -> f64 {
    /// Beyond it, powers of e are not told apart; they are still finite, and still not 0.
    const FARTHEST: f64 = 700.0;
    /// 1.5 · 2^52: what is added to this is rounded to a whole number, which then stands in the last bits.
    const ROUNDING: f64 = 6_755_399_441_055_744.0;
    /// ln 2 in two parts, the first with so many zeros at its end that its product with k is exact (Cody and Waite 1980).
    const LN_2: [f64; 2] = [
        f64::from_bits(0x3FE6_2E42_FEFA_3800),
        f64::from_bits(0x3D2E_F357_93C7_6730),
    ];
    const SERIES: [f64; 14] = [
        1.0,
        1.0,
        1.0 / 2.0,
        1.0 / 6.0,
        1.0 / 24.0,
        1.0 / 120.0,
        1.0 / 720.0,
        1.0 / 5_040.0,
        1.0 / 40_320.0,
        1.0 / 362_880.0,
        1.0 / 3_628_800.0,
        1.0 / 39_916_800.0,
        1.0 / 479_001_600.0,
        1.0 / 6_227_020_800.0,
    ];
    let x = x.clamp(-FARTHEST, FARTHEST);
    let rounded = x * LOG2_E + ROUNDING;
    let k = rounded - ROUNDING;
    let r = (x - k * LN_2[0]) - k * LN_2[1];
    // In pairs of terms that need not wait for one another (Estrin 1960).
    let [square, fourth, eighth] = {
        let square = r * r;
        let fourth = square * square;
        [square, fourth, fourth * fourth]
    };
    let pair = |n: usize| SERIES[n] + r * SERIES[n + 1];
    let four = |n: usize| pair(n) + square * pair(n + 2);
    let power = (four(0) + fourth * four(4)) + eighth * (four(8) + fourth * pair(12));
    // 2^k by its exponent.
    let two_to_k = f64::from_bits((rounded.to_bits() << 52).wrapping_add(1023 << 52));
    power * two_to_k
}

#[cfg(test)]
mod tests {
    use super::super::BLOCK;
    use super::*;

    /// Against the standard library, all along the range.
    #[test]
    fn exponentials_are_those_of_the_standard_library() {
        for range in [1e-9, 1e-3, 0.3, 3.0, 30.0, 700.0] {
            let mut lane: Lane =
                std::array::from_fn(|n| range * (2.0 * n as f64 / (BLOCK - 1) as f64 - 1.0));
            let exact = lane.map(f64::exp);
            exponentials(&mut lane);
            for (got, exact) in lane.iter().zip(exact) {
                assert!((got / exact - 1.0).abs() < 1e-15, "{got} {exact}");
            }
        }
        let mut lane = [0.0; BLOCK];
        exponentials(&mut lane);
        assert!(
            lane.iter()
                .all(|&one| (one - 1.0).abs() < f64::EPSILON / 2.0)
        );
    }

    /// What no formula of a trip comes to is still a number.
    #[test]
    fn the_farthest_powers_are_finite() {
        let mut lane = [1e300; BLOCK];
        lane[0] = -1e300;
        exponentials(&mut lane);
        assert!(lane.iter().all(|power| power.is_normal() && *power > 0.0));
    }
}
