//! Do intervals cover what they say? Invented blocks whose every vine is known, for `make study`.
//!
//! `cargo run --example coverage` writes `docs/simulation.md`; with a number, so many blocks a case,
//! and with a path behind it, there. The same number gives the same table on any machine.
#![expect(clippy::unwrap_used, reason = "a study fails by panicking")]

mod ground;
mod score;
mod table;

use std::{
    env,
    io::Write,
    path::{Path, PathBuf},
};

use catchwire::{
    estimate::{Method, estimate},
    maths::{float, random::Random},
    settings::Settings,
    zones::draw_zones,
};
use ground::{Ground, Pattern};
use rayon::prelude::*;
use score::{Score, score};
use table::Case;

/// Simulated blocks a case.
const BLOCKS: usize = 200;
/// Counts a block, close pairs among them.
const COUNTS: [usize; 6] = [12, 20, 30, 60, 120, 200];

fn main() {
    let mut words = env::args().skip(1);
    let blocks = words.next().map_or(BLOCKS, |word| word.parse().unwrap());
    let path = words.next().map_or_else(
        || PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("docs/simulation.md"),
        PathBuf::from,
    );
    let ground = Ground::new();
    let mut cases = Vec::new();
    for (pattern, name) in Pattern::all(ground.extent_m()) {
        let truths: Vec<Vec<f64>> = {
            let drawing = ground.drawing(&pattern);
            (0..blocks).into_par_iter().map(|block| ground.truth(&drawing, seed(block))).collect()
        };
        for counts in COUNTS {
            let scores = (0..blocks).into_par_iter();
            let scores =
                scores.map(|block| one(&ground, &truths[block], (counts, block))).collect();
            cases.push(Case { name, counts, scores });
            // After every case, so that a long run can be looked at.
            put(&path, &table::document(&ground, &cases, blocks));
        }
    }
}

/// The file appears whole or not at all.
fn put(path: &Path, text: &str) {
    let mut file = tempfile::NamedTempFile::new_in(path.parent().unwrap()).unwrap();
    file.write_all(text.as_bytes()).unwrap();
    file.persist(path).unwrap();
}

fn seed(block: usize) -> u64 {
    u64::try_from(block).unwrap() + 1
}

/// One block: vines chosen, counted and estimated as the tool does it, then held to the truth.
fn one(ground: &Ground, truth: &[f64], (counts, block): (usize, usize)) -> Score {
    let settings = Settings::default();
    let mut random = Random::new(seed(block) << 32 | u64::try_from(counts).unwrap());
    let chosen = ground.choose(counts, random.bits());
    let observer_share = settings.estimate().observer_share;
    let joined = ground.count(&chosen, truth, observer_share, &mut random);
    let (site, layout) = (&ground.site, &ground.layout);
    let (estimate, _) = estimate(site, layout, &joined, &settings.estimate()).unwrap();
    let (zones, _) = draw_zones(site, layout, &joined, &estimate, &settings.zones()).unwrap();
    score(ground, truth, &joined, (&estimate.shoots, &zones))
}

/// How a map was made, as the table says it.
const fn method_word(method: Method) -> &'static str {
    match method {
        Method::None => "none",
        Method::Mean => "mean",
        Method::InverseDistance => "inverse distance",
        Method::Kriging => "kriging",
        Method::Given => "given",
    }
}

/// A root of a mean.
fn root_mean(sum: f64, number: usize) -> f64 {
    (sum / float(number.max(1))).sqrt()
}
