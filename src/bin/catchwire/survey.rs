//! The table of surveyed rows that are off, for people.

use std::fmt::Write as _;

use catchwire::{
    jobs::survey_report::{SurveyReport, UnevenRowReport},
    names::number_of,
    units::METRES_PER_FOOT,
};

/// Most rows in the table.
const MOST_ROWS: usize = 20;

/// A length in the unit that people read.
#[derive(Debug, Clone, Copy)]
struct Lengths {
    us: bool,
}

impl Lengths {
    const fn unit(self) -> &'static str {
        if self.us { "ft" } else { "m" }
    }

    fn of(self, metres: f64) -> f64 {
        if self.us { metres / METRES_PER_FOOT } else { metres }
    }

    /// The measure and by how much it is off.
    fn pair(self, [is, expected]: [f64; 2], decimals: usize) -> String {
        let (is, expected) = (self.of(is), self.of(expected));
        format!("{is:.decimals$} ({:+.decimals$})", is - expected)
    }
}

/// Appends how even the surveyed rows are.
pub(crate) fn survey_text(text: &mut String, survey: &SurveyReport, us: bool) {
    let lengths = Lengths { us };
    let unit = lengths.unit();
    let gaps = survey.gaps_m.map_or_else(String::new, |gaps| {
        let [least, mean, greatest] = gaps.map(|gap| lengths.of(gap));
        let (spacing, tolerance) =
            (lengths.of(survey.row_spacing_m), lengths.of(survey.tolerance_m));
        format!(
            ", {least:.2} to {greatest:.2} {unit} apart, {mean:.2} in the mean (row spacing \
             {spacing:.2} ± {tolerance:.2})"
        )
    });
    let off = survey.uneven.len();
    let end = if off == 0 {
        "none is off".to_owned()
    } else {
        let verb = if off == 1 { "is" } else { "are" };
        let worst = if off > MOST_ROWS { ", the worst first" } else { "" };
        format!("{} {verb} off{worst}:", number_of(off, "row"))
    };
    let rows = number_of(survey.rows, "surveyed row");
    let _ = writeln!(text, "  {rows}{gaps}; {end}");
    if off > 0 {
        table(text, &survey.uneven, lengths);
    }
}

fn table(text: &mut String, rows: &[UnevenRowReport], lengths: Lengths) {
    let unit = lengths.unit();
    let head = [
        "row".to_owned(),
        format!("gap to next, {unit}"),
        "bearing, °".to_owned(),
        format!("length, {unit}"),
        format!("vine to vine, {unit}"),
    ];
    let mut lines = vec![head];
    lines.extend(rows.iter().take(MOST_ROWS).map(|row| cells(row, lengths)));
    let used: Vec<usize> =
        (0..5).filter(|at| lines[1..].iter().any(|line| !line[*at].is_empty())).collect();
    let width = |at: usize| lines.iter().map(|line| line[at].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..5).map(width).collect();
    for line in &lines {
        let shown = used.iter().map(|at| format!("{:<1$}", line[*at], widths[*at]));
        let shown: Vec<String> = shown.collect();
        let _ = writeln!(text, "    {}", shown.join("  ").trim_end());
    }
    if rows.len() > MOST_ROWS {
        let more = rows.len() - MOST_ROWS;
        let _ = writeln!(text, "    … and {more} more; `--json` lists them all");
    }
}

fn cells(row: &UnevenRowReport, lengths: Lengths) -> [String; 5] {
    let length = |pair: Option<[f64; 2]>, decimals| {
        pair.map_or_else(String::new, |pair| lengths.pair(pair, decimals))
    };
    let gap = row.next_row.zip(row.gap_m).map_or_else(String::new, |(next, gap)| {
        let to = if next == row.row + 1 { String::new() } else { format!(" to row {next}") };
        format!("{}{to}", lengths.pair(gap, 2))
    });
    let bearing = row.bearing_true_deg.map_or_else(String::new, |[is, expected]| {
        format!("{:.2} ({:+.2})", is.rem_euclid(360.0), is - expected)
    });
    [row.row.to_string(), gap, bearing, length(row.length_m, 1), length(row.vine_spacing_m, 2)]
}
