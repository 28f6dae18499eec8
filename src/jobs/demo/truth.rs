//! What really stands on the invented estate: shoots and vigor of every vine, known to the last.
//!
//! A smooth surface (hollows, crowns and small unevenness as Gaussian bumps), a vine-to-vine spread
//! around it, and a planting's own level. Nobody in the field ever sees these numbers; the field
//! book only holds what a count of some of them gave.

use geo::Coord;

use crate::{
    layout::{Layout, Vine},
    maths::random::Random,
};

/// What makes a block differ from the others.
#[derive(Debug)]
pub(super) struct Profile {
    /// The block's name.
    pub(super) name: &'static str,
    /// Shoots per metre of canopy in odd and in even rows, before everything else.
    pub(super) shoots_per_m: [f64; 2],
    /// The large features of its ground.
    pub(super) bumps: &'static [Bump],
    /// Distance along the rows, metres: the canopy of a vine that fills its place.
    pub(super) vine_spacing_m: f64,
    /// Of all that is drawn for this block.
    pub(super) seed: u64,
}

/// A hollow where vines are strong and crowded, or a crown where they are weak and sparse.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bump {
    /// Where it is: shares of the block's extent along and across the rows.
    pub(super) at: [f64; 2],
    /// How far it reaches (the standard deviation of its bell), metres.
    pub(super) reach_m: f64,
    /// Shoots per metre more at its middle, negative for a crown.
    pub(super) height_per_m: f64,
}

/// What really stands at one vine place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct VineTruth {
    /// Shoots on the whole vine.
    pub(super) shoots: u32,
    /// Shoots per metre of canopy of the smooth surface.
    pub(super) surface_per_m: f64,
    /// Last winter's prunings per metre of canopy, kilograms.
    pub(super) prunings_kg_per_m: f64,
    /// Mean length of its shoots on the day of the counts, centimetres.
    pub(super) shoot_length_cm: f64,
}

/// Standard deviation of a vine around the surface, shoots per metre.
const VINE_SPREAD_PER_M: f64 = 1.5;
/// Small unevenness: so many bumps, each so high and so wide at most.
const SMALL_BUMPS: u32 = 7;
const SMALL_HEIGHT_PER_M: f64 = 1.4;
const SMALL_REACH_M: f64 = 14.0;
/// No vine is barer or fuller than this, shoots per metre.
const BAREST_PER_M: f64 = 7.0;
const FULLEST_PER_M: f64 = 30.0;

/// What really stands at every vine place, in the layout's order.
pub(super) fn truth(profile: &Profile, layout: &Layout) -> Vec<VineTruth> {
    let mut random = Random::new(profile.seed);
    let bumps = ground_bumps(profile, layout, &mut random);
    layout.vines.iter().map(|vine| one_vine(profile, vine, &bumps, &mut random)).collect()
}

/// A bump in metres: where, reach, height.
type PlacedBump = (Coord, f64, f64);

fn ground_bumps(profile: &Profile, layout: &Layout, random: &mut Random) -> Vec<PlacedBump> {
    let place = |[along, across]: [f64; 2]| {
        let ([a0, a1], [c0, c1]) = extents(layout);
        Coord { x: a0 + along * (a1 - a0), y: c0 + across * (c1 - c0) }
    };
    let large = profile.bumps.iter().map(|b| (place(b.at), b.reach_m, b.height_per_m));
    let mut placed: Vec<PlacedBump> = large.collect();
    for _ in 0..SMALL_BUMPS {
        let at = place([random.uniform(), random.uniform()]);
        let reach = SMALL_REACH_M * (0.6 + 0.4 * random.uniform());
        placed.push((at, reach, SMALL_HEIGHT_PER_M * (2.0 * random.uniform() - 1.0)));
    }
    placed
}

/// Least and greatest metres along and across.
fn extents(layout: &Layout) -> ([f64; 2], [f64; 2]) {
    let widen = |[least, most]: [f64; 2], value: f64| [least.min(value), most.max(value)];
    let none = [f64::INFINITY, f64::NEG_INFINITY];
    layout.vines.iter().fold((none, none), |(along, across), vine| {
        (widen(along, vine.at.along_m), widen(across, vine.at.across_m))
    })
}

fn one_vine(
    profile: &Profile,
    vine: &Vine,
    bumps: &[PlacedBump],
    random: &mut Random,
) -> VineTruth {
    let lie = lie_of_the_ground(vine, bumps);
    let level = profile.shoots_per_m[usize::from(vine.row.is_multiple_of(2))];
    let surface_per_m = (level + lie).clamp(BAREST_PER_M, FULLEST_PER_M);
    let own = VINE_SPREAD_PER_M * random.normal();
    let per_m = (surface_per_m + own).clamp(BAREST_PER_M, FULLEST_PER_M);
    // Crowded vines grew much wood last year, and push longer shoots this spring.
    let prunings = (0.42 + 0.027 * lie + 0.012 * own) * (1.0 + 0.14 * random.normal());
    let length = 14.0 + 0.35 * lie + 1.1 * random.normal();
    VineTruth {
        shoots: whole(per_m * profile.vine_spacing_m),
        surface_per_m,
        prunings_kg_per_m: prunings.max(0.08),
        shoot_length_cm: length.max(5.0),
    }
}

/// Shoots per metre that the lie of the ground adds at a vine.
fn lie_of_the_ground(vine: &Vine, bumps: &[PlacedBump]) -> f64 {
    let bell = |(at, reach, height): &PlacedBump| {
        let (along, across) = (vine.at.along_m - at.x, vine.at.across_m - at.y);
        height * (-0.5 * (along * along + across * across) / (reach * reach)).exp()
    };
    bumps.iter().map(bell).sum()
}

/// The nearest whole number, 0 for what is below.
pub(super) fn whole(value: f64) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "rounded, above 0 and far below 4 thousand million"
    )]
    let whole = value.round().clamp(0.0, 1e6) as u32;
    whole
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::demo::support::grid;

    const PROFILE: Profile = Profile {
        name: "Test",
        shoots_per_m: [17.0, 17.0],
        bumps: &[
            Bump { at: [0.1, 0.1], reach_m: 20.0, height_per_m: 7.0 },
            Bump { at: [0.8, 0.8], reach_m: 18.0, height_per_m: -5.0 },
        ],
        vine_spacing_m: 1.2,
        seed: 1,
    };

    #[test]
    fn the_hollow_is_crowded_and_the_crown_sparse() {
        let layout = grid(25, 80);
        let truth = truth(&PROFILE, &layout);
        let mean = |rows: std::ops::Range<u32>, vines: std::ops::Range<u32>| {
            let there = layout.vines.iter().zip(&truth);
            let there =
                there.filter(|(vine, _)| rows.contains(&vine.row) && vines.contains(&vine.vine));
            let (sum, n) = there.fold((0.0, 0.0), |(sum, n), (_, truth)| {
                (sum + f64::from(truth.shoots) / 1.2, n + 1.0)
            });
            sum / n
        };
        let (hollow, crown) = (mean(1..6, 1..16), mean(18..24, 58..72));
        assert!(hollow > 20.5 && hollow < 26.0, "{hollow}");
        assert!(crown > 10.0 && crown < 14.5, "{crown}");
    }

    #[test]
    fn vigor_goes_with_crowding() {
        let layout = grid(25, 80);
        let truth = truth(&PROFILE, &layout);
        let pairs: Vec<(f64, f64)> =
            truth.iter().map(|t| (f64::from(t.shoots), t.prunings_kg_per_m)).collect();
        let n = f64::from(u32::try_from(pairs.len()).unwrap());
        let (mx, my) = pairs.iter().fold((0.0, 0.0), |(x, y), p| (x + p.0 / n, y + p.1 / n));
        let moment = |f: &dyn Fn(&(f64, f64)) -> f64| pairs.iter().map(f).sum::<f64>();
        let correlation = moment(&|p| (p.0 - mx) * (p.1 - my))
            / (moment(&|p| (p.0 - mx).powi(2)) * moment(&|p| (p.1 - my).powi(2))).sqrt();
        assert!((0.5..0.95).contains(&correlation), "{correlation}");
        assert!((0.3..0.5).contains(&my), "{my} kg/m");
    }
}
