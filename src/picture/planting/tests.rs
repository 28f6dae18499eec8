//! Whole plans: lettering that is read, scales that are true, a PDF that measures.

use geo::{Coord, LineString, MultiPolygon, Polygon};
use krilla::SerializeSettings;

use super::*;
use crate::{
    block::{Block, BlockKeys, KeepOut, RowsTo},
    finding::Place,
    frame::place_block,
    layout::{CheckPoint, check_points, lay_out},
    maths::random::Random,
    picture::{
        Anchor, Lettering, Mark, Outline, PaperPoint, boxes::Boxed, colours::INK, lettering, pdf,
        to_svg,
    },
    settings::{Circumstances, Settings, planting_rules, row_rules},
    units::{Degrees, Metres},
};

/// Metres in a degree of latitude, and of longitude at 56° N, near enough for a test's ground.
const DEGREE_M: [f64; 2] = [62_400.0, 111_340.0];

fn shape(corners: &[(f64, f64)]) -> MultiPolygon<f64> {
    let ring: LineString<f64> = corners
        .iter()
        .map(|(east, north)| Coord { x: -5.0 + east / DEGREE_M[0], y: 56.0 + north / DEGREE_M[1] })
        .collect();
    MultiPolygon::new(vec![Polygon::new(ring, vec![])])
}

fn keys() -> BlockKeys {
    BlockKeys {
        row_bearing: Some(Degrees::new(20.0)),
        row_spacing: Some(Metres::new(2.5)),
        vine_spacing: Some(Metres::new(1.2)),
        anchor_gap: Some(Metres::new(1.5)),
        ..BlockKeys::default()
    }
}

/// A block laid out; `None` where no row fits.
fn laid(corners: &[(f64, f64)], keys: BlockKeys, pond: &[(f64, f64)]) -> Option<(Site, Layout)> {
    let keep_out = KeepOut {
        name: Some("the pond behind the old wall".to_owned()),
        shape: shape(pond),
        clearance: Some(Metres::new(2.0)),
        turning: false,
    };
    let block = Block {
        name: "North".parse().unwrap(),
        outline: shape(corners),
        keys,
        keep_outs: if pond.is_empty() { vec![] } else { vec![keep_out] },
        row_lines: vec![],
        zones: vec![],
        controls: vec![],
        row_list: vec![],
        vines: vec![],
        place: Place::file("block.geojson"),
    };
    let circumstances = Circumstances {
        defaults: Settings::default().layout(),
        standing: Some(false),
        allow_unusual: true,
        grid: None,
    };
    let rules = row_rules(&block, &circumstances).ok()?;
    let (site, _) = place_block(&block, rules, planting_rules(&block)).ok()?;
    let (layout, _) = lay_out(&site).ok()?;
    Some((site, layout))
}

fn plan(ground: &(Site, Layout), units: ReadingUnits, paper: Paper) -> Scene {
    pages(ground, units, paper).swap_remove(0)
}

fn pages(ground: &(Site, Layout), units: ReadingUnits, paper: Paper) -> Vec<Scene> {
    let (site, layout) = ground;
    let materials = Settings::default().materials();
    let materials = crate::layout::materials(layout, &site.rules, &site.plantings, &materials);
    let mark = |point: CheckPoint| CheckMark {
        name: point.name.to_owned(),
        at: point.at,
        words: point.words,
        place: "E 431234.567  N 6543210.987".to_owned(),
    };
    let notes = PlanNotes {
        units,
        paper,
        up: Up::Best,
        materials: materials.lines,
        check_points: check_points(site).into_iter().map(mark).collect(),
        check_system: "EPSG:32630, metre".to_owned(),
    };
    planting_plan(site, layout, &notes).unwrap()
}

fn lettering(scene: &Scene) -> impl Iterator<Item = &Lettering> {
    scene.marks.iter().filter_map(|mark| match mark {
        Mark::Lettering(lettering) => Some(lettering),
        Mark::Shape(_) => None,
    })
}

/// The paper that a line of lettering takes, from its base line to the height of its capitals.
fn paper_of(words: &Lettering) -> Boxed {
    let width = lettering::width_mm(&words.words, words.hand).unwrap();
    let ahead = match words.anchor {
        Anchor::Start => 0.5,
        Anchor::Middle => 0.0,
        Anchor::End => -0.5,
    };
    let (ahead, above) = (ahead * width, 0.36 * words.hand.size_mm);
    let (sine, cosine) = words.turn.radians().sin_cos();
    let middle = PaperPoint::new(
        words.at.x_mm + ahead * cosine + above * sine,
        words.at.y_mm + ahead * sine - above * cosine,
    );
    Boxed::new(middle, width, 0.73 * words.hand.size_mm).turned(words.turn)
}

#[track_caller]
fn is_clean(name: &str, scene: &Scene) {
    let papers: Vec<(&str, Boxed)> =
        lettering(scene).map(|words| (words.words.as_str(), paper_of(words))).collect();
    let [width_mm, height_mm] = scene.paper_mm;
    let edge = 8.0;
    let page = crate::picture::map::Area {
        corner: PaperPoint::new(edge, edge),
        width_mm: width_mm - 2.0 * edge,
        height_mm: height_mm - 2.0 * edge,
    };
    for (at, (words, boxed)) in papers.iter().enumerate() {
        assert!(boxed.is_within(&page), "{name}: `{words}` leaves the page");
        for (others, other) in &papers[at + 1..] {
            assert!(!boxed.overlaps(other), "{name}: `{words}` meets `{others}`");
        }
    }
}

/// A block of one of many kinds: small, long and thin, with a bay, with many rows, set densely.
fn any_block(random: &mut Random) -> Option<(Site, Layout)> {
    let mut within = |low: f64, high: f64| low + (high - low) * random.uniform();
    let kind = within(0.0, 5.0);
    let (long, wide) = match kind {
        kind if kind < 1.0 => (within(20.0, 40.0), within(12.0, 30.0)),
        kind if kind < 2.0 => (within(300.0, 1000.0), within(12.0, 40.0)),
        kind if kind < 3.0 => (within(60.0, 200.0), within(60.0, 200.0)),
        kind if kind < 4.0 => (within(40.0, 120.0), within(500.0, 900.0)),
        _ => (within(30.0, 90.0), within(30.0, 90.0)),
    };
    let bay = [within(0.3, 0.7), within(0.2, 0.9), within(0.75, 0.95)];
    let lean = within(-0.3, 0.3) * wide;
    let corners = [
        (0.0, 0.0),
        (wide, lean.abs()),
        (wide * 1.05, long),
        (wide * bay[2], long * 0.97),
        (wide * bay[0], long * bay[1]),
        (wide * 0.2, long * 0.9),
    ];
    let dense = kind >= 4.0;
    let keys = BlockKeys {
        row_bearing: Some(Degrees::new(within(0.0, 360.0))),
        row_spacing: Some(Metres::new(if dense { within(0.6, 1.2) } else { within(1.8, 3.2) })),
        vine_spacing: Some(Metres::new(within(0.4, 2.0))),
        headland: Some(Metres::new(within(0.0, 9.0).floor())),
        anchor_gap: Some(Metres::new(within(0.0, 2.5).floor())),
        rows_to: Some(if within(0.0, 1.0) < 0.5 { RowsTo::Left } else { RowsTo::Right }),
        ..keys()
    };
    let (x, y, side) = (0.3 * wide, 0.25 * long, 0.1 * wide.min(long));
    let pond = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)];
    let pond = if within(0.0, 1.0) < 0.5 { &pond[..] } else { &[] };
    laid(&corners, keys, pond)
}

#[test]
fn lettering_never_meets_other_lettering_nor_leaves_the_page() {
    let mut random = Random::new(7);
    let papers = [Paper::A4, Paper::A3, Paper::Letter];
    let (mut drawn, mut listed) = (0, 0);
    for at in 0..110_usize {
        let Some(ground) = any_block(&mut random) else { continue };
        let units = if at % 2 == 0 { ReadingUnits::Metric } else { ReadingUnits::Us };
        let pages = pages(&ground, units, papers[at % 3]);
        for page in &pages {
            is_clean(&format!("block {at}"), page);
        }
        listed += pages.len() - 1;
        drawn += 1;
    }
    assert!(listed > 10, "only {listed} pages of rows");
    assert!(drawn > 80, "only {drawn} blocks took rows");
}

/// A block of three hectares with a pond.
fn ordinary() -> (Site, Layout) {
    let corners = [(0.0, 0.0), (160.0, 10.0), (150.0, 200.0), (0.0, 190.0)];
    let pond = [(60.0, 80.0), (80.0, 80.0), (80.0, 100.0), (60.0, 100.0)];
    laid(&corners, keys(), &pond).unwrap()
}

#[test]
fn the_drawing_is_true_to_the_scale_that_it_states() {
    let ground = ordinary();
    for (units, wanted) in [(ReadingUnits::Metric, "Scale 1 : "), (ReadingUnits::Us, "(1 : ")] {
        let scene = plan(&ground, units, Paper::A4);
        let stated = lettering(&scene).find_map(|words| words.words.split_once(wanted)).unwrap();
        let scale: f64 = stated.1.trim_end_matches(')').parse().unwrap();
        // The outline is the one heavy ring.
        let ring = scene.marks.iter().find_map(|mark| match mark {
            Mark::Shape(shape)
                if shape.stroke.is_some_and(|stroke| {
                    stroke.colour == INK && (stroke.width_mm - 0.45).abs() < 1e-9
                }) =>
            {
                shape.outlines.iter().find_map(|outline| match outline {
                    Outline::Ring(points) => Some(points.clone()),
                    Outline::Line(_) | Outline::Disc { .. } => None,
                })
            }
            Mark::Shape(_) | Mark::Lettering(_) => None,
        });
        let on_paper: f64 = ring
            .unwrap()
            .windows(2)
            .map(|pair| (pair[1].x_mm - pair[0].x_mm).hypot(pair[1].y_mm - pair[0].y_mm))
            .sum();
        let lines = ground.0.outline.0[0].exterior().0.windows(2);
        let on_ground: f64 =
            lines.map(|pair| (pair[1].x - pair[0].x).hypot(pair[1].y - pair[0].y)).sum();
        let off = on_paper * scale / 1000.0 / on_ground - 1.0;
        assert!(off.abs() < 1e-6, "1 : {scale}: {off}");
    }
}

#[test]
fn every_row_is_listed_with_its_vines_and_length() {
    let many = laid(&[(0.0, 0.0), (1500.0, 0.0), (1500.0, 60.0), (0.0, 60.0)], keys(), &[]);
    for ground in [ordinary(), many.unwrap()] {
        let pages = pages(&ground, ReadingUnits::Metric, Paper::Letter);
        let told: Vec<&str> =
            pages[1..].iter().flat_map(lettering).map(|words| words.words.as_str()).collect();
        for row in &ground.1.rows {
            let pieces = &ground.1.pieces[row.pieces.clone()];
            let vines: usize = pieces.iter().map(|piece| piece.vines.len()).sum();
            let length: f64 = pieces.iter().map(|piece| piece.length_m).sum();
            let cells = [row.number.to_string(), vines.to_string(), format!("{length:.1}")];
            assert!(told.windows(3).any(|found| found == cells), "{cells:?}");
        }
    }
}

#[test]
fn every_row_is_numbered_where_there_is_room() {
    let corners = [(0.0, 0.0), (40.0, 0.0), (40.0, 90.0), (0.0, 90.0)];
    let keys = BlockKeys { row_bearing: Some(Degrees::new(0.0)), ..keys() };
    let ground = laid(&corners, keys, &[]).unwrap();
    let scene = plan(&ground, ReadingUnits::Metric, Paper::A3);
    let told = |words: &str| lettering(&scene).filter(|each| each.words == words).count();
    assert_eq!(told("row 1"), 1);
    for row in &ground.1.rows {
        let length = format!("{} · {:.1}", row.number, ground.1.pieces[row.pieces.start].length_m);
        assert_eq!(told(&length), 1, "{length}");
    }
}

/// Lines that a PDF page draws, in points, from its uncompressed content: paths through every
/// `cm` that holds where they are drawn.
fn lines_of(pdf: &[u8]) -> Vec<[(f64, f64); 2]> {
    let text = String::from_utf8_lossy(pdf);
    let (mut lines, mut numbers) = (Vec::new(), Vec::<f64>::new());
    let (mut matrix, mut stack) = ([1.0, 0.0, 0.0, 1.0, 0.0, 0.0], Vec::new());
    let mut from = (0.0, 0.0);
    for token in text.split_ascii_whitespace() {
        if let Ok(number) = token.parse::<f64>() {
            numbers.push(number);
            continue;
        }
        let at = |matrix: [f64; 6], x: f64, y: f64| {
            (matrix[0] * x + matrix[2] * y + matrix[4], matrix[1] * x + matrix[3] * y + matrix[5])
        };
        match (token, numbers.as_slice()) {
            ("q", _) => stack.push(matrix),
            ("Q", _) => matrix = stack.pop().unwrap_or(matrix),
            ("cm", &[.., a, b, c, d, e, f]) => {
                let [x, y, o] = [at(matrix, a, b), at(matrix, c, d), at(matrix, e, f)];
                let origin = (matrix[4], matrix[5]);
                matrix = [x.0 - origin.0, x.1 - origin.1, y.0 - origin.0, y.1 - origin.1, o.0, o.1];
            }
            ("m", &[.., x, y]) => from = at(matrix, x, y),
            ("l", &[.., x, y]) => {
                let to = at(matrix, x, y);
                lines.push([from, to]);
                from = to;
            }
            _ => {}
        }
        numbers.clear();
    }
    lines
}

#[test]
fn the_bar_of_a_pdf_has_its_length_on_a_page_of_the_papers_size() {
    let ground = ordinary();
    let settings = || SerializeSettings { compress_content_streams: false, ..Default::default() };
    for (units, paper, bar_mm) in
        [(ReadingUnits::Metric, Paper::A4, 100.0), (ReadingUnits::Us, Paper::Letter, 101.6)]
    {
        let scene = plan(&ground, units, paper);
        let file = pdf::written(std::slice::from_ref(&scene), "Plan", settings()).unwrap();
        let text = String::from_utf8_lossy(&file);
        let page = text.split_once("/MediaBox").unwrap().1.split_once(']').unwrap().0;
        let sides: Vec<f64> = page
            .trim_matches(['[', ' '])
            .split_whitespace()
            .map(|side| side.parse().unwrap())
            .collect();
        // 72 points to the inch of 25.4 mm.
        let point_mm = 25.4 / 72.0;
        for (found, wanted) in sides[2..].iter().zip(scene.paper_mm) {
            assert!((found * point_mm - wanted).abs() < 0.01, "{sides:?}, not {wanted} mm");
        }
        let low = |line: &[(f64, f64); 2]| {
            (line[0].1 - line[1].1).abs() < 0.01 && line[0].1 * point_mm < 20.0
        };
        let bars: Vec<f64> = lines_of(&file)
            .into_iter()
            .filter(low)
            .map(|line| (line[1].0 - line[0].0).abs() * point_mm)
            // The edge of the page itself.
            .filter(|length| *length < scene.paper_mm[0] - 1.0)
            .collect();
        assert_eq!(bars.len(), 1, "{bars:?} mm at the foot");
        assert!((bars[0] - bar_mm).abs() < 0.3, "{} mm, not {bar_mm}", bars[0]);
    }
}

#[test]
fn the_same_plan_gives_the_same_bytes_without_a_date() {
    let scene = plan(&ordinary(), ReadingUnits::Metric, Paper::A4);
    let made = || crate::picture::to_pdf(std::slice::from_ref(&scene), &scene.title).unwrap();
    let file = made();
    assert_eq!(file, made());
    let text = String::from_utf8_lossy(&file);
    assert!(!text.contains("Date"), "a date in the PDF");
    assert!(text.contains("DejaVuSansCondensed"), "the font is not in the PDF");
    assert!(to_svg(&scene).contains("rotate("), "rows are not lettered along");
}

/// Writes every plan to a folder, to be looked at:
/// `CATCHWIRE_PICTURES=DIR cargo test --lib planting`.
#[test]
fn every_plan_makes_a_page() {
    let png = crate::picture::to_png(&plan(&ordinary(), ReadingUnits::Metric, Paper::A4)).unwrap();
    let chunk = [b"pHYs".as_slice(), &[0, 0, 0x27, 0x10, 0, 0, 0x27, 0x10, 1]].concat();
    assert!(png.windows(chunk.len()).any(|window| window == chunk));
    if let Some(folder) = std::env::var_os("CATCHWIRE_PICTURES") {
        #[expect(clippy::disallowed_methods, reason = "a test's own scratch file")]
        std::fs::write(std::path::Path::new(&folder).join("planting-plan.png"), png).unwrap();
    }
}
