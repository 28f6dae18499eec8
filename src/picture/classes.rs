//! The classes of a map: what each says, how it looks and how many vines are in it.

use crate::{
    counts::Status,
    join::VineRecord,
    picture::{Colour, words},
};

/// How the vines of a class are drawn; told apart without colour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Look {
    /// Filled.
    Solid(Colour),
    /// With a core of paper.
    Open(Colour),
    /// An outline in ink with so large a share of it filled.
    Weight(f64),
    /// An outline in ink with bars across it, one or two to a vine.
    Barred(u8),
    /// Grey and broken.
    Hatched,
    /// Grey and slight.
    Slight,
    /// A place without a vine.
    Gap,
}

/// A class of vines.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Class {
    /// Its limits, such as `5 to 6`.
    pub(super) limits: String,
    /// What that means, in words; may be empty.
    pub(super) meaning: String,
    /// How it is drawn.
    pub(super) look: Look,
    /// Vines in it.
    pub(super) vines: usize,
}

impl Class {
    /// A class of no vine yet.
    pub(super) fn new(limits: impl Into<String>, meaning: &str, look: Look) -> Self {
        Self { limits: limits.into(), meaning: meaning.to_owned(), look, vines: 0 }
    }

    /// Its limits and what they mean: `over by 2 to 6: thin last`.
    pub(super) fn words(&self) -> String {
        if self.meaning.is_empty() {
            self.limits.clone()
        } else {
            format!("{}: {}", self.limits, self.meaning)
        }
    }
}

/// The target on the ladder of classes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Band {
    /// Its lower and upper end, in classes counted from the lower limit of the lowest.
    pub(super) ends: [f64; 2],
    /// What it says.
    pub(super) words: String,
}

/// All classes of a map, in which every vine place has its own.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Classes {
    /// The quantity and its unit in words.
    pub(super) heading: String,
    /// From the least to the most.
    pub(super) ladder: Vec<Class>,
    /// Those that are no rung: no estimate, no target, no vine; only the ones that occur.
    pub(super) beside: Vec<Class>,
    /// By vine place: its class, as an index into the ladder followed by those beside it.
    pub(super) of_vine: Vec<usize>,
    /// Where the target lies, if there is one for all.
    pub(super) band: Option<Band>,
    /// What else a reader must know about the classes.
    pub(super) notes: Vec<String>,
}

impl Classes {
    /// Classes from a ladder and the rung of every vine; `None` when no vine has a rung.
    pub(super) fn new(
        heading: String,
        ladder: Vec<Class>,
        rungs: &[Option<usize>],
        records: &[VineRecord],
    ) -> Option<Self> {
        rungs.iter().any(Option::is_some).then_some(())?;
        let mut beside = Vec::new();
        let mut classes = Self { heading, ladder, ..Self::none() };
        for (rung, record) in rungs.iter().zip(records) {
            let class = match rung {
                Some(rung) if !record.status.is_missing() => *rung,
                _ => classes.ladder.len() + place_beside(&mut beside, record.status),
            };
            classes.of_vine.push(class);
            if let Some(rung) = classes.ladder.get_mut(class) {
                rung.vines += 1;
            }
        }
        classes.beside = beside;
        Some(classes)
    }

    /// No class and no vine in any: where only zones are shown.
    pub(super) const fn none() -> Self {
        Self {
            heading: String::new(),
            ladder: Vec::new(),
            beside: Vec::new(),
            of_vine: Vec::new(),
            band: None,
            notes: Vec::new(),
        }
    }

    /// All classes with their indices.
    pub(super) fn iter(&self) -> impl Iterator<Item = (usize, &Class)> {
        self.ladder.iter().chain(&self.beside).enumerate()
    }
}

/// Counts a vine without a rung, and says where its class is among those beside the ladder.
fn place_beside(beside: &mut Vec<Class>, status: Status) -> usize {
    let class = if status.is_missing() {
        Class::new("no vine", "empty place", Look::Gap)
    } else if status.is_young() {
        Class::new("young vine", "no target", Look::Slight)
    } else {
        Class::new("no estimate", "", Look::Hatched)
    };
    let found = beside.iter().position(|known| known.limits == class.limits);
    let at = found.unwrap_or_else(|| {
        beside.push(class);
        beside.len() - 1
    });
    beside[at].vines += 1;
    at
}

/// Round limits of equal classes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Limits {
    /// The lower limit of the lowest class.
    pub(super) start: f64,
    /// The height of a class.
    pub(super) step: f64,
    /// How many classes there are.
    pub(super) classes: usize,
}

/// Heights of classes that people read at a glance.
const STEPS: [f64; 14] =
    [0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 1e4];

impl Limits {
    /// At most `most` classes that hold all values, none lower than `finest`.
    pub(super) fn around(values: &[f64], finest: f64, most: usize) -> Option<Self> {
        let least = values.iter().copied().min_by(f64::total_cmp)?;
        let greatest = values.iter().copied().max_by(f64::total_cmp)?;
        STEPS.into_iter().filter(|step| *step >= finest).find_map(|step| {
            let first = (least / step + 1e-9).floor();
            let classes = whole(((greatest / step - 1e-9).ceil() - first).max(1.0));
            (classes <= most).then_some(Self { start: first * step, step, classes })
        })
    }

    /// The class of a value: the lower limit is in it, the upper one in the next.
    pub(super) fn class(&self, value: f64) -> usize {
        whole(((value - self.start) / self.step + 1e-9).floor().max(0.0)).min(self.classes - 1)
    }

    /// `5 to 6`.
    pub(super) fn words(&self, class: usize) -> String {
        let limit = |at: usize| {
            words::number(self.start + self.step * crate::maths::float(at), self.decimals())
        };
        format!("{} to {}", limit(class), limit(class + 1))
    }

    fn decimals(&self) -> usize {
        match self.step {
            step if step >= 1.0 => 0,
            step if (step - 0.25).abs() < 1e-9 => 2,
            _ => 1,
        }
    }
}

/// A whole number that is not negative.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "rounded and never negative; a conversion saturates"
)]
pub(super) const fn whole(value: f64) -> usize {
    value as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_round_and_hold_every_value() {
        let limits = Limits::around(&[2.9, 7.2], 0.25, 6).unwrap();
        assert_eq!(limits, Limits { start: 2.0, step: 1.0, classes: 6 });
        assert_eq!((limits.class(2.9), limits.class(3.0), limits.class(7.2)), (0, 1, 5));
        assert_eq!(limits.words(1), "3 to 4");
    }

    #[test]
    fn one_value_makes_one_class() {
        let limits = Limits::around(&[4.6, 4.6], 0.25, 6).unwrap();
        assert_eq!((limits.classes, limits.words(0).as_str()), (1, "4.5 to 4.75"));
        let limits = Limits::around(&[5.0, 5.0], 0.25, 6).unwrap();
        assert_eq!((limits.classes, limits.class(5.0)), (1, 0));
        assert_eq!(Limits::around(&[], 0.25, 6), None);
    }

    #[test]
    fn every_place_is_in_one_class_and_counted_once() {
        let record = |status| VineRecord { status, planting: 0, canopy_m: 1.0, counted: false };
        let records = [Status::Present, Status::Missing, Status::Present, Status::Young];
        let records = records.map(record);
        let ladder = vec![Class::new("a", "", Look::Hatched), Class::new("b", "", Look::Hatched)];
        let rungs = [Some(1), Some(0), None, None];
        let classes = Classes::new(String::new(), ladder, &rungs, &records).unwrap();
        assert_eq!(classes.of_vine, [1, 2, 3, 4]);
        let vines: Vec<usize> = classes.iter().map(|(_, class)| class.vines).collect();
        assert_eq!(vines, [0, 1, 1, 1, 1]);
        assert!(Classes::new(String::new(), vec![], &[None], &records[..1]).is_none());
    }
}
