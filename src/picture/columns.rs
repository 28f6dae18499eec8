//! The furniture of heat maps on their page: one page for all maps of a block.

use geo::{ConvexHull as _, MultiPoint, Point};

use crate::{
    error::Error,
    picture::{
        Mark, compass,
        furniture::Furniture,
        legend,
        looks::Size,
        map::{Ladder, Placement},
        page::{Page, Wanted, choose},
        subject::Subject,
    },
};

/// Paper kept free around the block for row numbers and labels that are led out.
const COLLAR_MM: f64 = 9.0;

/// The page and the turn that show the block largest with any of its maps, so that all of them are
/// drawn one way.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub(super) fn choose_for(subjects: &[Subject]) -> Result<(Page, Placement), Error> {
    let Some(first) = subjects.first() else {
        return Err(Error::Unexpected("a page for no map".to_owned()));
    };
    let cautions: Vec<&str> = subjects.iter().map(|subject| subject.cautions.as_str()).collect();
    let wanted = Wanted {
        paper: first.paper,
        units: first.units,
        up: first.style.up,
        ladder: Ladder::Map,
        compass: first.compass,
        ground: &extremes(subjects),
        cautions: &cautions,
        below_mm: 0.0,
        collar_mm: COLLAR_MM,
    };
    choose(&wanted, |page| {
        let mut tallest = 0.0_f64;
        for subject in subjects {
            let columns = columns(subject, None, page)?;
            tallest = columns.iter().map(|column| column.height_mm).fold(tallest, f64::max);
        }
        Ok(tallest)
    })
}

/// Legend, compass and scale bar in their places.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn furniture(
    subject: &Subject,
    (page, placement): (&Page, &Placement),
    size: Size,
) -> Result<Vec<Mark>, Error> {
    let columns = columns(subject, Some((placement, size)), page)?;
    let placed = (0..).zip(columns).flat_map(|(at, column)| column.at(page.column_corner(at)));
    Ok(placed.collect())
}

/// All that has to be on the map: vines may stand beyond an outline that was drawn roughly.
pub(super) fn extremes(subjects: &[Subject]) -> MultiPoint<f64> {
    let shapes = subjects.iter().flat_map(|subject| {
        std::iter::once(&subject.outline).chain(subject.zones.iter().map(|zone| &zone.shape))
    });
    let corners = shapes.flat_map(|shape| shape.iter().flat_map(|part| part.exterior().points()));
    let vines = subjects.iter().take(1).flat_map(|subject| &subject.vines);
    let vines = vines.map(|vine| Point::new(vine.at.along_m, vine.at.across_m));
    // Nothing but a hull decides, and a block of 30 000 vines has a small one.
    let all: MultiPoint<f64> = corners.chain(vines).collect();
    all.convex_hull().exterior().points().collect()
}

/// Legend, compass and scale bar in columns. Without a placement, only their heights are right.
fn columns(
    subject: &Subject,
    placed: Option<(&Placement, Size)>,
    page: &Page,
) -> Result<Vec<Furniture>, Error> {
    let (number, own) = page.columns();
    let size = placed.map_or(Size::Strip(1.0), |(_, size)| size);
    let mut ladder = legend::ladder(subject, size, own)?;
    let mut others = legend::others(subject, size, own)?;
    let read = (subject.units, subject.paper);
    let compass = placed.map_or_else(compass::room_for_compass, |(placement, _)| {
        compass::compass_and_bar(placement, read, own)
    });
    Ok(match number {
        3 => vec![ladder, others, compass],
        2 => {
            others.space(3.0);
            others.below(compass);
            vec![ladder, others]
        }
        _ => {
            ladder.space(1.5);
            ladder.below(others);
            ladder.space(5.0);
            ladder.below(compass);
            vec![ladder]
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::{HeatMap, example::Example};

    #[test]
    fn every_map_of_a_block_has_room_on_the_one_page_that_is_chosen_for_all() {
        let long = Example { bearing: 100.0, ..Example::large() };
        for example in [Example::small(), Example::large(), long] {
            let [one, two, three] = HeatMap::ALL.map(|kind| example.subject(kind));
            let (page, placement) = choose_for(&[one.clone(), two.clone(), three.clone()]).unwrap();
            let (again, other) = choose_for(&[three.clone(), one.clone(), two.clone()]).unwrap();
            assert_eq!(placement, other, "{}: turned with the order of its maps", example.name);
            let off = page.paper_mm[0] - again.paper_mm[0];
            assert!(off.abs() < 1e-9, "{}: {off} mm wider", example.name);
            for subject in [one, two, three] {
                for (at, column) in (0..).zip(columns(&subject, None, &page).unwrap()) {
                    let room = page.column_height_mm(at);
                    assert!(column.height_mm <= room + 1.5, "{}: {room} mm", subject.quantity);
                }
            }
        }
    }
}
