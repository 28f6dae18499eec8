//! The block and its keep-outs as layers, for files that hold a whole planting.

use super::{
    ground::{Ground, MAP_DECIMALS},
    property::Properties,
};
use crate::{
    frame::{Site, SiteKeepOut},
    layout::Layout,
    write::{
        Column,
        Kind::{Flag, Integer, Number, Text},
        Layer,
    },
};

/// The block's outline with what was laid out in it.
pub fn block(site: &Site, layout: &Layout) -> Layer {
    let ground = Ground::new(site, layout);
    let shape = ground.areas(&site.outline);
    block_properties().layer("block", MAP_DECIMALS, std::iter::once((shape, ground)))
}

/// Ground that is not planted.
pub fn keep_outs(site: &Site, layout: &Layout) -> Layer {
    let ground = Ground::new(site, layout);
    let things = site.keep_outs.iter().map(|kept| (ground.areas(&kept.shape), kept));
    keep_out_properties().layer("keep_outs", MAP_DECIMALS, things)
}

pub(super) fn block_columns() -> Vec<Column> {
    block_properties().columns().to_vec()
}

pub(super) fn keep_out_columns() -> Vec<Column> {
    keep_out_properties().columns().to_vec()
}

fn block_properties<'a>() -> Properties<'a, Ground<'a>> {
    Properties::<'a, Ground<'a>>::new()
        .column("block", Text, "", "the block's name")
        .is(|ground| ground.block.clone())
        .column("cultivar", Text, "", "the cultivar of the rows that no planting names")
        .is(|ground| ground.cultivar(0))
        .column("row_bearing_true_deg", Number(6), "degrees", "rows, clockwise from true north")
        .is(|ground| ground.site.frame.bearing().true_north.degrees())
        .column("row_spacing_m", Number(4), "metres", "across the rows")
        .is(|ground| ground.site.rules.row_spacing.metres())
        .column("vine_spacing_m", Number(4), "metres", "along the rows")
        .is(|ground| ground.site.rules.vine_spacing.metres())
        .column("rows", Integer, "rows", "rows with at least one vine place")
        .is(|ground| ground.layout.quantities.rows)
        .column("vines", Integer, "places", "places for vines")
        .is(|ground| ground.layout.quantities.vines)
        .column("planted_ha", Number(6), "hectares", "row length times row spacing")
        .is(|ground| ground.layout.quantities.planted_ha)
        .column("block_ha", Number(6), "hectares", "inside the outline")
        .is(|ground| ground.layout.quantities.block_ha)
}

fn keep_out_properties<'a>() -> Properties<'a, &'a SiteKeepOut> {
    Properties::<'a, &'a SiteKeepOut>::new()
        .column("name", Text, "", "its name; null when it has none")
        .is(|kept| kept.name.as_deref())
        .column("clearance_m", Number(4), "metres", "clear ground around it")
        .is(|kept| kept.clearance.metres())
        .column("turning", Flag, "", "true where machines turn on it")
        .is(|kept| kept.turning)
}
