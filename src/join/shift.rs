//! Whether shoots changed between two visits, by the places that were counted on both.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | d | later density less the earlier one, at one place | shoots per m |
//! | t | d̄ / (s / √n), the paired t of Student 1908, Biometrika 6:1–25 | – |

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{Ground, visits};
use crate::{
    finding::{Finding, Findings, Place},
    maths::float,
    names::{agreeing, number_of},
    units::Metres,
};

/// Fewer places counted twice tell no change.
const FEWEST_PAIRS: usize = 5;
/// |t| from which a change is told: about 95 % with a dozen pairs.
const LEAST_T: f64 = 2.0;

/// What the places tell that were counted on two visits before the work.
struct Shift {
    mean_per_m: f64,
    t: f64,
    pairs: usize,
    /// Places whose latest count is from the earlier days.
    older: usize,
}

/// Tells a clear change between visits. Counts are used as they were made: what changed a few vines
/// is not known of the others.
pub(super) fn tell(ground: &Ground<'_>, findings: &mut Findings) {
    let Some(shift) = shift(ground) else { return };
    if shift.pairs < FEWEST_PAIRS || shift.t.abs() <= LEAST_T {
        return;
    }
    let way = if shift.mean_per_m > 0.0 { "rose" } else { "fell" };
    let what = format!(
        "shoots {way} by {:.1} a metre between two visits (t = {:.1}, {} places counted on both)",
        shift.mean_per_m.abs(),
        shift.t,
        shift.pairs
    );
    let why = match shift.older {
        0 => "the later counts are used".to_owned(),
        older => format!(
            "{} counted on the earlier visit only {} used as counted: the map mixes two levels",
            number_of(older, "place"),
            agreeing(older, "is", "are")
        ),
    };
    let mend = if shift.mean_per_m < 0.0 {
        "if vines were thinned between, label the later counts `after`; else count the others again"
    } else {
        "count the others again, or plan from the later counts alone"
    };
    findings.push(Finding::warning(Place::field("visit"), what).because(why).mend(mend));
}

fn shift(ground: &Ground<'_>) -> Option<Shift> {
    let used = visits::all(ground, |at| ground.tells_shoots(at));
    let mut differences = Vec::new();
    let (mut earlier, mut alone): (Option<Date>, Vec<Date>) = (None, Vec::new());
    for records in used.values() {
        let mut by_date: BTreeMap<Date, [f64; 2]> = BTreeMap::new();
        for &at in records {
            let placed = &ground.placed[at];
            let whole_m = ground.canopy_m(&ground.standing_in(placed.target));
            let over_m = placed.count.counted_length.map_or(whole_m, Metres::metres);
            if let (Some(date), Some(shoots), true) =
                (placed.count.date, placed.count.shoots, over_m > 0.0)
            {
                let sums = by_date.entry(date).or_default();
                *sums = [sums[0] + f64::from(shoots.all), sums[1] + over_m];
            }
        }
        let mut visits = by_date.into_iter().rev().map(|(date, [all, m])| (date, all / m));
        match (visits.next(), visits.next()) {
            (Some((_, later)), Some((date, before))) => {
                differences.push(later - before);
                earlier = earlier.max(Some(date));
            }
            (Some((date, _)), None) => alone.push(date),
            (None, _) => {}
        }
    }
    let older = alone.into_iter().filter(|date| Some(*date) <= earlier).count();
    let n = float(differences.len());
    let mean_per_m = differences.iter().sum::<f64>() / n;
    let squares: f64 = differences.iter().map(|d| (d - mean_per_m).powi(2)).sum();
    let t = mean_per_m / (squares / (n - 1.0) / n).sqrt();
    (!t.is_nan()).then_some(Shift { mean_per_m, t, pairs: differences.len(), older })
}
