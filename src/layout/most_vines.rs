//! The offset of the rows that gives the most vines, and the one that gives the fewest.
//!
//! How many vines a row holds depends on where it lies, in steps. A band of rows has one number of
//! vines when what is usable throughout it and what is usable somewhere in it hold the same; any
//! other band is cut where its ends lead to expect a step, or halved. So the steps over the whole
//! block are known, none is stepped over, and the vines of all rows at an offset are their sum.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | v | across the rows | m |
//! | offset | of the first row from the least usable v, below one row spacing | m |

use super::{
    Plot,
    along::Setting,
    clearance::GRACE_M,
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
    across.low + search.best(&search.plateaus(), |vines| vines).offset
}

/// The vines of a block at one offset of its rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct AtOffset {
    /// Vines of all rows.
    pub(super) vines: usize,
    /// Metres from the least usable v to the first row.
    pub(super) offset: f64,
}

/// The fewest and the most vines over all offsets of the first row.
pub(super) fn fewest_and_most(plot: &Plot, ground: &Ground, across: Interval) -> [AtOffset; 2] {
    let search = Search::new(plot, ground, across);
    let plateaus = search.plateaus();
    [search.best(&plateaus, |vines| -vines), search.best(&plateaus, |vines| vines)]
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

/// The vines at all offsets between two changes.
type Plateau = (i64, Interval);

impl<'g> Search<'g> {
    fn new(plot: &Plot, ground: &'g Ground, across: Interval) -> Self {
        let spacing_m = plot.rules.row_spacing.metres();
        let gaps = plot.rules.shortest_gap.metres() > 0.0 && !plot.keep_outs.is_empty();
        let settled_m = if gaps { SETTLED_BESIDE_GAPS_M } else { SETTLED_M };
        let setting = Setting::of(plot.rules);
        Self { ground, setting, across, spacing_m, settled_m }
    }

    /// The least offset whose number of vines ranks highest.
    fn best(&self, plateaus: &[Plateau], rank: impl Fn(i64) -> i64) -> AtOffset {
        let mut best = (self.vines_at(0.0), 0.0);
        let better = plateaus.iter().filter(|(vines, _)| rank(*vines) > rank(best.0));
        let mut better: Vec<Plateau> = better.copied().collect();
        better.sort_by(|a, b| rank(b.0).cmp(&rank(a.0)).then(a.1.low.total_cmp(&b.1.low)));
        for (vines, offsets) in better {
            if rank(vines) <= rank(best.0) {
                break;
            }
            // Where a change is settled only so far, rows may not reach their numbers together.
            let offset = self.just_inside(offsets);
            let vines = self.vines_at(offset);
            if rank(vines) > rank(best.0) {
                best = (vines, offset);
            }
        }
        AtOffset { vines: usize::try_from(best.0).unwrap_or(0), offset: best.1 }
    }

    /// The offsets between two changes, with the vines of all rows there.
    fn plateaus(&self) -> Vec<Plateau> {
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
        for row in 0..=whole((self.across.length() - offset + GRACE_M) / self.spacing_m) {
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
            walk.visit(&self.ground.near(band), band, false);
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
    /// `halve`: the band is what a wrong expectation left, and is halved if it is in doubt.
    fn visit(&mut self, near: &Near<'_>, band: Interval, halve: bool) {
        let gapped = self.search.settled_m > SETTLED_M && near.beside_keep_out();
        let settled = band.length() <= if gapped { SETTLED_BESIDE_GAPS_M } else { SETTLED_M };
        let throughout = if gapped || settled { None } else { self.vines_throughout(near, band) };
        match throughout {
            Some(vines) => self.change_to(i64::try_from(vines).unwrap_or(i64::MAX), band.low),
            None if settled => {
                let vines = self.search.vines_on(near, band.middle(), self.shifted);
                self.change_to(vines, band.low);
            }
            None => {
                let expected = if gapped || halve { Vec::new() } else { self.expected(near, band) };
                let wrong =
                    |part: Interval| !expected.is_empty() && part.length() > band.length() / 2.0;
                for part in cut(band, &expected) {
                    self.visit(&near.narrowed(part), part, wrong(part));
                }
            }
        }
    }

    /// Where the number of vines changes, if the ends of every piece run straight: by rising v.
    fn expected(&self, near: &Near<'_>, band: Interval) -> Vec<f64> {
        let lattices = |v: f64| -> Vec<[f64; 2]> {
            let setting = self.search.setting;
            let posts = near.usable(v).into_iter().filter_map(|piece| setting.posts(piece.ends));
            posts.map(|posts| setting.lattice(posts, self.shifted)).collect()
        };
        let (low, high) = (lattices(band.low), lattices(band.high));
        if low.len() != high.len() {
            return Vec::new();
        }
        let ends = low.iter().flatten().zip(high.iter().flatten());
        let mut shares: Vec<f64> = ends.flat_map(|(from, to)| wholes(*from, *to)).collect();
        shares.sort_by(f64::total_cmp);
        shares.iter().map(|share| band.low + share * band.length()).collect()
    }

    fn change_to(&mut self, vines: i64, v: f64) {
        if vines != self.vines {
            self.changes.push((v - self.base, vines - self.vines));
            self.vines = vines;
        }
    }

    /// The number of vines of every row of the band, if it is one.
    fn vines_throughout(&self, near: &Near<'_>, band: Interval) -> Option<usize> {
        let usable = near.usable_over(band);
        let sure = usable.throughout;
        let mut vines = 0;
        for outer in usable.somewhere {
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

/// What lies between the places where changes are expected, a hair beside each; without any, both
/// halves.
fn cut(band: Interval, expected: &[f64]) -> Vec<Interval> {
    const HAIR_M: f64 = 0.4 * SETTLED_M;
    if expected.is_empty() {
        let middle = band.middle();
        return vec![Interval::new(band.low, middle), Interval::new(middle, band.high)];
    }
    let mut low = band.low;
    let mut parts = Vec::with_capacity(expected.len() + 1);
    for v in expected {
        parts.push(Interval::new(low, v - HAIR_M));
        low = v + HAIR_M;
    }
    parts.push(Interval::new(low, band.high));
    parts.retain(|part| part.length() > 0.0);
    parts
}

/// The shares of a straight way at which it passes whole numbers; none where it passes too many to
/// be worth a list.
fn wholes(from: f64, to: f64) -> impl Iterator<Item = f64> {
    const MOST: usize = 64;
    let (low, high) = (from.min(to).floor() + 1.0, from.max(to));
    let number = whole((high - low).max(-1.0) + 1.0);
    let number = if number > MOST { 0 } else { number };
    let share = move |at: usize| (low + float(at) - from) / (to - from);
    (0..number).map(share).filter(|share| *share > 0.0 && *share < 1.0)
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
