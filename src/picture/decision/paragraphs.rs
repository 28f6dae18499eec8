//! What is said below the table: advice zone by zone, and how it was found.

use crate::{
    error::Error,
    picture::{
        Anchor,
        colours::INK,
        furniture::{BODY, Furniture, HEADING},
        lettering::printable,
    },
    plan::{Evidence, Plan},
};

/// Headings with their paragraphs, one piece each.
pub(super) fn paragraphs(
    evidence: Evidence<'_>,
    plan: &Plan,
    width_mm: f64,
) -> Result<Vec<Furniture>, Error> {
    let mut pieces = Vec::new();
    for (heading, said) in
        [("What to mind", advice(evidence, plan)), ("How it was found", method(evidence, plan))]
    {
        for (at, words) in said.iter().enumerate() {
            let mut piece = Furniture::default();
            if at == 0 {
                piece.space(2.0);
                piece.letter((0.0, 1.15 * HEADING.size_mm), heading, HEADING, (Anchor::Start, INK));
                piece.space(1.5 * HEADING.size_mm);
            }
            piece.paragraph(&printable(words), BODY, (width_mm, INK))?;
            piece.space(0.8);
            pieces.push(piece);
        }
    }
    Ok(pieces)
}

/// What to check or mind, each once with the zones that it is said of.
fn advice(evidence: Evidence<'_>, plan: &Plan) -> Vec<String> {
    let mut said: Vec<(&str, Vec<&str>)> = Vec::new();
    for (zone, planned) in evidence.zones.zones.iter().zip(&plan.zones) {
        for words in &planned.advice {
            match said.iter_mut().find(|(known, _)| known == words) {
                Some((_, zones)) => zones.push(&zone.id),
                None => said.push((words, vec![&zone.id])),
            }
        }
    }
    said.into_iter().map(|(words, zones)| format!("{}: {words}", zones.join(", "))).collect()
}

fn method(evidence: Evidence<'_>, plan: &Plan) -> Vec<String> {
    vec![
        format!("Shoots: {}.", evidence.estimate.shoots.why),
        format!("Zones: {}.", evidence.zones.why),
        format!("Hours: {}.", plan.labour.source),
    ]
}
