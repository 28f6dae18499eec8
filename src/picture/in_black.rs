//! Classes for a printer that has nothing but black: the more there is, the blacker; below the target
//! barred.

use crate::picture::{
    classes::{Classes, Look},
    colours::NEUTRAL,
};

/// What the lowest and the last but one of a ladder without a target are filled with: more than that
/// is taken for all of it.
const SHARES: [f64; 2] = [0.08, 0.55];

/// The same classes in patterns.
pub(super) fn in_black(mut classes: Classes) -> Classes {
    let at_target = classes.ladder.iter().position(|class| class.look == Look::Solid(NEUTRAL));
    let first = at_target.map_or(0, |at| at + 1);
    let filled = classes.ladder.len().saturating_sub(first);
    for (at, class) in classes.ladder.iter_mut().enumerate() {
        class.look = match at_target {
            Some(target) if at < target => Look::Barred(if at + 1 == target { 1 } else { 2 }),
            Some(target) if at == target => Look::Weight(0.0),
            _ => Look::Weight(share(at - first, filled, at_target.is_some())),
        };
    }
    classes
}

/// How much of a class is filled: even steps up to all of it, the outline alone being the target.
fn share(rung: usize, rungs: usize, above_target: bool) -> f64 {
    let float = crate::maths::float;
    if above_target {
        float(rung + 1) / float(rungs)
    } else if rungs < 2 {
        0.5
    } else if rung + 1 == rungs {
        1.0
    } else {
        let [least, most] = SHARES;
        least + (most - least) * float(rung) / float(rungs - 2).max(1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::{HeatMap, example::Example};

    fn looks(kind: HeatMap) -> Vec<Look> {
        let subject = Example::small().subject(kind);
        in_black(subject.classes).ladder.iter().map(|class| class.look).collect()
    }

    #[test]
    fn a_higher_class_is_blacker_and_none_looks_like_another() {
        for kind in [HeatMap::ShootDensity, HeatMap::Vigor] {
            let share = |look: Look| {
                let Look::Weight(share) = look else { panic!("{look:?} without a target") };
                share
            };
            let shares: Vec<f64> = looks(kind).into_iter().map(share).collect();
            assert!(shares.windows(2).all(|pair| pair[1] - pair[0] > 0.08), "{kind:?}: {shares:?}");
        }
    }

    #[test]
    fn below_the_target_is_barred_and_above_it_filled() {
        let third = 1.0 / 3.0;
        let wanted = [
            Look::Barred(2),
            Look::Barred(1),
            Look::Weight(0.0),
            Look::Weight(third),
            Look::Weight(2.0 * third),
            Look::Weight(1.0),
        ];
        assert_eq!(looks(HeatMap::ThinningNeed), wanted);
    }
}
