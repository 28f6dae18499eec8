//! The files beside a picture that say where it lies: a world file, and the side file of the GDAL
//! library, which names the grid too.
//!
//! A world file speaks of the middle of the upper left cell, a side file of its outer corner.

use quick_xml::escape::escape;

use crate::{
    error::Error,
    grid::{Georeference, Lies},
};

/// The six lines of a world file: what a column adds to x and to y, what a row adds to x and to y,
/// and the middle of the first cell.
pub fn world_file(lies: &Georeference) -> Vec<u8> {
    let affine = &lies.affine;
    let [x, y] = affine.place([0.5, 0.5]);
    // A column first, then a row, x before y: but the file wants x's column, y's column, x's row.
    let lines = [affine.column_x, affine.column_y, affine.row_x, affine.row_y, x, y];
    let lines = lines.map(|number| format!("{number:.9}\r\n"));
    lines.concat().into_bytes()
}

/// The side file `….aux.xml`, which says what the picture is.
///
/// # Errors
/// A grid that PROJ cannot write down.
pub fn side_file(lies: &Georeference, title: &str) -> Result<Vec<u8>, Error> {
    let system = match &lies.lies {
        Lies::Degrees => Some("EPSG:4326".to_owned()),
        Lies::Projected(grid) => grid.wkt(),
    };
    let system = system.ok_or_else(|| Error::Unexpected("a grid without words".to_owned()))?;
    let a = &lies.affine;
    let parts = [a.origin_x, a.column_x, a.row_x, a.origin_y, a.column_y, a.row_y];
    let parts = parts.map(|number| format!("{number:.9}")).join(", ");
    let text = format!(
        "<PAMDataset>\n  <SRS dataAxisToSRSAxisMapping=\"1,2\">{}</SRS>\n  \
         <GeoTransform>{parts}</GeoTransform>\n  \
         <Metadata><MDI key=\"Title\">{}</MDI></Metadata>\n</PAMDataset>\n",
        escape(system.as_str()),
        escape(title)
    );
    Ok(text.into_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{geodesy::GridTransform, grid::Affine};

    fn lies() -> Georeference {
        let affine = Affine {
            origin_x: 452_130.0,
            column_x: 0.25,
            row_x: 0.0,
            origin_y: 6_214_500.0,
            column_y: 0.0,
            row_y: -0.25,
        };
        Georeference { affine, lies: Lies::Projected(GridTransform::new("EPSG:32630").unwrap()) }
    }

    #[test]
    fn a_world_file_speaks_of_the_middle_of_the_first_cell() {
        let text = String::from_utf8(world_file(&lies())).unwrap();
        let lines: Vec<f64> = text.lines().map(|line| line.parse().unwrap()).collect();
        let wanted = [0.25, 0.0, 0.0, -0.25, 452_130.125, 6_214_499.875];
        assert!(lines.iter().zip(wanted).all(|(found, wanted)| (found - wanted).abs() < 1e-9));
        assert_eq!(lines.len(), 6);
    }

    #[test]
    fn a_side_file_speaks_of_its_outer_corner_and_names_the_grid() {
        let text = String::from_utf8(side_file(&lies(), "A & B").unwrap()).unwrap();
        assert!(text.contains("UTM zone 30N") && text.contains("&quot;32630&quot;"), "{text}");
        let corner = "452130.000000000, 0.250000000, 0.000000000, 6214500.000000000";
        assert!(text.contains(corner) && text.contains(">A &amp; B<"), "{text}");
    }
}
