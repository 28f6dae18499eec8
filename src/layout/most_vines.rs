//! The offset of the rows that gives the most vines.
//!
//! How many vines a row holds depends on where it lies, in steps. A band of rows has one number of
//! vines when what is usable throughout it and what is usable somewhere in it hold the same; any
//! other band is halved. So the steps over the whole block are known, none is stepped over, and
//! the vines of all rows at an offset are their sum.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | v | across the rows | m |
//! | offset | of the first row from the least usable v, below one row spacing | m |

use super::{
    Plot,
    along::Setting,
    pieces::{Ground, Near, Usable},
};
use crate::maths::{float, intervals::Interval, whole};

/// Where a number of vines changes is settled to this, metres.
const SETTLED_M: f64 = 1e-6;

/// Where a short gap may or may not end a row, only to this.
const SETTLED_BESIDE_GAPS_M: f64 = 1e-3;

/// The first row that gives the most vines; the smallest offset among those that tie.
pub(super) fn first_row(plot: &Plot, ground: &Ground, across: Interval) -> f64 {
    let search = Search::new(plot, ground, across);
    let mut plateaus = search.plateaus();
    plateaus.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.low.total_cmp(&b.1.low)));
    let mut best = (0, 0.0);
    for (vines, offsets) in plateaus {
        if vines <= best.0 {
            break;
        }
        // Where a change is settled only so far, rows may not reach their numbers together.
        let offset = search.just_inside(offsets);
        let vines = search.vines_at(offset);
        if vines > best.0 {
            best = (vines, offset);
        }
    }
    across.low + best.1
}

struct Search<'g> {
    ground: &'g Ground,
    setting: Setting,
    across: Interval,
    spacing_m: f64,
    /// Where a change of the number of vines is settled to, metres.
    settled_m: f64,
}

/// A change of the number of vines at an offset.
type Change = (f64, i64);

impl<'g> Search<'g> {
    fn new(plot: &Plot, ground: &'g Ground, across: Interval) -> Self {
        let spacing_m = plot.rules.row_spacing.metres();
        let gaps = plot.rules.shortest_gap.metres() > 0.0 && !plot.keep_outs.is_empty();
        let settled_m = if gaps { SETTLED_BESIDE_GAPS_M } else { SETTLED_M };
        let setting = Setting::of(plot.rules);
        Self { ground, setting, across, spacing_m, settled_m }
    }

    /// The offsets between two changes, with the vines of all rows there.
    fn plateaus(&self) -> Vec<(i64, Interval)> {
        let changes = self.changes();
        let mut vines = 0;
        let mut plateaus = Vec::new();
        for (at, (offset, change)) in changes.iter().enumerate() {
            vines += change;
            let end = changes.get(at + 1).map_or(self.spacing_m, |next| next.0);
            if end > *offset {
                plateaus.push((vines, Interval::new(*offset, end)));
            }
        }
        plateaus
    }

    /// The least offset that is surely on a plateau: its rims are only settled so far.
    fn just_inside(&self, offsets: Interval) -> f64 {
        if offsets.low <= 0.0 { 0.0 } else { (offsets.low + self.settled_m).min(offsets.middle()) }
    }

    /// The vines of all rows at an offset.
    fn vines_at(&self, offset: f64) -> i64 {
        let mut sweep = self.ground.sweep();
        let mut vines = 0;
        for row in 0..=whole((self.across.length() - offset) / self.spacing_m) {
            let v = self.across.low + offset + float(row) * self.spacing_m;
            vines += self.vines_on(sweep.at(v), v, row % 2 == 1);
        }
        vines
    }

    /// The vines of the row at `v`, shifted or not.
    fn vines_on(&self, near: &Near<'_>, v: f64, shifted: bool) -> i64 {
        let pieces = near.usable(v);
        let vines: usize = pieces.iter().map(|piece| self.setting.count(piece, shifted)).sum();
        i64::try_from(vines).unwrap_or(i64::MAX)
    }

    /// Every change of the number of vines, by rising offset.
    fn changes(&self) -> Vec<Change> {
        let mut changes = vec![(0.0, 0)];
        let rows = 1 + whole(self.across.length() / self.spacing_m);
        for row in 0..rows {
            let low = self.across.low + float(row) * self.spacing_m;
            let high = (low + self.spacing_m).min(self.across.high);
            let shifted = row % 2 == 1;
            let band = Interval::new(low, high);
            let mut walk = Walk { search: self, base: low, shifted, vines: 0, changes: Vec::new() };
            walk.visit(&self.ground.near(band), band);
            let vines = walk.vines;
            changes.append(&mut walk.changes);
            // Beyond the last usable row there is none.
            changes.push((high - low, -vines));
        }
        changes.sort_by(|one, other| one.0.total_cmp(&other.0));
        changes
    }
}

/// A walk over one row's bands in rising order.
struct Walk<'s> {
    search: &'s Search<'s>,
    base: f64,
    shifted: bool,
    vines: i64,
    changes: Vec<Change>,
}

impl Walk<'_> {
    fn visit(&mut self, near: &Near<'_>, band: Interval) {
        let gapped = self.search.settled_m > SETTLED_M && near.beside_keep_out();
        let throughout = if gapped { None } else { self.vines_throughout(near, band) };
        let middle = band.middle();
        match throughout {
            Some(vines) => self.change_to(i64::try_from(vines).unwrap_or(i64::MAX), band.low),
            None if band.length() <= if gapped { SETTLED_BESIDE_GAPS_M } else { SETTLED_M } => {
                let vines = self.search.vines_on(near, middle, self.shifted);
                self.change_to(vines, band.low);
            }
            None => {
                for half in [Interval::new(band.low, middle), Interval::new(middle, band.high)] {
                    self.visit(&near.narrowed(half), half);
                }
            }
        }
    }

    fn change_to(&mut self, vines: i64, v: f64) {
        if vines != self.vines {
            self.changes.push((v - self.base, vines - self.vines));
            self.vines = vines;
        }
    }

    /// The number of vines of every row of the band, if it is one.
    fn vines_throughout(&self, near: &Near<'_>, band: Interval) -> Option<usize> {
        let sure = near.usable_throughout(band);
        let mut vines = 0;
        for outer in near.usable_somewhere(band) {
            let mut inner =
                sure.iter().filter(|sure| outer.low <= sure.low && sure.high <= outer.high);
            let most = self.count(outer);
            let one = inner.next();
            let settled = match one {
                None => most == 0,
                Some(one) => {
                    // Beside the sure piece no other may hold a vine on some row.
                    let beside =
                        [Interval::new(outer.low, one.low), Interval::new(one.high, outer.high)];
                    inner.next().is_none()
                        && self.count(*one) == most
                        && (most == 0 || beside.into_iter().all(|rest| self.count(rest) == 0))
                }
            };
            if !settled {
                return None;
            }
            vines += most;
        }
        Some(vines)
    }

    fn count(&self, ends: Interval) -> usize {
        self.search.setting.count(&Usable { ends, gaps: Vec::new() }, self.shifted)
    }
}

#[cfg(test)]
mod tests {
    use geo::{MultiPolygon, polygon};

    use crate::layout::tests::{lay, rules};
    use crate::{block::RowAnchor, settings::RowRules};

    #[test]
    fn a_wedge_takes_its_rows_where_they_hold_most() {
        let wedge =
            polygon![(x: 0.0, y: 0.0), (x: 80.0, y: 3.0), (x: 61.0, y: 47.0), (x: 5.0, y: 31.0)];
        let wedge = MultiPolygon::new(vec![wedge]);
        let rules = RowRules { anchor: RowAnchor::MostVines, ..rules() };
        let most = lay(&wedge, &rules).vines.len();
        let edge = RowRules { anchor: RowAnchor::Edge, ..rules };
        let at_edge = lay(&wedge, &edge);
        assert!(most > at_edge.vines.len(), "{most} against {}", at_edge.vines.len());
    }
}
