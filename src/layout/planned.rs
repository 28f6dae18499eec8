//! Rows laid by the outline: at the offset that the rules ask for, or between and around rows that
//! stand.

use std::collections::BTreeMap;

use geo::LineString;

use super::{
    LeftOut, Plot, Rows,
    along::Setting,
    clearance::GRACE_M,
    lines::{KnownRows, RowsToLay},
    most_vines, offset,
    pieces::{Ground, Near, Usable},
    strand::Strand,
    tape::Tape,
    told,
};
use crate::{
    block::RowAnchor,
    error::Error,
    frame::RowPoint,
    maths::{float, intervals::Interval},
};

/// Lays rows where the outline leaves room.
///
/// # Errors
/// When no row fits or there would be more vines than the limit.
pub(super) fn lay_by_outline(plot: &Plot, ground: &Ground) -> Result<Rows, Error> {
    let across = offset::usable_across(ground).ok_or_else(|| told::no_row_fits(plot, ground))?;
    let first = first_row(plot, ground, across)?;
    let mut layer = Layer::new(plot, ground);
    let mut number = None;
    for (v, shifted) in lines(first, across, plot.rules.row_spacing.metres()) {
        let next = number.map_or(plot.rules.first_row, |last: u32| last.saturating_add(1));
        if layer.lay(next, v, shifted)? || number.is_some() {
            number = Some(next);
        }
    }
    if layer.rows.strands.is_empty() {
        return Err(told::no_row_fits(plot, ground));
    }
    Ok(layer.rows)
}

/// The lines of rows from the first on, and whether the staggered pattern shifts them.
pub(super) fn lines(
    first: f64,
    across: Interval,
    spacing_m: f64,
) -> impl Iterator<Item = (f64, bool)> {
    let lines = (0_u32..).map(move |step| (first + f64::from(step) * spacing_m, step % 2 == 1));
    lines.take_while(move |(v, _)| *v <= across.high + GRACE_M)
}

/// Lays rows between and around those that stand, where there is room.
///
/// # Errors
/// When there would be more vines than the limit.
pub(super) fn lay_around(plot: &Plot, ground: &Ground, known: &KnownRows) -> Result<Rows, Error> {
    let spacing = plot.rules.row_spacing.metres();
    let mut rows = RowsToLay::default();
    if let Some(across) = offset::usable_across(ground) {
        too_many_rows(plot, across)?;
        rows = known.rows_to_lay(across, spacing);
    }
    let mut layer = Layer::new(plot, ground);
    let planted = |v: f64| {
        let pieces = ground.near(Interval::new(v, v)).usable(v);
        pieces.iter().any(|piece| layer.setting.count(piece, false) > 0)
    };
    rows.room_below_1 = rows.room_below_1.filter(|&v| planted(v));
    for (number, v) in &rows.lay {
        layer.lay(*number, *v, number.abs_diff(plot.rules.first_row) % 2 == 1)?;
    }
    layer.rows.findings.extend(told::beside_known_rows(plot, &rows));
    Ok(layer.rows)
}

/// Where the first row lies.
///
/// # Errors
/// When there would be more rows than the limit of vines, or a row-line is asked for that is not
/// there.
pub(super) fn first_row(plot: &Plot, ground: &Ground, across: Interval) -> Result<f64, Error> {
    let spacing = plot.rules.row_spacing.metres();
    too_many_rows(plot, across)?;
    Ok(match plot.rules.anchor {
        RowAnchor::Edge => across.low,
        RowAnchor::Centre => offset::centred(across, spacing),
        RowAnchor::MostVines => most_vines::first_row(plot, ground, across),
        RowAnchor::RowLine => {
            let line = plot.row_line.ok_or_else(|| told::no_row_line(plot))?;
            offset::in_line_with(mean_across(line), across, spacing)
        }
    })
}

/// Refuses more rows than there may be vines before any is laid.
pub(super) fn too_many_rows(plot: &Plot, across: Interval) -> Result<(), Error> {
    let rows = across.length() / plot.rules.row_spacing.metres();
    if rows > float(plot.rules.most_vines) { Err(told::too_many(plot)) } else { Ok(()) }
}

/// Metres across of a line, its bends weighted by their length.
pub(super) fn mean_across(line: &LineString<f64>) -> f64 {
    let (mut sum, mut length) = (0.0, 0.0);
    for part in line.lines() {
        let part_length = super::strand::length(part.start, part.end);
        sum += part_length * part.start.y.midpoint(part.end.y);
        length += part_length;
    }
    if length > 0.0 { sum / length } else { line.coords().next().map_or(0.0, |point| point.y) }
}

/// Rows in the making, by rising place across.
struct Layer<'p, 'g> {
    plot: &'p Plot<'p>,
    sweep: super::pieces::Sweep<'g>,
    setting: Setting,
    vines: usize,
    rows: Rows,
}

impl<'p, 'g> Layer<'p, 'g> {
    fn new(plot: &'p Plot<'p>, ground: &'g Ground) -> Self {
        let setting = Setting::of(plot.rules);
        Self { plot, sweep: ground.sweep(), setting, vines: 0, rows: Rows::default() }
    }

    /// Lays one row, every other one shifted by the staggered pattern; false when nothing of it is
    /// planted.
    fn lay(&mut self, number: u32, v: f64, shifted: bool) -> Result<bool, Error> {
        let near = self.sweep.at(v);
        let mut strands = Vec::new();
        let pieces = near.usable(v);
        let tape = tape(self.plot, v, &pieces);
        for piece in pieces {
            let vines = self.setting.count(&tape.piece(&piece), shifted);
            self.vines += vines;
            if self.vines > self.plot.rules.most_vines {
                return Err(told::too_many(self.plot));
            }
            match straight(self.setting, &tape.piece(&piece), (v, &tape), shifted) {
                Some(strand) if vines > 0 => strands.push(with_clear(strand, near, v, piece.ends)),
                _ => self.rows.left_out.push(left_out(&piece, v)),
            }
        }
        let planted = !strands.is_empty();
        if planted {
            self.rows.strands.insert(number, strands);
        }
        Ok(planted)
    }
}

fn left_out(piece: &Usable, v: f64) -> LeftOut {
    let at = RowPoint { along_m: piece.ends.middle(), across_m: v };
    LeftOut { at, length_m: piece.ends.length() }
}

/// How the row at `v` is measured.
pub(super) fn tape(plot: &Plot, v: f64, pieces: &[Usable]) -> Tape {
    match pieces {
        [first, .., last] => {
            Tape::of_row(plot, v, 1.0, Interval::new(first.ends.low, last.ends.high))
        }
        [only] => Tape::of_row(plot, v, 1.0, only.ends),
        [] => Tape::default(),
    }
}

/// A straight strand on a usable piece of the row at `v`, the piece as the row's tape measures it.
fn straight(
    setting: Setting,
    piece: &Usable,
    (v, tape): (f64, &Tape),
    shifted: bool,
) -> Option<Strand> {
    let posts = setting.posts(piece.ends)?;
    let ends = [posts.low, posts.high].map(|post| tape.level_m(post));
    let path = LineString::from(ends.map(|u| (u, v)).to_vec());
    let strand = Strand::along(path, setting.spacing_m);
    let strand = Strand { tape: tape.starting_at(ends[0]), ..strand };
    let strand = strand.anchored(setting.anchor_gap_m);
    let vines = setting.vines(piece, shifted).into_iter().map(|u| u - posts.low).collect();
    let along = |gap: &Interval| Interval::new(gap.low - posts.low, gap.high - posts.low);
    Some(Strand { vines, gaps: piece.gaps.iter().map(along).collect(), ..strand })
}

/// The strand with the clear lengths beyond its anchors.
pub(super) fn with_clear(strand: Strand, near: &Near<'_>, v: f64, anchors: Interval) -> Strand {
    let clear_m = match near.clear_beyond(v, anchors) {
        [Some(low), Some(high)] => Some([low, high]),
        _ => None,
    };
    Strand { clear_m, ..strand }
}

/// Strands by row number.
pub(super) type StrandsByRow = BTreeMap<u32, Vec<Strand>>;
