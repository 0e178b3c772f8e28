//! Reads tables of a part file key by key, keeps every span, and collects every finding.

use crate::diagnostic::{Diagnostic, Findings, Span};
use crate::quantity::{Allowed, PLUS_MINUS_MM, Toleranced, plain};
use serde::de::{self, IntoDeserializer, MapAccess, Visitor};
use serde::{Deserialize, Deserializer};
use std::collections::BTreeSet;
use std::fmt;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct At<T> {
    /// The value.
    pub value: T,
    /// Its place in the file.
    pub span: Span,
}

/// What a value of the part file may look like.
pub trait Leaf: for<'de> Deserialize<'de> {
    /// In plain words, for "should be …".
    const SHOULD_BE: &'static str;
    /// The accepted words, when only some are.
    const WORDS: &'static [&'static str] = &[];
    /// The list in it that has more numbers than are read, if any: serde leaves them out without a word.
    fn too_long<'a, 'i>(_: &'a Spanned<DeValue<'i>>) -> Option<&'a Spanned<DeValue<'i>>> {
        None
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

impl Leaf for f64 {
    const SHOULD_BE: &'static str = "a number";
}
impl Leaf for String {
    const SHOULD_BE: &'static str = "a text in quotes";
}
impl Leaf for bool {
    const SHOULD_BE: &'static str = "true or false";
}
impl Leaf for [f64; 2] {
    const SHOULD_BE: &'static str = "two numbers, as in [10.0, 6.0]";
    fn too_long<'a, 'i>(raw: &'a Spanned<DeValue<'i>>) -> Option<&'a Spanned<DeValue<'i>>> {
        longer_than(raw, 2)
    }
}
impl Leaf for [f64; 3] {
    const SHOULD_BE: &'static str = "three numbers, as in [220.0, 220.0, 250.0]";
    fn too_long<'a, 'i>(raw: &'a Spanned<DeValue<'i>>) -> Option<&'a Spanned<DeValue<'i>>> {
        longer_than(raw, 3)
    }
}
impl Leaf for Vec<[f64; 2]> {
    const SHOULD_BE: &'static str = "pairs of numbers, as in [[0.0, 0.0], [30.0, 0.0]]";
    fn too_long<'a, 'i>(raw: &'a Spanned<DeValue<'i>>) -> Option<&'a Spanned<DeValue<'i>>> {
        let list = raw.get_ref().as_array()?;
        list.iter().find_map(|pair| longer_than(pair, 2))
    }
}

/// Number with an optional tolerance: `3.2` or `{ value = 3.2, plus_minus = 0.05 }`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured(pub Toleranced);

impl Leaf for Measured {
    const SHOULD_BE: &'static str = "a number, or { value = 3.2, plus_minus = 0.05 }";
}

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
                f.write_str(Measured::SHOULD_BE)
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

/// One radius for both bends of a step, or one for each: `1.0` or `[1.0, 1.5]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Radii(pub [f64; 2]);

impl Leaf for Radii {
    const SHOULD_BE: &'static str = "a number, or two numbers as in [1.0, 1.5]";
    fn too_long<'a, 'i>(raw: &'a Spanned<DeValue<'i>>) -> Option<&'a Spanned<DeValue<'i>>> {
        longer_than(raw, 2)
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

/// Implements [`Leaf`] for an enum whose words the part file may write.
macro_rules! words {
    ($type:ty, $should_be:literal, [$($word:literal),* $(,)?]) => {
        impl $crate::part::reader::Leaf for $type {
            const SHOULD_BE: &'static str = $should_be;
            const WORDS: &'static [&'static str] = &[$($word),*];
        }
    };
}
pub(crate) use words;

/// The place of the file itself where a table's place is asked for: no table can stand there.
pub const FILE: Span = usize::MAX..usize::MAX;

/// One table of the part file while it is being read.
pub struct Section<'a, 'i> {
    table: &'a DeTable<'i>,
    /// `[sheet]`, for messages.
    title: String,
    span: Span,
    taken: Vec<&'static str>,
    is_root: bool,
}

/// Shared while reading: findings, and whether missing keys are worth a word.
#[derive(Debug, Default)]
pub struct Reading {
    /// Everything found so far.
    pub findings: Findings,
    /// After a syntax error parts of the file are lost, and "missing" would mislead.
    pub forgive_missing: bool,
    /// Where the file is no TOML: what stands there is no value, and was already reported.
    pub broken: Vec<Span>,
    /// Keys that are there but were refused, by the start of their table.
    refused: BTreeSet<(usize, &'static str)>,
}

impl Reading {
    /// Whether a table truly says nothing under any of these keys: not even something that was refused.
    pub fn lacks(&self, table: &Span, keys: &[&'static str]) -> bool {
        !self.forgive_missing
            && !keys
                .iter()
                .any(|key| self.refused.contains(&(table.start, key)))
    }

    fn is_broken(&self, span: &Span) -> bool {
        self.broken
            .iter()
            .any(|broken| broken.start <= span.end && span.start <= broken.end)
    }
}

impl<'a, 'i> Section<'a, 'i> {
    /// The file itself.
    pub fn root(table: &'a DeTable<'i>) -> Self {
        Self {
            table,
            title: "the part file".into(),
            span: FILE,
            taken: Vec::new(),
            is_root: true,
        }
    }

    /// Where the table stands.
    pub fn span(&self) -> &Span {
        &self.span
    }

    fn raw(&mut self, key: &'static str) -> Option<&'a Spanned<DeValue<'i>>> {
        self.taken.push(key);
        self.table
            .iter()
            .find(|(name, _)| name.get_ref().as_ref() == key)
            .map(|(_, value)| value)
    }

    fn refuse(&self, reading: &mut Reading, key: &'static str) {
        reading.refused.insert((self.span.start, key));
    }

    /// Passes on a value that is good, and remembers that the key of one that is not was there.
    fn sifted<T>(
        &self,
        reading: &mut Reading,
        key: &'static str,
        at: At<T>,
        good: bool,
    ) -> Option<At<T>> {
        if good {
            return Some(at);
        }
        self.refuse(reading, key);
        None
    }

    /// Reads one value if the key is there.
    pub fn optional<T: Leaf>(&mut self, reading: &mut Reading, key: &'static str) -> Option<At<T>> {
        let raw = self.raw(key)?;
        let span = raw.span();
        if let Some(list) = T::too_long(raw) {
            self.refuse(reading, key);
            reading
                .findings
                .push(wrong_shape::<T>(key, list, None, "invalid length"));
            return None;
        }
        match T::deserialize(raw.clone().into_deserializer()) {
            Ok(value) => Some(At { value, span }),
            Err(error) => {
                self.refuse(reading, key);
                if !reading.is_broken(&span) {
                    reading.findings.push(wrong_shape::<T>(
                        key,
                        raw,
                        error.span(),
                        error.message(),
                    ));
                }
                None
            }
        }
    }

    /// Reads one value; a missing key is a finding.
    pub fn required<T: Leaf>(
        &mut self,
        reading: &mut Reading,
        key: &'static str,
        example: &str,
    ) -> Option<At<T>> {
        if self
            .table
            .iter()
            .any(|(name, _)| name.get_ref().as_ref() == key)
        {
            return self.optional(reading, key);
        }
        self.taken.push(key);
        self.missing(reading, key, example);
        None
    }

    /// Says that a whole table is missing from the file.
    pub fn missing_table(&self, reading: &mut Reading, key: &'static str, title: &str, keys: &str) {
        if reading.lacks(&self.span, &[key]) {
            reading.findings.push(
                Diagnostic::error(format!("the part file has no {title}"))
                    .help(format!("add a line {title}, and below it {keys}")),
            );
        }
    }

    /// Says that a key is missing.
    pub fn missing(&self, reading: &mut Reading, key: &str, example: &str) {
        if !reading.forgive_missing {
            reading.findings.push(
                Diagnostic::error(format!("{} has no `{key}`", self.title))
                    .at(&self.span)
                    .help(format!("add a line such as: {example}")),
            );
        }
    }

    /// A plain number within an allowed range.
    pub fn number(
        &mut self,
        reading: &mut Reading,
        key: &'static str,
        allowed: &Allowed,
    ) -> Option<At<f64>> {
        let at = self.optional::<f64>(reading, key)?;
        let good = within(reading, at.value, &at.span, allowed);
        self.sifted(reading, key, at, good)
    }

    /// A plain number that must be there.
    pub fn needed_number(
        &mut self,
        reading: &mut Reading,
        key: &'static str,
        allowed: &Allowed,
        example: &str,
    ) -> Option<At<f64>> {
        let at = self.required::<f64>(reading, key, example)?;
        let good = within(reading, at.value, &at.span, allowed);
        self.sifted(reading, key, at, good)
    }

    /// A length that may carry a tolerance.
    pub fn measured(
        &mut self,
        reading: &mut Reading,
        key: &'static str,
        allowed: &Allowed,
        example: Option<&str>,
    ) -> Option<At<Toleranced>> {
        self.toleranced(reading, key, allowed, &PLUS_MINUS_MM, example)
    }

    /// A number that may carry a tolerance, both within their ranges.
    fn toleranced(
        &mut self,
        reading: &mut Reading,
        key: &'static str,
        allowed: &Allowed,
        tolerance: &Allowed,
        example: Option<&str>,
    ) -> Option<At<Toleranced>> {
        let at: At<Measured> = match example {
            Some(example) => self.required(reading, key, example)?,
            None => self.optional(reading, key)?,
        };
        let value = at.value.0;
        let good = within(reading, value.value, &at.span, allowed)
            & value
                .plus_minus
                .is_none_or(|plus_minus| within(reading, plus_minus, &at.span, tolerance));
        let at = At {
            value,
            span: at.span,
        };
        self.sifted(reading, key, at, good)
    }

    /// A number that may carry a tolerance of its own kind, and may not leave its range within it.
    ///
    /// A conductivity of 3 ± 3 could be nothing, and what is calculated with it anything.
    pub fn banded(
        &mut self,
        reading: &mut Reading,
        key: &'static str,
        allowed: &Allowed,
        tolerance: &Allowed,
    ) -> Option<At<Toleranced>> {
        let at = self.toleranced(reading, key, allowed, tolerance, None)?;
        let plus_minus = at.value.plus_minus.unwrap_or(0.0);
        let good = at.value.value - plus_minus >= allowed.least;
        if !good {
            reading.findings.push(
                Diagnostic::error(format!(
                    "`{key}` of {} ± {} could be as little as {}",
                    plain(at.value.value),
                    plain(plus_minus),
                    plain(at.value.value - plus_minus)
                ))
                .at(&at.span)
                .help(format!(
                    "{} cannot be below {}{}: let plus_minus be smaller",
                    allowed.what,
                    plain(allowed.least),
                    allowed.unit_after_space()
                )),
            );
        }
        self.sifted(reading, key, at, good)
    }

    /// Two numbers, each within the range.
    pub fn pair(
        &mut self,
        reading: &mut Reading,
        key: &'static str,
        allowed: &Allowed,
    ) -> Option<At<[f64; 2]>> {
        let at = self.optional::<[f64; 2]>(reading, key)?;
        let good = all_within(reading, &at.value, &at.span, allowed);
        self.sifted(reading, key, at, good)
    }

    /// Two numbers that must be there, each within the range.
    pub fn needed_pair(
        &mut self,
        reading: &mut Reading,
        key: &'static str,
        allowed: &Allowed,
        example: &str,
    ) -> Option<At<[f64; 2]>> {
        let at = self.required::<[f64; 2]>(reading, key, example)?;
        let good = all_within(reading, &at.value, &at.span, allowed);
        self.sifted(reading, key, at, good)
    }

    /// One sub-table, `[key]`.
    pub fn table(&mut self, reading: &mut Reading, key: &'static str) -> Option<Section<'a, 'i>> {
        let raw = self.raw(key)?;
        let title = format!("[{key}]");
        if let Some(table) = raw.get_ref().as_table() {
            return Some(Section {
                table,
                title,
                span: raw.span(),
                taken: Vec::new(),
                is_root: false,
            });
        }
        self.refuse(reading, key);
        reading.findings.push(
            Diagnostic::error(format!(
                "`{key}` should be one table, found {}",
                kind(raw.get_ref())
            ))
            .at(&raw.span())
            .help(format!(
                "write {title}, in single brackets, on a line of its own, and its keys below"
            )),
        );
        None
    }

    /// All tables `[[key]]`, at most `most` of them.
    pub fn tables(
        &mut self,
        reading: &mut Reading,
        key: &'static str,
        most: usize,
    ) -> Vec<Section<'a, 'i>> {
        let Some(raw) = self.raw(key) else {
            return Vec::new();
        };
        let Some(array) = raw.get_ref().as_array() else {
            self.refuse(reading, key);
            reading.findings.push(
                Diagnostic::error(format!(
                    "`{key}` should be a list of tables, found {}",
                    kind(raw.get_ref())
                ))
                .at(&raw.span())
                .help(format!(
                    "write [[{key}]] with double brackets before each one"
                )),
            );
            return Vec::new();
        };
        if array.len() > most {
            self.refuse(reading, key);
            let span = array.get(most).map_or(raw.span(), Spanned::span);
            reading.findings.push(
                Diagnostic::error(format!(
                    "{} [[{key}]] tables; coldstep takes at most {most}",
                    array.len()
                ))
                .at(&span)
                .label(format!("number {}", most + 1))
                .help("split the board over several part files, or leave out what is far from the plate"),
            );
            return Vec::new();
        }
        let mut sections = Vec::new();
        for value in array {
            if let Some(table) = value.get_ref().as_table() {
                sections.push(Section {
                    table,
                    title: format!("this [[{key}]]"),
                    span: value.span(),
                    taken: Vec::new(),
                    is_root: false,
                });
            } else {
                self.refuse(reading, key);
                reading.findings.push(
                    Diagnostic::error(format!(
                        "`{key}` should list tables, found {}",
                        kind(value.get_ref())
                    ))
                    .at(&value.span())
                    .help(format!("write [[{key}]] and its keys on the lines below")),
                );
            }
        }
        sections
    }

    /// Refuses every key that nobody asked for, with the nearest known one.
    pub fn finish(self, reading: &mut Reading) {
        // Below a broken [header] the keys of its table look like keys of the file.
        if self.is_root && reading.forgive_missing {
            return;
        }
        for (name, _) in self.table {
            let written = name.get_ref().as_ref();
            if self.taken.contains(&written) {
                continue;
            }
            let mut finding = Diagnostic::error(format!(
                "unknown key `{}` in {}",
                printable(written),
                self.title
            ))
            .at(&name.span());
            if let Some(near) = nearest(written, &self.taken) {
                finding = finding.help(format!("did you mean `{near}`?"));
            }
            let mut known = self.taken.clone();
            known.sort_unstable();
            known.dedup();
            reading
                .findings
                .push(finding.help(format!("known here: {}", known.join(", "))));
        }
    }
}

/// Reports a number outside its range; true when it is inside.
pub fn within(reading: &mut Reading, value: f64, span: &Span, allowed: &Allowed) -> bool {
    let Some(objection) = allowed.objection(value) else {
        return true;
    };
    let unit = allowed.unit_after_space();
    let mut finding = Diagnostic::error(objection).at(span).help(format!(
        "give {} from {} to {}{unit}",
        allowed.what,
        plain(allowed.least),
        plain(allowed.most)
    ));
    let share = value / 100.0;
    let is_share = allowed.unit.is_empty() && allowed.most <= 1.0;
    if is_share && value > 1.0 && allowed.objection(share).is_none() {
        finding = finding.help(format!(
            "{} % is written {}, a share and not a percentage",
            plain(value),
            plain(share)
        ));
    }
    reading.findings.push(finding);
    false
}

/// Like [`within`] for several numbers of one value.
pub fn all_within(reading: &mut Reading, values: &[f64], span: &Span, allowed: &Allowed) -> bool {
    values
        .iter()
        .all(|value| within(reading, *value, span, allowed))
}

fn wrong_shape<T: Leaf>(
    key: &str,
    raw: &Spanned<DeValue<'_>>,
    inner: Option<Span>,
    detail: &str,
) -> Diagnostic {
    let found = raw.get_ref();
    if let (false, Some(written)) = (T::WORDS.is_empty(), found.as_str()) {
        let finding =
            Diagnostic::error(format!("`{key}` does not know \"{}\"", printable(written)))
                .at(&raw.span());
        let finding = match nearest(written, T::WORDS) {
            Some(near) => finding.help(format!("did you mean \"{near}\"?")),
            None => finding,
        };
        return finding.help(format!("known words: {}", T::WORDS.join(", ")));
    }
    let is_container = found.is_table() || found.is_array();
    let finding = Diagnostic::error(format!(
        "`{key}` should be {}, found {}",
        T::SHOULD_BE,
        kind(found)
    ))
    .at(&inner.filter(|_| is_container).unwrap_or(raw.span()));
    match found {
        DeValue::String(text) if text.trim().replace(',', ".").parse::<f64>().is_ok() => finding
            .help(format!(
                "write the number without quotes: {key} = {}",
                text.trim().replace(',', ".")
            )),
        DeValue::String(_) if T::SHOULD_BE.starts_with("a number") => finding.help(format!(
            "write the bare number, the unit stands in the name: {key} = 1.0"
        )),
        DeValue::Array(list) if detail.starts_with("invalid length") => {
            finding.help(format!("this list has {} of them", list.len()))
        }
        DeValue::Table(_) | DeValue::Array(_) => {
            finding.help(format!("inside it: {}", in_plain_words(detail)))
        }
        _ if T::WORDS.is_empty() => finding.help(format!("{key} takes {}", T::SHOULD_BE)),
        _ => finding.help(format!("known words: {}", T::WORDS.join(", "))),
    }
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

fn kind(value: &DeValue<'_>) -> &'static str {
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

/// Shortened and without control characters, for messages.
pub fn printable(text: &str) -> String {
    let mut shown: String = text
        .chars()
        .take(60)
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect();
    if text.chars().nth(60).is_some() {
        shown.push('…');
    }
    shown
}

/// The known word that is nearest to what was written, if any is near.
pub fn nearest<'w>(written: &str, known: &[&'w str]) -> Option<&'w str> {
    // Long texts are no slips of the pen, and the comparison grows with their length.
    if written.len() > 60 {
        return None;
    }
    known
        .iter()
        .map(|word| (strsim::jaro_winkler(written, word), *word))
        .filter(|(likeness, _)| *likeness > 0.75)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, word)| word)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is found when `v` is read as such a value.
    fn found<T: Leaf>(value: &str) -> Vec<Diagnostic> {
        let source = format!("v = {value}");
        let table = DeTable::parse(&source).unwrap();
        let mut reading = Reading::default();
        Section::root(table.get_ref()).optional::<T>(&mut reading, "v");
        reading.findings.into_sorted()
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
