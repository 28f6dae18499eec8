//! Borders moved to where the counts want them, and no longer than they need be.
//!
//! Merging sees a surface that slopes at a sharp border and follows its wiggles. Here two zones that
//! touch are parted again on the counts themselves, whole:
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | z, v | a count, and its variance up to a factor | shoots / m, – |
//! | m, s² | mean of a zone's counts; variance of counts around their zones' means, over v | – |
//! | b | length of the border, in typical distances between counts | – |
//! | κ | `zones.border_cost` | – |
//!
//! ```text
//! Σ (z − m)² / (2 s² v)  +  κ · b   →   least
//! ```
//!
//! For two zones with given means this is a least cut (Greig, Porteous & Seheult 1989, J. R. Statist.
//! Soc. B 51:271–279); pairs of zones take turns (Boykov, Veksler & Zabih 2001, IEEE PAMI
//! 23:1222–1239). Where no count speaks the surface does, at a small share of a count.

use std::collections::BTreeSet;

use super::{
    how_many::{Panels, View, borders},
    least_cut::Network,
};
use crate::maths::float;

/// Plantings of more parts keep the borders of merging: the cuts would take longer than all else.
const MOST_PARTS: usize = 3000;
/// How often all pairs take their turn.
const ROUNDS: usize = 3;
/// What the surface says everywhere together, beside all counts: our judgement. It only decides
/// between borders that the counts leave open.
const SURFACE_SHARE: f64 = 0.2;

/// The zones with their borders moved, every zone still in one piece and large enough.
pub(super) fn straighten(
    panels: Panels<'_>,
    view: &View,
    mut labels: Vec<usize>,
    cost: f64,
) -> Vec<usize> {
    if labels.len() > MOST_PARTS || cost <= 0.0 {
        return labels;
    }
    for _ in 0..ROUNDS {
        let before = labels.clone();
        for pair in borders(panels.touching, &before) {
            if let Some(better) = parted_again(panels, view, (&labels, pair), cost) {
                labels = better;
            }
        }
        if labels == before {
            break;
        }
    }
    named_by_lowest(&labels)
}

fn parted_again(
    panels: Panels<'_>,
    view: &View,
    (labels, (one, other)): (&[usize], (usize, usize)),
    cost: f64,
) -> Option<Vec<usize>> {
    let pulls = pulls(view, labels, (one, other))?;
    let members: Vec<usize> =
        (0..labels.len()).filter(|&part| labels[part] == one || labels[part] == other).collect();
    let (source, sink) = (members.len(), members.len() + 1);
    let mut network = Network::new(members.len() + 2);
    for (node, &part) in members.iter().enumerate() {
        network.tie(source, node, [pulls[part].max(0.0), 0.0]);
        network.tie(node, sink, [(-pulls[part]).max(0.0), 0.0]);
        for (&(_, next), length) in panels.border_lengths.range((part, 0)..(part + 1, 0)) {
            if let Ok(neighbour) = members.binary_search(&next) {
                network.tie(node, neighbour, [cost * length; 2]);
            }
        }
    }
    let side = network.source_side(source, sink);
    let mut redrawn = labels.to_vec();
    for (node, &part) in members.iter().enumerate() {
        redrawn[part] = if side[node] { one } else { other };
    }
    mended(panels, view, redrawn, (one, other))
}

/// By part: how much more it costs in the second zone than in the first; `None` where a zone has no
/// count or the counts of all zones are alike.
fn pulls(view: &View, labels: &[usize], (one, other): (usize, usize)) -> Option<Vec<f64>> {
    let means = view.means(labels);
    let (first, second) = (means[one]?, means[other]?);
    let zones = means.iter().flatten().count();
    let squares = view.counts.iter().filter_map(|count| {
        Some((count.per_m - means[labels[count.part]]?).powi(2) / count.variance)
    });
    let spread = squares.sum::<f64>() / float(view.counts.len().saturating_sub(zones).max(1));
    if spread <= 0.0 {
        return None;
    }
    let dearer = |per_m: f64| ((per_m - second).powi(2) - (per_m - first).powi(2)) / (2.0 * spread);
    let precision: f64 = view.counts.iter().map(|count| 1.0 / count.variance).sum();
    let of_surface = SURFACE_SHARE * precision / float(view.units.len().max(1));
    let mut pulls: Vec<f64> =
        view.units.iter().map(|unit| of_surface * dearer(unit.values[0])).collect();
    for count in &view.counts {
        pulls[count.part] += dearer(count.per_m) / count.variance;
    }
    Some(pulls)
}

/// Both zones in one piece each: lesser pieces go to the other zone. `None` where that does not
/// help, or a zone became too small.
fn mended(
    panels: Panels<'_>,
    view: &View,
    mut labels: Vec<usize>,
    (one, other): (usize, usize),
) -> Option<Vec<usize>> {
    let size = |piece: &BTreeSet<usize>| piece.iter().map(|&part| view.units[part].size).sum();
    for (zone, partner) in [(one, other), (other, one)] {
        let mut pieces = pieces(panels.touching, &labels, zone);
        // The first of the greatest stays.
        pieces.sort_by(|a, b| f64::total_cmp(&size(b), &size(a)));
        for &part in pieces.iter().skip(1).flatten() {
            labels[part] = partner;
        }
    }
    let sound = |zone| match pieces(panels.touching, &labels, zone).as_slice() {
        [piece] => size(piece) >= panels.least_size,
        _ => false,
    };
    (sound(one) && sound(other)).then_some(labels)
}

fn pieces(touching: &[BTreeSet<usize>], labels: &[usize], zone: usize) -> Vec<BTreeSet<usize>> {
    let mut left: BTreeSet<usize> =
        (0..labels.len()).filter(|&part| labels[part] == zone).collect();
    let mut pieces = Vec::new();
    while let Some(first) = left.pop_first() {
        let (mut piece, mut waiting) = (BTreeSet::from([first]), vec![first]);
        while let Some(part) = waiting.pop() {
            for next in &touching[part] {
                if left.remove(next) {
                    piece.insert(*next);
                    waiting.push(*next);
                }
            }
        }
        pieces.push(piece);
    }
    pieces
}

/// The same zones, each named after its lowest part.
fn named_by_lowest(labels: &[usize]) -> Vec<usize> {
    let mut names = vec![usize::MAX; labels.len()];
    for (part, &label) in labels.iter().enumerate() {
        names[label] = names[label].min(part);
    }
    labels.iter().map(|&label| names[label]).collect()
}
