//! The page: title, map, legend, compass and cautions, upright or level, whichever shows the block
//! larger.

use geo::{ConvexHull as _, MultiPoint, Point};

use crate::{
    error::Error,
    picture::{
        Anchor, Hand, Lettering, Mark, Outline, PaperPoint, Scene, Shape, Stroke,
        colours::{INK, RULE, SOFT_INK},
        furniture,
        labels::Labels,
        legend::{self, Furniture, SMALL},
        lettering::{shorten, width_mm, wrap},
        map::{Area, Placement},
        marks::{self, Size},
        subject::Subject,
    },
    units::Degrees,
};

/// The title.
const TITLE: Hand = Hand { size_mm: 7.0, bold: true };
/// The title where the name is long.
const SMALL_TITLE: Hand = Hand { size_mm: 5.4, bold: true };
/// The line below it.
const SUBTITLE: Hand = Hand { size_mm: 4.4, bold: false };
/// Free paper at every edge.
const MARGIN_MM: f64 = 12.0;
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
struct Page {
    paper_mm: [f64; 2],
    map: Area,
    foot_mm: f64,
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

/// Composes the page of a map.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub(super) fn compose(subject: &Subject) -> Result<Scene, Error> {
    let (page, placement) = choose(subject)?;
    let size = Size::at(&placement, subject.gaps_m);
    let mut marks = head(subject, &page)?;
    marks.extend(marks::ground(subject, &placement));
    marks.extend(marks::vines(subject, &placement, size));
    marks.extend(marks::zones(subject, &placement));
    let measured = marks::measured_places(subject, &placement);
    marks.extend(marks::measured(&measured, size));
    let (numbers, mut taken) = furniture::row_numbers(subject, (&placement, size), page.map)?;
    let (names, named) = furniture::ground_names(subject, &placement)?;
    marks.extend(numbers.into_iter().chain(names));
    taken.extend(named);
    let spared: Vec<PaperPoint> = measured.into_iter().flatten().collect();
    let mut labels = Labels::new(page.map, &placement.polygon(&subject.outline), taken, &spared);
    for zone in &subject.zones {
        labels.place(&placement.polygon(&zone.shape), &zone.name, &zone.words)?;
    }
    marks.extend(labels.into_marks());
    let top = match page.legend {
        Legend::Beside => page.map.corner.y_mm,
        Legend::Below => page.map.corner.y_mm + page.map.height_mm,
    };
    for column in columns(subject, Some((&placement, size)), &page)? {
        let corner = PaperPoint::new(MARGIN_MM + column.x_mm, top + column.y_mm);
        marks.extend(column.furniture.at(corner));
    }
    marks.extend(foot(subject, &page)?);
    Ok(Scene {
        paper_mm: page.paper_mm,
        title: format!("{}: {}", subject.block, subject.quantity),
        marks,
    })
}

/// The page and the turn that show the block largest; north up unless turning gains much.
fn choose(subject: &Subject) -> Result<(Page, Placement), Error> {
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
    Ok(super::words::real(wrap(words, SMALL, width_mm)?.len()))
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
    let compass = placed.map_or_else(furniture::room_for_compass, |(placement, _)| {
        furniture::compass_and_bar(subject, placement, own)
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

fn head(subject: &Subject, page: &Page) -> Result<Vec<Mark>, Error> {
    let width = page.paper_mm[0] - 2.0 * MARGIN_MM;
    let line = |words: String, hand, y, colour| {
        let at = PaperPoint::new(MARGIN_MM, y);
        Mark::Lettering(Lettering { at, words, hand, anchor: Anchor::Start, colour })
    };
    let (words, hand) = title(subject, width)?;
    Ok(vec![
        line(words, hand, MARGIN_MM + 5.6, INK),
        line(shorten(&subject.subtitle, SUBTITLE, width)?, SUBTITLE, MARGIN_MM + 12.2, SOFT_INK),
        rule(page, MARGIN_MM + 15.0),
    ])
}

/// Block and quantity on one line: smaller where the name is long, and if that does not do, with
/// the end of the name left out, never the quantity.
fn title(subject: &Subject, width: f64) -> Result<(String, Hand), Error> {
    let quantity = format!(": {}", subject.quantity);
    let whole = format!("{}{quantity}", subject.block);
    if width_mm(&whole, TITLE)? <= width {
        return Ok((whole, TITLE));
    }
    let room = width - width_mm(&quantity, SMALL_TITLE)?;
    let block = shorten(&subject.block, SMALL_TITLE, room)?;
    Ok((format!("{block}{quantity}"), SMALL_TITLE))
}

fn foot(subject: &Subject, page: &Page) -> Result<Vec<Mark>, Error> {
    let width = page.paper_mm[0] - 2.0 * MARGIN_MM;
    let top = page.paper_mm[1] - MARGIN_MM - page.foot_mm;
    let mut words = Furniture::default();
    words.paragraph(&subject.cautions, SMALL, (width, INK))?;
    let marks = words.at(PaperPoint::new(MARGIN_MM, top + 2.0));
    Ok(std::iter::once(rule(page, top)).chain(marks).collect())
}

fn rule(page: &Page, y: f64) -> Mark {
    let ends = [MARGIN_MM, page.paper_mm[0] - MARGIN_MM].map(|x| PaperPoint::new(x, y));
    let stroke = Some(Stroke { colour: RULE, width_mm: 0.25, dash_mm: None });
    Mark::Shape(Shape { outlines: vec![Outline::Line(ends.to_vec())], fill: None, stroke })
}
