//! Which page shows a block largest: paper upright or level, the furniture beside the map or below
//! it, north up or the rows straight.

use geo::MultiPoint;

use crate::{
    error::Error,
    picture::{
        Paper, PaperPoint, Up,
        furniture::SMALL,
        lettering::wrap,
        map::{Area, Compass, Ladder, Placement, Room},
    },
    units::{Degrees, ReadingUnits},
};

/// Free paper at every edge.
pub(super) const MARGIN_MM: f64 = 12.0;
/// Height of title and subtitle.
const HEAD_MM: f64 = 18.0;
/// Width of the column beside the map.
const COLUMN_MM: f64 = 78.0;
/// A map lower than this is none.
const LEAST_MAP_MM: f64 = 50.0;
/// Paper between columns.
const GUTTER_MM: f64 = 6.0;
/// A turned map must be so much larger than one with north up.
const WORTH_TURNING: f64 = 1.45;

/// What a page is chosen by.
#[derive(Debug, Clone)]
pub(super) struct Wanted<'a> {
    /// The paper.
    pub(super) paper: Paper,
    /// The units it is read in.
    pub(super) units: ReadingUnits,
    /// Which way is up.
    pub(super) up: Up,
    /// The scales that the map may have.
    pub(super) ladder: Ladder,
    /// How row coordinates lie on the compass.
    pub(super) compass: Compass,
    /// All that has to be on the map, metres along and across the rows.
    pub(super) ground: &'a MultiPoint<f64>,
    /// What stands at the foot: each of these would.
    pub(super) cautions: &'a [&'a str],
    /// Height of what stands below the cautions.
    pub(super) below_mm: f64,
    /// Paper kept free around the block for numbers and labels that are led out.
    pub(super) collar_mm: f64,
}

/// A page and where things stand on it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Page {
    /// Width and height of the paper.
    pub(super) paper_mm: [f64; 2],
    /// Where the map goes.
    pub(super) map: Area,
    /// Height of the foot.
    pub(super) foot_mm: f64,
    legend: Legend,
}

/// Where the furniture stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Legend {
    /// At the right of the map.
    Beside,
    /// Below it.
    Below,
}

impl Page {
    /// How many columns of furniture there are, one to three, and how wide each is.
    pub(super) fn columns(&self) -> (u8, f64) {
        let width = self.width_mm();
        let among = |number: f64| (width + GUTTER_MM) / number - GUTTER_MM;
        match self.legend {
            Legend::Beside => (1, COLUMN_MM),
            Legend::Below if width >= 3.0 * COLUMN_MM + 2.0 * GUTTER_MM => (3, among(3.0)),
            Legend::Below => (2, among(2.0)),
        }
    }

    /// The upper left corner of a column, the first being 0.
    pub(super) fn column_corner(&self, at: u8) -> PaperPoint {
        let (_, own) = self.columns();
        let top = self.map.corner.y_mm;
        match self.legend {
            Legend::Beside => PaperPoint::new(MARGIN_MM + self.width_mm() - own, top + 3.0),
            Legend::Below => {
                let x = MARGIN_MM + f64::from(at) * (own + GUTTER_MM);
                PaperPoint::new(x, top + self.map.height_mm + 2.0)
            }
        }
    }

    /// Height that a column may take once the map has its place.
    pub(super) fn column_height_mm(&self, at: u8) -> f64 {
        self.paper_mm[1] - MARGIN_MM - self.foot_mm - self.column_corner(at).y_mm - 1.5
    }

    /// Width between the margins.
    pub(super) fn width_mm(&self) -> f64 {
        self.paper_mm[0] - 2.0 * MARGIN_MM
    }
}

/// The page that shows the block largest, turned as wanted; of itself north up unless turning gains
/// much.
///
/// `tallest` tells the height of the tallest column of furniture on a page.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub(super) fn choose(
    wanted: &Wanted<'_>,
    tallest: impl Fn(&Page) -> Result<f64, Error>,
) -> Result<(Page, Placement), Error> {
    let pages = pages(wanted, tallest)?;
    let best = |ups: &[Degrees]| {
        let fits = pages.iter().flat_map(|page| {
            ups.iter().filter_map(|up| {
                let area = inner(page.map, wanted.collar_mm);
                let room = Room { area, units: wanted.units, ladder: wanted.ladder };
                Some((*page, Placement::fit(wanted.ground, wanted.compass, *up, room)?))
            })
        });
        fits.min_by(|(_, one), (_, other)| one.scale.total_cmp(&other.scale))
    };
    let north = || best(&[Degrees::new(0.0)]);
    let turns = Placement::turns(wanted.compass);
    let found = match wanted.up {
        Up::North => north(),
        Up::Rows => best(&turns[..1]),
        Up::Best => larger(north(), best(&turns)),
    };
    found.ok_or_else(|| Error::Unexpected("a block without an extent cannot be drawn".to_owned()))
}

/// A page with north up, unless a turned one shows the block much larger.
fn larger(
    north: Option<(Page, Placement)>,
    turned: Option<(Page, Placement)>,
) -> Option<(Page, Placement)> {
    let scale =
        |fit: &Option<(Page, Placement)>| fit.as_ref().map(|(_, placement)| placement.scale);
    let gains = scale(&turned)? * WORTH_TURNING <= scale(&north)?;
    if gains { turned } else { north }
}

fn inner(area: Area, collar_mm: f64) -> Area {
    Area {
        corner: PaperPoint::new(area.corner.x_mm + collar_mm, area.corner.y_mm + collar_mm),
        width_mm: area.width_mm - 2.0 * collar_mm,
        height_mm: area.height_mm - 2.0 * collar_mm,
    }
}

/// Upright and level paper, the furniture beside the map or below it.
fn pages(
    wanted: &Wanted<'_>,
    tallest: impl Fn(&Page) -> Result<f64, Error>,
) -> Result<Vec<Page>, Error> {
    let [short, long] = wanted.paper.sides_mm();
    let mut pages = Vec::new();
    for paper_mm in [[long, short], [short, long]] {
        let inside = paper_mm[0] - 2.0 * MARGIN_MM;
        let foot_mm =
            2.0 + SMALL.size_mm * 1.32 * lines(wanted.cautions, inside)? + wanted.below_mm;
        let top = MARGIN_MM + HEAD_MM;
        let height_mm = paper_mm[1] - MARGIN_MM - foot_mm - top;
        let corner = PaperPoint::new(MARGIN_MM, top);
        let map = Area { corner, width_mm: inside, height_mm };
        for legend in [Legend::Beside, Legend::Below] {
            let page = Page { paper_mm, map, foot_mm, legend };
            pages.extend(with_furniture(page, tallest(&page)?));
        }
    }
    Ok(pages)
}

/// A page whose map takes what the furniture leaves, if that is a map's worth.
fn with_furniture(page: Page, tallest_mm: f64) -> Option<Page> {
    let whole = page.map;
    let needed = tallest_mm + 1.5;
    let map = match page.legend {
        Legend::Beside => Area { width_mm: whole.width_mm - COLUMN_MM - GUTTER_MM, ..whole },
        Legend::Below => Area { height_mm: whole.height_mm - needed - 2.0, ..whole },
    };
    let fits = page.legend == Legend::Below || needed + 3.0 <= whole.height_mm;
    (fits && map.height_mm > LEAST_MAP_MM).then_some(Page { map, ..page })
}

/// The most lines that any of these takes.
fn lines(cautions: &[&str], width_mm: f64) -> Result<f64, Error> {
    let mut most = 0;
    for words in cautions {
        most = most.max(wrap(words, SMALL, width_mm)?.len());
    }
    Ok(crate::maths::float(most))
}
