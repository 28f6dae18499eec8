//! The least value of a function of a few numbers, each within its bounds.

/// How a search is steered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Search {
    /// First step, as a share of the distance between the bounds.
    pub first_step: f64,
    /// The search ends when the corners of the simplex are this near each other, as a share of the
    /// distance between the bounds.
    pub smallest_step: f64,
    /// … or when the function differs by no more than this between them.
    pub smallest_fall: f64,
    /// Most evaluations.
    pub most_evaluations: usize,
}

/// The place of the least value found, and the value.
#[derive(Debug, Clone, PartialEq)]
pub struct Minimum {
    /// Where.
    pub at: Vec<f64>,
    /// How much.
    pub value: f64,
    /// How often the function was asked.
    pub evaluations: usize,
}

/// Seeks the least value within bounds, from a start; the same start gives the same end.
///
/// A value that is not finite counts as very bad.
///
/// # Source
/// Nelder & Mead 1965, Computer J. 7:308; steps out of bounds are put back onto them.
pub fn minimise(
    function: impl Fn(&[f64]) -> f64,
    start: &[f64],
    bounds: &[(f64, f64)],
    search: &Search,
) -> Minimum {
    let mut simplex = Simplex::around(function, start, bounds, search);
    while simplex.evaluations < search.most_evaluations
        && simplex.spread() > search.smallest_step
        && simplex.fall() > search.smallest_fall
    {
        simplex.step();
    }
    let (at, value) = simplex.corners.swap_remove(0);
    Minimum { at, value, evaluations: simplex.evaluations }
}

struct Simplex<'a, F> {
    function: F,
    bounds: &'a [(f64, f64)],
    /// Best first.
    corners: Vec<(Vec<f64>, f64)>,
    evaluations: usize,
}

impl<'a, F: Fn(&[f64]) -> f64> Simplex<'a, F> {
    fn around(function: F, start: &[f64], bounds: &'a [(f64, f64)], search: &Search) -> Self {
        let mut simplex = Self { function, bounds, corners: Vec::new(), evaluations: 0 };
        simplex.add(start.to_vec());
        for (k, (low, high)) in bounds.iter().enumerate() {
            let mut corner = start.to_vec();
            let step = search.first_step * (high - low);
            // Towards the inside, so that no two corners fall together on a bound.
            corner[k] += if corner[k] + step > *high { -step } else { step };
            simplex.add(corner);
        }
        simplex.sort();
        simplex
    }

    fn value(&mut self, at: &[f64]) -> f64 {
        self.evaluations += 1;
        let value = (self.function)(at);
        if value.is_finite() { value } else { f64::MAX }
    }

    fn add(&mut self, at: Vec<f64>) {
        let at = self.inside(at);
        let value = self.value(&at);
        self.corners.push((at, value));
    }

    fn inside(&self, mut at: Vec<f64>) -> Vec<f64> {
        for (x, (low, high)) in at.iter_mut().zip(self.bounds) {
            *x = x.clamp(*low, *high);
        }
        at
    }

    fn sort(&mut self) {
        self.corners.sort_by(|a, b| a.1.total_cmp(&b.1));
    }

    /// The widest extent of the simplex, as a share of the bounds.
    fn spread(&self) -> f64 {
        let best = &self.corners[0].0;
        let extents =
            self.corners.iter().flat_map(|(corner, _)| {
                corner.iter().zip(best).zip(self.bounds).map(|((x, b), (low, high))| {
                    (x - b).abs() / (high - low).max(f64::MIN_POSITIVE)
                })
            });
        extents.fold(0.0, f64::max)
    }

    /// How much the worst corner lies above the best.
    fn fall(&self) -> f64 {
        self.corners.last().map_or(0.0, |worst| worst.1 - self.corners[0].1)
    }

    fn step(&mut self) {
        let last = self.corners.len() - 1;
        let (reflected, value) = self.beyond(1.0);
        if value < self.corners[0].1 {
            let (expanded, further) = self.beyond(2.0);
            let better = further < value;
            self.corners[last] = if better { (expanded, further) } else { (reflected, value) };
        } else if value < self.corners[last - 1].1 {
            self.corners[last] = (reflected, value);
        } else {
            let outside = value < self.corners[last].1;
            let (contracted, nearer) = self.beyond(if outside { 0.5 } else { -0.5 });
            if nearer < value.min(self.corners[last].1) {
                self.corners[last] = (contracted, nearer);
            } else {
                self.shrink();
            }
        }
        self.sort();
    }

    /// The worst corner, mirrored through the middle of the others and so far beyond it.
    fn beyond(&mut self, far: f64) -> (Vec<f64>, f64) {
        let (worst, others) = match self.corners.split_last() {
            Some((worst, others)) => (&worst.0, others),
            None => return (Vec::new(), f64::MAX),
        };
        let share = 1.0 / f64::from(u32::try_from(others.len()).unwrap_or(u32::MAX));
        let mirrored = worst.iter().enumerate().map(|(k, w)| {
            let middle = others.iter().map(|(corner, _)| corner[k]).sum::<f64>() * share;
            middle + far * (middle - w)
        });
        let at = self.inside(mirrored.collect());
        let value = self.value(&at);
        (at, value)
    }

    fn shrink(&mut self) {
        let best = self.corners[0].0.clone();
        for k in 1..self.corners.len() {
            let half =
                self.corners[k].0.iter().zip(&best).map(|(x, b)| f64::midpoint(*x, *b)).collect();
            let at = self.inside(half);
            let value = self.value(&at);
            self.corners[k] = (at, value);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SEARCH: Search =
        Search { first_step: 0.2, smallest_step: 1e-9, smallest_fall: 0.0, most_evaluations: 2000 };

    #[test]
    fn the_banana_valley_leads_to_its_end() {
        // Rosenbrock 1960, Computer J. 3:175: the least value 0 lies at (1, 1).
        let valley = |x: &[f64]| 100.0 * (x[1] - x[0] * x[0]).powi(2) + (1.0 - x[0]).powi(2);
        let found = minimise(valley, &[-1.2, 1.0], &[(-5.0, 5.0), (-5.0, 5.0)], &SEARCH);
        assert!((found.at[0] - 1.0).abs() < 1e-6 && (found.at[1] - 1.0).abs() < 1e-6, "{found:?}");
    }

    #[test]
    fn a_minimum_outside_is_sought_on_the_bound() {
        let slope = |x: &[f64]| x[0] + (x[1] - 0.3).powi(2);
        let found = minimise(slope, &[0.9, 0.9], &[(0.0, 1.0), (0.0, 1.0)], &SEARCH);
        assert!(found.at[0].abs() < 1e-9 && (found.at[1] - 0.3).abs() < 1e-6, "{found:?}");
    }

    #[test]
    fn values_that_are_not_numbers_are_avoided() {
        let holed = |x: &[f64]| if x[0] < 0.5 { f64::NAN } else { (x[0] - 0.6).powi(2) };
        let found = minimise(holed, &[0.9], &[(0.0, 1.0)], &SEARCH);
        assert!((found.at[0] - 0.6).abs() < 1e-6, "{found:?}");
    }
}
