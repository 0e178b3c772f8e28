//! A [`Design`] written as a part file.

use super::Design;
use super::value::{Key, Said, Value};
use crate::quantity::Toleranced;
use std::fmt::Write as _;
use toml_edit::{Array, InlineTable};

impl Design {
    /// As a part file: its tables in the starter's order, numbers in their shortest form. Reading it gives the same design
    /// back.
    ///
    /// ```
    /// use coldstep::part::{Design, design};
    ///
    /// let flat = design::Flat {
    ///     name: Some("stages".into()),
    ///     to_mm: Some(16.5),
    ///     ..Default::default()
    /// };
    /// let design = Design { flats: vec![flat], ..Default::default() };
    /// assert_eq!(design.to_toml(), "[[flat]]\nname = \"stages\"\nto_mm = 16.5\n");
    /// ```
    pub fn to_toml(&self) -> String {
        let mut text = String::new();
        for (table, keys) in self.said() {
            let gap = if text.is_empty() { "" } else { "\n" };
            // Writing into a text cannot fail.
            let _ = writeln!(text, "{gap}{}", table.title());
            for (key, said) in keys {
                let _ = writeln!(text, "{} = {}", key.name, toml_of(&said));
            }
        }
        text
    }
}

fn toml_of(said: &Said) -> toml_edit::Value {
    match said {
        Said::Value(value) => toml(value),
        Said::Table(keys) => toml_edit::Value::InlineTable(inline(keys)),
    }
}

fn inline(keys: &[(&'static Key, Said)]) -> InlineTable {
    keys.iter()
        .map(|(key, said)| (key.name, toml_of(said)))
        .collect()
}

/// A value as TOML.
pub(super) fn toml(value: &Value) -> toml_edit::Value {
    match value {
        Value::Number(number)
        | Value::Toleranced(Toleranced {
            value: number,
            plus_minus: None,
        }) => shortest(*number),
        Value::Toleranced(Toleranced {
            value,
            plus_minus: Some(plus_minus),
        }) => {
            let both = [("value", *value), ("plus_minus", *plus_minus)];
            let both = both.map(|(key, number)| (key, shortest(number)));
            toml_edit::Value::InlineTable(both.into_iter().collect())
        }
        Value::Text(text) => text.as_str().into(),
        Value::Switch(switch) => (*switch).into(),
        Value::Numbers(list) => toml_edit::Value::Array(numbers(list)),
        Value::Pairs(pairs) => pairs
            .iter()
            .map(|pair| toml_edit::Value::Array(numbers(pair)))
            .collect::<Array>()
            .into(),
    }
}

fn numbers(list: &[f64]) -> Array {
    list.iter().map(|number| shortest(*number)).collect()
}

/// The fewest digits that are read back as the same number, with powers of ten where it is huge or tiny.
fn shortest(number: f64) -> toml_edit::Value {
    let digits = format!("{number:?}").replace("NaN", "nan");
    digits.parse().unwrap_or_else(|_| number.into())
}
