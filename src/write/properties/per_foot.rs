//! Columns per foot beside those per metre, for people who read feet.

use crate::{
    units::PerMetre,
    write::{Table, Value},
};

/// Decimals of a density per foot.
const DECIMALS: u8 = 5;

/// The same table, every column `…_per_m…` followed by its `…_per_ft…`.
pub(super) fn with_per_foot(table: &Table) -> Table {
    let both = |row: &[Value], other: &dyn Fn(&Value) -> Value| {
        let cells = table.heads.iter().zip(row);
        cells
            .flat_map(|(head, cell)| {
                let foot = per_foot_head(head).map(|_| other(cell));
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
        rows: table.rows.iter().map(|row| both(row, &per_foot)).collect(),
    }
}

fn per_foot_head(head: &str) -> Option<String> {
    let at = head.find("_per_m")?;
    let rest = &head[at + "_per_m".len()..];
    let whole_word = rest.is_empty() || rest.starts_with('_');
    whole_word.then(|| format!("{}_per_ft{rest}", &head[..at]))
}

fn per_foot(value: &Value) -> Value {
    let per_foot = |per_m: f64| Value::number(PerMetre::new(per_m).per_foot(), DECIMALS);
    value.as_number().map_or(Value::Null, per_foot)
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
}
