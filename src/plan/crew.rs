//! In which order zones are worked, and what a crew can finish in time.

use jiff::civil::Date;

use super::{CrewOutlook, Window, ZonePlan, deadline::days_between};
use crate::settings::PlanSettings;

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
    Some(CrewOutlook { people, hours_per_day: settings.hours_per_day, days, finished })
}

/// The first day of work.
fn start(window: &Window, settings: &PlanSettings) -> Option<Date> {
    match (window.opens, settings.date) {
        (Some(opens), Some(today)) => Some(opens.max(today)),
        (opens, today) => opens.or(today),
    }
}

fn in_time(start: Date, days: f64, thin_by: Option<Date>) -> Option<bool> {
    let left = f64::from(days_between(start, thin_by?)) + 1.0;
    Some(days <= left)
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
        assert_eq!(
            start(&window, &PlanSettings { date: Some(date(2026, 5, 13)), ..settings }),
            Some(date(2026, 5, 13))
        );
    }
}
