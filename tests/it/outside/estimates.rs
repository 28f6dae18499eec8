//! Kriging, means of many plants and fitted variation against numbers from other programs.

use std::{fs, path::Path, sync::Arc};

use catchwire::{
    estimate::{
        choose::{Choice, across_the_rows},
        fit::{FitRules, Reml},
        kriging::{Kriging, Observed, Population, Prediction},
    },
    maths::{
        covariance::{CovarianceModel, Family},
        float,
        normal::student_quantile,
    },
};
use serde_json::Value;

fn check(name: &str) -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/checks").join(name);
    serde_json::from_str(&fs::read_to_string(path).expect("a check")).expect("JSON")
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().expect("a list").iter().map(number).collect()
}

fn places(check: &Value) -> Vec<[f64; 2]> {
    let (x, y) = (numbers(&check["x"]), numbers(&check["y"]));
    x.into_iter().zip(y).map(|(x, y)| [x, y]).collect()
}

/// Relative to the expected number.
fn near(found: f64, expected: f64, tolerance: f64, what: &str) {
    let error = (found - expected).abs() / expected.abs();
    assert!(error <= tolerance, "{what}: {found} is not {expected} ({error:e})");
}

fn exponential(nugget: f64, psill: f64, range_m: f64) -> CovarianceModel {
    CovarianceModel { family: Family::Exponential, nugget, psill, range_m }
}

/// Exact counts on the first plants of a population.
fn exact(values: &[f64]) -> Vec<Observed> {
    values.iter().enumerate().map(|(plant, &value)| Observed::plant(plant, value)).collect()
}

fn at(kriging: &Kriging, plant: usize) -> Prediction {
    kriging.predict(&[plant])[0].expect("a prediction")
}

#[test]
fn seven_points_give_the_published_mean_variance_and_weights() {
    // Isaaks & Srivastava 1989, ch. 12; digits by gstat, PyKrige and numpy.
    let check = check("seven-points.json");
    let mut at_places = places(&check);
    let target = numbers(&check["target"]);
    at_places.push([target[0], target[1]]);
    let counts = exact(&numbers(&check["value"]));
    let model = exponential(0.0, 10.0, 1.0 / 0.3);
    let ordinary = Arc::new(Population::with_one_mean(at_places.clone()));
    let kriging = Kriging::solve(ordinary, counts.clone(), model).unwrap();
    near(at(&kriging, 7).value, number(&check["ok_mean"]), 1e-9, "mean");
    near(at(&kriging, 7).variance, number(&check["ok_variance"]), 1e-9, "variance");
    for (found, expected) in kriging.weights(7).iter().zip(numbers(&check["weights"])) {
        near(*found, expected, 1e-9, "weight");
    }
    let trend = Arc::new(Population::with_trend(at_places, |[x, y]| [1.0, x, y]));
    let kriging = Kriging::solve(trend, counts, model).unwrap();
    near(at(&kriging, 7).value, number(&check["uk_mean"]), 1e-9, "mean with a trend");
    near(at(&kriging, 7).variance, number(&check["uk_variance"]), 1e-9, "its variance");
}

#[test]
fn a_block_of_four_points_gives_the_lecture_notes_block_mean() {
    // Christou, UCLA Statistics C173/C273, lecture 16; digits by numpy.
    let check = check("block-of-four.json");
    let mut at_places = places(&check);
    for point in check["block"].as_array().unwrap() {
        let point = numbers(point);
        at_places.push([point[0], point[1]]);
    }
    let population = Arc::new(Population::with_one_mean(at_places));
    let counts = exact(&numbers(&check["value"]));
    let kriging = Kriging::solve(population, counts, exponential(0.0, 10.0, 3.33)).unwrap();
    for (plant, name) in (7..11).zip(["A", "B", "C", "D"]) {
        near(at(&kriging, plant).value, number(&check["points"][name]), 1e-9, name);
    }
    let block = (7..11).map(|plant| (plant, 0.25)).collect();
    let means = kriging.means_of(&[block], true);
    near(means.values[0], number(&check["mean"]), 1e-9, "block mean");
    near(means.covariance[0], number(&check["variance"]), 1e-9, "block variance");
}

#[test]
fn two_points_under_a_linear_variogram_give_the_printed_answer() {
    // Kitanidis 1997, example 3.2. A spherical covariance is linear near 0: with a range R it falls
    // by 1.5·psill/R a metre, less 0.5·psill·(h/R)³, here below 1e-9.
    let check = check("two-points.json");
    let data: Vec<Vec<f64>> = check["data"].as_array().unwrap().iter().map(numbers).collect();
    let target = numbers(&check["target"]);
    let mut at_places: Vec<[f64; 2]> = data.iter().map(|d| [d[0], d[1]]).collect();
    at_places.push([target[0], target[1]]);
    let population = Arc::new(Population::with_one_mean(at_places));
    let range_m = 1e6;
    let model =
        CovarianceModel { family: Family::Spherical, nugget: 0.1, psill: 0.004 * range_m, range_m };
    let kriging = Kriging::solve(population, exact(&[data[0][2], data[1][2]]), model).unwrap();
    near(at(&kriging, 2).value, number(&check["mean"]), 1e-6, "mean");
    near(at(&kriging, 2).variance, number(&check["variance"]), 1e-6, "variance");
}

#[test]
fn the_total_of_sixty_plants_is_the_finite_population_one() {
    // Ver Hoef 2008; digits by numpy and sptotal.
    let check = check("sixty-plants.json");
    let population = Arc::new(Population::with_one_mean(places(&check)));
    let sampled: Vec<usize> = check["sampled"]
        .as_array()
        .unwrap()
        .iter()
        .map(|plant| usize::try_from(plant.as_u64().unwrap()).unwrap())
        .collect();
    let counts = sampled
        .iter()
        .zip(numbers(&check["counts"]))
        .map(|(&plant, value)| Observed::plant(plant, value))
        .collect();
    let kriging = Kriging::solve(population, counts, exponential(6.0, 9.0, 6.0)).unwrap();
    near(kriging.mean(0).unwrap(), number(&check["mean"]), 1e-9, "mean");
    let uncounted: Vec<usize> = (0..60).filter(|plant| !sampled.contains(plant)).collect();
    let expected =
        numbers(&check["uncounted"]).into_iter().zip(numbers(&check["uncounted_variance"]));
    for (found, (value, variance)) in kriging.predict(&uncounted).iter().zip(expected) {
        near(found.unwrap().value, value, 1e-9, "plant");
        near(found.unwrap().variance, variance, 1e-9, "its variance");
    }
    for &plant in &sampled {
        assert!(at(&kriging, plant).variance == 0.0, "a plant counted exactly has no variance");
    }
    let sets = [(0..60).map(|plant| (plant, 1.0)).collect(), (0..30).map(|p| (p, 1.0)).collect()];
    let totals = kriging.means_of(&sets, true);
    near(totals.values[0], number(&check["total"]), 1e-9, "total");
    near(totals.covariance[0], number(&check["total_variance"]), 1e-9, "its variance");
    near(totals.values[1], number(&check["zone_total"]), 1e-9, "zone");
    near(totals.covariance[3], number(&check["zone_variance"]), 1e-9, "its variance");
}

#[test]
fn fifteen_heads_give_what_the_fortran_program_gives() {
    // KT3D_H2O through PyKrige's tests; digits by numpy.
    let check = check("fifteen-heads.json");
    let data: Vec<Vec<f64>> = check["data"].as_array().unwrap().iter().map(numbers).collect();
    let mut at_places: Vec<[f64; 2]> = data.iter().map(|d| [d[0], d[1]]).collect();
    at_places.extend(places(&check));
    let values: Vec<f64> = data.iter().map(|d| d[2]).collect();
    let model = exponential(0.0, 500.0, 1000.0);
    let one_mean = Population::with_one_mean(at_places.clone());
    // The trend is taken from the middle: squares of large coordinates lose digits.
    let trend =
        Population::with_trend(at_places, |[x, y]| [1.0, x / 1e3 - 1072.0, y / 1e3 - 243.0]);
    for (population, way) in [(one_mean, "ok"), (trend, "uk")] {
        let kriging = Kriging::solve(Arc::new(population), exact(&values), model).unwrap();
        let nodes: Vec<usize> = (15..15 + 24).collect();
        let found = kriging.predict(&nodes);
        let mean = numbers(&check[format!("{way}_mean")]);
        let variance = numbers(&check[format!("{way}_variance")]);
        let fortran = numbers(&check[format!("{way}_kt3d")]);
        for node in 0..24 {
            near(found[node].unwrap().value, mean[node], 1e-9, way);
            near(found[node].unwrap().variance, variance[node], 1e-9, way);
            near(found[node].unwrap().value, fortran[node], 2e-7, way);
        }
    }
}

/// The wheat trial: all plots, their yields, those sampled and those not.
struct Wheat {
    population: Arc<Population>,
    yields: Vec<f64>,
    counts: Vec<Observed>,
    others: Vec<usize>,
    check: Value,
}

impl Wheat {
    fn read() -> Self {
        let check = check("wheat-1911.json");
        let yields = numbers(&check["yield"]);
        let sampled: Vec<usize> = check["sampled_from_1"]
            .as_array()
            .unwrap()
            .iter()
            .map(|plot| usize::try_from(plot.as_u64().unwrap()).unwrap() - 1)
            .collect();
        let counts = sampled.iter().map(|&plot| Observed::plant(plot, yields[plot])).collect();
        let others = (0..yields.len()).filter(|plot| !sampled.contains(plot)).collect();
        let population = Arc::new(Population::with_one_mean(places(&check)));
        Self { population, yields, counts, others, check }
    }

    /// Root mean square error, and the share of plots within so many standard errors, at 400 plots.
    fn score(&self, kriging: &Kriging, half: f64) -> (f64, f64) {
        let found = kriging.predict(&self.others);
        let (mut squares, mut within) = (0.0, 0);
        for (&plot, prediction) in self.others.iter().zip(found) {
            let prediction = prediction.unwrap();
            let error = prediction.value - self.yields[plot];
            squares += error * error;
            within += u32::from(error.abs() <= half * prediction.variance.sqrt());
        }
        ((squares / 400.0).sqrt(), f64::from(within) / 400.0)
    }
}

#[test]
fn the_wheat_trial_of_1911_is_mapped_as_another_program_maps_it() {
    // gstat and numpy, 100 plots of 500.
    let wheat = Wheat::read();
    let model = exponential(0.11, 0.1, 10.0);
    let kriging =
        Kriging::solve(Arc::clone(&wheat.population), wheat.counts.clone(), model).unwrap();
    let found = kriging.predict(&wheat.others);
    let mean = numbers(&wheat.check["ok_mean"]);
    let variance = numbers(&wheat.check["ok_variance"]);
    for (plot, prediction) in found.iter().enumerate() {
        near(prediction.unwrap().value, mean[plot], 1e-9, "yield");
        near(prediction.unwrap().variance, variance[plot], 1e-9, "its variance");
    }
    let scores = &wheat.check["scores"];
    let (rmse, coverage) = wheat.score(&kriging, 1.644_854);
    near(rmse, number(&scores["rmse_ok"]), 1e-9, "error at 400 plots");
    near(coverage, number(&scores["cover90"]), 1e-9, "coverage at 400 plots");
    let errors = kriging.left_out();
    let squares: f64 = errors.iter().map(|(error, _)| error * error).sum();
    let ratio: f64 = errors.iter().map(|(error, variance)| error * error / variance).sum();
    near((squares / 100.0).sqrt(), number(&scores["loo_rmse"]), 1e-9, "leave-one-out error");
    near(ratio / 100.0, number(&scores["loo_msdr"]), 1e-9, "leave-one-out ratio");
}

#[test]
fn the_wheat_trial_is_mapped_well_by_what_the_stage_chooses() {
    // Truth: all 500 plots of the trial. The plain mean errs by 0.468, the best map known by 0.415.
    let wheat = Wheat::read();
    let rules = FitRules { family: Family::Exponential, range_m: (2.51, 30.0) };
    let plain = Choice::plain(&wheat.population, &wheat.counts, rules).unwrap();
    let across = across_the_rows(&plain, &wheat.counts, rules);
    let across = across.expect("one range along and across does not do for 100 plots");
    for (choice, most) in [(plain, 0.43), (across, 0.42)] {
        let counts = wheat.counts.clone();
        let kriging = Kriging::solve(choice.population, counts, choice.model).unwrap();
        let ratios =
            kriging.left_out().into_iter().map(|(error, variance)| error * error / variance);
        let scale = (ratios.sum::<f64>() / 100.0).max(1.0).sqrt();
        let half = scale * student_quantile(0.95, 99.0);
        let (rmse, coverage) = wheat.score(&kriging, half);
        println!("{rmse} {coverage} {} {}", choice.model, choice.across_ratio);
        assert!(rmse <= most, "{rmse} with {} {}", choice.model, choice.across_ratio);
        assert!((0.85..=0.93).contains(&coverage), "{coverage} with {}", choice.model);
    }
}

/// The vines of Strickland 1932 (tests/data/vine-yields): metres along and across, pounds.
fn strickland() -> Vec<([f64; 2], f64)> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/vine-yields/strickland.grape.uniformity.tsv");
    let text = fs::read_to_string(path).expect("the yields");
    let vine = |line: &str| {
        let cells: Vec<f64> = line.split('\t').filter_map(|cell| cell.parse().ok()).collect();
        // 8 ft along the rows, 10 ft between them; a vine without a yield was not measured.
        let [row, column, pounds] = cells[..] else { return None };
        Some(([row * 8.0 * 0.3048, column * 10.0 * 0.3048], pounds))
    };
    text.lines().skip(1).filter_map(vine).collect()
}

#[test]
fn real_vines_are_foretold_better_than_by_their_mean() {
    // Strickland 1932, J. Agric. Victoria 30:584–593, through agridat 1.27 (MIT): mean 5.944 and
    // SD 2.58502 of 125 vines, computed from the data with another program.
    let vines = strickland();
    let yields: Vec<f64> = vines.iter().map(|(_, pounds)| *pounds).collect();
    let mean = yields.iter().sum::<f64>() / 125.0;
    let squares: f64 = yields.iter().map(|pounds| (pounds - mean).powi(2)).sum();
    assert_eq!(yields.len(), 125);
    near(mean, 5.944, 1e-12, "mean");
    near((squares / 124.0).sqrt(), 2.58502, 1e-6, "standard deviation");
    let population = Arc::new(Population::with_one_mean(vines.iter().map(|v| v.0).collect()));
    let (mut of_map, mut of_mean) = (0.0, 0.0);
    for part in 0..3 {
        let counts: Vec<Observed> =
            (part..125).step_by(3).map(|vine| Observed::plant(vine, yields[vine])).collect();
        let rules = FitRules { family: Family::Exponential, range_m: (8.0 * 0.3048, 37.0) };
        let reml = Reml::new(&population, &counts, rules).unwrap();
        let model = reml.fit(&vec![0.0; counts.len()], None).unwrap();
        let mean = counts.iter().map(|count| count.value).sum::<f64>() / float(counts.len());
        let kriging = Kriging::solve(Arc::clone(&population), counts, model).unwrap();
        for vine in (0..125).filter(|vine| vine % 3 != part) {
            of_map += (at(&kriging, vine).value - yields[vine]).powi(2);
            of_mean += (mean - yields[vine]).powi(2);
        }
    }
    assert!(of_map < 0.85 * of_mean, "{of_map} beside {of_mean}");
}
