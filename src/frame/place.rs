//! A block put on its plane: origin, frame, and every shape in metres.

use geo::{
    Area, BoundingRect, Centroid, Coord, CoordsIter, LineString, MultiPolygon, Orient,
    orient::Direction,
};

use super::{
    AppliedBearing, Frame, RowPoint, Site, SiteKeepOut, StandingRow,
    bearing::{applied_bearing, numbers_grow_across},
    same_number::drawn_twice,
};
use crate::{
    block::{Block, RowLine, RowsTo},
    error::Error,
    finding::{Finding, Findings},
    geodesy::{LonLat, distance},
    settings::{PlantingRules, RowRules},
    units::{Degrees, Metres},
};

/// No vines grow nearer to a pole, and meridians run together there.
const HIGHEST_LATITUDE: f64 = 84.0;
/// A block this long is no block: 500 hectares are 2 km by 2.5.
const LARGEST_EXTENT: Metres = Metres::new(20_000.0);

/// Puts a block on its plane.
///
/// # Errors
/// When the bearing cannot be had (none given, a magnetic one without a date or outside the
/// model's years, a grid one without a grid), or the block is too large, too near a pole or lies
/// across the 180° meridian.
pub fn place_block(
    block: &Block,
    rules: RowRules,
    plantings: PlantingRules,
) -> Result<(Site, Findings), Error> {
    let mut findings = Findings::none();
    let origin = origin(block).map_err(Error::Input)?;
    let placed = frame(block, &rules, origin, &mut findings).map_err(Error::Input)?;
    let Some(frame) = placed else { return Err(Error::Input(findings)) };
    let standing_rows = standing_rows(block, &frame, rules.vine_spacing, &mut findings);
    if findings.any_fault() {
        return Err(Error::Input(findings));
    }
    let site = Site {
        name: block.name.clone(),
        outline: frame.shape_to_rows(&block.outline).orient(Direction::Default),
        outline_origin: block.keys.outline_origin.clone(),
        keep_outs: keep_outs(block, &frame, &rules),
        standing_rows,
        row_line: block
            .row_lines
            .iter()
            .filter(|line| line.row.is_none())
            .find_map(|line| path_along(line, &frame)),
        zones: zones(block, &frame),
        controls: block.controls.clone(),
        row_list: block
            .row_list
            .iter()
            .map(|row| (row.clone(), row.start.map(|start| frame.to_row(start))))
            .collect(),
        given_vines: block
            .vines
            .iter()
            .map(|given| (given.row, given.vine, frame.to_row(given.at)))
            .collect(),
        missing: block.keys.missing.clone(),
        terrain: None,
        frame,
        rules,
        plantings,
    };
    Ok((site, findings))
}

/// The area centroid of the outline, rounded to a hundredth of a millimetre.
fn origin(block: &Block) -> Result<LonLat, Findings> {
    let fault = |what: &str, why: &str, mend: &str| {
        Findings::from(Finding::fault(block.place.clone(), what).because(why).mend(mend))
    };
    let empty = || fault("the outline holds no ground", "", "draw the block as a polygon");
    let bounds = block.outline.bounding_rect().ok_or_else(empty)?;
    let corner = |c: Coord<f64>| LonLat::new(c.x, c.y).ok_or_else(empty);
    let (low, high) = (corner(bounds.min())?, corner(bounds.max())?);
    if high.lon() - low.lon() > 180.0 {
        return Err(fault(
            "the outline lies across the 180° meridian",
            "its two halves are at opposite ends of the map",
            "split it there into two blocks",
        ));
    }
    if low.lat().abs().max(high.lat().abs()) > HIGHEST_LATITUDE {
        return Err(fault(
            "the block lies at a pole",
            "bearings have no meaning there",
            "check the order of longitude and latitude (--swap-axes)",
        ));
    }
    let extent = distance(low, high).metres();
    if extent > LARGEST_EXTENT.metres() {
        return Err(fault(
            &format!("the block is {:.0} km across", extent / 1000.0),
            "no plane is true to the millimetre over more than 20 km",
            "check the coordinates, or split the outline into blocks",
        ));
    }
    centroid(&block.outline).ok_or_else(empty)
}

/// The centroid in degrees is some centimetres off that of the ground, so it is taken again on a
/// plane there.
fn centroid(outline: &MultiPolygon<f64>) -> Option<LonLat> {
    let rough = outline.centroid().and_then(|c| LonLat::new(c.x(), c.y()))?;
    let frame = level_frame(rough)?;
    let shape = frame.shape_to_rows(outline);
    if shape.unsigned_area() <= 0.0 {
        return None;
    }
    let fine = shape.centroid()?;
    let at = frame.to_lon_lat(RowPoint { along_m: fine.x(), across_m: fine.y() });
    let rounded = |degrees: f64| (degrees * 1e10).round() / 1e10;
    LonLat::new(rounded(at.lon()), rounded(at.lat()))
}

/// A frame with bearing 0 at height 0: along is north, across is east.
fn level_frame(origin: LonLat) -> Option<Frame> {
    let north = AppliedBearing::from_true_north(Degrees::new(0.0));
    Frame::new(origin, Metres::new(0.0), north, RowsTo::Right).ok()
}

fn frame(
    block: &Block,
    rules: &RowRules,
    origin: LonLat,
    findings: &mut Findings,
) -> Result<Option<Frame>, Findings> {
    let refuse = || {
        Findings::from(Finding::fault(block.place.clone(), "PROJ refused the plane of this block"))
    };
    let level = level_frame(origin).ok_or_else(refuse)?;
    let Some(bearing) = applied_bearing(block, rules, origin, &level, findings) else {
        return Ok(None);
    };
    let frame = Frame::new(origin, rules.elevation, bearing, rules.rows_to);
    let frame = frame.map_err(|refusal| Findings::from(refusal.at(block.place.clone())))?;
    Ok(Some(frame.measured_at(westmost_and_eastmost(&block.outline))))
}

/// Where the scale of a transverse Mercator plane is furthest from 1.
fn westmost_and_eastmost(outline: &MultiPolygon<f64>) -> impl Iterator<Item = LonLat> {
    let corners = || outline.coords_iter();
    let west = corners().min_by(|a, b| a.x.total_cmp(&b.x));
    let east = corners().max_by(|a, b| a.x.total_cmp(&b.x));
    [west, east].into_iter().flatten().filter_map(|c| LonLat::new(c.x, c.y))
}

fn keep_outs(block: &Block, frame: &Frame, rules: &RowRules) -> Vec<SiteKeepOut> {
    let default = Metres::new(rules.vine_spacing.metres() / 2.0);
    let on_plane = block.keep_outs.iter().map(|keep_out| SiteKeepOut {
        name: keep_out.name.clone(),
        shape: frame.shape_to_rows(&keep_out.shape).orient(Direction::Default),
        clearance: keep_out.clearance.unwrap_or(default),
        turning: keep_out.turning,
    });
    on_plane.collect()
}

fn zones(block: &Block, frame: &Frame) -> Vec<(String, geo::Polygon<f64>)> {
    let on_plane = block.zones.iter().map(|zone| {
        (zone.name.clone(), frame.shape_to_rows(&zone.shape).orient(Direction::Default))
    });
    on_plane.collect()
}

fn standing_rows(
    block: &Block,
    frame: &Frame,
    vine_spacing: Metres,
    findings: &mut Findings,
) -> Vec<StandingRow> {
    let numbered = block.row_lines.iter().filter_map(|line| line.row.map(|row| (row, line)));
    let mut drawn: Vec<(u32, &RowLine, LineString<f64>)> = Vec::new();
    for (number, line) in numbered {
        match path_along(line, frame) {
            Some(path) => drawn.push((number, line, path)),
            None => findings.push(no_length(number, line)),
        }
    }
    findings.extend(drawn_twice(drawn.iter().map(|(row, line, p)| (*row, *line, p)), vine_spacing));
    let standing = drawn.into_iter().map(|(number, line, path)| StandingRow {
        number,
        path,
        vines: line.vines,
        skipped: line.skipped.clone(),
        end_gap: line.end_gap,
    });
    let mut rows: Vec<StandingRow> = standing.collect();
    rows.sort_by(|a, b| {
        let start = |row: &StandingRow| row.path.0.first().map_or(0.0, |c| c.x);
        a.number.cmp(&b.number).then(start(a).total_cmp(&start(b)))
    });
    let starts: Vec<(u32, RowPoint)> = rows
        .iter()
        .filter_map(|row| {
            let at = row.path.0.first()?;
            Some((row.number, RowPoint { along_m: at.x, across_m: at.y }))
        })
        .collect();
    if let Some(finding) = numbers_grow_across(&starts, &block.place) {
        findings.push(finding);
    }
    rows
}

/// The line on the plane, without points that repeat, along the bearing; `None` without length.
fn path_along(line: &RowLine, frame: &Frame) -> Option<LineString<f64>> {
    let mut path = frame.shape_to_rows(&line.line);
    path.0.dedup();
    let (first, last) = (path.0.first()?, path.0.last()?);
    if path.0.len() < 2 {
        return None;
    }
    if last.x < first.x {
        path.0.reverse();
    }
    Some(path)
}

fn no_length(number: u32, line: &RowLine) -> Finding {
    Finding::fault(line.place.clone(), format!("the row-line of row {number} has no length"))
        .because("its ends are the end posts of the row")
        .mend("draw it from end post to end post, or remove it")
}

#[cfg(test)]
mod tests {
    use geo::polygon;

    use super::*;
    use crate::{
        block::{BlockKeys, North},
        finding::Place,
        settings::{Circumstances, Settings, planting_rules, row_rules},
    };

    fn block(west: f64, south: f64, width: f64, height: f64) -> Block {
        let (east, north) = (west + width, south + height);
        let ring = polygon![
            (x: west, y: south), (x: east, y: south), (x: east, y: north), (x: west, y: north),
        ];
        let keys = BlockKeys {
            row_bearing: Some(Degrees::new(10.0)),
            row_spacing: Some(Metres::new(2.5)),
            vine_spacing: Some(Metres::new(1.2)),
            ..BlockKeys::default()
        };
        Block {
            name: "North".parse().unwrap(),
            outline: MultiPolygon::new(vec![ring]),
            keys,
            keep_outs: Vec::new(),
            row_lines: Vec::new(),
            zones: Vec::new(),
            controls: Vec::new(),
            row_list: Vec::new(),
            vines: Vec::new(),
            place: Place::file("blocks.geojson"),
        }
    }

    fn place(block: &Block) -> Result<(Site, Findings), Error> {
        let circumstances = Circumstances {
            defaults: Settings::default().layout(),
            standing: Some(true),
            allow_unusual: true,
            grid: Some("EPSG:32618".to_owned()),
        };
        place_block(block, row_rules(block, &circumstances).unwrap(), planting_rules(block))
    }

    #[track_caller]
    fn refused(block: &Block, words: &str) {
        let message = place(block).unwrap_err().to_string();
        assert!(message.contains(words), "{message}");
    }

    fn line(row: Option<u32>, points: &[(f64, f64)]) -> RowLine {
        let line = LineString::from(points.to_vec());
        RowLine {
            line,
            row,
            vines: None,
            skipped: std::collections::BTreeSet::new(),
            end_gap: None,
            place: Place::file("rows.geojson"),
        }
    }

    #[test]
    fn the_frame_lies_at_the_area_centroid() {
        let (site, findings) = place(&block(-73.202, 44.449, 0.004, 0.002)).unwrap();
        assert!(findings.is_empty(), "{findings:?}");
        let centroid = site.outline.centroid().unwrap();
        assert!(centroid.x().hypot(centroid.y()) < 1e-4, "{centroid:?}");
        assert!(site.frame.proj_string().starts_with("+proj=tmerc +lat_0=44."));
        let ppm = site.frame.largest_scale_error_ppm();
        // 159 m east of the origin: x² / 2R² = 3.1e-10.
        assert!((2e-4..5e-4).contains(&ppm), "{ppm} ppm");
    }

    #[test]
    fn blocks_that_no_plane_holds_are_refused() {
        refused(&block(-179.99, -44.0, 359.98, 0.01), "180° meridian");
        refused(&block(20.0, 84.5, 0.01, 0.01), "at a pole");
        refused(&block(20.0, 44.0, 0.3, 0.01), "24 km across");
        refused(&block(20.0, 44.0, 0.0, 0.01), "holds no ground");
        let north = Some(North::Magnetic);
        let mut compass = block(20.0, 44.0, 0.01, 0.01);
        compass.keys.north = north;
        compass.keys.date = Some(jiff::civil::date(2009, 4, 1));
        refused(&compass, "from 2020 to 2029");
    }

    #[test]
    fn a_compass_bearing_is_turned_by_the_declination_and_a_grid_one_by_the_convergence() {
        let mut compass = block(-73.202, 44.449, 0.004, 0.002);
        compass.keys.north = Some(North::Magnetic);
        compass.keys.date = Some(jiff::civil::date(2026, 5, 1));
        let bearing = place(&compass).unwrap().0.frame.bearing();
        let turned = bearing.true_north.degrees() - 360.0;
        assert!((turned - (10.0 + bearing.correction.degrees())).abs() < 1e-9, "{bearing:?}");
        // Vermont: about 13 to 14° west (from memory of NOAA's declination map).
        assert!((-14.5..-12.5).contains(&bearing.correction.degrees()), "{bearing:?}");
        assert!(bearing.uncertainty.unwrap().degrees() > 0.2);
        let mut grid = block(-73.202, 44.449, 0.004, 0.002);
        grid.keys.north = Some(North::Grid);
        let bearing = place(&grid).unwrap().0.frame.bearing();
        assert!((bearing.true_north.degrees() - 11.2607).abs() < 1e-3, "{bearing:?}");
    }

    #[test]
    fn row_lines_give_the_bearing_and_run_along_it() {
        let mut rows = block(20.0, 44.0, 0.002, 0.002);
        rows.keys.row_bearing = None;
        rows.row_lines = vec![
            line(Some(2), &[(20.001, 44.0001), (20.001, 44.0015)]),
            line(Some(1), &[(20.0005, 44.0015), (20.0005, 44.0001)]),
        ];
        let (site, findings) = place(&rows).unwrap();
        let bearing = site.frame.bearing().true_north.degrees();
        assert!(bearing.min(360.0 - bearing) < 0.001, "{bearing}");
        assert_eq!(site.standing_rows.iter().map(|row| row.number).collect::<Vec<_>>(), [1, 2]);
        for row in &site.standing_rows {
            assert!(row.path.0[0].x < row.path.0[1].x, "{row:?}");
        }
        assert_eq!(findings.iter().count(), 1, "{findings:?}");
        rows.row_lines.push(line(Some(3), &[(20.0015, 44.0001), (20.0018, 44.0001)]));
        refused(&rows, "row-line runs");
        rows.keys.row_bearing = Some(Degrees::new(180.0));
        let (_, findings) = place(&rows).unwrap();
        assert_eq!(findings.iter().count(), 2, "{findings:?}");
        assert!(findings.iter().any(|f| f.place.field.as_deref() == Some("rows_to")));
        rows.row_lines = vec![line(Some(7), &[(20.0, 44.0), (20.0, 44.0)])];
        refused(&rows, "row 7 has no length");
    }

    #[test]
    fn a_bearing_that_the_row_lines_contradict_is_doubted() {
        let mut rows = block(20.0, 44.0, 0.002, 0.002);
        rows.row_lines = vec![line(None, &[(20.001, 44.0001), (20.001, 44.0015)])];
        let (site, findings) = place(&rows).unwrap();
        assert!(site.standing_rows.is_empty());
        assert!(findings.iter().any(|f| f.why.contains("differ by 10.0°")), "{findings:?}");
    }
}
