//! What can be drawn: not row ends, not young or missing vines; the numbers hold for the rest.

use super::{Purpose, Stop, Stratum, Unit, spread::local_pivotal};
use crate::{
    frame::{RowPoint, Site},
    layout::{Layout, Panel, Vine},
    maths::{float, random::Random},
    settings::SampleSettings,
};

/// A row with fewer vines than this is drawn from end to end.
const SHORT_ROW_VINES: usize = 10;

/// A panel or vine that can be drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Candidate {
    /// The panel, as an index into the layout's panels.
    pub(super) panel: usize,
    /// The vine, where single vines are drawn.
    pub(super) vine: Option<usize>,
    /// The planting of its row.
    pub(super) planting: usize,
    /// Where it is.
    pub(super) at: RowPoint,
    /// Vines that would be counted.
    pub(super) vines: usize,
}

/// All that can be drawn of a block.
#[derive(Debug, Clone)]
pub(super) struct Drawable {
    /// By panel or vine, in the layout's order.
    pub(super) units: Vec<Candidate>,
    /// Places for vines by planting.
    places: Vec<usize>,
}

impl Drawable {
    /// The panels or vines of a block that can be drawn; `out` is true where nothing can be counted.
    pub(super) fn of(
        (site, layout): (&Site, &Layout),
        out: &[bool],
        unit: Unit,
        settings: &SampleSettings,
    ) -> Self {
        let mut places = vec![0; site.plantings.all().len()];
        for vine in &layout.vines {
            if let Some(places) = places.get_mut(site.plantings.of_row(vine.row)) {
                *places += 1;
            }
        }
        let inside = inside(layout, out, settings.skip_ends);
        let units = match unit {
            Unit::Panel => (layout.panels.iter().enumerate())
                .filter_map(|(at, panel)| whole_panel(site, (at, panel), (layout, &inside, out)))
                .collect(),
            Unit::Vine => (layout.vines.iter().enumerate())
                .filter(|(at, _)| inside[*at])
                .map(|(at, vine)| one_vine(site, at, vine))
                .collect(),
        };
        Self { units, places }
    }

    /// The same places, with some of the units only.
    pub(super) fn only(&self, keep: impl Fn(&Candidate) -> bool) -> Self {
        let units = self.units.iter().filter(|unit| keep(unit)).copied().collect();
        Self { units, places: self.places.clone() }
    }

    /// Vines counted at a stop, on average.
    pub(super) fn mean_vines(&self) -> f64 {
        let vines: usize = self.units.iter().map(|unit| unit.vines).sum();
        float(vines) / float(self.units.len().max(1))
    }

    /// Draws so many, shared among the plantings by their size and spread over the ground of each.
    pub(super) fn draw(&self, number: usize, random: &mut Random) -> (Vec<Stop>, Vec<Stratum>) {
        let (mut stops, mut strata) = (Vec::new(), Vec::new());
        let plantings: Vec<Vec<usize>> =
            (0..self.places.len()).map(|planting| self.of_planting(planting)).collect();
        let sizes: Vec<usize> = plantings.iter().map(Vec::len).collect();
        let shares = shares(number, &sizes);
        for (planting, (units, drawn)) in plantings.iter().zip(shares).enumerate() {
            if self.places[planting] == 0 {
                continue;
            }
            let at: Vec<[f64; 2]> = units.iter().map(|&unit| self.place(unit)).collect();
            let chance = float(drawn) / float(units.len().max(1));
            let chosen = local_pivotal(&at, &vec![chance; units.len()], random);
            let purpose = Purpose::Mean { drawn, of: units.len() };
            let stop = |&at: &usize| self.stop(units[at], strata.len(), purpose);
            stops.extend(chosen.iter().map(stop));
            let reached: usize = units.iter().map(|&unit| self.units[unit].vines).sum();
            let vines_outside = self.places[planting].saturating_sub(reached);
            strata.push(Stratum { planting, units: units.len(), drawn, vines_outside });
        }
        (stops, strata)
    }

    /// A stop at a unit.
    pub(super) fn stop(&self, unit: usize, stratum: usize, purpose: Purpose) -> Stop {
        let Candidate { panel, vine, at, .. } = self.units[unit];
        Stop { panel, vine, stratum, purpose, windows: Vec::new(), at }
    }

    fn of_planting(&self, planting: usize) -> Vec<usize> {
        (0..self.units.len()).filter(|&unit| self.units[unit].planting == planting).collect()
    }

    fn place(&self, unit: usize) -> [f64; 2] {
        let at = self.units[unit].at;
        [at.along_m, at.across_m]
    }
}

/// True for vine places that can be counted and are no row's end.
fn inside(layout: &Layout, out: &[bool], skip_ends: usize) -> Vec<bool> {
    let mut inside: Vec<bool> =
        (0..layout.vines.len()).map(|vine| !out.get(vine).copied().unwrap_or(false)).collect();
    for row in &layout.rows {
        let pieces = &layout.pieces[row.pieces.clone()];
        let vines: usize = pieces.iter().map(|piece| piece.vines.len()).sum();
        if vines < SHORT_ROW_VINES {
            continue;
        }
        // A row that is cut ends at the cut too: the vines there have as much light and root room.
        for piece in pieces {
            let ends = piece.vines.clone().take(skip_ends);
            for vine in ends.chain(piece.vines.clone().rev().take(skip_ends)) {
                inside[vine] = false;
            }
        }
    }
    inside
}

/// A panel without a row's end in it, most of whose vines can be counted.
fn whole_panel(
    site: &Site,
    (at, panel): (usize, &Panel),
    (layout, inside, out): (&Layout, &[bool], &[bool]),
) -> Option<Candidate> {
    let vines = panel.vines.clone();
    let missing = |vine: &usize| out.get(*vine).copied().unwrap_or(false);
    let countable = vines.clone().filter(|vine| !missing(vine)).count();
    let holds_an_end = vines.clone().any(|vine| !inside[vine] && !missing(&vine));
    if holds_an_end || 2 * countable <= vines.len() {
        return None;
    }
    let middle = [vines.start, vines.end - 1].map(|vine| layout.vines[vine].at);
    Some(Candidate {
        panel: at,
        vine: None,
        planting: site.plantings.of_row(panel.row),
        at: RowPoint {
            along_m: middle[0].along_m.midpoint(middle[1].along_m),
            across_m: middle[0].across_m.midpoint(middle[1].across_m),
        },
        vines: countable,
    })
}

fn one_vine(site: &Site, at: usize, vine: &Vine) -> Candidate {
    let planting = site.plantings.of_row(vine.row);
    Candidate { panel: vine.panel, vine: Some(at), planting, at: vine.at, vines: 1 }
}

/// A number shared out by size, two each where there are so many, the rest by largest remainder.
fn shares(number: usize, sizes: &[usize]) -> Vec<usize> {
    let total: usize = sizes.iter().sum();
    let number = number.min(total);
    let exact: Vec<f64> =
        sizes.iter().map(|&size| float(number) * float(size) / float(total.max(1))).collect();
    let mut shares: Vec<usize> = (exact.iter().zip(sizes))
        .map(|(exact, &size)| (0..=size).rev().find(|&n| float(n) <= exact + 1e-9).unwrap_or(0))
        .collect();
    let floors: Vec<usize> = sizes.iter().map(|&size| size.min(2)).collect();
    let floors = if floors.iter().sum::<usize>() <= number { floors } else { vec![0; sizes.len()] };
    for (share, &floor) in shares.iter_mut().zip(&floors) {
        *share = (*share).max(floor);
    }
    settle(&mut shares, (&floors, sizes), &exact, number);
    shares
}

/// Adds where most is lacking, or takes where most is too much, until the shares sum to `number`.
fn settle(
    shares: &mut [usize],
    (floors, sizes): (&[usize], &[usize]),
    exact: &[f64],
    number: usize,
) {
    loop {
        let sum: usize = shares.iter().sum();
        let lack = |at: &usize| exact[*at] - float(shares[*at]);
        let by_lack = |a: &usize, b: &usize| lack(a).total_cmp(&lack(b)).then(b.cmp(a));
        let all = 0..shares.len();
        let chosen = match sum.cmp(&number) {
            std::cmp::Ordering::Equal => return,
            std::cmp::Ordering::Less => all.filter(|&at| shares[at] < sizes[at]).max_by(by_lack),
            std::cmp::Ordering::Greater => {
                all.filter(|&at| shares[at] > floors[at]).min_by(by_lack)
            }
        };
        let Some(at) = chosen else { return };
        if sum < number { shares[at] += 1 } else { shares[at] -= 1 }
    }
}

#[cfg(test)]
mod tests {
    use super::shares;

    #[test]
    fn shares_sum_to_the_number_and_follow_the_sizes() {
        // Hand-worked: 30 of 600 and 300 is 20 and 10; of 90, 9 and 1 exactly 27, 2.7 and 0.3, two
        // at least where there are two.
        assert_eq!(shares(30, &[600, 300]), [20, 10]);
        assert_eq!(shares(30, &[90, 9, 1]), [27, 2, 1]);
        assert_eq!(shares(5, &[100, 0, 100]), [3, 0, 2]);
        assert_eq!(shares(1, &[10, 10]), [1, 0]);
        assert_eq!(shares(50, &[10, 5]), [10, 5]);
        assert_eq!(shares(4, &[1000, 3]), [2, 2]);
    }
}
