//! Pictures held against those that are kept in `docs/pictures`: a picture that differs fails, and
//! what was kept, where they differ and what was made lie side by side in `target/pictures`.
//! `make bless` keeps what is made now.

use std::{
    fs,
    path::{Path, PathBuf},
};

use image::{GenericImage as _, Rgb, RgbImage, imageops};

/// Who drew a picture, and so how alike two of it are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Drawn {
    /// This program: alike to the pixel.
    Here,
    /// A browser or a reader of PDF, whose edges move from version to version.
    Elsewhere,
}

/// A pixel differs by more than this in one of its colours.
const STEP: u8 = 24;
/// Side of the squares that pictures drawn elsewhere are meant over.
const SQUARE: u32 = 6;

fn kept_in() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/pictures")
}

/// True when pictures and pages are to be kept as they are made now.
pub(crate) fn is_blessing() -> bool {
    std::env::var_os("BLESS").is_some()
}

/// Keeps some bytes in the repository.
pub(crate) fn keep(path: &Path, bytes: &[u8]) {
    #[expect(clippy::disallowed_methods, reason = "accepting what the program makes now")]
    fs::write(path, bytes).expect("a kept file");
}

/// What is wrong with a picture of that name; a picture at 254 pixels to the inch is kept a third as
/// large.
pub(crate) fn differs(name: &str, made: &[u8], drawn: Drawn) -> Option<String> {
    let made = small(image::load_from_memory(made).expect("a picture").into_rgb8());
    let path = kept_in().join(format!("{name}.png"));
    if is_blessing() {
        keep(&path, &packed(&made));
    }
    let Ok(kept) = fs::read(&path) else {
        return Some(format!("{name}: no picture is kept; look at it, then `make bless`"));
    };
    let kept = image::load_from_memory(&kept).expect("a kept picture").into_rgb8();
    let shown = || three_panels(name, &kept, &made).display().to_string();
    if kept.dimensions() != made.dimensions() {
        let sizes = (kept.dimensions(), made.dimensions());
        return Some(format!("{name}: {sizes:?} pixels; look at {}", shown()));
    }
    let share = match drawn {
        Drawn::Here => share_off(&kept, &made),
        Drawn::Elsewhere => share_off(&squares(&kept), &squares(&made)),
    };
    let allowed = if drawn == Drawn::Here { 1e-5 } else { 2e-3 };
    (share > allowed).then(|| {
        format!("{name}: {:.3} % differ; look at {}, then `make bless`", 100.0 * share, shown())
    })
}

/// Pages of 2000 pixels and more a third as large.
fn small(picture: RgbImage) -> RgbImage {
    let (width, height) = picture.dimensions();
    if width.min(height) < 1500 {
        return picture;
    }
    imageops::thumbnail(&picture, width / 3, height / 3)
}

fn packed(picture: &RgbImage) -> Vec<u8> {
    use image::{
        ExtendedColorType, ImageEncoder as _,
        codecs::png::{CompressionType, FilterType, PngEncoder},
    };
    let mut bytes = Vec::new();
    PngEncoder::new_with_quality(&mut bytes, CompressionType::Best, FilterType::Adaptive)
        .write_image(picture, picture.width(), picture.height(), ExtendedColorType::Rgb8)
        .expect("a packed picture");
    bytes
}

fn is_off(one: Rgb<u8>, other: Rgb<u8>) -> bool {
    one.0.iter().zip(other.0).any(|(a, b)| a.abs_diff(b) > STEP)
}

#[expect(clippy::cast_precision_loss, reason = "a few million pixels")]
fn share_off(one: &RgbImage, other: &RgbImage) -> f64 {
    let off = one.pixels().zip(other.pixels()).filter(|(a, b)| is_off(**a, **b)).count();
    off as f64 / one.pixels().len().max(1) as f64
}

fn squares(picture: &RgbImage) -> RgbImage {
    let (width, height) = picture.dimensions();
    imageops::thumbnail(picture, (width / SQUARE).max(1), (height / SQUARE).max(1))
}

/// What was kept, where they differ (red on what was kept, pale), what was made.
fn three_panels(name: &str, kept: &RgbImage, made: &RgbImage) -> PathBuf {
    let width = kept.width().max(made.width());
    let height = kept.height().max(made.height());
    let gap = 12;
    let mut panels = RgbImage::from_pixel(3 * width + 2 * gap, height, Rgb([90, 90, 90]));
    let difference = RgbImage::from_fn(width, height, |x, y| {
        let pixel = |from: &RgbImage| from.get_pixel_checked(x, y).copied();
        match (pixel(kept), pixel(made)) {
            (Some(one), Some(other)) if !is_off(one, other) => {
                Rgb(one.0.map(|part| 191 + part / 4))
            }
            _ => Rgb([220, 0, 40]),
        }
    });
    for (at, panel) in (0..).zip([kept, &difference, made]) {
        panels.copy_from(panel, at * (width + gap), 0).expect("room for a panel");
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/pictures");
    fs::create_dir_all(&folder).expect("a folder for differences");
    let path = folder.join(format!("{name}.png"));
    keep(&path, &packed(&panels));
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture(red: u8) -> RgbImage {
        RgbImage::from_fn(
            60,
            60,
            |x, y| {
                if x < 3 && y < 3 { Rgb([red, 0, 0]) } else { Rgb([0, 120, 0]) }
            },
        )
    }

    #[test]
    fn a_slight_change_of_a_few_pixels_is_one_of_ours_and_none_of_a_browser() {
        let (kept, made) = (picture(0), picture(60));
        assert!((share_off(&kept, &made) - 9.0 / 3600.0).abs() < 1e-12);
        assert!(share_off(&squares(&kept), &squares(&made)) < 1e-12);
        let (kept, made) = (picture(0), RgbImage::from_pixel(60, 60, Rgb([0, 160, 0])));
        assert!(share_off(&squares(&kept), &squares(&made)) > 0.99);
    }
}
