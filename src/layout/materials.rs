//! What a planting takes: vines, posts, anchors, wire and drip line, each with how it was reckoned.
//!
//! Numbers and lengths only. How thick a post, how deep, which anchor and which wire is for the
//! supplier or an engineer; a price stands only where the grower gave one.

use super::{Layout, Piece, PostKind};
use crate::{
    maths::float,
    settings::{MaterialSettings, Planting, PlantingRules, RowRules, Wires},
    units::Metres,
};

/// What is said beside every list of materials.
pub const MATERIALS_CAUTION: &str = "Quantities only: sizes and depths of posts, anchors and wire \
     are for the supplier or an engineer. Have buried and overhead lines located before any post \
     or anchor is set.";

/// What a planting takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Materials {
    /// One line an item, in the order in which they are used.
    pub lines: Vec<Material>,
    /// The currency of the prices, as the grower wrote it.
    pub currency: Option<String>,
}

/// A line of the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// What it is, such as `vines, Rondo`.
    pub item: String,
    /// How much of it.
    pub amount: Amount,
    /// How that was reckoned.
    pub note: String,
    /// The price of one, or of a metre, where the grower gave it.
    pub unit_price: Option<f64>,
}

/// How much of something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// So many.
    Pieces(usize),
    /// So many metres, rounded up.
    WholeMetres(usize),
}

impl Material {
    /// What it costs, where the grower gave its price.
    pub fn cost(&self) -> Option<f64> {
        let (Amount::Pieces(number) | Amount::WholeMetres(number)) = self.amount;
        self.unit_price.map(|price| float(number) * price)
    }
}

impl Amount {
    /// The feet to order, rounded up so that they hold the metres; `None` for pieces.
    pub fn whole_feet(self) -> Option<usize> {
        match self {
            Self::Pieces(_) => None,
            Self::WholeMetres(metres) => Some(rounded_up(Metres::new(float(metres)).feet())),
        }
    }
}

/// What a planting takes.
pub fn materials(
    layout: &Layout,
    rules: &RowRules,
    plantings: &PlantingRules,
    settings: &MaterialSettings,
) -> Materials {
    let prices = &settings.prices;
    let mut lines = vines(layout, plantings, settings);
    for (item, kind, price) in [
        ("end posts", PostKind::End, prices.end_post),
        ("line posts", PostKind::Line, prices.line_post),
        ("anchors", PostKind::Anchor, prices.anchor),
    ] {
        lines.push(Material {
            item: item.to_owned(),
            amount: Amount::Pieces(layout.posts.iter().filter(|post| post.kind == kind).count()),
            note: post_note(kind, rules),
            unit_price: price,
        });
    }
    lines.extend(wire(layout, rules, plantings, settings));
    lines.push(drip(layout, settings));
    Materials { lines, currency: prices.currency.clone() }
}

/// Metres of one wire from anchor to anchor, all pieces of row; along the ground where its heights
/// are known.
///
/// # Units
/// Metres.
pub fn wire_m(layout: &Layout, rules: &RowRules) -> f64 {
    let gaps = 2.0 * rules.anchor_gap.metres();
    layout.pieces.iter().map(|piece| piece.ground_length_m() + gaps).sum()
}

/// Vines by cultivar, in the order of the rows, each with its spares.
fn vines(layout: &Layout, plantings: &PlantingRules, settings: &MaterialSettings) -> Vec<Material> {
    let mut by_cultivar: Vec<(Option<&str>, usize)> = Vec::new();
    for piece in &layout.pieces {
        let cultivar = plantings.all().get(plantings.of_row(piece.row));
        let cultivar = cultivar.and_then(|planting| planting.cultivar.as_deref());
        match by_cultivar.iter_mut().find(|(known, _)| *known == cultivar) {
            Some((_, places)) => *places += piece.vines.len(),
            None => by_cultivar.push((cultivar, piece.vines.len())),
        }
    }
    let line = |(cultivar, places): (Option<&str>, usize)| {
        let spares = rounded_up(float(places) * settings.spare_share);
        let percent = percent(settings.spare_share);
        Material {
            item: cultivar.map_or_else(|| "vines".to_owned(), |name| format!("vines, {name}")),
            amount: Amount::Pieces(places + spares),
            note: format!("{places} places and {spares} spare ({percent} %)"),
            unit_price: settings.prices.vine,
        }
    };
    by_cultivar.into_iter().map(line).collect()
}

fn post_note(kind: PostKind, rules: &RowRules) -> String {
    match kind {
        PostKind::End => "two for every piece of row".to_owned(),
        PostKind::Line => "one between two panels".to_owned(),
        PostKind::Anchor if rules.anchor_gap.metres() > 0.0 => "one for every end post".to_owned(),
        PostKind::Anchor => "none: the block gives no anchor_gap".to_owned(),
    }
}

/// A line for every number of wires that some planting takes.
fn wire(
    layout: &Layout,
    rules: &RowRules,
    plantings: &PlantingRules,
    settings: &MaterialSettings,
) -> Vec<Material> {
    let mut by_wires: Vec<(u32, &'static str, f64, usize)> = Vec::new();
    let gaps = 2.0 * rules.anchor_gap.metres();
    for piece in &layout.pieces {
        let planting = plantings.all().get(plantings.of_row(piece.row));
        let (wires, why) = wires_of(planting, settings);
        let length = piece.ground_length_m() + gaps;
        match by_wires.iter_mut().find(|known| (known.0, known.1) == (wires, why)) {
            Some((_, _, sum, pieces)) => (*sum, *pieces) = (*sum + length, *pieces + 1),
            None => by_wires.push((wires, why, length, 1)),
        }
    }
    let several = by_wires.len() > 1;
    let ends = if gaps > 0.0 { "anchor to anchor" } else { "end post to end post" };
    let line = |(wires, why, one_wire_m, pieces): (u32, &str, f64, usize)| {
        let ties_m = 2.0 * settings.tie.metres() * float(pieces);
        let item = if several { format!("wire, {wires} a row") } else { "wire".to_owned() };
        Material {
            item,
            amount: whole_metres(f64::from(wires) * (one_wire_m + ties_m)),
            note: format!(
                "{wires} wires ({why}) of {one_wire_m:.0} m from {ends}, and {} m of tying at both \
                 ends of {pieces} pieces of row",
                settings.tie.metres()
            ),
            unit_price: settings.prices.wire_per_m,
        }
    };
    by_wires.into_iter().map(line).collect()
}

/// How many wires a planting takes, and why.
///
/// # Source
/// High cordon and Kniffin 1–3, vertical shoot positioning 5–7, two curtains 3–4: Domoto, Iowa State
/// University (2002), Constructing a Vineyard Trellis. A cordon alone does not tell: vines trained
/// upward have cordons too.
fn wires_of(planting: Option<&Planting>, settings: &MaterialSettings) -> (u32, &'static str) {
    if let Wires::Number(wires) = settings.wires {
        return (wires, "materials.wires");
    }
    let training = planting.and_then(|planting| planting.training.as_deref()).unwrap_or_default();
    let training = training.to_lowercase().replace('-', " ");
    let says = |words: &[&str]| words.iter().any(|word| training.contains(word));
    if says(&["vsp", "vertical shoot"]) {
        (settings.wires_upward, "shoots trained upward")
    } else if planting.is_some_and(|planting| planting.curtains > 1) {
        (settings.wires_two_curtains, "two curtains")
    } else if says(&["high cordon", "high wire", "top wire", "kniffin"]) {
        (settings.wires_high_cordon, "high cordon")
    } else {
        (settings.wires_upward, "training unsaid, so as for shoots trained upward")
    }
}

fn drip(layout: &Layout, settings: &MaterialSettings) -> Material {
    let rows_m: f64 = layout.pieces.iter().map(Piece::ground_length_m).sum();
    let percent = percent(settings.drip_spare_share);
    Material {
        item: "drip line".to_owned(),
        amount: whole_metres(rows_m * (1.0 + settings.drip_spare_share)),
        note: format!(
            "one line along {rows_m:.0} m of row and {percent} % for joints and ends; mains, valves \
             and filters are for whoever designs the watering"
        ),
        unit_price: settings.prices.drip_per_m,
    }
}

/// A length to order.
fn whole_metres(metres: f64) -> Amount {
    Amount::WholeMetres(rounded_up(metres))
}

/// The next whole number; what is over by less than a millionth comes from rounding before.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "numbers and metres of one block, not below 0"
)]
fn rounded_up(quantity: f64) -> usize {
    (quantity - 1e-6).ceil().max(0.0) as usize
}

/// A share in percent, to two decimals.
fn percent(share: f64) -> f64 {
    (share * 10_000.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::Settings;

    #[track_caller]
    fn check(training: Option<&str>, curtains: u32, expected: u32) {
        let planting = Planting {
            cultivar: None,
            vine_type: None,
            training: training.map(str::to_owned),
            curtains,
            planted: None,
            target: None,
        };
        let settings = Settings::default().materials();
        assert_eq!(wires_of(Some(&planting), &settings).0, expected, "{training:?}");
        let pinned = MaterialSettings { wires: Wires::Number(3), ..settings };
        assert_eq!(wires_of(Some(&planting), &pinned).0, 3);
    }

    #[test]
    fn wires_follow_the_training_where_it_tells() {
        check(Some("High cordon, one arm"), 1, 2);
        check(Some("high-wire"), 1, 2);
        check(Some("VSP on a cordon"), 1, 6);
        check(Some("bilateral cordon"), 1, 6);
        check(Some("four-cane Kniffin"), 1, 2);
        check(Some("cane"), 2, 4);
        check(None, 1, 6);
    }

    #[test]
    fn what_is_ordered_is_rounded_up_but_not_by_rounding_noise() {
        assert_eq!(rounded_up(100.0 * 0.03), 3);
        assert_eq!(rounded_up(99.0 * 0.03), 3);
        assert_eq!(rounded_up(101.0 * 0.03), 4);
        assert_eq!(rounded_up(0.0), 0);
    }

    #[test]
    fn feet_of_an_order_hold_its_metres() {
        // 3048 m are 10 000 ft exactly; 100 m are 328.08 ft, 101 m 331.36 ft.
        let feet = [3048, 100, 101].map(|metres| Amount::WholeMetres(metres).whole_feet());
        assert_eq!(feet, [Some(10_000), Some(329), Some(332)]);
        assert_eq!(Amount::Pieces(7).whole_feet(), None);
    }

    #[test]
    fn shares_are_told_in_percent_without_rounding_noise() {
        assert_eq!(percent(0.07).to_string(), "7");
        assert_eq!(percent(0.035).to_string(), "3.5");
    }
}
