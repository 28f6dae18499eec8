//! The place of a record by its id, else by its numbers, else by its position.

use super::{FoundBy, Target, by_position, name, places::Places, told::Told};
use crate::{
    counts::{Count, Spot},
    finding::Finding,
    names::PlaceId,
};

/// The place of a record, or why it has none.
pub(super) fn find(
    places: &Places<'_>,
    count: &Count,
    told: &mut Told,
) -> Result<(Target, FoundBy), String> {
    if let Some(reason) = other_block(places, count) {
        return Err(reason);
    }
    let spot = &count.spot;
    let ways: [Option<Result<(Target, FoundBy), String>>; 2] =
        [by_id(places, count, told), by_numbers(places, spot)];
    let mut failures: Vec<String> = Vec::new();
    for way in ways.into_iter().flatten() {
        match way {
            Ok(found) => {
                doubt_contradiction(places, count, found, &failures, told);
                return Ok(found);
            }
            Err(reason) => failures.push(reason),
        }
    }
    let Some(position) = spot.position else {
        failures.push(match (spot.row, failures.is_empty()) {
            (Some(row), true) => format!("names row {row} but neither vine nor panel"),
            (None, true) => "says no place: give id, or row and vine, or a position".to_owned(),
            _ => return Err(failures.join("; ")),
        });
        return Err(failures.join("; "));
    };
    // A name that is wrong leaves the position alone to say where: then it must say the vine.
    match by_position::find(places, spot.row.filter(|_| failures.is_empty()), position) {
        Ok(target @ Target::Panel(_)) if failures.is_empty() => {
            told.push(
                "were taken for whole panels by their position",
                as_panel(places, count, target),
            );
            Ok((target, FoundBy::Position))
        }
        Ok(Target::Panel(_)) => Err(failures.join("; ")),
        Ok(target) => {
            doubt_contradiction(places, count, (target, FoundBy::Position), &failures, told);
            Ok((target, FoundBy::Position))
        }
        Err(reason) => {
            failures.push(reason);
            Err(failures.join("; "))
        }
    }
}

fn other_block(places: &Places<'_>, count: &Count) -> Option<String> {
    let (here, named) = (places.site.name.as_str(), count.block.as_deref()?.trim());
    let plain = |name: &str| name.split_whitespace().collect::<String>().to_lowercase();
    let other = !named.is_empty() && plain(named) != plain(here);
    other.then(|| format!("belongs to block `{named}`, not to `{here}`"))
}

fn by_id(
    places: &Places<'_>,
    count: &Count,
    told: &mut Told,
) -> Option<Result<(Target, FoundBy), String>> {
    let text = count.spot.id.as_deref().map(str::trim).filter(|text| !text.is_empty())?;
    let found = match text.parse() {
        Ok(PlaceId::Vine { row, vine }) => places.vine(row, vine),
        Ok(PlaceId::Panel { row, panel }) => match count.spot.place {
            Some(place) => places.in_panel(row, panel, place),
            None => places.panel(row, panel),
        },
        Err(refusal) => Err(refusal.to_string()),
    };
    if let (Ok(target), None) = (&found, count.spot.place) {
        let id = name(places.layout, *target);
        if id != text {
            let note =
                Finding::note(count.place.at_field("id"), format!("`{text}` is taken for {id}"));
            told.push("have an id without its leading zeros or in other letters", note);
        }
    }
    Some(found.map(|target| (target, FoundBy::Id)).map_err(|why| format!("id `{text}`: {why}")))
}

fn by_numbers(places: &Places<'_>, spot: &Spot) -> Option<Result<(Target, FoundBy), String>> {
    let row = spot.row?;
    match (spot.vine, spot.panel, spot.place) {
        (Some(vine), _, _) => {
            Some(places.vine(row, vine).map(|target| (target, FoundBy::RowAndVine)))
        }
        (None, Some(panel), Some(place)) => {
            let found = places.in_panel(row, panel, place);
            Some(found.map(|target| (target, FoundBy::RowAndVine)))
        }
        (None, Some(panel), None) => {
            Some(places.panel(row, panel).map(|target| (target, FoundBy::Panel)))
        }
        (None, None, _) => None,
    }
}

/// Warns when the record also says something else about where it is.
fn doubt_contradiction(
    places: &Places<'_>,
    count: &Count,
    (target, how): (Target, FoundBy),
    failures: &[String],
    told: &mut Told,
) {
    let here = name(places.layout, target);
    let otherwise = match failures.first() {
        Some(failure) => Some(failure.clone()),
        None if how == FoundBy::Id => by_numbers(places, &count.spot).and_then(|way| match way {
            Ok((other, _)) if same_place(places, target, other) => None,
            Ok((other, _)) => Some(format!("its numbers say {}", name(places.layout, other))),
            Err(reason) => Some(reason),
        }),
        None => None,
    };
    if let Some(otherwise) = otherwise {
        let what = format!("the record is taken for {here}, but {otherwise}");
        let warning = Finding::warning(count.place.clone(), what)
            .because("the id counts before row and vine, and these before the position")
            .mend("correct the one that is wrong");
        told.push("contradict themselves about their place", warning);
    }
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

fn as_panel(places: &Places<'_>, count: &Count, target: Target) -> Finding {
    let what = format!(
        "the position tells {} but no vine: the record is taken for the whole panel",
        name(places.layout, target)
    );
    Finding::warning(count.place.clone(), what)
        .because("a vine is told only by a position better than a quarter of the vine spacing")
        .mend("if one vine was counted, give its `vine` or its `place` in the panel")
}

#[cfg(test)]
mod tests {
    use super::super::field::{Field, on, on_panel, shoots, told};
    use super::*;
    use crate::finding::Findings;

    fn with_id(id: &str) -> Count {
        Count { spot: Spot { id: Some(id.to_owned()), ..Spot::default() }, ..shoots(20) }
    }

    #[track_caller]
    fn joins(count: Count, how: FoundBy, vines: &[usize]) -> Findings {
        let (joined, findings) = Field::new().join(&[count]);
        assert!(joined.unjoined.is_empty(), "{:?}", joined.unjoined);
        assert_eq!((joined.records[0].how, &joined.records[0].vines[..]), (how, vines));
        findings
    }

    #[track_caller]
    fn stays_out(count: Count, words: &str) {
        let (joined, _) = Field::new().join(&[count]);
        assert!(joined.unjoined[0].reason.contains(words), "{}", joined.unjoined[0].reason);
    }

    #[test]
    fn ids_are_found_even_without_their_zeros() {
        assert!(joins(with_id("R002V003"), FoundBy::Id, &[10]).is_empty());
        assert_eq!(told(&joins(with_id(" r2v3 "), FoundBy::Id, &[10]), "taken for R002V003"), 1);
        joins(with_id("R002P02"), FoundBy::Id, &[12, 13, 14, 15]);
        stays_out(with_id("R002V009"), "row 2 has vines 1 to 8, not 9");
        stays_out(with_id("R004V001"), "row 4 is not in this block, which has rows 1 to 3");
        stays_out(with_id("2-Jan"), "is no id");
    }

    #[test]
    fn numbers_are_found_next() {
        joins(on(3, 8, 20), FoundBy::RowAndVine, &[23]);
        joins(on_panel(3, 2, 90), FoundBy::Panel, &[20, 21, 22, 23]);
        let mut second = on_panel(3, 2, 20);
        second.spot.place = Some(2);
        joins(second.clone(), FoundBy::RowAndVine, &[21]);
        second.spot.place = Some(5);
        stays_out(second.clone(), "places 1 to 4, not 5");
        second.spot.place = Some(0);
        stays_out(second, "places 1 to 4, not 0");
        stays_out(on(3, 0, 20), "not 0");
        let mut row = on(3, 1, 20);
        row.spot.vine = None;
        stays_out(row, "names row 3 but neither vine nor panel");
        stays_out(shoots(20), "says no place");
    }

    #[test]
    fn a_record_that_contradicts_itself_is_told() {
        let mut count = on(3, 8, 20);
        count.spot.id = Some("R001V001".to_owned());
        let findings = joins(count.clone(), FoundBy::Id, &[0]);
        assert_eq!(told(&findings, "its numbers say R003V008"), 1, "{findings:?}");
        count.spot.id = Some("R009V001".to_owned());
        let findings = joins(count.clone(), FoundBy::RowAndVine, &[23]);
        assert_eq!(told(&findings, "row 9 is not in this block"), 1, "{findings:?}");
        count.spot.id = Some("R003P02".to_owned());
        assert!(joins(count, FoundBy::Id, &[20, 21, 22, 23]).is_empty());
    }
}
