//! Powers of e and logarithms, several numbers at a time.
//!
//! Litres take them to single precision, which is a hundredth of a millilitre.

use wide::{f32x8, f64x4};

use super::Lane;

/// Beyond it, powers of e are not distinguished; they are still finite, and still not 0.
const FARTHEST: f64 = 700.0;

/// Each number becomes the power of e that it is the exponent of.
pub(super) fn exponentials(exponents: &mut Lane) {
    let (fours, rest) = exponents.as_chunks_mut();
    debug_assert!(rest.is_empty(), "a block is a multiple of four");
    for four in fours {
        let exponents = four.map(|exponent: f64| exponent.clamp(-FARTHEST, FARTHEST));
        *four = f64x4::new(exponents).exp().to_array();
    }
}

/// Each number becomes its natural logarithm.
pub(super) fn to_logarithms(numbers: &mut [f32]) {
    for_eights(numbers, f32x8::ln);
}

/// Each natural logarithm becomes the number that it belongs to.
pub(super) fn from_logarithms(logarithms: &mut [f32]) {
    for_eights(logarithms, f32x8::exp);
}

fn for_eights(numbers: &mut [f32], work: impl Fn(f32x8) -> f32x8) {
    let (eights, rest) = numbers.as_chunks_mut();
    for eight in eights {
        *eight = work(f32x8::new(*eight)).to_array();
    }
    let mut last = [1.0; 8];
    last[..rest.len()].copy_from_slice(rest);
    let last = work(f32x8::new(last)).to_array();
    rest.copy_from_slice(&last[..rest.len()]);
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

    /// Against the standard library, all along the litres of a trip.
    #[test]
    fn logarithms_are_those_of_the_standard_library() {
        let litres: Vec<f32> = (1..2_003_u16).map(|nth| f32::from(nth) * 0.07).collect();
        let mut logarithms = litres.clone();
        to_logarithms(&mut logarithms);
        for (litres, found) in litres.iter().zip(&logarithms) {
            assert!((found - litres.ln()).abs() < 1e-6, "{litres}: {found}");
        }
        from_logarithms(&mut logarithms);
        for (litres, found) in litres.iter().zip(&logarithms) {
            assert!((found / litres - 1.0).abs() < 1e-6, "{litres}: {found}");
        }
        let mut no_amount = [f32::INFINITY];
        from_logarithms(&mut no_amount);
        assert!(no_amount[0].is_infinite());
    }
}
