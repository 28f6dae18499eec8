//! `map.kmz`: the heat maps on the ground, zones coloured by verdict with what to do there in plain
//! words, and the rows.

use super::{
    ground::{Ground, MAP_DECIMALS},
    thinned::Thinned,
};
use crate::{
    error::Error,
    names::{capital, named_rows, number_of},
    plan::{Interval, Verdict, ZonePlan},
    units::{PerMetre, ReadingUnits},
    write::{
        kml::{Colour, KmlFolder, KmlMap, KmlStyle, Placemark, kmz},
        kml_overlays::KmlPicture,
    },
    zones::Zone,
};

/// The map as the bytes of `map.kmz`.
///
/// # Errors
/// A fault of the program: the map cannot be written.
pub fn map_kmz(
    thinned: &Thinned<'_>,
    pictures: Vec<KmlPicture>,
    units: ReadingUnits,
) -> Result<Vec<u8>, Error> {
    let evidence = thinned.evidence;
    let ground = Ground::new(evidence.site, evidence.layout);
    let zones = evidence.zones.zones.iter().zip(&thinned.plan.zones);
    let zones = zones.map(|(zone, plan)| Placemark {
        name: title(zone, plan),
        balloon: Balloon { thinned, zone, plan, units }.paragraphs(),
        style: plan.verdict.word(),
        shape: ground.areas(&zone.shape),
    });
    let rows = evidence.layout.pieces.iter().map(|piece| Placemark {
        name: evidence.layout.digits.piece(piece.row, piece.letter),
        balloon: Vec::new(),
        style: "row",
        shape: ground.line(&piece.path),
    });
    kmz(&KmlMap {
        name: evidence.site.name.to_string(),
        styles: styles(),
        pictures,
        folders: vec![
            KmlFolder { name: "Zones".to_owned(), placemarks: zones.collect() },
            KmlFolder { name: "Rows".to_owned(), placemarks: rows.collect() },
        ],
        decimals: MAP_DECIMALS,
    })
}

/// What is said of a zone in few sentences: its place, how crowded it is, the work.
pub(in crate::write) fn zone_in_short(
    thinned: &Thinned<'_>,
    at: usize,
    units: ReadingUnits,
) -> String {
    let (zone, plan) = (&thinned.evidence.zones.zones[at], &thinned.plan.zones[at]);
    let balloon = Balloon { thinned, zone, plan, units };
    [balloon.place(), balloon.crowding(), balloon.work()].join(" ")
}

/// One style a verdict, the border of overcrowded zones the widest; and one for rows.
fn styles() -> Vec<KmlStyle> {
    let zone = |verdict: Verdict, [red, green, blue]: [u8; 3], width| KmlStyle {
        id: verdict.word(),
        line: Colour { red, green, blue, opacity: 0xff },
        width,
        fill: Some(Colour { red, green, blue, opacity: 0x33 }),
    };
    let white = Colour { red: 0xff, green: 0xff, blue: 0xff, opacity: 0xb3 };
    vec![
        zone(Verdict::Overcrowded, [0xc4, 0x2d, 0x1c], 4.0),
        zone(Verdict::OnTarget, [0x3f, 0x8f, 0x4e], 2.0),
        zone(Verdict::UnderTarget, [0x2b, 0x6c, 0xb0], 2.0),
        zone(Verdict::Undecided, [0x8c, 0x8c, 0x8c], 2.0),
        KmlStyle { id: "row", line: white, width: 1.0, fill: None },
    ]
}

fn title(zone: &Zone, plan: &ZonePlan) -> String {
    let name = zone.name.as_ref().map(|name| format!(" ({name})")).unwrap_or_default();
    format!("{}{name}: {}", zone.id, in_words(plan.verdict))
}

pub(in crate::write) const fn in_words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Overcrowded => "overcrowded",
        Verdict::OnTarget => "on target",
        Verdict::UnderTarget => "under target",
        Verdict::Undecided => "undecided",
    }
}

/// What is said of one zone.
struct Balloon<'a> {
    thinned: &'a Thinned<'a>,
    zone: &'a Zone,
    plan: &'a ZonePlan,
    units: ReadingUnits,
}

impl Balloon<'_> {
    fn paragraphs(&self) -> Vec<String> {
        let mut paragraphs = vec![self.place(), self.crowding()];
        paragraphs.push(self.work());
        paragraphs.extend(self.days());
        paragraphs.extend(self.plan.advice.iter().cloned());
        paragraphs
    }

    fn place(&self) -> String {
        let Zone { rows, panels, vines, counted_vines, .. } = self.zone;
        let (panels, vines) = (panels.len(), vines.len());
        let rows = capital(&named_rows(rows));
        let (panels, vines) = (number_of(panels, "panel"), number_of(vines, "vine"));
        format!("{rows}: {panels}, {vines}, {counted_vines} of them counted.")
    }

    fn crowding(&self) -> String {
        let Some(mean) = self.zone.density else {
            return "Too few counts here to say how crowded it is.".to_owned();
        };
        let [mean, low, high] = [mean.per_m, mean.lo90, mean.hi90].map(|at| self.density(at));
        let unit = self.unit();
        let aim = self
            .plan
            .target_per_m
            .map(|target| format!(" Aim: {} per {unit}.", self.density(target.aim_per_m)));
        let aim = aim.unwrap_or_default();
        format!("About {mean} shoots per {unit} of canopy ({low} to {high}, 9 times in 10).{aim}")
    }

    fn work(&self) -> String {
        let Interval { value, lo90, hi90 } = self.plan.hours;
        if self.plan.verdict != Verdict::Overcrowded {
            return "No shoots are to be taken off by number here.".to_owned();
        }
        let remove = self.thinned.remove_of(self.zone.vines.iter().copied());
        #[expect(clippy::cast_precision_loss, reason = "vines of a zone stay far below 2⁵³")]
        let vines = (self.zone.vines.len() as f64).max(1.0);
        format!(
            "Take off about {remove:.0} shoots, {each:.1} a vine on average. About {value:.1} \
             person-hours ({lo90:.1} to {hi90:.1}, 9 times in 10).",
            each = remove / vines,
        )
    }

    fn days(&self) -> Option<String> {
        let ZonePlan { thin_from, thin_by, thin_by_latest, .. } = self.plan;
        let from = thin_from.map(|day| format!("Start: {day}."));
        let by = thin_by.map(|day| format!("Be done by {day} if shoots grow fast."));
        let latest = thin_by_latest.map(|day| format!("By {day} at the latest."));
        let days: Vec<String> = [from, by, latest].into_iter().flatten().collect();
        (!days.is_empty()).then(|| days.join(" "))
    }

    fn density(&self, per_m: f64) -> String {
        let density = PerMetre::new(per_m);
        match self.units {
            ReadingUnits::Metric => format!("{:.1}", density.per_metre()),
            ReadingUnits::Us => format!("{:.1}", density.per_foot()),
        }
    }

    const fn unit(&self) -> &'static str {
        match self.units {
            ReadingUnits::Metric => "metre",
            ReadingUnits::Us => "foot",
        }
    }
}
