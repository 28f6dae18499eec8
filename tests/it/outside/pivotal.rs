//! The local pivotal method against its invariants and the same method in another program.

use std::collections::BTreeSet;

use catchwire::{
    maths::{float, random::Random},
    sample::local_pivotal,
};

/// Sixty units on a grid, as far apart along as across.
fn sixty() -> Vec<[f64; 2]> {
    (0..60).map(|unit| [float(unit % 10), float(unit / 10)]).collect()
}

/// How far the sums of chances nearest to each drawn unit are from one: squared, mean.
///
/// Source: Stevens & Olsen 2004, J. Am. Stat. Assoc. 99:262–278; a unit as near to several drawn ones
/// is shared among them.
fn balance(at: &[[f64; 2]], chance: f64, drawn: &[usize]) -> f64 {
    let mut sums = vec![0.0; drawn.len()];
    for place in at {
        let away: Vec<f64> =
            drawn.iter().map(|&u| (place[0] - at[u][0]).hypot(place[1] - at[u][1])).collect();
        let least = away.iter().copied().fold(f64::INFINITY, f64::min);
        let nearest: Vec<usize> = (0..away.len()).filter(|&k| away[k] <= least + 1e-9).collect();
        for &k in &nearest {
            sums[k] += chance / float(nearest.len());
        }
    }
    sums.iter().map(|sum| (sum - 1.0).powi(2)).sum::<f64>() / float(drawn.len())
}

// Local pivotal method on 60 units of which 12 are drawn with chances of 0.2, in Python (numpy, Monte
// Carlo of 400 draws, ours): every sample has 12; no share of draws is more than 0.05 off 0.2, where
// its standard error is 0.02; spatial balance 0.0998 against 0.2561 by lot.
#[test]
fn twelve_of_sixty_keep_the_invariants_of_the_pivotal_method() {
    let (at, draws) = (sixty(), 400_u32);
    let mut random = Random::new(12);
    let (mut times, mut pivotal, mut lots) = ([0_u32; 60], 0.0, 0.0);
    for _ in 0..draws {
        let drawn = local_pivotal(&at, &[0.2; 60], &mut random);
        let distinct: BTreeSet<usize> = drawn.iter().copied().collect();
        assert_eq!((drawn.len(), distinct.len()), (12, 12), "as many as the chances sum to");
        for &unit in &drawn {
            times[unit] += 1;
        }
        pivotal += balance(&at, 0.2, &drawn) / f64::from(draws);
        let mut lot: Vec<usize> = (0..60).collect();
        random.shuffle(&mut lot);
        lots += balance(&at, 0.2, &lot[..12]) / f64::from(draws);
    }
    assert_eq!(times.iter().sum::<u32>(), 12 * draws);
    // The largest of 60 shares: beyond 3.5 standard errors once in forty runs, and the seed is fixed.
    let off = times.map(|times| (f64::from(times) / f64::from(draws) - 0.2).abs());
    let most = off.into_iter().fold(0.0, f64::max);
    assert!(most <= 3.5 * (0.2 * 0.8 / f64::from(draws)).sqrt(), "a share is off by {most}");
    assert!(2.0 * pivotal < lots, "{pivotal} against {lots} by lot");
    // By lot there is nothing to choose: the same number within what 400 draws vary.
    assert!((lots - 0.256).abs() < 0.02, "{lots} by lot");
    assert!(pivotal < 0.0998 + 0.01, "no less even than the other program's: {pivotal}");
}
