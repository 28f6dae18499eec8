//! What was counted on each visit of a season: every visit joined for itself, so that windows,
//! panels and doubtful counts are treated as everywhere.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::{
    counts::Count,
    frame::Site,
    join::{Observation, join},
    layout::Layout,
    settings::JoinSettings,
};

/// A visit.
#[derive(Debug, Clone)]
pub struct Visit {
    /// Its day.
    pub date: Option<Date>,
    /// Its label, as first written; may be empty.
    pub label: String,
    /// The densities counted on it: one for each vine or whole panel.
    pub shoots: Vec<Observation>,
}

/// The visits on which shoots were counted, from the first; of one day, by their labels, those
/// before the work first.
///
/// `standing` are records that say what stands, whatever their day.
pub fn visits(
    (site, layout): (&Site, &Layout),
    counts: &[Count],
    standing: &[Count],
    settings: &JoinSettings,
) -> Vec<Visit> {
    let mut by_visit: BTreeMap<(Option<Date>, bool, String), Vec<&Count>> = BTreeMap::new();
    for count in counts.iter().filter(|count| count.shoots.is_some()) {
        let label = label(count).to_lowercase();
        by_visit.entry((count.date, label.contains("after"), label)).or_default().push(count);
    }
    // What was set aside as of before a frost, or after the work, is what is shown here.
    let settings = JoinSettings { not_before: None, ..settings.clone() };
    let visit = |((date, _, _), counts): (_, Vec<&Count>)| {
        let label = counts.first().map_or("", |count| label(count)).to_owned();
        let alone = counts.iter().map(|count| on_its_own(count));
        let records: Vec<Count> = standing.iter().cloned().chain(alone).collect();
        let (joined, _) = join(site, layout, &records, &settings);
        Visit { date, label, shoots: joined.shoots }
    };
    by_visit.into_iter().map(visit).filter(|visit| !visit.shoots.is_empty()).collect()
}

fn label(count: &Count) -> &str {
    count.visit.as_deref().unwrap_or_default().trim()
}

/// The count without what says that it is after the work.
fn on_its_own(count: &Count) -> Count {
    Count { visit: None, minutes: None, date: None, ..count.clone() }
}
