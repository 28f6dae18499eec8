//! The legend of a heat map by itself, to lie over a map on a screen.

use super::{
    Caption, HeatMap, MapStyle, PaperPoint, Scene,
    classes::Look,
    furniture::Furniture,
    legend::{ladder, others},
    looks::Size,
    subject::Subject,
};
use crate::{
    error::Error,
    plan::{Evidence, Plan},
};

/// Width of the legend, and free paper around it.
const WIDTH_MM: f64 = 66.0;
const PAD_MM: f64 = 3.5;
/// Width of strips in it.
const STRIP_MM: f64 = 3.0;

/// The legend of a map; `None` when the map has nothing to show.
///
/// # Errors
/// Only by a fault of the program.
pub fn legend_scene(
    kind: HeatMap,
    (evidence, plan): (Evidence<'_>, &Plan),
    caption: &Caption,
) -> Result<Option<Scene>, Error> {
    let caption = Caption { style: MapStyle::default(), ..*caption };
    let Some(subject) = Subject::of(kind, evidence, plan, &caption) else { return Ok(None) };
    let bare = bare(subject);
    let size = Size::Strip(STRIP_MM);
    let mut card = Furniture::default();
    card.below(ladder(&bare, size, WIDTH_MM)?);
    card.below(others(&bare, size, WIDTH_MM)?);
    let paper_mm = [WIDTH_MM + 2.0 * PAD_MM, card.height_mm + 2.0 * PAD_MM];
    let title = format!("{}: legend of {}", bare.block, bare.quantity);
    let marks = card.at(PaperPoint::new(PAD_MM, PAD_MM)).collect();
    Ok(Some(Scene { paper_mm, title, marks }))
}

/// What is on an overlay: vines alone, a pixel of ground being of one colour or of none.
fn bare(mut subject: Subject) -> Subject {
    for class in &mut subject.classes.ladder {
        if let Look::Open(colour) = class.look {
            class.look = Look::Solid(colour);
        }
    }
    subject.classes.beside.retain(|class| class.look != Look::Gap);
    Subject {
        little: Vec::new(),
        measured: Vec::new(),
        zones: Vec::new(),
        keep_outs: Vec::new(),
        ..subject
    }
}
