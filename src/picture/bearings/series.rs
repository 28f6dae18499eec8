//! What each chart shows, in the units of its reader.

use crate::{
    layout::compare::{Candidate, Comparison},
    maths::float,
    picture::words,
    units::{METRES_PER_FOOT, ReadingUnits},
};

/// A chart.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Panel {
    /// What it shows, with its unit.
    pub(super) heading: String,
    /// One line or two.
    pub(super) series: Vec<Series>,
    /// From what to what a value may lie, and in which words.
    pub(super) band: Option<(String, Vec<Run<[f64; 2]>>)>,
    /// Its scale starts at 0.
    pub(super) from_zero: bool,
}

/// A line of a chart.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Series {
    /// What it is.
    pub(super) words: String,
    /// Its runs.
    pub(super) runs: Vec<Run<f64>>,
}

/// Neighbouring bearings with their values.
pub(super) type Run<T> = Vec<(f64, T)>;

/// The charts that the comparison has numbers for.
pub(super) fn panels(comparison: &Comparison, units: ReadingUnits) -> Vec<Panel> {
    let candidates = &comparison.candidates;
    let (factor, unit, units_of) = match units {
        ReadingUnits::Metric => (1.0, "m", "metres"),
        ReadingUnits::Us => (1.0 / METRES_PER_FOOT, "ft", "feet"),
    };
    let length = |at: usize| {
        runs(candidates, move |c| c.counted.row_lengths_m.map(|lengths| lengths[at] * factor))
    };
    let planted = |c: &Candidate, value: usize| (c.counted.rows > 0).then(|| float(value));
    let band = runs(candidates, |c| {
        let [low, high] = c.counted.vines_by_offset.filter(|_| c.counted.rows > 0)?;
        Some([float(low), float(high)])
    });
    let short = words::number(comparison.short_piece.metres() * factor, 1);
    let mut panels = vec![
        Panel {
            heading: "Vines".to_owned(),
            series: vec![series("as laid", runs(candidates, |c| planted(c, c.counted.vines)))],
            band: (!band.is_empty()).then(|| ("by place of the first row".to_owned(), band)),
            from_zero: false,
        },
        Panel::plain(
            &format!("Length of rows, {units_of}"),
            vec![series("median", length(1)), series("longest", length(2))],
        ),
        Panel::plain(
            "Pieces of row",
            vec![
                series(
                    &format!("shorter than {short} {unit}"),
                    runs(candidates, |c| planted(c, c.counted.short_pieces)),
                ),
                series("all: one turn less", runs(candidates, |c| planted(c, c.counted.pieces))),
            ],
        ),
    ];
    panels.extend(slopes(candidates));
    panels.extend(sun(candidates));
    panels
}

fn slopes(candidates: &[Candidate]) -> Option<Panel> {
    let mean = |of: fn(&Candidate) -> Option<f64>| runs(candidates, of);
    let along = mean(|c| c.slopes.map(|slopes| 100.0 * slopes.along[0]));
    let across = mean(|c| c.slopes.map(|slopes| 100.0 * slopes.across[0]));
    let lines = vec![series("across (side slope)", across), series("along", along)];
    let known = lines.iter().any(|line| !line.runs.is_empty());
    known.then(|| Panel::plain("Mean slope of the ground, %", lines))
}

fn sun(candidates: &[Candidate]) -> Option<Panel> {
    let side = |at: usize| runs(candidates, move |c| c.sun_by_axis().map(|sun| sun[at]));
    let lines = vec![
        series("side facing E to S to W", side(0)),
        series("side facing W to N to E", side(1)),
    ];
    let known = lines.iter().any(|line| !line.runs.is_empty());
    known.then(|| Panel::plain("Sun on each side, hours a day", lines))
}

impl Panel {
    fn plain(heading: &str, series: Vec<Series>) -> Self {
        Self { heading: heading.to_owned(), series, band: None, from_zero: true }
    }
}

fn series(words: &str, runs: Vec<Run<f64>>) -> Series {
    Series { words: words.to_owned(), runs }
}

/// Values by axis, parted where bearings are left out or have none.
fn runs<T>(candidates: &[Candidate], value: impl Fn(&Candidate) -> Option<T>) -> Vec<Run<T>> {
    let axes: Vec<f64> = candidates.iter().map(|candidate| candidate.axis().degrees()).collect();
    let mut gaps: Vec<f64> = axes.windows(2).map(|pair| pair[1] - pair[0]).collect();
    gaps.sort_by(f64::total_cmp);
    let usual = gaps.get(gaps.len() / 2).copied().unwrap_or(1.0);
    let mut runs: Vec<Run<T>> = Vec::new();
    let mut last = None;
    for (axis, candidate) in axes.iter().zip(candidates) {
        let Some(value) = value(candidate) else {
            last = None;
            continue;
        };
        let goes_on = last.is_some_and(|last: f64| axis - last <= 1.6 * usual);
        match runs.last_mut() {
            Some(run) if goes_on => run.push((*axis, value)),
            _ => runs.push(vec![(*axis, value)]),
        }
        last = Some(*axis);
    }
    runs
}
