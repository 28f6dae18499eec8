//! What the slope of the ground asks a grower to think of, once a block.
//!
//! The classes are those of the trade, and weak: nobody with authority gives one side slope that a
//! machine may work on. So the slope is told, and the limit left to maker and local codes.

use std::fmt::Write as _;

use super::{Layout, Piece, Plot, Relief, told::place};
use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    units::Metres,
};

/// Slopes across the rows from which something is said, rise per metre, with what extension texts
/// say of each.
const SIDE_SLOPES: [(f64, &str); 3] = [
    (0.15, "growers' texts call side slopes above 15 % hazardous for machines"),
    (0.10, "growers' texts doubt machines on side slopes of 10 to 15 % without terraces"),
    (0.05, "growers' texts ask from 5 to 10 % on what the machines at hand are made for"),
];
/// Rows up and down a slope that lose soil, rise per metre.
const ERODING: f64 = 0.05;
/// The class of steep vineyards.
const STEEP: f64 = 0.30;

/// The cautions that the ground of a layout asks for.
pub(super) fn cautions(plot: &Plot, layout: &Layout) -> Findings {
    let Some(terrain) = plot.terrain else { return Findings::none() };
    let place =
        Place::file(&terrain.terrain().facts().source).in_feature(format!("block `{}`", plot.name));
    let known: Vec<(&Piece, &Relief)> =
        layout.pieces.iter().filter_map(|piece| Some((piece, piece.relief.as_ref()?))).collect();
    [side_slope(&known, &place), eroding(&known, &place), steep(&known, &place)]
        .into_iter()
        .flatten()
        .collect()
}

fn side_slope(known: &[(&Piece, &Relief)], place: &Place) -> Option<Finding> {
    let most = greatest(known, |relief| relief.across_most)?;
    let (least, said) = SIDE_SLOPES.iter().find(|(least, _)| most >= *least)?;
    let share = share_of_length(known, |relief| relief.across.abs() >= *least);
    let mut what =
        format!("machines in the rows stand on side slopes of up to {:.0} %", most * 100.0);
    if share > 0.0 {
        let _ = write!(
            what,
            "; rows that make up {:.0} % of the length have a mean of {:.0} % or more",
            share * 100.0,
            least * 100.0
        );
    }
    let why = format!(
        "{said}, without a source; the limit depends on machine, load, tyres and wetness, and \
         those who inspect work places ask for an assessment on the spot"
    );
    let mend = "compare with the maker's manual and local codes, and ask a qualified person";
    Some(Finding::warning(place.clone(), what).because(why).mend(mend))
}

fn eroding(known: &[(&Piece, &Relief)], place: &Place) -> Option<Finding> {
    let share = share_of_length(known, |relief| relief.along.abs() >= ERODING);
    if share <= 0.0 {
        return None;
    }
    let fall = greatest(known, |relief| relief.fall_m)?;
    let what = format!(
        "{:.0} % of the length of the rows runs up and down slopes of 5 % or more; the \
         greatest unbroken fall along a row is {fall:.1} m",
        share * 100.0
    );
    let why = "water runs down bare alleys and takes soil with it; rows along the slope are often \
               advised (Cornell University, Lake Erie Regional Grape Program)";
    let mend = "keep the alleys under permanent cover, or compare other bearings";
    Some(Finding::note(place.clone(), what).because(why).mend(mend))
}

fn steep(known: &[(&Piece, &Relief)], place: &Place) -> Option<Finding> {
    let slope = |relief: &Relief| relief.along_most.hypot(relief.across_most);
    let most = greatest(known, slope)?;
    if most < STEEP {
        return None;
    }
    let what = format!("the ground under the rows is up to {:.0} % steep", most * 100.0);
    let why = "the Swiss Federal Office for Agriculture counts vineyards from 30 % as steep: much \
               of the work there is by hand or on ropes";
    let mend = "plan access, terraces and drainage with a qualified person, by local codes";
    Some(Finding::warning(place.clone(), what).because(why).mend(mend))
}

fn greatest(known: &[(&Piece, &Relief)], of: impl Fn(&Relief) -> f64) -> Option<f64> {
    known.iter().map(|(_, relief)| of(relief)).max_by(f64::total_cmp)
}

fn share_of_length(known: &[(&Piece, &Relief)], chosen: impl Fn(&Relief) -> bool) -> f64 {
    let length = |chosen: &dyn Fn(&Relief) -> bool| -> f64 {
        let pieces = known.iter().filter(|(_, relief)| chosen(relief));
        pieces.map(|(piece, _)| piece.length_m).fold(0.0, |sum, length| sum + length)
    };
    length(&chosen) / length(&|_| true).max(f64::MIN_POSITIVE)
}

/// Distances along the ground need its heights.
///
/// # Errors
/// Without them, where rows are to be laid. Rows that stand are laid by level distances.
pub(super) fn without_ground(plot: &Plot) -> Result<Findings, Error> {
    if !plot.rules.ground_spacing || plot.terrain.is_some() {
        return Ok(Findings::none());
    }
    let place = place(plot, "ground_spacing");
    if !plot.rules.standing {
        return Err(Finding::fault(place, "distances along the ground without an elevation model")
            .because("how long the ground is follows from its heights")
            .mend("pass the model with --dem FILE.tif, or leave ground_spacing out")
            .into());
    }
    let what = "the vines of this block were set along the ground, and are set level here";
    // Two halves of a row, one level and one of slope p: √(1 + p²) is 1 + p² / 2.
    let longest = plot.standing_rows.iter().map(|row| longest_m(&row.path.0)).fold(0.0, f64::max);
    let off = Metres::new(longest / 8.0 * 0.2 * 0.2);
    let why = format!(
        "where the slope of a row changes they stand beside their places: by {:.2} m in the middle \
         of the longest row if half of it is level and half rises by 20 %",
        off.metres()
    );
    let mend = "pass the same elevation model with --dem FILE.tif";
    Ok(Finding::warning(place, what).because(why).mend(mend).into())
}

fn longest_m(path: &[geo::Coord<f64>]) -> f64 {
    path.windows(2).map(|pair| super::strand::length(pair[0], pair[1])).sum()
}
