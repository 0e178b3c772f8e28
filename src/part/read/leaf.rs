//! The values of a file as TOML: their types, and what is said of a wrong one.

use super::spelling::{nearest, printable};
use crate::diagnostic::{Diagnostic, Span};
use crate::numbers::plain;
use crate::part::value::{Key, Leaf, Radii, Shape};
use crate::part::words::Words;
use crate::quantity::Toleranced;
use serde::de::{self, IntoDeserializer, MapAccess, Visitor};
use serde::{Deserialize, Deserializer};
use std::fmt;
use toml::Spanned;
use toml::de::DeValue;

/// A type that is read from TOML.
pub trait Read: Leaf {
    /// From TOML, or what serde says.
    fn deserialized(raw: Spanned<DeValue<'_>>) -> Result<Self, toml::de::Error>;

    /// The list in it that has more numbers than are read, if any: serde leaves them out without a word.
    fn too_long<'a, 'i>(_: &'a Spanned<DeValue<'i>>) -> Option<&'a Spanned<DeValue<'i>>> {
        None
    }

    /// The value of a key, or what is wrong with its type.
    fn read(key: &Key, raw: &Spanned<DeValue<'_>>) -> Result<Self, Box<Diagnostic>> {
        if let Some(list) = Self::too_long(raw) {
            return Err(Box::new(wrong_shape::<Self>(
                key,
                list,
                None,
                "invalid length",
            )));
        }
        Self::deserialized(raw.clone())
            .map_err(|error| Box::new(wrong_shape::<Self>(key, raw, error.span(), error.message())))
    }
}

/// This value, if it is a list of more than `most`.
fn longer_than<'a, 'i>(
    raw: &'a Spanned<DeValue<'i>>,
    most: usize,
) -> Option<&'a Spanned<DeValue<'i>>> {
    let list = raw.get_ref().as_array();
    list.is_some_and(|list| list.len() > most).then_some(raw)
}

/// Reads a type as serde does.
macro_rules! by_serde {
    ($($type:ty $(, at most $most:literal)?;)*) => {
        $(impl Read for $type {
            fn deserialized(raw: Spanned<DeValue<'_>>) -> Result<Self, toml::de::Error> {
                Self::deserialize(raw.into_deserializer())
            }
            $(fn too_long<'a, 'i>(raw: &'a Spanned<DeValue<'i>>) -> Option<&'a Spanned<DeValue<'i>>> {
                longer_than(raw, $most)
            })?
        })*
    };
}

by_serde! {
    f64;
    String;
    bool;
    [f64; 2], at most 2;
    [f64; 3], at most 3;
    Radii, at most 2;
}

impl<T: Words> Read for T {
    fn deserialized(raw: Spanned<DeValue<'_>>) -> Result<Self, toml::de::Error> {
        Self::deserialize(raw.into_deserializer())
    }
}

impl Read for Vec<[f64; 2]> {
    fn deserialized(raw: Spanned<DeValue<'_>>) -> Result<Self, toml::de::Error> {
        Self::deserialize(raw.into_deserializer())
    }

    fn too_long<'a, 'i>(raw: &'a Spanned<DeValue<'i>>) -> Option<&'a Spanned<DeValue<'i>>> {
        let list = raw.get_ref().as_array()?;
        list.iter().find_map(|pair| longer_than(pair, 2))
    }
}

impl Read for Toleranced {
    fn deserialized(raw: Spanned<DeValue<'_>>) -> Result<Self, toml::de::Error> {
        Measured::deserialize(raw.into_deserializer()).map(|measured| measured.0)
    }
}

/// Number with an optional tolerance: `3.2` or `{ value = 3.2, plus_minus = 0.05 }`.
struct Measured(Toleranced);

impl<'de> Deserialize<'de> for Measured {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct Table {
            value: f64,
            plus_minus: Option<f64>,
        }
        struct Either;
        impl<'de> Visitor<'de> for Either {
            type Value = Measured;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(Toleranced::SHOULD_BE)
            }
            fn visit_f64<E: de::Error>(self, value: f64) -> Result<Measured, E> {
                Ok(Measured(Toleranced::exact(value)))
            }
            fn visit_i64<E: de::Error>(self, value: i64) -> Result<Measured, E> {
                Ok(Measured(Toleranced::exact(value as f64)))
            }
            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Measured, A::Error> {
                let table = Table::deserialize(de::value::MapAccessDeserializer::new(map))?;
                Ok(Measured(Toleranced {
                    value: table.value,
                    plus_minus: table.plus_minus,
                }))
            }
        }
        deserializer.deserialize_any(Either)
    }
}

impl<'de> Deserialize<'de> for Radii {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Either;
        impl<'de> Visitor<'de> for Either {
            type Value = Radii;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(Radii::SHOULD_BE)
            }
            fn visit_f64<E: de::Error>(self, value: f64) -> Result<Radii, E> {
                Ok(Radii([value; 2]))
            }
            fn visit_i64<E: de::Error>(self, value: i64) -> Result<Radii, E> {
                Ok(Radii([value as f64; 2]))
            }
            fn visit_seq<A: de::SeqAccess<'de>>(self, seq: A) -> Result<Radii, A::Error> {
                <[f64; 2]>::deserialize(de::value::SeqAccessDeserializer::new(seq)).map(Radii)
            }
        }
        deserializer.deserialize_any(Either)
    }
}

/// What is said of a value of a wrong type.
fn wrong_shape<T: Leaf>(
    of: &Key,
    raw: &Spanned<DeValue<'_>>,
    inner: Option<Span>,
    detail: &str,
) -> Diagnostic {
    let (found, key) = (raw.get_ref(), of.name);
    let words = match T::SHAPE {
        Shape::Word(words) => words,
        _ => &[],
    };
    if let (false, Some(written)) = (words.is_empty(), found.as_str()) {
        let finding =
            Diagnostic::error(format!("`{key}` does not know \"{}\"", printable(written)))
                .id("part-unknown-word")
                .at(&raw.span());
        let finding = match nearest(written, words) {
            Some(near) => finding.help(format!("did you mean \"{near}\"?")),
            None => finding,
        };
        return finding.help(format!("known words: {}", words.join(", ")));
    }
    let is_container = found.is_table() || found.is_array();
    let finding = Diagnostic::error(format!(
        "`{key}` should be {}, found {}",
        T::SHOULD_BE,
        kind(found)
    ))
    .id("part-type")
    .at(&inner.filter(|_| is_container).unwrap_or(raw.span()));
    match found {
        DeValue::String(text) if text.trim().replace(',', ".").parse::<f64>().is_ok() => finding
            .help(format!(
                "write the number without quotes: {key} = {}",
                text.trim().replace(',', ".")
            )),
        DeValue::String(text) if T::SHOULD_BE.starts_with("a number") => {
            let line = in_millimetres(text)
                .filter(|_| key.ends_with("_mm"))
                .map(|mm| format!("{key} = {}", plain(mm)))
                .or_else(|| of.sample());
            let bare = "write the bare number, the unit stands in the name";
            finding.help(line.map_or_else(|| bare.to_owned(), |line| format!("{bare}: {line}")))
        }
        DeValue::Array(list) if detail.starts_with("invalid length") => {
            finding.help(format!("this list has {} of them", list.len()))
        }
        DeValue::Table(_) | DeValue::Array(_) => {
            finding.help(format!("inside it: {}", in_plain_words(detail)))
        }
        _ if words.is_empty() => {
            let sample = of.sample().map(|line| format!(", such as {line}"));
            finding.help(format!(
                "{key} takes {}{}",
                T::SHOULD_BE,
                sample.unwrap_or_default()
            ))
        }
        _ => finding.help(format!("known words: {}", words.join(", "))),
    }
}

/// A length written with its unit.
fn in_millimetres(text: &str) -> Option<f64> {
    let text = text.trim();
    let (number, factor) = [
        ("mm", 1.0),
        ("cm", 10.0),
        ("inch", 25.4),
        ("in", 25.4),
        ("\"", 25.4),
    ]
    .iter()
    .find_map(|(unit, factor)| Some((text.strip_suffix(unit)?, factor)))?;
    let number: f64 = number.trim().replace(',', ".").parse().ok()?;
    // As nobody writes more decimals of a millimetre.
    let mm = libm::round(1e4 * factor * number) / 1e4;
    (mm.is_finite() && mm.abs() < 1e4).then_some(mm)
}

/// What serde says of an inner value, without its type names.
fn in_plain_words(detail: &str) -> String {
    [
        ("invalid type: string", "found the text"),
        ("invalid type: sequence", "found a list"),
        ("invalid type: map", "found a table"),
        ("invalid type: ", "found "),
        ("unknown field", "there is no"),
        ("missing field", "there is no"),
        ("expected f64", "expected a number"),
    ]
    .iter()
    .fold(detail.to_owned(), |text, (from, to)| text.replace(from, to))
}

pub fn kind(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true/false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::value::Takes;
    use crate::quantity::WIDTH_MM;
    use toml::de::DeTable;

    /// A key for tests.
    const V: Key = Key {
        name: "width_mm",
        about: "",
        shape: Shape::Number,
        takes: Takes::Within(WIDTH_MM),
        needed: None,
    };

    /// What is found when `v` is read as such a value.
    fn found<T: Read>(value: &str) -> Vec<Diagnostic> {
        let source = format!("v = {value}");
        let table = DeTable::parse(&source).unwrap();
        let table = table.get_ref();
        let value = table.values().next().unwrap();
        T::read(&V, value)
            .err()
            .into_iter()
            .map(|finding| *finding)
            .collect()
    }

    #[test]
    fn a_sample_is_one_of_its_key_and_a_unit_is_counted_in() {
        for (written, line) in [
            ("\"wide\"", "width_mm = 40.0"),
            ("\"3.4 cm\"", "width_mm = 34"),
            ("\"1.1mm\"", "width_mm = 1.1"),
            ("\"1.25 in\"", "width_mm = 31.75"),
            ("\"9e9 in\"", "width_mm = 40.0"),
            ("true", "width_mm = 40.0"),
        ] {
            let [finding] = found::<f64>(written).try_into().unwrap();
            let helps = finding.help;
            assert!(helps.iter().any(|help| help.ends_with(line)), "{helps:?}");
        }
    }

    #[test]
    fn a_number_too_many_is_not_left_out_without_a_word() {
        assert_eq!(found::<[f64; 2]>("[1, 2]"), []);
        assert_eq!(found::<Vec<[f64; 2]>>("[[1, 2], [3, 4], [5, 6]]"), []);
        assert_eq!(found::<Radii>("[1, 2]"), []);
        for (findings, help) in [
            (found::<[f64; 2]>("[1, 2, 3]"), "this list has 3 of them"),
            (found::<[f64; 2]>("[1]"), "this list has 1 of them"),
            (found::<[f64; 3]>("[1, 2, 3, 4]"), "this list has 4 of them"),
            (
                found::<Vec<[f64; 2]>>("[[1, 2], [3, 4, 5]]"),
                "this list has 3 of them",
            ),
            (found::<Radii>("[1, 2, 3]"), "this list has 3 of them"),
        ] {
            let [finding] = findings.as_slice() else {
                panic!("one finding: {findings:#?}")
            };
            assert!(finding.message.contains("should be"), "{finding:?}");
            assert_eq!(finding.help, [help]);
        }
        let findings = found::<Vec<[f64; 2]>>("[[1, 2], [3, 4, 5]]");
        assert_eq!(findings[0].span, Some(13..22));
    }
}
