//! Neighbours that are alike, written once.

/// Stretches of neighbouring vines: the first, and how many.
pub(super) fn spans(vines: &[usize]) -> Vec<usize> {
    let mut spans: Vec<usize> = Vec::new();
    for &vine in vines {
        match spans.as_mut_slice() {
            [.., first, number] if *first + *number == vine => *number += 1,
            _ => spans.extend([vine, 1]),
        }
    }
    spans
}

/// Values one after the other as value and how many of it.
pub(super) fn runs(values: impl Iterator<Item = i64>) -> Vec<i64> {
    let mut runs: Vec<i64> = Vec::new();
    for value in values {
        match runs.as_mut_slice() {
            [.., last, number] if *last == value => *number += 1,
            _ => runs.extend([value, 1]),
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_are_written_once() {
        assert_eq!(spans(&[4, 5, 6, 9]), [4, 3, 9, 1]);
        assert_eq!(runs([0, 0, -1, 1, 1].into_iter()), [0, 2, -1, 1, 1, 2]);
    }
}
