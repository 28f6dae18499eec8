//! `guidance-ab.geojson` and `guidance-ab.kml`: a straight A–B line for every piece of row.

use super::{
    ground::{Ground, STAKE_DECIMALS, letter},
    property::Properties,
};
use crate::{
    error::Error,
    frame::{RowPoint, Site},
    geodesy::{LonLat, azimuth},
    layout::{Layout, Piece},
    units::ReadingUnits,
    write::{
        Column,
        Kind::{Integer, Number, Text},
        Layer, Shape,
        kml::{Colour, KmlFolder, KmlMap, KmlStyle, Placemark, kml},
    },
};

/// The A–B lines: A is the end post at vine 1's end, B the one at the far end.
pub fn guidance(site: &Site, layout: &Layout) -> Layer {
    let ground = Ground::new(site, layout);
    let facts = layout.pieces.iter().filter_map(|piece| AbFacts::of(&ground, piece));
    let things = facts.map(|line| (Shape::Line(vec![line.a, line.b]), line));
    properties().layer("guidance-ab", STAKE_DECIMALS, things)
}

/// The same lines for a globe viewer or a guidance screen that reads KML.
///
/// # Errors
/// A fault of the program: the map cannot be written.
pub fn guidance_kml(site: &Site, layout: &Layout, units: ReadingUnits) -> Result<Vec<u8>, Error> {
    let ground = Ground::new(site, layout);
    let lines = layout.pieces.iter().filter_map(|piece| AbFacts::of(&ground, piece));
    let placemarks = lines.map(|line| Placemark {
        name: line.id(),
        balloon: vec![line.words(units)],
        style: "ab",
        shape: Shape::Line(vec![line.a, line.b]),
    });
    let yellow = Colour { red: 0xff, green: 0xd1, blue: 0x1a, opacity: 0xff };
    kml(&KmlMap {
        name: format!("{} A-B lines", site.name),
        styles: vec![KmlStyle { id: "ab", line: yellow, width: 2.0, fill: None }],
        pictures: Vec::new(),
        folders: vec![KmlFolder { name: "Rows".to_owned(), placemarks: placemarks.collect() }],
        decimals: STAKE_DECIMALS,
    })
}

pub(super) struct AbFacts<'a> {
    ground: Ground<'a>,
    piece: &'a Piece,
    a: LonLat,
    b: LonLat,
}

impl<'a> AbFacts<'a> {
    /// A piece without length has no direction, and no line.
    fn of(ground: &Ground<'a>, piece: &'a Piece) -> Option<Self> {
        let (first, last) = (piece.path.0.first()?, piece.path.0.last()?);
        if first == last {
            return None;
        }
        let place = |c: &geo::Coord<f64>| {
            ground.site.frame.to_lon_lat(RowPoint { along_m: c.x, across_m: c.y })
        };
        Some(Self { ground: ground.clone(), piece, a: place(first), b: place(last) })
    }

    fn id(&self) -> String {
        self.ground.layout.digits.piece(self.piece.row, self.piece.letter)
    }

    fn heading_deg(&self) -> f64 {
        azimuth(self.a, self.b).degrees()
    }

    fn length_m(&self) -> f64 {
        let [first, last] = [self.piece.path.0.first(), self.piece.path.0.last()];
        first.zip(last).map_or(0.0, |(a, b)| (a.x - b.x).hypot(a.y - b.y))
    }

    fn bend_m(&self) -> f64 {
        self.piece.bend().metres()
    }

    fn words(&self, units: ReadingUnits) -> String {
        let length = match units {
            ReadingUnits::Metric => format!("{:.2} m", self.length_m()),
            ReadingUnits::Us => {
                format!("{:.2} ft", crate::units::Metres::new(self.length_m()).feet())
            }
        };
        format!("heading {:.4}° from true north at A, {length}", self.heading_deg())
    }
}

pub(super) fn columns() -> Vec<Column> {
    properties().columns().to_vec()
}

fn properties<'a>() -> Properties<'a, AbFacts<'a>> {
    Properties::<'a, AbFacts<'a>>::new()
        .column("id", Text, "", "the piece's id, such as R012 or R012a")
        .is(AbFacts::id)
        .column("block", Text, "", "the block's name")
        .is(|line| line.ground.block.clone())
        .column("row", Integer, "", "the row's number")
        .is(|line| line.piece.row)
        .column("piece", Text, "", "the piece's letter; null for a row in one piece")
        .is(|line| letter(line.piece))
        .column("heading_deg", Number(6), "degrees", "from A to B at A, clockwise from true north")
        .is(AbFacts::heading_deg)
        .column("length_m", Number(3), "metres", "from A to B, straight")
        .is(AbFacts::length_m)
        .column("bend_m", Number(3), "metres", "how far the row leaves the straight line at most")
        .is(AbFacts::bend_m)
}
