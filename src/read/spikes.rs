//! Corners that say nothing: drawn twice, or the tip of a way out and straight back.

use geo::Coord;

/// The corners of an open ring without repeated ones and spikes, and how many of each there were.
pub(super) fn cleaned(corners: Vec<Coord<f64>>) -> (Vec<Coord<f64>>, usize, usize) {
    let (mut repeated, mut spikes) = (0, 0);
    let mut kept: Vec<Coord<f64>> = Vec::with_capacity(corners.len());
    for corner in corners {
        push_clean(&mut kept, corner, &mut repeated, &mut spikes);
    }
    // The seam: the last corner may repeat the first, or be the tip of a spike across it.
    loop {
        let count = kept.len();
        if count > 1 && kept[0] == kept[count - 1] {
            repeated += 1;
            kept.pop();
        } else if count > 2 && is_spike(kept[count - 2], kept[count - 1], kept[0]) {
            spikes += 1;
            kept.pop();
        } else if count > 2 && is_spike(kept[count - 1], kept[0], kept[1]) {
            spikes += 1;
            kept.remove(0);
        } else {
            return (kept, repeated, spikes);
        }
    }
}

fn push_clean(
    kept: &mut Vec<Coord<f64>>,
    corner: Coord<f64>,
    repeated: &mut usize,
    spikes: &mut usize,
) {
    loop {
        match kept.as_slice() {
            [.., last] if *last == corner => {
                *repeated += 1;
                return;
            }
            [.., before, tip] if is_spike(*before, *tip, corner) => {
                *spikes += 1;
                kept.pop();
            }
            _ => break,
        }
    }
    kept.push(corner);
}

/// The way from `before` to `tip` turns straight back.
fn is_spike(before: Coord<f64>, tip: Coord<f64>, after: Coord<f64>) -> bool {
    let (out, back) = (tip - before, after - tip);
    let (cross, dot) = (out.x * back.y - out.y * back.x, out.x * back.x + out.y * back.y);
    let lengths = out.x.hypot(out.y) * back.x.hypot(back.y);
    dot < 0.0 && cross.abs() <= 1e-9 * lengths
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(drawn: &[(f64, f64)], kept: &[(f64, f64)], repeated: usize, spikes: usize) {
        let coords = |corners: &[(f64, f64)]| corners.iter().map(|c| Coord::from(*c)).collect();
        let expected: Vec<Coord<f64>> = coords(kept);
        assert_eq!(cleaned(coords(drawn)), (expected, repeated, spikes));
    }

    const SQUARE: [(f64, f64); 4] = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)];

    #[test]
    fn a_clean_ring_stays_as_it_is() {
        check(&SQUARE, &SQUARE, 0, 0);
    }

    #[test]
    fn repeated_corners_go_at_the_seam_too() {
        let drawn =
            [(0.0, 0.0), (0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (4.0, 4.0), (0.0, 4.0), (0.0, 0.0)];
        check(&drawn, &SQUARE, 3, 0);
    }

    #[test]
    fn a_spike_of_several_corners_goes_whole() {
        let drawn = [
            (0.0, 0.0),
            (4.0, 0.0),
            (6.0, 0.0),
            (8.0, 0.0),
            (6.0, 0.0),
            (4.0, 0.0),
            (4.0, 4.0),
            (0.0, 4.0),
        ];
        let kept = cleaned(drawn.iter().map(|c| Coord::from(*c)).collect()).0;
        assert_eq!(kept.len(), 4, "{kept:?}");
        assert!(kept.iter().all(|corner| corner.x <= 4.0));
    }

    #[test]
    fn a_line_out_and_back_leaves_nothing_to_enclose() {
        let drawn = [(0.0, 0.0), (4.0, 0.0), (8.0, 0.0), (4.0, 0.0)];
        assert!(cleaned(drawn.iter().map(|c| Coord::from(*c)).collect()).0.len() < 3);
    }
}
