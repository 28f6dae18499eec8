//! Overcrowded, on target, under target, or undecided, and what would settle it.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | m, s | mean of a zone and its standard error, scaled | shoots per m |
//! | n, N | vines counted in the zone, vines in it | – |

use super::{Verdict, VineTarget};
use crate::{
    maths::{
        float,
        normal::{cumulative, student_cumulative},
    },
    settings::PlanSettings,
    zones::ZoneMean,
};

/// What is asked of a zone's mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Question {
    /// What is wanted, shoots per metre.
    pub target: VineTarget,
    /// Margin above the aim and below the low end, shoots per metre.
    pub margin_per_m: f64,
    /// Probability that makes a zone overcrowded or under-target.
    pub sure: f64,
    /// Probability that makes it on-target.
    pub sure_on_target: f64,
}

impl Question {
    /// The question that the settings ask.
    pub const fn new(target: VineTarget, settings: &PlanSettings) -> Self {
        Self {
            target,
            margin_per_m: settings.margin.per_metre(),
            sure: settings.sure,
            sure_on_target: settings.sure_on_target,
        }
    }

    /// The verdict on a zone, tested in this order: overcrowded, under-target, on-target.
    pub fn answer(&self, mean: &ZoneMean) -> Verdict {
        let above = self.target.aim_per_m + self.margin_per_m;
        let below = self.target.low_per_m - self.margin_per_m;
        let over = 1.0 - probability_below(mean, above);
        if over >= self.sure {
            Verdict::Overcrowded
        } else if probability_below(mean, self.target.low_per_m) >= self.sure {
            Verdict::UnderTarget
        } else if 1.0 - over - probability_below(mean, below) >= self.sure_on_target {
            Verdict::OnTarget
        } else {
            Verdict::Undecided
        }
    }

    /// How many more vines to count until the verdict falls, if the mean stays what it is; `None`
    /// where it has fallen, or would not fall with every vine counted.
    ///
    /// The squared error falls as 1/n − 1/N (a sample without replacement, Cochran 1977, §2.5).
    pub fn counts_to_settle(&self, mean: &ZoneMean, counted: usize, vines: usize) -> Option<usize> {
        let counted = counted.max(1);
        if self.answer(mean) != Verdict::Undecided || counted >= vines {
            return None;
        }
        let settled = |n: usize| self.answer(&with_counts(mean, (counted, n), vines));
        if settled(vines) == Verdict::Undecided {
            return None;
        }
        let (mut short, mut enough) = (counted, vines);
        while enough - short > 1 {
            let middle = usize::midpoint(short, enough);
            if settled(middle) == Verdict::Undecided { short = middle } else { enough = middle }
        }
        Some(enough - counted)
    }
}

/// The probability that a zone's mean lies below a density.
pub fn probability_below(mean: &ZoneMean, per_m: f64) -> f64 {
    let error = mean.se * mean.scale;
    let off = per_m - mean.per_m;
    if error <= 0.0 {
        return if off > 0.0 { 1.0 } else { 0.0 };
    }
    match mean.degrees_of_freedom {
        Some(degrees) => student_cumulative(off / error, degrees),
        None => cumulative(off / error),
    }
}

fn with_counts(mean: &ZoneMean, (counted, more): (usize, usize), vines: usize) -> ZoneMean {
    let left = |n: usize| 1.0 / float(n) - 1.0 / float(vines);
    let shrunk = (left(more) / left(counted)).max(0.0).sqrt();
    let degrees_of_freedom = mean.degrees_of_freedom.map(|d| d + float(more - counted));
    ZoneMean { se: mean.se * shrunk, degrees_of_freedom, ..*mean }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::Settings;

    fn mean(per_m: f64, se: f64, degrees_of_freedom: Option<f64>) -> ZoneMean {
        ZoneMean { per_m, se, lo90: 0.0, hi90: 0.0, scale: 1.0, degrees_of_freedom }
    }

    /// 10 to 16 a metre, aim 13, margin 0.5 a foot = 1.640 a metre.
    fn question() -> Question {
        let target = VineTarget { low_per_m: 10.0, high_per_m: 16.0, aim_per_m: 13.0 };
        Question::new(target, &Settings::default().plan())
    }

    #[track_caller]
    fn check(per_m: f64, se: f64, expected: Verdict) {
        assert_eq!(question().answer(&mean(per_m, se, None)), expected, "{per_m} ± {se}");
    }

    #[test]
    fn verdicts_come_in_their_order() {
        check(20.0, 1.0, Verdict::Overcrowded);
        check(14.65, 0.0, Verdict::Overcrowded);
        check(14.63, 0.0, Verdict::OnTarget);
        check(13.0, 1.0, Verdict::OnTarget);
        check(9.0, 0.1, Verdict::UnderTarget);
        check(9.9, 1.0, Verdict::OnTarget);
        check(14.0, 2.0, Verdict::Undecided);
        check(9.0, 5.0, Verdict::Undecided);
    }

    #[test]
    fn more_counts_settle_what_is_undecided() {
        let undecided = mean(15.5, 1.5, None);
        assert_eq!(question().answer(&undecided), Verdict::Undecided);
        let more = question().counts_to_settle(&undecided, 10, 400).unwrap();
        // By hand: z at 0.9 is 1.2816, so (15.5 − 14.6404) / s asks for s ≤ 0.6708; then
        // 1/n − 1/400 ≤ (0.6708 / 1.5)²·(1/10 − 1/400) gives n ≥ 45.5.
        assert_eq!(10 + more, 46);
        assert_eq!(question().counts_to_settle(&mean(20.0, 1.0, None), 10, 400), None);
    }
}
