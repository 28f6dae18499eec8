//! Layouts and densities that others have printed.

use catchwire::{
    block::RowAnchor,
    layout::{Amount, Layout, Materials, materials},
    settings::{MaterialSettings, PlantingRules, Settings},
    units::Metres,
};

use crate::laws::plots::{Field, rectangle};

const FOOT: f64 = 0.3048;

fn feet(feet: f64) -> Metres {
    Metres::from_feet(feet)
}

/// Rows of one length, in feet, with 30 ft of headland and one row spacing beside the outer rows.
fn rows_of(rows: f64, length: f64, spacing: (f64, f64), anchor_gap: f64) -> Field {
    let along = (length + 2.0 * (30.0 + anchor_gap)) * FOOT;
    let mut field = Field::new(rectangle(along, (rows + 1.0) * spacing.0 * FOOT));
    field.rules.row_spacing = feet(spacing.0);
    field.rules.vine_spacing = feet(spacing.1);
    field.rules.end_gap = feet(spacing.1 / 2.0);
    field.rules.headland = feet(30.0);
    field.rules.side_margin = feet(spacing.0);
    field.rules.anchor_gap = feet(anchor_gap);
    field
}

fn lay(field: &Field) -> Layout {
    field.lay_out().unwrap().0
}

/// The materials of a layout, without spares.
fn ordered(field: &Field, layout: &Layout) -> Materials {
    let settings = MaterialSettings { spare_share: 0.0, ..Settings::default().materials() };
    materials(layout, &field.rules, &PlantingRules::default(), &settings)
}

#[track_caller]
fn number(materials: &Materials, item: &str) -> usize {
    let line = materials.lines.iter().find(|line| line.item == item).expect("a line of it");
    let (Amount::Pieces(number) | Amount::WholeMetres(number)) = line.amount;
    number
}

#[test]
fn nineteen_rows_of_210_feet_hold_399_vines_on_190_posts() {
    // University of New Hampshire, kiwiberry enterprise analysis
    // (noreastkiwiberries.com/enterprise-analysis/summary-of-analysis): rows 11 ft apart, vines
    // 10 ft, bays 30 ft, 19 rows of 210 ft: 399 vines, 152 top bars, 190 posts (two more a row).
    let mut field = rows_of(19.0, 210.0, (11.0, 10.0), 6.0);
    (field.rules.vines_per_panel, field.rules.first_panel_vines) = (3, 3);
    for anchor in [RowAnchor::Edge, RowAnchor::Centre, RowAnchor::MostVines] {
        field.rules.anchor = anchor;
        let q = lay(&field).quantities;
        assert_eq!((q.rows, q.vines), (19, 399), "{anchor:?}");
        assert_eq!(q.posts_end + q.posts_line, 152, "{anchor:?}");
        assert_eq!(q.posts_end + q.posts_line + q.anchors, 190, "{anchor:?}");
        assert!((q.row_length_m - 19.0 * 210.0 * FOOT).abs() < 1e-4);
        let order = ordered(&field, &lay(&field));
        let posts = ["end posts", "line posts", "anchors"].map(|item| number(&order, item));
        assert_eq!((number(&order, "vines"), posts.iter().sum()), (399, 190));
        // By hand: 6 wires × 19 rows × ((210 + 12) ft × 0.3048 + 2 × 0.5 m) = 7827.88 m.
        assert_eq!(number(&order, "wire"), 7828);
    }
}

#[test]
fn a_module_of_84_by_84_feet_holds_252_vines() {
    // schultzwines.com/blog/Pencil-Rods: 84 × 84 ft at 7 × 4 ft is 12 row spaces by 21 plant
    // spaces; the product is 252.
    let layout = lay(&rows_of(12.0, 84.0, (7.0, 4.0), 0.0));
    assert_eq!((layout.rows.len(), layout.vines.len()), (12, 252));
    let field = rows_of(12.0, 84.0, (7.0, 4.0), 0.0);
    let order = ordered(&field, &layout);
    assert_eq!((number(&order, "vines"), number(&order, "anchors")), (252, 0));
    assert!((layout.quantities.planted_ha - 84.0 * 84.0 * FOOT * FOOT / 1e4).abs() < 1e-6);
}

#[test]
fn thirty_six_rows_of_400_feet_are_three_acres() {
    // notavivavineyards.com, log of November 2004: 36 rows × 9 ft × 400 ft is 129 600 square feet,
    // 2.98 acres as printed.
    let layout = lay(&rows_of(36.0, 400.0, (9.0, 6.0), 0.0));
    assert_eq!(layout.rows.len(), 36);
    let acres = layout.quantities.planted_ha * 1e4 / (FOOT * FOOT * 43_560.0);
    assert!((acres - 2.98).abs() < 0.005, "{acres}");
}

#[test]
fn vines_per_acre_and_hectare_are_as_printed() {
    // Row × vine in feet and vines an acre, rounded to nearest: 1361 and 726 biologyinsights.com;
    // 1556 a grower quoting a guide; 807 Cornell slides; 454 avvwine.com/timeline.
    let printed = [
        (8.0, 4.0, 1361.0),
        (10.0, 6.0, 726.0),
        (7.0, 4.0, 1556.0),
        (9.0, 6.0, 807.0),
        (12.0, 8.0, 454.0),
    ];
    for (row, vine, per_acre) in printed {
        // Rows a whole number of vines long: density then needs no row ends.
        let layout = lay(&rows_of(40.0, vine * 80.0, (row, vine), 0.0));
        let acre_ha = FOOT * FOOT * 43_560.0 / 1e4;
        let density = layout.quantities.vines_per_ha * acre_ha;
        assert!((density - per_acre).abs() < 0.5, "{row} × {vine} ft: {density}");
    }
    // 6 250 vines a hectare at 1.6 × 1.0 m: ives-openscience.eu/45499.
    let mut field = Field::new(rectangle(118.0, 65.6));
    field.rules.row_spacing = Metres::new(1.6);
    field.rules.vine_spacing = Metres::new(1.0);
    field.rules.end_gap = Metres::new(0.5);
    field.rules.side_margin = Metres::new(1.6);
    let layout = lay(&field);
    assert!((layout.quantities.vines_per_ha - 6250.0).abs() < 0.1);
    assert_eq!(layout.vines.len(), 40 * 100);
}
