//! Scenes to a PDF: lines stay lines, lettering can be selected, a page has the size of its paper.

use krilla::{Document, SerializeSettings, geom::Size, metadata::Metadata, page::PageSettings};
use krilla_svg::{SurfaceExt as _, SvgSettings};

use crate::{
    error::Error,
    picture::{Scene, png::tree},
};

/// Points in a millimetre: 72 to the inch (ISO 32000-1, 8.3.2.3).
const POINTS_PER_MM: f64 = 72.0 / 25.4;

/// A PDF with a page for every scene, each as large as its paper; the fonts are in it, no date is.
///
/// # Errors
/// Only by a fault of the program: no scene, or one without an extent.
pub fn to_pdf(pages: &[Scene], title: &str) -> Result<Vec<u8>, Error> {
    written(pages, title, SerializeSettings::default())
}

/// The same with settings of the writer.
pub(super) fn written(
    pages: &[Scene],
    title: &str,
    settings: SerializeSettings,
) -> Result<Vec<u8>, Error> {
    let mut document = Document::new_with(settings);
    document.set_metadata(Metadata::new().title(title.to_owned()).creator("catchwire".to_owned()));
    for scene in pages {
        draw(&mut document, scene)?;
    }
    document.finish().map_err(|fault| unexpected(&format!("{fault:?}")))
}

fn draw(document: &mut Document, scene: &Scene) -> Result<(), Error> {
    let [width, height] = scene.paper_mm.map(points);
    let no_extent = || unexpected("a page has no extent");
    let size = Size::from_wh(width, height).ok_or_else(no_extent)?;
    let settings = PageSettings::from_wh(width, height).ok_or_else(no_extent)?;
    let tree = tree(scene)?;
    let mut page = document.start_page_with(settings);
    let mut surface = page.surface();
    surface.draw_svg(&tree, size, SvgSettings::default()).ok_or_else(no_extent)?;
    surface.finish();
    page.finish();
    Ok(())
}

fn unexpected(what: &str) -> Error {
    Error::Unexpected(format!("a PDF cannot be made: {what}"))
}

#[expect(clippy::cast_possible_truncation, reason = "a page is a few hundred points wide")]
const fn points(millimetres: f64) -> f32 {
    (millimetres * POINTS_PER_MM) as f32
}
