//! What the sheet of the stakes says of a tape on sloping ground.

use catchwire::{
    layout::{StakeChoice, lay_out, stakes},
    units::ReadingUnits,
    write::properties::{PointOrder, StakeSheet, stakeout_readme},
};

use super::bearings::site;
use crate::laws::plots::{Field, rectangle};

/// The sheet in one line, with single spaces.
fn sheet(ground_spacing: bool) -> String {
    let mut field = Field::new(rectangle(80.0, 45.0));
    let site_of_field = site(&field);
    let layout = lay_out(&site_of_field).unwrap().0;
    field.rules.ground_spacing = ground_spacing;
    let site = site(&field);
    let stakes = stakes(&site, &layout, StakeChoice::RowEnds);
    let sheet = StakeSheet {
        site: &site,
        layout: &layout,
        stakes: &stakes,
        order: PointOrder::Llh,
        grid: None,
        files: &[],
        units: ReadingUnits::Metric,
    };
    let text = String::from_utf8(stakeout_readme(&sheet).unwrap()).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_sheet_tells_vines_by_tape_along_the_ground_from_level_distances() {
    let [level, ground] = [false, true].map(sheet);
    assert!(
        level.contains("Rows were asked 2.500 m apart, vines 1.200 m along the row."),
        "{level}"
    );
    assert!(!level.contains("along the ground"), "{level}");
    let spacings = "Rows were asked 2.500 m apart, level, vines 1.200 m by tape along the ground.";
    assert!(ground.contains(spacings), "{ground}");
    assert!(ground.contains("stays level all the same: rows from end post to end post, across"));
}
