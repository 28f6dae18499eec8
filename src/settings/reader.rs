//! Every stage's settings, read out of the table.

use std::str::FromStr;

use super::{
    CompareSettings, EstimateSettings, JoinSettings, KindFormula, MaterialSettings, PlanSettings,
    Prices, PruneSettings, SampleSettings, TABLE, Wires, ZoneSettings,
    file::{LayoutDefaults, Settings, unquoted},
    pruning::MaybeFormula,
};
use crate::{
    finding::{Finding, Findings, Place},
    maths::covariance::Family,
    units::{Degrees, Metres, PerMetre, TargetRange, plain_number},
};

/// Reads typed values out of the table and notes those that do not fit.
pub(super) struct Reader<'a> {
    pub(super) settings: &'a Settings,
    pub(super) findings: &'a mut Findings,
}

impl Reader<'_> {
    pub(super) fn layout(&mut self) -> LayoutDefaults {
        LayoutDefaults {
            headland: self.length("layout.headland"),
            vines_per_panel: self.at_least_one("layout.vines_per_panel"),
            shortest_row_vines: self.at_least_one("layout.shortest_row_vines"),
            most_vines: self.whole("layout.most_vines"),
            slope_support: self.length("layout.slope_support"),
            survey_tolerance: self.length("layout.survey_tolerance"),
        }
    }

    pub(super) fn sample(&mut self) -> SampleSettings {
        SampleSettings {
            variation: self.positive("sample.variation"),
            alike_in_panel: self
                .read("sample.alike_in_panel", "a number from 0 to 1", |v| (0.0..=1.0).contains(v)),
            error: self.read("sample.error", "a share such as 0.1", |v| *v > 0.0 && *v < 1.0),
            confidence: self.share("sample.confidence"),
            fewest: self.whole("sample.fewest"),
            skip_ends: self.read("sample.skip_ends", "a whole number", |_| true),
            close_pair_every: self.read("sample.close_pair_every", "a whole number", |_| true),
            second_window_every: self
                .read("sample.second_window_every", "a whole number", |_| true),
            minutes_per_vine: self.positive("sample.minutes_per_vine"),
            walk_m_per_minute: self.positive("sample.walk_m_per_minute"),
        }
    }

    pub(super) fn compare(&mut self) -> CompareSettings {
        CompareSettings {
            short_piece: self.length("bearings.short_piece"),
            grazing: self.read(
                "bearings.grazing_angle",
                "degrees from 1 to 45",
                |angle: &Degrees| (1.0..=45.0).contains(&angle.degrees()),
            ),
        }
    }

    pub(super) fn materials(&mut self) -> MaterialSettings {
        MaterialSettings {
            spare_share: self.below_one("materials.spare_share"),
            wires: self
                .read::<Wires>("materials.wires", "a whole number, or by training", |_| true),
            wires_upward: self.at_least_one("materials.wires_upward"),
            wires_high_cordon: self.at_least_one("materials.wires_high_cordon"),
            wires_two_curtains: self.at_least_one("materials.wires_two_curtains"),
            tie: self.read("materials.tie", "a length such as \"0.5 m\"", |tie: &Metres| {
                (0.0..=20.0).contains(&tie.metres())
            }),
            drip_spare_share: self.below_one("materials.drip_spare_share"),
            prices: self.prices(),
        }
    }

    fn prices(&mut self) -> Prices {
        let currency: String = self.read("prices.currency", "a text such as EUR", |_| true);
        Prices {
            currency: Some(currency.trim().to_owned()).filter(|text| !text.is_empty()),
            vine: self.price("prices.vine"),
            end_post: self.price("prices.end_post"),
            line_post: self.price("prices.line_post"),
            anchor: self.price("prices.anchor"),
            wire_per_m: self.price("prices.wire_per_m"),
            drip_per_m: self.price("prices.drip_per_m"),
        }
    }

    /// A price, or none where the text is empty.
    fn price(&mut self, key: &str) -> Option<f64> {
        let sound = |text: &String| {
            let price = plain_number(text.trim());
            text.trim().is_empty() || price.is_some_and(|price| price >= 0.0)
        };
        let text: String = self.read(key, "a number of 0 or more, such as 4.20", sound);
        plain_number(text.trim())
    }

    fn below_one(&mut self, key: &str) -> f64 {
        self.read(key, "a share from 0 to 1, such as 0.03", |value| (0.0..=1.0).contains(value))
    }

    pub(super) fn join(&mut self) -> JoinSettings {
        JoinSettings {
            doubtful_canopy_ratio: self.positive("join.doubtful_canopy_ratio"),
            season_days: self.read("join.season_days", "a number of days from 30 to 366", |days| {
                (30..=366).contains(days)
            }),
            fewest_vigor_cells: self.positive("join.fewest_vigor_cells"),
            vigor_ground_rows: self.positive("join.vigor_ground_rows"),
            not_before: None,
            after_work: false,
        }
    }

    pub(super) fn estimate(&mut self) -> EstimateSettings {
        EstimateSettings {
            fewest_for_map: self.whole("estimate.fewest_for_map"),
            fewest_for_kriging: self.whole("estimate.fewest_for_kriging"),
            fewest_for_means: self.whole("estimate.fewest_for_means"),
            widening_of_means: self.positive("estimate.widening_of_means"),
            fewest_for_anisotropy: self.whole("estimate.fewest_for_anisotropy"),
            least_trend_gain: self.not_negative("estimate.least_trend_gain"),
            most_at_once: self.whole("estimate.most_at_once"),
            neighbours: self.whole("estimate.neighbours"),
            all_at_once: false,
            most_nugget_share: self.positive("estimate.most_nugget_share"),
            observer_share: self.not_negative("estimate.observer_share"),
            far_share_told: self.not_negative("estimate.far_share_told"),
            family: self.read::<Family>("estimate.family", "exponential or spherical", |_| true),
            pinned: None,
            shared: None,
            no_count_noise: false,
        }
    }

    pub(super) fn zones(&mut self) -> ZoneSettings {
        ZoneSettings {
            most: self.whole("zones.most"),
            smallest_share: self.positive("zones.smallest_share"),
            standard_errors: self.positive("zones.standard_errors"),
            least_held_out: self.not_negative("zones.least_held_out"),
            standard_errors_of_fall: self.not_negative("zones.standard_errors_of_fall"),
            border_cost: self.not_negative("zones.border_cost"),
            whole_rows: self.read("zones.whole_rows", "true or false", |_| true),
            targets: self.plan().targets(),
        }
    }

    pub(super) fn plan(&mut self) -> PlanSettings {
        PlanSettings {
            vinifera: self.target("plan.vinifera"),
            hybrid: self.target("plan.hybrid"),
            unsaid: self.target("plan.unsaid"),
            weak_kg_per_m: PerMetre::new(self.positive("plan.weak_below")),
            excess_kg_per_m: PerMetre::new(self.positive("plan.excess_above")),
            most_vigor_shift: self.target("plan.most_vigor_shift").low(),
            vigor_band_share: self.positive("plan.vigor_band_share"),
            margin: self.target("plan.margin").low(),
            sure: self.share("plan.sure"),
            sure_on_target: self.share("plan.sure_on_target"),
            renewal_shoots: self.not_negative("plan.renewal_shoots"),
            minutes_per_vine: self.not_negative("plan.minutes_per_vine"),
            minutes_per_shoot: self.not_negative("plan.minutes_per_shoot"),
            labour_factor: self.read("plan.labour_factor", "a number of 1 or more", |v| *v >= 1.0),
            fewest_timed: self.whole("plan.fewest_timed"),
            least_timed_factor: self.read(
                "plan.least_timed_factor",
                "a number of 1 or more",
                |v| *v >= 1.0,
            ),
            fewest_recounted: self.whole("audit.fewest_places"),
            slower_past: self.length("plan.slower_past"),
            slower_factor: self.positive("plan.slower_factor"),
            opens_at: self.length("plan.opens_at"),
            closes_at: self.length("plan.closes_at"),
            slowest_growth: self.length("plan.slowest_growth"),
            fastest_growth: self.length("plan.fastest_growth"),
            hours_per_day: self.positive("plan.hours_per_day"),
            crew: None,
            date: None,
            last_frost: None,
            frost: None,
            young_years: self.read("plan.young_years", "a whole number", |years| *years >= 0),
            draws: self.whole("plan.draws"),
            seed: 1,
        }
    }

    pub(super) fn prune(&mut self) -> PruneSettings {
        PruneSettings {
            vinifera: self.formula("prune.vinifera"),
            hybrid: self.formula("prune.hybrid"),
            native: self.formula("prune.native"),
            formula: None,
            most_nodes: self.at_least_one("prune.most_nodes"),
            fewest_nodes: self.at_least_one("prune.fewest_nodes"),
            under_a_pound: self.read("prune.under_a_pound", "first or pro-rata", |_| true),
            bud_rule: self
                .read("prune.bud_rule", "cornell, purdue, michigan or survival", |_| true),
            fewest_buds: self.at_least_one("prune.fewest_buds"),
            nodes_per_spur: self.at_least_one("prune.nodes_per_spur"),
        }
    }

    fn formula(&mut self, key: &str) -> KindFormula {
        let MaybeFormula(formula) = self.read(key, "a formula such as \"30+10\"", |_| true);
        KindFormula { formula, source: self.settings.source(key) }
    }

    fn length(&mut self, key: &str) -> Metres {
        self.read(key, "a length such as \"9 m\"", |length: &Metres| length.metres() > 0.0)
    }

    fn target(&mut self, key: &str) -> TargetRange {
        self.read(key, "shoots per length such as \"3-5 per ft\"", |_| true)
    }

    fn positive(&mut self, key: &str) -> f64 {
        self.read(key, "a number above 0", |value| *value > 0.0 && f64::is_finite(*value))
    }

    fn not_negative(&mut self, key: &str) -> f64 {
        self.read(key, "a number of 0 or more", |value| *value >= 0.0 && f64::is_finite(*value))
    }

    fn share(&mut self, key: &str) -> f64 {
        self.read(key, "a number between 0.5 and 1", |value| (0.5..1.0).contains(value))
    }

    fn whole(&mut self, key: &str) -> usize {
        self.read(key, "a whole number above 0", |value| *value > 0)
    }

    fn at_least_one(&mut self, key: &str) -> u32 {
        self.read(key, "a whole number above 0", |value| *value > 0)
    }

    /// The value of `key`, or its default (with a fault noted) when it does not fit.
    fn read<T: FromStr>(&mut self, key: &str, form: &str, fits: impl Fn(&T) -> bool) -> T {
        let given = self.settings.values.iter().find(|(known, _)| *known == key);
        let (_, text) = given.map_or((key, ""), |(key, text)| (*key, text.as_str()));
        if let Some(value) = text.parse::<T>().ok().filter(&fits) {
            return value;
        }
        let place = Place { file: self.settings.file.clone(), ..Place::field(key) };
        self.findings.push(
            Finding::fault(place, format!("`{text}` does not fit")).mend(format!("write {form}")),
        );
        default_of(key)
    }
}

#[expect(clippy::panic, reason = "a test takes every default through this door")]
fn default_of<T: FromStr>(key: &str) -> T {
    TABLE
        .iter()
        .find(|setting| setting.key == key)
        .and_then(|setting| unquoted(setting.value).parse().ok())
        .unwrap_or_else(|| panic!("no sound default for {key}"))
}
