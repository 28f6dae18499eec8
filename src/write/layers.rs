//! What every format is made from: features with typed columns, and tables without a place.

use std::sync::Arc;

use crate::geodesy::LonLat;

/// Named features that share their columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// The name, such as `vines`; a file is called after it.
    pub name: &'static str,
    /// The columns, in the order in which they are written.
    pub columns: Vec<Column>,
    /// The features, each with one value a column.
    pub features: Vec<Feature>,
    /// Decimals of a degree that are kept of every coordinate.
    pub decimals: u8,
    /// Leaves empty values out instead of writing them as null: for files that are read back, where
    /// a key that is not there means its default.
    pub without_nulls: bool,
}

/// One thing at one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Feature {
    /// Where it is.
    pub shape: Shape,
    /// Its values, in the order of the layer's columns.
    pub values: Vec<Value>,
}

/// Where a feature is, in degrees of longitude and latitude.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A place.
    Point(LonLat),
    /// A line of two or more places.
    Line(Vec<LonLat>),
    /// Ground, in one or more parts.
    Areas(Vec<Area>),
}

/// One part of some ground; its rings may run either way round and need not be closed.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    /// Its border.
    pub outer: Vec<LonLat>,
    /// The borders of its holes.
    pub holes: Vec<Vec<LonLat>>,
}

/// A column: what it is called, holds, is measured in and means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// The name, with the unit as its end where it has one.
    pub name: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// The unit in words; empty for texts and yes or no.
    pub unit: &'static str,
    /// What it means, in one sentence without a full stop.
    pub meaning: &'static str,
}

impl Column {
    /// A column of this name, kind, unit and meaning.
    pub const fn new(
        name: &'static str,
        kind: Kind,
        unit: &'static str,
        meaning: &'static str,
    ) -> Self {
        Self { name, kind, unit, meaning }
    }
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Text.
    Text,
    /// A whole number.
    Integer,
    /// A number, rounded to so many decimals.
    Number(u8),
    /// Yes or no.
    Flag,
    /// A structure, in files that are read back.
    Structure,
}

/// A value of a column.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Value {
    /// Nothing is known or nothing applies.
    #[default]
    Null,
    /// Text.
    Text(Arc<str>),
    /// A whole number.
    Integer(i64),
    /// A finite number; made by [`Value::number`], which rounds it.
    Number(f64),
    /// Yes or no.
    Flag(bool),
    /// A structure.
    Structure(serde_json::Value),
}

impl Value {
    /// A number rounded to so many decimals; null when it is not finite.
    pub fn number(value: f64, decimals: u8) -> Self {
        let rounded = rounded(value, decimals);
        if rounded.is_finite() { Self::Number(rounded) } else { Self::Null }
    }

    /// The same value with a number rounded to so many decimals.
    #[must_use]
    pub fn rounded(self, decimals: u8) -> Self {
        match self {
            Self::Number(value) => Self::number(value, decimals),
            Self::Null | Self::Text(_) | Self::Integer(_) | Self::Flag(_) | Self::Structure(_) => {
                self
            }
        }
    }

    /// The number it holds, whole or not.
    pub fn as_number(&self) -> Option<f64> {
        match self {
            Self::Number(value) => Some(*value),
            #[expect(clippy::cast_precision_loss, reason = "counts stay far below 2⁵³")]
            Self::Integer(value) => Some(*value as f64),
            Self::Null | Self::Text(_) | Self::Flag(_) | Self::Structure(_) => None,
        }
    }
}

/// A number rounded to so many decimals, half away from zero; never −0.
pub fn rounded(value: f64, decimals: u8) -> f64 {
    let power = 10_f64.powi(i32::from(decimals));
    // Adding 0 turns −0 into 0, which no reader expects with a sign.
    (value * power).round() / power + 0.0
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Self::Text(text.into())
    }
}

impl From<String> for Value {
    fn from(text: String) -> Self {
        Self::Text(text.into())
    }
}

impl From<Arc<str>> for Value {
    fn from(text: Arc<str>) -> Self {
        Self::Text(text)
    }
}

impl From<bool> for Value {
    fn from(flag: bool) -> Self {
        Self::Flag(flag)
    }
}

impl From<i64> for Value {
    fn from(value: i64) -> Self {
        Self::Integer(value)
    }
}

impl From<u32> for Value {
    fn from(number: u32) -> Self {
        Self::Integer(i64::from(number))
    }
}

impl From<usize> for Value {
    fn from(number: usize) -> Self {
        i64::try_from(number).map_or(Self::Null, Self::Integer)
    }
}

impl From<f64> for Value {
    /// The number as it is; null when it is not finite.
    fn from(number: f64) -> Self {
        if number.is_finite() { Self::Number(number) } else { Self::Null }
    }
}

impl<T: Into<Self>> From<Option<T>> for Value {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Null, Into::into)
    }
}

/// Rows of cells without a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The name, such as `zones`.
    pub name: &'static str,
    /// The heads of the columns, in order.
    pub heads: Vec<String>,
    /// The rows, each with one value a column.
    pub rows: Vec<Vec<Value>>,
}

impl Layer {
    /// The value of one feature in the column of that name.
    pub fn value(&self, feature: usize, column: &str) -> Option<&Value> {
        let at = self.columns.iter().position(|known| known.name == column)?;
        self.features.get(feature)?.values.get(at)
    }

    /// The sum of a column over the features, empty values left out; as written, so that sums in
    /// other files agree.
    pub fn sum(&self, column: &str) -> f64 {
        let Some(at) = self.columns.iter().position(|known| known.name == column) else {
            return 0.0;
        };
        self.features.iter().filter_map(|feature| feature.values.get(at)?.as_number()).sum()
    }

    /// The same columns as a table, without the places.
    pub fn table(&self) -> Table {
        Table {
            name: self.name,
            heads: self.columns.iter().map(|column| column.name.to_owned()).collect(),
            rows: self.features.iter().map(|feature| feature.values.clone()).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_and_never_minus_zero_or_nan() {
        assert_eq!(Value::number(1.234_566, 5), Value::Number(1.23457));
        let Value::Number(zero) = Value::number(-1e-9, 5) else { panic!("a number") };
        assert!(zero.is_sign_positive());
        assert_eq!(Value::number(f64::NAN, 5), Value::Null);
        assert_eq!(Value::from(f64::INFINITY), Value::Null);
        assert_eq!(Value::from(None::<f64>), Value::Null);
    }
}
