//! Pieces of row for the page: the ends of each, its vines evenly between them, and how far they
//! are off where they are not.

use serde::Serialize;

use crate::{layout::Layout, maths::float};

/// A vine so near its even place is drawn there, centimetres.
const NEAR_CM: f64 = 5.0;

/// Row, letter, first vine, number of vines; places of the first and the last; how far each is off;
/// numbers of the panels, or of the first where they follow each other; their sizes, the last one
/// holding for all that follow; numbers of the vines where these do not follow each other.
#[derive(Debug, Serialize)]
pub(super) struct Piece(
    u32,
    String,
    u32,
    usize,
    i32,
    i32,
    i32,
    i32,
    Vec<i32>,
    Vec<u32>,
    Vec<usize>,
    Vec<u32>,
);

/// Every piece that has a vine.
pub(super) fn pieces(layout: &Layout, places_cm: &[[i32; 2]]) -> Vec<Piece> {
    let some = layout.pieces.iter().filter(|piece| !piece.vines.is_empty());
    some.map(|piece| of(layout, piece, &places_cm[piece.vines.clone()])).collect()
}

fn of(layout: &Layout, piece: &crate::layout::Piece, places: &[[i32; 2]]) -> Piece {
    let vines = &layout.vines[piece.vines.clone()];
    let numbers: Vec<u32> = vines.iter().map(|vine| vine.vine).collect();
    let panels = layout.panels[piece.panels.clone()].iter();
    let panels = panels.filter(|panel| !panel.vines.is_empty());
    let (panels, sizes): (Vec<u32>, Vec<usize>) =
        panels.map(|panel| (panel.panel, panel.vines.len())).unzip();
    let ends = [places.first(), places.last()].map(|place| place.copied().unwrap_or_default());
    let [[x0, y0], [x1, y1]] = ends;
    Piece(
        piece.row,
        piece.letter.map(|letter| letter.to_string()).unwrap_or_default(),
        numbers.first().copied().unwrap_or(1),
        vines.len(),
        x0,
        y0,
        x1,
        y1,
        off(places),
        first_if_in_order(panels),
        without_repeats(sizes),
        if is_in_order(&numbers) { Vec::new() } else { numbers },
    )
}

/// How far vines stand from their even places, right and down; none where all are near.
fn off(places: &[[i32; 2]]) -> Vec<i32> {
    let (Some(first), Some(last)) = (places.first(), places.last()) else { return Vec::new() };
    let steps = float(places.len().saturating_sub(1).max(1));
    let away = |(at, place): (usize, &[i32; 2])| {
        [0, 1].map(|axis| {
            let [from, to, here] = [first[axis], last[axis], place[axis]].map(f64::from);
            here - from - float(at) / steps * (to - from)
        })
    };
    let off: Vec<[f64; 2]> = places.iter().enumerate().map(away).collect();
    if off.iter().flatten().all(|off| off.abs() <= NEAR_CM) {
        return Vec::new();
    }
    off.into_iter().flatten().map(whole).collect()
}

#[expect(clippy::cast_possible_truncation, reason = "a row is at most some kilometres long")]
fn whole(centimetres: f64) -> i32 {
    centimetres.round() as i32
}

fn is_in_order(numbers: &[u32]) -> bool {
    numbers.windows(2).all(|pair| pair[1] == pair[0] + 1)
}

fn first_if_in_order(mut numbers: Vec<u32>) -> Vec<u32> {
    if is_in_order(&numbers) {
        numbers.truncate(1);
    }
    numbers
}

/// Without the sizes at the end that are like the one before them, or cut short by the piece's end.
fn without_repeats(mut sizes: Vec<usize>) -> Vec<usize> {
    while let [.., before, last] = sizes.as_slice()
        && last <= before
        && sizes.len() > 1
    {
        if last == before || is_steady(&sizes) {
            sizes.pop();
        } else {
            break;
        }
    }
    sizes
}

/// All but the last have one size.
fn is_steady(sizes: &[usize]) -> bool {
    let [all @ .., _] = sizes else { return true };
    all.windows(2).all(|pair| pair[0] == pair[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn even_vines_need_no_more_than_their_ends() {
        assert_eq!(off(&[[0, 0], [104, 3], [200, 0]]), [0_i32; 0]);
        assert_eq!(off(&[[0, 0], [120, 0], [200, 0]]), [0, 0, 20, 0, 0, 0]);
        assert_eq!(off(&[[7, 7]]), [0_i32; 0]);
    }

    #[test]
    fn sizes_of_panels_are_written_as_far_as_they_differ() {
        assert_eq!(without_repeats(vec![4, 4, 4, 2]), [4]);
        assert_eq!(without_repeats(vec![3, 4, 4, 4]), [3, 4]);
        assert_eq!(without_repeats(vec![3, 4, 4, 1]), [3, 4, 4, 1]);
        assert_eq!(without_repeats(vec![2, 5]), [2, 5]);
        assert_eq!(first_if_in_order(vec![7, 8, 9]), [7]);
        assert_eq!(first_if_in_order(vec![7, 9]), [7, 9]);
    }
}
