//! Rows as the grower's own list has them: so many places each, whatever the outline says.
//!
//! Places stand one spacing apart from the row's start, which is vine 1's end: the list's own
//! start, else that of the first piece with room. Pieces are filled in turn, and the last one takes
//! the rest, beyond the outline if need be.

use std::collections::BTreeMap;

use geo::LineString;

use super::{
    Plot, Rows,
    along::{self, Setting},
    lines::KnownRows,
    numbering::counts_from_far_end,
    pieces::{Ground, Usable},
    planned::{StrandsByRow, lay_by_outline, with_clear},
    standing,
    strand::Strand,
    tape::Tape,
    told,
};
use crate::{
    block::{ListedRow, VinePattern},
    error::Error,
    finding::{Finding, Findings, Place},
    frame::RowPoint,
    maths::intervals::Interval,
};

/// A vine so far beyond its piece is told, metres.
const WORTH_TELLING_M: f64 = 0.05;

/// Lays the rows of the grower's list; surveyed rows keep their lines.
///
/// # Errors
/// When a row is listed twice, or lies outside the outline and has no start of its own.
pub(super) fn lay_by_list(
    plot: &Plot,
    ground: &Ground,
    surveyed: &StrandsByRow,
) -> Result<Rows, Error> {
    let listed = by_number(plot)?;
    let mut rows = Rows::default();
    let known = known_rows(plot, ground, surveyed, &listed, &mut rows.findings)?;
    let mut faults = Findings::none();
    let mut beyond: Vec<(u32, f64)> = Vec::new();
    for (number, (row, start)) in &listed {
        if let Some(strands) = surveyed.get(number) {
            rows.strands.insert(*number, on_surveyed(plot, row, strands, &mut rows.findings));
            continue;
        }
        let across = start.map(|at| at.across_m);
        let v = across.or_else(|| known.across(*number, plot.rules.row_spacing.metres()));
        match v.and_then(|v| Filling::new(plot, ground, row, v, *start)) {
            Some(filling) => {
                let strands = filling.fill(row.vines);
                beyond.extend(filling.beyond(&strands).map(|length| (*number, length)));
                rows.strands.insert(*number, strands);
            }
            None => faults.push(nowhere(row, v)),
        }
    }
    if faults.any_fault() {
        return Err(Error::Input(faults));
    }
    rows.strands.retain(|_, strands| !strands.is_empty());
    rows.findings.extend(told_beyond(plot, &beyond).into_iter().collect());
    Ok(rows)
}

type Listed<'p> = BTreeMap<u32, (&'p ListedRow, Option<RowPoint>)>;

fn by_number<'p>(plot: &Plot<'p>) -> Result<Listed<'p>, Error> {
    let mut listed = Listed::new();
    let mut faults = Findings::none();
    for (row, start) in plot.row_list {
        if let Some((earlier, _)) = listed.insert(row.row, (row, *start)) {
            let what = format!("row {} is listed twice", row.row);
            let why = format!("{} and {} places", earlier.vines, row.vines);
            let mend = "keep one line a row";
            faults.push(Finding::fault(field(row, "row"), what).because(why).mend(mend));
        }
    }
    if faults.any_fault() { Err(Error::Input(faults)) } else { Ok(listed) }
}

fn field(row: &ListedRow, key: &str) -> Place {
    row.place.at_field(key)
}

/// Where rows are known to lie: where surveyed, where the list says they start, else as the outline
/// has them.
fn known_rows(
    plot: &Plot,
    ground: &Ground,
    surveyed: &StrandsByRow,
    listed: &Listed<'_>,
    findings: &mut Findings,
) -> Result<KnownRows, Error> {
    let starts = listed.iter().filter_map(|(n, (_, at))| at.map(|at| (*n, at.across_m)));
    let lines = surveyed.iter().map(|(n, strands)| (*n, standing::across(strands)));
    let known: Vec<(u32, f64)> = starts.chain(lines).collect();
    if !known.is_empty() {
        return Ok(KnownRows::new(known));
    }
    let planned = lay_by_outline(plot, ground)?;
    let lowest = listed.keys().next().copied().unwrap_or(plot.rules.first_row);
    let fits = listed.keys().any(|number| planned.strands.contains_key(number));
    let first = if fits { plot.rules.first_row } else { lowest };
    if !fits {
        let what = format!(
            "no row of the list lies on the block when its first row is {}",
            plot.rules.first_row
        );
        let why = format!("row {lowest}, the lowest of the list, is taken as the first row");
        let mend = format!("add \"first_row\": {lowest} to the block");
        let warning = Finding::warning(told::place(plot, "first_row"), what);
        findings.push(warning.because(why).mend(mend));
    }
    let across = planned.strands.values().next().map(|strands| standing::across(strands));
    Ok(KnownRows::new(across.map(|v| (first, v))))
}

/// The listed number of vines on surveyed lines: evenly on one line, as they are on several.
fn on_surveyed(
    plot: &Plot,
    row: &ListedRow,
    strands: &[Strand],
    findings: &mut Findings,
) -> Vec<Strand> {
    let listed = usize::try_from(row.vines).unwrap_or(usize::MAX);
    let drawn: usize = strands.iter().map(|strand| strand.vines.len()).sum();
    match strands {
        [strand] => vec![standing::evenly(strand.clone(), listed, plot.rules.end_gap.metres())],
        _ if listed == drawn => strands.to_vec(),
        _ => {
            let what = format!("the list has {listed} places, the row's lines hold {drawn}");
            let why = "the row is surveyed in several lines, which keep their own places";
            let mend = "give each row-line its number of `vines`";
            let warning = Finding::warning(field(row, "vines"), what);
            findings.push(warning.because(why).mend(mend));
            strands.to_vec()
        }
    }
}

fn nowhere(row: &ListedRow, v: Option<f64>) -> Finding {
    let at = v.map_or(String::new(), |v| format!(" ({v:.1} m across from the block's middle)"));
    let what = format!("row {} lies outside the outline{at}", row.row);
    let mend = "give the row's start in lon_deg and lat_deg, or check first_row and row_spacing";
    Finding::fault(field(row, "row"), what).mend(mend)
}

fn told_beyond(plot: &Plot, beyond: &[(u32, f64)]) -> Option<Finding> {
    let (row, length) = beyond.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let what = format!(
        "rows of the list that reach beyond the outline: {}, row {row} the most, by {length:.1} m",
        beyond.len()
    );
    let why = "the list outranks the outline";
    let mend = "check the outline, the vine spacing and the list";
    Some(Finding::warning(told::place(plot, "vines"), what).because(why).mend(mend))
}

/// A row to be filled from vine 1's end. Along is counted from there, as the row's tape measures it:
/// the row may be turned.
struct Filling<'p, 'g> {
    plot: &'p Plot<'p>,
    ground: &'g Ground,
    setting: Setting,
    v: f64,
    turned: bool,
    tape: Tape,
    /// The pieces to fill, from vine 1's end, from first post on.
    pieces: Vec<Usable>,
}

impl<'p, 'g> Filling<'p, 'g> {
    /// `None` where the row has neither a piece nor a start.
    fn new(
        plot: &'p Plot<'p>,
        ground: &'g Ground,
        row: &ListedRow,
        v: f64,
        start: Option<RowPoint>,
    ) -> Option<Self> {
        let setting = Setting { pattern: VinePattern::RowEnd, ..Setting::of(plot.rules) };
        let turned = counts_from_far_end(plot.rules.vine_1, row.row);
        let near = ground.near(Interval::new(v, v));
        let mut pieces = near.usable(v);
        if turned {
            pieces = pieces.iter().rev().map(turn).collect();
        }
        let start = start.map(|at| if turned { -at.along_m } else { at.along_m });
        let reach = f64::from(row.vines) * setting.spacing_m + 2.0 * setting.end_gap_m;
        let tape = tape(plot, (v, turned), &pieces, (start, reach));
        let pieces: Vec<Usable> = pieces.iter().map(|piece| tape.piece(piece)).collect();
        let start = start.map(|u| tape.tape_m(u));
        let long: Vec<Usable> =
            pieces.iter().filter(|piece| setting.count(piece, false) > 0).cloned().collect();
        let pieces = if long.is_empty() { longest(pieces) } else { long };
        let pieces = from_start(pieces, start.map(|u| u - setting.anchor_gap_m));
        (!pieces.is_empty()).then_some(Self { plot, ground, setting, v, turned, tape, pieces })
    }

    fn fill(&self, vines: u32) -> Vec<Strand> {
        let mut left = usize::try_from(vines).unwrap_or(usize::MAX);
        let mut strands = Vec::new();
        for (at, piece) in self.pieces.iter().enumerate() {
            let last = at + 1 == self.pieces.len();
            let room = if last { left } else { self.setting.count(piece, false).min(left) };
            if room > 0 {
                strands.push(self.strand(piece, room));
            }
            left -= room;
        }
        if self.turned {
            strands = strands.into_iter().rev().map(Strand::reversed).collect();
        }
        strands
    }

    /// A strand with so many places from the piece's start, its far post the end gap after them.
    fn strand(&self, piece: &Usable, vines: usize) -> Strand {
        let Setting { spacing_m, end_gap_m, anchor_gap_m, .. } = self.setting;
        let post = piece.ends.low + anchor_gap_m;
        let gaps: Vec<Interval> =
            piece.gaps.iter().map(|g| Interval::new(g.low - post, g.high - post)).collect();
        let clear = |u: &f64| !gaps.iter().any(|gap| along::within(*gap, *u));
        let places = (0_usize..).map(|at| end_gap_m + crate::maths::float(at) * spacing_m);
        let vines: Vec<f64> = places.filter(clear).take(vines).collect();
        let length = vines.last().map_or(0.0, |last| last + end_gap_m);
        let side = if self.turned { -1.0 } else { 1.0 };
        let ends = [post, post + length].map(|along| self.tape.level_m(along));
        let path = LineString::from(ends.map(|u| (side * u, self.v)).to_vec());
        let tape = self.tape.starting_at(ends[0]);
        let strand = Strand { tape, vines, gaps, ..Strand::along(path, spacing_m) };
        self.with_clear(strand.anchored(anchor_gap_m))
    }

    fn with_clear(&self, strand: Strand) -> Strand {
        let (one, other) = (strand.at(0.0).along_m, strand.at(strand.length_m()).along_m);
        let beyond = self.plot.rules.anchor_gap.metres();
        let anchors = Interval::new(one.min(other) - beyond, one.max(other) + beyond);
        let near = self.ground.near(Interval::new(self.v, self.v));
        let mut strand = with_clear(strand, &near, self.v, anchors);
        if let Some(clear) = strand.clear_m.as_mut().filter(|_| self.turned) {
            clear.reverse();
        }
        strand
    }

    /// How far the last vine stands beyond the last piece, if it does.
    fn beyond(&self, strands: &[Strand]) -> Option<f64> {
        let last = if self.turned { strands.first()? } else { strands.last()? };
        let vine = if self.turned { last.vines.first()? } else { last.vines.last()? };
        let at = last.at(*vine).along_m;
        let at = if self.turned { -at } else { at };
        let length = self.tape.tape_m(at) - self.pieces.last()?.ends.high;
        (length > WORTH_TELLING_M).then_some(length)
    }
}

/// How a row is measured, over its pieces and so far from its own start as its vines may reach.
fn tape(
    plot: &Plot,
    (v, turned): (f64, bool),
    pieces: &[Usable],
    (start, reach_m): (Option<f64>, f64),
) -> Tape {
    let ends = pieces.iter().flat_map(|piece| [piece.ends.low, piece.ends.high]);
    let starts = pieces.iter().map(|piece| piece.ends.low).chain(start);
    let reached = starts.map(|from| from + reach_m);
    let all: Vec<f64> = ends.chain(start).chain(reached).collect();
    let (Some(low), Some(high)) =
        (all.iter().copied().min_by(f64::total_cmp), all.iter().copied().max_by(f64::total_cmp))
    else {
        return Tape::default();
    };
    Tape::of_row(plot, v, if turned { -1.0 } else { 1.0 }, Interval::new(low, high))
}

fn turn(piece: &Usable) -> Usable {
    let turned = |interval: &Interval| Interval::new(-interval.high, -interval.low);
    Usable { ends: turned(&piece.ends), gaps: piece.gaps.iter().rev().map(turned).collect() }
}

fn longest(pieces: Vec<Usable>) -> Vec<Usable> {
    let longest = pieces.into_iter().max_by(|a, b| a.ends.length().total_cmp(&b.ends.length()));
    longest.into_iter().collect()
}

/// The pieces from a given start on, the first of them stretched or cut to begin there.
fn from_start(pieces: Vec<Usable>, start: Option<f64>) -> Vec<Usable> {
    let Some(start) = start else { return pieces };
    let mut pieces: Vec<Usable> = pieces.into_iter().filter(|p| p.ends.high > start).collect();
    if pieces.is_empty() {
        pieces.push(Usable { ends: Interval::new(start, start), gaps: Vec::new() });
    }
    pieces[0].ends.low = start;
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        block::VineOne,
        layout::{
            Layout,
            tests::{attempt, rectangle, rules},
        },
        settings::RowRules,
        units::Metres,
    };

    fn row(number: u32, vines: u32, start: Option<(f64, f64)>) -> (ListedRow, Option<RowPoint>) {
        let listed = ListedRow {
            row: number,
            vines,
            first_panel_vines: None,
            cultivar: None,
            start: None,
            place: Place::file("rows.csv").at_line(u64::from(number) + 1),
        };
        (listed, start.map(|(along_m, across_m)| RowPoint { along_m, across_m }))
    }

    /// A block of 30.002 m by 10.002 m: rows at 0.001 m and every 2.5 m, 25 vines each.
    fn lay(
        rows: Vec<(ListedRow, Option<RowPoint>)>,
        vine_1: VineOne,
    ) -> Result<(Layout, Findings), Error> {
        let zero = Metres::new(0.0);
        let rules = RowRules {
            standing: true,
            headland: zero,
            side_margin: zero,
            anchor_gap: zero,
            vine_1,
            ..rules()
        };
        let outline = rectangle(30.002, 10.002);
        let (rules, outline) = (Box::leak(Box::new(rules)), Box::leak(Box::new(outline)));
        attempt(outline, rules, |plot| Plot { row_list: rows.leak(), ..plot })
    }

    fn vines_of(layout: &Layout, row: u32) -> Vec<f64> {
        layout.vines.iter().filter(|vine| vine.row == row).map(|vine| vine.at.along_m).collect()
    }

    #[test]
    fn the_list_outranks_the_outline() {
        let rows = vec![row(1, 20, None), row(2, 28, None), row(4, 25, None)];
        let (layout, findings) = lay(rows, VineOne::Start).unwrap();
        let rows: Vec<u32> = layout.rows.iter().map(|row| row.number).collect();
        assert_eq!(rows, [1, 2, 4], "row 3 is not listed");
        assert!((layout.rows[2].across_m - 7.501).abs() < 1e-8);
        let counts = [1, 2, 4].map(|number| vines_of(&layout, number).len());
        assert_eq!(counts, [20, 28, 25]);
        assert!((vines_of(&layout, 1)[0] - 0.601).abs() < 1e-9);
        // The post stands the end gap after the last place.
        assert!((layout.pieces[0].length_m - 20.0 * 1.2).abs() < 1e-9);
        let told = findings.iter().next().unwrap().to_string();
        assert!(told.contains("that reach beyond the outline: 1, row 2"), "{told}");
        assert!(told.contains("by 3.0 m"), "{told}");
    }

    #[test]
    fn places_stand_from_the_start_that_the_list_gives() {
        let rows = vec![row(7, 10, Some((4.0, 2.0))), row(8, 10, None)];
        let (layout, findings) = lay(rows.clone(), VineOne::Start).unwrap();
        assert!((vines_of(&layout, 7)[0] - 4.6).abs() < 1e-9);
        let across: Vec<f64> = layout.rows.iter().map(|row| row.across_m).collect();
        assert_eq!(across, [2.0, 4.5]);
        assert!((vines_of(&layout, 8)[0] - 0.601).abs() < 1e-9);
        assert!(findings.is_empty(), "{findings:?}");
        // Counted from the far end, the start is the far end.
        let (layout, _) = lay(rows, VineOne::End).unwrap();
        assert!((vines_of(&layout, 7)[0] - 3.4).abs() < 1e-9, "{:?}", vines_of(&layout, 7));
        assert!((vines_of(&layout, 8)[0] - 29.401).abs() < 1e-9, "{:?}", vines_of(&layout, 8));
    }

    #[test]
    fn a_list_that_starts_elsewhere_is_taken_from_its_lowest_row() {
        let (layout, findings) =
            lay(vec![row(93, 5, None), row(94, 5, None)], VineOne::Start).unwrap();
        assert!((layout.rows[0].across_m - 0.001).abs() < 1e-8);
        let told = findings.iter().next().unwrap().to_string();
        assert!(told.contains("add \"first_row\": 93"), "{told}");
    }

    #[test]
    fn a_list_that_contradicts_itself_is_refused() {
        let twice = lay(vec![row(1, 5, None), row(1, 6, None)], VineOne::Start).unwrap_err();
        assert!(twice.to_string().contains("row 1 is listed twice"), "{twice}");
        let many = lay(vec![row(1, 40_000_000, None)], VineOne::Start).unwrap_err();
        assert!(many.to_string().contains("hold 40 M vines"), "{many}");
        let outside = lay(vec![row(1, 5, None), row(40, 6, None)], VineOne::Start).unwrap_err();
        assert!(outside.to_string().contains("row 40 lies outside the outline"), "{outside}");
    }
}
