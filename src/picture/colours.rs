//! The colours of a picture: ink, and ramps whose classes differ in lightness, not in hue alone.
//!
//! Every ramp is told apart on a black-and-white print and by people who see fewer colours;
//! `tests/it/outside/pictures.rs` measures it.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | L* | lightness of CIELAB under D65 | 0 … 100 |
//! | Y | relative luminance | 0 … 1 |
//! | t | place on a gradient | 0 … 1 |

use std::fmt;

use colorous::Gradient;

/// A colour of the sRGB space.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour {
    /// Red, green and blue, 0 … 255.
    pub rgb: [u8; 3],
}

impl Colour {
    /// The colour of these red, green and blue.
    pub const fn new(red: u8, green: u8, blue: u8) -> Self {
        Self { rgb: [red, green, blue] }
    }
}

impl fmt::Display for Colour {
    /// `#1f2a30`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [red, green, blue] = self.rgb;
        write!(f, "#{red:02x}{green:02x}{blue:02x}")
    }
}

/// Paper.
pub const PAPER: Colour = Colour::new(255, 255, 255);
/// Titles, labels and outlines.
pub const INK: Colour = Colour::new(30, 33, 36);
/// Words that explain.
pub const SOFT_INK: Colour = Colour::new(84, 88, 92);
/// Hair lines.
pub const RULE: Colour = Colour::new(168, 171, 174);
/// Ground of the block.
pub const GROUND: Colour = Colour::new(250, 249, 246);
/// Ground that is not planted.
pub const KEPT_OUT: Colour = Colour::new(228, 228, 225);
/// A vine of which nothing can be said.
pub const NO_ESTIMATE: Colour = Colour::new(136, 139, 142);
/// A vine that is at its target.
pub const NEUTRAL: Colour = Colour::new(196, 193, 186);

/// Lightness of the classes of a ramp, from light to dark, by their number; even steps of
/// CIEDE2000 on the grey axis.
const LIGHTNESS: [&[f64]; 6] = [
    &[59.0],
    &[80.0, 35.0],
    &[90.0, 55.2, 22.0],
    &[90.0, 63.8, 43.7, 20.0],
    &[90.0, 69.7, 53.3, 38.4, 20.0],
    &[91.0, 73.3, 58.6, 46.2, 32.5, 16.0],
];

/// The same for the greens, whose darkest has 25.
const GREEN_LIGHTNESS: [&[f64]; 4] =
    [&[55.0], &[84.0, 45.0], &[90.0, 60.0, 30.0], &[91.0, 67.0, 47.0, 26.0]];

/// The most classes of a ramp.
pub const MOST_CLASSES: usize = LIGHTNESS.len();

/// Colours for so many ordered classes, from light (least) to dark (most); at most six.
pub fn sequential(classes: usize) -> Vec<Colour> {
    let steps = LIGHTNESS[classes.clamp(1, MOST_CLASSES) - 1];
    steps.iter().map(|&lightness| at_lightness(colorous::VIRIDIS, lightness)).collect()
}

/// The same in greens, so that a map of vigor is not taken for one of shoots.
///
/// At most four.
pub fn sequential_green(classes: usize) -> Vec<Colour> {
    let steps = GREEN_LIGHTNESS[classes.clamp(1, GREEN_LIGHTNESS.len()) - 1];
    steps.iter().map(|&lightness| at_lightness(colorous::YELLOW_GREEN, lightness)).collect()
}

/// Colours for classes above a target, from the nearest to the farthest: three.
pub fn above_target() -> [Colour; 3] {
    [62.0, 46.0, 30.0].map(|lightness| at_lightness(colorous::YELLOW_ORANGE_BROWN, lightness))
}

/// Colours for classes below a target, from the nearest to the farthest: two.
pub fn below_target() -> [Colour; 2] {
    [58.0, 36.0].map(|lightness| at_lightness(colorous::BLUES, lightness))
}

/// The colour of a gradient at a lightness, by halving: the gradients used here are monotone.
fn at_lightness(gradient: Gradient, wanted: f64) -> Colour {
    let colour = |t: f64| {
        let found = gradient.eval_continuous(t);
        Colour::new(found.r, found.g, found.b)
    };
    let darkens = lightness(colour(0.0)) > lightness(colour(1.0));
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..30 {
        let middle = f64::midpoint(low, high);
        if (lightness(colour(middle)) > wanted) == darkens {
            low = middle;
        } else {
            high = middle;
        }
    }
    colour(high)
}

/// The lightness L* of a colour, 0 … 100.
///
/// # Source
/// IEC 61966-2-1 (sRGB to linear light), CIE 15 (L* from Y).
pub fn lightness(colour: Colour) -> f64 {
    let [red, green, blue] = colour.rgb.map(|part| {
        let part = f64::from(part) / 255.0;
        if part <= 0.040_45 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
    });
    let y = 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    let cube = 216.0 / 24_389.0;
    if y > cube { 116.0 * y.cbrt() - 16.0 } else { y * 24_389.0 / 27.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ramp_has_the_lightness_it_was_asked_for() {
        let check = |ramp: Vec<Colour>, wanted: &[f64]| {
            assert_eq!(ramp.len(), wanted.len());
            for (colour, wanted) in ramp.iter().zip(wanted) {
                let found = lightness(*colour);
                assert!((found - wanted).abs() < 1.5, "{wanted:?}: L* {found}");
            }
        };
        for wanted in LIGHTNESS {
            check(sequential(wanted.len()), wanted);
        }
        for wanted in GREEN_LIGHTNESS {
            check(sequential_green(wanted.len()), wanted);
        }
    }

    #[test]
    fn lightness_is_that_of_the_standard() {
        assert!((lightness(PAPER) - 100.0).abs() < 1e-9);
        // CIE 15: the middle grey 119 of sRGB has L* 50.03 (Lindbloom's calculator, from memory).
        assert!((lightness(Colour::new(119, 119, 119)) - 50.03).abs() < 0.01);
    }
}
