//! Means that rest on the draw alone, against printed numbers and against blocks whose truth is known.

use std::{collections::BTreeSet, fs, path::Path};

use catchwire::{
    block::Block,
    counts::{ChosenBy, Count, Shoots, Spot},
    estimate::{
        by_design,
        by_design::{DesignMean, DrawnStratum, DrawnUnit},
    },
    finding::Place,
    frame::Site,
    join::{Joined, join},
    layout::Layout,
    maths::{float, normal::student_quantile, random::Random},
    sample::{Purpose, Sample, Stop, Unit, Wish, choose},
    settings::Settings,
};
use serde_json::Value;

use crate::support::two_halves::{self, square_block};

fn schools() -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/checks/schools.json");
    serde_json::from_str(&fs::read_to_string(path).expect("a check")).expect("JSON")
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().expect("a list").iter().map(|one| one.as_f64().expect("a number")).collect()
}

fn whole(value: &Value) -> usize {
    usize::try_from(value.as_u64().expect("a whole number")).expect("in memory")
}

#[track_caller]
fn near(found: f64, expected: &Value, what: &str) {
    within(1e-11, found, expected, what);
}

/// The other program weighs the schools of a simple or stratified sample with numbers stored in
/// single precision: each is off by half of its epsilon at most, a mean as a ratio of two sums by all.
#[track_caller]
fn near_as_weighed(found: f64, expected: &Value, what: &str) {
    within(f64::from(f32::EPSILON), found, expected, what);
}

#[track_caller]
fn within(tolerance: f64, found: f64, expected: &Value, what: &str) {
    let expected = expected.as_f64().expect("a number");
    let off = ((found - expected) / expected).abs();
    assert!(off < tolerance, "{what}: {found} is not {expected} ({off:e})");
}

/// Units by lot: where they are does not matter.
fn by_lot(values: &[f64], sizes: &[f64], of: usize) -> DrawnStratum {
    let unit = |(&shoots, &canopy_m): (&f64, &f64)| DrawnUnit { at: [0.0; 2], shoots, canopy_m };
    DrawnStratum { units: values.iter().zip(sizes).map(unit).collect(), of, whole: true }
}

fn plain(values: &[f64], of: usize) -> DrawnStratum {
    by_lot(values, &vec![1.0; values.len()], of)
}

#[test]
fn stratified_and_simple_samples_give_the_printed_totals_means_and_errors() {
    let schools = schools();
    let strata = |measure: &str| -> Vec<DrawnStratum> {
        let strata = schools["strata"].as_array().expect("strata").iter();
        strata.map(|one| plain(&numbers(&one[measure]), whole(&one["N"]))).collect()
    };
    let expected = &schools["stratified"];
    let pupils = DesignMean::of(&strata("enroll")).unwrap();
    let all = float(pupils.of);
    near_as_weighed(all * pupils.per_m, &expected["total_enroll"], "total");
    near_as_weighed(all * pupils.se_by_lot, &expected["se_total"], "its error");
    near_as_weighed(pupils.per_m, &expected["mean_enroll"], "mean of pupils");
    near_as_weighed(pupils.se_by_lot, &expected["se_mean_enroll"], "its error");
    let mean = DesignMean::of(&strata("api00")).unwrap();
    near_as_weighed(mean.per_m, &expected["mean_api00"], "mean");
    near_as_weighed(mean.se_by_lot, &expected["se_mean"], "its error");
    near(mean.degrees_of_freedom, &expected["degf"], "degrees of freedom");
    let half = student_quantile(0.975, mean.degrees_of_freedom);
    for (sign, at) in [(-1.0, 0), (1.0, 1)] {
        let end = mean.per_m + sign * half * mean.se_by_lot;
        near_as_weighed(end, &expected["ci95_t_mean_api00"][at], "interval of the mean");
        let end = all * (pupils.per_m + sign * half * pupils.se_by_lot);
        near_as_weighed(end, &expected["ci95_t_total"][at], "interval of the total");
    }
    let expected = &schools["simple"];
    let of = whole(&expected["N"]);
    let simple = DesignMean::of(&[plain(&numbers(&expected["enroll"]), of)]).unwrap();
    near_as_weighed(simple.per_m, &expected["mean_est"], "mean of a simple sample");
    near_as_weighed(simple.se_by_lot, &expected["se_mean"], "its error");
    near_as_weighed(float(of) * simple.per_m, &expected["total"], "its total");
    near_as_weighed(float(of) * simple.se_by_lot, &expected["se_total"], "the total's error");
}

// Districts taken whole are to schools what panels are to vines: a ratio of two sums.
#[test]
fn whole_districts_give_the_printed_ratio_and_its_error() {
    let schools = schools();
    let (districts, expected) = (&schools["districts"], &schools["by_district"]);
    let of = whole(&schools["districts_of"]);
    let [number, pupils, marks] =
        ["schools", "enroll", "api00"].map(|name| numbers(&districts[name]));
    let mean = DesignMean::of(&[by_lot(&marks, &number, of)]).unwrap();
    near(mean.per_m, &expected["mean_api00"], "mean of a school");
    near(mean.se_by_lot, &expected["se_mean"], "its error");
    // The program weighs a district by 33.847 instead of 757/15: the share of error is the same.
    let total = DesignMean::of(&[plain(&pupils, of)]).unwrap();
    let printed = [&expected["total_enroll"], &expected["se_total"]];
    let [printed, se] = printed.map(|number| number.as_f64().unwrap());
    let off = total.se_by_lot / total.per_m / (se / printed) - 1.0;
    assert!(off.abs() < 1e-11, "{off:e}");
}

// Cochran 1977, ch. 5, 64 cities, 24 drawn: variances of the total 5,594,453 (simple), 1,882,293
// (proportional), 1,090,827 (equal numbers); sizes and spreads of the strata from memory of the
// book. Values of two kinds stand for cities: they have the spread S² that is asked for.
#[test]
fn sixty_four_cities_give_the_printed_variances() {
    let drawn = |number: usize, s2: f64, of: usize| {
        let n = float(number);
        let off = (s2 * (n - 1.0) / n).sqrt();
        let value = |at: usize| 1000.0 + if at.is_multiple_of(2) { off } else { -off };
        plain(&(0..number).map(value).collect::<Vec<_>>(), of)
    };
    let variance = |strata: &[DrawnStratum]| {
        let mean = DesignMean::of(strata).unwrap();
        (64.0 * mean.se_by_lot).powi(2)
    };
    let two = |n: [usize; 2]| [drawn(n[0], 53_843.0, 16), drawn(n[1], 5_581.0, 48)];
    for (found, printed) in [
        (variance(&[drawn(24, 52_448.0, 64)]), 5_594_453.0),
        (variance(&two([6, 18])), 1_882_293.0),
        (variance(&two([12, 12])), 1_090_827.0),
    ] {
        assert!((found - printed).abs() < 0.5, "{found}, not {printed}");
    }
}

/// The square block of the zones, 1.8 m a vine.
struct Ground {
    site: Site,
    layout: Layout,
    joined: Joined,
}

fn ground(block: &Block) -> Ground {
    let settings = Settings::default();
    let (site, layout) = two_halves::ground(block, &settings);
    let (joined, _) = join(&site, &layout, &[], &settings.join());
    Ground { site, layout, joined }
}

impl Ground {
    fn draw(&self, number: usize, seed: u64) -> Sample {
        let wish =
            Wish { unit: Unit::Panel, number: Some(number), variation: None, window: None, seed };
        let out = vec![false; self.layout.vines.len()];
        choose((&self.site, &self.layout), &out, &wish, &Settings::default().sample()).unwrap().0
    }

    /// Panels with the shoots of their vines, as a sheet of the sample brings them back.
    fn counted(&self, sample: &Sample, shoots: &[u32]) -> Vec<Count> {
        let count = |stop: &Stop| {
            let panel = &self.layout.panels[stop.panel];
            let all = shoots[panel.vines.clone()].iter().sum();
            let chosen_by = match stop.purpose {
                Purpose::Mean { drawn, of } => ChosenBy::Drawn {
                    number: u32::try_from(drawn).unwrap(),
                    of: u32::try_from(of).unwrap(),
                },
                Purpose::ClosePair | Purpose::Chosen => ChosenBy::Pair,
            };
            Count {
                spot: Spot { row: Some(panel.row), panel: Some(panel.panel), ..Spot::default() },
                shoots: Some(Shoots { all, secondary: None, base: None }),
                chosen_by: Some(chosen_by),
                ..Count::default()
            }
        };
        sample.stops.iter().map(count).collect()
    }

    /// The mean of the panels without a row's end, which is what can be drawn.
    fn truth(&self, shoots: &[u32]) -> f64 {
        let ends = |vine: usize| {
            self.layout.pieces.iter().any(|p| vine == p.vines.start || vine + 1 == p.vines.end)
        };
        let inner = self.layout.panels.iter().map(|panel| panel.vines.clone());
        let vines: Vec<usize> = inner.filter(|v| !v.clone().any(ends)).flatten().collect();
        let all: u32 = vines.iter().map(|&vine| shoots[vine]).sum();
        f64::from(all) / vines.iter().map(|&v| self.joined.vines[v].canopy_m).sum::<f64>()
    }

    /// Shoots of every vine: a wave of this height over the ground, and a spread of 4 a vine.
    fn shoots(&self, wave: f64, random: &mut Random) -> Vec<u32> {
        let [turn, slope] = [random.uniform() * 6.0, random.uniform() * 6.0];
        let vines = self.layout.vines.iter().map(|vine| {
            let (along, across) = (vine.at.along_m / 14.0, vine.at.across_m / 14.0);
            let mean = 24.0 + wave * ((along + turn).sin() + (across + slope).cos());
            let shoots = (mean + 4.0 * random.normal()).round().clamp(0.0, 90.0);
            (0..=90).find(|n| f64::from(*n) >= shoots).unwrap()
        });
        vines.collect()
    }

    /// Of 400 draws the share whose interval holds the truth, and the mean errors by neighbours and
    /// by lot.
    fn coverage(&self, wave: f64) -> (f64, f64, f64) {
        let (mut covered, mut sums) = (0_u32, [0.0; 2]);
        let mut random = Random::new(31);
        let settings = Settings::default().join();
        for field in 0..20 {
            let shoots = self.shoots(wave, &mut random);
            let truth = self.truth(&shoots);
            for draw in 0..20 {
                let sample = self.draw(24, 1 + 20 * field + draw);
                let counts = self.counted(&sample, &shoots);
                let (joined, _) = join(&self.site, &self.layout, &counts, &settings);
                let (design, told) = by_design(&self.layout, &joined, &Place::default());
                assert!(told.is_empty(), "{told:?}");
                let mean = design.unwrap().block.unwrap();
                assert_eq!(mean.counted, 24, "close pairs are no part of it");
                covered += u32::from((mean.per_m - truth).abs() <= mean.half90());
                sums[0] += mean.se / 400.0;
                sums[1] += mean.se_by_lot / 400.0;
            }
        }
        (f64::from(covered) / 400.0, sums[0], sums[1])
    }
}

#[test]
fn intervals_from_the_draw_cover_what_they_say_and_gain_by_the_pattern() {
    let ground = ground(&square_block());
    let (plain, se, by_lot) = ground.coverage(0.0);
    assert!((0.87..=0.95).contains(&plain), "without a pattern {plain} cover");
    assert!((se / by_lot - 1.0).abs() < 0.05, "{se} against {by_lot}: no pattern, no gain");
    let (wavy, se, by_lot) = ground.coverage(5.0);
    assert!((0.87..=0.95).contains(&wavy), "with a pattern {wavy} cover");
    assert!(se < 0.9 * by_lot, "{se} against {by_lot}");
}

#[test]
fn stops_that_did_not_come_back_and_mixed_sheets_are_told() {
    let ground = ground(&square_block());
    let shoots = vec![20; ground.layout.vines.len()];
    let told = |counts: &[Count]| {
        let settings = Settings::default().join();
        let (joined, _) = join(&ground.site, &ground.layout, counts, &settings);
        by_design(&ground.layout, &joined, &Place::default())
    };
    let mut counts = ground.counted(&ground.draw(20, 1), &shoots);
    let last = counts.iter().rposition(|one| one.chosen_by != Some(ChosenBy::Pair)).unwrap();
    counts[last].shoots = None;
    let (design, findings) = told(&counts);
    let design = design.unwrap();
    assert_eq!((design.drawn, design.counted), (20, 19));
    assert!(findings.iter().any(|f| f.what == "19 of 20 drawn stops were counted"));
    counts.extend(ground.counted(&ground.draw(30, 2), &shoots));
    let (design, findings) = told(&counts);
    assert!(design.is_none() && findings.iter().any(|f| f.why.contains("several draws")));
    let undrawn: Vec<Count> =
        counts.into_iter().map(|one| Count { chosen_by: None, ..one }).collect();
    assert_eq!(told(&undrawn).0, None);
}

#[test]
fn drawn_stops_do_not_stand_in_line_across_the_rows() {
    let ground = ground(&square_block());
    let places = |panels: &mut dyn Iterator<Item = usize>| {
        panels.map(|panel| ground.layout.panels[panel].panel).collect::<BTreeSet<_>>().len()
    };
    let (mut drawn, mut by_lot) = (0, 0);
    let mut random = Random::new(5);
    for seed in 1..=200 {
        let sample = ground.draw(12, seed);
        let of_mean = sample.stops.iter().filter(|stop| stop.purpose.draw().is_some());
        drawn += places(&mut of_mean.map(|stop| stop.panel));
        let mut inner: Vec<usize> = (0..ground.layout.panels.len())
            .filter(|&panel| {
                let vines = &ground.layout.panels[panel].vines;
                let piece = &ground.layout.pieces[ground.layout.panels[panel].piece].vines;
                vines.start > piece.start && vines.end < piece.end
            })
            .collect();
        random.shuffle(&mut inner);
        by_lot += places(&mut inner.into_iter().take(12));
    }
    assert!(drawn >= by_lot, "{drawn} places along the rows, {by_lot} by lot");
}
