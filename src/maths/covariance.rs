//! How alike two places are by the distance between them.

use std::{fmt, str::FromStr};

/// The shape of the covariance; ranges are read as in the gstat program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Family {
    /// C(h) = psill · exp(−h / range).
    Exponential,
    /// C(h) = psill · (1 − 1.5 h/range + 0.5 (h/range)³) up to the range, 0 beyond.
    Spherical,
}

/// A covariance with a nugget.
///
/// # Units
/// `nugget` and `psill` in the square of the quantity's unit, `range_m` in metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CovarianceModel {
    /// The shape.
    pub family: Family,
    /// Variance of one vine around the surface.
    pub nugget: f64,
    /// Variance of the surface (the partial sill).
    pub psill: f64,
    /// Range, metres; above 0.
    pub range_m: f64,
}

impl CovarianceModel {
    /// The covariance of the surface at two places `distance_m` apart; without the nugget.
    pub fn at(&self, distance_m: f64) -> f64 {
        let h = distance_m / self.range_m;
        match self.family {
            Family::Exponential => self.psill * (-h).exp(),
            Family::Spherical if h < 1.0 => self.psill * (1.0 - h * (1.5 - 0.5 * h * h)),
            Family::Spherical => 0.0,
        }
    }
}

/// Why a text is no covariance.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no variation; write it as \"spherical nugget=0.05 psill=0.59 range=897\"")]
pub struct CovarianceError(String);

impl FromStr for Family {
    type Err = CovarianceError;

    fn from_str(text: &str) -> Result<Self, CovarianceError> {
        match text {
            "exponential" => Ok(Self::Exponential),
            "spherical" => Ok(Self::Spherical),
            _ => Err(CovarianceError(text.to_owned())),
        }
    }
}

impl FromStr for CovarianceModel {
    type Err = CovarianceError;

    fn from_str(text: &str) -> Result<Self, CovarianceError> {
        let refuse = || CovarianceError(text.to_owned());
        let mut words = text.split_whitespace();
        let family = words.next().ok_or_else(refuse)?.parse()?;
        let mut values = [None; 3];
        for word in words {
            let (name, value) = word.split_once('=').ok_or_else(refuse)?;
            let at = ["nugget", "psill", "range"].iter().position(|known| *known == name);
            let value = value.parse::<f64>().ok().filter(|v| v.is_finite() && *v >= 0.0);
            values[at.ok_or_else(refuse)?] = Some(value.ok_or_else(refuse)?);
        }
        let [Some(nugget), Some(psill), Some(range_m)] = values else { return Err(refuse()) };
        let sound = range_m > 0.0 && nugget + psill > 0.0;
        sound.then_some(Self { family, nugget, psill, range_m }).ok_or_else(refuse)
    }
}

impl fmt::Display for CovarianceModel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let family = match self.family {
            Family::Exponential => "exponential",
            Family::Spherical => "spherical",
        };
        write!(f, "{family} nugget={} psill={} range={}", self.nugget, self.psill, self.range_m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pinned_variation_is_read_and_printed() {
        let text = "spherical nugget=0.05 psill=0.59 range=897";
        let model: CovarianceModel = text.parse().unwrap();
        assert_eq!(model.to_string(), text);
        assert!((model.at(0.0) - 0.59).abs() < 1e-15);
        assert!(model.at(897.0).abs() < 1e-15);
        for wrong in ["gaussian nugget=0 psill=1 range=1", "spherical nugget=0 psill=1", ""] {
            assert!(wrong.parse::<CovarianceModel>().is_err(), "{wrong}");
        }
    }
}
