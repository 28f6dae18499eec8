//! A property declared once: what it is called, holds and means, and where its value comes from.

use std::fmt;

use crate::write::{Column, Feature, Kind, Layer, Shape, Table, Value};

/// Where the value of a property comes from.
type Source<'a, T> = Box<dyn Fn(&T) -> Value + 'a>;

/// The properties of a kind of thing, in the order in which they are written.
pub(super) struct Properties<'a, T> {
    columns: Vec<Column>,
    sources: Vec<Source<'a, T>>,
}

impl<'a, T: 'a> Properties<'a, T> {
    /// No property yet.
    pub(super) const fn new() -> Self {
        Self { columns: Vec::new(), sources: Vec::new() }
    }

    /// Declares the next property; its value follows with [`Properties::is`].
    #[must_use]
    pub(super) fn column(
        mut self,
        name: &'static str,
        kind: Kind,
        unit: &'static str,
        meaning: &'static str,
    ) -> Self {
        self.columns.push(Column::new(name, kind, unit, meaning));
        self
    }

    /// The value of the property just declared.
    #[must_use]
    pub(super) fn is<V: Into<Value>>(mut self, value: impl Fn(&T) -> V + 'a) -> Self {
        self.sources.push(Box::new(move |thing| value(thing).into()));
        self
    }

    /// Both ends of the 90 % interval of the property just declared, in its unit.
    #[must_use]
    pub(super) fn ends90(
        self,
        [low, high]: [&'static str; 2],
        ends: impl Fn(&T) -> Option<[f64; 2]> + Copy + 'a,
    ) -> Self {
        let Some(Column { kind, unit, .. }) = self.columns.last().copied() else { return self };
        self.column(low, kind, unit, "lower end of its 90 % interval")
            .is(move |thing| ends(thing).map(|ends| ends[0]))
            .column(high, kind, unit, "upper end of its 90 % interval")
            .is(move |thing| ends(thing).map(|ends| ends[1]))
    }

    /// The same properties of things that hold such a thing.
    pub(super) fn of<U: 'a>(self, held: impl Fn(&U) -> &T + Copy + 'a) -> Properties<'a, U> {
        let within =
            |source: Source<'a, T>| -> Source<'a, U> { Box::new(move |thing| source(held(thing))) };
        Properties {
            columns: self.columns,
            sources: self.sources.into_iter().map(within).collect(),
        }
    }

    /// The columns.
    pub(super) fn columns(&self) -> &[Column] {
        &self.columns
    }

    /// The values of one thing, numbers rounded as their columns say.
    pub(super) fn values(&self, thing: &T) -> Vec<Value> {
        let pairs = self.columns.iter().zip(&self.sources);
        pairs
            .map(|(column, source)| match (column.kind, source(thing)) {
                (Kind::Number(decimals), value) => value.rounded(decimals),
                (Kind::Text | Kind::Integer | Kind::Flag | Kind::Structure, value) => value,
            })
            .collect()
    }

    /// A table of lines of values.
    pub(super) fn table(&self, name: &'static str, rows: Vec<Vec<Value>>) -> Table {
        Table {
            name,
            heads: self.columns.iter().map(|column| column.name.to_owned()).collect(),
            rows,
        }
    }

    /// A layer of things with their shapes.
    pub(super) fn layer(
        &self,
        name: &'static str,
        decimals: u8,
        things: impl Iterator<Item = (Shape, T)>,
    ) -> Layer {
        let feature = |(shape, thing)| Feature { shape, values: self.values(&thing) };
        Layer {
            name,
            columns: self.columns.clone(),
            features: things.map(feature).collect(),
            decimals,
            without_nulls: false,
        }
    }
}

impl<T> fmt::Debug for Properties<'_, T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(self.columns.iter().map(|column| column.name)).finish()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_rounded_as_their_columns_say() {
        let properties = Properties::<'_, f64>::new()
            .column("length_m", Kind::Number(3), "metres", "a length")
            .is(|length| *length)
            .ends90(["length_m_lo90", "length_m_hi90"], |length| {
                Some([*length - 1.0, *length + 1.0])
            })
            .column("long", Kind::Flag, "", "longer than a metre")
            .is(|length| *length > 1.0);
        let twice = properties.of(|pair: &(f64, u8)| &pair.0);
        let ends = [1.235, 0.235, 2.235].map(Value::Number);
        assert_eq!(twice.values(&(1.234_56, 0)), [&ends[..], &[Value::Flag(true)]].concat());
        assert_eq!(twice.columns()[2].unit, "metres");
        assert_eq!(twice.values(&(f64::NAN, 0))[0], Value::Null);
    }
}
