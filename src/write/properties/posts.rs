//! `posts.geojson`: end posts, line posts and anchors.

use super::{
    ground::{Ground, STAKE_DECIMALS, letter},
    property::Properties,
};
use crate::{
    frame::Site,
    layout::{Layout, Post, PostKind},
    write::{
        Column,
        Kind::{Integer, Text},
        Layer,
    },
};

/// Every post and anchor.
pub fn posts(site: &Site, layout: &Layout) -> Layer {
    let ground = Ground::new(site, layout);
    let things = layout.posts.iter().map(|post| {
        let facts = PostFacts { ground: ground.clone(), post };
        (ground.point(post.at), facts)
    });
    properties().layer("posts", STAKE_DECIMALS, things)
}

pub(super) struct PostFacts<'a> {
    ground: Ground<'a>,
    post: &'a Post,
}

pub(super) fn columns() -> Vec<Column> {
    properties().columns().to_vec()
}

fn properties<'a>() -> Properties<'a, PostFacts<'a>> {
    Properties::<'a, PostFacts<'a>>::new()
        .column("kind", Text, "", "end-post, line-post or anchor")
        .is(|post| word(post.post.kind))
        .column("block", Text, "", "the block's name")
        .is(|post| post.ground.block.clone())
        .column("row", Integer, "", "the row's number")
        .is(|post| post.post.row)
        .column("piece", Text, "", "the piece's letter; null for a row in one piece")
        .is(|post| letter(&post.ground.layout.pieces[post.post.piece]))
}

const fn word(kind: PostKind) -> &'static str {
    match kind {
        PostKind::End => "end-post",
        PostKind::Line => "line-post",
        PostKind::Anchor => "anchor",
    }
}
