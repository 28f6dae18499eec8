//! What a crew wrote down on the invented estate: counts before the thinning, last winter's
//! prunings, and a recount after the work.

use super::{
    choice::{Choice, choose},
    counting::{Window, binomial, in_parts, in_windows},
    records::Record,
    truth::{Profile, VineTruth, truth, whole},
};
use crate::{counts::Status, layout::Layout, maths::random::Random};

/// How a block's crew keeps its book.
#[derive(Debug)]
pub(super) struct Habits {
    /// What really stands there.
    pub(super) profile: Profile,
    /// How a place is named.
    pub(super) naming: Naming,
    /// Shoots are told apart: primary, secondary, base.
    pub(super) parts: bool,
    /// On some vines only a window of so many centimetres is counted.
    pub(super) window_cm: Option<f64>,
    /// Who counts.
    pub(super) crew: &'static str,
    /// Places known to be empty: they stand in the block file, not in the book.
    pub(super) missing: &'static [(u32, u32)],
    /// Share of the dormant buds that died last winter.
    pub(super) dead_buds: f64,
    /// Share of the rows that the crew had done when the recount was made.
    pub(super) share_done: f64,
    /// One of so many counted vines is recounted, and a fresh one beside it.
    pub(super) recount_step: usize,
    /// Shoots on a metre that this crew really leaves.
    pub(super) left_per_m: f64,
}

/// How a place is named in the book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Naming {
    /// By the id on the vine's tag.
    Id,
    /// By row and vine.
    RowAndVine,
    /// By row, panel and place in the panel.
    Panel,
}

/// A block of the estate with all that is drawn for it.
#[derive(Debug)]
pub(super) struct Field<'a> {
    pub(super) habits: &'a Habits,
    pub(super) layout: &'a Layout,
    pub(super) truth: Vec<VineTruth>,
    pub(super) choice: Choice,
}

/// Days of the book.
const WINTER: &str = "2026-03-04";
const EARLY: &str = "2026-06-03";
const BEFORE: &str = "2026-06-10";
const AFTER: &str = "2026-06-19";
/// Growth between the early visit and the counts, centimetres.
const GROWTH_CM: f64 = 6.3;
/// Shoots that the crew leaves on a metre: five a foot.
const LEFT_PER_M: f64 = 16.4;
/// Where fewer stand on a metre the crew takes off doubles only.
const CROWDED_PER_M: f64 = 18.0;
/// A vine that was not counted before is recounted so many places further along the row.
const FRESH_AFTER: usize = 6;
/// How far one look at a vine is off, as a share of its shoots.
const OBSERVER_SHARE: f64 = 0.02;
/// Canopy of a vine that has grown into the gap beside it, in vine spacings.
const INTO_THE_GAP: f64 = 1.6;

impl<'a> Field<'a> {
    /// The block as it stands and as it is going to be visited.
    pub(super) fn new(habits: &'a Habits, layout: &'a Layout) -> Self {
        let truth = truth(&habits.profile, layout);
        let choice = choose(layout, habits.missing, habits.profile.seed + 1);
        Self { habits, layout, truth, choice }
    }

    /// The counts before the thinning, in walking order, after an early look at shoot lengths.
    pub(super) fn counts(&self) -> Vec<Record> {
        let mut random = self.random(2);
        let mut records = self.early_lengths(&mut random);
        for (k, &vine) in self.choice.singles.iter().enumerate() {
            records.extend(self.count_of_vine(k, vine, &mut random));
        }
        records.extend(self.choice.beside_a_gap.map(|vine| self.count_beside_a_gap(vine)));
        records.extend(self.choice.panels.iter().map(|&panel| self.count_of_panel(panel)));
        records.extend(self.odd_places());
        records
    }

    /// Last winter's prunings of the vines that are counted one by one, some buds, and the crop before
    /// of some.
    pub(super) fn prunings(&self) -> Vec<Record> {
        let [mut random, mut picked] = [self.random(3), self.random(5)];
        let singles = self.choice.singles.iter().enumerate();
        let pruned = singles.map(|(k, &vine)| {
            let record = self.prunings_of(k, vine, &mut random);
            self.crop_of(k, vine, record, &mut picked)
        });
        pruned.collect()
    }

    /// Some of the vines and one panel again after the crew went through, and beside each of these
    /// vines one that was not counted before.
    pub(super) fn recount(&self) -> Vec<Record> {
        let mut random = self.random(4);
        let singles = self.choice.singles.iter().copied();
        let pairs: Vec<usize> = singles.step_by(self.habits.recount_step).collect();
        let fresh = self.not_counted_beside(&pairs);
        let mut places = [pairs, fresh].concat();
        places.sort_unstable();
        let mut records: Vec<Record> = places
            .iter()
            .map(|&vine| {
                let left = self.left_on(vine, &mut random);
                self.visit(AFTER, "after", self.named(vine)).with("shoots", left)
            })
            .collect();
        records.extend(self.choice.panels.first().map(|&panel| {
            let vines = self.layout.panels[panel].vines.clone();
            let left: u32 = vines.map(|vine| self.left_on(vine, &mut random)).sum();
            self.visit(AFTER, "after", self.named_panel(panel)).with("shoots", left)
        }));
        records
    }

    /// For each vine one further along its row that nobody counted, where there is one.
    fn not_counted_beside(&self, vines: &[usize]) -> Vec<usize> {
        let in_panels = |vine: usize| {
            self.choice.panels.iter().any(|&panel| self.layout.panels[panel].vines.contains(&vine))
        };
        let counted = |vine: usize| {
            self.choice.singles.contains(&vine)
                || self.choice.odd.contains_key(&vine)
                || self.choice.beside_a_gap == Some(vine)
                || in_panels(vine)
        };
        let mut fresh: Vec<usize> = Vec::new();
        for &vine in vines {
            let piece = self.layout.vines[vine].piece;
            let row = self.layout.pieces[piece].vines.clone();
            let further =
                (vine + FRESH_AFTER..row.end.saturating_sub(1)).chain(row.start + 1..vine);
            fresh.extend(further.into_iter().find(|one| !counted(*one) && !fresh.contains(one)));
        }
        fresh
    }

    fn random(&self, stream: u64) -> Random {
        Random::new(self.habits.profile.seed + stream)
    }

    pub(super) fn visit(&self, date: &str, visit: &str, named: Record) -> Record {
        named.with("date", date).with("visit", visit).with("counted_by", self.habits.crew)
    }

    /// A record that names this vine in the crew's way.
    pub(super) fn named(&self, vine: usize) -> Record {
        let place = &self.layout.vines[vine];
        let record = Record::default().with("block", self.habits.profile.name);
        match self.habits.naming {
            Naming::Id => record.with("id", self.layout.digits.vine(place.row, place.vine)),
            Naming::RowAndVine => record.with("row", place.row).with("vine", place.vine),
            Naming::Panel => {
                let panel = &self.layout.panels[place.panel];
                let place_in_panel = vine - panel.vines.start + 1;
                record
                    .with("row", place.row)
                    .with("panel", panel.panel)
                    .with("place", place_in_panel)
            }
        }
    }

    pub(super) fn named_panel(&self, panel: usize) -> Record {
        let panel = &self.layout.panels[panel];
        Record::default()
            .with("block", self.habits.profile.name)
            .with("row", panel.row)
            .with("panel", panel.panel)
    }

    fn early_lengths(&self, random: &mut Random) -> Vec<Record> {
        let singles = self.choice.singles.iter().step_by(6);
        singles
            .map(|&vine| {
                let length = self.truth[vine].shoot_length_cm - GROWTH_CM + 0.4 * random.normal();
                self.visit(EARLY, "early", self.named(vine))
                    .with("shoot_length_cm", format!("{:.1}", length.max(1.0)))
            })
            .collect()
    }

    /// One record, or two where a second window is counted.
    fn count_of_vine(&self, k: usize, vine: usize, random: &mut Random) -> Vec<Record> {
        let record = self.extras(k, vine, self.visit(BEFORE, "before", self.named(vine)), random);
        let seen = f64::from(self.truth[vine].shoots) * (1.0 + OBSERVER_SHARE * random.normal());
        match self.habits.window_cm {
            Some(length_cm) if k.is_multiple_of(3) => {
                let window =
                    Window { length_cm, canopy_cm: self.canopy_cm(), twice: k.is_multiple_of(2) };
                in_windows(&record, whole(seen), window, random)
            }
            _ if self.habits.parts => vec![in_parts(record, whole(seen), random)],
            _ => vec![record.with("shoots", whole(seen))],
        }
    }

    /// What is noted beside the shoots on some vines: suckers, shoot length, minutes of a trial.
    fn extras(&self, k: usize, vine: usize, record: Record, random: &mut Random) -> Record {
        let truth = &self.truth[vine];
        let mut record = record;
        if k.is_multiple_of(2) {
            let length = truth.shoot_length_cm + 0.5 * random.normal();
            record = record.with("shoot_length_cm", format!("{length:.1}"));
        }
        if k % 3 == 1 {
            record = record.with("suckers", binomial(6, 0.3, random));
        }
        if k % 9 == 4 {
            let taken = (f64::from(truth.shoots) - self.left_per_vine()).max(1.0);
            let minutes = (0.45 + 0.065 * taken) * (0.2 * random.normal()).exp();
            record = record.with("minutes", format!("{minutes:.1}")).with("note", "timed trial");
        }
        record
    }

    fn canopy_cm(&self) -> f64 {
        100.0 * self.habits.profile.vine_spacing_m
    }

    fn left_per_vine(&self) -> f64 {
        LEFT_PER_M * self.habits.profile.vine_spacing_m
    }

    fn count_beside_a_gap(&self, vine: usize) -> Record {
        let canopy_cm = INTO_THE_GAP * self.canopy_cm();
        self.visit(BEFORE, "before", self.named(vine))
            .with("shoots", whole(INTO_THE_GAP * f64::from(self.truth[vine].shoots)))
            .with("canopy_length_cm", whole(canopy_cm))
            .with("note", "has grown into the gap")
    }

    fn count_of_panel(&self, panel: usize) -> Record {
        let vines = self.layout.panels[panel].vines.clone();
        let shoots: u32 = vines.map(|vine| self.truth[vine].shoots).sum();
        self.visit(BEFORE, "before", self.named_panel(panel))
            .with("shoots", shoots)
            .with("note", "whole panel")
    }

    fn odd_places(&self) -> Vec<Record> {
        let known = |vine: &usize| {
            let place = &self.layout.vines[*vine];
            self.habits.missing.contains(&(place.row, place.vine))
        };
        let odd = self.choice.odd.iter().filter(|(vine, _)| !known(vine));
        odd.map(|(&vine, status)| self.odd_place(vine, *status)).collect()
    }

    fn odd_place(&self, vine: usize, status: Status) -> Record {
        let record = self.visit(BEFORE, "before", self.named(vine)).with("status", status.word());
        if status == Status::Renewal {
            return record.with("shoots", self.truth[vine].shoots);
        }
        record
    }

    fn prunings_of(&self, k: usize, vine: usize, random: &mut Random) -> Record {
        let place = &self.layout.vines[vine];
        let decagrams = whole(self.truth[vine].prunings_kg_per_m * self.canopy_cm());
        let record = Record::default()
            .with("block", self.habits.profile.name)
            .with("row", place.row)
            .with("vine", place.vine)
            .with("date", WINTER)
            .with("visit", "winter")
            .with("pruning_weight_g", 10 * decagrams)
            .with("counted_by", self.habits.crew);
        if k.is_multiple_of(4) {
            return record
                .with("buds", 20)
                .with("buds_dead", binomial(20, self.habits.dead_buds, random));
        }
        record
    }

    /// What was picked from every third vine: much growth ripens less for its wood.
    fn crop_of(&self, k: usize, vine: usize, record: Record, random: &mut Random) -> Record {
        if !k.is_multiple_of(3) {
            return record;
        }
        let canopy_m = self.canopy_cm() / 100.0;
        let per_m = 2.6 + 1.5 * self.truth[vine].prunings_kg_per_m + 0.3 * random.normal();
        record.with("yield_kg", format!("{:.1}", (per_m * canopy_m).max(0.3)))
    }

    /// Shoots on a vine after the crew went through, or as before where it has not been. Where vines
    /// stand near the target only doubles come off.
    fn left_on(&self, vine: usize, random: &mut Random) -> u32 {
        let before = self.truth[vine].shoots;
        let last = self.layout.rows.last().map_or(0, |row| row.number);
        if f64::from(self.layout.vines[vine].row) > self.habits.share_done * f64::from(last) {
            return before;
        }
        let without_doubles = before - binomial(before, 0.04, random);
        if self.truth[vine].surface_per_m < CROWDED_PER_M {
            return without_doubles;
        }
        let left = self.habits.left_per_m * self.habits.profile.vine_spacing_m;
        whole(left + 1.3 * random.normal()).min(without_doubles)
    }
}
