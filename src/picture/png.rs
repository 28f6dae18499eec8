//! SVG to pixels, with the size of the paper in the file.

use std::{io::Cursor, sync::Arc};

use image::{
    ExtendedColorType, ImageEncoder,
    codecs::png::{CompressionType, FilterType, PngEncoder},
};
use resvg::{
    tiny_skia::{Color, Pixmap, Transform},
    usvg::{Options, Tree, fontdb},
};

use crate::{
    error::Error,
    picture::{Scene, lettering, to_svg},
};

/// Pixels to a millimetre of paper: 254 to the inch.
const PIXELS_PER_MM: f64 = 10.0;
/// Pixels to a millimetre on a screen.
const SCREEN_PER_MM: f64 = 4.0;
/// Pixels of paper to the metre, as a PNG states it.
const PIXELS_PER_METRE: u32 = 10_000;

/// Draws a scene at 254 pixels to the inch; the file says so, so that it prints at its true size.
///
/// # Errors
/// Only by a fault of the program: a scene without an extent.
pub fn to_png(scene: &Scene) -> Result<Vec<u8>, Error> {
    Ok(with_resolution(&packed(&draw(scene, PIXELS_PER_MM)?, &scene.title)?))
}

/// Draws a scene for a screen, about as large there as it would be on paper.
///
/// # Errors
/// Only by a fault of the program: a scene without an extent.
pub fn to_screen(scene: &Scene) -> Result<Vec<u8>, Error> {
    packed(&draw(scene, SCREEN_PER_MM)?, &scene.title)
}

fn packed(pixmap: &Pixmap, title: &str) -> Result<Vec<u8>, Error> {
    let mut file = Cursor::new(Vec::new());
    // Flat colours pack best unfiltered: a quarter of the size that the fast way gives.
    PngEncoder::new_with_quality(&mut file, CompressionType::Default, FilterType::NoFilter)
        .write_image(&opaque(pixmap), pixmap.width(), pixmap.height(), ExtendedColorType::Rgb8)
        .map_err(|fault| Error::Unexpected(format!("a picture cannot be packed: {fault}")))?;
    Ok(with_title(&file.into_inner(), title))
}

fn draw(scene: &Scene, per_mm: f64) -> Result<Pixmap, Error> {
    let unexpected = |what: String| Error::Unexpected(format!("a picture cannot be drawn: {what}"));
    let tree = tree(scene)?;
    let [width, height] = scene.paper_mm.map(|side| pixels(side, per_mm));
    let mut pixmap =
        Pixmap::new(width, height).ok_or_else(|| unexpected("it has no extent".to_owned()))?;
    pixmap.fill(Color::WHITE);
    let size = tree.size();
    #[expect(clippy::cast_precision_loss, reason = "a few thousand pixels")]
    let scale = Transform::from_scale(width as f32 / size.width(), height as f32 / size.height());
    resvg::render(&tree, scale, &mut pixmap.as_mut());
    Ok(pixmap)
}

/// A scene with every letter set, ready to be drawn.
///
/// # Errors
/// Only by a fault of the program: a scene without an extent.
pub(super) fn tree(scene: &Scene) -> Result<Tree, Error> {
    Tree::from_str(&to_svg(scene), &options())
        .map_err(|fault| Error::Unexpected(format!("a picture cannot be drawn: {fault}")))
}

/// Only the built-in font: what the machine has installed would change the picture.
fn options() -> Options<'static> {
    let mut options = Options { font_family: lettering::FAMILY.to_owned(), ..Options::default() };
    for file in lettering::files() {
        options.fontdb_mut().load_font_source(fontdb::Source::Binary(Arc::new(file)));
    }
    options
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "paper is a few hundred millimetres"
)]
fn pixels(millimetres: f64, per_mm: f64) -> u32 {
    (millimetres * per_mm).round() as u32
}

fn opaque(pixmap: &Pixmap) -> Vec<u8> {
    pixmap.data().chunks_exact(4).flat_map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect()
}

/// States the size of the paper.
///
/// # Source
/// PNG specification, third edition, 11.3.4.3: pixels per unit, unit 1 is the metre.
fn with_resolution(file: &[u8]) -> Vec<u8> {
    let side = PIXELS_PER_METRE.to_be_bytes();
    with_chunk(file, *b"pHYs", &[&side[..], &side, &[1]].concat())
}

/// States what a picture is, for those who only have the file.
///
/// # Source
/// PNG specification, third edition, 11.3.3.4: keyword, neither compressed nor in another language,
/// text in UTF-8.
pub(super) fn with_title(file: &[u8], title: &str) -> Vec<u8> {
    with_chunk(file, *b"iTXt", &[b"Title\0\0\0\0\0", title.as_bytes()].concat())
}

/// Puts a chunk after the header.
fn with_chunk(file: &[u8], kind: [u8; 4], data: &[u8]) -> Vec<u8> {
    // Signature 8, length 4, `IHDR` 4, its data 13, checksum 4.
    const AFTER_HEADER: usize = 33;
    let (header, rest) = file.split_at(AFTER_HEADER.min(file.len()));
    let length = u32::try_from(data.len()).unwrap_or(0).to_be_bytes();
    let chunk = [&kind[..], data].concat();
    let checksum = checksum(&chunk).to_be_bytes();
    [header, &length, &chunk, &checksum, rest].concat()
}

/// The checksum of a chunk.
///
/// # Source
/// ISO 3309, as in annex D of the PNG specification.
fn checksum(bytes: &[u8]) -> u32 {
    let mut remainder = u32::MAX;
    for byte in bytes {
        remainder ^= u32::from(*byte);
        for _ in 0..8 {
            let carry = remainder & 1;
            remainder = (remainder >> 1) ^ (0xEDB8_8320 * carry);
        }
    }
    !remainder
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_checksum_is_that_of_the_standard() {
        // The check value of CRC-32/ISO-HDLC, in every catalogue of such codes (from memory); and
        // the checksum that stands in every PNG file after `IEND`.
        assert_eq!(checksum(b"123456789"), 0xCBF4_3926);
        assert_eq!(checksum(b"IEND"), 0xAE42_6082);
    }
}
