//! From groups of panels to zones: ids, vines, means, ground.

use std::collections::BTreeSet;

use geo::MultiPolygon;

use super::{Drawn, Stage, Zone, ZoneMean, Zones, differences::differences, shape};
use crate::{
    estimate::{Field, SetMeans, VineSet},
    names::row_text,
};

/// Panels that will be a zone.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Group {
    pub(super) planting: usize,
    pub(super) name: Option<String>,
    pub(super) panels: Vec<usize>,
}

/// Puts groups into order (by planting, then first panel) and says about each what is known.
pub(super) fn assemble(stage: Stage<'_>, drawn: Drawn) -> Zones {
    let mut groups = drawn.groups;
    groups.sort_by_key(|group| (group.planting, group.panels.first().copied()));
    let vines: Vec<Vec<usize>> = groups.iter().map(|group| vines_of(stage, group)).collect();
    let shoots = means(stage, &stage.estimate.shoots, &vines);
    let vigor = stage.estimate.vigor.as_ref().map(|(_, field)| means(stage, field, &vines));
    let panels: Vec<Vec<usize>> = groups.iter().map(|group| group.panels.clone()).collect();
    let spacing = stage.site.rules.row_spacing.metres();
    let mut shapes = shape::grounds(stage.layout, spacing, &panels).into_iter();
    let mut spans = spans(stage, &groups).into_iter();
    let zones = groups.into_iter().zip(&vines).enumerate().map(|(index, (group, vines))| Zone {
        density: ZoneMean::of(&shoots, index),
        vigor: vigor.as_ref().and_then(|means| ZoneMean::of(means, index)),
        shape: shapes.next().unwrap_or_else(nowhere),
        span: spans.next().unwrap_or_else(nowhere),
        ..bare_zone(stage, index, group, vines)
    });
    let zones: Vec<Zone> = zones.collect();
    Zones {
        of_panel: zone_of(stage.layout.panels.len(), zones.iter().map(|zone| &zone.panels)),
        of_vine: zone_of(stage.layout.vines.len(), zones.iter().map(|zone| &zone.vines)),
        differences: differences(stage, &zones, &shoots.covariance),
        zones,
        why: drawn.why,
        held_out_reduction: drawn.held_out_reduction,
        drawn_reduction: drawn.as_many_reduce,
        covariance: shoots.covariance,
    }
}

fn nowhere() -> MultiPolygon<f64> {
    MultiPolygon::new(Vec::new())
}

/// What every group spans among the rows of its planting; groups of a planting follow each other.
fn spans(stage: Stage<'_>, groups: &[Group]) -> Vec<MultiPolygon<f64>> {
    let spacing = stage.site.rules.row_spacing.metres();
    let of_planting = |groups: &[Group]| {
        let planting = groups.first().map(|group| group.planting);
        let panels: Vec<&[usize]> = groups.iter().map(|group| group.panels.as_slice()).collect();
        let belongs = |row: u32| Some(stage.site.plantings.of_row(row)) == planting;
        shape::spans(stage.layout, spacing, &belongs, &panels)
    };
    groups.chunk_by(|a, b| a.planting == b.planting).flat_map(of_planting).collect()
}

fn bare_zone(stage: Stage<'_>, index: usize, group: Group, vines: &[usize]) -> Zone {
    let records = vines.iter().map(|&vine| &stage.joined.vines[vine]);
    let rows: BTreeSet<u32> =
        group.panels.iter().map(|&panel| stage.layout.panels[panel].row).collect();
    Zone {
        id: format!("Z{}", index + 1),
        name: group.name,
        planting: group.planting,
        panels: group.panels,
        vines: vines.to_vec(),
        canopy_m: records.clone().map(|record| record.canopy_m).sum(),
        counted_vines: records.filter(|record| record.counted).count(),
        density: None,
        vigor: None,
        shape: nowhere(),
        span: nowhere(),
        rows: row_text(&rows.into_iter().collect::<Vec<_>>()),
    }
}

fn vines_of(stage: Stage<'_>, group: &Group) -> Vec<usize> {
    group.panels.iter().flat_map(|&panel| stage.present(panel)).collect()
}

/// The means of groups of vines, weighted by canopy; too few counts for a map may still give the mean
/// of a zone.
pub(super) fn means(stage: Stage<'_>, field: &Field, groups: &[Vec<usize>]) -> SetMeans {
    let set = |vines: &Vec<usize>| -> VineSet {
        vines.iter().map(|&vine| (vine, stage.joined.vines[vine].canopy_m)).collect()
    };
    field.means_of(&groups.iter().map(set).collect::<Vec<_>>())
}

fn zone_of<'a>(things: usize, zones: impl Iterator<Item = &'a Vec<usize>>) -> Vec<Option<usize>> {
    let mut of = vec![None; things];
    for (zone, members) in zones.enumerate() {
        for &member in members {
            of[member] = Some(zone);
        }
    }
    of
}
