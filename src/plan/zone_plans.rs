//! What is planned for every zone.

use jiff::civil::Date;

use super::{
    Evidence, Interval, Labour, TakeOff, Verdict, VigorClass, VineTarget, Window, ZonePlan,
    advice::{self, advice},
    deadline::{Growth, days_between, growth, window},
    labour::labour,
    target::vigor_class,
    verdict::Question,
    vines::left_per_m,
};
use crate::{
    estimate::Method,
    join::VigorMeasure,
    maths::float,
    settings::PlanSettings,
    zones::{Zone, wanted::vigor_at},
};

/// What holds for the whole block.
#[derive(Debug, Clone)]
pub(super) struct Circumstances<'a> {
    settings: &'a PlanSettings,
    growth: Option<Growth>,
    /// A frost after which nobody counted primary and secondary shoots apart.
    pub(super) frost: Option<Date>,
    /// How hours are reckoned.
    pub(super) labour: Labour,
    /// When the window opens and closes.
    pub(super) window: Window,
}

impl<'a> Circumstances<'a> {
    /// What holds for the whole block.
    pub(super) fn new(
        evidence: Evidence<'_>,
        targets: &[Option<VineTarget>],
        settings: &'a PlanSettings,
    ) -> Self {
        let growth = growth(&evidence.joined.growth, settings);
        let length_m = growth.as_ref().map(|growth| length_now(growth, settings));
        let left = left_per_vine(evidence, targets, settings);
        Self {
            labour: labour(&evidence.joined.timed, left, length_m, settings),
            window: window(growth.as_ref(), settings),
            frost: settings.frost.filter(|&frost| !is_recounted(evidence, frost)),
            growth,
            settings,
        }
    }

    /// Which shoots go.
    pub(super) fn take_off(&self) -> TakeOff {
        self.settings.frost.map_or(TakeOff::DoublesFirst, |_| TakeOff::DoublesStay)
    }

    /// The window of a zone: where shoot length is mapped, shorter zones close later.
    fn window_of(&self, evidence: Evidence<'_>, zone: &Zone) -> Window {
        let length = relative_length(evidence, zone).zip(self.growth.as_ref());
        length.map_or_else(
            || self.window.clone(),
            |(ratio, growth)| {
                let own = Growth { length_m: growth.length_m * ratio, ..growth.clone() };
                window(Some(&own), self.settings)
            },
        )
    }
}

/// Shoot length on the day of the plan, growing slowly since it was measured, metres.
fn length_now(growth: &Growth, settings: &PlanSettings) -> f64 {
    let days = settings.date.map_or(0, |today| days_between(growth.date, today)).max(0);
    growth.length_m + growth.rates_m[0] * f64::from(days)
}

/// True when shoots were counted since a frost, primary and secondary ones apart on every vine.
fn is_recounted(evidence: Evidence<'_>, frost: Date) -> bool {
    let used = evidence.joined.records.iter().filter(|record| {
        record.shoots_per_m.is_some() && record.count.date.is_some_and(|date| date >= frost)
    });
    let mut parted =
        used.map(|record| record.count.shoots.is_some_and(|shoots| shoots.secondary.is_some()));
    parted.clone().next().is_some() && parted.all(|parted| parted)
}

fn left_per_vine(
    evidence: Evidence<'_>,
    targets: &[Option<VineTarget>],
    settings: &PlanSettings,
) -> f64 {
    let left = evidence.joined.vines.iter().zip(targets).filter_map(|(vine, target)| {
        target.map(|target| left_per_m(&target, vine.canopy_m, settings) * vine.canopy_m)
    });
    let (sum, count) = left.fold((0.0, 0.0), |(sum, count), left| (sum + left, count + 1.0));
    if count > 0.0 { sum / count } else { 0.0 }
}

/// A zone's mean shoot length over that of all zones.
fn relative_length(evidence: Evidence<'_>, zone: &Zone) -> Option<f64> {
    let (measure, _) = evidence.estimate.vigor.as_ref()?;
    let own = zone.vigor.filter(|_| *measure == VigorMeasure::ShootLength)?.per_m;
    let all = evidence.zones.zones.iter().filter_map(|z| Some((z.vigor?.per_m, z.canopy_m)));
    let (sum, canopy) = all.fold((0.0, 0.0), |(s, c), (mean, m)| (s + mean * m, c + m));
    (sum > 0.0 && canopy > 0.0).then(|| own * canopy / sum)
}

/// The verdict on every zone.
pub(super) fn verdicts(
    evidence: Evidence<'_>,
    targets: &[Option<VineTarget>],
    around: &Circumstances<'_>,
) -> Vec<Verdict> {
    let verdict = |zone: &Zone| {
        let (mean, target) = zone.density.zip(zone_target(evidence, zone, targets))?;
        around.frost.is_none().then(|| Question::new(target, around.settings).answer(&mean))
    };
    let zones = evidence.zones.zones.iter();
    zones.map(|zone| verdict(zone).unwrap_or(Verdict::Undecided)).collect()
}

/// The mean target of a zone's vines, weighted by canopy.
fn zone_target(
    evidence: Evidence<'_>,
    zone: &Zone,
    targets: &[Option<VineTarget>],
) -> Option<VineTarget> {
    let mut canopy = 0.0;
    let mut sums = [0.0; 3];
    for &vine in &zone.vines {
        if let Some(target) = &targets[vine] {
            let length = evidence.joined.vines[vine].canopy_m;
            canopy += length;
            let ends = [target.low_per_m, target.high_per_m, target.aim_per_m];
            sums = [0, 1, 2].map(|i| sums[i] + length * ends[i]);
        }
    }
    let [low_per_m, high_per_m, aim_per_m] = sums.map(|sum| sum / canopy);
    (canopy > 0.0).then_some(VineTarget { low_per_m, high_per_m, aim_per_m })
}

/// The plan of every zone, without its place in the order of work.
pub(super) fn zone_plans(
    evidence: Evidence<'_>,
    targets: &[Option<VineTarget>],
    (verdicts, excesses): (&[Verdict], &[Option<Interval>]),
    around: &Circumstances<'_>,
) -> Vec<ZonePlan> {
    let zones = evidence.zones.zones.iter().zip(verdicts).zip(excesses);
    let plan = |((zone, &verdict), &excess): ((&Zone, &Verdict), &Option<Interval>)| {
        let plan = work(evidence, (zone, targets), (verdict, excess), around);
        let advice = advice_on(evidence, zone, &plan, around);
        ZonePlan { advice, ..plan }
    };
    zones.map(plan).collect()
}

fn work(
    evidence: Evidence<'_>,
    (zone, targets): (&Zone, &[Option<VineTarget>]),
    (verdict, excess): (Verdict, Option<Interval>),
    around: &Circumstances<'_>,
) -> ZonePlan {
    let target = zone_target(evidence, zone, targets);
    let vines = float(zone.vines.iter().filter(|&&vine| targets[vine].is_some()).count());
    // A fit to timed work holds the crew's suckers already.
    let suckers_per_vine = evidence.joined.suckers_per_vine.filter(|_| around.labour.assumed);
    let suckers = suckers_per_vine.unwrap_or(0.0) * vines;
    let hours = excess.map(|excess| around.labour.hours_between(vines, excess, suckers));
    let worked = verdict == Verdict::Overcrowded;
    let window = around.window_of(evidence, zone);
    let settle = zone.density.zip(target).filter(|_| around.frost.is_none());
    ZonePlan {
        verdict,
        target_per_m: target,
        excess,
        remove: excess.filter(|_| worked).unwrap_or_default(),
        hours: hours.filter(|_| worked).unwrap_or_default(),
        hours_if_worked: hours.map(|hours| hours.value),
        order: None,
        thin_from: window.opens.filter(|_| around.frost.is_none()),
        thin_by: window.closes_first.filter(|_| around.frost.is_none()),
        thin_by_latest: window.closes_last.filter(|_| around.frost.is_none()),
        counts_to_settle: settle.and_then(|(mean, target)| {
            let question = Question::new(target, around.settings);
            question.counts_to_settle(&mean, zone.counted_vines, zone.vines.len())
        }),
        advice: Vec::new(),
    }
}

fn advice_on(
    evidence: Evidence<'_>,
    zone: &Zone,
    plan: &ZonePlan,
    around: &Circumstances<'_>,
) -> Vec<String> {
    if let Some(frost) = around.frost {
        return vec![advice::after_frost(frost)];
    }
    let length_m = around.growth.as_ref().map(|growth| {
        relative_length(evidence, zone).unwrap_or(1.0) * length_now(growth, around.settings)
    });
    let mut said = advice(
        plan,
        &advice::Circumstances {
            vigor: class_of(evidence, zone, around.settings),
            buds: evidence.joined.buds,
            today: around.settings.date,
            too_long: length_m.is_some_and(|length| length > around.settings.closes_at.metres()),
            estimated: zone.density.is_some(),
            no_map: evidence.estimate.shoots.method == Method::None,
            take_off: around.take_off(),
            renewal_shoots: around.settings.renewal_shoots,
        },
    );
    if around.take_off() == TakeOff::DoublesStay {
        said.push(
            "after the frost secondary shoots are crop to keep; the number to take off counts all \
             shoots"
                .to_owned(),
        );
    }
    said
}

fn class_of(evidence: Evidence<'_>, zone: &Zone, settings: &PlanSettings) -> Option<VigorClass> {
    let vigor = vigor_at(evidence.estimate, zone.vigor?.per_m, zone.planting)?;
    Some(vigor_class(vigor, &settings.targets()))
}
