//! The place of a record by its id, else by its numbers, else by its position.

use super::{
    FoundBy, Target, by_block, by_position, contradiction, name, places::Places, told::Told,
};
use crate::{
    counts::{Count, Position, Spot},
    finding::Finding,
    names::PlaceId,
};

/// A place and how it was found, or why there is none.
type Way = Result<(Target, FoundBy), String>;

/// The place of a record, or why it has none.
pub(super) fn find(places: &Places<'_>, count: &Count, told: &mut Told) -> Way {
    if let Some(reason) = other_block(places, count, told) {
        return Err(reason);
    }
    let mut failures = Vec::new();
    let names = [by_id(places, count, told), by_numbers(places, &count.spot)];
    for way in names.into_iter().flatten() {
        match way {
            Ok(found) => {
                contradiction::doubt(places, count, found, &failures, told);
                return Ok(found);
            }
            Err(reason) => failures.push(reason),
        }
    }
    match count.spot.position {
        Some(_) if failures.is_empty() => by_receiver(places, count, told),
        Some(position) => instead_of_name(places, count, position, failures, told),
        None if failures.is_empty() => Err(no_place(count.spot.row)),
        None => Err(failures.join("; ")),
    }
}

fn no_place(row: Option<u32>) -> String {
    match row {
        Some(row) => format!("names row {row} but neither vine nor panel"),
        None => "says no place: give id, or row and vine, or a position".to_owned(),
    }
}

fn by_receiver(places: &Places<'_>, count: &Count, told: &mut Told) -> Way {
    let position = count.spot.position.ok_or_else(|| no_place(count.spot.row))?;
    let target = by_position::find(places, count.spot.row, position)?;
    if matches!(target, Target::Panel(_)) {
        let finding = as_panel(places, count, target);
        told.push("were taken for whole panels by their position", finding);
    }
    Ok((target, FoundBy::Position))
}

/// A name that is wrong leaves the position alone to say where: then it must say the vine.
fn instead_of_name(
    places: &Places<'_>,
    count: &Count,
    position: Position,
    mut failures: Vec<String>,
    told: &mut Told,
) -> Way {
    match by_position::find(places, None, position) {
        Ok(target @ Target::Vine(_)) => {
            let found = (target, FoundBy::Position);
            contradiction::doubt(places, count, found, &failures, told);
            return Ok(found);
        }
        Ok(Target::Panel(_)) => failures.push("the position does not tell the vine".to_owned()),
        Err(reason) => failures.push(reason),
    }
    Err(failures.join("; "))
}

fn other_block(places: &Places<'_>, count: &Count, told: &mut Told) -> Option<String> {
    let (here, named) = (places.site.name.as_str(), count.block.as_deref()?.trim());
    if !named.is_empty() && by_block::plain(named) != by_block::plain(here) {
        return Some(format!("belongs to block `{named}`, not to `{here}`"));
    }
    if named.bytes().all(|byte| byte.is_ascii_digit()) && !named.is_empty() && named != here {
        let what = format!("block `{named}` is taken for `{here}`");
        let warning = Finding::warning(count.place.at_field("block"), what)
            .because("a spreadsheet takes the zeros off a number")
            .mend("format the column as text");
        told.push("name their block without its leading zeros", warning);
    }
    None
}

fn by_id(places: &Places<'_>, count: &Count, told: &mut Told) -> Option<Way> {
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
            let what = format!("`{text}` is taken for {id}");
            let why = "it is written without its leading zeros, or in other letters";
            let note = Finding::note(count.place.at_field("id"), what).because(why);
            told.push("have an id without its leading zeros or in other letters", note);
        }
    }
    Some(found.map(|target| (target, FoundBy::Id)).map_err(|why| format!("id `{text}`: {why}")))
}

/// The place that row and vine, or row, panel and place say.
pub(super) fn by_numbers(places: &Places<'_>, spot: &Spot) -> Option<Way> {
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
    use super::*;
    use crate::finding::Findings;
    use crate::join::field::{Field, on, on_panel, shoots, told};

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
}
