//! What stands at every place, and how much canopy it fills.

use std::{collections::BTreeMap, ops::Range};

use super::{Placed, Target, VineRecord, name, places::Places, told::Told, visits::visit};
use crate::{
    counts::Status,
    finding::{Finding, Findings, Place},
    names::PlaceId,
    settings::JoinSettings,
    units::Metres,
};

/// Settles status and canopy of every vine place.
pub(super) fn settle(
    places: &Places<'_>,
    placed: &[Placed<'_>],
    settings: &JoinSettings,
    findings: &mut Findings,
) -> Vec<VineRecord> {
    let mut told = Told::default();
    let mut settling =
        Settling { places, in_time: in_time(placed), vines: defaults(places), told: &mut told };
    settling.statuses();
    settling.canopies();
    settling.nothing_counted_beyond_its_canopy();
    settling.doubt_long_canopies(settings.doubtful_canopy_ratio);
    let vines = settling.vines;
    told.tell(findings);
    vines
}

fn defaults(places: &Places<'_>) -> Vec<VineRecord> {
    let vines = places.layout.vines.iter().map(|vine| {
        let planting = places.site.plantings.of_row(vine.row);
        let canopy_m = default_canopy_m(places, planting);
        VineRecord { status: Status::Present, planting, canopy_m, counted: false }
    });
    vines.collect()
}

/// The vine spacing on every curtain.
fn default_canopy_m(places: &Places<'_>, planting: usize) -> f64 {
    let curtains = places.site.plantings.all().get(planting).map_or(1, |p| p.curtains);
    places.site.rules.vine_spacing.metres() * f64::from(curtains)
}

/// The records from the oldest to the newest; those without a date first, else as read.
fn in_time<'a, 'b>(placed: &'b [Placed<'a>]) -> Vec<&'b Placed<'a>> {
    let mut in_time: Vec<&Placed<'_>> = placed.iter().collect();
    in_time.sort_by_key(|record| record.count.date);
    in_time
}

struct Settling<'a, 'b> {
    places: &'a Places<'a>,
    in_time: Vec<&'b Placed<'b>>,
    vines: Vec<VineRecord>,
    told: &'b mut Told,
}

impl Settling<'_, '_> {
    /// The block's list first, then records, the newest last; a whole panel's word counts only
    /// where no record speaks of the vine.
    fn statuses(&mut self) {
        self.listed_as_missing();
        for record in &self.in_time {
            let panel = matches!(record.target, Target::Panel(_));
            if let Some(status) = record.count.status.filter(|&s| panel && s != Status::Present) {
                self.vines[places_of(self.places, record.target)]
                    .iter_mut()
                    .for_each(|vine| vine.status = status);
            }
        }
        let listed: Vec<bool> = self.vines.iter().map(|v| v.status.is_missing()).collect();
        let mut said: BTreeMap<usize, &Placed<'_>> = BTreeMap::new();
        for record in &self.in_time {
            let (Some(status), Target::Vine(vine)) = (record.count.status, record.target) else {
                continue;
            };
            self.vines[vine].status = status;
            let doubt = match said.insert(vine, record) {
                Some(earlier) => contradiction(self.places, earlier, record),
                None => (listed[vine] && !status.is_missing())
                    .then(|| stands_again(self.places, record, status)),
            };
            if let Some(doubt) = doubt {
                self.told.push("contradict what else is said about the vine", doubt);
            }
        }
    }

    fn listed_as_missing(&mut self) {
        for id in &self.places.site.missing {
            let found = match id.parse() {
                Ok(PlaceId::Vine { row, vine }) => self.places.vine(row, vine),
                Ok(PlaceId::Panel { row, panel }) => self.places.panel(row, panel),
                Err(refusal) => Err(refusal.to_string()),
            };
            match found {
                Ok(target) => self.vines[places_of(self.places, target)]
                    .iter_mut()
                    .for_each(|vine| vine.status = Status::Missing),
                Err(reason) => {
                    let what = format!("`{id}` is listed as missing, but {reason}");
                    let warning =
                        Finding::warning(Place::field("missing"), what).mend("correct the id");
                    self.told.push("of `missing` name no place", warning);
                }
            }
        }
    }

    fn canopies(&mut self) {
        let mut own = BTreeMap::new();
        for at in 0..self.in_time.len() {
            let record = self.in_time[at];
            let Some(length) = record.count.canopy_length else { continue };
            if length.metres() <= 0.0 {
                let warning = Finding::warning(
                    record.count.place.at_field("canopy_length"),
                    "a canopy of no length",
                )
                .because("the vine spacing is used instead")
                .mend("leave the cell empty where the length is not known, or set `status`");
                self.told.push("have a canopy of no length", warning);
            } else if let Target::Vine(vine) = record.target {
                own.insert(vine, length.metres());
            } else if let Target::Panel(panel) = record.target {
                self.share_out(panel, length.metres());
            }
        }
        for (vine, canopy_m) in own {
            self.vines[vine].canopy_m = canopy_m;
        }
        for vine in self.vines.iter_mut().filter(|vine| vine.status.is_missing()) {
            vine.canopy_m = 0.0;
        }
    }

    /// The canopy of a whole panel, in equal parts over the vines that stand in it.
    fn share_out(&mut self, panel: usize, canopy_m: f64) {
        let vines = self.standing_in(panel);
        let each_m = canopy_m / count(vines.len());
        for vine in vines {
            self.vines[vine].canopy_m = each_m;
        }
    }

    fn standing_in(&self, panel: usize) -> Vec<usize> {
        let vines = self.places.layout.panels[panel].vines.clone();
        vines.filter(|&vine| !self.vines[vine].status.is_missing()).collect()
    }

    fn nothing_counted_beyond_its_canopy(&mut self) {
        for at in 0..self.in_time.len() {
            let record = self.in_time[at];
            let counted = record.count.counted_length.filter(|_| record.count.shoots.is_some());
            let Some(counted_m) = counted.map(Metres::metres) else { continue };
            let vines = match record.target {
                Target::Vine(vine) if self.vines[vine].status.is_missing() => Vec::new(),
                Target::Vine(vine) => vec![vine],
                Target::Panel(panel) => self.standing_in(panel),
            };
            let canopy_m: f64 = vines.iter().map(|&vine| self.vines[vine].canopy_m).sum();
            if vines.is_empty() || counted_m <= canopy_m * (1.0 + 1e-6) {
                continue;
            }
            for &vine in &vines {
                self.vines[vine].canopy_m *= counted_m / canopy_m;
            }
            let what = format!(
                "{} has {canopy_m:.2} m of canopy, but {counted_m:.2} m were counted",
                name(self.places.layout, record.target)
            );
            let warning = Finding::warning(record.count.place.at_field("counted_length"), what)
                .because("its canopy is taken as the length counted")
                .mend("give `canopy_length`, or check the unit of the length");
            self.told.push("counted more than the canopy", warning);
        }
    }

    fn doubt_long_canopies(&mut self, ratio: f64) {
        for at in 0..self.in_time.len() {
            let record = self.in_time[at];
            let (Target::Vine(vine), Some(_)) = (record.target, record.count.canopy_length) else {
                continue;
            };
            let canopy_m = self.vines[vine].canopy_m;
            let usual_m = default_canopy_m(self.places, self.vines[vine].planting);
            if canopy_m > ratio * usual_m {
                let what = format!(
                    "{} fills {canopy_m:.2} m of canopy, more than {ratio} times the {usual_m:.2} \
                     m of its place",
                    name(self.places.layout, record.target)
                );
                let warning = Finding::warning(record.count.place.at_field("canopy_length"), what)
                    .because("it is used as given")
                    .mend("check the unit of the length");
                self.told.push("have a doubtfully long canopy", warning);
            }
        }
    }
}

fn places_of(places: &Places<'_>, target: Target) -> Range<usize> {
    match target {
        Target::Vine(vine) => vine..vine + 1,
        Target::Panel(panel) => places.layout.panels[panel].vines.clone(),
    }
}

fn stands_again(places: &Places<'_>, record: &Placed<'_>, status: Status) -> Finding {
    let vine = name(places.layout, record.target);
    let what = format!("{vine} was said to be missing, and is {} by this record", status.word());
    Finding::note(record.count.place.at_field("status"), what)
        .because("the record is used")
        .mend("take the vine out of `missing` if it stands")
}

/// Two words of one visit about one vine that are not the same.
fn contradiction(places: &Places<'_>, one: &Placed<'_>, other: &Placed<'_>) -> Option<Finding> {
    let (first, second) = (one.count.status?, other.count.status?);
    if first == second || visit(one.count) != visit(other.count) {
        return None;
    }
    let what = format!(
        "{} is both {} and {} on one visit",
        name(places.layout, other.target),
        first.word(),
        second.word()
    );
    let warning = Finding::warning(other.count.place.at_field("status"), what)
        .because("the one read last is used")
        .mend("remove the wrong one");
    Some(warning)
}

#[expect(clippy::cast_precision_loss, reason = "vines of a panel")]
const fn count(vines: usize) -> f64 {
    vines as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::counts::Count;
    use crate::join::field::{Field, on, on_panel, told};

    fn is(status: Status, count: Count) -> Count {
        Count { status: Some(status), shoots: None, ..count }
    }

    #[test]
    fn the_newest_record_says_what_stands() {
        let dated = |day, status| Count {
            date: Some(jiff::civil::date(2026, 5, day)),
            ..is(status, on(1, 1, 0))
        };
        let newest_first = [dated(9, Status::Replant), dated(1, Status::Missing)];
        let (joined, findings) = Field::new().join(&newest_first);
        assert_eq!(joined.vines[0].status, Status::Replant);
        assert!(findings.is_empty(), "{findings:?}");
        let at_once = [dated(1, Status::Replant), dated(1, Status::Renewal)];
        let (joined, findings) = Field::new().join(&at_once);
        assert_eq!(joined.vines[0].status, Status::Renewal);
        assert_eq!(told(&findings, "R001V001 is both replant and renewal"), 1);
    }

    #[test]
    fn a_panel_speaks_for_the_vines_that_no_record_names() {
        let counts = [is(Status::Present, on(1, 2, 0)), is(Status::Missing, on_panel(1, 1, 0))];
        let (joined, findings) = Field::new().join(&counts);
        let missing: Vec<bool> = joined.vines.iter().map(|v| v.status.is_missing()).collect();
        assert_eq!(missing[..5], [true, false, true, true, false]);
        assert_eq!(told(&findings, "R001V002 was said to be missing"), 1);
    }
}
