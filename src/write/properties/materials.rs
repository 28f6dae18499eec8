//! `materials.csv`: what a planting takes, and what it costs where prices were given.

use serde::Serialize;

use crate::{
    layout::{Amount, Material, Materials},
    names::number_of,
    units::ReadingUnits,
    write::{Column, Kind, Table, Value, layers::rounded},
};

/// The columns of the file.
pub(super) const COLUMNS: &[Column] = &[
    Column::new("item", Kind::Text, "", "what it is, such as `vines, Rondo`"),
    Column::new("quantity", Kind::Integer, "see unit", "how much; lengths are rounded up"),
    Column::new("unit", Kind::Text, "", "pieces, or m for metres"),
    Column::new("note", Kind::Text, "", "how it was reckoned"),
    Column::new("unit_price", Kind::Number(4), "currency", "price of one, or of a metre, as given"),
    Column::new("cost", Kind::Number(2), "currency", "quantity times price; empty without one"),
    Column::new("currency", Kind::Text, "", "currency of the prices, as given"),
];

/// A line as files have it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct MaterialLine {
    pub(super) item: String,
    pub(super) quantity: Option<usize>,
    pub(super) unit: &'static str,
    pub(super) note: String,
    pub(super) unit_price: Option<f64>,
    pub(super) cost: Option<f64>,
    pub(super) currency: Option<String>,
}

/// The lines, and their sum where prices were given.
pub(super) fn lines(materials: &Materials) -> Vec<MaterialLine> {
    let mut lines: Vec<MaterialLine> =
        materials.lines.iter().map(|line| written(line, materials)).collect();
    let priced: Vec<f64> = lines.iter().filter_map(|line| line.cost).collect();
    if !priced.is_empty() {
        lines.push(MaterialLine {
            item: "total".to_owned(),
            quantity: None,
            unit: "",
            note: format!("of {} with a price", number_of(priced.len(), "item")),
            unit_price: None,
            cost: Some(rounded(priced.iter().sum(), 2)),
            currency: materials.currency.clone(),
        });
    }
    lines
}

fn written(line: &Material, materials: &Materials) -> MaterialLine {
    let (quantity, unit) = match line.amount {
        Amount::Pieces(pieces) => (pieces, "pieces"),
        Amount::WholeMetres(metres) => (metres, "m"),
    };
    let cost = line.cost().map(|cost| rounded(cost, 2));
    MaterialLine {
        item: line.item.clone(),
        quantity: Some(quantity),
        unit,
        note: line.note.clone(),
        unit_price: line.unit_price,
        cost,
        currency: cost.and(materials.currency.clone()),
    }
}

/// The list as a table; under US units lengths stand in feet beside the metres.
pub fn materials_table(materials: &Materials, units: ReadingUnits) -> Table {
    let us = units == ReadingUnits::Us;
    let mut heads: Vec<String> = COLUMNS.iter().map(|column| column.name.to_owned()).collect();
    if us {
        heads.insert(3, "quantity_ft".to_owned());
    }
    let rows = lines(materials).into_iter().map(|line| {
        let metres = line.quantity.filter(|_| line.unit == "m");
        let feet = metres.and_then(|metres| Amount::WholeMetres(metres).whole_feet());
        let mut row = vec![line.item.into(), line.quantity.into(), line.unit.into()];
        if us {
            row.push(feet.into());
        }
        row.extend::<[Value; 4]>([
            line.note.into(),
            line.unit_price.into(),
            line.cost.into(),
            line.currency.into(),
        ]);
        row
    });
    Table { name: "materials", rows: rows.collect(), heads }
}
