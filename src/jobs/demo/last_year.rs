//! What the crew counted on the invented estate a year before: other vines, the same ground, and a
//! spring in which it was otherwise.

use super::{
    blocks::{LONG_RIGG, SOUTH_BRAE, TARN_FIELD},
    choice::choose,
    field_book::{Field, Habits},
    records::Record,
    truth::{Bump, Profile, truth, whole},
};
use crate::{layout::Layout, maths::random::Random};

/// The day of the counts.
const BEFORE: &str = "2025-06-12";
/// How far one look at a vine is off, as a share of its shoots.
const OBSERVER_SHARE: f64 = 0.02;

/// The low corner had only begun to crowd; the dry crown was as it is.
const SOUTH_BRAE_BUMPS: &[Bump] = &[
    Bump { at: [0.08, 0.12], reach_m: 22.0, height_per_m: 5.5 },
    Bump { at: [0.72, 0.7], reach_m: 19.0, height_per_m: -6.0 },
];

/// The ground of a block as it was then; `None` for a block of another estate.
fn profile_then(now: &Profile) -> Option<Profile> {
    let (shoots_per_m, bumps) = match now.name {
        SOUTH_BRAE => (now.shoots_per_m, SOUTH_BRAE_BUMPS),
        // A warm spring after little frost: more buds broke all over.
        TARN_FIELD => (now.shoots_per_m.map(|level| level + 2.0), now.bumps),
        LONG_RIGG => (now.shoots_per_m, now.bumps),
        _ => return None,
    };
    Some(Profile { shoots_per_m, bumps, ..*now })
}

/// The counts of that year, in walking order; whole panels last.
pub(super) fn counts(habits: &Habits, layout: &Layout) -> Vec<Record> {
    let now = &habits.profile;
    let Some(then) = profile_then(now) else { return Vec::new() };
    let mut random = Random::new(now.seed + 7);
    let choice = choose(layout, habits.missing, now.seed + 6);
    let field = Field { habits, layout, truth: truth(&then, layout), choice };
    let singles = field.choice.singles.iter().map(|&vine| {
        let look = 1.0 + OBSERVER_SHARE * random.normal();
        let seen = whole(f64::from(field.truth[vine].shoots) * look);
        field.visit(BEFORE, "before", field.named(vine)).with("shoots", seen)
    });
    let mut records: Vec<Record> = singles.collect();
    records.extend(field.choice.panels.iter().map(|&panel| {
        let vines = layout.panels[panel].vines.clone();
        let shoots: u32 = vines.map(|vine| field.truth[vine].shoots).sum();
        field.visit(BEFORE, "before", field.named_panel(panel)).with("shoots", shoots)
    }));
    records
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::demo::{estate::LaidOut, estate::last_year_file, support::grid};

    #[test]
    fn about_forty_places_a_block_and_fewer_shoots_in_the_low_corner() {
        let layouts = [grid(27, 80), grid(34, 95), grid(30, 120)];
        let names = [SOUTH_BRAE, TARN_FIELD, LONG_RIGG];
        let blocks: Vec<LaidOut<'_>> =
            names.iter().zip(&layouts).map(|(name, layout)| LaidOut { name, layout }).collect();
        let text = last_year_file(&blocks).text;
        assert_eq!(text, last_year_file(&blocks).text);
        for name in names {
            let lines = text.lines().filter(|line| line.starts_with(name)).count();
            assert!((38..=44).contains(&lines), "{name}: {lines}");
        }
        assert!(text.lines().skip(1).all(|line| line.contains(BEFORE)));
    }
}
