//! Rows, vines, posts and panels of a block.
//!
//! Takes a [`Site`], gives a [`Layout`]. Never reads a file, never asks the earth, never looks at a
//! count: whether a vine stands at a place is settled later, in `join`.
//!
//! What the next stage need not worry about: rows, vines and panels are in the order of their
//! numbers, every vine belongs to exactly one panel, a panel's vines are neighbours on one piece of
//! row, and every place is finite, in metres along and across the rows.

mod along;
mod beside;
mod check_points;
mod clearance;
pub mod compare;
mod descents;
mod far;
mod lines;
mod listed;
mod materials;
mod most_vines;
mod numbering;
mod offset;
mod panels;
mod pieces;
mod planned;
mod quantities;
mod relief;
mod short_names;
mod slope_told;
mod stakes;
mod standing;
mod strand;
mod survey;
mod tape;
mod tape_checks;
mod told;
mod vine_cells;

use std::ops::Range;

use geo::{Coord, Distance, Euclidean, Line, LineString, MultiPolygon, Point};

use self::{pieces::Ground, planned::StrandsByRow};
use crate::{
    block::ListedRow,
    error::Error,
    finding::Findings,
    frame::{RowPoint, RowTerrain, Site, SiteKeepOut, StandingRow},
    names::{BlockName, IdDigits, PieceLetter},
    settings::RowRules,
    units::Metres,
};

pub use check_points::{CheckPoint, check_points};
pub use far::far_off;
pub use materials::{Amount, MATERIALS_CAUTION, Material, Materials, materials, wire_m};
pub use quantities::Quantities;
pub use relief::Relief;
pub use short_names::SHORT_NAME;
pub use stakes::{Stake, StakeChoice, StakeKind, Stakes, stakes};
pub use survey::{Measured, Survey, UnevenRow, survey};
pub use tape_checks::{AcrossCheck, TapeCheck, across_checks, tape_checks};
pub use vine_cells::{VineCells, vine_cells};

/// The rows, vines, posts and panels of a block.
#[derive(Debug, Clone)]
pub struct Layout {
    /// Rows by number.
    pub rows: Vec<Row>,
    /// Pieces of rows, by row and from vine 1's end.
    pub pieces: Vec<Piece>,
    /// Vine places by row and number.
    pub vines: Vec<Vine>,
    /// Panels by row and number.
    pub panels: Vec<Panel>,
    /// Posts by row and piece.
    pub posts: Vec<Post>,
    /// How ids are printed.
    pub digits: IdDigits,
    /// Pieces of row that were too short to plant: where they lie and how long they are.
    pub left_out: Vec<LeftOut>,
    /// Lengths and numbers for the whole block.
    pub quantities: Quantities,
}

/// A row.
#[derive(Debug, Clone)]
pub struct Row {
    /// Its number.
    pub number: u32,
    /// Metres across, of its line; the mean for a row that bends.
    pub across_m: f64,
    /// Its pieces, as indices into [`Layout::pieces`].
    pub pieces: Range<usize>,
}

/// A piece of a row, end post to end post.
#[derive(Debug, Clone)]
pub struct Piece {
    /// The row's number.
    pub row: u32,
    /// Its letter; none when the row is in one piece.
    pub letter: Option<PieceLetter>,
    /// End post to end post, from vine 1's end, metres along and across.
    pub path: LineString<f64>,
    /// Level metres from end post to end post.
    pub length_m: f64,
    /// How it lies on the ground, where heights are known all along it.
    pub relief: Option<Relief>,
    /// Its vines, as indices into [`Layout::vines`].
    pub vines: Range<usize>,
    /// Its panels, as indices into [`Layout::panels`].
    pub panels: Range<usize>,
    /// The least clear length across the row's whole swath, beyond each anchor, metres; `None`
    /// where nothing limits it or it was not asked.
    pub clear_m: Option<[f64; 2]>,
}

impl Piece {
    /// Metres from end post to end post along the ground; level where its heights are not known.
    pub fn ground_length_m(&self) -> f64 {
        self.relief.map_or(self.length_m, |relief| relief.length_m)
    }

    /// How far its line leaves the straight way between its ends; 0 for a row that does not bend.
    pub fn bend(&self) -> Metres {
        let ends = self.path.0.first().zip(self.path.0.last());
        let Some((&first, &last)) = ends else { return Metres::default() };
        let straight = Line::new(first, last);
        let off = |corner: &Coord<f64>| Euclidean.distance(&straight, &Point::from(*corner));
        Metres::new(self.path.coords().map(off).fold(0.0, f64::max))
    }
}

/// A vine place.
#[derive(Debug, Clone, PartialEq)]
pub struct Vine {
    /// The row's number.
    pub row: u32,
    /// Its number in the row, from 1.
    pub vine: u32,
    /// Its piece, as an index into [`Layout::pieces`].
    pub piece: usize,
    /// Its panel, as an index into [`Layout::panels`].
    pub panel: usize,
    /// Where it stands.
    pub at: RowPoint,
    /// Metres from the first post of its row, along the row: level, or tape on the ground where the
    /// block's `ground_spacing` says so.
    pub chainage_m: f64,
}

/// Post to post: what a crew can find.
#[derive(Debug, Clone)]
pub struct Panel {
    /// The row's number.
    pub row: u32,
    /// Its number in the row, from 1.
    pub panel: u32,
    /// Its piece, as an index into [`Layout::pieces`].
    pub piece: usize,
    /// Its vines, as indices into [`Layout::vines`].
    pub vines: Range<usize>,
    /// The row's own line from post to post, metres along and across; two points or more.
    pub path: LineString<f64>,
}

/// A post or an anchor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Post {
    /// What it is.
    pub kind: PostKind,
    /// The row's number.
    pub row: u32,
    /// Its piece, as an index into [`Layout::pieces`].
    pub piece: usize,
    /// Where it stands.
    pub at: RowPoint,
}

/// What a post is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PostKind {
    /// At the end of a piece of row.
    End,
    /// Between two panels.
    Line,
    /// The tie-back anchor of an end post.
    Anchor,
}

/// A usable piece of row that is too short to plant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeftOut {
    /// Its middle.
    pub at: RowPoint,
    /// Metres between its ends.
    pub length_m: f64,
}

/// What the layout takes of a [`Site`]: the block on its plane, without the globe.
#[derive(Debug, Clone, Copy)]
pub struct Plot<'a> {
    /// The block's name.
    pub name: &'a BlockName,
    /// The outline, metres along and across.
    pub outline: &'a MultiPolygon<f64>,
    /// Ground that is not planted.
    pub keep_outs: &'a [SiteKeepOut],
    /// Rows that stand, as surveyed.
    pub standing_rows: &'a [StandingRow],
    /// A line without a number along a row, for `row_anchor` `row-line`.
    pub row_line: Option<&'a LineString<f64>>,
    /// The grower's own list of rows.
    pub row_list: &'a [(ListedRow, Option<RowPoint>)],
    /// Vine positions taken as they are.
    pub given_vines: &'a [(u32, u32, RowPoint)],
    /// The rules of the rows.
    pub rules: &'a RowRules,
    /// The height and slope of the ground, where they are known.
    pub terrain: Option<RowTerrain<'a>>,
}

impl<'a> From<&'a Site> for Plot<'a> {
    fn from(site: &'a Site) -> Self {
        Self {
            name: &site.name,
            outline: &site.outline,
            keep_outs: &site.keep_outs,
            standing_rows: &site.standing_rows,
            row_line: site.row_line.as_ref(),
            row_list: &site.row_list,
            given_vines: &site.given_vines,
            rules: &site.rules,
            terrain: site.row_terrain(),
        }
    }
}

/// Lays out a block.
///
/// # Errors
/// When no row fits, a list of rows contradicts itself, or the block would hold more vines than the
/// limit.
///
/// # Source
/// The clearance rule and the keys of a block are those of `docs/formats.md`; the scan line is
/// described in `docs/methods.md`.
pub fn lay_out(site: &Site) -> Result<(Layout, Findings), Error> {
    lay_out_plot(&Plot::from(site))
}

/// Lays out a block that is given on its plane.
///
/// # Errors
/// As [`lay_out`].
pub fn lay_out_plot(plot: &Plot) -> Result<(Layout, Findings), Error> {
    let mut findings = slope_told::without_ground(plot)?;
    let rows = rows_of(plot)?;
    findings.extend(rows.findings.clone());
    let layout = numbering::numbered(plot, rows);
    findings.extend(told::about(plot, &layout));
    findings.extend(slope_told::cautions(plot, &layout));
    Ok((layout, findings))
}

/// Rows before vines and panels have numbers.
#[derive(Debug, Clone, Default)]
struct Rows {
    strands: StrandsByRow,
    left_out: Vec<LeftOut>,
    findings: Findings,
}

/// The rows by what is known best: given vines, the grower's list, surveyed lines, the outline.
fn rows_of(plot: &Plot) -> Result<Rows, Error> {
    if !plot.given_vines.is_empty() {
        let (strands, findings) = standing::given(plot)?;
        return Ok(Rows { strands, findings, ..Rows::default() });
    }
    told::within_limit(plot)?;
    let ground = Ground::of(plot);
    let (surveyed, findings) = standing::surveyed(plot, &ground);
    let mut rows = if !plot.row_list.is_empty() {
        listed::lay_by_list(plot, &ground, &surveyed)?
    } else if surveyed.is_empty() {
        planned::lay_by_outline(plot, &ground)?
    } else {
        let mut around = planned::lay_around(plot, &ground, &standing::known(&surveyed))?;
        around.findings.extend(beside::too_near(plot, &surveyed, &around.strands));
        Rows { strands: numbering::together(surveyed, around.strands), ..around }
    };
    rows.findings.extend(findings);
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use std::sync::LazyLock;

    use geo::polygon;

    use super::*;
    use crate::{
        block::{North, RowAnchor, RowsTo, ShortestRow, VineOne, VinePattern},
        finding::Severity,
        units::Degrees,
    };

    pub(super) fn rules() -> RowRules {
        RowRules {
            standing: false,
            bearing: Some(Degrees::new(17.5)),
            north: North::True,
            date: None,
            grid: None,
            row_spacing: Metres::new(2.5),
            vine_spacing: Metres::new(1.2),
            headland: Metres::new(9.0),
            anchor_gap: Metres::new(2.0),
            side_margin: Metres::new(2.5),
            anchor: RowAnchor::Edge,
            pattern: VinePattern::RowEnd,
            end_gap: Metres::new(0.6),
            vines_per_panel: 4,
            first_panel_vines: 4,
            shortest_row: ShortestRow::Vines(3),
            shortest_gap: Metres::new(0.0),
            elevation: Metres::new(0.0),
            ground_spacing: false,
            rows_to: RowsTo::Right,
            first_row: 1,
            vine_1: VineOne::Start,
            most_vines: 5_000_000,
        }
    }

    /// Lays out and hands to `look` whatever came of it.
    pub(super) fn attempt<'a>(
        outline: &'a MultiPolygon<f64>,
        rules: &'a RowRules,
        change: impl FnOnce(Plot<'a>) -> Plot<'a>,
    ) -> Result<(Layout, Findings), Error> {
        static NAME: LazyLock<BlockName> = LazyLock::new(|| "North".parse().unwrap());
        lay_out_plot(&change(Plot {
            name: &NAME,
            outline,
            keep_outs: &[],
            standing_rows: &[],
            row_line: None,
            row_list: &[],
            given_vines: &[],
            rules,
            terrain: None,
        }))
    }

    pub(super) fn lay(outline: &MultiPolygon<f64>, rules: &RowRules) -> Layout {
        attempt(outline, rules, |plot| plot).unwrap().0
    }

    pub(super) fn rectangle(along: f64, across: f64) -> MultiPolygon<f64> {
        polygon![(x: 0.0, y: 0.0), (x: along, y: 0.0), (x: along, y: across), (x: 0.0, y: across)]
            .into()
    }

    #[test]
    fn a_rectangle_holds_its_rows_to_the_last() {
        // 9 m and 2 m at both ends leave 60 m from post to post: 50 vines 1.2 m apart. Rows from
        // 2.5 m to 42.5 m: 17.
        let layout = lay(&rectangle(82.0, 45.0), &rules());
        let Quantities { rows, vines, posts_end, posts_line, anchors, .. } = layout.quantities;
        assert_eq!((rows, vines, posts_end, posts_line, anchors), (17, 850, 34, 17 * 12, 34));
        let first = &layout.vines[0];
        assert!((first.at.along_m - 11.6).abs() < 1e-9 && (first.at.across_m - 2.5).abs() < 1e-8);
        assert!((layout.quantities.row_length_m - 1020.0).abs() < 1e-6);
        assert_eq!(layout.quantities.least_clear_m, Some(9.0));
        let ids = (layout.digits.vine(17, 50), layout.digits.panel(17, 13));
        assert_eq!(ids, ("R017V050".to_owned(), "R017P13".to_owned()));
    }

    #[test]
    fn too_narrow_a_block_names_its_width_and_bearing() {
        let error = attempt(&rectangle(82.0, 1.9), &rules(), |plot| plot).unwrap_err();
        let text = error.to_string();
        assert!(
            text.contains("0 rows fit; the block is 1.9 m across at the bearing 17.5°"),
            "{text}"
        );
        assert_eq!(error.exit_code(), 3);
    }

    #[test]
    fn millions_of_vines_stop_before_they_are_made() {
        let rules =
            RowRules { row_spacing: Metres::new(0.5), vine_spacing: Metres::new(0.2), ..rules() };
        let error = attempt(&rectangle(2050.0, 2000.0), &rules, |plot| plot).unwrap_err();
        assert!(error.to_string().contains("would make 41 M vines"), "{error}");
        let absurd = RowRules { row_spacing: Metres::new(1e-9), ..rules };
        assert!(attempt(&rectangle(100.0, 100.0), &absurd, |plot| plot).is_err());
    }

    #[test]
    fn counting_from_the_far_end_moves_no_vine() {
        let outline: MultiPolygon<f64> =
            polygon![(x: 0.0, y: 0.0), (x: 82.7, y: 0.0), (x: 99.0, y: 30.0), (x: 3.0, y: 30.0)]
                .into();
        let from_start = lay(&outline, &rules());
        let serpentine = RowRules { vine_1: VineOne::Serpentine, ..rules() };
        let serpentine = lay(&outline, &serpentine);
        let mut places: Vec<_> = serpentine.vines.iter().map(|vine| vine.at).collect();
        places.sort_by(|a, b| {
            a.across_m.total_cmp(&b.across_m).then(a.along_m.total_cmp(&b.along_m))
        });
        for (one, other) in places.iter().zip(&from_start.vines) {
            assert!((one.along_m - other.at.along_m).abs() < 1e-9, "{one:?} {other:?}");
        }
        let first_of = |row: u32| serpentine.vines.iter().find(|vine| vine.row == row).unwrap();
        assert!(first_of(1).at.along_m < 20.0 && first_of(2).at.along_m > 60.0);
        assert_eq!((first_of(2).vine, first_of(2).chainage_m > 0.5), (1, true));
    }

    #[test]
    fn a_pond_cuts_rows_into_lettered_pieces_and_counts_go_on() {
        let outline = rectangle(82.0, 45.0);
        let shape: MultiPolygon<f64> =
            polygon![(x: 35.0, y: 18.0), (x: 45.0, y: 18.0), (x: 45.0, y: 27.0), (x: 35.0, y: 27.0)]
                .into();
        let pond = |turning, clearance| {
            vec![SiteKeepOut {
                name: None,
                shape: shape.clone(),
                clearance: Metres::new(clearance),
                turning,
            }]
        };
        let turned = pond(true, 0.0);
        let layout = attempt(&outline, &rules(), |plot| Plot { keep_outs: &turned, ..plot });
        let layout = layout.unwrap().0;
        let row = layout.rows.iter().find(|row| row.number == 8).unwrap();
        let pieces: Vec<String> = layout.pieces[row.pieces.clone()]
            .iter()
            .map(|piece| layout.digits.piece(piece.row, piece.letter))
            .collect();
        assert_eq!(pieces, ["R008a", "R008b"]);
        let second = &layout.pieces[row.pieces.clone()][1];
        let (last, first) =
            (&layout.vines[second.vines.start - 1], &layout.vines[second.vines.start]);
        assert_eq!(first.vine, last.vine + 1);
        assert!(first.at.along_m >= 45.0 + 9.0 + 2.0 + 0.6 - 1e-9, "{first:?}");
        assert_eq!(layout.panels[first.panel].panel, layout.panels[last.panel].panel + 1);
        let long = RowRules { shortest_gap: Metres::new(15.0), ..rules() };
        let soft = pond(false, 0.6);
        let layout = attempt(&outline, &long, |plot| Plot { keep_outs: &soft, ..plot }).unwrap().0;
        assert_eq!(layout.pieces.len(), 17);
        let row_8 = layout.vines.iter().filter(|vine| vine.row == 8);
        assert!(row_8.clone().all(|v| v.at.along_m <= 34.4 + 1e-6 || v.at.along_m >= 45.6 - 1e-6));
        assert_eq!(row_8.count(), 50 - 9);
    }

    #[test]
    fn an_oblique_headland_is_told() {
        let outline: MultiPolygon<f64> =
            polygon![(x: 0.0, y: 0.0), (x: 80.0, y: 0.0), (x: 110.0, y: 30.0), (x: 0.0, y: 30.0)]
                .into();
        let (layout, findings) = attempt(&outline, &rules(), |plot| plot).unwrap();
        let told: Vec<_> = findings.iter().filter(|f| f.severity == Severity::Warning).collect();
        assert_eq!(told.len(), 1, "{told:?}");
        let least = layout.quantities.least_clear_m.unwrap();
        // Straight ahead: √(9² + 2.5²) m along; beside it half a row spacing less.
        let expected = (81.0_f64 + 6.25).sqrt() - 1.25;
        assert!((least - expected).abs() < 1e-6, "{least} {expected}");
    }
}
