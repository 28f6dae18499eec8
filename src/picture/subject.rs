//! What a map is about, gathered from the evidence and free of it: everything that is drawn, in row
//! coordinates and words.

use geo::{MultiPoint, MultiPolygon, Point};

use crate::{
    estimate::Field,
    frame::{RowPoint, Site},
    join::Observation,
    layout::Layout,
    picture::{
        Caption, Ink, MapStyle, Paper, captions, classes::Classes, density, drawings::HeatMap,
        in_black::in_black, lettering::printable, little::little_known, map::Compass, need, vigor,
        zone_mark::ZoneMark,
    },
    plan::{Evidence, Plan},
    units::ReadingUnits,
};

/// What a map shows.
#[derive(Debug, Clone)]
pub(super) struct Subject {
    /// The block's name.
    pub(super) block: String,
    /// What is shown of it, in two or three words.
    pub(super) quantity: &'static str,
    /// What the numbers are, from how many counts of which day.
    pub(super) subtitle: String,
    /// The block's outline, metres along and across the rows.
    pub(super) outline: MultiPolygon<f64>,
    /// Ground that is not planted, with its name.
    pub(super) keep_outs: Vec<(Option<String>, MultiPolygon<f64>)>,
    /// How row coordinates lie on the compass.
    pub(super) compass: Compass,
    /// Vine places in the layout's order, with their piece of row.
    pub(super) vines: Vec<Spot>,
    /// Rows from their first to their last vine.
    pub(super) rows: Vec<RowEnds>,
    /// Metres across and along the rows from vine to vine.
    pub(super) gaps_m: [f64; 2],
    /// The classes of the vines.
    pub(super) classes: Classes,
    /// By vine place: the measurements say little there.
    pub(super) little: Vec<bool>,
    /// What was measured: the vines of each measurement.
    pub(super) measured: Vec<Vec<usize>>,
    /// The zones.
    pub(super) zones: Vec<ZoneMark>,
    /// What a zone's label states; with several plantings, by planting.
    pub(super) zone_words: Vec<String>,
    /// What was done on a vine: counted, measured.
    pub(super) verb: &'static str,
    /// What it rests on: the counts, the measurements.
    pub(super) sources: &'static str,
    /// How the map was made and how to find a row.
    pub(super) method: String,
    /// What it must not be taken for.
    pub(super) cautions: String,
    /// The units it is read in.
    pub(super) units: ReadingUnits,
    /// The paper it is made for.
    pub(super) paper: Paper,
    /// How it is drawn.
    pub(super) style: MapStyle,
}

/// Where row numbers are drawn.
pub(super) const VINE_ONE: &str = "Row numbers stand at vine 1.";

/// A vine place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    /// Where it is.
    pub(super) at: RowPoint,
    /// Its piece of row.
    pub(super) piece: usize,
}

/// A row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct RowEnds {
    /// Its number.
    pub(super) number: u32,
    /// Its first vine.
    pub(super) first: RowPoint,
    /// Its last vine.
    pub(super) last: RowPoint,
}

impl Subject {
    /// What a map of this kind shows; `None` when nothing is known that it could show.
    pub(super) fn of(
        kind: HeatMap,
        evidence: Evidence<'_>,
        plan: &Plan,
        caption: &Caption,
    ) -> Option<Self> {
        let sources = match kind {
            HeatMap::Vigor => (
                evidence.estimate.vigor.as_ref().map(|(_, field)| field)?,
                evidence.joined.vigor.as_ref()?.observations.as_slice(),
            ),
            HeatMap::ShootDensity | HeatMap::ThinningNeed => shoots(evidence),
        };
        let classes = classes(kind, evidence, plan, caption)?;
        let classes = match caption.style.ink {
            Ink::Colour => classes,
            Ink::Black => in_black(classes),
        };
        Some(Self::showing((kind, classes), sources, (evidence, plan), caption))
    }

    /// The zones with their verdicts and what was counted, no vine in any class.
    pub(super) fn of_zones(evidence: Evidence<'_>, plan: &Plan, caption: &Caption) -> Self {
        let what = (HeatMap::ThinningNeed, Classes::none());
        Self::showing(what, shoots(evidence), (evidence, plan), caption)
    }

    fn showing(
        (kind, classes): (HeatMap, Classes),
        (field, observations): (&Field, &[Observation]),
        (evidence, plan): (Evidence<'_>, &Plan),
        caption: &Caption,
    ) -> Self {
        let site = evidence.site;
        Self {
            block: printable(site.name.as_str()),
            quantity: kind.words(),
            subtitle: captions::subtitle(kind, evidence, observations, caption),
            outline: site.outline.clone(),
            keep_outs: keep_outs(evidence),
            compass: Compass {
                bearing: site.frame.bearing().true_north,
                rows_to: site.frame.rows_to(),
            },
            vines: spots(evidence.layout),
            rows: row_ends(evidence.layout),
            gaps_m: [site.rules.row_spacing.metres(), site.rules.vine_spacing.metres()],
            classes,
            little: little_known(field),
            measured: observations.iter().map(|each| each.vines.clone()).collect(),
            zones: captions::zones(kind, evidence, plan, caption),
            zone_words: captions::zone_words(kind, evidence),
            verb: kind.verb(),
            sources: kind.sources(),
            method: format!("{} {VINE_ONE}", captions::method(field, kind.sources())),
            cautions: captions::cautions(kind, evidence, observations),
            units: caption.units,
            paper: caption.paper,
            style: caption.style,
        }
    }
}

/// What maps of shoots rest on.
const fn shoots(evidence: Evidence<'_>) -> (&Field, &[Observation]) {
    (&evidence.estimate.shoots, evidence.joined.shoots.as_slice())
}

/// The classes of a map; `None` when nothing is known that it could show.
pub(super) fn classes(
    kind: HeatMap,
    evidence: Evidence<'_>,
    plan: &Plan,
    caption: &Caption,
) -> Option<Classes> {
    let records = &evidence.joined.vines;
    match kind {
        HeatMap::ShootDensity => {
            let vines = evidence.estimate.shoots.vines.iter();
            let surface: Vec<_> = vines.map(|vine| vine.map(|vine| vine.surface_per_m)).collect();
            let targets = density::targets(evidence, plan);
            density::classes(&surface, &targets, records, caption.units)
        }
        HeatMap::Vigor => {
            let (measure, field) = evidence.estimate.vigor.as_ref()?;
            let vines = field.vines.iter().zip(&plan.vines);
            let known: Vec<_> = vines.map(|(known, vine)| known.as_ref().and(vine.vigor)).collect();
            vigor::classes(*measure, &known, records, caption)
        }
        HeatMap::ThinningNeed => {
            let after = plan.frost.map(|frost| (frost, caption.units));
            need::classes(&need::needs(evidence, plan, caption), records, (plan.take_off, after))
        }
    }
}

/// All that has to be on a map of a block without zones.
pub(super) fn ground_extent(site: &Site, layout: &Layout) -> MultiPoint<f64> {
    let corners = site.outline.iter().flat_map(|part| part.exterior().points());
    let vines = layout.vines.iter().map(|vine| Point::new(vine.at.along_m, vine.at.across_m));
    corners.chain(vines).collect()
}

pub(super) fn spots(layout: &Layout) -> Vec<Spot> {
    layout.vines.iter().map(|vine| Spot { at: vine.at, piece: vine.piece }).collect()
}

pub(super) fn row_ends(layout: &Layout) -> Vec<RowEnds> {
    let vines = |row: &crate::layout::Row| {
        let pieces = layout.pieces.get(row.pieces.clone())?;
        let first = layout.vines.get(pieces.first()?.vines.start)?;
        let last = layout.vines.get(pieces.last()?.vines.end.checked_sub(1)?)?;
        Some(RowEnds { number: row.number, first: first.at, last: last.at })
    };
    layout.rows.iter().filter_map(vines).collect()
}

fn keep_outs(evidence: Evidence<'_>) -> Vec<(Option<String>, MultiPolygon<f64>)> {
    (evidence.site.keep_outs.iter())
        .map(|ground| (ground.name.as_deref().map(printable), ground.shape.clone()))
        .collect()
}
