//! A zone's work shared out over pages, so that a crew works from one page and needs no other.
//!
//! As few pages as hold the rows, whole rows on each, the rows in the order of the walk; of all ways
//! to part them so, the one whose longest share is the shortest.

use crate::{
    error::Error,
    maths::float,
    plan::work::{RowWork, ZoneWork},
};

/// What stands on one page.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Share {
    /// The zone, with the rows of this page only.
    pub(super) work: ZoneWork,
    /// Its place among the shares of the zone, from 1, and how many they are.
    pub(super) place: [usize; 2],
    /// Person-hours of the zone that are over when this share is done.
    pub(super) done_h: f64,
}

impl Share {
    /// Vines that stand in its panels.
    pub(super) fn vines(&self) -> usize {
        self.work.rows.iter().flat_map(|row| &row.panels).map(|panel| panel.standing).sum()
    }

    /// Shoots to take off.
    pub(super) fn take(&self) -> f64 {
        self.work.rows.iter().map(RowWork::take).sum()
    }

    /// Person-hours.
    pub(super) fn hours(&self) -> f64 {
        self.work.rows.iter().map(RowWork::minutes).sum::<f64>() / 60.0
    }
}

/// Shares the rows of a zone out over pages with so much room for them; `height` tells how much a
/// row takes.
///
/// # Errors
/// Those of `height`.
pub(super) fn shares(
    work: &ZoneWork,
    room_mm: f64,
    height: impl Fn(&RowWork) -> Result<f64, Error>,
) -> Result<Vec<Share>, Error> {
    let mut rows = Vec::new();
    for row in &work.rows {
        parted(row.clone(), room_mm, &height, &mut rows)?;
    }
    let heights = rows.iter().map(&height).collect::<Result<Vec<f64>, Error>>()?;
    let minutes: Vec<f64> = rows.iter().map(RowWork::minutes).collect();
    let ends = even_ends(&heights, &minutes, room_mm);
    let starts = std::iter::once(0).chain(ends.iter().copied());
    let share = |(at, (start, &end)): (usize, (usize, &usize))| Share {
        work: ZoneWork { zone: work.zone, rows: rows[start..end].to_vec() },
        place: [at + 1, ends.len()],
        done_h: minutes[..end].iter().sum::<f64>() / 60.0,
    };
    Ok(starts.zip(&ends).enumerate().map(share).collect())
}

/// A row in pieces that have room: one too long for a page is halved until it has.
fn parted(
    row: RowWork,
    room_mm: f64,
    height: &impl Fn(&RowWork) -> Result<f64, Error>,
    rows: &mut Vec<RowWork>,
) -> Result<(), Error> {
    if row.panels.len() < 2 || height(&row)? <= room_mm {
        rows.push(row);
        return Ok(());
    }
    let mut near = row;
    let panels = near.panels.split_off(near.panels.len().div_ceil(2));
    let far = RowWork { panels, ..near.clone() };
    parted(near, room_mm, height, rows)?;
    parted(far, room_mm, height, rows)
}

/// Where every share ends: as few shares as have room, the longest as short as it can be.
fn even_ends(heights: &[f64], minutes: &[f64], room_mm: f64) -> Vec<usize> {
    let sum = |values: &[f64]| values.iter().sum::<f64>();
    let fewest = filled(heights, minutes, [room_mm, f64::INFINITY]);
    let (mut low, mut high) = (sum(minutes) / float(fewest.len().max(1)), sum(minutes));
    let mut ends = fewest.clone();
    // Halved so often that no row could lie between.
    for _ in 0..40 {
        let middle = f64::midpoint(low, high);
        let tried = filled(heights, minutes, [room_mm, middle]);
        if tried.len() <= fewest.len() {
            (ends, high) = (tried, middle);
        } else {
            low = middle;
        }
    }
    ends
}

/// Ends of shares that are filled one after the other up to a height and a time; one row at least.
fn filled(heights: &[f64], minutes: &[f64], [room_mm, most_min]: [f64; 2]) -> Vec<usize> {
    let mut ends = Vec::new();
    let mut used = [0.0, 0.0];
    for (at, own) in heights.iter().zip(minutes).map(|(h, m)| [*h, *m]).enumerate() {
        let both = [used[0] + own[0], used[1] + own[1]];
        let full = both[0] > room_mm || both[1] > most_min * (1.0 + 1e-9);
        if full && ends.last().copied().unwrap_or(0) < at {
            ends.push(at);
            used = own;
        } else {
            used = both;
        }
    }
    ends.extend((!heights.is_empty()).then_some(heights.len()));
    ends
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::work::PanelWork;

    fn row(number: u32, panels: usize, minutes: f64) -> RowWork {
        let panel = |panel| PanelWork {
            panel,
            vines: [1, 4],
            standing: 4,
            canopy_m: 4.8,
            take: 10.0,
            minutes: minutes / float(panels),
            counted: Vec::new(),
        };
        RowWork { row: number, backwards: false, panels: (0..panels).map(panel).collect() }
    }

    fn shared(rows: Vec<RowWork>, room_mm: f64) -> Vec<Share> {
        let height = |row: &RowWork| Ok(float(row.panels.len()));
        shares(&ZoneWork { zone: 0, rows }, room_mm, height).unwrap()
    }

    fn numbers(shares: &[Share]) -> Vec<Vec<u32>> {
        let of = |share: &Share| share.work.rows.iter().map(|row| row.row).collect();
        shares.iter().map(of).collect()
    }

    #[test]
    fn rows_that_have_room_stay_on_one_page() {
        let shares = shared((1..=5).map(|number| row(number, 2, 30.0)).collect(), 10.0);
        assert_eq!(numbers(&shares), [[1, 2, 3, 4, 5]]);
        assert_eq!((shares[0].place, shares[0].vines()), ([1, 1], 40));
        assert!((shares[0].hours() - 2.5).abs() < 1e-12 && (shares[0].take() - 100.0).abs() < 1e-9);
    }

    // Room for four rows a page: filling from the top would give 4 + 2.
    #[test]
    fn shares_of_a_zone_take_about_as_long() {
        let shares = shared((1..=6).map(|number| row(number, 2, 20.0)).collect(), 8.0);
        assert_eq!(numbers(&shares), [[1, 2, 3], [4, 5, 6]]);
        assert_eq!(shares.iter().map(|share| share.place).collect::<Vec<_>>(), [[1, 2], [2, 2]]);
        assert!((shares[0].done_h - 1.0).abs() < 1e-9 && (shares[1].done_h - 2.0).abs() < 1e-9);
    }

    // Every way to part rows into two is tried by hand.
    #[test]
    fn no_other_way_has_a_shorter_longest_share() {
        let minutes = [50.0, 10.0, 10.0, 40.0, 5.0, 30.0, 25.0];
        let rows = (1..).zip(minutes).map(|(number, minutes)| row(number, 2, minutes)).collect();
        let longest = shared(rows, 10.0).iter().map(Share::hours).fold(0.0, f64::max);
        let (all, mut best) = (minutes.iter().sum::<f64>(), f64::INFINITY);
        for cut in 2..=5 {
            let near: f64 = minutes[..cut].iter().sum();
            best = best.min(near.max(all - near));
        }
        assert!((60.0 * longest - best).abs() < 1e-6, "{longest} {best}");
    }

    #[test]
    fn a_row_longer_than_a_page_is_parted_and_none_is_lost() {
        let shares = shared(vec![row(1, 25, 100.0), row(2, 3, 10.0)], 8.0);
        assert!(shares.iter().all(|share| share.work.rows.iter().all(|row| row.panels.len() <= 8)));
        let panels: usize =
            shares.iter().flat_map(|share| &share.work.rows).map(|row| row.panels.len()).sum();
        assert_eq!(panels, 28);
        assert!((shares.last().unwrap().done_h - 110.0 / 60.0).abs() < 1e-9);
    }
}
