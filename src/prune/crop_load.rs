//! Crop load: the yield of a vine over the prunings of the winter after it.

use super::size::Side;
use crate::{block::VineType, units::Kilograms};

/// A range of crop load that somebody calls balanced.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadBand {
    /// Whose it is.
    pub who: &'static str,
    /// Below it a vine carries little for its growth.
    pub low: f64,
    /// Above it, much.
    pub high: f64,
    /// Where it is printed.
    pub source: &'static str,
}

/// Kilograms of crop to a kilogram of prunings; `None` without prunings.
///
/// # Source
/// Kliewer and Dokoozlian 2005, Am. J. Enol. Vitic. 56:170–181.
pub fn crop_load(crop: Kilograms, prunings: Kilograms) -> Option<f64> {
    (prunings.kilograms() > 0.0).then(|| crop.kilograms() / prunings.kilograms())
}

impl LoadBand {
    /// On which side a crop load lies.
    pub fn side(&self, load: f64) -> Side {
        if load < self.low {
            Side::Below
        } else if load > self.high {
            Side::Above
        } else {
            Side::Within
        }
    }
}

/// What is said of a side: `under-cropped`, `balanced`, `over-cropped`.
pub const fn load_words(side: Side) -> &'static str {
    match side {
        Side::Below => "under-cropped",
        Side::Within => "balanced",
        Side::Above => "over-cropped",
    }
}

/// Published bands for vines of a kind and so many curtains; the first names the verdict.
///
/// For hybrids that is the general band with the higher upper end that extension practice allows
/// them: 10 to 15 is no fault of theirs, and less than 10 no lack of crop.
pub fn published_bands(kind: Option<VineType>, curtains: u32) -> Vec<LoadBand> {
    let general = LoadBand {
        who: "Kliewer and Dokoozlian",
        low: if curtains > 1 { 5.0 } else { 4.0 },
        high: 10.0,
        source: "vinifera in California: Kliewer and Dokoozlian 2005, Am. J. Enol. Vitic. 56:170-181",
    };
    let hybrid = (kind == Some(VineType::Hybrid)).then_some(LoadBand {
        who: "extension practice for hybrids",
        high: 15.0,
        source: "hybrids: 10 to 15 often acceptable, extension practice, from memory; the lower end \
                 is that of Kliewer and Dokoozlian 2005",
        ..general
    });
    let smart = LoadBand {
        who: "Smart and Robinson",
        low: 5.0,
        high: 10.0,
        source: "Smart and Robinson 1991, Sunlight into Wine, from memory",
    };
    hybrid.into_iter().chain([general, smart]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn load(crop_kg: f64, prunings_kg: f64) -> f64 {
        crop_load(Kilograms::new(crop_kg), Kilograms::new(prunings_kg)).unwrap()
    }

    #[test]
    fn loads_are_those_of_the_tables() {
        // Kliewer & Dokoozlian 2005, Table 4 (single canopy) and Table 5 (divided): yield and
        // prunings, kg a vine; ratio as printed; ratio of the printed numbers.
        let printed = [
            (9.8, 1.30, "7.5", 7.538),
            (20.2, 1.53, "13.2", 13.203),
            (15.9, 0.29, "54.8", 54.828),
            (11.8, 1.41, "8.4", 8.369),
            (22.0, 0.46, "47.8", 47.826),
        ];
        for (crop, prunings, ratio, exact) in printed {
            let load = load(crop, prunings);
            assert_eq!(format!("{load:.1}"), ratio, "{crop} / {prunings}");
            assert!((load - exact).abs() < 5e-4, "{load}");
        }
        // Divided, hedged: printed 11.3 from unrounded data, 11.355 from the printed numbers.
        let hedged = load(24.3, 2.14);
        assert!((hedged - 11.3).abs() < 0.1 && (hedged - 11.355).abs() < 5e-4, "{hedged}");
    }

    #[test]
    fn a_vine_without_prunings_has_no_load() {
        assert_eq!(crop_load(Kilograms::new(3.0), Kilograms::new(0.0)), None);
        assert!(load(0.0, 0.5).abs() < 1e-15);
    }

    #[test]
    fn sides_follow_the_bands() {
        // Kliewer & Dokoozlian 2005, abstract: single 4–10, divided 5–10.
        let side = |curtains, load| published_bands(None, curtains)[0].side(load);
        assert_eq!(
            [3.9, 4.0, 10.0, 10.1].map(|load| load_words(side(1, load))),
            ["under-cropped", "balanced", "balanced", "over-cropped"]
        );
        assert_eq!(side(2, 4.5), Side::Below);
    }

    #[test]
    fn a_hybrid_may_carry_more_and_need_not() {
        // Extension practice, from memory: 10–15 often acceptable in hybrids.
        let side = |kind, load| published_bands(kind, 1)[0].side(load);
        let sides = |kind| [3.9, 4.0, 12.0, 15.0, 15.1].map(|load| side(kind, load));
        let [below, within, above] = [Side::Below, Side::Within, Side::Above];
        assert_eq!(sides(Some(VineType::Hybrid)), [below, within, within, within, above]);
        for kind in [None, Some(VineType::Vinifera), Some(VineType::Native)] {
            assert_eq!(sides(kind), [below, within, above, above, above], "{kind:?}");
        }
        let divided = published_bands(Some(VineType::Hybrid), 2);
        assert_eq!((divided[0].side(4.5), divided.len()), (below, 3));
    }
}
