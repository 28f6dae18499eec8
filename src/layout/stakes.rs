//! What is staked out: check points first, then what was asked for, each with two names.

use std::{fmt, str::FromStr};

use super::{
    Layout, Post, PostKind,
    check_points::check_points,
    short_names::{SHORT_NAME, ShortNames},
};
use crate::frame::{RowPoint, Site};

/// What the short names of control points begin with.
const CONTROL: &str = "CTL";

/// Which places are staked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum StakeChoice {
    /// The end posts of every piece of row.
    #[default]
    RowEnds,
    /// Every vine.
    Vines,
    /// End posts, line posts and anchors.
    Posts,
}

impl StakeChoice {
    const ALL: [(&'static str, Self); 3] =
        [("row-ends", Self::RowEnds), ("vines", Self::Vines), ("posts", Self::Posts)];
}

impl FromStr for StakeChoice {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let found = Self::ALL.into_iter().find(|(word, _)| *word == text);
        found.map(|(_, choice)| choice).ok_or_else(|| "write row-ends, vines or posts".to_owned())
    }
}

impl fmt::Display for StakeChoice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = Self::ALL.iter().find(|(_, choice)| choice == self).map_or("", |(word, _)| word);
        f.write_str(word)
    }
}

/// What stands at a stake.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum StakeKind {
    /// A corner of the outline on which a receiver is checked.
    Check,
    /// A survey control point of the file.
    Control,
    /// A vine.
    Vine,
    /// An end post.
    EndPost,
    /// A line post.
    LinePost,
    /// A tie-back anchor.
    Anchor,
}

impl StakeKind {
    /// What it is, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Check => "check point",
            Self::Control => "control point",
            Self::Vine => "vine",
            Self::EndPost => "end post",
            Self::LinePost => "line post",
            Self::Anchor => "anchor",
        }
    }
}

/// A place to stake out.
#[derive(Debug, Clone, PartialEq)]
pub struct Stake {
    /// What stands there.
    pub kind: StakeKind,
    /// Its row's number; none for check and control points.
    pub row: Option<u32>,
    /// A name whose first six characters are its own among all stakes of the block.
    pub name: String,
    /// The long name: the vine's id, or the piece's with what stands there.
    pub id: String,
    /// Where it is.
    pub at: RowPoint,
}

/// The stakes of a block, and how they are named.
#[derive(Debug, Clone, PartialEq)]
pub struct Stakes {
    /// Check points, control points, then by row and along it.
    pub stakes: Vec<Stake>,
    /// Kinds whose short names tell neither row nor place: six characters do not hold them.
    pub numbered_through: Vec<StakeKind>,
}

/// The stakes of a block.
pub fn stakes(site: &Site, layout: &Layout, choice: StakeChoice) -> Stakes {
    let mut made = Stakes { stakes: known_points(site), numbered_through: Vec::new() };
    match choice {
        StakeChoice::Vines => vines(layout, &mut made),
        StakeChoice::RowEnds => posts(layout, &[StakeKind::EndPost], &mut made),
        StakeChoice::Posts => {
            posts(layout, &[StakeKind::Anchor, StakeKind::EndPost, StakeKind::LinePost], &mut made);
        }
    }
    made
}

/// Check points, then the file's control points by their order and name.
fn known_points(site: &Site) -> Vec<Stake> {
    let checks = check_points(site).into_iter().map(|check| Stake {
        kind: StakeKind::Check,
        row: None,
        name: check.name.to_owned(),
        id: check.words,
        at: check.at,
    });
    let mut controls: Vec<_> = site.controls.iter().collect();
    controls.sort_by_key(|control| (control.order.unwrap_or(u32::MAX), control.name.clone()));
    let controls = controls.into_iter().enumerate().map(|(index, control)| Stake {
        kind: StakeKind::Control,
        row: None,
        name: control_name(index + 1),
        id: control.name.clone(),
        at: site.frame.to_row(control.at),
    });
    checks.chain(controls).collect()
}

/// `CTL001`; a number of more digits leaves letters out, so that six characters hold it: `CT1000`.
fn control_name(number: usize) -> String {
    let digits = format!("{number:03}");
    let room = SHORT_NAME.saturating_sub(digits.len());
    let lead = CONTROL.get(..room).unwrap_or(CONTROL);
    format!("{lead}{digits}")
}

fn vines(layout: &Layout, made: &mut Stakes) {
    let greatest = layout.vines.iter().map(|vine| vine.vine).max().unwrap_or(0);
    let names = names(layout, StakeKind::Vine, greatest, made);
    let stakes = layout.vines.iter().enumerate().map(|(index, vine)| Stake {
        kind: StakeKind::Vine,
        row: Some(vine.row),
        name: names.name(vine.row, vine.vine, index + 1),
        id: layout.digits.vine(vine.row, vine.vine),
        at: vine.at,
    });
    made.stakes.extend(stakes);
}

/// The names of a kind; notes where they tell no row.
fn names(layout: &Layout, kind: StakeKind, place: u32, made: &mut Stakes) -> ShortNames {
    let row = layout.rows.iter().map(|row| row.number).max().unwrap_or(0);
    let names = ShortNames::for_greatest(kind, row, place);
    if names.numbered_through() {
        made.numbered_through.push(kind);
    }
    names
}

/// A post with its place among those of its kind, from 1.
struct Placed<'a> {
    post: &'a Post,
    kind: StakeKind,
    /// In its row.
    place: u32,
    /// In the block.
    through: usize,
}

fn posts(layout: &Layout, kinds: &[StakeKind], made: &mut Stakes) {
    let mut placed = placed(layout, kinds);
    let greatest = |kind| {
        let places = placed.iter().filter(|post| post.kind == kind).map(|post| post.place);
        places.max().unwrap_or(0)
    };
    let names: Vec<(StakeKind, ShortNames)> =
        kinds.iter().map(|&kind| (kind, names(layout, kind, greatest(kind), made))).collect();
    placed.sort_by_key(|post| (post.post.piece, post.along()));
    for post in placed {
        let Some((_, names)) = names.iter().find(|(kind, _)| *kind == post.kind) else { continue };
        made.stakes.push(Stake {
            kind: post.kind,
            row: Some(post.post.row),
            name: names.name(post.post.row, post.place, post.through),
            id: post.long_name(layout),
            at: post.post.at,
        });
    }
}

/// The posts of some kinds, in the order of the layout.
fn placed<'a>(layout: &'a Layout, kinds: &[StakeKind]) -> Vec<Placed<'a>> {
    let mut placed: Vec<Placed<'a>> = Vec::new();
    let (mut in_row, mut in_block, mut row) = ([0_u32; 3], [0_usize; 3], None);
    for post in &layout.posts {
        if row.replace(post.row) != Some(post.row) {
            in_row = [0; 3];
        }
        let (kind, at) = match post.kind {
            PostKind::End => (StakeKind::EndPost, 0),
            PostKind::Line => (StakeKind::LinePost, 1),
            PostKind::Anchor => (StakeKind::Anchor, 2),
        };
        in_row[at] += 1;
        in_block[at] += 1;
        if kinds.contains(&kind) {
            placed.push(Placed { post, kind, place: in_row[at], through: in_block[at] });
        }
    }
    placed
}

impl Placed<'_> {
    /// Each piece has two end posts and two anchors, so that odd ones stand at near ends.
    const fn near(&self) -> bool {
        !self.place.is_multiple_of(2)
    }

    /// Its place in the order in which a piece of row is walked.
    const fn along(&self) -> u8 {
        match (self.kind, self.near()) {
            (StakeKind::Anchor, true) => 0,
            (StakeKind::EndPost, true) => 1,
            (StakeKind::EndPost, false) => 3,
            (StakeKind::Anchor, false) => 4,
            _ => 2,
        }
    }

    /// `R012a near end post`: the near end of a piece is that of vine 1.
    fn long_name(&self, layout: &Layout) -> String {
        let piece = &layout.pieces[self.post.piece];
        let id = layout.digits.piece(piece.row, piece.letter);
        let words = self.kind.words();
        if self.kind == StakeKind::LinePost {
            return format!("{id} {words} {}", self.place);
        }
        format!("{id} {} {words}", if self.near() { "near" } else { "far" })
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn six_characters_tell_control_points_apart_however_many() {
        assert_eq!(
            [1, 999, 1000, 10_000].map(control_name),
            ["CTL001", "CTL999", "CT1000", "C10000"]
        );
        let names = (1..=100_500).map(control_name);
        let short: BTreeSet<String> = names.map(|name| name.chars().take(6).collect()).collect();
        assert_eq!(short.len(), 100_500);
    }
}
