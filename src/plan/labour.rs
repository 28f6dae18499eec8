//! Person-hours: fitted from timed vines, or an assumption that calls itself one.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | a | walk and look | person-minutes a vine |
//! | b | taking off | person-minutes a shoot |

use super::{Interval, Labour};
use crate::{
    join::Timed,
    maths::{float, normal::student_quantile},
    settings::PlanSettings,
};

/// How many minutes work takes.
///
/// `left_per_vine` is what stays on a vine on average, shoots: what a timed vine had above it was
/// taken off. Timed records without a count of shoots cannot tell a from b and are not used.
pub fn labour(
    timed: &[Timed],
    left_per_vine: f64,
    shoot_length_m: Option<f64>,
    settings: &PlanSettings,
) -> Labour {
    let work: Vec<[f64; 3]> = timed
        .iter()
        .filter_map(|timed| {
            let vines = float(timed.vines);
            let off = (timed.shoots? - left_per_vine * vines).max(0.0);
            (vines > 0.0 && timed.minutes > 0.0).then_some([timed.minutes, vines, off])
        })
        .collect();
    fitted(&work, settings).unwrap_or_else(|| assumed(shoot_length_m, work.len(), settings))
}

impl Labour {
    /// Person-hours for so many vines with so many shoots to take off, suckers among them.
    pub fn hours(&self, vines: f64, shoots: f64) -> f64 {
        (self.per_vine * vines + self.per_shoot * shoots) / 60.0
    }

    /// The same with a 90 % interval from that of the shoots and from its own doubt.
    ///
    /// Both are independent factors, so their logarithms add up as squares.
    pub fn hours_between(&self, vines: f64, shoots: Interval, suckers: f64) -> Interval {
        let hours = |shoots: f64| self.hours(vines, shoots + suckers);
        let value = hours(shoots.value);
        if value <= 0.0 {
            return Interval::default();
        }
        let spread = |end: f64, factor: f64| (end / value).ln().hypot(factor.ln()).exp();
        Interval {
            value,
            lo90: value / spread(hours(shoots.lo90).max(1e-9 * value), self.factor90[0]),
            hi90: value * spread(hours(shoots.hi90), self.factor90[1]),
        }
    }
}

impl Labour {
    /// The same work at the pace of records timed since, each person-minutes spent beside those
    /// reckoned; their spread is its doubt. `None` of too few.
    pub fn at_pace_of(&self, records: &[[f64; 2]], settings: &PlanSettings) -> Option<Self> {
        let [spent, reckoned] = [0, 1].map(|at| records.iter().map(|r| r[at]).sum::<f64>());
        if records.len() < settings.fewest_timed.max(2) || spent <= 0.0 || reckoned <= 0.0 {
            return None;
        }
        let pace = spent / reckoned;
        let squares: f64 = records.iter().map(|[spent, by]| (spent - pace * by).powi(2)).sum();
        let (count, degrees) = (float(records.len()), float(records.len() - 1));
        // The ratio estimator's error over the ratio: Cochran 1977, 6.3, from memory.
        let relative = (count * squares / degrees).sqrt() / spent;
        let factor =
            (1.0 + student_quantile(0.95, degrees) * relative).max(settings.least_timed_factor);
        Some(Self {
            per_vine: self.per_vine * pace,
            per_shoot: self.per_shoot * pace,
            factor90: [1.0 / factor, factor],
            source: format!("the plan's, at the pace of {} places timed since", records.len()),
            timed: records.len(),
            assumed: false,
        })
    }
}

fn assumed(shoot_length_m: Option<f64>, timed: usize, settings: &PlanSettings) -> Labour {
    let slow = shoot_length_m.is_some_and(|length| length > settings.slower_past.metres());
    let factor = if slow { settings.slower_factor } else { 1.0 };
    let with_shears = if slow { ", shears included" } else { "" };
    Labour {
        per_vine: settings.minutes_per_vine,
        per_shoot: settings.minutes_per_shoot * factor,
        factor90: [1.0 / settings.labour_factor, settings.labour_factor],
        source: format!(
            "an assumption{with_shears}: workers differ four- to eightfold, so time a few vines and \
             write the minutes beside their counts"
        ),
        timed,
        assumed: true,
    }
}

/// Least squares, no coefficient below 0, a record weighted by 1 / vines: the variance of the time
/// for a panel grows with its vines.
fn fitted(work: &[[f64; 3]], settings: &PlanSettings) -> Option<Labour> {
    if work.len() < settings.fewest_timed.max(3) {
        return None;
    }
    let [a, b] = not_negative_fit(work)?;
    let spread = work.iter().map(|[minutes, vines, off]| {
        let expected = a * vines + b * off;
        (minutes - expected).powi(2) / vines
    });
    let vines: f64 = work.iter().map(|[_, vines, _]| vines).sum();
    let minutes: f64 = work.iter().map(|[minutes, _, _]| minutes).sum();
    let degrees = float(work.len() - 2);
    let variance = spread.sum::<f64>() / degrees;
    let relative = (variance * vines).sqrt() / minutes;
    let factor =
        (1.0 + student_quantile(0.95, degrees) * relative).max(settings.least_timed_factor);
    Some(Labour {
        per_vine: a,
        per_shoot: b,
        factor90: [1.0 / factor, factor],
        source: format!("fitted to {} timed records of your own crew", work.len()),
        timed: work.len(),
        assumed: false,
    })
}

fn not_negative_fit(work: &[[f64; 3]]) -> Option<[f64; 2]> {
    let sum = |term: fn(&[f64; 3]) -> f64| -> f64 { work.iter().map(|w| term(w) / w[1]).sum() };
    let (vv, vo, oo) = (sum(|w| w[1] * w[1]), sum(|w| w[1] * w[2]), sum(|w| w[2] * w[2]));
    let (vm, om) = (sum(|w| w[1] * w[0]), sum(|w| w[2] * w[0]));
    let determinant = vv * oo - vo * vo;
    if determinant > 1e-9 * vv * oo {
        let both = [(oo * vm - vo * om) / determinant, (vv * om - vo * vm) / determinant];
        if both[0] >= 0.0 && both[1] >= 0.0 {
            return Some(both);
        }
        if both[0] < 0.0 {
            return Some([0.0, om / oo]);
        }
    }
    (vv > 0.0).then(|| [vm / vv, 0.0])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::Settings;

    fn timed(minutes: f64, vines: usize, shoots: f64) -> Timed {
        Timed { minutes, vines, shoots: Some(shoots) }
    }

    fn from(records: &[Timed], length_in: f64) -> Labour {
        labour(records, 10.0, Some(length_in * 0.0254), &Settings::default().plan())
    }

    // By hand: 45 minutes spent for 30 reckoned are a pace of 1.5; residuals 1, −1, 0, 1, −1 give s² =
    // 4/4 and a relative error √(5·1)/45; t with 4 degrees is 2.131847 at 95 %.
    #[test]
    fn timed_work_replaces_the_doubt_of_an_assumption() {
        let assumed = from(&[], 6.0);
        let records = [[10.0, 6.0], [8.0, 6.0], [9.0, 6.0], [10.0, 6.0], [8.0, 6.0]];
        let timed = assumed.at_pace_of(&records, &Settings::default().plan()).unwrap();
        assert!((timed.per_shoot / assumed.per_shoot - 1.5).abs() < 1e-12);
        assert!((timed.per_vine / assumed.per_vine - 1.5).abs() < 1e-12);
        let factor = 1.0 + 2.131_847 * 5.0_f64.sqrt() / 45.0;
        assert!((timed.factor90[1] - factor).abs() < 1e-6, "{timed:?}");
        assert!(timed.factor90[1] < assumed.factor90[1] && !timed.assumed);
        assert_eq!(assumed.at_pace_of(&records[..4], &Settings::default().plan()), None);
    }

    #[test]
    fn timed_work_gives_its_own_minutes_back() {
        // 0.5 min a vine and 0.1 min a shoot above the 10 that stay.
        let records = [14.0, 20.0, 30.0, 12.0, 25.0].map(|s| timed(0.5 + 0.1 * (s - 10.0), 1, s));
        let panel = timed(4.0 * 0.5 + 0.1 * 24.0, 4, 64.0);
        let labour = from(&[&records[..], &[panel]].concat(), 6.0);
        assert!((labour.per_vine - 0.5).abs() < 1e-9, "{labour:?}");
        assert!((labour.per_shoot - 0.1).abs() < 1e-9, "{labour:?}");
        assert!((labour.factor90[1] - 1.1).abs() < 1e-9, "{labour:?}");
    }

    #[test]
    fn no_coefficient_falls_below_nothing() {
        let falling = [1.0, 2.0, 3.0, 4.0, 5.0].map(|n| timed(6.0 - n, 1, 10.0 + n));
        let labour = from(&falling, 6.0);
        assert!(labour.per_vine > 0.0 && labour.per_shoot >= 0.0, "{labour:?}");
    }

    #[test]
    fn four_records_are_too_few_and_long_shoots_are_slower() {
        let few = [timed(1.0, 1, 20.0); 4];
        let (short, long) = (from(&few, 9.0), from(&few, 11.0));
        assert!(short.source.contains("assumption"), "{}", short.source);
        assert!((long.per_shoot / short.per_shoot - 1.5).abs() < 1e-12);
        assert!((long.per_vine - short.per_vine).abs() < 1e-12);
    }

    #[test]
    fn hours_carry_both_doubts() {
        let labour = from(&[], 6.0);
        let sure = Interval { value: 100.0, lo90: 100.0, hi90: 100.0 };
        let doubtful = Interval { value: 100.0, lo90: 50.0, hi90: 150.0 };
        let hours = |shoots| labour.hours_between(40.0, shoots, 0.0);
        assert!((hours(sure).hi90 / hours(sure).value - 2.5).abs() < 1e-9);
        assert!(hours(doubtful).hi90 > hours(sure).hi90);
        assert!(hours(doubtful).lo90 < hours(sure).lo90);
    }
}
