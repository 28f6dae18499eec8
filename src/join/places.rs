//! The places of a block by their numbers.

use std::{collections::BTreeMap, ops::RangeInclusive};

use super::Target;
use crate::{frame::Site, layout::Layout};

/// The places of a block by their numbers.
pub(super) struct Places<'a> {
    pub(super) site: &'a Site,
    pub(super) layout: &'a Layout,
    vines: BTreeMap<(u32, u32), usize>,
    panels: BTreeMap<(u32, u32), usize>,
}

impl<'a> Places<'a> {
    pub(super) fn of(site: &'a Site, layout: &'a Layout) -> Self {
        let vines = layout.vines.iter().enumerate().map(|(at, v)| ((v.row, v.vine), at)).collect();
        let panels =
            layout.panels.iter().enumerate().map(|(at, p)| ((p.row, p.panel), at)).collect();
        Self { site, layout, vines, panels }
    }

    /// The vine place with these numbers.
    ///
    /// # Errors
    /// Which numbers there are instead.
    pub(super) fn vine(&self, row: u32, vine: u32) -> Result<Target, String> {
        let found = self.vines.get(&(row, vine)).map(|&at| Target::Vine(at));
        found.ok_or_else(|| self.no_such(row, vine, "vine", &self.vines))
    }

    /// The panel with these numbers.
    ///
    /// # Errors
    /// Which numbers there are instead.
    pub(super) fn panel(&self, row: u32, panel: u32) -> Result<Target, String> {
        let found = self.panels.get(&(row, panel)).map(|&at| Target::Panel(at));
        found.ok_or_else(|| self.no_such(row, panel, "panel", &self.panels))
    }

    /// The vine place of a panel, 1 the first after the post.
    ///
    /// # Errors
    /// How many places there are instead.
    pub(super) fn in_panel(&self, row: u32, panel: u32, place: u32) -> Result<Target, String> {
        let Target::Panel(at) = self.panel(row, panel)? else {
            return Err(format!("panel {panel} of row {row} is not in the layout"));
        };
        let vines = &self.layout.panels[at].vines;
        let offset = usize::try_from(place).ok().and_then(|place| place.checked_sub(1));
        offset
            .map(|offset| vines.start + offset)
            .filter(|vine| vines.contains(vine))
            .map(Target::Vine)
            .ok_or_else(|| {
                format!("panel {panel} of row {row} has places 1 to {}, not {place}", vines.len())
            })
    }

    /// The vine places of a row, as indices into the layout's; empty for a row that is not there.
    pub(super) fn of_row(&self, row: u32) -> impl Iterator<Item = usize> {
        self.vines.range(numbers_of(row)).map(|(_, &at)| at)
    }

    fn no_such(
        &self,
        row: u32,
        number: u32,
        noun: &str,
        all: &BTreeMap<(u32, u32), usize>,
    ) -> String {
        let mut of_row = all.range(numbers_of(row)).map(|(&(_, number), _)| number);
        let first = of_row.next();
        match (first, of_row.next_back().or(first)) {
            (Some(first), Some(last)) => {
                format!("row {row} has {noun}s {first} to {last}, not {number}")
            }
            _ => format!("row {row} is not in this block, which has {}", self.rows()),
        }
    }

    fn rows(&self) -> String {
        match (self.layout.rows.first(), self.layout.rows.last()) {
            (Some(first), Some(last)) if first.number < last.number => {
                format!("rows {} to {}", first.number, last.number)
            }
            (Some(only), _) => format!("row {} only", only.number),
            (None, _) => "no rows".to_owned(),
        }
    }
}

const fn numbers_of(row: u32) -> RangeInclusive<(u32, u32)> {
    (row, 0)..=(row, u32::MAX)
}
