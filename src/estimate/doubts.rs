//! What the places of the counts leave open: a nugget that no close pair tells, vines far from any
//! count.

use std::collections::BTreeSet;

use geo::{ConvexHull as _, Distance as _, Euclidean, MultiPoint, Point};

use super::{Field, sure::Asked};
use crate::{
    finding::Finding,
    maths::{
        float,
        nearest::{Places, extent, square_distance},
    },
    names::{number_of, row_text},
};

/// Two counts are a close pair when their nearest vines are at most so many vine spacings apart.
const CLOSE_SPACINGS: f64 = 2.0;
/// So many neighbours of a count are looked at.
const NEIGHBOURS: usize = 5;
/// A corner is named when it has this share of the vines that are far …
const NAMED_SHARE: f64 = 0.1;
/// Outside the ground that the counts enclose a vine is far beyond this share of the reach: there
/// an exponential has lost 63 % of the resemblance.
const OUTSIDE_SHARE: f64 = 1.0 / 3.0;

/// The middle of a count's vines, and the half length of their stretch, metres.
type Stretch = ([f64; 2], f64);

impl Asked<'_> {
    /// Told when no two counts stand near each other.
    pub(super) fn no_close_pairs(&self, field: &Field) -> Option<Finding> {
        let spacing_m = self.site.rules.vine_spacing.metres();
        let stretches = self.stretches(field);
        let places = Places::new(stretches.iter().map(|(middle, _)| *middle).collect());
        let gap = |at: usize, other: usize| {
            let ((one, half), (two, its)) = (stretches[at], stretches[other]);
            square_distance(one, two).sqrt() - half - its
        };
        let near = |at: usize| {
            let others = places.nearest(stretches[at].0, NEIGHBOURS).into_iter();
            others.filter(|&other| other != at).map(|other| gap(at, other)).fold(f64::MAX, f64::min)
        };
        let nearest_m = (0..stretches.len()).map(near).fold(f64::MAX, f64::min);
        if stretches.len() < 2 || nearest_m <= CLOSE_SPACINGS * spacing_m * (1.0 + 1e-6) {
            return None;
        }
        let spacings = nearest_m / spacing_m;
        let what =
            format!("no two counts are neighbours: the nearest are {spacings:.0} vines apart");
        Some(
            Finding::warning(self.place.clone(), what)
                .because("how much a vine differs from the next one is then a guess")
                .mend("count the vine or panel next to some that are counted: five pairs help"),
        )
    }

    /// Told when many vines are far from every count, with the corners where they stand.
    pub(super) fn far_vines(&self, field: &Field, reach_m: f64) -> Option<Finding> {
        // In the metres of the variation, which may count those across the rows for more.
        let at = |vine: usize| {
            let place = self.layout.vines[vine].at;
            field.stretched([place.along_m, place.across_m])
        };
        let known: Vec<usize> =
            (0..field.vines.len()).filter(|&vine| field.vines[vine].is_some()).collect();
        let far = far_from(&self.places_of_counts(field), &known, at, reach_m);
        let share = float(far.len()) / float(known.len().max(1));
        if far.is_empty() || share < self.settings.far_share_told {
            return None;
        }
        let what = format!(
            "{:.0} % of the vines are far from every count: {}",
            100.0 * share,
            self.corners(&far, at)
        );
        Some(
            Finding::warning(self.place.clone(), what)
                .because(
                    "the map there is little more than the mean, and cannot show what is there",
                )
                .mend("count some vines there: `thin` names panels in count-next.csv"),
        )
    }

    /// Where the vines of each count stand.
    fn stretches(&self, field: &Field) -> Vec<Stretch> {
        let one = |count: &super::LeftOut| {
            let at = count.vines.iter().map(|&vine| self.layout.vines[vine].at);
            let at: Vec<[f64; 2]> = at.map(|at| [at.along_m, at.across_m]).collect();
            let (least, most) = extent(&at);
            let middle = [0, 1].map(|k| f64::midpoint(least[k], most[k]));
            (middle, 0.5 * square_distance(least, most).sqrt())
        };
        field.left_out.iter().map(one).collect()
    }

    fn places_of_counts(&self, field: &Field) -> Vec<[f64; 2]> {
        let vines = field.left_out.iter().flat_map(|count| &count.vines);
        let at = vines.map(|&vine| self.layout.vines[vine].at);
        at.map(|at| field.stretched([at.along_m, at.across_m])).collect()
    }

    /// Which rows, and towards which end of them.
    fn corners(&self, far: &[usize], at: impl Fn(usize) -> [f64; 2]) -> String {
        let all: Vec<[f64; 2]> = (0..self.layout.vines.len()).map(&at).collect();
        let (least, most) = extent(&all);
        let middle = [0, 1].map(|k| f64::midpoint(least[k], most[k]));
        let in_corner = |end: bool, side: bool| -> Vec<usize> {
            let own = |&vine: &usize| {
                (at(vine)[0] > middle[0]) == end && (at(vine)[1] > middle[1]) == side
            };
            far.iter().copied().filter(own).collect()
        };
        let corners = [(false, false), (true, false), (false, true), (true, true)];
        let words = corners.into_iter().filter_map(|(end, side)| {
            let own = in_corner(end, side);
            let named = float(own.len()) >= NAMED_SHARE * float(far.len());
            named.then(|| self.corner_words(&own, end))
        });
        words.collect::<Vec<_>>().join("; ")
    }

    fn corner_words(&self, own: &[usize], end: bool) -> String {
        let rows: BTreeSet<u32> = own.iter().map(|&vine| self.layout.vines[vine].row).collect();
        let rows: Vec<u32> = rows.into_iter().collect();
        // A long list of rows is no direction.
        let text = match rows.as_slice() {
            [first, .., last] if row_text(&rows).len() > 15 => format!("{first} to {last}"),
            _ => row_text(&rows),
        };
        let side = if end { "the far end" } else { "vine 1" };
        let word = if rows.len() == 1 { "row" } else { "rows" };
        format!("{word} {text} towards {side} ({})", number_of(own.len(), "vine"))
    }
}

/// Vines farther than the reach from every count, or a third of it outside the ground that the
/// counts enclose.
fn far_from(
    counts: &[[f64; 2]],
    vines: &[usize],
    at: impl Fn(usize) -> [f64; 2],
    reach_m: f64,
) -> Vec<usize> {
    let points: MultiPoint<f64> = counts.iter().map(|at| Point::new(at[0], at[1])).collect();
    let hull = points.convex_hull();
    let places = Places::new(counts.to_vec());
    let is_far = |vine: &usize| {
        let here = at(*vine);
        let nearest = places.nearest(here, 1);
        let away_m =
            nearest.first().map_or(f64::MAX, |&count| square_distance(here, counts[count]).sqrt());
        let outside_m = Euclidean.distance(&Point::new(here[0], here[1]), &hull);
        away_m > reach_m || outside_m > OUTSIDE_SHARE * reach_m
    };
    vines.iter().copied().filter(is_far).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_vine_is_far_beyond_the_reach_and_sooner_outside_the_counts() {
        let counts = [[0.0, 0.0], [100.0, 0.0], [100.0, 60.0], [0.0, 60.0]];
        let vines = [[50.0, 30.0], [10.0, 10.0], [-9.0, 30.0], [-11.0, 30.0], [0.0, -9.9]];
        let far = |reach_m| far_from(&counts, &[0, 1, 2, 3, 4], |vine| vines[vine], reach_m);
        // The middle is 58.3 m from every corner.
        assert_eq!(far(32.0), [0, 3]);
        assert_eq!(far(58.5), [0_usize; 0]);
        assert_eq!(far(25.0), [0, 2, 3, 4]);
    }
}
