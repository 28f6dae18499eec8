//! People who count the same vines differently.
//!
//! Vines that two people counted both tell it best: their paired differences. Else each count less
//! what the others foretell of it is compared person by person; where each kept to a part of the
//! block the others are mostly counts of the same person, so that a difference is understated.

use std::collections::BTreeMap;

use super::LeftOut;
use crate::{
    join::Joined,
    maths::{float, normal::student_cumulative},
};

/// Fewest counts of each of two people who are compared.
const FEWEST_COUNTS: usize = 5;
/// Fewest vines or panels that two people counted both.
const FEWEST_SHARED: usize = 3;
/// A difference is told when chance alone gives one as large less often than this, all pairs of
/// people together (Bonferroni).
const CHANCE: f64 = 0.05;

/// Somebody who counted.
#[derive(Debug, Clone, PartialEq)]
pub struct Observer {
    /// As written in `counted_by`.
    pub name: String,
    /// Counts of shoots that are used.
    pub counts: usize,
    /// Counted over foretold by the others, where there is a check.
    pub counted_over_foretold: Option<f64>,
}

/// Two people whose counts were compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// Who counts more, and who less.
    pub names: [String; 2],
    /// Counts of the first over those of the second.
    pub ratio: f64,
    /// Counts of each that were compared.
    pub counts: [usize; 2],
    /// True when both counted the same vines.
    pub same_vines: bool,
    /// How often chance alone gives one as large.
    pub chance: f64,
    /// It is more than chance explains, all pairs of people together.
    pub differs: bool,
}

impl Difference {
    /// Who counts how much more, and on what that rests.
    pub fn words(&self) -> String {
        let [more, less] = &self.names;
        let [a, b] = self.counts;
        let how = if self.same_vines {
            format!("on the {a} places that both counted")
        } else {
            format!("{a} and {b} counts, each against what the others foretell")
        };
        format!("`{more}` counts {:.2} times what `{less}` counts ({how})", self.ratio)
    }
}

/// A count of one person.
struct Own<'a> {
    name: &'a str,
    vines: &'a [usize],
    per_m: f64,
    /// What the others foretell, where known.
    foretold_per_m: Option<f64>,
}

/// Everybody who counted, by name, and the pairs who differ or counted the same vines.
pub(super) fn observers(joined: &Joined, left_out: &[LeftOut]) -> (Vec<Observer>, Vec<Difference>) {
    let own = counts(joined, left_out);
    let mut by_name: BTreeMap<&str, Vec<&Own<'_>>> = BTreeMap::new();
    for count in &own {
        by_name.entry(count.name).or_default().push(count);
    }
    let everybody = by_name.iter().map(|(name, counts)| Observer {
        name: (*name).to_owned(),
        counts: counts.len(),
        counted_over_foretold: over_foretold(counts),
    });
    let names: Vec<&Vec<&Own<'_>>> = by_name.values().collect();
    let pairs = || (0..names.len()).flat_map(|a| (a + 1..names.len()).map(move |b| (a, b)));
    let compared: Vec<Difference> =
        pairs().filter_map(|(a, b)| compare(names[a], names[b])).collect();
    let most = CHANCE / float(compared.len().max(1));
    let judged = compared.into_iter().map(|two| Difference { differs: two.chance < most, ..two });
    let told = judged.filter(|two| two.differs || two.same_vines);
    (everybody.collect(), told.collect())
}

fn counts<'a>(joined: &'a Joined, left_out: &[LeftOut]) -> Vec<Own<'a>> {
    let foretold: BTreeMap<usize, f64> = left_out
        .iter()
        .flat_map(|count| count.vines.iter().map(|vine| (*vine, count.foretold_per_m)))
        .collect();
    let one = |record: &'a crate::join::JoinedRecord| {
        let name = record.count.counted_by.as_deref().map(str::trim).filter(|n| !n.is_empty())?;
        let known = record.vines.iter().find_map(|vine| foretold.get(vine).copied());
        let per_m = record.shoots_per_m?;
        Some(Own { name, vines: &record.vines, per_m, foretold_per_m: known })
    };
    joined.records.iter().filter_map(one).collect()
}

fn over_foretold(counts: &[&Own<'_>]) -> Option<f64> {
    let known = || counts.iter().filter_map(|count| Some((count.per_m, count.foretold_per_m?)));
    let foretold: f64 = known().map(|(_, foretold)| foretold).sum();
    (foretold > 0.0).then(|| known().map(|(counted, _)| counted).sum::<f64>() / foretold)
}

fn compare(one: &[&Own<'_>], other: &[&Own<'_>]) -> Option<Difference> {
    let found = on_shared_vines(one, other).or_else(|| by_foretold(one, other))?;
    let names = [one.first()?.name.to_owned(), other.first()?.name.to_owned()];
    if found.ratio >= 1.0 {
        return Some(Difference { names, ..found });
    }
    let [first, second] = names;
    let [a, b] = found.counts;
    Some(Difference { names: [second, first], counts: [b, a], ratio: 1.0 / found.ratio, ..found })
}

/// Paired t-test over what both counted.
fn on_shared_vines(one: &[&Own<'_>], other: &[&Own<'_>]) -> Option<Difference> {
    let (of_one, of_other) = (means_by_place(one), means_by_place(other));
    let pairs: Vec<(f64, f64)> =
        of_one.iter().filter_map(|(vines, mean)| Some((*mean, *of_other.get(vines)?))).collect();
    if pairs.len() < FEWEST_SHARED {
        return None;
    }
    let differences: Vec<f64> = pairs.iter().map(|(a, b)| a - b).collect();
    let (mean, variance) = moments(&differences);
    let n = float(pairs.len());
    Some(Difference {
        names: Default::default(),
        ratio: pairs.iter().map(|(a, _)| a).sum::<f64>()
            / pairs.iter().map(|(_, b)| b).sum::<f64>(),
        counts: [pairs.len(); 2],
        same_vines: true,
        chance: chance(mean, variance / n, n - 1.0),
        differs: false,
    })
}

/// The mean count of each place.
fn means_by_place<'a>(counts: &[&Own<'a>]) -> BTreeMap<&'a [usize], f64> {
    let mut sums: BTreeMap<&[usize], (f64, f64)> = BTreeMap::new();
    for count in counts {
        let (sum, times) = sums.entry(count.vines).or_default();
        (*sum, *times) = (*sum + count.per_m, *times + 1.0);
    }
    sums.into_iter().map(|(vines, (sum, times))| (vines, sum / times)).collect()
}

/// Two-sample t-test over counts less what the others foretell.
///
/// # Source
/// Welch 1947, Biometrika 34:28–35.
fn by_foretold(one: &[&Own<'_>], other: &[&Own<'_>]) -> Option<Difference> {
    let residuals = |counts: &[&Own<'_>]| -> Vec<f64> {
        counts.iter().filter_map(|count| Some(count.per_m - count.foretold_per_m?)).collect()
    };
    let (a, b) = (residuals(one), residuals(other));
    if a.len().min(b.len()) < FEWEST_COUNTS {
        return None;
    }
    let ((mean_a, variance_a), (mean_b, variance_b)) = (moments(&a), moments(&b));
    let (share_a, share_b) = (variance_a / float(a.len()), variance_b / float(b.len()));
    let square = share_a + share_b;
    let degrees = square * square
        / (share_a * share_a / float(a.len() - 1) + share_b * share_b / float(b.len() - 1))
            .max(f64::MIN_POSITIVE);
    Some(Difference {
        names: Default::default(),
        ratio: over_foretold(one)? / over_foretold(other)?,
        counts: [a.len(), b.len()],
        same_vines: false,
        chance: chance(mean_a - mean_b, square, degrees.max(1.0)),
        differs: false,
    })
}

fn moments(values: &[f64]) -> (f64, f64) {
    let n = float(values.len());
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    (mean, squares / (n - 1.0).max(1.0))
}

/// Two-sided probability of a difference at least as large.
fn chance(difference: f64, square: f64, degrees: f64) -> f64 {
    if square <= 0.0 {
        return if difference == 0.0 { 1.0 } else { 0.0 };
    }
    2.0 * student_cumulative(-(difference / square.sqrt()).abs(), degrees)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        counts::Count,
        join::{FoundBy, JoinedRecord},
    };

    /// Records of vines: vine, who counted, shoots a metre.
    fn joined(counts: &[(usize, &str, f64)]) -> Joined {
        let record = |&(vine, name, per_m): &(usize, &str, f64)| JoinedRecord {
            count: Count { counted_by: Some(name.to_owned()), ..Count::default() },
            how: FoundBy::RowAndVine,
            vines: vec![vine],
            panel: None,
            shoots_per_m: Some(per_m),
        };
        Joined {
            vines: vec![],
            shoots: vec![],
            vigor: None,
            raster: None,
            timed: vec![],
            records: counts.iter().map(record).collect(),
            unjoined: vec![],
            date: None,
            growth: vec![],
            suckers_per_vine: None,
            buds: None,
            dormant: crate::join::Dormant::default(),
        }
    }

    /// Each vine's count, foretold as 20.
    fn left_out(counts: &[(usize, &str, f64)]) -> Vec<LeftOut> {
        let one = |&(vine, _, counted_per_m): &(usize, &str, f64)| LeftOut {
            vines: vec![vine],
            counted_per_m,
            foretold_per_m: 20.0,
            se_per_m: 1.0,
        };
        counts.iter().map(one).collect()
    }

    /// Counts by two people in turn: as foretold ± 1, the second's times a factor.
    fn in_turn(each: usize, factor: f64) -> Vec<(usize, &'static str, f64)> {
        let one = |vine: usize| {
            let own = 20.0 + [1.0, -1.0, 0.0][vine / 2 % 3];
            if vine.is_multiple_of(2) {
                (vine, "Left", own)
            } else {
                (vine, " Right ", own * factor)
            }
        };
        (0..2 * each).map(one).collect()
    }

    #[test]
    fn a_tenth_more_is_told_and_chance_is_not() {
        let check = |each: usize, factor: f64| {
            let counts = in_turn(each, factor);
            observers(&joined(&counts), &left_out(&counts))
        };
        let (all, differ) = check(9, 1.1);
        assert_eq!(all.iter().map(|one| one.counts).collect::<Vec<_>>(), [9, 9]);
        assert!((all[1].counted_over_foretold.unwrap() - 1.1).abs() < 1e-12);
        assert_eq!(differ[0].names, ["Right", "Left"]);
        assert!((differ[0].ratio - 1.1).abs() < 1e-12 && !differ[0].same_vines);
        // 2.0 over √(0.75 (1 + 1.21) / 9) is t = 4.66; two-sided with 15.857 degrees 0.00026723 (scipy).
        assert!((differ[0].chance - 0.000_267_23).abs() < 1e-8, "{}", differ[0].chance);
        assert!(check(9, 1.0).1.is_empty(), "no difference");
        assert!(check(9, 1.01).1.is_empty(), "chance");
        assert!(check(4, 1.3).1.is_empty(), "four counts each are too few");
    }

    #[test]
    fn vines_that_both_counted_decide_before_anything_else() {
        let mut counts = in_turn(9, 1.0);
        counts.extend([(0, "Right", 24.0), (2, "Right", 22.8), (4, "Right", 24.2)]);
        let left = left_out(&in_turn(9, 1.0));
        let (_, differ) = observers(&joined(&counts), &left);
        assert!(differ[0].same_vines && differ[0].counts == [3, 3], "{differ:?}");
        // (24 + 22.8 + 24.2) / (21 + 19 + 20).
        assert!((differ[0].ratio - 71.0 / 60.0).abs() < 1e-12);
        counts.truncate(20);
        assert!(observers(&joined(&counts), &left).1.is_empty(), "two shared vines are too few");
    }

    // (21 + 20 + 19.5) / (21 + 19 + 20): told though chance explains it.
    #[test]
    fn the_ratio_on_the_same_vines_is_told_whatever_it_is() {
        let mut counts = in_turn(9, 1.0);
        counts.extend([(0, "Right", 21.0), (2, "Right", 20.0), (4, "Right", 19.5)]);
        let (_, compared) = observers(&joined(&counts), &left_out(&in_turn(9, 1.0)));
        assert!(compared[0].same_vines && !compared[0].differs, "{compared:?}");
        assert!((compared[0].ratio - 60.5 / 60.0).abs() < 1e-12, "{compared:?}");
    }
}
