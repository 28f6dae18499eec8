//! From nodes to spur positions, and to the shoots that they will bring in spring.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | n | nodes kept on a vine | – |
//! | L | its canopy | m |
//! | s | share of buds that live | – |
//! | t | shoots wanted in spring | per m of canopy |
//!
//! n · s / L shoots a metre are to be expected if every live bud bursts once; doubles and base shoots
//! come on top. Formula and target rest on different things (what the vine can feed, how much light
//! its leaves get), so they can disagree; the fewer nodes then bind. Where the target does, as many are
//! left as its high end has room for, so that a heavier vine is never left fewer.

use super::formula::{NO_PART, nearest};
use crate::{
    maths::{float, whole},
    units::{Metres, PerMetre},
};

/// Shoots wanted in spring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpringTarget {
    /// Low end of the range.
    pub low: PerMetre,
    /// High end.
    pub high: PerMetre,
    /// The aim inside it.
    pub aim: PerMetre,
}

/// Which of the two says how many nodes to keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Binds {
    /// The nodes bring shoots within the target.
    Both,
    /// The formula: it keeps fewer nodes than the target's low end would take.
    Formula,
    /// The cap: it holds formula or rule for dead buds below what the target's low end would take.
    Cap,
    /// The target: the nodes would bring more shoots than its high end.
    Target,
}

impl Binds {
    /// The word that files use.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Both => "both",
            Self::Formula => "formula",
            Self::Cap => "cap",
            Self::Target => "target",
        }
    }
}

/// What a number of nodes comes to on a vine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spurs {
    /// Shoots to expect of the nodes.
    pub shoots: PerMetre,
    /// Nodes that would bring the target's aim; `None` without a target.
    pub nodes_for_aim: Option<usize>,
    /// Which of formula and target binds; `None` without a target.
    pub binds: Option<Binds>,
    /// Nodes to leave: never above those kept.
    pub leave: usize,
    /// Spur positions for them.
    pub positions: usize,
    /// The same per length of canopy.
    pub density: PerMetre,
}

impl Spurs {
    /// The same for nodes that the cap holds: too few for the target, they are so by the cap.
    #[must_use]
    pub fn under_cap(self) -> Self {
        let binds =
            self.binds.map(|binds| if binds == Binds::Formula { Binds::Cap } else { binds });
        Self { binds, ..self }
    }
}

/// Spur positions for some nodes on a vine.
///
/// `live` is the share of buds that live, above 0; `canopy` is above 0.
pub fn spurs(
    nodes: usize,
    (canopy, live): (Metres, f64),
    target: Option<SpringTarget>,
    nodes_per_spur: usize,
) -> Spurs {
    let metres = canopy.metres();
    let shoots = PerMetre::new(float(nodes) * live / metres);
    let nodes_for_aim = target.map(|target| nearest(target.aim.per_metre() * metres / live).max(1));
    let room = |target: SpringTarget| whole(target.high.per_metre() * metres / live + NO_PART);
    let binds = target.map(|target| {
        if nodes > room(target) {
            Binds::Target
        } else if shoots < target.low {
            Binds::Formula
        } else {
            Binds::Both
        }
    });
    let leave = target.map_or(nodes, |target| nodes.min(room(target).max(1)));
    let positions = leave.div_ceil(nodes_per_spur.max(1));
    let density = PerMetre::new(float(positions) / metres);
    Spurs { shoots, nodes_for_aim, binds, leave, positions, density }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn target([low, high, aim]: [f64; 3]) -> SpringTarget {
        let [low, high, aim] = [low, high, aim].map(PerMetre::from_per_foot);
        SpringTarget { low, high, aim }
    }

    #[test]
    fn forty_nodes_are_twenty_spurs_of_two() {
        // Grower's log, cooksplace.us 2013: 2 lb by 20+20 is 40 buds, 20 two-bud spurs.
        let found = spurs(40, (Metres::from_feet(8.0), 1.0), None, 2);
        assert_eq!((found.positions, found.leave, found.binds), (20, 40, None));
        assert!((found.density.per_foot() - 2.5).abs() < 1e-12);
    }

    #[test]
    fn fifty_nodes_on_ten_feet_are_five_a_foot() {
        // Grower's log, houseofvines 2016: 50 buds over a 10-ft vine are 5 a foot.
        let found = spurs(50, (Metres::from_feet(10.0), 1.0), Some(target([4.0, 6.0, 5.0])), 2);
        assert!((found.shoots.per_foot() - 5.0).abs() < 1e-12);
        assert_eq!((found.binds, found.leave), (Some(Binds::Both), 50));
    }

    #[test]
    fn the_fewer_nodes_bind() {
        let canopy = Metres::from_feet(6.0);
        // 50 nodes, 8.3 shoots a foot: 6 a foot, the high end, take 36; the aim of 5 takes 30.
        let crowded = spurs(50, (canopy, 1.0), Some(target([4.0, 6.0, 5.0])), 2);
        assert_eq!(
            (crowded.binds, crowded.leave, crowded.positions),
            (Some(Binds::Target), 36, 18)
        );
        assert_eq!(crowded.nodes_for_aim, Some(30));
        // One node more than there is room for takes none of the others away.
        let left = [36, 37]
            .map(|nodes| spurs(nodes, (canopy, 1.0), Some(target([4.0, 6.0, 5.0])), 2).leave);
        assert_eq!(left, [36, 36]);
        // Half of the buds dead: 50 nodes bring 4.2 a foot.
        let frozen = spurs(50, (canopy, 0.5), Some(target([4.0, 6.0, 5.0])), 2);
        assert_eq!((frozen.binds, frozen.leave), (Some(Binds::Both), 50));
        assert_eq!(frozen.nodes_for_aim, Some(60));
        // 20 nodes bring 3.3 a foot: what the vine can feed binds.
        let weak = spurs(20, (canopy, 1.0), Some(target([4.0, 6.0, 4.0])), 2);
        assert_eq!((weak.binds, weak.leave, weak.positions), (Some(Binds::Formula), 20, 10));
    }

    proptest! {
        #[test]
        fn never_more_nodes_than_are_kept_and_never_a_shoot_beyond_the_target(
            nodes in 1_usize..150, canopy in 0.4_f64..6.0, live in 0.05_f64..1.0,
            low in 2.0_f64..5.0, wide in 0.0_f64..3.0, share in 0.0_f64..1.0, of_a_spur in 1_usize..4
        ) {
            let found = spurs(
                nodes,
                (Metres::new(canopy), live),
                Some(target([low, low + wide, low + share * wide])),
                of_a_spur,
            );
            prop_assert!(found.leave <= nodes && found.leave >= 1);
            prop_assert!(found.positions * of_a_spur >= found.leave);
            prop_assert!((found.positions - 1) * of_a_spur < found.leave);
            let brought = float(found.leave) * live / canopy;
            let high = PerMetre::from_per_foot(low + wide).per_metre();
            prop_assert!(found.leave == 1 || brought <= high + 1e-6);
            if found.leave < nodes {
                prop_assert_eq!(found.binds, Some(Binds::Target));
            }
        }
    }
}
