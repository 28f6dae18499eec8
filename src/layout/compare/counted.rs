//! What rows of one bearing come to, counted by the rules that lay them, without building a vine.

use geo::Area;

use super::Counted;
use crate::{
    block::RowAnchor,
    error::Error,
    frame::Site,
    layout::{
        Plot,
        along::Setting,
        most_vines, offset,
        pieces::{Ground, Usable},
        planned,
        quantities::{M2_PER_HA, shortest_median_longest},
        slope_told, told,
    },
    maths::intervals::Interval,
    units::Metres,
};

/// A piece of row from end post to end post, metres along, and where it lies across.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Posts {
    /// From post to post.
    pub(super) ends: Interval,
    /// Metres across.
    pub(super) across_m: f64,
}

/// Counts the rows of a site as they would be laid, and gives their pieces.
///
/// # Errors
/// More vines than the limit, a row-line asked for that is not there, or distances along ground that
/// is not known.
pub(super) fn count(site: &Site, short: Metres) -> Result<(Counted, Vec<Posts>), Error> {
    let plot = Plot { standing_rows: &[], row_list: &[], given_vines: &[], ..Plot::from(site) };
    slope_told::without_ground(&plot)?;
    let ground = Ground::of(&plot);
    let Some(across) = offset::usable_across(&ground) else {
        return Ok((Counted::default(), Vec::new()));
    };
    planned::too_many_rows(&plot, across)?;
    // Along the ground the steps of a row's number are not searched.
    let extremes =
        (!plot.rules.ground_spacing).then(|| most_vines::fewest_and_most(&plot, &ground, across));
    let first = match (plot.rules.anchor, extremes) {
        (RowAnchor::MostVines, Some([_, most])) => across.low + most.offset,
        _ => planned::first_row(&plot, &ground, across)?,
    };
    let mut tally = Tally::new(&plot);
    let mut sweep = ground.sweep();
    for (v, shifted) in planned::lines(first, across, plot.rules.row_spacing.metres()) {
        tally.row(&sweep.at(v).usable(v), v, shifted)?;
    }
    let (counted, posts) = tally.summed(short);
    let laid = counted.vines;
    let vines_by_offset =
        extremes.map(|[fewest, most]| [fewest.vines.min(laid), most.vines.max(laid)]);
    Ok((Counted { vines_by_offset, ..counted }, posts))
}

/// Hectares inside the outline.
pub(super) fn block_ha(site: &Site) -> f64 {
    site.outline.unsigned_area() / M2_PER_HA
}

/// A count in the making.
struct Tally<'p> {
    plot: &'p Plot<'p>,
    setting: Setting,
    vines: usize,
    left_out: usize,
    /// Of pieces and of rows, level metres from end post to end post.
    lengths: Vec<f64>,
    row_lengths: Vec<f64>,
    posts: Vec<Posts>,
}

impl<'p> Tally<'p> {
    fn new(plot: &'p Plot<'p>) -> Self {
        let setting = Setting::of(plot.rules);
        let (lengths, row_lengths, posts) = (Vec::new(), Vec::new(), Vec::new());
        Self { plot, setting, vines: 0, left_out: 0, lengths, row_lengths, posts }
    }

    fn row(&mut self, pieces: &[Usable], v: f64, shifted: bool) -> Result<(), Error> {
        let tape = planned::tape(self.plot, v, pieces);
        let mut length_m = 0.0;
        let mut planted = false;
        for piece in pieces {
            let taped = tape.piece(piece);
            let vines = self.setting.count(&taped, shifted);
            self.vines += vines;
            if self.vines > self.plot.rules.most_vines {
                return Err(told::too_many(self.plot));
            }
            match self.setting.posts(taped.ends) {
                Some(posts) if vines > 0 => {
                    let ends = Interval::new(tape.level_m(posts.low), tape.level_m(posts.high));
                    self.posts.push(Posts { ends, across_m: v });
                    self.lengths.push(ends.length());
                    length_m += ends.length();
                    planted = true;
                }
                _ => self.left_out += 1,
            }
        }
        if planted {
            self.row_lengths.push(length_m);
        }
        Ok(())
    }

    fn summed(self, short: Metres) -> (Counted, Vec<Posts>) {
        let row_length_m: f64 = self.row_lengths.iter().sum();
        let is_short = |length_m: &&f64| **length_m < short.metres();
        let rows = self.row_lengths.len();
        let counted = Counted {
            rows,
            vines: self.vines,
            vines_by_offset: None,
            pieces: self.posts.len(),
            short_pieces: self.lengths.iter().filter(is_short).count(),
            left_out: self.left_out,
            row_length_m,
            row_lengths_m: (rows > 0).then(|| shortest_median_longest(self.row_lengths)),
            planted_ha: row_length_m * self.plot.rules.row_spacing.metres() / M2_PER_HA,
        };
        (counted, self.posts)
    }
}
