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
    along::{Setting, real, whole},
    pieces::{Ground, Near, Usable},
};
use crate::{block::VinePattern, maths::intervals::Interval};

/// Where a number of vines changes is settled to this, metres.
const SETTLED_M: f64 = 1e-6;

/// Where a short gap may or may not end a row, only to this.
const SETTLED_BESIDE_GAPS_M: f64 = 1e-3;

/// The first row that gives the most vines; the smallest offset among those that tie.
pub(super) fn first_row(plot: &Plot, ground: &Ground, across: Interval) -> f64 {
    let search = Search::new(plot, ground, across);
    let events = search.changes();
    let (mut sum, mut best) = (0_i64, (i64::MIN, 0.0, 0.0));
    for (at, (offset, change)) in events.iter().enumerate() {
        sum += change;
        let end = events.get(at + 1).map_or(search.spacing_m, |next| next.0);
        if end > *offset && sum > best.0 {
            best = (sum, *offset, end);
        }
    }
    let (_, from, to) = best;
    // The step lies within the settled width: a hair inside the plateau is on it.
    let offset = if from <= 0.0 { 0.0 } else { (from + SETTLED_M).min(from.midpoint(to)) };
    across.low + offset
}

struct Search<'p> {
    plot: &'p Plot<'p>,
    ground: &'p Ground,
    setting: Setting,
    across: Interval,
    spacing_m: f64,
}

/// A change of the number of vines at an offset.
type Change = (f64, i64);

impl<'p> Search<'p> {
    fn new(plot: &'p Plot<'p>, ground: &'p Ground, across: Interval) -> Self {
        let spacing_m = plot.rules.row_spacing.metres();
        Self { plot, ground, setting: Setting::of(plot.rules), across, spacing_m }
    }

    /// Every change of the number of vines, by rising offset.
    fn changes(&self) -> Vec<Change> {
        let mut changes = vec![(0.0, 0)];
        let rows = 1 + whole(self.across.length() / self.spacing_m);
        for row in 0..rows {
            let low = self.across.low + real(row) * self.spacing_m;
            let high = (low + self.spacing_m).min(self.across.high);
            let shifted = row % 2 == 1 && self.plot.rules.pattern == VinePattern::Staggered;
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
        let middle = band.middle();
        let gapped = self.search.plot.rules.shortest_gap.metres() > 0.0 && near.beside_keep_out();
        let settled = if gapped { SETTLED_BESIDE_GAPS_M } else { SETTLED_M };
        let vines = if gapped { None } else { self.vines_throughout(near, band) };
        match vines {
            Some(vines) => self.change_to(vines, band.low),
            None if band.length() <= settled => {
                let vines = self.vines_at(near, middle);
                self.change_to(vines, band.low);
            }
            None => {
                for half in [Interval::new(band.low, middle), Interval::new(middle, band.high)] {
                    self.visit(&near.narrowed(half), half);
                }
            }
        }
    }

    fn change_to(&mut self, vines: usize, v: f64) {
        let vines = i64::try_from(vines).unwrap_or(i64::MAX);
        if vines != self.vines {
            self.changes.push((v - self.base, vines - self.vines));
            self.vines = vines;
        }
    }

    fn vines_at(&self, near: &Near<'_>, v: f64) -> usize {
        let gap = self.search.plot.rules.shortest_gap.metres();
        let pieces = near.usable(v, gap);
        pieces.iter().map(|piece| self.search.setting.count(piece, self.shifted)).sum()
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

    use super::super::tests::{lay, rules};
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
