//! What to keep in winter, for people.

use std::fmt::Write as _;

use catchwire::{
    names::{named_rows, number_of},
    units::{Kilograms, METRES_PER_FOOT, Metres, PerMetre},
    write::properties::{
        BudSummary, ClassSummary, LimitsSummary, LoadSummary, PlantingSummary, PruningSummary,
    },
};

/// Units that people read.
#[derive(Debug, Clone, Copy)]
struct Reads {
    us: bool,
}

impl Reads {
    const fn weight_unit(self) -> &'static str {
        if self.us { "lb/ft" } else { "kg/m" }
    }

    const fn length_unit(self) -> &'static str {
        if self.us { "ft" } else { "m" }
    }

    /// Kilograms per metre.
    fn weight(self, kg_per_m: f64) -> f64 {
        if self.us { Kilograms::new(kg_per_m * METRES_PER_FOOT).pounds() } else { kg_per_m }
    }

    /// Things per metre.
    fn density(self, per_m: f64) -> f64 {
        if self.us { PerMetre::new(per_m).per_foot() } else { per_m }
    }

    fn length(self, metres: f64) -> f64 {
        if self.us { Metres::new(metres).feet() } else { metres }
    }
}

/// Appends what to keep.
pub(crate) fn pruning_text(text: &mut String, pruning: &PruningSummary, us: bool) {
    let reads = Reads { us };
    let [joined, unjoined] = pruning.records;
    let _ = writeln!(
        text,
        "  {} joined, {unjoined} not; {} weighed alone or by whole panels",
        number_of(joined, "record"),
        number_of(pruning.weighed, "place")
    );
    if let Some(method) = &pruning.method {
        let _ = writeln!(text, "  map: {method}");
    }
    let limits = [pruning.weak_kg_per_m, pruning.excess_kg_per_m].map(|kg| reads.weight(kg));
    let _ = writeln!(
        text,
        "  vine size: weak to {:.2} {unit}, in excess above {:.2} ({})",
        limits[0],
        limits[1],
        pruning.limits_source,
        unit = reads.weight_unit()
    );
    for planting in &pruning.plantings {
        planting_text(text, planting, reads);
        let own = pruning.classes.iter().filter(|class| class.planting == planting.planting);
        for class in own {
            class_text(text, (class, planting), reads);
        }
    }
    if let Some(buds) = pruning.buds.as_ref().filter(|_| pruning.plantings.len() > 1) {
        let _ = writeln!(text, "  whole block: {}", buds_words(buds));
    }
    for caution in &pruning.cautions {
        let _ = writeln!(text, "  mind: {caution}");
    }
}

fn buds_words(buds: &BudSummary) -> String {
    let [share, low, high] = buds.dead_share.map(|share| 100.0 * share);
    let (dead, all) = (buds.dead, buds.buds);
    format!("{dead} of {all} buds dead: {share:.0} % ({low:.0} to {high:.0})")
}

fn planting_text(text: &mut String, planting: &PlantingSummary, reads: Reads) {
    let name = planting.cultivar.as_deref().unwrap_or("no cultivar named");
    let _ = writeln!(
        text,
        "  {name}: {}, {} of them weighed",
        number_of(planting.vines, "grown vine"),
        planting.weighed_vines
    );
    if let (Some(formula), Some([fewest, most])) = (&planting.formula, planting.nodes_within) {
        let source = &planting.formula_source;
        let _ = writeln!(text, "    nodes by {formula}, {fewest} to {most} a vine ({source})");
    } else {
        let _ = writeln!(text, "    no formula, so no nodes: {}", planting.formula_source);
    }
    if let Some(buds) = &planting.buds {
        rules_text(text, planting, buds);
    }
    if let Some(load) = &planting.crop_load {
        load_text(text, load);
    }
    if planting.weighed_vines > 0 {
        for limits in &planting.other_limits {
            limits_text(text, limits, reads);
        }
    }
}

fn rules_text(text: &mut String, planting: &PlantingSummary, buds: &BudSummary) {
    let _ = writeln!(text, "    {}", buds_words(buds));
    for rule in &planting.rules {
        let says = rule.says.as_deref().unwrap_or("nothing");
        let used = if rule.used { "used: " } else { "      " };
        let _ = writeln!(text, "    {used}{:<8} {says} ({})", rule.rule, rule.source);
    }
    if let Some([low, high]) = planting.rule_says90.as_ref().filter(|[low, high]| low != high) {
        let _ = writeln!(
            text,
            "    so few buds leave {} between `{low}` and `{high}`",
            planting.bud_rule
        );
    }
}

fn load_text(text: &mut String, load: &LoadSummary) {
    let known = number_of(load.number, "place");
    let limits = load.bands.iter().flat_map(|band| band.within);
    let shown = beside_limits(load.load, limits);
    let _ = writeln!(text, "    crop load {shown} times the prunings, from {known}:");
    for band in &load.bands {
        let [low, high] = band.within;
        let _ = writeln!(text, "      {} by {low:.0} to {high:.0} ({})", band.says, band.source);
    }
}

/// A number with one decimal, or with as many as show on which side of every limit it lies.
fn beside_limits(value: f64, limits: impl Iterator<Item = f64>) -> String {
    const ALIKE: f64 = 1e-9;
    let limits: Vec<f64> = limits.filter(|limit| (limit - value).abs() > ALIKE).collect();
    let apart = |shown: &String| {
        let shown = shown.parse::<f64>().unwrap_or(value);
        limits.iter().all(|limit| (limit - shown).abs() > ALIKE)
    };
    let told = (1..6).map(|decimals| format!("{value:.decimals$}")).find(apart);
    told.unwrap_or_else(|| format!("{value:.6}"))
}

fn limits_text(text: &mut String, limits: &LimitsSummary, reads: Reads) {
    let [low, high] = limits.kg_per_m.map(|kg| reads.weight(kg));
    let [below, within, above] = limits.weighed_vines;
    let (unit, source) = (reads.weight_unit(), limits.source);
    let _ = writeln!(
        text,
        "    by {low:.2} to {high:.2} {unit}: {below} weighed below, {within} within, {above} above \
         ({source})"
    );
}

fn class_text(
    text: &mut String,
    (class, planting): (&ClassSummary, &PlantingSummary),
    reads: Reads,
) {
    let interval = class.pruning_kg_per_m90.map_or_else(String::new, |ends| {
        let [low, high] = ends.map(|kg| reads.weight(kg));
        format!(" ({low:.2} to {high:.2})")
    });
    let _ = writeln!(
        text,
        "    {:<8}  {} in {}: {:.2} {}{interval}, {:.1} {} of canopy a vine",
        class.vine_size,
        number_of(class.vines, "vine"),
        named_rows(&class.rows),
        reads.weight(class.pruning_kg_per_m),
        reads.weight_unit(),
        reads.length(class.canopy_per_vine_m),
        reads.length_unit(),
    );
    if let Some(by_formula) = class.nodes_by_formula {
        let _ = writeln!(text, "      {}", nodes_words((class, planting), by_formula));
    }
    if let Some(words) = spur_words(class, reads) {
        let _ = writeln!(text, "      {words}");
    }
    for advice in &class.advice {
        let _ = writeln!(text, "      {advice}");
    }
}

fn nodes_words((class, planting): (&ClassSummary, &PlantingSummary), by_formula: usize) -> String {
    let rule = planting.bud_rule;
    let Some(nodes) = class.nodes else {
        return format!("{by_formula} nodes by the formula; {rule}: prune minimally, no number");
    };
    let interval = class
        .nodes90
        .filter(|[low, high]| low != high)
        .map_or_else(String::new, |[low, high]| format!(" ({low} to {high})"));
    let cap = class.nodes_beyond_cap.map_or_else(String::new, |beyond| {
        format!("; the cap holds, the rule alone would keep {beyond}")
    });
    let others = class.nodes_by_rule.filter(|_| planting.buds.is_some());
    let others = others.map_or_else(String::new, |by_rule| {
        let told = planting.rules.iter().zip(by_rule).filter(|(own, _)| !own.used);
        let told = told.map(|(own, nodes)| {
            let nodes = nodes.map_or_else(|| "no number".to_owned(), |nodes| nodes.to_string());
            format!("{} {nodes}", own.rule)
        });
        format!("; without the cap others would: {}", told.collect::<Vec<_>>().join(", "))
    });
    format!(
        "keep {nodes} nodes{interval} a vine: {by_formula} by the formula, then {rule}{cap}{others}"
    )
}

fn spur_words(class: &ClassSummary, reads: Reads) -> Option<String> {
    let (leave, spurs) = (class.leave?, class.spurs?);
    let unit = reads.length_unit();
    let shoots = reads.density(class.shoots_per_m?);
    let target = class.target_per_m.map_or_else(String::new, |ends| {
        let [low, high] = ends.map(|end| reads.density(end));
        let aim = class.nodes_for_aim.unwrap_or(leave);
        format!(" against a target of {low:.1} to {high:.1} (its aim takes {aim} nodes)")
    });
    let density = reads.density(class.spurs_per_m?);
    Some(format!(
        "they bring {shoots:.1} shoots/{unit}{target}: leave {leave} nodes on {}, {density:.1} a \
         {unit}",
        number_of(spurs, "spur")
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_never_rounded_onto_a_limit() {
        let shown = |value| beside_limits(value, [4.0, 10.0].into_iter());
        assert_eq!(shown(7.249), "7.2");
        assert_eq!(shown(10.04), "10.04");
        assert_eq!(shown(9.997), "9.997");
        assert_eq!(shown(3.96), "3.96");
        assert_eq!(shown(10.000_3), "10.0003");
        assert_eq!(shown(10.0), "10.0");
    }
}
