//! What vines, panels and zones share after the plan: values rounded once, sums as written.

use crate::{
    plan::{Evidence, Plan},
    write::{Value, layers::rounded, run_record::Totals},
};

/// Decimals of densities, of shoots to take off and of hours.
pub(super) const DECIMALS: u8 = 5;
/// Decimals of metres of canopy.
pub(super) const LENGTH_DECIMALS: u8 = 3;

/// The results of a run, with every vine's numbers as they are written.
#[derive(Debug, Clone)]
pub struct Thinned<'a> {
    /// What the stages before found out.
    pub evidence: Evidence<'a>,
    /// What the crew is to do.
    pub plan: &'a Plan,
    remove: Vec<Option<f64>>,
    canopy_m: Vec<Option<f64>>,
}

impl<'a> Thinned<'a> {
    /// Rounds what sums are made of.
    pub fn new(evidence: Evidence<'a>, plan: &'a Plan) -> Self {
        let records = &evidence.joined.vines;
        let present = |vine: usize| !records[vine].status.is_missing();
        let remove = |(vine, planned): (usize, &crate::plan::VinePlan)| {
            let remove = planned.remove.filter(|_| present(vine));
            remove.map(|remove| rounded(remove, DECIMALS))
        };
        let canopy = |vine| present(vine).then(|| rounded(records[vine].canopy_m, LENGTH_DECIMALS));
        Self {
            evidence,
            plan,
            remove: plan.vines.iter().enumerate().map(remove).collect(),
            canopy_m: (0..records.len()).map(canopy).collect(),
        }
    }

    /// Shoots to take off a vine as written; `None` where no vine stands.
    pub(in crate::write) fn remove(&self, vine: usize) -> Option<f64> {
        self.remove[vine]
    }

    /// Metres of canopy of a vine as written; `None` where no vine stands.
    pub(super) fn canopy_m(&self, vine: usize) -> Option<f64> {
        self.canopy_m[vine]
    }

    /// The vines that stand among some, with their metres of canopy as written.
    pub(in crate::write) fn present(
        &self,
        vines: impl IntoIterator<Item = usize>,
    ) -> Vec<(usize, f64)> {
        vines.into_iter().filter_map(|vine| Some((vine, self.canopy_m(vine)?))).collect()
    }

    /// Shoots to take off some vines: the sum of what is written.
    pub(in crate::write) fn remove_of(&self, vines: impl IntoIterator<Item = usize>) -> f64 {
        let sum = vines.into_iter().filter_map(|vine| self.remove[vine]).sum();
        rounded(sum, DECIMALS)
    }

    /// Metres of canopy of some vines: the sum of what is written.
    pub(super) fn canopy_of(&self, vines: impl IntoIterator<Item = usize>) -> f64 {
        let sum = vines.into_iter().filter_map(|vine| self.canopy_m[vine]).sum();
        rounded(sum, LENGTH_DECIMALS)
    }

    /// The id of a vine's zone.
    pub(super) fn zone_of_vine(&self, vine: usize) -> Value {
        self.zone(self.evidence.zones.of_vine[vine])
    }

    /// The id of a panel's zone.
    pub(super) fn zone_of_panel(&self, panel: usize) -> Value {
        self.zone(self.evidence.zones.of_panel[panel])
    }

    /// Numbers for the whole block: sums of what is written.
    pub fn totals(&self) -> Totals {
        let evidence = self.evidence;
        let every = || 0..self.remove.len();
        Totals {
            rows: evidence.layout.rows.len(),
            panels: evidence.layout.panels.len(),
            places: evidence.layout.vines.len(),
            vines: self.canopy_m.iter().flatten().count(),
            zones: evidence.zones.zones.len(),
            canopy_m: self.canopy_of(every()),
            remove: self.remove_of(every()),
            hours: super::zones::hours_of(self),
        }
    }

    fn zone(&self, zone: Option<usize>) -> Value {
        zone.map(|zone| self.evidence.zones.zones[zone].id.as_str()).into()
    }
}
