//! In which order zones are worked, and what a crew can finish in time.

use jiff::civil::Date;

use super::{CrewOutlook, Window, ZonePlan, deadline::days_between};
use crate::{maths::whole, settings::PlanSettings};

/// The zones to work, in order: which closes first, then most excess per hour, then lowest id.
pub(super) fn order(zones: &[ZonePlan]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..zones.len()).filter(|&z| zones[z].remove.value > 0.0).collect();
    let gain = |zone: &ZonePlan| zone.remove.value / zone.hours.value.max(f64::MIN_POSITIVE);
    order.sort_by(|&a, &b| {
        let (one, other) = (&zones[a], &zones[b]);
        // A zone without a date waits for those that have one.
        let closing = |zone: &ZonePlan| zone.thin_by.unwrap_or(Date::MAX);
        let closes = closing(one).cmp(&closing(other));
        closes.then(gain(other).total_cmp(&gain(one))).then(a.cmp(&b))
    });
    order
}

/// What a crew can finish, when its size is known.
///
/// Work starts when the window opens, or on the day of the plan where that is later.
pub(super) fn outlook(
    zones: &[ZonePlan],
    order: &[usize],
    window: &Window,
    settings: &PlanSettings,
) -> Option<CrewOutlook> {
    let people = settings.crew.filter(|people| *people > 0)?;
    let hours_a_day = f64::from(people) * settings.hours_per_day;
    let start = start(window, settings);
    let mut days = 0.0;
    let finished = order.iter().map(|&zone| {
        days += zones[zone].hours.value / hours_a_day;
        (zone, days, start.and_then(|start| in_time(start, days, zones[zone].thin_by)))
    });
    let finished: Vec<(usize, f64, Option<bool>)> = finished.collect();
    let days_left = |zone: usize| left(start?, zones[zone].thin_by);
    let late = finished.iter().filter_map(|&(zone, day, _)| {
        let after = (day - days_left(zone)?.max(0.0)) * hours_a_day;
        (after > 0.0).then(|| (zone, after.min(zones[zone].hours.value)))
    });
    let late = late.collect();
    let needed = finished.iter().map(|&(zone, day, _)| {
        let left = days_left(zone).filter(|left| *left > 0.0)?;
        Some(whole((f64::from(people) * day / left - 1e-9).ceil()).max(1))
    });
    let enough = needed.collect::<Option<Vec<usize>>>();
    let enough = enough.and_then(|needed| u32::try_from(needed.into_iter().max()?).ok());
    Some(CrewOutlook {
        people,
        hours_per_day: settings.hours_per_day,
        days,
        finished,
        late,
        enough,
    })
}

/// The first day of work.
fn start(window: &Window, settings: &PlanSettings) -> Option<Date> {
    match (window.opens, settings.date) {
        (Some(opens), Some(today)) => Some(opens.max(today)),
        (opens, today) => opens.or(today),
    }
}

fn in_time(start: Date, days: f64, thin_by: Option<Date>) -> Option<bool> {
    Some(days <= left(start, thin_by)?)
}

/// Days to work, the first and the last one among them.
fn left(start: Date, thin_by: Option<Date>) -> Option<f64> {
    Some(f64::from(days_between(start, thin_by?)) + 1.0)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::{
        plan::{Interval, Verdict},
        settings::Settings,
    };

    fn zone(remove: f64, hours: f64, thin_by: Option<Date>) -> ZonePlan {
        let exactly = |value| Interval { value, lo90: value, hi90: value };
        ZonePlan {
            verdict: if remove > 0.0 { Verdict::Overcrowded } else { Verdict::OnTarget },
            target_per_m: None,
            excess: None,
            remove: exactly(remove),
            hours: exactly(hours),
            hours_if_worked: None,
            order: None,
            thin_from: None,
            thin_by,
            thin_by_latest: None,
            counts_to_settle: None,
            advice: Vec::new(),
        }
    }

    fn zones() -> Vec<ZonePlan> {
        let (early, late) = (Some(date(2026, 5, 12)), Some(date(2026, 5, 20)));
        vec![
            zone(100.0, 48.0, late),
            zone(0.0, 0.0, early),
            zone(100.0, 24.0, late),
            zone(10.0, 48.0, early),
        ]
    }

    #[test]
    fn what_closes_first_is_worked_first_and_then_what_gains_most() {
        assert_eq!(order(&zones()), [3, 2, 0]);
    }

    #[test]
    fn a_crew_is_told_what_it_cannot_finish() {
        let window = Window {
            opens: Some(date(2026, 5, 11)),
            closes_first: None,
            closes_last: None,
            source: String::new(),
        };
        let settings = PlanSettings { crew: Some(2), ..Settings::default().plan() };
        let outlook = outlook(&zones(), &[3, 2, 0], &window, &settings).unwrap();
        // Two people for eight hours are 16 hours a day; from the 11th to the 12th are two days.
        let finished = [(3, 3.0, Some(false)), (2, 4.5, Some(true)), (0, 7.5, Some(true))];
        assert_eq!(outlook.finished, finished);
        // A day of the first zone comes too late; two people would need three days for two: three can.
        assert_eq!((outlook.late, outlook.enough), (vec![(3, 16.0)], Some(3)));
        assert_eq!(
            start(&window, &PlanSettings { date: Some(date(2026, 5, 13)), ..settings }),
            Some(date(2026, 5, 13))
        );
    }
}
