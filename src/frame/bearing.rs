//! Which way the rows run: true, grid or magnetic bearings to true, or from lines drawn along rows.

use geo::LineString;

use super::{AppliedBearing, Frame, RowPoint};
use crate::{
    block::{Block, North, RowLine},
    finding::{Finding, Findings, Place},
    geodesy::{CompassCaution, LonLat, convergence, declination},
    settings::RowRules,
    units::{Degrees, Metres},
};

/// Lines along rows that are further apart in direction than this are doubted.
const DOUBTFUL_SPREAD: Degrees = Degrees::new(1.0);
/// … and further apart than this they give no bearing.
const LARGEST_SPREAD: Degrees = Degrees::new(15.0);
/// A bearing further off the row-lines than this was likely read from another north.
const DOUBTFUL_BEARING: Degrees = Degrees::new(2.0);

impl AppliedBearing {
    /// A bearing that was given from true north.
    pub fn from_true_north(bearing: Degrees) -> Self {
        Self {
            true_north: bearing.normalised(),
            given: bearing,
            north: North::True,
            correction: Degrees::new(0.0),
            uncertainty: None,
        }
    }

    fn corrected(given: Degrees, north: North, correction: Degrees) -> Self {
        let true_north = Degrees::new(given.degrees() + correction.degrees()).normalised();
        Self { true_north, given, north, correction, uncertainty: None }
    }
}

/// The bearing of the rows at `origin`, from true north.
///
/// `level` is a frame at the same origin with bearing 0: there the direction of a row-line is its
/// bearing.
pub(super) fn applied_bearing(
    block: &Block,
    rules: &RowRules,
    origin: LonLat,
    level: &Frame,
    findings: &mut Findings,
) -> Option<AppliedBearing> {
    let drawn = drawn_bearing(block, level, rules.bearing.is_none(), findings);
    let Some(given) = rules.bearing else {
        let bearing = drawn?;
        let place = block.place.at_field("row_bearing");
        let what = format!("the rows run {bearing} from true north, as the row-lines are drawn");
        findings.push(Finding::note(place, what));
        return Some(AppliedBearing::from_true_north(bearing));
    };
    let applied = match rules.north {
        North::True => Some(AppliedBearing::from_true_north(given)),
        North::Grid => from_grid(given, block, rules, origin, findings),
        North::Magnetic => from_magnetic(given, block, rules, origin, findings),
    }?;
    if let Some(drawn) = drawn {
        compare_with_lines(applied, drawn, block, findings);
    }
    Some(applied)
}

fn from_grid(
    given: Degrees,
    block: &Block,
    rules: &RowRules,
    origin: LonLat,
    findings: &mut Findings,
) -> Option<AppliedBearing> {
    let place = block.place.at_field("north");
    let Some(grid) = &rules.grid else {
        let fault = Finding::fault(place, "a grid bearing without a grid")
            .because("grid north differs from grid to grid")
            .mend("pass the grid with --crs EPSG:n");
        findings.push(fault);
        return None;
    };
    match convergence(grid, origin) {
        Ok(turn) => {
            let applied = AppliedBearing::corrected(given, North::Grid, turn);
            findings.push(how_turned(applied, block, &format!("convergence {turn} of {grid}")));
            Some(applied)
        }
        Err(refusal) => {
            findings.push(refusal.at(place));
            None
        }
    }
}

fn from_magnetic(
    given: Degrees,
    block: &Block,
    rules: &RowRules,
    origin: LonLat,
    findings: &mut Findings,
) -> Option<AppliedBearing> {
    let place = block.place.at_field("date");
    let Some(date) = rules.date else {
        let fault = Finding::fault(place, "missing with a magnetic bearing")
            .because("magnetic north moves from year to year")
            .mend("add the \"date\" on which the compass was read, such as \"2026-05-01\"");
        findings.push(fault);
        return None;
    };
    match declination(origin, rules.elevation, date) {
        Ok(found) => {
            findings.extend(compass_caution(found.caution, block));
            let applied = AppliedBearing::corrected(given, North::Magnetic, found.angle);
            let (turn, unsure) = (found.angle, found.uncertainty.degrees());
            let how = format!("declination {turn} ± {unsure:.1}° on {date}");
            findings.push(how_turned(applied, block, &how));
            Some(AppliedBearing { uncertainty: Some(found.uncertainty), ..applied })
        }
        Err(refusal) => {
            findings.push(refusal.at(place));
            None
        }
    }
}

fn how_turned(applied: AppliedBearing, block: &Block, how: &str) -> Finding {
    let what = format!("the rows run {} from true north", applied.true_north);
    let why = format!("{} as given, {how}", applied.given);
    Finding::note(block.place.at_field("row_bearing"), what).because(why)
}

fn compass_caution(caution: Option<CompassCaution>, block: &Block) -> Findings {
    let Some(caution) = caution else { return Findings::none() };
    let (how, field) = match caution {
        CompassCaution::Blackout => ("cannot be trusted", "2000"),
        CompassCaution::Caution => ("is unsure", "6000"),
    };
    Finding::warning(block.place.at_field("north"), format!("a compass {how} at this block"))
        .because(format!("the horizontal magnetic field is under {field} nT there"))
        .mend("measure the bearing from true north")
        .into()
}

fn compare_with_lines(
    applied: AppliedBearing,
    drawn: Degrees,
    block: &Block,
    findings: &mut Findings,
) {
    let off = axis_difference(applied.true_north, drawn);
    if off.degrees().abs() <= DOUBTFUL_BEARING.degrees() {
        return;
    }
    let place = block.place.at_field("row_bearing");
    let what = format!(
        "the bearing is {} from true north, but the row-lines run {drawn}",
        applied.true_north
    );
    let standing = block.row_lines.iter().any(|line| line.row.is_some());
    if standing && off.degrees().abs() > LARGEST_SPREAD.degrees() {
        let fault = Finding::fault(place, what)
            .because("rows laid beside those that stand would cross them")
            .mend("leave row_bearing out, so that the row-lines give it, or correct the one that is wrong");
        findings.push(fault);
        return;
    }
    let warning = Finding::warning(place, what)
        .because(format!("they differ by {:.1}°; the bearing given is used", off.degrees().abs()))
        .mend("check from which north the bearing was read (\"north\": \"magnetic\" or \"grid\")");
    findings.push(warning);
}

/// The mean direction of the lines drawn along rows, weighted by their length: of those without a
/// number when there are any, else of the rows as surveyed.
fn drawn_bearing(
    block: &Block,
    level: &Frame,
    needed: bool,
    findings: &mut Findings,
) -> Option<Degrees> {
    let unnumbered = block.row_lines.iter().any(|line| line.row.is_none());
    let lines: Vec<Drawn<'_>> = block
        .row_lines
        .iter()
        .filter(|line| line.row.is_none() == unnumbered)
        .filter_map(|line| Drawn::of(line, level))
        .collect();
    let Some(mean) = mean_direction(&lines) else {
        if needed {
            findings.push(no_bearing(block));
        }
        return None;
    };
    // Rows may fan out; that matters only where their mean is all there is.
    let worst = lines.iter().max_by(|a, b| a.off(mean).total_cmp(&b.off(mean)))?;
    if needed && worst.off(mean) > DOUBTFUL_SPREAD.degrees() {
        findings.push(disagreeing(worst, mean));
        if worst.off(mean) > LARGEST_SPREAD.degrees() {
            return None;
        }
    }
    Some(mean)
}

fn no_bearing(block: &Block) -> Finding {
    Finding::fault(block.place.at_field("row_bearing"), "missing")
        .because("neither a bearing nor a row-line of any length says which way the rows run")
        .mend("add \"row_bearing\": 14.5 (degrees clockwise from true north), or draw a row-line")
}

fn disagreeing(worst: &Drawn<'_>, mean: Degrees) -> Finding {
    let off = worst.off(mean);
    let what = format!("this row-line runs {off:.1}° off the mean of the row-lines, {mean}");
    let place = worst.line.place.clone();
    if off > LARGEST_SPREAD.degrees() {
        Finding::fault(place, what)
            .because("lines that far apart give no bearing")
            .mend("give \"row_bearing\", or draw a line along one row only")
    } else {
        Finding::warning(place, what)
            .because("the mean, weighted by length, is the bearing of the block")
            .mend("check the line, or give \"row_bearing\"")
    }
}

/// A line drawn along a row, as metres east and north from its first to its last point.
struct Drawn<'a> {
    line: &'a RowLine,
    east_m: f64,
    north_m: f64,
}

impl<'a> Drawn<'a> {
    fn of(line: &'a RowLine, level: &Frame) -> Option<Self> {
        let (from, to) = ends(&line.line)?;
        let (from, to) = (level.to_row(from), level.to_row(to));
        let (east_m, north_m) = (to.across_m - from.across_m, to.along_m - from.along_m);
        (east_m.hypot(north_m) > SHORTEST_LINE.metres()).then_some(Self { line, east_m, north_m })
    }

    fn direction(&self) -> Degrees {
        Degrees::from_radians(self.east_m.atan2(self.north_m)).normalised()
    }

    /// Degrees between this line and a direction, whichever way the line was drawn.
    fn off(&self, direction: Degrees) -> f64 {
        axis_difference(self.direction(), direction).degrees().abs()
    }
}

/// A line shorter than this has no direction worth the name.
const SHORTEST_LINE: Metres = Metres::new(0.5);

/// The first and the last point of a line in degrees.
fn ends(line: &LineString<f64>) -> Option<(LonLat, LonLat)> {
    let (first, last) = (line.0.first()?, line.0.last()?);
    Some((LonLat::new(first.x, first.y)?, LonLat::new(last.x, last.y)?))
}

/// The mean of the lines, each turned the way the first one runs.
fn mean_direction(lines: &[Drawn<'_>]) -> Option<Degrees> {
    let first = lines.first()?;
    let (mut east_m, mut north_m) = (0.0, 0.0);
    for line in lines {
        let along = line.east_m * first.east_m + line.north_m * first.north_m;
        let way = if along < 0.0 { -1.0 } else { 1.0 };
        east_m += way * line.east_m;
        north_m += way * line.north_m;
    }
    Some(Degrees::from_radians(east_m.atan2(north_m)).normalised())
}

/// The turn between two directions that count the same forwards and backwards, −90 … 90°.
fn axis_difference(one: Degrees, other: Degrees) -> Degrees {
    let turn = (one.degrees() - other.degrees()).rem_euclid(180.0);
    Degrees::new(if turn > 90.0 { turn - 180.0 } else { turn })
}

/// Warns where the numbers of rows that stand grow to the other side than `rows_to` says.
pub(super) fn numbers_grow_across(rows: &[(u32, RowPoint)], place: &Place) -> Option<Finding> {
    let (first, last) = (rows.first()?, rows.last()?);
    let backwards = last.0 > first.0 && last.1.across_m < first.1.across_m;
    backwards.then(|| {
        let what =
            format!("row {} lies on the other side of row {} than `rows_to` says", last.0, first.0);
        Finding::warning(place.at_field("rows_to"), what)
            .because("looking along `row_bearing`, higher rows are expected on that side")
            .mend("turn `row_bearing` by 180°, or set \"rows_to\" to the other side")
    })
}
