//! What a map shows, in words: the classes of the printed legend, one by one.

use super::{Key, KeyRow};
use crate::{
    picture::{
        Mark, PaperPoint,
        classes::Look,
        colours::{INK, KEPT_OUT, RULE},
        legend,
        looks::Size,
        marks,
        subject::Subject,
        svg::elements,
        words,
    },
    plan::{Plan, Verdict},
};

/// Width and height of a swatch.
const SWATCH_MM: [f64; 2] = [11.0, 5.0];
/// How large vines are on a swatch.
const VINE: Size = Size::Disc(1.5);

/// The key of the still drawing.
pub(super) fn of_zones(subject: &Subject, plan: &Plan) -> Key {
    let order = [Verdict::Overcrowded, Verdict::Undecided, Verdict::OnTarget, Verdict::UnderTarget];
    let row = |verdict: Verdict| {
        let zones = plan.zones.iter().filter(|zone| zone.verdict == verdict).count();
        (zones > 0).then(|| KeyRow {
            swatch: area(&format!("url(#h-{})", verdict.word()), INK.to_string().as_str()),
            words: verdict.word().replace('-', " "),
            number: words::count_of(zones, "zone", "zones"),
        })
    };
    let mut rows: Vec<KeyRow> = order.into_iter().filter_map(row).collect();
    rows.extend(measured(subject));
    rows.extend(plantings(subject));
    rows.extend(kept_out(subject));
    let notes = vec!["Row numbers stand at vine 1.".to_owned()];
    Key { heading: "Zones and what is said of them".to_owned(), rows, notes }
}

/// The key of a map of vines.
pub(super) fn of_vines(subject: &Subject) -> Key {
    let little = subject.little.iter().filter(|little| **little).count();
    let classes = &subject.classes;
    let row = |class: &crate::picture::classes::Class| KeyRow {
        swatch: vines(class.look),
        words: class.words(),
        number: words::grouped(class.vines),
    };
    let ladder = classes.ladder.iter().rev();
    let mut rows: Vec<KeyRow> = ladder.chain(&classes.beside).map(row).collect();
    rows.extend((little > 0).then(|| KeyRow {
        swatch: swatch(&legend::slashed_swatch(VINE, [0.0, SWATCH_MM[1] / 2.0])),
        words: format!("{} say little here", subject.sources),
        number: words::grouped(little),
    }));
    rows.extend(measured(subject));
    rows.extend(kept_out(subject));
    let notes = classes.notes.iter().cloned().chain([subject.method.clone()]).collect();
    Key { heading: classes.heading.clone(), rows, notes }
}

fn measured(subject: &Subject) -> Vec<KeyRow> {
    let panels = subject.measured.iter().filter(|vines| vines.len() > 1).count();
    let [x, y] = SWATCH_MM.map(|side| side / 2.0);
    let kinds = [
        (format!("{} vine", subject.verb), subject.measured.len() - panels, 0.0),
        (format!("panel {} as a whole", subject.verb), panels, 4.0),
    ];
    let row = |(words, number, reach): (String, usize, f64)| {
        let ends = [-reach, reach].map(|way| PaperPoint::new(x + way, y)).to_vec();
        let swatch = swatch(&marks::measured(&[ends], Size::Strip(1.0)));
        (number > 0).then(|| KeyRow { swatch, words, number: words::grouped(number) })
    };
    kinds.into_iter().filter_map(row).collect()
}

/// How zones of several plantings are told apart.
fn plantings(subject: &Subject) -> Vec<KeyRow> {
    if subject.zone_words.len() < 2 {
        return Vec::new();
    }
    let row = |(planting, words): (usize, &String)| {
        let zones = subject.zones.iter().filter(|zone| zone.planting == planting).count();
        let dash = if planting % 2 == 1 { " stroke-dasharray=\"2 1\"" } else { "" };
        let line = format!("<path d=\"M0 2.5H11\" stroke=\"{INK}\" stroke-width=\".7\"{dash}/>");
        (zones > 0).then(|| KeyRow {
            swatch: framed(&line),
            words: words.clone(),
            number: words::count_of(zones, "zone", "zones"),
        })
    };
    subject.zone_words.iter().enumerate().filter_map(row).collect()
}

fn kept_out(subject: &Subject) -> Option<KeyRow> {
    (!subject.keep_outs.is_empty()).then(|| KeyRow {
        swatch: area(&KEPT_OUT.to_string(), &RULE.to_string()),
        words: "not planted".to_owned(),
        number: String::new(),
    })
}

fn vines(look: Look) -> String {
    swatch(&legend::swatch(look, VINE, [0.0, SWATCH_MM[1] / 2.0]))
}

fn swatch(marks: &[Mark]) -> String {
    framed(&elements(marks))
}

fn area(fill: &str, edge: &str) -> String {
    framed(&format!(
        "<path d=\"M.5 .5H10.5V4.5H.5Z\" fill=\"{fill}\" stroke=\"{edge}\" stroke-width=\".3\"/>"
    ))
}

fn framed(drawn: &str) -> String {
    let [width, height] = SWATCH_MM;
    format!("<svg viewBox=\"0 0 {width} {height}\" aria-hidden=\"true\">{drawn}</svg>")
}
