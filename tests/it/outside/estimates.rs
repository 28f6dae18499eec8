//! Kriging, means of many plants and fitted variation against numbers from other programs.

use std::{fs, path::Path, sync::Arc};

use catchwire::{
    estimate::{
        fit::{FitRules, Reml},
        kriging::{Kriging, Observed, Population, Prediction},
        variogram::{Bin, BinRules, Way, bins},
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

    /// Root mean square error, and the share of plots within `half` standard errors, at 400 plots.
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
fn the_wheat_trial_is_mapped_well_by_a_fitted_variation() {
    // Truth: all 500 plots of the trial. The plain mean errs by 0.468, the best map known by 0.415.
    let wheat = Wheat::read();
    let rules = FitRules { family: Family::Exponential, range_m: (2.51, 30.0) };
    let reml = Reml::new(&wheat.population, &wheat.counts, rules).unwrap();
    let model = reml.fit(&[0.0; 100]).unwrap();
    let kriging =
        Kriging::solve(Arc::clone(&wheat.population), wheat.counts.clone(), model).unwrap();
    let (rmse, coverage) = wheat.score(&kriging, 1.644_854);
    assert!(rmse <= 0.43, "{rmse} with {model}");
    assert!((0.85..=0.93).contains(&coverage), "{coverage} with {model}");
}

#[test]
fn ranges_along_and_across_the_wheat_trial_are_those_of_another_minimiser() {
    // scipy 1.17.1, Nelder-Mead on numpy's restricted likelihood from 12 and 5 starts: one range of 15.2301
    // with nugget 0.135062 and sill 0.054474; with a ratio across, which ends at its bound of ¼, 4.6903,
    // 0.095676, 0.091772, and twice the log likelihood is 3.6340 greater. At the 400 other plots the
    // latter errs by 0.40111, and t · √max(1, MSDR) standard errors hold 353 of them.
    let wheat = Wheat::read();
    let rules = FitRules { family: Family::Exponential, range_m: (2.0, 30.0) };
    let reml = Reml::new(&wheat.population, &wheat.counts, rules).unwrap();
    let noise = [0.0; 100];
    let plain = reml.fit(&noise).unwrap();
    let across = reml.fit_across(&noise, plain).unwrap();
    let check = |model: CovarianceModel, [range_m, nugget, psill]: [f64; 3], within: f64| {
        near(model.range_m, range_m, within, "range");
        near(model.nugget, nugget, within, "nugget");
        near(model.psill, psill, within, "sill");
    };
    check(plain, [15.2301, 0.135_062, 0.054_474], 1e-3);
    // The ratio is sought to be judged, and no nearer than that wants.
    check(across.model, [4.6903, 0.095_676, 0.091_772], 2e-2);
    near(across.across_ratio, 0.25, 1e-3, "ratio");
    let before = reml.likelihood(plain, &noise).unwrap().minus_ln_likelihood;
    near(2.0 * (before - across.minus_ln_likelihood), 3.6340, 1e-3, "rise");
    let stretched = Arc::new(wheat.population.stretched(across.across_ratio));
    let kriging = Kriging::solve(stretched, wheat.counts.clone(), across.model).unwrap();
    let errors = kriging.left_out();
    let ratio: f64 = errors.iter().map(|(error, variance)| error * error / variance).sum();
    let half = student_quantile(0.95, 99.0) * (ratio / 100.0).max(1.0).sqrt();
    let (rmse, coverage) = wheat.score(&kriging, half);
    near(rmse, 0.40111, 1e-3, "error at 400 plots");
    near(coverage, 353.0 / 400.0, 0.003, "coverage at 400 plots");
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
        let model = reml.fit(&vec![0.0; counts.len()]).unwrap();
        let mean = counts.iter().map(|count| count.value).sum::<f64>() / float(counts.len());
        let kriging = Kriging::solve(Arc::clone(&population), counts, model).unwrap();
        for vine in (0..125).filter(|vine| vine % 3 != part) {
            of_map += (at(&kriging, vine).value - yields[vine]).powi(2);
            of_mean += (mean - yields[vine]).powi(2);
        }
    }
    assert!(of_map < 0.85 * of_mean, "{of_map} beside {of_mean}");
}

/// Source: gstat's `variogram(yield ~ 1, cutoff = 30, width = 3)` of the 100 sampled plots of the
/// wheat trial: pairs, mean distance in metres, half the mean square difference.
const WHEAT_VARIOGRAM: [(usize, f64, f64); 8] = [
    (257, 7.083_698_172_918_48, 0.150_980_739_299_611),
    (82, 10.213_231_613_940_8, 0.146_634_146_341_463),
    (301, 13.167_113_983_210_2, 0.189_245_514_950_166),
    (281, 16.494_763_986_082_9, 0.147_414_946_619_217),
    (314, 20.029_066_148_287_7, 0.185_392_515_923_567),
    (240, 22.473_379_063_716_2, 0.181_210_416_666_667),
    (331, 25.324_731_966_467_7, 0.180_391_691_842_9),
    (245, 28.344_235_336_779, 0.189_080_408_163_265),
];

#[test]
fn the_wheat_trial_has_the_variogram_that_another_program_draws() {
    let wheat = Wheat::read();
    let at = wheat.population.places();
    let counts: Vec<([f64; 2], f64)> =
        wheat.counts.iter().map(|count| (at[count.plants[0].0], count.value)).collect();
    let found = bins(&counts, BinRules { cutoff_m: 30.0, width_m: 3.0 }, Way::All);
    assert_eq!(found.len(), WHEAT_VARIOGRAM.len(), "{found:?}");
    for (Bin { pairs, distance_m, gamma }, expected) in found.into_iter().zip(WHEAT_VARIOGRAM) {
        assert_eq!(pairs, expected.0);
        near(distance_m, expected.1, 1e-12, "mean distance, m");
        near(gamma, expected.2, 1e-12, "half the mean square difference");
    }
}
