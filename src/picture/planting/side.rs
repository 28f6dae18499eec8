//! What stands beside the drawing: title block, legend, compass, tables.

use crate::{
    error::Error,
    maths::float,
    picture::{
        Anchor, Hand, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{INK, KEPT_OUT, RULE, SOFT_INK},
        compass,
        furniture::{Furniture, HEADING, SMALL},
        lettering::{printable, width_mm},
        map::Placement,
        page::Page,
        planting::{
            callouts::check_point,
            drawing::Drawing,
            facts::facts,
            ground::{AROUND, INNER, KEPT_CLEAR},
            rows::{Sizes, sample_arrow, square},
        },
        words,
    },
};

/// Lettering of the table of rows.
const ROW_HAND: Hand = Hand { size_mm: 2.8, bold: false };
/// Height of a line of it.
const ROW_LINE_MM: f64 = 3.7;
/// Width of one run of it, and paper between two.
const ROW_WIDTH_MM: f64 = 24.0;
const ROW_APART_MM: f64 = 3.0;
/// Width of the symbols of the legend.
const SWATCH_MM: f64 = 11.0;

/// Everything beside the drawing, in the columns of its page; the table of rows where it has room.
/// Without a placement only the heights are right, without that table.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn columns(
    drawing: &Drawing<'_>,
    placement: Option<&Placement>,
    page: &Page,
) -> Result<Vec<Furniture>, Error> {
    let (number, own) = page.columns();
    let blocks = blocks(drawing, placement, own)?;
    let mut columns = distributed(blocks, usize::from(number));
    if placement.is_some() {
        for (at, column) in (0..).zip(&mut columns) {
            let room = page.column_height_mm(at) - column.height_mm - 4.0;
            if let Some(table) = row_table(drawing, [own, room])? {
                column.space(4.0);
                column.below(table);
                break;
            }
        }
    }
    Ok(columns)
}

fn blocks(
    drawing: &Drawing<'_>,
    placement: Option<&Placement>,
    own: f64,
) -> Result<Vec<Furniture>, Error> {
    let read = (drawing.notes.units, drawing.notes.paper);
    let compass = placement.map_or_else(compass::room_for_compass, |placement| {
        compass::compass_and_bar(placement, read, own)
    });
    let mut blocks = vec![title_block(drawing, own)?, legend(drawing, placement, own)?, compass];
    blocks.extend(materials(drawing, own)?);
    blocks.extend(check_points(drawing, own)?);
    Ok(blocks)
}

/// Blocks in their order over so many columns, the tallest as low as can be.
fn distributed(blocks: Vec<Furniture>, number: usize) -> Vec<Furniture> {
    const APART_MM: f64 = 4.0;
    let heights: Vec<f64> = blocks.iter().map(|block| block.height_mm + APART_MM).collect();
    let mut limits: Vec<f64> = (0..heights.len())
        .flat_map(|from| (from..heights.len()).map(move |to| (from, to)))
        .map(|(from, to)| heights[from..=to].iter().sum())
        .collect();
    limits.sort_by(f64::total_cmp);
    let fits = |limit: &f64| columns_needed(&heights, *limit).is_some_and(|all| all <= number);
    let limit = limits.into_iter().find(fits).unwrap_or(f64::INFINITY);
    let mut columns = vec![Furniture::default()];
    for block in blocks {
        let last = columns.last().map_or(0.0, |column| column.height_mm);
        if last > 0.0 && last + APART_MM + block.height_mm > limit - APART_MM + 1e-9 {
            columns.push(Furniture::default());
        }
        if let Some(column) = columns.last_mut() {
            if column.height_mm > 0.0 {
                column.space(APART_MM);
            }
            column.below(block);
        }
    }
    columns.resize(number.max(columns.len()), Furniture::default());
    columns
}

/// Columns no taller than a limit that some heights take one after the other.
fn columns_needed(heights: &[f64], limit: f64) -> Option<usize> {
    let (mut number, mut filled) = (1, 0.0);
    for height in heights {
        if *height > limit + 1e-9 {
            return None;
        }
        if filled + height > limit + 1e-9 {
            number += 1;
            filled = 0.0;
        }
        filled += height;
    }
    Some(number)
}

fn title_block(drawing: &Drawing<'_>, width: f64) -> Result<Furniture, Error> {
    let mut block = Furniture::default();
    for (what, value) in facts(drawing) {
        let whole = width_mm(what, SMALL)? + width_mm(&value, SMALL)? + SMALL.size_mm;
        if whole <= width {
            block.pair((what, &value), SMALL, width)?;
        } else {
            block.paragraph(&format!("{what}: {value}"), SMALL, (width, INK))?;
            block.space(0.2);
        }
    }
    Ok(block)
}

fn legend(
    drawing: &Drawing<'_>,
    placement: Option<&Placement>,
    width: f64,
) -> Result<Furniture, Error> {
    let sizes = Sizes::at(drawing, placement);
    let mut legend = Furniture::default();
    kept_clear_row(&mut legend, drawing, width)?;
    if !drawing.site.keep_outs.is_empty() {
        let middle = legend.explained(
            "not planted, and the ground kept clear around it",
            SWATCH_MM,
            width,
        )?;
        legend.marks.push(ground(
            middle,
            1.0,
            (Some(KEPT_OUT), Stroke { colour: RULE, width_mm: 0.25, dash_mm: None }),
        ));
        legend.marks.push(ground(middle, 0.0, (None, AROUND)));
    }
    let middle =
        legend.explained("vine 1 of row 1, and the way vine numbers grow", SWATCH_MM, width)?;
    legend.marks.extend(sample_arrow(at(middle, -4.5), [1.0, 0.0], 9.0));
    posts_rows(&mut legend, &sizes, width)?;
    if !drawing.notes.check_points.is_empty() {
        let middle = legend.explained("check point", SWATCH_MM, width)?;
        legend.marks.extend(check_point(middle));
    }
    let told = format!(
        "At the ends of rows: number · length in {} from end post to end post, gaps left out.",
        words::unit(drawing.notes.units)
    );
    legend.paragraph(&told, SMALL, (width, SOFT_INK))?;
    Ok(legend)
}

fn kept_clear_row(legend: &mut Furniture, drawing: &Drawing<'_>, width: f64) -> Result<(), Error> {
    let units = drawing.notes.units;
    let [headland, side] = drawing.margins().map(|clear| words::clear(clear, units));
    if drawing.margins().iter().all(|clear| clear.metres() <= 0.0) {
        return Ok(());
    }
    let from = if drawing.has_anchors() { "anchors" } else { "end posts" };
    let told = format!("kept clear: headland {headland} ahead of the {from}, side margin {side}");
    let middle = legend.explained(&told, SWATCH_MM, width)?;
    legend.marks.push(ground(middle, 0.0, (Some(KEPT_CLEAR), INNER)));
    Ok(())
}

fn posts_rows(legend: &mut Furniture, sizes: &Sizes, width: f64) -> Result<(), Error> {
    let shape = |outline, fill, width_mm| {
        let stroke = Some(Stroke { colour: INK, width_mm, dash_mm: None });
        Mark::Shape(Shape { outlines: vec![outline], fill, stroke })
    };
    let middle = legend.explained("end post", SWATCH_MM, width)?;
    legend.marks.push(shape(square(middle, sizes.end_post.max(1.1)), Some(INK), 0.0));
    if let Some(radius) = sizes.anchor {
        let middle = legend.explained("anchor", SWATCH_MM, width)?;
        let disc = Outline::Disc { centre: middle, radius_mm: radius.max(0.6) };
        legend.marks.push(shape(disc, None, 0.15));
    }
    if let Some(reach) = sizes.line_post {
        let middle = legend.explained("line post", SWATCH_MM, width)?;
        let reach = reach.max(0.8);
        let ends = [-reach, reach].map(|side| PaperPoint::new(middle.x_mm, middle.y_mm + side));
        legend.marks.push(shape(Outline::Line(ends.to_vec()), None, 0.2));
    }
    if let Some(radius_mm) = sizes.vine {
        let middle = legend.explained("vine", SWATCH_MM, width)?;
        let discs = [-3.0, 0.0, 3.0].map(|x| Outline::Disc { centre: at(middle, x), radius_mm });
        let outlines = discs.to_vec();
        legend.marks.push(Mark::Shape(Shape { outlines, fill: Some(INK), stroke: None }));
    }
    Ok(())
}

fn at(middle: PaperPoint, x: f64) -> PaperPoint {
    PaperPoint::new(middle.x_mm + x, middle.y_mm)
}

/// A piece of ground around a place, drawn in by so much.
fn ground(
    middle: PaperPoint,
    inset: f64,
    (fill, stroke): (Option<crate::picture::Colour>, Stroke),
) -> Mark {
    let (x, y) = (SWATCH_MM / 2.0 - 1.0 - inset, 1.8 - 0.7 * inset);
    let corners = [(-x, -y), (x, -y), (x, y), (-x, y)];
    let ring = corners.map(|(x, y)| PaperPoint::new(middle.x_mm + x, middle.y_mm + y));
    let outlines = vec![Outline::Ring(ring.to_vec())];
    Mark::Shape(Shape { outlines, fill, stroke: Some(stroke) })
}

fn materials(drawing: &Drawing<'_>, width: f64) -> Result<Option<Furniture>, Error> {
    let listed = &drawing.notes.materials;
    if listed.is_empty() {
        return Ok(None);
    }
    let mut table = Furniture::default();
    table.paragraph("Materials", HEADING, (width, INK))?;
    for (what, amount) in listed {
        table.pair((&printable(what), &printable(amount)), SMALL, width)?;
    }
    Ok(Some(table))
}

fn check_points(drawing: &Drawing<'_>, width: f64) -> Result<Option<Furniture>, Error> {
    let marks = &drawing.notes.check_points;
    if marks.is_empty() {
        return Ok(None);
    }
    let mut table = Furniture::default();
    table.paragraph("Check points", HEADING, (width, INK))?;
    for mark in marks {
        let words = format!("{}: {}", printable(&mark.name), printable(&mark.words));
        table.paragraph(&words, SMALL, (width, INK))?;
    }
    Ok(Some(table))
}

/// Every row with its vines and its length; `None` where that many have no room.
fn row_table(drawing: &Drawing<'_>, [width, height]: [f64; 2]) -> Result<Option<Furniture>, Error> {
    let head = 2.0 * ROW_LINE_MM;
    let lines = ((height - head) / ROW_LINE_MM).floor();
    let runs = ((width + ROW_APART_MM) / (ROW_WIDTH_MM + ROW_APART_MM)).floor();
    if lines < 1.0 || lines * runs < float(drawing.rows.len()) {
        return Ok(None);
    }
    // As even as the runs allow.
    let deep = (float(drawing.rows.len()) / runs).ceil();
    let mut table = Furniture::default();
    table.paragraph("Rows", HEADING, (width, INK))?;
    let top = table.height_mm;
    let (mut run, mut line) = (0.0, 0.0);
    for row in &drawing.rows {
        let length = words::row_length(row.length_m, drawing.notes.units);
        let left = run * (ROW_WIDTH_MM + ROW_APART_MM);
        table.height_mm = top + line * ROW_LINE_MM;
        if line < 0.5 {
            let unit = words::unit(drawing.notes.units);
            row_line(&mut table, left, ["row", "vines", unit], SOFT_INK);
            line = 1.0;
            table.height_mm = top + ROW_LINE_MM;
        }
        let cells = [row.number.to_string(), words::grouped(row.vines), length];
        row_line(&mut table, left, cells.each_ref().map(String::as_str), INK);
        line += 1.0;
        if line > deep + 0.5 {
            (run, line) = (run + 1.0, 0.0);
        }
    }
    table.height_mm = top + (deep + 1.0) * ROW_LINE_MM;
    Ok(Some(table))
}

fn row_line(table: &mut Furniture, left: f64, cells: [&str; 3], colour: crate::picture::Colour) {
    let ends = [6.0, 14.0, ROW_WIDTH_MM];
    for (cell, end) in cells.into_iter().zip(ends) {
        let base = 1.05 * ROW_HAND.size_mm;
        table.letter((left + end, base), cell, ROW_HAND, (Anchor::End, colour));
    }
}
