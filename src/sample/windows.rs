//! Stretches of a vine that are counted instead of all of it.

use super::Stop;
use crate::{
    frame::Site,
    layout::Layout,
    maths::{float, random::Random},
    settings::SampleSettings,
    units::Metres,
};

/// Starts are drawn in steps of this, metres: what a tape in the field shows.
const STEP_M: f64 = 0.05;
/// No vine is longer than this many steps.
const MOST_STEPS: u32 = 20_000;

/// Draws where each stop's stretch starts; on some a second one beside it, which tells how much a
/// stretch differs from its vine.
pub(super) fn draw(
    stops: &mut [Stop],
    (site, layout): (&Site, &Layout),
    (window, settings): (Option<Metres>, &SampleSettings),
    random: &mut Random,
) {
    let Some(length) = window.map(Metres::metres) else { return };
    let every = settings.second_window_every;
    for (at, stop) in stops.iter_mut().enumerate() {
        let Some(vine) = stop.vine else { continue };
        let canopy = canopy_m(site, layout.vines[vine].row);
        let twice = every > 0 && at % every == every - 1;
        stop.windows = starts(canopy, length, twice, random);
    }
}

/// Canopy that a vine fills: its spacing, for each curtain.
fn canopy_m(site: &Site, row: u32) -> f64 {
    let planting = &site.plantings.all()[site.plantings.of_row(row)];
    site.rules.vine_spacing.metres() * f64::from(planting.curtains)
}

/// One start, or two whose stretches do not overlap; none where the vine is no longer than one.
fn starts(canopy: f64, length: f64, twice: bool, random: &mut Random) -> Vec<Metres> {
    let room = canopy - length;
    if room < STEP_M {
        return Vec::new();
    }
    let start = |room: f64, random: &mut Random| {
        let steps = (0..MOST_STEPS).take_while(|&n| f64::from(n) * STEP_M <= room + 1e-9).count();
        let step = random.below(steps as u64);
        float(usize::try_from(step).unwrap_or(0)) * STEP_M
    };
    if twice && room >= length {
        // Both by lot on the canopy less one stretch, and the later moved beyond the earlier: every
        // pair of places is as likely.
        let (one, other) = (start(room - length, random), start(room - length, random));
        return vec![Metres::new(one.min(other)), Metres::new(one.max(other) + length)];
    }
    vec![Metres::new(start(room, random))]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_lie_on_the_vine_and_do_not_overlap() {
        let mut random = Random::new(1);
        for _ in 0..2000 {
            let two: Vec<f64> =
                starts(1.8, 0.6, true, &mut random).iter().map(|start| start.metres()).collect();
            assert!(two.len() == 2 && two[0] >= 0.0 && two[1] + 0.6 <= 1.8 + 1e-9, "{two:?}");
            assert!(two[1] - two[0] >= 0.6 - 1e-9, "{two:?}");
            let one = starts(1.0, 0.6, true, &mut random);
            assert!(one.len() == 1 && one[0].metres() <= 0.4 + 1e-9);
        }
        assert!(starts(0.6, 0.6, false, &mut random).is_empty(), "all of it is counted");
    }

    #[test]
    fn every_start_is_as_likely() {
        let mut random = Random::new(2);
        let mut times = [0_u32; 9];
        for _ in 0..9000 {
            let start = starts(1.0, 0.6, false, &mut random)[0].metres();
            let step = (0..9).find(|&n| (float(n) * STEP_M - start).abs() < 1e-9).unwrap();
            times[step] += 1;
        }
        // 1000 each, standard deviation 30.
        assert!(times.iter().all(|times| times.abs_diff(1000) < 130), "{times:?}");
    }
}
