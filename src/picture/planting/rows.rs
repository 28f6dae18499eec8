//! Rows on a planting plan: lines, posts, anchors, vines where they have room, where numbers begin.

use crate::{
    block::VineOne,
    layout::PostKind,
    picture::{
        Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{INK, PAPER, RULE, SOFT_INK},
        map::Placement,
        planting::drawing::{Drawing, RowEnd, path},
    },
};

/// How large things are drawn at a scale, millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sizes {
    /// From row to row.
    pub(super) row_gap: f64,
    /// Radius of a vine; `None` where there is no room for all.
    pub(super) vine: Option<f64>,
    /// Side of an end post.
    pub(super) end_post: f64,
    /// Half the length of a line post's tick; `None` where they have no room.
    pub(super) line_post: Option<f64>,
    /// Radius of an anchor; `None` where there are none.
    pub(super) anchor: Option<f64>,
}

/// A vine is drawn as a dot of this diameter or more.
const LEAST_VINE_MM: f64 = 0.8;

impl Sizes {
    /// What the scale leaves room for; the fullest without one.
    pub(super) fn at(drawing: &Drawing<'_>, placement: Option<&Placement>) -> Self {
        let rules = &drawing.site.rules;
        let mm = |metres: f64| placement.map_or(10.0 * metres, |placement| placement.mm(metres));
        let (row_gap, vine_gap) = (mm(rules.row_spacing.metres()), mm(rules.vine_spacing.metres()));
        let panel = vine_gap * f64::from(rules.vines_per_panel);
        let vine = (0.3 * vine_gap.min(row_gap)).min(0.9);
        let post = (0.42 * row_gap).clamp(0.3, 1.3);
        let line_posts =
            drawing.layout.quantities.posts_line > 0 && panel.min(1.4 * row_gap) >= 2.4;
        Self {
            row_gap,
            vine: (2.0 * vine >= LEAST_VINE_MM).then_some(vine),
            end_post: post,
            line_post: line_posts.then_some(0.6 * post),
            anchor: drawing.has_anchors().then_some((0.45 * post).max(0.25)),
        }
    }

    fn row_line(&self) -> Stroke {
        let width_mm = (0.12 * self.row_gap).clamp(0.1, 0.25);
        let colour = if self.vine.is_some() { RULE } else { SOFT_INK };
        Stroke { colour, width_mm, dash_mm: None }
    }
}

/// All rows with what stands in them.
pub(super) fn rows(drawing: &Drawing<'_>, placement: &Placement, sizes: &Sizes) -> Vec<Mark> {
    let layout = drawing.layout;
    let lines = layout
        .pieces
        .iter()
        .map(|piece| Outline::Line(path(piece).map(|at| placement.point(at)).collect()));
    let mut marks = vec![stroked(lines.collect(), sizes.row_line())];
    marks.extend(sizes.anchor.map(|radius| tied_back(drawing, placement, radius)));
    marks.extend(sizes.line_post.map(|reach| line_posts(drawing, placement, reach)));
    if let Some(radius_mm) = sizes.vine {
        let discs = layout
            .vines
            .iter()
            .map(|vine| Outline::Disc { centre: placement.point(vine.at), radius_mm });
        marks.push(filled(discs.collect()));
    }
    let posts = layout.posts.iter().filter(|post| post.kind == PostKind::End);
    marks
        .push(filled(posts.map(|post| square(placement.point(post.at), sizes.end_post)).collect()));
    marks.extend(first_vines(drawing, placement, sizes));
    marks
}

fn stroked(outlines: Vec<Outline>, stroke: Stroke) -> Mark {
    Mark::Shape(Shape { outlines, fill: None, stroke: Some(stroke) })
}

fn filled(outlines: Vec<Outline>) -> Mark {
    Mark::Shape(Shape { outlines, fill: Some(INK), stroke: None })
}

/// A square around a place.
pub(super) fn square(middle: PaperPoint, side: f64) -> Outline {
    let half = side / 2.0;
    let corners = [(-half, -half), (half, -half), (half, half), (-half, half)];
    let corner = |(x, y)| PaperPoint::new(middle.x_mm + x, middle.y_mm + y);
    Outline::Ring(corners.map(corner).to_vec())
}

/// Anchors with the line to their end post.
fn tied_back(drawing: &Drawing<'_>, placement: &Placement, radius_mm: f64) -> Mark {
    let posts = &drawing.layout.posts;
    let anchors = posts.iter().filter(|post| post.kind == PostKind::Anchor);
    let mut outlines = Vec::new();
    for anchor in anchors {
        let at = placement.point(anchor.at);
        let away = |other: PaperPoint| (other.x_mm - at.x_mm).hypot(other.y_mm - at.y_mm);
        let ends = drawing.layout.pieces.get(anchor.piece).map(|piece| {
            let (first, last) = (path(piece).next(), path(piece).next_back());
            [first, last].into_iter().flatten().map(|at| placement.point(at))
        });
        let post =
            ends.into_iter().flatten().min_by(|one, other| away(*one).total_cmp(&away(*other)));
        outlines.extend(post.map(|post| Outline::Line(vec![at, post])));
        outlines.push(Outline::Disc { centre: at, radius_mm });
    }
    let stroke = Some(Stroke { colour: INK, width_mm: 0.12, dash_mm: None });
    Mark::Shape(Shape { outlines, fill: Some(PAPER), stroke })
}

/// Ticks across the rows.
fn line_posts(drawing: &Drawing<'_>, placement: &Placement, reach: f64) -> Mark {
    let across = placement.across();
    let posts = drawing.layout.posts.iter().filter(|post| post.kind == PostKind::Line);
    let ticks = posts.map(|post| {
        let at = placement.point(post.at);
        let end =
            |side: f64| PaperPoint::new(at.x_mm + side * across[0], at.y_mm + side * across[1]);
        Outline::Line(vec![end(-reach), end(reach)])
    });
    stroked(ticks.collect(), Stroke { colour: INK, width_mm: 0.15, dash_mm: None })
}

/// An arrow along the row at vine 1: of row 1, and of row 2 where rows are counted to and fro.
/// Where vines are drawn it runs beside them.
fn first_vines(drawing: &Drawing<'_>, placement: &Placement, sizes: &Sizes) -> Vec<Mark> {
    let rows = match drawing.site.rules.vine_1 {
        VineOne::Serpentine => 2,
        VineOne::Start | VineOne::End => 1,
    };
    let aside = sizes.vine.map_or(0.0, |radius| -(radius + 1.2).min(0.5 * sizes.row_gap));
    let shown = drawing.rows.iter().take(rows);
    shown.flat_map(|row| arrow(&row.ends, placement, aside)).collect()
}

/// A dot on the first vine and an arrow towards the last, so far aside across the rows.
fn arrow([first, last]: &[RowEnd; 2], placement: &Placement, aside: f64) -> Vec<Mark> {
    let (from, far) = (placement.point(first.vine), placement.point(last.vine));
    let (x, y) = (far.x_mm - from.x_mm, far.y_mm - from.y_mm);
    let whole = x.hypot(y);
    if whole < 2.0 {
        return vec![filled(vec![Outline::Disc { centre: from, radius_mm: 0.8 }])];
    }
    let across = placement.across();
    let from = PaperPoint::new(from.x_mm + aside * across[0], from.y_mm + aside * across[1]);
    sample_arrow(from, [x / whole, y / whole], whole.min(11.0))
}

/// A dot and an arrow from it, so many millimetres long.
pub(super) fn sample_arrow(from: PaperPoint, [x, y]: [f64; 2], length: f64) -> Vec<Mark> {
    let place = |ahead: f64, side: f64| {
        PaperPoint::new(from.x_mm + ahead * x - side * y, from.y_mm + ahead * y + side * x)
    };
    let shaft = Outline::Line(vec![from, place(length - 1.5, 0.0)]);
    let head = Outline::Ring(vec![
        place(length, 0.0),
        place(length - 2.6, 1.0),
        place(length - 2.0, 0.0),
        place(length - 2.6, -1.0),
    ]);
    let stroke = Stroke { colour: INK, width_mm: 0.5, dash_mm: None };
    vec![
        stroked(vec![shaft], stroke),
        filled(vec![head, Outline::Disc { centre: from, radius_mm: 0.9 }]),
    ]
}
