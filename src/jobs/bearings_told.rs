//! What is told of compared bearings: the ones that stand out, what each gives and costs beside the
//! grower's own, cautions. Measured numbers only; nothing is ranked.

use super::{bearings::Compared, prepare};
use crate::{
    finding::{Finding, Findings, Place},
    frame::Site,
    jobs::{
        Call,
        report::{BearingsReport, BlockReport, StandoutReport},
    },
    layout::compare::{Candidate, Comparison, Extreme},
    maths::float,
    units::{METRES_PER_FOOT, ReadingUnits},
};

/// Mean slopes along or across the rows from which a caution is due, rise per metre.
const WORTH_A_CAUTION: f64 = 0.05;

const SIDE_SLOPE: &str = "Side slope is what machines lean by in the rows. The limit depends on \
                          machine, load, tyres and wetness: ask the maker's manual, local codes and \
                          a qualified person.";
const EROSION: &str = "Rows up and down a slope let water run down the alleys and take soil: \
                       permanent cover is often advised (Cornell University, Lake Erie Regional \
                       Grape Program).";
const SUN: &str = "Sun is for a thin wall along the row under a clear sky and a level horizon: \
                   hills, trees and neighbouring rows shade more.";
const NO_SLOPES: &str = "Without an elevation model nothing is said about slopes.";

/// The report of one block.
pub(super) fn tell(call: &Call, each: &Compared, folder: &str) -> BlockReport {
    let units = prepare::units(call, &each.block);
    let comparison = &each.comparison;
    let own = comparison.candidates.iter().find(|candidate| candidate.own);
    let counted = own.map(|own| own.counted.clone()).unwrap_or_default();
    BlockReport {
        block: each.block.name.to_string(),
        folder: folder.to_owned(),
        units: if units == ReadingUnits::Us { "us" } else { "metric" },
        rows: counted.rows,
        vines: counted.vines,
        panels: 0,
        row_length_m: counted.row_length_m,
        block_ha: comparison.block_ha,
        bearing_true_deg: each.site.frame.bearing().true_north.degrees(),
        bearings: Some(BearingsReport {
            candidates: comparison.candidates.len(),
            own_bearing: own.is_some(),
            short_piece_m: comparison.short_piece.metres(),
            standouts: comparison.extremes().iter().map(standout).collect(),
            beside: beside(comparison, units),
            cautions: caution_words(comparison),
        }),
        sample: None,
        survey: None,
        thinning: None,
        pruning: None,
        audit: None,
        season: None,
    }
}

fn standout((extreme, candidate): &(Extreme, &Candidate)) -> StandoutReport {
    let counted = &candidate.counted;
    StandoutReport {
        by: extreme.words(),
        bearing_true_deg: candidate.bearing.normalised().degrees(),
        direction: candidate.bearing.line_words(),
        vines: counted.vines,
        vines_by_offset: counted.vines_by_offset,
        rows: counted.rows,
        median_row_m: counted.row_lengths_m.map(|lengths| lengths[1]),
        short_pieces: counted.short_pieces,
        turns: counted.turns(),
        slope_along_pct: candidate.slopes.map(|slopes| 100.0 * slopes.along[0]),
        slope_across_pct: candidate.slopes.map(|slopes| 100.0 * slopes.across[0]),
        sun_h: candidate.sun.map(|sun| [sun.right_h, sun.left_h]),
    }
}

/// What the other ones that stand out give beside the block's own bearing, or beside that of its
/// longest edge where it has none.
fn beside(comparison: &Comparison, units: ReadingUnits) -> Vec<String> {
    let extremes = comparison.extremes();
    let Some((_, reference)) = extremes.first() else { return Vec::new() };
    let mut told: Vec<&Candidate> = vec![reference];
    let mut sentences = Vec::new();
    for (_, candidate) in &extremes {
        if !told.contains(candidate) {
            told.push(candidate);
            sentences.push(sentence(candidate, reference, units));
        }
    }
    sentences
}

/// `N10E has 40 more vines than N80E; but 3 more short pieces; …`.
fn sentence(candidate: &Candidate, reference: &Candidate, units: ReadingUnits) -> String {
    let name = |candidate: &Candidate| candidate.bearing.line_words();
    let differences = differences(candidate, reference, units);
    let say = |chosen: bool| -> Vec<String> {
        let words = differences.iter().filter(|(gain, _)| *gain == chosen);
        words.map(|(_, words)| words.clone()).collect()
    };
    let (gains, costs) = (say(true), say(false));
    let text = match (gains.is_empty(), costs.is_empty()) {
        (false, false) => format!("{}, but {}", gains.join(", "), costs.join(", ")),
        (true, true) => "nothing that differs".to_owned(),
        _ => [gains, costs].concat().join(", "),
    };
    let luck = if bands_overlap(candidate, reference) {
        "; by the place of the first row their vines overlap"
    } else {
        ""
    };
    format!("{} beside {}: {text}{luck}", name(candidate), name(reference))
}

/// What differs, and whether it is less work or more vines.
fn differences(one: &Candidate, other: &Candidate, units: ReadingUnits) -> Vec<(bool, String)> {
    let (a, b) = (&one.counted, &other.counted);
    let mut found = Vec::new();
    let mut number = |a: usize, b: usize, more_is_gain: bool, words: [&str; 2]| {
        if a != b {
            let word = if a.abs_diff(b) == 1 { words[0] } else { words[1] };
            let way = if a > b { "more" } else { "fewer" };
            found.push(((a > b) == more_is_gain, format!("{} {way} {word}", a.abs_diff(b))));
        }
    };
    number(a.vines, b.vines, true, ["vine", "vines"]);
    number(a.short_pieces, b.short_pieces, false, ["short piece", "short pieces"]);
    number(a.turns(), b.turns(), false, ["turn", "turns"]);
    found.extend(length_words(one, other, units));
    let slopes = one.slopes.zip(other.slopes);
    let pairs = slopes.map_or_else(Vec::new, |(one, other)| {
        vec![
            ("mean side slope", one.across[0], other.across[0]),
            ("mean slope along the rows", one.along[0], other.along[0]),
        ]
    });
    found.extend(pairs.into_iter().filter_map(|(what, a, b)| {
        let [a, b] = [a, b].map(|slope| 100.0 * slope);
        ((a - b).abs() >= 0.1).then(|| (a < b, format!("{what} {a:.1} % instead of {b:.1} %")))
    }));
    found.extend(one.sun.zip(other.sun).and_then(|(one, other)| {
        let [a, b] = [one, other].map(|sun| (sun.right_h - sun.left_h).abs());
        let words = format!("sun on its two sides {a:.1} h a day apart instead of {b:.1} h");
        ((a - b).abs() >= 0.05).then_some((a < b, words))
    }));
    found
}

/// Longer rows are fewer turns, said already; so length goes with what is gained when it grows.
fn length_words(one: &Candidate, other: &Candidate, units: ReadingUnits) -> Option<(bool, String)> {
    let [a, b] = [one.counted.row_lengths_m?[1], other.counted.row_lengths_m?[1]];
    let (factor, unit) = match units {
        ReadingUnits::Metric => (1.0, "m"),
        ReadingUnits::Us => (1.0 / METRES_PER_FOOT, "ft"),
    };
    let [a, b] = [a, b].map(|metres| metres * factor);
    let words = format!("median row {a:.0} {unit} instead of {b:.0} {unit}");
    ((a - b).abs() >= 1.0).then_some((a > b, words))
}

fn bands_overlap(one: &Candidate, other: &Candidate) -> bool {
    let differ = one.counted.vines != other.counted.vines;
    one.counted
        .vines_by_offset
        .zip(other.counted.vines_by_offset)
        .is_some_and(|(a, b)| differ && a[0] <= b[1] && b[0] <= a[1])
}

/// What anybody who reads the numbers should know.
pub(super) fn caution_words(comparison: &Comparison) -> Vec<String> {
    let slopes = comparison.candidates.iter().any(|candidate| candidate.slopes.is_some());
    let mut words = if slopes { vec![SIDE_SLOPE, EROSION] } else { vec![NO_SLOPES] };
    if comparison.sun.is_some() {
        words.push(SUN);
    }
    words.into_iter().map(str::to_owned).collect()
}

/// Cautions about the ground, once a block.
pub(super) fn cautions(site: &Site, comparison: &Comparison) -> Findings {
    let Some(terrain) = &site.terrain else { return Findings::none() };
    let place = Place::file(&terrain.facts().source).in_feature(format!("block `{}`", site.name));
    let steep = |axis: fn(&Candidate) -> Option<f64>| {
        let slopes = comparison.candidates.iter().filter_map(axis);
        let (number, most) = slopes
            .filter(|slope| *slope >= WORTH_A_CAUTION)
            .fold((0_usize, 0.0_f64), |(number, most), slope| (number + 1, most.max(slope)));
        (number > 0).then_some((number, most))
    };
    let all = comparison.candidates.len();
    let side = steep(|candidate| candidate.slopes.map(|slopes| slopes.across[0]));
    let along = steep(|candidate| candidate.slopes.map(|slopes| slopes.along[0]));
    let side = side.map(|(number, most)| {
        let what = format!(
            "at {number} of {all} bearings the mean side slope is 5 % or more, at most {:.1} %",
            100.0 * most
        );
        Finding::warning(place.clone(), what)
            .because(SIDE_SLOPE.trim_end_matches('.'))
            .mend("compare with the maker's manual and local codes before choosing such a bearing")
    });
    let along = along.map(|(number, most)| {
        let what = format!(
            "at {number} of {all} bearings rows run up and down slopes of 5 % or more in the mean, \
             at most {:.1} %",
            100.0 * most
        );
        let mend = "plan permanent cover in the alleys where such a bearing is chosen";
        Finding::note(place.clone(), what).because(EROSION.trim_end_matches('.')).mend(mend)
    });
    [side, along].into_iter().flatten().collect()
}

/// How the numbers were made, for the run record.
pub(super) fn method(comparison: &Comparison) -> Vec<String> {
    let mut lines = vec![format!(
        "{} bearings, each counted by the rules that lay rows; pieces below {} m are short",
        comparison.candidates.len(),
        comparison.short_piece.metres(),
    )];
    if let Some((days, hours)) = comparison.sun {
        lines.push(format!(
            "sun over {} days of {hours:.2} h in the mean; clear sky, level horizon",
            float(days)
        ));
    }
    lines
}
