//! Records that say two things about where they are.

use super::{FoundBy, Target, by_name::by_numbers, name, places::Places, told::Told};
use crate::{
    counts::{Count, Spot},
    finding::Finding,
};

/// A position this many times its accuracy, and a row, from the place named is no mere error of the
/// receiver.
const TIMES_ACCURACY: f64 = 3.0;

/// Warns when the record also says that it is somewhere else. `failures` are the ways by which it
/// was not found.
pub(super) fn doubt(
    places: &Places<'_>,
    count: &Count,
    (target, how): (Target, FoundBy),
    failures: &[String],
    told: &mut Told,
) {
    let otherwise = failures
        .first()
        .cloned()
        .or_else(|| other_numbers(places, &count.spot, target, how))
        .or_else(|| other_position(places, &count.spot, target));
    if let Some(otherwise) = otherwise {
        let here = name(places.layout, target);
        let what = format!("the record is taken for {here}, but {otherwise}");
        let warning = Finding::warning(count.place.clone(), what)
            .because("the id counts before row and vine, and these before the position")
            .mend("correct the one that is wrong");
        told.push("contradict themselves about their place", warning);
    }
}

/// What the numbers say, when the id, or the vine's number, says something else.
fn other_numbers(places: &Places<'_>, spot: &Spot, target: Target, how: FoundBy) -> Option<String> {
    let without_vine = Spot { vine: None, ..spot.clone() };
    let said = match how {
        FoundBy::Id => by_numbers(places, spot).or_else(|| by_numbers(places, &without_vine)),
        FoundBy::RowAndVine => by_numbers(places, &without_vine),
        FoundBy::Panel | FoundBy::Position => None,
    };
    match said? {
        Ok((other, _)) if same_place(places, target, other) => None,
        Ok((other, _)) => Some(format!("its numbers say {}", name(places.layout, other))),
        Err(reason) => Some(reason),
    }
}

/// How far off the position is, when that is more than a receiver errs.
fn other_position(places: &Places<'_>, spot: &Spot, target: Target) -> Option<String> {
    let position = spot.position?;
    let at = places.site.frame.to_row(position.at);
    let vines = match target {
        Target::Vine(vine) => vine..vine + 1,
        Target::Panel(panel) => places.layout.panels[panel].vines.clone(),
    };
    let off_m = places.layout.vines[vines]
        .iter()
        .map(|vine| (vine.at.along_m - at.along_m).hypot(vine.at.across_m - at.across_m))
        .min_by(f64::total_cmp)?;
    let row_m = places.site.rules.row_spacing.metres();
    let far = off_m > TIMES_ACCURACY * position.accuracy.metres() + row_m;
    far.then(|| format!("its position lies {off_m:.0} m away"))
}

/// True when both are the same, or one is a vine of the other's panel.
fn same_place(places: &Places<'_>, one: Target, other: Target) -> bool {
    let panel_of = |target| match target {
        Target::Vine(vine) => places.layout.vines[vine].panel,
        Target::Panel(panel) => panel,
    };
    match (one, other) {
        (Target::Vine(a), Target::Vine(b)) => a == b,
        _ => panel_of(one) == panel_of(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::join::field::{Field, on, told};

    #[track_caller]
    fn check(count: Count, vine: usize, words: &str) {
        let (joined, findings) = Field::new().join(&[count]);
        assert_eq!(joined.records[0].vines[0], vine);
        let doubts = usize::from(!words.is_empty());
        assert_eq!(
            (told(&findings, words), findings.iter().count()),
            (doubts, doubts),
            "{findings:?}"
        );
    }

    fn with_id(id: &str) -> Count {
        let mut count = on(3, 8, 20);
        count.spot.id = Some(id.to_owned());
        count
    }

    #[test]
    fn the_id_counts_before_the_numbers() {
        check(with_id("R001V001"), 0, "its numbers say R003V008");
        check(with_id("R009V001"), 23, "row 9 is not in this block");
        check(with_id("R003P02"), 20, "");
        check(with_id("R003V008"), 23, "");
    }

    #[test]
    fn the_vine_counts_before_the_panel() {
        let mut count = on(3, 8, 20);
        count.spot.panel = Some(1);
        check(count.clone(), 23, "its numbers say R003P01");
        count.spot.panel = Some(2);
        check(count.clone(), 23, "");
        count.spot.place = Some(4);
        check(count.clone(), 23, "");
        count.spot.place = Some(3);
        check(count, 23, "its numbers say R003V007");
    }

    #[test]
    fn a_position_far_from_the_place_named_is_told() {
        let field = Field::new();
        let mut count = on(3, 8, 20);
        count.spot.position = field.at(9.0, 5.0, 5.0).spot.position;
        check(count.clone(), 23, "");
        count.spot.position = field.at(9.0, 205.0, 5.0).spot.position;
        check(count, 23, "its position lies 200 m away");
    }
}
