//! Columns per foot beside those per metre, for people who read feet.

use crate::{
    units::{Kilograms, PerMetre, ReadingUnits},
    write::{Table, Value},
};

/// Decimals of a density per foot.
const DECIMALS: u8 = 5;

/// The table as people read it: with columns per foot where they read feet.
pub(super) fn in_units(table: Table, units: ReadingUnits) -> Table {
    match units {
        ReadingUnits::Metric => table,
        ReadingUnits::Us => with_per_foot(&table),
    }
}

/// The same table, every column `…_per_m…` followed by its `…_per_ft…`, every `…_kg` by its `…_lb`.
fn with_per_foot(table: &Table) -> Table {
    let both = |row: &[Value]| {
        let cells = table.heads.iter().zip(row);
        cells
            .flat_map(|(head, cell)| {
                let foot = per_foot_head(head).map(|_| per_foot(head, cell));
                std::iter::once(cell.clone()).chain(foot)
            })
            .collect()
    };
    let heads = table
        .heads
        .iter()
        .flat_map(|head| std::iter::once(head.clone()).chain(per_foot_head(head)));
    Table {
        name: table.name,
        heads: heads.collect(),
        rows: table.rows.iter().map(|row| both(row)).collect(),
    }
}

/// The head of the same quantity per foot, kilograms as pounds; `None` for what is not per metre and
/// no weight.
fn per_foot_head(head: &str) -> Option<String> {
    let Some(at) = head.find("_per_m") else {
        return head.strip_suffix("_kg").map(|weight| format!("{weight}_lb"));
    };
    let (what, rest) = (&head[..at], &head[at + "_per_m".len()..]);
    let whole_word = rest.is_empty() || rest.starts_with('_');
    let what = what.strip_suffix("_kg").map_or_else(|| what.to_owned(), |w| format!("{w}_lb"));
    whole_word.then(|| format!("{what}_per_ft{rest}"))
}

/// The value under such a head.
fn per_foot(head: &str, value: &Value) -> Value {
    let weight = head.ends_with("_kg") || head.contains("_kg_per_m");
    let turned = |value: f64| {
        let value = if weight { Kilograms::new(value).pounds() } else { value };
        let value = if head.contains("_per_m") { PerMetre::new(value).per_foot() } else { value };
        Value::number(value, DECIMALS)
    };
    value.as_number().map_or(Value::Null, turned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_density_is_there_per_foot_too() {
        let heads = ["zone", "shoots_per_m_lo90", "target_per_m", "minutes_per_machine"];
        let table = Table {
            name: "zones",
            heads: heads.map(str::to_owned).into(),
            rows: vec![vec!["Z1".into(), 10.0.into(), Value::Null, 2.0.into()]],
        };
        let both = with_per_foot(&table);
        let expected = [
            "zone",
            "shoots_per_m_lo90",
            "shoots_per_ft_lo90",
            "target_per_m",
            "target_per_ft",
            "minutes_per_machine",
        ];
        assert_eq!(both.heads, expected);
        // 10 shoots a metre are 3.048 a foot of 0.3048 m.
        assert_eq!(both.rows[0][2], Value::Number(3.048));
        assert_eq!(both.rows[0][4], Value::Null);
        assert_eq!(both.rows[0].len(), expected.len());
    }

    #[test]
    fn weights_are_there_in_pounds_too() {
        let heads = ["pruning_weight_kg", "pruning_kg_per_m_lo90"];
        let table = Table {
            name: "pruning",
            heads: heads.map(str::to_owned).into(),
            // Half a kilogram a metre is 0.336 lb/ft: 0.3048 m, 0.453 592 37 kg.
            rows: vec![vec![0.453_592_37.into(), 0.5.into()]],
        };
        let both = with_per_foot(&table);
        assert_eq!(both.heads[1], "pruning_weight_lb");
        assert_eq!(both.heads[3], "pruning_lb_per_ft_lo90");
        assert_eq!(both.rows[0][1], Value::Number(1.0));
        assert_eq!(both.rows[0][3], Value::Number(0.335_98));
    }
}
