//! Pages that are filled from the top with pieces that stay whole.

use crate::picture::furniture::Furniture;

/// Pages that are being filled.
#[derive(Debug, Default)]
pub(super) struct Pages {
    /// Height that a page has room for, millimetres.
    room_mm: f64,
    /// Stands on top of every further page.
    repeated: Furniture,
    full: Vec<Furniture>,
    open: Furniture,
}

impl Pages {
    /// No page yet.
    pub(super) fn new(room_mm: f64) -> Self {
        Self { room_mm, ..Self::default() }
    }

    /// What stands on top of every further page from now on.
    pub(super) fn repeat(&mut self, head: Furniture) {
        self.repeated = head;
    }

    /// Adds a piece to the open page, or to the next where it has no room.
    pub(super) fn add(&mut self, piece: Furniture) {
        if self.open.height_mm + piece.height_mm > self.room_mm {
            let next = self.repeated.clone();
            self.full.push(std::mem::replace(&mut self.open, next));
        }
        self.open.below(piece);
    }

    /// All pages, the open one too.
    pub(super) fn into_bodies(self) -> Vec<Furniture> {
        self.full.into_iter().chain([self.open]).collect()
    }
}
