//! The grower's own zones: they take panels by their centres.

use geo::{Area, BooleanOps, BoundingRect, Contains, Coord, Intersects, Polygon, Rect};

use crate::finding::{Finding, Findings, Place};

/// Two zones may share so much of the smaller one: borders drawn by hand meet badly.
const MOST_SHARED: f64 = 0.01;

/// For every panel the polygon that its centre lies in.
///
/// # Errors
/// When two polygons overlap, or a panel's centre lies in two.
pub(super) fn polygon_of_panels(
    zones: &[(String, Polygon<f64>)],
    centres: &[Coord<f64>],
) -> Result<Vec<Option<usize>>, Findings> {
    let mut findings = overlaps(zones);
    let boxes: Vec<Option<Rect<f64>>> = zones.iter().map(|(_, p)| p.bounding_rect()).collect();
    let of_panel = centres.iter().map(|centre| {
        let holds = |&zone: &usize| {
            boxes[zone].is_some_and(|b| b.intersects(centre)) && zones[zone].1.contains(centre)
        };
        let mut holding = (0..zones.len()).filter(holds);
        let first = holding.next();
        if let (Some(one), Some(other)) = (first, holding.next())
            && findings.is_empty()
        {
            findings.push(overlap(&zones[one].0, &zones[other].0));
        }
        first
    });
    let of_panel: Vec<Option<usize>> = of_panel.collect();
    if findings.any_fault() { Err(findings) } else { Ok(of_panel) }
}

fn overlaps(zones: &[(String, Polygon<f64>)]) -> Findings {
    let pairs = zones
        .iter()
        .enumerate()
        .flat_map(|(i, one)| zones[i + 1..].iter().map(move |other| (one, other)));
    let overlapping = pairs.filter(|((_, one), (_, other))| {
        let smaller = one.unsigned_area().min(other.unsigned_area());
        one.intersects(other) && one.intersection(other).unsigned_area() > MOST_SHARED * smaller
    });
    overlapping.map(|((one, _), (other, _))| overlap(one, other)).collect()
}

fn overlap(one: &str, other: &str) -> Finding {
    let place = Place::default().in_feature(format!("zones `{one}` and `{other}`"));
    Finding::fault(place, "these zones overlap")
        .because("a panel belongs to one zone only")
        .mend("redraw their common border so that they meet without overlapping")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(name: &str, from: f64, to: f64) -> (String, Polygon<f64>) {
        let rect = Rect::new(Coord { x: from, y: 0.0 }, Coord { x: to, y: 10.0 });
        (name.to_owned(), rect.to_polygon())
    }

    #[test]
    fn centres_decide_and_the_rest_is_left() {
        let zones = [square("low", 0.0, 10.0), square("high", 10.05, 20.0)];
        let centres = [5.0, 15.0, 25.0].map(|x| Coord { x, y: 5.0 });
        assert_eq!(polygon_of_panels(&zones, &centres), Ok(vec![Some(0), Some(1), None]));
    }

    #[test]
    fn zones_that_overlap_are_refused_by_name() {
        let zones = [square("low", 0.0, 10.0), square("high", 8.0, 20.0)];
        let findings = polygon_of_panels(&zones, &[]).unwrap_err();
        let text = findings.iter().next().unwrap().to_string();
        assert!(text.contains("`low` and `high`"), "{text}");
        assert!(findings.any_fault());
    }

    #[test]
    fn a_border_drawn_by_hand_may_meet_a_little_badly() {
        let zones = [square("low", 0.0, 10.0), square("high", 9.95, 20.0)];
        assert!(polygon_of_panels(&zones, &[Coord { x: 5.0, y: 5.0 }]).is_ok());
        let between = [Coord { x: 9.97, y: 5.0 }];
        assert!(polygon_of_panels(&zones, &between).is_err());
    }
}
