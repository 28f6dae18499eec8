//! Zones against other programs and against fields whose truth is known.

use std::collections::BTreeSet;

use catchwire::zones::merge::{Unit, cut, ward};

/// Units of a grid, row by row, with rook neighbours.
fn grid(values: &[f64], columns: usize) -> (Vec<Unit>, Vec<BTreeSet<usize>>) {
    let units = values.iter().map(|&v| Unit { values: [v, 0.0], weight: 1.0, size: 1.0 }).collect();
    let touching = (0..values.len()).map(|at| {
        let (row, column) = (at / columns, at % columns);
        let mut around = BTreeSet::new();
        if row > 0 {
            around.insert(at - columns);
        }
        if at + columns < values.len() {
            around.insert(at + columns);
        }
        if column > 0 {
            around.insert(at - 1);
        }
        if column + 1 < columns {
            around.insert(at + 1);
        }
        around
    });
    (units, touching.collect())
}

fn within_sum_of_squares(values: &[f64], labels: &[usize]) -> f64 {
    let groups: BTreeSet<usize> = labels.iter().copied().collect();
    let of_group = |group: &usize| -> f64 {
        let members: Vec<f64> = values
            .iter()
            .zip(labels)
            .filter(|(_, label)| *label == group)
            .map(|(value, _)| *value)
            .collect();
        let mean = members.iter().sum::<f64>() / members.len() as f64;
        members.iter().map(|value| (value - mean).powi(2)).sum()
    };
    groups.iter().map(of_group).sum()
}

#[test]
fn contiguous_ward_divides_a_grid_as_other_programs_do() {
    // scikit-learn 1.9.1 AgglomerativeClustering (Ward, rook connectivity); spdep 1.2-7 skater gives
    // the same partition. Within sum of squares 15.525252525252526.
    #[rustfmt::skip]
    let values = [
        10., 10., 11., 20., 21., 20.,
        10., 11., 11., 20., 20., 21.,
         9., 10., 12., 19., 21., 20.,
        30., 31., 30., 19., 20., 20.,
        31., 30., 30., 29.,  5.,  6.,
        30., 30., 31., 30.,  5.,  5.,
    ];
    #[rustfmt::skip]
    let expected = [
        0, 0, 0, 1, 1, 1,
        0, 0, 0, 1, 1, 1,
        0, 0, 0, 1, 1, 1,
        3, 3, 3, 1, 1, 1,
        3, 3, 3, 3, 2, 2,
        3, 3, 3, 3, 2, 2,
    ];
    let (units, touching) = grid(&values, 6);
    let labels = cut(units.len(), &ward(&units, &touching), 4);
    let names = [labels[0], labels[3], labels[28], labels[18]];
    assert_eq!(labels, expected.map(|group| names[group]));
    assert_eq!(names.into_iter().collect::<BTreeSet<_>>().len(), 4);
    let within = within_sum_of_squares(&values, &labels);
    assert!((within - 15.525_252_525_252_526).abs() < 1e-12, "{within}");
}
