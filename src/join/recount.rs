//! A recount after the work: its own records, on the vines as the counts before knew them.

use super::{Joined, join, place_all, places::Places};
use crate::{
    counts::Count, finding::Findings, frame::Site, layout::Layout, settings::JoinSettings,
};

/// Joins a recount to the places of a block.
///
/// What the counts before say of vines (missing, young, grown into a gap) holds where the recount
/// says nothing else; what they counted is not looked at, and none of them is among the records.
pub fn join_recount(
    (site, layout): (&Site, &Layout),
    (before, recount): (&[Count], &[Count]),
    settings: &JoinSettings,
) -> (Joined, Findings) {
    let standing: Vec<Count> = before.iter().map(standing_only).collect();
    let (known, lost) = place_all(&Places::of(site, layout), &standing, &mut Findings::none());
    let all: Vec<Count> = standing.iter().chain(recount).cloned().collect();
    let settings = JoinSettings { after_work: true, ..settings.clone() };
    let (mut joined, findings) = join(site, layout, &all, &settings);
    joined.records.drain(..known.len());
    joined.unjoined.drain(..lost.len());
    // What was known of the vines has the days of the counts before.
    joined.date = joined.records.iter().filter_map(|record| record.count.date).max();
    (joined, findings)
}

/// What a record says of the vine itself.
fn standing_only(count: &Count) -> Count {
    Count {
        shoots: None,
        suckers: None,
        shoot_length: None,
        pruning_weight_kg: None,
        yield_kg: None,
        buds: None,
        buds_dead: None,
        minutes: None,
        chosen_by: None,
        ..count.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        counts::Status,
        join::field::{Field, on, on_panel},
    };

    fn labelled(visit: &str, count: Count) -> Count {
        Count { visit: Some(visit.to_owned()), ..count }
    }

    #[test]
    fn a_recount_stands_on_what_was_known_and_only_its_own_records_come_back() {
        let field = Field::new();
        let missing = Count { status: Some(Status::Missing), shoots: None, ..on(1, 2, 0) };
        let before = [labelled("before", on(1, 1, 40)), missing, on(99, 1, 30)];
        let recount = [
            labelled("after", on_panel(1, 1, 60)),
            on(98, 1, 20),
            labelled("before", on(1, 6, 44)),
        ];
        let ground = (&field.site, &field.layout);
        let (joined, _) = join_recount(ground, (&before, &recount), &field.settings);
        assert_eq!((joined.records.len(), joined.unjoined.len()), (2, 1));
        let vines: Vec<_> = joined.shoots.iter().map(|one| one.vines.clone()).collect();
        assert_eq!(
            vines,
            [vec![0, 2, 3]],
            "the missing vine has no canopy; `before` is no recount"
        );
    }
}
