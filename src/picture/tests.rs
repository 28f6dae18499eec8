//! Whole pages, and a way to look at them.

use crate::{
    block::RowsTo,
    picture::{
        HeatMap, Paper,
        example::{Example, rectangle},
    },
    units::ReadingUnits,
};

fn examples() -> Vec<(&'static str, Example)> {
    let small = Example::small;
    let long = rectangle(30.0, 400.0);
    let slanted = vec![(0.0, 0.0), (1500.0, 100.0), (1700.0, 590.0), (200.0, 500.0)];
    let name = "葡萄 behind the house, the old vines that grandfather planted in the spring of 1961 \
                below the wall";
    let us = ReadingUnits::Us;
    vec![
        ("small", small()),
        ("large", Example::large()),
        (
            "long",
            Example { outline: long, bearing: 100.0, units: us, paper: Paper::Letter, ..small() },
        ),
        (
            "tiny",
            Example {
                name,
                outline: rectangle(9.0, 6.0),
                zones: 1,
                counts: 3,
                shoots: [12.3, 0.0],
                ..small()
            },
        ),
        ("row", Example { outline: rectangle(120.0, 2.0), rows_to: RowsTo::Left, ..small() }),
        ("vast", Example { outline: slanted, zones: 6, units: us, paper: Paper::A3, ..small() }),
        ("alternate", Example { alternate: true, zones: 3, bearing: 340.0, ..small() }),
        ("half-known", Example { known_to_m: 50.0, bearing: 310.0, ..small() }),
    ]
}

/// Writes every example to a folder, to be looked at:
/// `CATCHWIRE_PICTURES=DIR cargo test --lib picture::tests`.
#[test]
fn every_example_makes_a_page() {
    let folder = std::env::var_os("CATCHWIRE_PICTURES");
    for (name, example) in examples() {
        for kind in HeatMap::ALL {
            let png = example.png(kind);
            assert!(png.len() > 20_000, "{name}: {} bytes", png.len());
            if let Some(folder) = &folder {
                let file = format!("{name}-{}.png", kind.words().replace(' ', "-"));
                #[expect(clippy::disallowed_methods, reason = "a test's own scratch file")]
                std::fs::write(std::path::Path::new(folder).join(file), png).unwrap();
            }
        }
    }
}

#[test]
fn the_same_block_gives_the_same_bytes() {
    let example = Example::small();
    assert_eq!(example.png(HeatMap::ThinningNeed), example.png(HeatMap::ThinningNeed));
}

#[test]
fn a_picture_keeps_its_size_on_paper_and_its_lettering() {
    let png = Example { paper: Paper::Letter, ..Example::small() }.png(HeatMap::ShootDensity);
    // 10 000 pixels a metre, in both directions, unit 1 the metre.
    let chunk = [b"pHYs".as_slice(), &[0, 0, 0x27, 0x10, 0, 0, 0x27, 0x10, 1]].concat();
    assert!(png.windows(chunk.len()).any(|window| window == chunk));
    let image = image::load_from_memory(&png).unwrap().to_rgb8();
    let mut sides = [image.width(), image.height()];
    sides.sort_unstable();
    assert_eq!(sides, [2159, 2794]);
    // A family that is not found would leave the title's place white.
    let dark = |x: u32, y: u32| image.get_pixel(x, y).0.iter().all(|part| *part < 90);
    let title = (120..700).flat_map(|x| (120..180).map(move |y| (x, y)));
    let inked = title.filter(|(x, y)| dark(*x, *y)).count();
    assert!(inked > 3_000, "{inked} dark pixels in the title");
}
