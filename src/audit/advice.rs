//! What is said of a zone after the work, in plain words.

use super::{Outcome, ZoneAudit};
use crate::names::number_of;

/// What to do or mind in a zone.
pub(super) fn advice(zone: &ZoneAudit, fewest: usize) -> Vec<String> {
    let facts = &zone.facts;
    let recounted = facts.pairs + facts.fresh + facts.part;
    if recounted == 0 {
        return vec!["no place was recounted here: nothing can be said".to_owned()];
    }
    let mut said = Vec::new();
    said.extend(of_outcome(zone, fewest));
    if facts.pairs == 0 {
        said.push("no pair of counts: what came off here is not known".to_owned());
    } else if facts.pairs < fewest {
        let pairs = number_of(facts.pairs, "pair");
        said.push(format!("{pairs} of counts: this says little of what came off"));
    }
    said
}

fn of_outcome(zone: &ZoneAudit, fewest: usize) -> Option<String> {
    let said = match (zone.outcome, zone.planned) {
        (Outcome::Reached | Outcome::LeftAlone, _) => return None,
        (Outcome::GoBack, true) => "go back: shoots still stand above the aim".to_owned(),
        (Outcome::GoBack, false) => {
            "nothing was to come off here, but the recount finds it overcrowded".to_owned()
        }
        (Outcome::OverThinned, _) => {
            "fewer shoots stand than the low end of the target: take no more off, mind the crop"
                .to_owned()
        }
        (Outcome::ThinnedUnasked, _) => {
            "shoots came off though none was to: ask what the crew was told".to_owned()
        }
        (Outcome::Undecided, true) => to_settle(zone.recounts_to_settle),
        (Outcome::Undecided, false) => left_alone(fewest.saturating_sub(zone.facts.pairs)),
    };
    Some(said)
}

/// More recounts than this are not asked of anybody.
const MOST_RECOUNTS: usize = 50;

fn to_settle(more: Option<usize>) -> String {
    if more.is_some_and(|more| more > MOST_RECOUNTS) {
        return format!(
            "more than {MOST_RECOUNTS} recounts would be needed: it stands near a limit, or its vines \
             differ much"
        );
    }
    more.map_or_else(
        || "it stands so near a limit that more recounts would not settle it".to_owned(),
        |more| {
            let more = number_of(more, "more recount");
            format!("about {more} would settle it, if the mean stays what it is")
        },
    )
}

fn left_alone(short: usize) -> String {
    if short == 0 {
        return "the pairs do not tell whether it was left alone".to_owned();
    }
    format!("{} would tell whether it was left alone", number_of(short, "more pair"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Facts;

    fn zone(outcome: Outcome, planned: bool, pairs: usize) -> ZoneAudit {
        ZoneAudit {
            zone: 0,
            planned,
            outcome,
            order: None,
            canopy_m: 100.0,
            facts: Facts { pairs, ..Facts::default() },
            above: None,
            hours: None,
            came_off: None,
            recounts_to_settle: Some(7),
            advice: Vec::new(),
        }
    }

    #[test]
    fn few_pairs_are_called_few() {
        let said = advice(&zone(Outcome::Undecided, true, 3), 5);
        assert_eq!(said.len(), 2, "{said:?}");
        assert!(said[0].contains("7 more recounts"), "{said:?}");
        assert!(said[1].starts_with("3 pairs of counts: this says little"), "{said:?}");
        assert!(advice(&zone(Outcome::Reached, true, 6), 5).is_empty());
        assert_eq!(advice(&zone(Outcome::Reached, true, 0), 5).len(), 1);
    }
}
