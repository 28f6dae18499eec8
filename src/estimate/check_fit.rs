//! Leave-one-out: how well each count is foretold from the others.

/// How well each count is foretold from the others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeaveOneOut {
    /// Root mean square error, per metre.
    pub rmse_per_m: f64,
    /// The same when the planting's mean is foretold instead, per metre.
    pub rmse_of_mean_per_m: f64,
    /// Mean error, per metre.
    pub bias_per_m: f64,
    /// Mean squared deviation ratio: squared error over its variance; 1 when errors are honest.
    pub msdr: f64,
    /// Share of counts within their 90 % interval.
    pub coverage90: f64,
}
