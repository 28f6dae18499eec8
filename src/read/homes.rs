//! On which block a thing or a record belongs: the one it names, else those it lies on.

use geo::{BoundingRect, Contains, InterpolateLine, Intersects, MultiPolygon, Point};

use super::{keys::did_you_mean, role_features::Lying};
use crate::{
    block::Block,
    finding::{Finding, Findings, Place},
};

/// Gives a thing to the block that it names, or to those that it overlaps.
pub(super) fn place_on(blocks: &mut [Block], thing: Lying, place: &Place, findings: &mut Findings) {
    if blocks.is_empty() {
        return;
    }
    if let Some(name) = thing.block_named() {
        match blocks.iter().position(|block| block.name.as_str() == name) {
            Some(index) => thing.put_on(&mut blocks[index]),
            None => findings.push(no_such_block(name, blocks, place)),
        }
        return;
    }
    let targets = overlapped(blocks, &thing);
    if targets.is_empty() {
        tell_outside(blocks, thing, place, findings);
        return;
    }
    for index in targets {
        thing.clone().put_on(&mut blocks[index]);
    }
}

/// A finding for a name that no block has.
fn no_such_block(name: &str, blocks: &[Block], place: &Place) -> Finding {
    let names: Vec<&str> = blocks.iter().map(|block| block.name.as_str()).collect();
    let mend = did_you_mean(name, &names)
        .unwrap_or_else(|| format!("the blocks are {}", names.join(", ")));
    Finding::fault(place.at_field("block"), format!("there is no block \"{name}\"")).mend(mend)
}

fn overlapped(blocks: &[Block], thing: &Lying) -> Vec<usize> {
    let touching = |block: &Block| match thing {
        Lying::KeepOut(keep_out, _) => meets(&block.outline, &keep_out.shape),
        Lying::Zone(zone, _) => meets(&block.outline, &MultiPolygon::from(zone.shape.clone())),
        Lying::RowLine(row_line, _) => block.outline.intersects(&row_line.line),
        Lying::Control(control, _) => {
            block.outline.contains(&Point::new(control.at.lon(), control.at.lat()))
        }
    };
    let mut found: Vec<usize> =
        (0..blocks.len()).filter(|index| touching(&blocks[*index])).collect();
    if let Lying::RowLine(row_line, _) = thing
        && found.len() > 1
    {
        // A row belongs to one block: to the one that its middle stands on.
        let middle = geo::Euclidean.point_at_ratio_from_start(&row_line.line, 0.5);
        let home = found
            .iter()
            .copied()
            .find(|index| middle.is_some_and(|middle| blocks[*index].outline.intersects(&middle)));
        found = vec![home.unwrap_or(found[0])];
    }
    found
}

fn meets(outline: &MultiPolygon<f64>, shape: &MultiPolygon<f64>) -> bool {
    let boxes = outline.bounding_rect().zip(shape.bounding_rect());
    boxes.is_some_and(|(one, other)| one.intersects(&other)) && outline.intersects(shape)
}

/// Off every block: survey points serve all of them, the rest belongs to a lone block.
fn tell_outside(blocks: &mut [Block], thing: Lying, place: &Place, findings: &mut Findings) {
    if matches!(thing, Lying::Control(..)) {
        for block in blocks {
            thing.clone().put_on(block);
        }
        return;
    }
    let what = format!("a {} lies off every block", thing.role().word());
    let finding = Finding::warning(place.clone(), what);
    if let [block] = blocks {
        findings.push(finding.because("it is kept for the only one"));
        thing.put_on(block);
    } else {
        findings.push(finding.because("it is left out").mend("name its block with \"block\""));
    }
}

/// The block that a record names, or the only one.
pub(super) fn home(
    name: Option<&str>,
    blocks: &[Block],
    place: &Place,
    findings: &mut Findings,
) -> Option<usize> {
    match name {
        Some(name) => {
            let found = blocks.iter().position(|block| block.name.as_str() == name.trim());
            if found.is_none() && !blocks.is_empty() {
                findings.push(no_such_block(name, blocks, place));
            }
            found
        }
        None if blocks.len() == 1 => Some(0),
        None => {
            if !blocks.is_empty() {
                let what = "no block is named, where there are several";
                findings.push(
                    Finding::fault(place.at_field("block"), what)
                        .mend("add a `block` to every record"),
                );
            }
            None
        }
    }
}
