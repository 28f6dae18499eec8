//! Which page shows a block largest: paper upright or level, the legend beside the map or below it,
//! north up or the rows straight.

use geo::{ConvexHull as _, MultiPoint, Point};

use crate::{
    error::Error,
    picture::{
        Mark, PaperPoint, compass,
        furniture::{Furniture, SMALL},
        legend,
        lettering::wrap,
        looks::Size,
        map::{Area, Placement},
        subject::Subject,
    },
    units::Degrees,
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
/// Paper kept free around the block for row numbers and labels that are led out.
const COLLAR_MM: f64 = 9.0;
/// A turned map must be so much larger than one with north up.
const WORTH_TURNING: f64 = 1.45;

/// A page and where things stand on it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Page {
    /// Width and height of the paper.
    pub(super) paper_mm: [f64; 2],
    /// Where the map goes.
    pub(super) map: Area,
    /// Height of the cautions.
    pub(super) foot_mm: f64,
    legend: Legend,
}

/// Where the legend stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Legend {
    /// At the right of the map.
    Beside,
    /// Below it.
    Below,
}

impl Page {
    /// Legend, compass and scale bar in their places.
    ///
    /// # Errors
    /// When a letter has no shape.
    pub(super) fn furniture(
        &self,
        subject: &Subject,
        placement: &Placement,
        size: Size,
    ) -> Result<Vec<Mark>, Error> {
        let top = match self.legend {
            Legend::Beside => self.map.corner.y_mm,
            Legend::Below => self.map.corner.y_mm + self.map.height_mm,
        };
        let columns = columns(subject, Some((placement, size)), self)?.into_iter();
        let marks = columns.flat_map(|column| {
            column.furniture.at(PaperPoint::new(MARGIN_MM + column.x_mm, top + column.y_mm))
        });
        Ok(marks.collect())
    }
}

/// The page and the turn that show the block largest; north up unless turning gains much.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub(super) fn choose(subject: &Subject) -> Result<(Page, Placement), Error> {
    let pages = pages(subject)?;
    let ground = extremes(subject);
    let best = |ups: &[Degrees]| {
        let fits = pages.iter().flat_map(|page| {
            ups.iter().filter_map(|up| {
                let area = (inner(page.map), subject.units);
                Some((*page, Placement::fit(&ground, subject.compass, *up, area)?))
            })
        });
        fits.min_by(|(_, one), (_, other)| one.scale.total_cmp(&other.scale))
    };
    let north_up = best(&[Degrees::new(0.0)]);
    let turned = best(&Placement::turns(subject.compass));
    match (north_up, turned) {
        (Some(north), Some(turned)) if turned.1.scale * WORTH_TURNING <= north.1.scale => {
            Ok(turned)
        }
        (Some(north), _) => Ok(north),
        (None, _) => Err(Error::Unexpected("a block without an extent cannot be drawn".to_owned())),
    }
}

/// All that has to be on the map: vines may stand beyond an outline that was drawn roughly.
fn extremes(subject: &Subject) -> MultiPoint<f64> {
    let outlines = std::iter::once(&subject.outline);
    let shapes = outlines.chain(subject.zones.iter().map(|zone| &zone.shape));
    let corners = shapes.flat_map(|shape| shape.iter().flat_map(|part| part.exterior().points()));
    let vines = subject.vines.iter().map(|vine| Point::new(vine.at.along_m, vine.at.across_m));
    // Nothing but a hull decides, and a block of 30 000 vines has a small one.
    let all: MultiPoint<f64> = corners.chain(vines).collect();
    all.convex_hull().exterior().points().collect()
}

fn inner(area: Area) -> Area {
    Area {
        corner: PaperPoint::new(area.corner.x_mm + COLLAR_MM, area.corner.y_mm + COLLAR_MM),
        width_mm: area.width_mm - 2.0 * COLLAR_MM,
        height_mm: area.height_mm - 2.0 * COLLAR_MM,
    }
}

/// Upright and level paper, the legend beside the map or below it.
fn pages(subject: &Subject) -> Result<Vec<Page>, Error> {
    let [short, long] = subject.paper.sides_mm();
    let mut pages = Vec::new();
    for paper_mm in [[long, short], [short, long]] {
        let inside = paper_mm[0] - 2.0 * MARGIN_MM;
        let foot_mm = 2.0 + SMALL.size_mm * 1.32 * lines(&subject.cautions, inside)?;
        let top = MARGIN_MM + HEAD_MM;
        let height_mm = paper_mm[1] - MARGIN_MM - foot_mm - top;
        let corner = PaperPoint::new(MARGIN_MM, top);
        let map = Area { corner, width_mm: inside, height_mm };
        for legend in [Legend::Beside, Legend::Below] {
            pages.extend(with_legend(subject, Page { paper_mm, map, foot_mm, legend })?);
        }
    }
    Ok(pages)
}

/// A page whose map takes what the legend leaves, if that is a map's worth.
fn with_legend(subject: &Subject, page: Page) -> Result<Option<Page>, Error> {
    let whole = page.map;
    let feet = columns(subject, None, &page)?.iter().map(Column::foot_mm).fold(0.0, f64::max);
    let needed = feet + 1.5;
    let map = match page.legend {
        Legend::Beside => Area { width_mm: whole.width_mm - COLUMN_MM - GUTTER_MM, ..whole },
        Legend::Below => Area { height_mm: whole.height_mm - needed, ..whole },
    };
    let fits = page.legend == Legend::Below || needed <= whole.height_mm;
    Ok((fits && map.height_mm > LEAST_MAP_MM).then_some(Page { map, ..page }))
}

fn lines(words: &str, width_mm: f64) -> Result<f64, Error> {
    Ok(crate::maths::float(wrap(words, SMALL, width_mm)?.len()))
}

/// Some furniture and where its corner stands, from that of the paper left for all columns.
#[derive(Debug, Clone)]
struct Column {
    x_mm: f64,
    y_mm: f64,
    furniture: Furniture,
}

impl Column {
    fn foot_mm(&self) -> f64 {
        self.y_mm + self.furniture.height_mm
    }
}

/// Legend, compass and scale bar in columns. Without a placement, only their heights are right.
fn columns(
    subject: &Subject,
    placed: Option<(&Placement, Size)>,
    page: &Page,
) -> Result<Vec<Column>, Error> {
    let width = page.paper_mm[0] - 2.0 * MARGIN_MM;
    let number = match page.legend {
        Legend::Beside => 1.0,
        Legend::Below if width >= 3.0 * COLUMN_MM + 2.0 * GUTTER_MM => 3.0,
        Legend::Below => 2.0,
    };
    let own = if number > 1.0 { (width + GUTTER_MM) / number - GUTTER_MM } else { COLUMN_MM };
    let size = placed.map_or(Size::Strip(1.0), |(_, size)| size);
    let mut ladder = legend::ladder(subject, size, own)?;
    let mut others = legend::others(subject, size, own)?;
    let compass = placed.map_or_else(compass::room_for_compass, |(placement, _)| {
        compass::compass_and_bar(subject, placement, own)
    });
    let column = |at: f64, furniture| Column { x_mm: at * (own + GUTTER_MM), y_mm: 2.0, furniture };
    if number > 2.0 {
        return Ok(vec![column(0.0, ladder), column(1.0, others), column(2.0, compass)]);
    }
    if number > 1.0 {
        others.space(3.0);
        others.below(compass);
        return Ok(vec![column(0.0, ladder), column(1.0, others)]);
    }
    ladder.space(1.5);
    ladder.below(others);
    ladder.space(5.0);
    ladder.below(compass);
    Ok(vec![Column { x_mm: width - own, y_mm: 3.0, furniture: ladder }])
}
