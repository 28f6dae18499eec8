//! `thinning.json`: the decision and what it rests on, for programs and for whoever asks why.

use serde::Serialize;
use serde_json::{Map, Value as Json};

use super::{
    crew_report::{CrewReport, TargetReport, crew_report, target_reports},
    sure::SureReport,
    thinned::{DECIMALS, Thinned},
    zones::date,
};
use crate::{
    error::Error,
    estimate::{
        ByDesign, Field, Method,
        by_design::DesignMean,
        sure::{BlockMean, Sure},
    },
    finding::Findings,
    frame::Site,
    join::VigorMeasure,
    plan::{Labour, Window},
    write::{Layer, Value, layers::rounded, run_record::Totals, run_record::pretty},
};

/// What `thinning.json` says.
#[derive(Debug, Serialize)]
struct Report<'a> {
    block: &'a str,
    counts_date: Option<String>,
    totals: Totals,
    /// The properties of `zones.geojson`.
    zones: Vec<Map<String, Json>>,
    /// Zones to work, in order.
    order: Vec<&'a str>,
    targets: Vec<TargetReport<'a>>,
    zones_why: &'a str,
    held_out_reduction: Option<f64>,
    held_out_reduction_drawn: Option<f64>,
    differences: Vec<DifferenceReport<'a>>,
    block_mean: Option<BlockMeanReport>,
    by_design: Option<ByDesignReport>,
    window: WindowReport<'a>,
    labour: LabourReport<'a>,
    crew: Option<CrewReport<'a>>,
    shoots: FieldReport<'a>,
    vigor: Option<VigorReport<'a>>,
    sure: SureReport<'a>,
    suckers_per_vine: Option<f64>,
    buds_dead: Option<u32>,
    buds: Option<u32>,
    warnings: Vec<String>,
}

/// How much more one zone carries than another, with its 90 % interval.
#[derive(Debug, Serialize)]
struct DifferenceReport<'a> {
    zone: &'a str,
    other: &'a str,
    touching: bool,
    shoots_per_m: f64,
    shoots_per_m_lo90: f64,
    shoots_per_m_hi90: f64,
    /// The interval leaves 0 out.
    differ: bool,
}

/// The mean of the whole block.
#[derive(Debug, Serialize)]
struct BlockMeanReport {
    from: &'static str,
    shoots_per_m: f64,
    shoots_per_m_lo90: f64,
    shoots_per_m_hi90: f64,
}

/// What the draw alone says.
#[derive(Debug, Serialize)]
struct ByDesignReport {
    drawn: usize,
    counted: usize,
    share_drawable: f64,
    block: Option<DesignMeanReport>,
    plantings: Vec<DesignMeanReport>,
}

#[derive(Debug, Serialize)]
struct DesignMeanReport {
    #[serde(skip_serializing_if = "Option::is_none")]
    cultivar: Option<String>,
    counted: usize,
    could_be_drawn: usize,
    shoots_per_m: f64,
    shoots_per_m_lo90: f64,
    shoots_per_m_hi90: f64,
    se_per_m: f64,
    se_by_lot_per_m: f64,
}

#[derive(Debug, Serialize)]
struct WindowReport<'a> {
    opens: Option<String>,
    closes_first: Option<String>,
    closes_last: Option<String>,
    source: &'a str,
}

#[derive(Debug, Serialize)]
struct LabourReport<'a> {
    minutes_per_vine: f64,
    minutes_per_shoot: f64,
    factor_lo90: f64,
    factor_hi90: f64,
    timed_records: usize,
    source: &'a str,
}

#[derive(Debug, Serialize)]
struct FieldReport<'a> {
    method: &'static str,
    why: &'a str,
    /// As `--variogram` reads it: metres; the square of the quantity's unit.
    variation: Option<String>,
    /// The range across the rows, where it is another than along them.
    #[serde(skip_serializing_if = "Option::is_none")]
    range_across_m: Option<f64>,
    observations: usize,
    planting_means: &'a [Option<f64>],
    check: Option<CheckReport>,
}

#[derive(Debug, Serialize)]
struct VigorReport<'a> {
    vigor_measure: &'static str,
    #[serde(flatten)]
    field: FieldReport<'a>,
}

/// Each count foretold from the others.
#[derive(Debug, Serialize)]
struct CheckReport {
    rmse_per_m: f64,
    rmse_of_mean_per_m: f64,
    bias_per_m: f64,
    mean_squared_deviation_ratio: f64,
    coverage90: f64,
}

/// The decision as the bytes of `thinning.json`; `zones` is the layer of the zones.
///
/// # Errors
/// A fault of the program: a number that is not finite.
pub fn thinning_json(
    thinned: &Thinned<'_>,
    sure: &Sure,
    zones: &Layer,
    findings: &Findings,
) -> Result<Vec<u8>, Error> {
    let evidence = thinned.evidence;
    let plan = thinned.plan;
    let joined = evidence.joined;
    pretty(&Report {
        block: evidence.site.name.as_str(),
        counts_date: date(joined.date),
        totals: thinned.totals(),
        zones: as_objects(zones),
        order: plan.order.iter().map(|&zone| zone_id(thinned, zone)).collect(),
        targets: target_reports(thinned),
        zones_why: &evidence.zones.why,
        held_out_reduction: evidence.zones.held_out_reduction.map(|share| rounded(share, DECIMALS)),
        held_out_reduction_drawn: evidence.zones.drawn_reduction.map(|s| rounded(s, DECIMALS)),
        differences: differences(thinned),
        block_mean: sure.block.map(block_mean),
        by_design: (evidence.estimate.by_design.as_ref())
            .map(|design| by_design(design, evidence.site)),
        window: window(&plan.window),
        labour: labour(&plan.labour),
        crew: plan.crew.as_ref().map(|crew| crew_report(thinned, crew)),
        shoots: field(&evidence.estimate.shoots),
        vigor: evidence.estimate.vigor.as_ref().map(|(measure, of)| VigorReport {
            vigor_measure: measure_words(*measure),
            field: field(of),
        }),
        sure: SureReport::of(sure),
        suckers_per_vine: joined.suckers_per_vine.map(|suckers| rounded(suckers, DECIMALS)),
        buds_dead: joined.buds.map(|(dead, _)| dead),
        buds: joined.buds.map(|(_, all)| all),
        warnings: findings.iter().map(ToString::to_string).collect(),
    })
}

/// What was measured for vigor, with its unit.
pub(super) const fn measure_words(measure: VigorMeasure) -> &'static str {
    match measure {
        VigorMeasure::PruningWeight => "pruning weight, kilograms per metre of canopy",
        VigorMeasure::ShootLength => "mean shoot length, metres",
        VigorMeasure::Raster => "the raster of --vigor, in a unit of its own",
    }
}

pub(super) fn zone_id<'a>(thinned: &Thinned<'a>, zone: usize) -> &'a str {
    &thinned.evidence.zones.zones[zone].id
}

fn differences<'a>(thinned: &Thinned<'a>) -> Vec<DifferenceReport<'a>> {
    let all = thinned.evidence.zones.differences.iter();
    all.map(|difference| DifferenceReport {
        zone: zone_id(thinned, difference.one),
        other: zone_id(thinned, difference.other),
        touching: difference.touching,
        shoots_per_m: rounded(difference.per_m, DECIMALS),
        shoots_per_m_lo90: rounded(difference.lo90, DECIMALS),
        shoots_per_m_hi90: rounded(difference.hi90, DECIMALS),
        differ: difference.is_clear(),
    })
    .collect()
}

pub(super) fn as_objects(zones: &Layer) -> Vec<Map<String, Json>> {
    let names = || zones.columns.iter().map(|column| column.name.to_owned());
    let values = zones.features.iter().map(|feature| feature.values.iter().map(json));
    values.map(|values| names().zip(values).collect()).collect()
}

fn json(value: &Value) -> Json {
    match value {
        Value::Null => Json::Null,
        Value::Text(text) => (&**text).into(),
        Value::Integer(number) => (*number).into(),
        Value::Number(number) => (*number).into(),
        Value::Flag(flag) => (*flag).into(),
        Value::Structure(structure) => structure.clone(),
    }
}

fn block_mean(mean: BlockMean) -> BlockMeanReport {
    let [lo90, hi90] = mean.ends90_per_m();
    BlockMeanReport {
        from: if mean.from_draw { "draw" } else { "map" },
        shoots_per_m: rounded(mean.per_m, DECIMALS),
        shoots_per_m_lo90: rounded(lo90, DECIMALS),
        shoots_per_m_hi90: rounded(hi90, DECIMALS),
    }
}

fn by_design(design: &ByDesign, site: &Site) -> ByDesignReport {
    let cultivar =
        |planting: usize| site.plantings.all().get(planting).and_then(|own| own.cultivar.clone());
    let planting = |&(planting, mean): &(usize, DesignMean)| design_mean(mean, cultivar(planting));
    ByDesignReport {
        drawn: design.drawn,
        counted: design.counted,
        share_drawable: rounded(design.share_drawable, 3),
        block: design.block.map(|mean| design_mean(mean, None)),
        plantings: design.plantings.iter().map(planting).collect(),
    }
}

fn design_mean(mean: DesignMean, cultivar: Option<String>) -> DesignMeanReport {
    let half = mean.half90();
    DesignMeanReport {
        cultivar,
        counted: mean.counted,
        could_be_drawn: mean.of,
        shoots_per_m: rounded(mean.per_m, DECIMALS),
        shoots_per_m_lo90: rounded((mean.per_m - half).max(0.0), DECIMALS),
        shoots_per_m_hi90: rounded(mean.per_m + half, DECIMALS),
        se_per_m: rounded(mean.se, DECIMALS),
        se_by_lot_per_m: rounded(mean.se_by_lot, DECIMALS),
    }
}

fn window(window: &Window) -> WindowReport<'_> {
    WindowReport {
        opens: date(window.opens),
        closes_first: date(window.closes_first),
        closes_last: date(window.closes_last),
        source: &window.source,
    }
}

fn labour(labour: &Labour) -> LabourReport<'_> {
    let [factor_lo90, factor_hi90] = labour.factor90.map(|factor| rounded(factor, DECIMALS));
    LabourReport {
        minutes_per_vine: rounded(labour.per_vine, DECIMALS),
        minutes_per_shoot: rounded(labour.per_shoot, DECIMALS),
        factor_lo90,
        factor_hi90,
        timed_records: labour.timed,
        source: &labour.source,
    }
}

fn field(field: &Field) -> FieldReport<'_> {
    FieldReport {
        method: method_word(field.method),
        why: &field.why,
        variation: field.model.as_ref().map(ToString::to_string),
        range_across_m: field
            .model
            .filter(|_| (field.across_ratio - 1.0).abs() > 0.0)
            .map(|model| rounded(model.range_m / field.across_ratio, DECIMALS)),
        observations: field.observations,
        planting_means: &field.planting_means,
        check: field.check.map(|check| CheckReport {
            rmse_per_m: rounded(check.rmse_per_m, DECIMALS),
            rmse_of_mean_per_m: rounded(check.rmse_of_mean_per_m, DECIMALS),
            bias_per_m: rounded(check.bias_per_m, DECIMALS),
            mean_squared_deviation_ratio: rounded(check.msdr, DECIMALS),
            coverage90: rounded(check.coverage90, DECIMALS),
        }),
    }
}

const fn method_word(method: Method) -> &'static str {
    match method {
        Method::None => "none",
        Method::Mean => "mean",
        Method::InverseDistance => "inverse-distance",
        Method::Kriging => "kriging",
        Method::Given => "given",
    }
}
