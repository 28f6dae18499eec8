//! A whole layout in one file: `block.gpkg` for desktop programs, `block.kmz` for globe viewers.

use super::{
    ground::{Ground, MAP_DECIMALS},
    outlines,
    posts::posts,
    rows::rows,
    vines::planted_vines,
};
use crate::{
    error::Error,
    frame::{Site, SiteKeepOut},
    layout::{Layout, Piece},
    units::{Metres, ReadingUnits},
    write::{
        geopackage::geopackage,
        kml::{Colour, KmlFolder, KmlMap, KmlStyle, Placemark, kmz},
    },
};

/// Block, keep-outs, rows, vines and posts as the bytes of a GeoPackage.
///
/// # Errors
/// A fault of the program: the database cannot be written.
pub fn planting_gpkg(site: &Site, layout: &Layout) -> Result<Vec<u8>, Error> {
    geopackage(&[
        &outlines::block(site, layout),
        &outlines::keep_outs(site, layout),
        &rows(site, layout),
        &planted_vines(site, layout),
        &posts(site, layout),
    ])
}

/// The same for a globe viewer, rows with balloons in plain words; single vines are left out, since
/// viewers grow slow with thousands of marks.
///
/// # Errors
/// A fault of the program: the map cannot be written.
pub fn planting_kmz(site: &Site, layout: &Layout, units: ReadingUnits) -> Result<Vec<u8>, Error> {
    let telling = Telling { ground: Ground::new(site, layout), units };
    let folder = |name: &str, placemarks| KmlFolder { name: name.to_owned(), placemarks };
    kmz(&KmlMap {
        name: site.name.to_string(),
        styles: styles(),
        pictures: Vec::new(),
        folders: vec![
            folder("Block", vec![telling.block()]),
            folder("Keep-outs", site.keep_outs.iter().map(|kept| telling.keep_out(kept)).collect()),
            folder("Rows", layout.pieces.iter().map(|piece| telling.row(piece)).collect()),
        ],
        decimals: MAP_DECIMALS,
    })
}

fn styles() -> Vec<KmlStyle> {
    let colour = |[red, green, blue]: [u8; 3], opacity| Colour { red, green, blue, opacity };
    let (ochre, brick) = ([0xf2, 0xc1, 0x4e], [0xb5, 0x47, 0x2f]);
    vec![
        KmlStyle { id: "block", line: colour(ochre, 0xff), width: 3.0, fill: None },
        KmlStyle {
            id: "keep-out",
            line: colour(brick, 0xff),
            width: 2.0,
            fill: Some(colour(brick, 0x59)),
        },
        KmlStyle { id: "row", line: colour([0xff; 3], 0xd9), width: 1.5, fill: None },
        KmlStyle { id: "row-1", line: colour([0x7b, 0xe0, 0xf2], 0xff), width: 4.0, fill: None },
    ]
}

/// What is said of the things of a planting.
struct Telling<'a> {
    ground: Ground<'a>,
    units: ReadingUnits,
}

impl Telling<'_> {
    fn block(&self) -> Placemark {
        let (site, quantities) = (self.ground.site, &self.ground.layout.quantities);
        let rules = &site.rules;
        Placemark {
            name: site.name.to_string(),
            balloon: vec![
                format!("{} rows, {} places for vines.", quantities.rows, quantities.vines),
                format!(
                    "Rows run at {:.2}° from true north, {} apart, vines {} apart.",
                    site.frame.bearing().true_north.degrees(),
                    self.length(rules.row_spacing.metres(), 2),
                    self.length(rules.vine_spacing.metres(), 2),
                ),
                "The outline is as it was drawn or surveyed; it is not a legal boundary."
                    .to_owned(),
            ],
            style: "block",
            shape: self.ground.areas(&site.outline),
        }
    }

    fn keep_out(&self, kept: &SiteKeepOut) -> Placemark {
        let clear = self.length(kept.clearance.metres(), 2);
        let turning = if kept.turning { " Rows end here and machines turn." } else { "" };
        Placemark {
            name: kept.name.clone().unwrap_or_else(|| "keep-out".to_owned()),
            balloon: vec![format!("Not planted; {clear} clear around it.{turning}")],
            style: "keep-out",
            shape: self.ground.areas(&kept.shape),
        }
    }

    fn row(&self, piece: &Piece) -> Placemark {
        let layout = self.ground.layout;
        let length = self.length(piece.length_m, 1);
        let cultivar = self.ground.cultivar_of_row(piece.row);
        let first = layout.rows.first().is_some_and(|row| row.number == piece.row);
        let mut balloon =
            vec![format!("{} vines, {length} from end post to end post.", piece.vines.len())];
        balloon.extend(cultivar.map(|cultivar| format!("Cultivar: {cultivar}.")));
        Placemark {
            name: layout.digits.piece(piece.row, piece.letter),
            balloon,
            style: if first { "row-1" } else { "row" },
            shape: self.ground.line(&piece.path),
        }
    }

    /// A length in the reader's units.
    fn length(&self, metres: f64, decimals: usize) -> String {
        match self.units {
            ReadingUnits::Metric => format!("{metres:.decimals$} m"),
            ReadingUnits::Us => format!("{:.decimals$} ft", Metres::new(metres).feet()),
        }
    }
}
