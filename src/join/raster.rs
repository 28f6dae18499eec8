//! A raster of vigor at the vines, and whether it says anything about them.
//!
//! A vine's ground is its spacing along the row and half a row spacing across it (the setting
//! `join.vigor_ground_rows`): where the canopy is, without the middle of the alley. Where cells are fine enough for two on the shorter side, the
//! mean over the cells there is taken, so that no single leaf or clod decides; from larger cells the
//! value is bilinear at the vine. Our judgement.

use geo::Area;
use rayon::prelude::*;

use super::{
    Joined, Vigor, VigorMeasure,
    correlation::{Correlation, FEWEST_PAIRS},
};
use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    frame::{RowPoint, Site},
    grid::Grid,
    layout::{Layout, Vine},
    maths::{float, whole},
    settings::JoinSettings,
};

/// Over so many metres the raster's axes are taken as straight.
const STEP_M: f64 = 10.0;

/// Puts the values of a raster of vigor beside the vines, and makes it the measure of vigor where
/// there is no better one and it goes with what was counted.
///
/// # Errors
/// When its cells are so large that the block is hardly more than one of them.
pub fn on_raster(
    joined: Joined,
    (site, layout): (&Site, &Layout),
    grid: &Grid,
    settings: &JoinSettings,
) -> Result<(Joined, Findings), Error> {
    let place = Place::file(grid.name()).in_feature(format!("block `{}`", site.name));
    let sampling = Sampling::of(site, grid, settings.vigor_ground_rows);
    let mut findings = Findings::none();
    if let Some(sampling) = &sampling {
        if let Some(fault) = too_coarse(site, sampling, &place, settings.fewest_vigor_cells) {
            return Err(fault.into());
        }
        findings.extend(mixes_rows(site, sampling, &place).into_iter().collect());
    }
    let value = |at: RowPoint| sampling.as_ref()?.value(site, at);
    let standing = |vine: usize| !joined.vines[vine].status.is_missing();
    let values: Vec<Option<f64>> = (layout.vines.par_iter().enumerate())
        .map(|(number, vine)| value(vine.at).filter(|_| standing(number)))
        .collect();
    let present = (0..values.len()).filter(|&vine| standing(vine)).count();
    let off = present - values.iter().flatten().count();
    let reached = |vine: &Vine| sampling.as_ref().is_some_and(|own| own.reaches(site, vine.at));
    if off == present && !layout.vines.iter().any(reached) {
        let what = "the raster of vigor does not reach this block";
        findings.push(Finding::note(place, what));
        return Ok((joined, findings));
    }
    if off > 0 {
        findings.push(off_the_raster(&place, off, present));
    }
    if off == present {
        return Ok((joined, findings));
    }
    let (vigor, told) = checked((&joined, layout), &values, &place);
    findings.push(told);
    let vigor = joined.vigor.or(vigor);
    Ok((Joined { vigor, raster: Some(values), ..joined }, findings))
}

fn off_the_raster(place: &Place, off: usize, present: usize) -> Finding {
    let what =
        format!("{off} of {present} vines lie off the raster of vigor or where it has no value");
    Finding::warning(place.clone(), what)
        .because("nothing is known of their vigor")
        .mend("pass a raster that covers the whole block")
}

fn too_coarse(
    site: &Site,
    sampling: &Sampling<'_>,
    place: &Place,
    fewest_cells: f64,
) -> Option<Finding> {
    let [wide_m, high_m] = sampling.cell_m;
    let cells = site.outline.unsigned_area() / (wide_m * high_m);
    (cells < fewest_cells).then(|| {
        let what = format!("a cell of the raster of vigor is {wide_m:.1} m by {high_m:.1} m");
        Finding::fault(place.clone(), what)
            .because(format!("the block is {cells:.1} of them: it shows no differences inside"))
            .mend("pass a raster with smaller cells, at best of a row spacing or less")
    })
}

fn mixes_rows(site: &Site, sampling: &Sampling<'_>, place: &Place) -> Option<Finding> {
    let cell_m = sampling.cell_m[0].max(sampling.cell_m[1]);
    let row_m = site.rules.row_spacing.metres();
    (cell_m > row_m).then(|| {
        let what = format!("cells of {cell_m:.1} m are wider than the row spacing of {row_m:.2} m");
        Finding::note(place.clone(), what).because(
            "each mixes rows with the alleys between them, and what grows in the alleys shows, too",
        )
    })
}

/// How the raster is asked about vines.
struct Sampling<'a> {
    grid: &'a Grid,
    /// Sides of a cell on the ground, metres.
    cell_m: [f64; 2],
    /// Columns and rows that a metre along and a metre across the rows lead on.
    along: [f64; 2],
    across: [f64; 2],
    /// Half a vine's ground along and across the rows, metres; `None` where cells are too large.
    half_m: Option<[f64; 2]>,
}

impl<'a> Sampling<'a> {
    /// `None` where the raster's grid does not reach.
    fn of(site: &Site, grid: &'a Grid, ground_rows: f64) -> Option<Self> {
        let lie = grid.georeference();
        let cell = |along_m: f64, across_m: f64| {
            lie.cell_of(site.frame.to_lon_lat(RowPoint { along_m, across_m }))
        };
        let [from, along, across] = [cell(0.0, 0.0)?, cell(STEP_M, 0.0)?, cell(0.0, STEP_M)?];
        let step = |to: [f64; 2]| [0, 1].map(|axis| (to[axis] - from[axis]) / STEP_M);
        let cell_m = lie.cell_m(from)?.map(|side| side * site.frame.ground_scale());
        let across_m = site.rules.row_spacing.metres() * ground_rows;
        let ground_m = [site.rules.vine_spacing.metres(), across_m];
        let fine = 2.0 * cell_m[0].max(cell_m[1]) <= ground_m[0].min(ground_m[1]);
        let half_m = fine.then_some(ground_m.map(|side| side / 2.0));
        Some(Self { grid, cell_m, along: step(along), across: step(across), half_m })
    }

    fn value(&self, site: &Site, at: RowPoint) -> Option<f64> {
        let cell = self.grid.georeference().cell_of(site.frame.to_lon_lat(at))?;
        match self.half_m {
            Some(half_m) => self.mean_around(cell, half_m),
            None => self.grid.value_between(cell),
        }
    }

    /// True where the raster lies, with a value or without.
    fn reaches(&self, site: &Site, at: RowPoint) -> bool {
        let cell = self.grid.georeference().cell_of(site.frame.to_lon_lat(at));
        let within =
            |axis: usize, place: f64| (0.0..=float(self.grid.size()[axis])).contains(&place);
        cell.is_some_and(|[column, row]| within(0, column) && within(1, row))
    }

    /// The mean over the cells with a value whose middles lie on a vine's ground.
    fn mean_around(&self, [c, r]: [f64; 2], half_m: [f64; 2]) -> Option<f64> {
        let reach = [0, 1]
            .map(|axis| half_m[0] * self.along[axis].abs() + half_m[1] * self.across[axis].abs());
        let (mut sum, mut cells) = (0.0, 0.0);
        for row in between(r, reach[1], self.grid.size()[1]) {
            for column in between(c, reach[0], self.grid.size()[0]) {
                let off = [float(column) + 0.5 - c, float(row) + 0.5 - r];
                if self.is_within(off, half_m)
                    && let Some(value) = self.grid.value(column, row)
                {
                    sum += value;
                    cells += 1.0;
                }
            }
        }
        (cells > 0.0).then(|| sum / cells)
    }

    /// True when so many columns and rows lead nowhere beyond a vine's ground.
    fn is_within(&self, [columns, rows]: [f64; 2], half_m: [f64; 2]) -> bool {
        let turn = self.along[0] * self.across[1] - self.across[0] * self.along[1];
        let along_m = (self.across[1] * columns - self.across[0] * rows) / turn;
        let across_m = (self.along[0] * rows - self.along[1] * columns) / turn;
        along_m.abs() <= half_m[0] && across_m.abs() <= half_m[1]
    }
}

/// The cells that a reach around a place meets.
fn between(middle: f64, reach: f64, cells: usize) -> std::ops::Range<usize> {
    let end = |at: f64| whole(at.max(0.0)).min(cells);
    end((middle - reach).floor())..end((middle + reach).ceil())
}

/// The raster as a measure of vigor, if it goes with what was counted, and what to say of it.
fn checked(
    (joined, layout): (&Joined, &Layout),
    values: &[Option<f64>],
    place: &Place,
) -> (Option<Vigor>, Finding) {
    let (what, against) = match &joined.vigor {
        Some(vigor) => (vigor.measure.words(), &vigor.observations),
        None => ("shoots", &joined.shoots),
    };
    let Some(found) = Correlation::within_plantings((joined, layout), values, against) else {
        let known =
            format!("the raster of vigor cannot be checked against {what}: it moves no target");
        let warning = Finding::warning(place.clone(), known)
            .because(format!("{FEWEST_PAIRS} grown vines that differ are the fewest to compare"));
        return (None, warning.mend("count more vines, or give pruning weights"));
    };
    let words = found.words(what);
    let [low, high] = found.ends(0.9);
    if joined.vigor.is_some() {
        let note =
            Finding::note(place.clone(), format!("the raster of vigor moves no target: {words}"));
        return (None, note.because(format!("{what} is the better measure of vigor")));
    }
    if low > 0.0 {
        let note = Finding::note(place.clone(), format!("vigor is that of the raster: {words}"))
            .because("it moves an aim by half a shoot a foot at most");
        return (Some(Vigor { measure: VigorMeasure::Raster, observations: Vec::new() }), note);
    }
    let why = if high < 0.0 {
        "where the raster is high there are fewer shoots"
    } else {
        "it cannot be told from none"
    };
    let warning =
        Finding::warning(place.clone(), format!("the raster of vigor moves no target: {words}"))
            .because(why)
            .mend("pass another day or another measure, or give pruning weights");
    (None, warning)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        counts::{Count, Status},
        geodesy::GridTransform,
        grid::{Affine, Georeference, Lies},
        join::field::{Field, ROW_M, VINE_M, on, told},
    };

    /// A raster over the field, north up, cells of `cell_m`, its value by metres along and across.
    fn raster(field: &Field, cell_m: f64, value: impl Fn(RowPoint) -> f64) -> Grid {
        let utm = GridTransform::new("EPSG:32633").unwrap();
        let lies = Lies::Projected(utm.clone());
        let middle = utm
            .from_lon_lat(field.site.frame.to_lon_lat(RowPoint { along_m: 5.0, across_m: 2.5 }))
            .unwrap();
        let side = whole((60.0 / cell_m).ceil());
        let half = float(side) * cell_m / 2.0;
        let affine = Affine {
            origin_x: middle.east - half,
            column_x: cell_m,
            row_x: 0.0,
            origin_y: middle.north + half,
            column_y: 0.0,
            row_y: -cell_m,
        };
        let georeference = Georeference { affine, lies };
        let at = |cell: usize| {
            let place = [float(cell % side) + 0.5, float(cell / side) + 0.5];
            value(field.site.frame.to_row(georeference.place(place).unwrap()))
        };
        let values = (0..side * side).map(at).collect();
        Grid::new("index.tif", [side, side], values, georeference, "").unwrap()
    }

    fn join(field: &Field, counts: &[Count], grid: &Grid) -> Result<(Joined, Findings), Error> {
        let (joined, _) = field.join(counts);
        on_raster(joined, (&field.site, &field.layout), grid, &field.settings)
    }

    /// A number from 0 to 6 by vine, of which neighbours tell nothing.
    fn mixed(at: RowPoint) -> f64 {
        let [vine, row] = [(at.along_m / VINE_M).floor(), (at.across_m / ROW_M).round()];
        (5.0 * vine + 3.0 * row).rem_euclid(7.0)
    }

    /// Shoots of two rows that go by the same number.
    fn counted(field: &Field) -> Vec<Count> {
        let vines = field.layout.vines.iter().filter(|vine| vine.row < 3);
        let shoots = |at: RowPoint| (0..50).find(|n| f64::from(*n) >= 20.0 + 2.0 * mixed(at));
        vines.map(|vine| on(vine.row, vine.vine, shoots(vine.at).unwrap())).collect()
    }

    #[test]
    fn from_large_cells_the_value_is_bilinear_and_from_small_ones_a_mean_over_the_vines_ground() {
        let field = Field::new();
        let plane = |at: RowPoint| 100.0 + 2.0 * at.along_m - 3.0 * at.across_m;
        // A plane is bilinear; a mean over a turned rectangle is a sixth of a cell off at most.
        for (cell_m, within) in [(2.0, 1e-3), (0.1, 0.06)] {
            let joined = join(&field, &[], &raster(&field, cell_m, plane)).unwrap().0;
            let values = joined.raster.unwrap();
            for (vine, value) in field.layout.vines.iter().zip(values) {
                let off = value.unwrap() - plane(vine.at);
                assert!(off.abs() < within, "{cell_m} m: {off}");
            }
        }
        // Leaves over the row, grass in the alley: cells of 10 cm do not mix them.
        let alley = |at: RowPoint| {
            let beside = (at.across_m / 2.5).fract().abs();
            if (0.27..0.73).contains(&beside) { 9.0 } else { 1.0 }
        };
        let joined = join(&field, &[], &raster(&field, 0.1, alley)).unwrap().0;
        assert!(joined.raster.unwrap().iter().all(|value| (value.unwrap() - 1.0).abs() < 1e-9));
    }

    #[test]
    fn a_raster_that_goes_with_the_shoots_is_the_vigor() {
        let field = Field::new();
        let grid = raster(&field, 0.3, |at| 0.2 + 0.01 * mixed(at));
        let (joined, findings) = join(&field, &counted(&field), &grid).unwrap();
        let vigor = joined.vigor.unwrap();
        assert_eq!((vigor.measure, vigor.observations.len()), (VigorMeasure::Raster, 0));
        assert_eq!(told(&findings, "vigor is that of the raster"), 1, "{findings:?}");
        assert_eq!(told(&findings, "16 counts"), 1, "{findings:?}");
    }

    #[test]
    fn a_raster_against_the_shoots_or_beside_them_moves_nothing() {
        let field = Field::new();
        let against = raster(&field, 0.3, |at| -mixed(at));
        let (joined, findings) = join(&field, &counted(&field), &against).unwrap();
        assert!(joined.vigor.is_none() && joined.raster.is_some());
        assert_eq!(told(&findings, "there are fewer shoots"), 1, "{findings:?}");
        let beside = raster(&field, 1.0, |at| (at.along_m - 4.8).abs());
        let (joined, findings) = join(&field, &counted(&field), &beside).unwrap();
        assert!(joined.vigor.is_none());
        assert_eq!(told(&findings, "cannot be told from none"), 1, "{findings:?}");
        let (joined, findings) = join(&field, &counted(&field)[..4], &against).unwrap();
        assert!(joined.vigor.is_none());
        assert_eq!(told(&findings, "cannot be checked against shoots"), 1, "{findings:?}");
    }

    #[test]
    fn a_better_measure_is_kept_and_the_raster_is_held_against_it() {
        let field = Field::new();
        let weighed = |vine: u32| {
            let kg = 0.3 + 0.05 * f64::from(vine);
            Count { shoots: None, pruning_weight_kg: Some(kg), ..on(1, vine, 0) }
        };
        let counts: Vec<Count> = (1..=8).map(weighed).collect();
        let grid = raster(&field, 1.0, |at| at.along_m);
        let (joined, findings) = join(&field, &counts, &grid).unwrap();
        assert_eq!(joined.vigor.unwrap().measure, VigorMeasure::PruningWeight);
        assert_eq!(
            told(&findings, "its correlation with pruning weight is 1.00"),
            1,
            "{findings:?}"
        );
    }

    #[test]
    fn vines_off_the_raster_are_told_with_their_number_and_gaps_have_no_value() {
        let field = Field::new();
        let west = raster(&field, 0.3, |at| if at.along_m > 4.8 { f64::NAN } else { at.along_m });
        let gone = Count { status: Some(Status::Missing), shoots: None, ..on(1, 1, 0) };
        let (joined, findings) = join(&field, &[gone], &west).unwrap();
        let values = joined.raster.unwrap();
        assert_eq!(told(&findings, "12 of 23 vines lie off the raster"), 1, "{findings:?}");
        assert!(values[0].is_none() && values[1].is_some() && values[7].is_none());
        let empty = raster(&field, 0.3, |_| f64::NAN);
        let (joined, findings) = join(&field, &[], &empty).unwrap();
        assert!(joined.raster.is_none());
        assert_eq!(told(&findings, "24 of 24 vines"), 1, "{findings:?}");
    }

    #[test]
    fn a_raster_over_another_block_is_a_note() {
        let field = Field::new();
        let here = raster(&field, 2.0, |at| at.along_m);
        let Georeference { affine, lies } = here.georeference().clone();
        let affine = Affine { origin_x: affine.origin_x + 500.0, ..affine };
        let values = here.values().flatten().collect();
        let there =
            Grid::new("index.tif", here.size(), values, Georeference { affine, lies }, "").unwrap();
        let (joined, findings) = join(&field, &counted(&field), &there).unwrap();
        assert!(joined.raster.is_none() && joined.vigor.is_none());
        assert_eq!(told(&findings, "does not reach this block"), 1, "{findings:?}");
        assert_eq!(told(&findings, "lie off the raster"), 0, "{findings:?}");
    }

    #[test]
    fn large_cells_are_told_and_those_larger_than_the_block_refused() {
        let field = Field::new();
        let (_, findings) = join(&field, &[], &raster(&field, 3.0, |at| at.along_m)).unwrap();
        assert_eq!(told(&findings, "cells of 3.0 m are wider than the row spacing of 2.50 m"), 1);
        let error = join(&field, &[], &raster(&field, 8.0, |at| at.along_m)).unwrap_err();
        assert!(error.to_string().contains("8.0 m by 8.0 m"), "{error}");
    }
}
