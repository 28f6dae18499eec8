//! What the layout stage tells: faults that stop it and doubts that do not.

use geo::{Area, Euclidean, Length};

use super::{
    Layout, Plot,
    lines::{Misfit, RowsToLay},
    pieces::Ground,
};
use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    maths::{float, intervals::Interval},
    names::{BlockName, number_of},
};

/// A clear length this little below the headland is not worth a word, metres.
const WORTH_TELLING_M: f64 = 0.05;

/// Somewhere in the block, at a key.
pub(super) fn place(plot: &Plot, key: &str) -> Place {
    in_block(plot.name, key)
}

/// The same by the block's name.
pub(super) fn in_block(name: &BlockName, key: &str) -> Place {
    Place::default().in_feature(format!("block `{name}`")).at_field(key)
}

/// No row holds a piece that is long enough.
pub(super) fn no_row_fits(plot: &Plot, ground: &Ground) -> Error {
    let rules = plot.rules;
    let width = ground.across().map_or(0.0, Interval::length);
    let bearing = rules.bearing.map_or_else(
        || "across its row-line".to_owned(),
        |bearing| format!("at the bearing {}°", bearing.degrees()),
    );
    let what = format!("0 rows fit; the block is {width:.1} m across {bearing}");
    let why = format!(
        "headland {} m, side margin {} m and rows of {} leave no room",
        rules.headland.metres(),
        rules.side_margin.metres(),
        shortest(plot),
    );
    let mend = "check the bearing and the unit of the outline, or give a smaller headland or \
                side_margin";
    Finding::fault(place(plot, "row_bearing"), what).because(why).mend(mend).into()
}

fn shortest(plot: &Plot) -> String {
    match plot.rules.shortest_row {
        crate::block::ShortestRow::Vines(vines) => format!("at least {}", number_of(vines, "vine")),
        crate::block::ShortestRow::Length(length) => format!("at least {} m", length.metres()),
    }
}

/// More vines than a block may hold.
pub(super) fn too_many(plot: &Plot) -> Error {
    let rules = plot.rules;
    let vines =
        plot.outline.unsigned_area() / (rules.row_spacing.metres() * rules.vine_spacing.metres());
    let what = format!("would make {}", number_of(in_words(vines), "vine"));
    let why = format!(
        "rows {} m apart and vines {} m apart; a block may hold {}",
        rules.row_spacing.metres(),
        rules.vine_spacing.metres(),
        in_words(float(rules.most_vines)),
    );
    let mend = "check the unit of the spacing; a number without a unit is metres";
    Finding::fault(place(plot, "vine_spacing"), what).because(why).mend(mend).into()
}

/// Refuses more places than a block may hold where the grower's list and surveyed lines say how
/// many, before any is made.
pub(super) fn within_limit(plot: &Plot) -> Result<(), Error> {
    let spacing = plot.rules.vine_spacing.metres();
    let listed = plot.row_list.iter().map(|(row, _)| f64::from(row.vines));
    let drawn = plot
        .standing_rows
        .iter()
        .map(|row| row.vines.map_or_else(|| Euclidean.length(&row.path) / spacing, f64::from));
    let places: f64 = listed.chain(drawn).sum();
    if places <= float(plot.rules.most_vines) {
        return Ok(());
    }
    let what = format!("the list and the row-lines hold {}", number_of(in_words(places), "vine"));
    let why = format!("a block may hold {}", in_words(float(plot.rules.most_vines)));
    let mend = "check the numbers of vines and the unit of the spacing";
    Err(Finding::fault(place(plot, "vines"), what).because(why).mend(mend).into())
}

fn in_words(number: f64) -> String {
    if number >= 1e6 { format!("{:.0} M", number / 1e6) } else { format!("{number:.0}") }
}

/// `row_anchor` names a row-line, and there is none.
pub(super) fn no_row_line(plot: &Plot) -> Error {
    Finding::fault(place(plot, "row_anchor"), "there is no row-line for the rows to go through")
        .mend("draw a feature with \"role\": \"row-line\" along a row, or use another row_anchor")
        .into()
}

/// What is doubtful about rows laid beside those that stand.
pub(super) fn beside_known_rows(plot: &Plot, rows: &RowsToLay) -> Findings {
    let mut findings = Findings::none();
    findings.extend(rows.uneven.iter().map(|misfit| misfitting(plot, misfit)).collect());
    if rows.room_below_1.is_some() {
        let what = "there is room for rows before row 1, and none is laid there";
        let mend = "number the row-lines so that the first row of the block is row 1";
        findings.push(Finding::warning(place(plot, "row"), what).mend(mend));
    }
    findings
}

/// Numbers that do not fit the distance of surveyed rows. Rows that follow each other may have a
/// track between them.
fn misfitting(plot: &Plot, misfit: &Misfit) -> Finding {
    let spacing = plot.rules.row_spacing.metres();
    let ((low, high), apart) = (misfit.rows, misfit.apart_m);
    let between = high - low - 1;
    let stand = format!("rows {low} and {high} stand {apart:.2} m apart");
    let here = || place(plot, "row");
    if apart < 0.0 {
        let what = format!("row {high} lies on the other side of row {low} than its number says");
        let mend = "check the numbers of these row-lines, or rows_to";
        return Finding::warning(here(), what).mend(mend);
    }
    if between == 0 && apart > spacing {
        let what = format!("{stand}, {:.1} row spacings", apart / spacing);
        let why = "their numbers follow each other, so that no row is laid between: a track";
        return Finding::note(here(), what).because(why);
    }
    let room = (apart / spacing).round() - 1.0;
    let what = format!(
        "{stand}: room for {} between them at {spacing} m, and their numbers leave {between}",
        number_of(room.max(0.0), "row"),
    );
    let why = if between == 0 {
        "both stand where they were surveyed".to_owned()
    } else if misfit.shared {
        format!("{} between them share the room evenly", number_of(between, "row"))
    } else {
        "rows between them are laid at the row spacing while there is room".to_owned()
    };
    let mend = "check these numbers and the row_spacing; draw the rows beside a track as row-lines";
    Finding::warning(here(), what).because(why).mend(mend)
}

/// What anybody who plants or turns there should know.
pub(super) fn about(plot: &Plot, layout: &Layout) -> Findings {
    let mut findings = Findings::none();
    if !plot.rules.standing && plot.rules.anchor_gap.metres() <= 0.0 {
        let what = "no tie-back anchors: anchor_gap is 0 m";
        let why = "1.5 to 2.5 m from end post to anchor is common practice, and the headland is \
                   measured from the anchor";
        findings.push(Finding::note(place(plot, "anchor_gap"), what).because(why));
    }
    if plot.outline.0.len() > 1 && plot.standing_rows.is_empty() {
        let what = format!(
            "the block is in {} parts; rows are numbered across all of them",
            plot.outline.0.len()
        );
        let why = "a row that crosses several parts has a lettered piece in each";
        findings.push(Finding::note(place(plot, "geometry"), what).because(why));
    }
    findings.extend(narrow_headlands(plot, layout).into_iter().collect());
    findings
}

fn narrow_headlands(plot: &Plot, layout: &Layout) -> Option<Finding> {
    let headland = plot.rules.headland.metres();
    let ends = || layout.pieces.iter().filter_map(|piece| piece.clear_m.map(|c| (piece, c)));
    let all = ends().flat_map(|(piece, clear)| [(piece, 0, clear[0]), (piece, 1, clear[1])]);
    let narrow: Vec<_> = all.filter(|(_, _, m)| *m < headland - WORTH_TELLING_M).collect();
    let (piece, end, least) = narrow.iter().min_by(|a, b| a.2.total_cmp(&b.2))?;
    let which = if *end == 0 { "vine 1's end" } else { "the far end" };
    let what = format!(
        "at {} of {} less than {headland} m is clear across the row's whole width; the \
         least is {least:.1} m, at {which} of {}",
        narrow.len(),
        number_of(2 * ends().count(), "row end"),
        layout.digits.piece(piece.row, piece.letter),
    );
    let why = "the headland is kept straight ahead of a row, and an oblique boundary comes nearer \
               beside it";
    let mend = "give a larger headland where machines need the full length";
    Some(Finding::warning(place(plot, "headland"), what).because(why).mend(mend))
}
