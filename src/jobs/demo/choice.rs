//! Which vines of the invented estate are visited, and which places are odd.

use std::collections::{BTreeMap, BTreeSet};

use crate::{counts::Status, layout::Layout, maths::random::Random};

/// What the crew visits in a block.
#[derive(Debug)]
pub(super) struct Choice {
    /// Vines counted one by one, as indices into the layout's vines, in walking order.
    pub(super) singles: Vec<usize>,
    /// Panels counted whole, as indices into the layout's panels.
    pub(super) panels: Vec<usize>,
    /// A vine that has grown into the gap beside it.
    pub(super) beside_a_gap: Option<usize>,
    /// Places where no ordinary vine stands.
    pub(super) odd: BTreeMap<usize, Status>,
}

const SINGLES: usize = 32;
const PANELS: usize = 5;
/// Vines are drawn from patches about as long as so many rows are wide.
const ROWS_OF_A_BAND: u32 = 6;
/// Every so many singles, the next vine is counted too: close pairs tell how much neighbours differ.
const PAIR_EVERY: usize = 9;
/// What the crew finds besides vines.
const ODD: [Status; 7] = [
    Status::Missing,
    Status::Missing,
    Status::Missing,
    Status::Replant,
    Status::Replant,
    Status::Young,
    Status::Renewal,
];

/// Chooses vines and panels all over the block; `missing` are places known to be empty.
pub(super) fn choose(layout: &Layout, missing: &[(u32, u32)], seed: u64) -> Choice {
    let mut random = Random::new(seed);
    let ordinary = by_nearness(layout);
    let mut odd = known_missing(layout, missing);
    odd.extend(spread(&ordinary, ODD.len(), &mut random).into_iter().zip(ODD));
    let free: Vec<usize> = ordinary.into_iter().filter(|vine| !odd.contains_key(vine)).collect();
    let singles = with_pairs(spread(&free, SINGLES, &mut random), &free, layout);
    let singles = in_walking_order(singles, layout);
    let beside_a_gap = beside_a_gap(&odd, &free, &singles);
    let taken: BTreeSet<usize> = singles.iter().chain(odd.keys()).copied().collect();
    let whole: Vec<usize> = panels_by_nearness(layout)
        .into_iter()
        .filter(|&panel| is_whole(layout, panel))
        .filter(|&panel| layout.panels[panel].vines.clone().all(|vine| !taken.contains(&vine)))
        .filter(|&panel| beside_a_gap.is_none_or(|v| !layout.panels[panel].vines.contains(&v)))
        .collect();
    Choice { singles, panels: spread(&whole, PANELS, &mut random), beside_a_gap, odd }
}

/// All vines but those at the ends of a piece, band by band of rows, so that near vines follow each
/// other in the list.
fn by_nearness(layout: &Layout) -> Vec<usize> {
    let inner = layout.pieces.iter();
    let inner = inner.flat_map(|piece| piece.vines.clone().skip(1).rev().skip(1));
    let mut vines: Vec<usize> = inner.collect();
    let band = |vine: usize| layout.vines[vine].row / ROWS_OF_A_BAND;
    let along = |vine: usize| {
        let along_m = layout.vines[vine].at.along_m;
        if band(vine).is_multiple_of(2) { along_m } else { -along_m }
    };
    vines.sort_by(|&a, &b| {
        band(a).cmp(&band(b)).then(along(a).total_cmp(&along(b))).then(a.cmp(&b))
    });
    vines
}

/// The panels in the order of their second vines.
fn panels_by_nearness(layout: &Layout) -> Vec<usize> {
    let near = by_nearness(layout).into_iter();
    let seconds = near.filter_map(|vine| {
        let panel = layout.vines[vine].panel;
        (layout.panels[panel].vines.start + 1 == vine).then_some(panel)
    });
    seconds.collect()
}

/// Up one row and down the next, as a crew walks.
fn in_walking_order(mut vines: Vec<usize>, layout: &Layout) -> Vec<usize> {
    vines.sort_by_key(|&vine| {
        let place = &layout.vines[vine];
        let number = i64::from(place.vine);
        (place.row, if place.row.is_multiple_of(2) { -number } else { number })
    });
    vines
}

/// One of every `n`-th part of the list, drawn at random from the middle half of the part.
fn spread(list: &[usize], n: usize, random: &mut Random) -> Vec<usize> {
    (0..n)
        .filter_map(|part| {
            let (from, to) = (part * list.len() / n, (part + 1) * list.len() / n);
            let margin = (to - from) / 4;
            pick(list.get(from + margin..to - margin)?, random)
        })
        .collect()
}

fn pick(list: &[usize], random: &mut Random) -> Option<usize> {
    let at = random.below(u64::try_from(list.len()).ok()?);
    list.get(usize::try_from(at).ok()?).copied()
}

fn known_missing(layout: &Layout, missing: &[(u32, u32)]) -> BTreeMap<usize, Status> {
    let at = |&(row, vine): &(u32, u32)| {
        let found = layout.vines.iter().position(|v| v.row == row && v.vine == vine);
        found.map(|index| (index, Status::Missing))
    };
    missing.iter().filter_map(at).collect()
}

fn with_pairs(singles: Vec<usize>, free: &[usize], layout: &Layout) -> Vec<usize> {
    let free: BTreeSet<usize> = free.iter().copied().collect();
    let mut all = Vec::new();
    for (k, vine) in singles.into_iter().enumerate() {
        all.push(vine);
        let next = vine + 1;
        let same_piece =
            layout.vines.get(next).is_some_and(|v| v.piece == layout.vines[vine].piece);
        if k % PAIR_EVERY == 4 && same_piece && free.contains(&next) {
            all.push(next);
        }
    }
    all
}

fn beside_a_gap(odd: &BTreeMap<usize, Status>, free: &[usize], singles: &[usize]) -> Option<usize> {
    let gaps = odd.iter().filter(|(_, status)| status.is_missing());
    let before = gaps.filter_map(|(vine, _)| vine.checked_sub(1));
    before.into_iter().find(|vine| free.contains(vine) && !singles.contains(vine))
}

/// A panel with as many vines as most have.
fn is_whole(layout: &Layout, panel: usize) -> bool {
    let most = layout.panels.iter().map(|panel| panel.vines.len()).max();
    Some(layout.panels[panel].vines.len()) == most
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::demo::support::grid;

    #[test]
    fn the_choice_is_spread_and_leaves_out_what_is_odd() {
        let layout = grid(25, 80);
        let choice = choose(&layout, &[(4, 17)], 3);
        assert_eq!(choice.odd.len(), 8);
        assert!(choice.singles.len() >= SINGLES + 2, "{}", choice.singles.len());
        assert_eq!(choice.panels.len(), PANELS);
        for vine in &choice.singles {
            assert!(!choice.odd.contains_key(vine));
            assert!((2..80).contains(&layout.vines[*vine].vine), "a row end was chosen");
        }
        let quarter = |number: u32, of: u32| (number - 1) * 4 / of;
        let cells = choice.singles.iter().map(|vine| &layout.vines[*vine]);
        let cells: BTreeSet<(u32, u32)> =
            cells.map(|vine| (quarter(vine.row, 25), quarter(vine.vine, 80))).collect();
        assert!(cells.len() >= 15, "{} of 16 parts of the block have a count", cells.len());
        let counted: BTreeSet<usize> = choice.singles.iter().copied().collect();
        assert_eq!(counted.len(), choice.singles.len(), "a vine was chosen twice");
    }

    #[test]
    fn every_one_of_a_list_can_be_drawn() {
        let mut random = Random::new(5);
        let list: Vec<usize> = (10..17).collect();
        let drawn: BTreeSet<usize> = (0..200).filter_map(|_| pick(&list, &mut random)).collect();
        assert_eq!(drawn.len(), 7);
        assert_eq!(pick(&[], &mut random), None);
    }
}
