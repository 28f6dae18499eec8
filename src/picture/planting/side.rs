//! What stands beside the drawing: title block, legend, compass, tables.

use crate::{
    error::Error,
    maths::float,
    picture::{
        Colour, Mark, Outline, PaperPoint, Shape, Stroke,
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
            row_table::{row_table, rows_held},
            rows::{Sizes, sample_arrow, square},
        },
        words,
    },
};

/// Paper between two blocks of a column.
const APART_MM: f64 = 4.0;
/// Width of the symbols of the legend.
const SWATCH_MM: f64 = 11.0;

/// Everything beside the drawing, in the columns of its page. Without a placement only the heights
/// are right.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn columns(
    drawing: &Drawing<'_>,
    placement: Option<&Placement>,
    page: &Page,
) -> Result<Vec<Furniture>, Error> {
    let (number, own) = page.columns();
    Ok(distributed(blocks(drawing, placement, own)?, usize::from(number)))
}

/// Adds the table of all rows to the first column that has room for it; false when none has.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn add_rows(
    columns: &mut [Furniture],
    drawing: &Drawing<'_>,
    page: &Page,
) -> Result<bool, Error> {
    let (_, own) = page.columns();
    for (at, column) in (0..).zip(columns) {
        let room = page.column_height_mm(at) - column.height_mm - APART_MM;
        if rows_held([own, room]) >= float(drawing.rows.len()) {
            column.space(APART_MM);
            column.below(row_table(&drawing.rows, drawing.notes.units, own)?);
            return Ok(true);
        }
    }
    Ok(false)
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
fn ground(middle: PaperPoint, inset: f64, (fill, stroke): (Option<Colour>, Stroke)) -> Mark {
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
    for line in listed {
        let amount = words::amount(line.amount, drawing.notes.units);
        table.pair((&printable(&line.item), &printable(&amount)), SMALL, width)?;
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
        table.paragraph(&words, SMALL, (width, SOFT_INK))?;
        table.paragraph(&printable(&mark.place), SMALL, (width, INK))?;
    }
    table.paragraph(&printable(&drawing.notes.check_system), SMALL, (width, SOFT_INK))?;
    Ok(Some(table))
}
