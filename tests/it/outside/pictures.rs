//! Colours of maps, measured: told apart in print, in greyscale and with fewer cones.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | L*, a*, b* | CIELAB under D65 | – |
//! | ΔE₀₀ | CIEDE2000 difference | – |

use catchwire::picture::{
    Colour,
    colours::{NEUTRAL, PAPER, above_target, below_target, sequential, sequential_green},
};

/// Neighbouring classes differ by so much at least.
const LEAST_DIFFERENCE: f64 = 10.0;

type Lab = [f64; 3];

fn linear(colour: Colour) -> [f64; 3] {
    colour.rgb.map(|part| {
        let part = f64::from(part) / 255.0;
        if part <= 0.040_45 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
    })
}

fn multiplied(matrix: [[f64; 3]; 3], by: [f64; 3]) -> [f64; 3] {
    matrix.map(|row| row.iter().zip(by).map(|(one, other)| one * other).sum())
}

/// Linear sRGB to CIELAB under D65 (IEC 61966-2-1; CIE 15).
fn lab(linear: [f64; 3]) -> Lab {
    let to_xyz = [
        [0.412_456_4, 0.357_576_1, 0.180_437_5],
        [0.212_672_9, 0.715_152_2, 0.072_175_0],
        [0.019_333_9, 0.119_192_0, 0.950_304_1],
    ];
    let white = [0.950_47, 1.0, 1.088_83];
    let xyz = multiplied(to_xyz, linear.map(|part| part.clamp(0.0, 1.0)));
    let f = |t: f64| {
        if t > 216.0 / 24_389.0 { t.cbrt() } else { (24_389.0 / 27.0 * t + 16.0) / 116.0 }
    };
    let [x, y, z] = [0, 1, 2].map(|axis| f(xyz[axis] / white[axis]));
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// The ways a map is seen: as printed, with each kind of cone missing, in greyscale.
///
/// Machado, Oliveira & Fernandes 2009 (IEEE Trans. Vis. Comput. Graph. 15:1291–1298), severity 1,
/// on linear sRGB; from memory, held by the sum of every row being 1.
const SIGHTS: [(&str, [[f64; 3]; 3]); 5] = [
    ("three cones", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
    (
        "protanopia",
        [
            [0.152_286, 1.052_583, -0.204_868],
            [0.114_503, 0.786_281, 0.099_216],
            [-0.003_882, -0.048_116, 1.051_998],
        ],
    ),
    (
        "deuteranopia",
        [
            [0.367_322, 0.860_646, -0.227_968],
            [0.280_085, 0.672_501, 0.047_413],
            [-0.011_820, 0.042_940, 0.968_881],
        ],
    ),
    (
        "tritanopia",
        [
            [1.255_528, -0.076_749, -0.178_779],
            [-0.078_411, 0.930_809, 0.147_602],
            [0.004_733, 0.691_367, 0.303_900],
        ],
    ),
    ("greyscale", [[0.2126, 0.7152, 0.0722], [0.2126, 0.7152, 0.0722], [0.2126, 0.7152, 0.0722]]),
];

/// The CIEDE2000 difference of two colours.
///
/// Sharma, Wu & Dalal 2005 (Color Res. Appl. 30:21–30), equations 2 to 22, kL = kC = kH = 1.
fn ciede2000(one: Lab, other: Lab) -> f64 {
    let chroma = |lab: Lab| lab[1].hypot(lab[2]);
    let seventh = |c: f64| (c.powi(7) / (c.powi(7) + 25.0_f64.powi(7))).sqrt();
    let g = 0.5 * (1.0 - seventh(f64::midpoint(chroma(one), chroma(other))));
    let polar = |lab: Lab| {
        let a = (1.0 + g) * lab[1];
        let hue = if a == 0.0 && lab[2] == 0.0 { 0.0 } else { lab[2].atan2(a) };
        (a.hypot(lab[2]), hue * 180.0 / std::f64::consts::PI)
    };
    let ((c1, h1), (c2, h2)) = (polar(one), polar(other));
    let (h1, h2) = (h1.rem_euclid(360.0), h2.rem_euclid(360.0));
    let grey = c1 * c2 == 0.0;
    let turn = match h2 - h1 {
        _ if grey => 0.0,
        turn if turn > 180.0 => turn - 360.0,
        turn if turn < -180.0 => turn + 360.0,
        turn => turn,
    };
    let mean_hue = match (h1 + h2, (h1 - h2).abs() > 180.0) {
        (sum, _) if grey => sum,
        (sum, false) => sum / 2.0,
        (sum, true) => (sum / 2.0 + 180.0).rem_euclid(360.0),
    };
    let radians = |degrees: f64| degrees * std::f64::consts::PI / 180.0;
    let cosine = |degrees: f64| radians(degrees).cos();
    let (l, c) = (f64::midpoint(one[0], other[0]), f64::midpoint(c1, c2));
    let t = 1.0 - 0.17 * cosine(mean_hue - 30.0)
        + 0.24 * cosine(2.0 * mean_hue)
        + 0.32 * cosine(3.0 * mean_hue + 6.0)
        - 0.20 * cosine(4.0 * mean_hue - 63.0);
    let s_l = 1.0 + 0.015 * (l - 50.0).powi(2) / (20.0 + (l - 50.0).powi(2)).sqrt();
    let (s_c, s_h) = (1.0 + 0.045 * c, 1.0 + 0.015 * c * t);
    let rotation = 30.0 * (-((mean_hue - 275.0) / 25.0).powi(2)).exp();
    let r_t = -2.0 * seventh(c) * radians(2.0 * rotation).sin();
    let d_l = (other[0] - one[0]) / s_l;
    let d_c = (c2 - c1) / s_c;
    let d_h = 2.0 * (c1 * c2).sqrt() * radians(turn / 2.0).sin() / s_h;
    (d_l * d_l + d_c * d_c + d_h * d_h + r_t * d_c * d_h).sqrt()
}

#[test]
fn the_difference_is_that_of_the_published_pairs() {
    // Sharma, Wu & Dalal 2005, table 1, pairs 1, 4, 7, 9, 13, 17, 18, 20, 21, 25, 30, 34; from
    // memory.
    let pairs = [
        ([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485], 2.0425),
        ([50.0, -1.3802, -84.2814], [50.0, 0.0, -82.7485], 1.0000),
        ([50.0, 0.0, 0.0], [50.0, -1.0, 2.0], 2.3669),
        ([50.0, 2.49, -0.001], [50.0, -2.49, 0.0009], 7.1792),
        ([50.0, -0.001, 2.49], [50.0, 0.0009, -2.49], 4.8045),
        ([50.0, 2.5, 0.0], [73.0, 25.0, -18.0], 27.1492),
        ([50.0, 2.5, 0.0], [61.0, -5.0, 29.0], 22.8977),
        ([50.0, 2.5, 0.0], [58.0, 24.0, 15.0], 19.4535),
        ([50.0, 2.5, 0.0], [50.0, 3.1736, 0.5854], 1.0000),
        ([60.2574, -34.0099, 36.2677], [60.4626, -34.1751, 39.4387], 1.2644),
        ([22.7233, 20.0904, -46.694], [23.0331, 14.973, -42.5619], 2.0373),
        ([2.0776, 0.0795, -1.135], [0.9033, -0.0636, -0.5514], 0.9082),
    ];
    for (one, other, expected) in pairs {
        let found = ciede2000(one, other);
        assert!((found - expected).abs() < 5e-5, "{one:?}, {other:?}: {found}, not {expected}");
        assert!((ciede2000(other, one) - expected).abs() < 5e-5, "not the same turned round");
    }
}

#[test]
fn a_missing_cone_leaves_greys_as_they_are() {
    for (sight, matrix) in SIGHTS {
        for row in matrix {
            let sum: f64 = row.iter().sum();
            assert!((sum - 1.0).abs() < 2e-6, "{sight}: a row sums to {sum}");
        }
    }
}

/// Neighbours of a ladder are told apart, whoever looks, and its lightness only falls.
#[track_caller]
fn falls(name: &str, ladder: &[Colour]) {
    for (sight, matrix) in SIGHTS {
        let seen: Vec<Lab> =
            ladder.iter().map(|colour| lab(multiplied(matrix, linear(*colour)))).collect();
        for pair in seen.windows(2) {
            let difference = ciede2000(pair[0], pair[1]);
            assert!(difference >= LEAST_DIFFERENCE, "{name}, {sight}: ΔE {difference} in {seen:?}");
            assert!(pair[0][0] > pair[1][0], "{name}, {sight}: lightness rises in {seen:?}");
        }
    }
}

#[test]
fn classes_of_density_and_vigor_are_told_apart_by_everyone() {
    for classes in 1..=6 {
        falls(&format!("{classes} classes of density"), &sequential(classes));
    }
    for classes in 1..=4 {
        falls(&format!("{classes} classes of vigor"), &sequential_green(classes));
    }
}

#[test]
fn classes_of_need_leave_a_neutral_middle_and_are_told_apart_by_everyone() {
    let away = |side: &[Colour]| [&[PAPER, NEUTRAL], side].concat();
    falls("above the target", &away(&above_target()));
    falls("below the target", &away(&below_target()));
    let [_, a, b] = lab(linear(NEUTRAL));
    assert!(a.hypot(b) < 6.0, "the middle is no grey: {a}, {b}");
}

/// Millimetres of the longest dark level run in the lowest 22 mm of a grey picture (PGM) with ten
/// pixels to the millimetre.
fn bar_of(pgm: &[u8]) -> f64 {
    let mut parts = pgm.splitn(4, u8::is_ascii_whitespace);
    let mut number = || {
        let part = parts.next().map(String::from_utf8_lossy);
        part.and_then(|part| part.parse::<usize>().ok())
    };
    assert_eq!(number(), None, "P5 comes first");
    let (width, height) = (number().expect("a width"), number().expect("a height"));
    let pixels = &pgm[pgm.len() - width * height..];
    let lowest = pixels.chunks(width).skip(height - 220);
    let longest = |row: &[u8]| row.split(|grey| *grey > 140).map(<[u8]>::len).max().unwrap_or(0);
    f64::from(u32::try_from(lowest.map(longest).max().unwrap_or(0)).expect("few pixels")) / 10.0
}

/// Draws the first page of a PDF at 254 pixels to the inch; false when poppler is not here.
fn drawn_by_another(plan: &std::path::Path, picture: &std::path::Path) -> bool {
    let drawn = std::process::Command::new("pdftoppm")
        .args(["-r", "254", "-gray", "-singlefile"])
        .args([plan, picture])
        .status();
    match &drawn {
        Ok(status) => assert!(status.success(), "{}", plan.display()),
        Err(error) => crate::support::skipped(&format!("pdftoppm is not here ({error})")),
    }
    drawn.is_ok()
}

#[test]
fn the_bar_of_the_plan_measures_what_it_says_in_a_viewer_of_others() {
    let cases = [("metric", "a4", 100.0), ("us", "letter", 101.6), ("metric", "a3", 100.0)];
    for (units, paper, wanted) in cases {
        let folder = crate::support::folder();
        let block = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("sample-geometries/first-block.geojson");
        let (block, out) = (block.to_string_lossy(), folder.path().to_string_lossy());
        let only =
            ["--write", "plan.pdf", "--units", units, "--paper", paper, "--standing", "false"];
        let args = [&["layout", &*block, "--out", &*out][..], &only].concat();
        crate::support::catchwire(args).done();
        let made = crate::support::files(folder.path());
        let plan = made.keys().find(|name| name.to_string_lossy().ends_with("plan.pdf"));
        let plan = folder.path().join(plan.expect("a plan"));
        let picture = folder.path().join("page");
        if drawn_by_another(&plan, &picture) {
            let page = std::fs::read(picture.with_extension("pgm")).expect("a picture");
            let found = bar_of(&page);
            assert!((found - wanted).abs() <= 0.3, "{found} mm on {paper}, not {wanted}");
        }
    }
}
