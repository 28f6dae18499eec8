//! Classes of thinning need: shoots a vine above or below its target, neutral at the target.
//!
//! Above is filled and darkens; below is open, so that a black-and-white print tells both apart.

use jiff::civil::Date;

use crate::{
    join::VineRecord,
    picture::{
        Caption,
        classes::{Class, Classes, Look},
        colours, words,
    },
    plan::{Evidence, Plan, TakeOff},
    units::ReadingUnits,
};

/// Half-widths of the neutral class, shoots a vine; the other limits are 3 and 6 times as far off.
const HALF_WIDTHS: [u32; 8] = [2, 3, 4, 5, 6, 8, 10, 15];

/// Classes of the need, shoots a vine by vine place; `None` when no vine has one.
pub(super) fn classes(
    needs: &[Option<f64>],
    records: &[VineRecord],
    (take_off, after): (TakeOff, Option<Frost>),
) -> Option<Classes> {
    let half = half_width(needs);
    let limits = [-3, -1, 1, 3, 6].map(|times| f64::from(times) * f64::from(half));
    let rungs: Vec<Option<usize>> = (needs.iter())
        .map(|need| need.map(|need| limits.iter().filter(|limit| need >= **limit).count()))
        .collect();
    let heading = "Shoots a vine, against its target".to_owned();
    let mut ladder = ladder(half, take_off);
    if after.is_some() {
        wait(&mut ladder);
    }
    let mut classes = Classes::new(heading, ladder, &rungs, records)?;
    classes.notes.push(note(after));
    Some(classes)
}

/// A frost after which nothing is planned until a recount, and how its day is written.
pub(super) type Frost = (Date, ReadingUnits);

/// Until the recount after a frost nobody thins by these classes.
fn wait(ladder: &mut [Class]) {
    for class in ladder {
        let open = matches!(class.look, Look::Open(_));
        let meaning = if open { "look for bud loss" } else { "recount first" };
        meaning.clone_into(&mut class.meaning);
    }
}

fn note(after: Option<Frost>) -> String {
    after.map_or_else(
        || {
            "Thin in the zones marked overcrowded: elsewhere the counts do not bear it out."
                .to_owned()
        },
        |(frost, units)| {
            format!(
                "After the frost of {} nothing is planned: a recount must tell primary from \
                 secondary shoots first.",
                words::date(frost, units)
            )
        },
    )
}

/// Shoots a vine above its aim by the surface, renewal shoots left aside; negative below it.
pub(super) fn needs(evidence: Evidence<'_>, plan: &Plan, caption: &Caption) -> Vec<Option<f64>> {
    let vines = evidence.estimate.shoots.vines.iter().zip(&plan.vines).zip(&evidence.joined.vines);
    vines
        .map(|((estimate, vine), record)| {
            let above = estimate.as_ref()?.surface_per_m - vine.target?.aim_per_m;
            Some(above * record.canopy_m - caption.renewal_shoots)
        })
        .collect()
}

/// The least half-width at which one vine in twenty or fewer is more than twice as far off as the
/// outermost limit.
fn half_width(needs: &[Option<f64>]) -> u32 {
    let mut sizes: Vec<f64> = needs.iter().flatten().map(|need| need.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let far = sizes.get(sizes.len() * 19 / 20).copied().unwrap_or(0.0);
    HALF_WIDTHS.into_iter().find(|half| far <= 12.0 * f64::from(*half)).unwrap_or(20)
}

fn ladder(half: u32, take_off: TakeOff) -> Vec<Class> {
    let [near, middle, far] = colours::above_target();
    let [below, far_below] = colours::below_target();
    let (three, six) = (3 * half, 6 * half);
    vec![
        Class::new(
            format!("under by {three} and more"),
            "take none off, look for bud loss",
            Look::Open(far_below),
        ),
        Class::new(format!("under by {half} to {three}"), "take none off", Look::Open(below)),
        Class::new(
            format!("at the target, {half} either way"),
            take_off.lightly(),
            Look::Solid(colours::NEUTRAL),
        ),
        Class::new(format!("over by {half} to {three}"), "thin last", Look::Solid(near)),
        Class::new(format!("over by {three} to {six}"), "thin next", Look::Solid(middle)),
        Class::new(format!("over by {six} and more"), "thin first", Look::Solid(far)),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn after_a_frost_no_class_says_to_thin() {
        let mut ladder = ladder(2, TakeOff::DoublesStay);
        assert!(ladder.iter().any(|class| class.meaning == "thin first"));
        wait(&mut ladder);
        assert!(ladder.iter().all(|class| !class.meaning.starts_with("thin")), "{ladder:?}");
        let note = note(Some((jiff::civil::date(2026, 5, 12), ReadingUnits::Metric)));
        assert!(note.contains("nothing is planned") && note.contains("2026"), "{note}");
    }

    #[test]
    fn classes_grow_with_the_need() {
        assert_eq!(half_width(&[Some(3.0), Some(-5.0), None]), 2);
        assert_eq!(half_width(&[Some(80.0), Some(70.0)]), 8);
        assert_eq!(half_width(&[]), 2);
    }
}
