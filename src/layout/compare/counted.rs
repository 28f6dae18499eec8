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
        told,
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
/// More vines than the limit, or a row-line asked for that is not there.
pub(super) fn count(site: &Site, short: Metres) -> Result<(Counted, Vec<Posts>), Error> {
    let plot = Plot { standing_rows: &[], row_list: &[], given_vines: &[], ..Plot::from(site) };
    let ground = Ground::of(&plot);
    let Some(across) = offset::usable_across(&ground) else {
        return Ok((Counted::default(), Vec::new()));
    };
    let [fewest, most] = most_vines::fewest_and_most(&plot, &ground, across);
    let first = match plot.rules.anchor {
        RowAnchor::MostVines => across.low + most.offset,
        RowAnchor::Edge | RowAnchor::Centre | RowAnchor::RowLine => {
            planned::first_row(&plot, &ground, across)?
        }
    };
    let mut tally = Tally::new(&plot);
    let mut sweep = ground.sweep();
    for (v, shifted) in planned::lines(first, across, plot.rules.row_spacing.metres()) {
        tally.row(&sweep.at(v).usable(v), v, shifted)?;
    }
    let (counted, posts) = tally.summed(short);
    let laid = counted.vines;
    let vines_by_offset = [fewest.vines.min(laid), most.vines.max(laid)];
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
    row_lengths: Vec<f64>,
    posts: Vec<Posts>,
}

impl<'p> Tally<'p> {
    fn new(plot: &'p Plot<'p>) -> Self {
        let setting = Setting::of(plot.rules);
        Self { plot, setting, vines: 0, left_out: 0, row_lengths: Vec::new(), posts: Vec::new() }
    }

    fn row(&mut self, pieces: &[Usable], v: f64, shifted: bool) -> Result<(), Error> {
        let before = self.posts.len();
        for piece in pieces {
            let vines = self.setting.count(piece, shifted);
            self.vines += vines;
            if self.vines > self.plot.rules.most_vines {
                return Err(told::too_many(self.plot));
            }
            match self.setting.posts(piece.ends) {
                Some(ends) if vines > 0 => self.posts.push(Posts { ends, across_m: v }),
                _ => self.left_out += 1,
            }
        }
        let planted = &self.posts[before..];
        if !planted.is_empty() {
            self.row_lengths.push(planted.iter().map(|posts| posts.ends.length()).sum());
        }
        Ok(())
    }

    fn summed(self, short: Metres) -> (Counted, Vec<Posts>) {
        let row_length_m: f64 = self.row_lengths.iter().sum();
        let is_short = |posts: &&Posts| posts.ends.length() < short.metres();
        let rows = self.row_lengths.len();
        let counted = Counted {
            rows,
            vines: self.vines,
            vines_by_offset: [self.vines; 2],
            pieces: self.posts.len(),
            short_pieces: self.posts.iter().filter(is_short).count(),
            left_out: self.left_out,
            row_length_m,
            row_lengths_m: (rows > 0).then(|| shortest_median_longest(self.row_lengths)),
            planted_ha: row_length_m * self.plot.rules.row_spacing.metres() / M2_PER_HA,
        };
        (counted, self.posts)
    }
}
