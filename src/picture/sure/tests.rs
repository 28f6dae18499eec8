//! Whole pages: lettering that is read, words that are true.

use super::*;
use crate::{
    estimate::{
        LeaveOneOut, Method,
        sure::{BlockMean, Coverage},
        variogram::{Bin, BinRules, Variogram},
    },
    finding::{Finding, Place},
    maths::random::Random,
    picture::{Anchor, Lettering, Mark, lettering::width_mm, to_pdf, to_png},
};

fn bins(pairs: usize) -> Vec<Bin> {
    let bin = |k: u8| {
        let distance_m = (f64::from(k) + 0.6) * 4.0;
        let gamma = 9.0 - 6.0 * (-distance_m / 8.0).exp() + f64::from(k % 3);
        Bin { pairs: pairs + usize::from(k), distance_m, gamma }
    };
    (0..15).map(bin).collect()
}

fn variogram(by_way: bool, range_m: f64) -> Variogram {
    Variogram {
        all: bins(12_345),
        by_way: by_way.then(|| [bins(90), bins(80)]),
        model: format!("exponential nugget=2 psill=6 range={range_m}").parse().unwrap(),
        step: 3.0,
        rules: BinRules { cutoff_m: 60.0, width_m: 4.0 },
    }
}

fn warning(at: usize) -> Finding {
    let what = format!("`观 crew {at}` counts 1.25 times what `crew B` counts (12 and 14 counts)");
    Finding::warning(Place::default(), what)
        .because("the map may show who counted where, and not how vines differ")
        .mend("let both count the same five vines, agree on what a shoot is, and count again")
}

fn sure(counts: usize, warnings: usize) -> Sure {
    let mut random = Random::new(3);
    let foretold = |_| {
        let at = 12.0 + 8.0 * random.uniform();
        [at, at + 2.0 * random.normal()]
    };
    let check = LeaveOneOut {
        rmse_per_m: 2.88,
        rmse_of_mean_per_m: 3.6,
        bias_per_m: 0.14,
        msdr: 1.1,
        coverage90: 0.9,
    };
    Sure {
        counts,
        counted_vines: counts + 6,
        vines: 1234,
        method: if counts < 5 { Method::None } else { Method::Kriging },
        fewest: [5, 30],
        check: (counts >= 5).then_some(check),
        coverage: (counts >= 5).then_some(Coverage { within: 36, of: 40, least_by_chance: 33 }),
        foretold: (0..if counts < 5 { 0 } else { counts }).map(foretold).collect(),
        vine_half90_per_m: (counts >= 5).then_some(4.8),
        block: Some(BlockMean { per_m: 17.3, half90_per_m: 0.8, from_draw: false }),
        variogram: (counts >= 30).then(|| variogram(counts >= 100, 8.35)),
        observers: vec![],
        compared: vec![],
        warnings: (0..warnings).map(warning).collect(),
    }
}

const BLOCK: &str = "葡萄 behind the house, below the wall that grandfather built in spring 1961";

fn caption(units: ReadingUnits, paper: Paper, zones: &[(String, [f64; 3])]) -> SureCaption<'_> {
    SureCaption { block: BLOCK, date: Some(jiff::civil::date(2026, 5, 14)), units, paper, zones }
}

fn zones(number: usize) -> Vec<(String, [f64; 3])> {
    (1..=number).map(|at| (format!("Z{at}"), [20.1, 18.9, 21.3])).collect()
}

fn told(scene: &Scene) -> Vec<&Lettering> {
    let letters = scene.marks.iter().filter_map(|mark| match mark {
        Mark::Lettering(letters) => Some(letters),
        Mark::Shape(_) => None,
    });
    letters.collect()
}

fn text(scene: &Scene) -> String {
    told(scene).iter().map(|letters| letters.words.as_str()).collect::<Vec<_>>().join(" ")
}

#[track_caller]
fn is_clean(name: &str, scene: &Scene) {
    let boxed = |letters: &&Lettering| {
        let width = width_mm(&letters.words, letters.hand).unwrap();
        let left = match letters.anchor {
            Anchor::Start => letters.at.x_mm,
            Anchor::Middle => letters.at.x_mm - width / 2.0,
            Anchor::End => letters.at.x_mm - width,
        };
        let base = letters.at.y_mm;
        [left, left + width, base - 0.73 * letters.hand.size_mm, base + 0.1]
    };
    let all = told(scene);
    let rims: Vec<[f64; 4]> = all.iter().map(boxed).collect();
    let [width, height] = scene.paper_mm;
    for (at, [left, right, top, bottom]) in rims.iter().enumerate() {
        let words = &all[at].words;
        let inside =
            *left > 10.0 && *right < width - 10.0 && *top > 10.0 && *bottom < height - 10.0;
        assert!(inside, "{name}: `{words}` leaves the page");
        for (k, other) in rims.iter().enumerate().skip(at + 1) {
            let apart = right <= &other[0] || &other[1] <= left;
            let apart = apart || bottom <= &other[2] || &other[3] <= top;
            assert!(apart, "{name}: `{words}` meets `{}`", all[k].words);
        }
    }
}

#[test]
fn lettering_never_meets_other_lettering_nor_leaves_the_page() {
    for units in [ReadingUnits::Metric, ReadingUnits::Us] {
        for paper in [Paper::A4, Paper::A3, Paper::Letter] {
            for (counts, warnings, zone_count) in
                [(0, 1, 0), (3, 1, 1), (12, 0, 3), (40, 9, 8), (40, 2, 30), (130, 30, 6)]
            {
                let zones = zones(zone_count);
                let (sure, caption) = (sure(counts, warnings), caption(units, paper, &zones));
                let name = format!("{counts} counts, {warnings} warnings, {}", paper.word());
                is_clean(&name, &how_sure_scene(&sure, &caption).unwrap());
                let drawn = variogram_scene(&sure, &caption).unwrap();
                assert_eq!(drawn.is_some(), counts >= 30, "{name}");
                if let Some(scene) = &drawn {
                    is_clean(&name, scene);
                }
            }
        }
    }
    // A range beyond the chart, and one near its right edge, have their words inside.
    for range_m in [0.5, 12.0, 18.5, 19.9, 400.0] {
        let sure = Sure { variogram: Some(variogram(true, range_m)), ..sure(40, 1) };
        let caption = caption(ReadingUnits::Us, Paper::A4, &[]);
        is_clean("range", &variogram_scene(&sure, &caption).unwrap().unwrap());
        is_clean("range", &how_sure_scene(&sure, &caption).unwrap());
    }
}

#[test]
fn the_page_says_what_was_found_in_plain_words() {
    let zones = zones(1);
    let page = |counts, units| {
        text(&how_sure_scene(&sure(counts, 0), &caption(units, Paper::A4, &zones)).unwrap())
    };
    let metric = page(40, ReadingUnits::Metric);
    for words in [
        "40 counts on 46 of 1234 vines (3.7 %).",
        "errs by 2.9 shoots per metre",
        "3.6: 20 % better",
        "Of 40 counts, 36 fell",
        "0.1 shoots per metre too low",
        "give or take 4.8",
        "Z1 20.1 (18.9 to 21.3)",
        "17.3 shoots per metre, give or take 0.8",
        "Vines up to about 25 m apart resemble each other",
        "no cause for doubt",
    ] {
        assert!(metric.contains(words), "`{words}` is not in: {metric}");
    }
    // 25.0 m are 82 ft; 2.88 shoots a metre are 0.88 a foot.
    let us = page(40, ReadingUnits::Us);
    assert!(us.contains("about 80 ft") && us.contains("errs by 0.9 shoots per foot"), "{us}");
    assert!(page(3, ReadingUnits::Metric).contains("2 more counts would allow a map, 27 more"));
    assert!(page(12, ReadingUnits::Metric).contains("18 more counts would allow it"));
    for counts in [0, 3, 12, 40, 130] {
        assert!(!page(counts, ReadingUnits::Us).to_lowercase().contains("safe"));
    }
}

#[test]
fn every_warning_is_on_the_page_or_counted() {
    let caption = caption(ReadingUnits::Metric, Paper::A4, &[]);
    let said = |warnings| text(&how_sure_scene(&sure(40, warnings), &caption).unwrap());
    for warnings in [1, 2, 30] {
        let text = said(warnings);
        let shown = text.matches("counts 1.25 times").count();
        let left = text.split(" warnings more").next().and_then(|t| t.rsplit(' ').next());
        let left: usize = left.and_then(|number| number.parse().ok()).unwrap_or(0);
        assert_eq!(shown + left, warnings, "{text}");
    }
    assert!(said(1).contains("[U+89C2] crew 0"));
}

#[test]
fn the_report_has_three_to_five_lines_of_the_same() {
    for (counts, warnings, wanted) in [(3, 1, 4), (12, 0, 4), (40, 2, 5)] {
        let lines = sure_lines(&sure(counts, warnings), ReadingUnits::Metric);
        assert_eq!(lines.len(), wanted, "{lines:?}");
        assert!(lines[0].starts_with(&format!("{counts} counts on")), "{lines:?}");
    }
}

/// Writes the pages to a folder, to be looked at:
/// `CATCHWIRE_PICTURES=DIR cargo test --lib sure`.
#[test]
fn pages_become_pdf_and_png() {
    let zones = zones(3);
    for (name, counts, units, paper) in [
        ("few", 3, ReadingUnits::Metric, Paper::A4),
        ("some", 12, ReadingUnits::Us, Paper::Letter),
        ("many", 130, ReadingUnits::Us, Paper::Letter),
        ("usual", 40, ReadingUnits::Metric, Paper::A4),
    ] {
        let (sure, caption) = (sure(counts, 2), caption(units, paper, &zones));
        let page = how_sure_scene(&sure, &caption).unwrap();
        let pdf = to_pdf(std::slice::from_ref(&page), &page.title).unwrap();
        assert!(pdf.starts_with(b"%PDF") && pdf.windows(8).any(|w| w == b"/Count 1"));
        let pages = [Some(page), variogram_scene(&sure, &caption).unwrap()];
        let Some(folder) = std::env::var_os("CATCHWIRE_PICTURES") else { continue };
        for (at, page) in pages.iter().flatten().enumerate() {
            let file = std::path::Path::new(&folder).join(format!("sure-{name}-{at}.png"));
            #[expect(clippy::disallowed_methods, reason = "a test's own scratch file")]
            std::fs::write(file, to_png(page).unwrap()).unwrap();
        }
    }
}
