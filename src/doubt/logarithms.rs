//! Logarithms of a great many litres, to single precision: a hundredth of a millilitre.

use wide::f32x8;

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
    use super::*;

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
