//! What `sample` says of a draw: in its report, and in the table of errors by number.

use super::{
    prepare,
    report::{BlockReport, SampleReport, StratumReport},
    sample::Field,
};
use crate::{
    jobs::Call,
    maths::float,
    sample::{self, Sample, Stop},
    write::{Table, properties},
};

/// Numbers of stops for which the error of the mean is told beside the one chosen.
const TOLD_NUMBERS: [usize; 8] = [10, 20, 30, 40, 60, 80, 120, 200];

/// Minutes to count and walk.
pub(super) fn minutes(call: &Call, field: &Field, sample: &Sample) -> f64 {
    let settings = call.settings.sample();
    let vines = |stop: &Stop| match stop.vine {
        Some(_) => 1,
        None => field.ground.layout.panels[stop.panel].vines.len(),
    };
    let counted: usize = sample.stops.iter().map(vines).sum();
    float(counted) * settings.minutes_per_vine + sample.walk_m / settings.walk_m_per_minute
}

/// What the report says of a sample.
pub(super) fn tell(call: &Call, field: &Field, sample: &Sample, folder: &str) -> BlockReport {
    let units = prepare::units(call, &field.ground.block);
    let confidence = call.settings.sample().confidence;
    let plantings = field.ground.site.plantings.all();
    let stratum = |stratum: &sample::Stratum| StratumReport {
        cultivar: plantings.get(stratum.planting).and_then(|planting| planting.cultivar.clone()),
        drawn: stratum.drawn,
        could_be_drawn: stratum.units,
        vines_outside: stratum.vines_outside,
    };
    let told = SampleReport {
        unit: sample.unit.words()[0],
        stops: sample.stops.len(),
        close_pairs: sample.close_pairs(),
        variation: sample.variation,
        variation_from_counts: field.variation.is_some(),
        confidence,
        expected_error: sample.expected_error(confidence),
        errors: sample.errors_by_number(&TOLD_NUMBERS, confidence),
        share_drawable: sample.share_drawable(&field.ground.layout),
        walk_m: sample.walk_m,
        minutes: minutes(call, field, sample),
        strata: sample.strata.iter().map(stratum).collect(),
    };
    BlockReport { sample: Some(told), ..BlockReport::of(&field.ground, folder, units) }
}

/// `sample-sizes.csv`: the error of the mean by number of stops, for whoever decides how many.
pub(super) fn sizes(call: &Call, field: &Field, sample: &Sample) -> Table {
    let confidence = call.settings.sample().confidence;
    let errors = sample.errors_by_number(&TOLD_NUMBERS, confidence);
    properties::sample_sizes(sample, &errors, (confidence, field.variation.is_some()))
}
