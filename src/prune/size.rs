//! Vine size by limits of pruning weight, which authorities set differently.

use crate::units::{Kilograms, PerMetre};

/// Limits of pruning weight per length of canopy that somebody calls balanced.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeLimits {
    /// Whose they are.
    pub who: &'static str,
    /// Below it vines are small.
    pub low: PerMetre,
    /// Above it they are large.
    pub high: PerMetre,
    /// Where they are printed.
    pub source: &'static str,
}

/// On which side of some limits a weight lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// Below the lower limit.
    Below,
    /// Between them, both included.
    Within,
    /// Above the upper limit.
    Above,
}

impl SizeLimits {
    /// On which side a pruning weight lies.
    ///
    /// # Units
    /// Kilograms per metre of canopy.
    pub fn side(&self, weight: PerMetre) -> Side {
        let beyond =
            |one: PerMetre, other: PerMetre| one.per_metre() - other.per_metre() > ROUNDING;
        if beyond(self.low, weight) {
            Side::Below
        } else if beyond(weight, self.high) {
            Side::Above
        } else {
            Side::Within
        }
    }
}

/// What authorities call a balanced vine of so many curtains.
pub fn published_limits(curtains: u32) -> [SizeLimits; 3] {
    [
        SizeLimits {
            who: "Wolf",
            low: pounds_per_foot(0.2),
            high: pounds_per_foot(0.4),
            source: "eastern North America, 0.2 to 0.4 lb/ft: Wolf (ed.) 2008, NRAES-145, from memory",
        },
        SizeLimits {
            who: "Smart and Robinson",
            low: PerMetre::new(0.3),
            high: PerMetre::new(0.6),
            source: "Smart and Robinson 1991, Sunlight into Wine, from memory",
        },
        california(curtains),
    ]
}

/// Kilograms a metre that lie less apart are rounding of floating point.
const ROUNDING: f64 = 1e-9;

/// Kilograms a metre of pounds a foot.
const fn pounds_per_foot(pounds: f64) -> PerMetre {
    PerMetre::from_per_foot(Kilograms::from_pounds(pounds).kilograms())
}

fn california(curtains: u32) -> SizeLimits {
    let [low, high] = if curtains > 1 { [0.4, 0.8] } else { [0.5, 1.0] };
    SizeLimits {
        who: "Kliewer and Dokoozlian",
        low: PerMetre::new(low),
        high: PerMetre::new(high),
        source: "California: Kliewer and Dokoozlian 2005, Am. J. Enol. Vitic. 56:170-181",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{KILOGRAMS_PER_POUND, METRES_PER_FOOT, Metres};

    /// Pounds a foot of kilograms a metre.
    fn pounds_a_foot(weight: PerMetre) -> f64 {
        weight.per_metre() * METRES_PER_FOOT / KILOGRAMS_PER_POUND
    }

    fn printed(limits: SizeLimits) -> [String; 2] {
        [limits.low, limits.high].map(|limit| format!("{:.2}", pounds_a_foot(limit)))
    }

    #[test]
    fn limits_are_the_same_in_both_units() {
        // Kliewer & Dokoozlian 2005, abstract: single canopy 0.5–1.0 kg/m, that is 0.34–0.67 lb/ft;
        // divided 0.4–0.8 kg/m, that is 0.27–0.54 lb/ft.
        assert_eq!(printed(published_limits(1)[2]), ["0.34", "0.67"]);
        assert_eq!(printed(published_limits(2)[2]), ["0.27", "0.54"]);
        // Wolf (ed.) 2008: 0.2–0.4 lb/ft, that is 0.30–0.60 kg/m.
        let wolf = published_limits(1)[0];
        assert_eq!(printed(wolf), ["0.20", "0.40"]);
        assert_eq!(
            [wolf.low, wolf.high].map(|limit| format!("{:.2}", limit.per_metre())),
            ["0.30", "0.60"]
        );
    }

    #[test]
    fn canes_weigh_the_same_in_ounces_and_grams() {
        // Cortell 2012, Oregon Wine Press: 1.0–1.9 oz a cane good, above 2 too vigorous; 28–54 g, 57 g.
        let grams = |ounces: f64| Kilograms::from_pounds(ounces / 16.0).kilograms() * 1000.0;
        assert_eq!(
            [1.0, 1.9, 2.0].map(|ounces| format!("{:.0}", grams(ounces))),
            ["28", "54", "57"]
        );
    }

    #[test]
    fn authorities_disagree_about_one_vine() {
        let sides = published_limits(1).map(|limits| limits.side(PerMetre::new(0.45)));
        assert_eq!(sides, [Side::Within, Side::Within, Side::Below]);
        let sides = published_limits(1).map(|limits| limits.side(PerMetre::new(0.8)));
        assert_eq!(sides, [Side::Above, Side::Above, Side::Within]);
        let ends = published_limits(1)[1];
        assert_eq!([ends.low, ends.high].map(|end| ends.side(end)), [Side::Within; 2]);
    }

    #[test]
    fn a_vine_weighed_in_pounds_lies_on_an_end_in_pounds() {
        let wolf = published_limits(1)[0];
        for feet in 1..=10 {
            let side = |pounds_a_foot: f64| {
                let feet = f64::from(feet);
                let kilograms = Kilograms::from_pounds(pounds_a_foot * feet).kilograms();
                wolf.side(PerMetre::new(kilograms / Metres::from_feet(feet).metres()))
            };
            assert_eq!([0.2, 0.4].map(side), [Side::Within; 2], "{feet} ft");
            assert_eq!([0.199_999, 0.400_001].map(side), [Side::Below, Side::Above], "{feet} ft");
        }
    }
}
