//! Vines and posts so far from their outline that something was mistyped.

use geo::BoundingRect;

use super::Layout;
use crate::{
    finding::{Finding, Findings},
    frame::{RowPoint, Site},
};

/// Refuses rows that lie farther from the outline than the outline itself reaches: a slipped digit
/// in a position or in a number of vines. Every row once; the caller lets them pass where what is
/// unusual is allowed.
pub fn far_off(site: &Site, layout: &Layout) -> Findings {
    let Some(bounds) = site.outline.bounding_rect() else { return Findings::none() };
    let reach = bounds.width().hypot(bounds.height());
    let beyond = |at: RowPoint| {
        let outside = |value: f64, low: f64, high: f64| (low - value).max(value - high).max(0.0);
        let along = outside(at.along_m, bounds.min().x, bounds.max().x);
        let across = outside(at.across_m, bounds.min().y, bounds.max().y);
        along.hypot(across)
    };
    let places = layout.vines.iter().map(|vine| (vine.row, vine.at));
    let mut far: Vec<(u32, f64)> = Vec::new();
    for (row, at) in places.chain(layout.posts.iter().map(|post| (post.row, post.at))) {
        let metres = beyond(at);
        match far.iter_mut().find(|known| known.0 == row) {
            Some(known) => known.1 = known.1.max(metres),
            None if metres > reach => far.push((row, metres)),
            None => {}
        }
    }
    far.iter().map(|(row, metres)| told(site, *row, *metres, reach)).collect()
}

fn told(site: &Site, row: u32, metres: f64, reach: f64) -> Finding {
    let listed = site.row_list.iter().find(|(listed, _)| listed.row == row);
    let (place, mend) = if site.given_vines.iter().any(|given| given.0 == row) {
        let place = super::told::in_block(&site.name, "vine");
        (place, "check the positions of its vines, and longitude and latitude")
    } else if let Some((listed, _)) = listed {
        let mend = "check its number of vines, its start and the vine_spacing";
        (listed.place.at_field("vines"), mend)
    } else {
        let mend = "check the positions of its row-line";
        (super::told::in_block(&site.name, "row"), mend)
    };
    let what = format!("row {row} reaches {metres:.0} m beyond the outline");
    let why = format!("the outline itself is {reach:.0} m across");
    Finding::fault(place, what).because(why).mend(format!("{mend}, or pass --allow-unusual"))
}
