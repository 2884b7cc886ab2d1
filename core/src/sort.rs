//! Sorting, for processors with little flash: the library's selection and sorting take two to five
//! kilobytes of it.

/// Sorts by Shell's method, with gaps that Ciura found best by experiment (2001; from memory). For up to 512
/// values its work is bounded by some tens of steps a value.
pub(crate) fn sort<T: Copy + Ord>(values: &mut [T]) {
    for gap in [132, 57, 23, 10, 4, 1] {
        for next in gap..values.len() {
            let mut at = next;
            while let Some(before) = at.checked_sub(gap) {
                let (Some(one), Some(other)) = (values.get(before), values.get(at)) else { break };
                if one <= other {
                    break;
                }
                values.swap(before, at);
                at = before;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::sort;
    use std::vec::Vec;

    #[test]
    fn any_number_of_values_is_sorted() {
        let mut seed = 1_u32;
        for count in 0..512 {
            let mut values: Vec<u32> = (0..count)
                .map(|_| {
                    seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    seed >> 24
                })
                .collect();
            let mut expected = values.clone();
            expected.sort_unstable();
            sort(&mut values);
            assert_eq!(values, expected);
        }
    }
}
