//! What a planting plan shows, in row coordinates: rows with their ends, ground that is kept clear.

use geo::{
    BooleanOps as _, ConvexHull as _, MapCoords as _, MultiPoint, MultiPolygon, Point,
    buffer::{Buffer as _, BufferStyle, LineJoin},
    coord,
};

use crate::{
    frame::{RowPoint, Site},
    layout::{Layout, Piece, PostKind},
    picture::{lettering::printable, map::Compass, planting::PlanNotes},
    units::Metres,
};

/// A clear length of nothing counts as this much, metres.
const LEAST_CLEARANCE_M: f64 = 0.001;
/// An arc of kept-clear ground is drawn by chords of this angle at the centre, radians: 0.5 % of
/// the headland off at most.
const ARC_STEP: f64 = 0.2;

/// What a planting plan shows.
#[derive(Debug, Clone)]
pub(super) struct Drawing<'a> {
    /// The block on its plane.
    pub(super) site: &'a Site,
    /// Its rows, vines and posts.
    pub(super) layout: &'a Layout,
    /// What is told beside it.
    pub(super) notes: &'a PlanNotes,
    /// The block's name.
    pub(super) block: String,
    /// How row coordinates lie on the compass.
    pub(super) compass: Compass,
    /// Rows that hold a vine, by number.
    pub(super) rows: Vec<RowDrawn>,
    /// The ground on which posts and anchors may stand; the rest of the outline is kept clear.
    pub(super) inner: MultiPolygon<f64>,
    /// Every keep-out with the ground that is kept clear around it.
    pub(super) around: Vec<MultiPolygon<f64>>,
}

/// A row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct RowDrawn {
    /// Its number.
    pub(super) number: u32,
    /// Its vine places.
    pub(super) vines: usize,
    /// Metres from end post to end post, gaps left out.
    pub(super) length_m: f64,
    /// Its end by vine 1 and the other one.
    pub(super) ends: [RowEnd; 2],
}

/// An end of a row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct RowEnd {
    /// The anchor, or the end post where there is none.
    pub(super) outermost: RowPoint,
    /// A place further in on the row.
    pub(super) inward: RowPoint,
    /// The vine that stands last.
    pub(super) vine: RowPoint,
}

impl<'a> Drawing<'a> {
    /// What the plan of a block shows.
    pub(super) fn of(site: &'a Site, layout: &'a Layout, notes: &'a PlanNotes) -> Self {
        Self {
            site,
            layout,
            notes,
            block: printable(site.name.as_str()),
            compass: Compass {
                bearing: site.frame.bearing().true_north,
                rows_to: site.frame.rows_to(),
            },
            rows: layout.rows.iter().filter_map(|row| row_drawn(site, layout, row)).collect(),
            inner: inner(site),
            around: around(site),
        }
    }

    /// True where posts are tied back to anchors.
    pub(super) fn has_anchors(&self) -> bool {
        self.layout.posts.iter().any(|post| post.kind == PostKind::Anchor)
    }

    /// The headland and the side margin that were asked.
    pub(super) fn margins(&self) -> [Metres; 2] {
        [self.site.rules.headland, self.site.rules.side_margin]
    }

    /// All that has to be on the map.
    pub(super) fn extremes(&self) -> MultiPoint<f64> {
        let shapes = std::iter::once(&self.site.outline).chain(&self.around);
        let corners =
            shapes.flat_map(|shape| shape.iter().flat_map(|part| part.exterior().points()));
        let posts = self.layout.posts.iter().map(|post| post.at);
        let vines = self.layout.vines.iter().map(|vine| vine.at);
        let marked = self.notes.check_points.iter().map(|mark| mark.at);
        let others = posts.chain(vines).chain(marked);
        let all: MultiPoint<f64> =
            corners.chain(others.map(|at| Point::new(at.along_m, at.across_m))).collect();
        all.convex_hull().exterior().points().collect()
    }
}

fn row_drawn(site: &Site, layout: &Layout, row: &crate::layout::Row) -> Option<RowDrawn> {
    let pieces = layout.pieces.get(row.pieces.clone())?;
    let (first, last) = (pieces.first()?, pieces.last()?);
    let vine_1 = layout.vines.get(first.vines.start)?.at;
    let vine_n = layout.vines.get(last.vines.end.checked_sub(1)?)?.at;
    let gap_m = site.rules.anchor_gap.metres();
    Some(RowDrawn {
        number: row.number,
        vines: pieces.iter().map(|piece| piece.vines.len()).sum(),
        length_m: pieces.iter().map(|piece| piece.length_m).sum(),
        ends: [
            row_end(&path(first).collect::<Vec<_>>(), gap_m, vine_1)?,
            row_end(&path(last).rev().collect::<Vec<_>>(), gap_m, vine_n)?,
        ],
    })
}

/// A piece of row from end post to end post.
pub(super) fn path(piece: &Piece) -> impl DoubleEndedIterator<Item = RowPoint> + Clone + '_ {
    piece.path.0.iter().map(|place| RowPoint { along_m: place.x, across_m: place.y })
}

/// The end at the first of these places.
fn row_end(path: &[RowPoint], anchor_gap_m: f64, vine: RowPoint) -> Option<RowEnd> {
    let (post, inward) = (*path.first()?, *path.get(1)?);
    let (along, across) = (post.along_m - inward.along_m, post.across_m - inward.across_m);
    let share = anchor_gap_m / along.hypot(across).max(1e-9);
    let outermost = RowPoint {
        along_m: post.along_m + share * along,
        across_m: post.across_m + share * across,
    };
    Some(RowEnd { outermost, inward, vine })
}

/// The outline drawn in by the headland along the rows and the side margin across them: scaled by
/// both, by 1 all round.
fn inner(site: &Site) -> MultiPolygon<f64> {
    let [along, across] = [site.rules.headland, site.rules.side_margin]
        .map(|clear| clear.metres().max(LEAST_CLEARANCE_M));
    if along.max(across) <= LEAST_CLEARANCE_M {
        return site.outline.clone();
    }
    let mut ground = site.outline.clone();
    for kept_out in site.keep_outs.iter().filter(|kept_out| kept_out.turning) {
        ground = ground.difference(&kept_out.shape);
    }
    let scaled = ground.map_coords(|at| coord! { x: at.x / along, y: at.y / across });
    let style = BufferStyle::new(-1.0).line_join(LineJoin::Round(ARC_STEP));
    let drawn_in = scaled.buffer_with_style(style);
    drawn_in.map_coords(|at| coord! { x: at.x * along, y: at.y * across })
}

fn around(site: &Site) -> Vec<MultiPolygon<f64>> {
    (site.keep_outs.iter())
        .map(|kept_out| {
            let clear = kept_out.clearance.metres();
            if kept_out.turning || clear <= LEAST_CLEARANCE_M {
                return kept_out.shape.clone();
            }
            let style = BufferStyle::new(clear).line_join(LineJoin::Round(ARC_STEP));
            kept_out.shape.buffer_with_style(style)
        })
        .collect()
}
