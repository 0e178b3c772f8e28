//! Tables of a part file key by key, from a file or from a program: keeps every place, and collects every finding.

use super::leaf::{Read, kind};
use super::range;
use super::spelling::{nearest, printable};
use crate::diagnostic::{Diagnostic, Findings, NOWHERE, Span};
use crate::part::places::Places;
use crate::part::value::{Key, Leaf, Table};
use std::collections::BTreeSet;
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

/// The place of the file itself where a table's place is asked for: no table can stand there.
pub const FILE: Span = NOWHERE;

/// One table of the part while it is being read.
pub struct Section<'a, 'i> {
    /// `None` where a program gives the values.
    table: Option<&'a DeTable<'i>>,
    /// Its name and number, and the key that leads to it inside of these, to tell its place.
    name: (&'static str, usize, &'static str),
    /// `[sheet]`, for messages.
    title: String,
    span: Span,
    taken: Vec<&'static str>,
    /// Needed keys that are not there, until it is known whether one of them is misspelt.
    absent: Vec<&'static Key>,
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
    /// Where everything stands that was read.
    pub places: Places,
    /// Keys that are there but were refused, by the start of their table.
    refused: BTreeSet<(usize, &'static str)>,
    /// Values of a program stand one behind the other: this many so far.
    counted: usize,
}

impl Reading {
    /// Whether a table truly says nothing under any of these keys: not even something that was refused.
    pub fn lacks(&self, table: &Span, keys: &[&'static str]) -> bool {
        !self.forgive_missing
            && !keys
                .iter()
                .any(|key| self.refused.contains(&(table.start, key)))
    }

    /// The next place of a value that a program gives: findings get the order that they have in a file.
    pub fn next_place(&mut self) -> Span {
        let at = self.counted;
        self.counted += 1;
        at..at
    }

    fn is_broken(&self, span: &Span) -> bool {
        self.broken
            .iter()
            .any(|broken| broken.start <= span.end && span.start <= broken.end)
    }
}

impl<'a, 'i> Section<'a, 'i> {
    fn new(
        table: Option<&'a DeTable<'i>>,
        name: (&'static str, usize, &'static str),
        title: String,
        span: Span,
    ) -> Self {
        Self {
            table,
            name,
            title,
            span,
            taken: Vec::new(),
            absent: Vec::new(),
            is_root: false,
        }
    }

    /// The file itself; `None` where a program gives the values.
    pub fn root(table: Option<&'a DeTable<'i>>) -> Self {
        let mut root = Self::new(table, ("", 0, ""), "the part file".into(), FILE);
        root.is_root = true;
        root
    }

    /// A table that a program gives; `number` of its kind.
    pub fn given(table: &'static Table, number: usize, reading: &mut Reading) -> Self {
        let title = match table.most {
            None => table.title(),
            Some(_) => format!("this {}", table.title()),
        };
        Self::new(None, (table.name, number, ""), title, reading.next_place())
    }

    /// A table inside of this one that a program gives.
    pub fn given_inside(&self, key: &'static Key, reading: &mut Reading) -> Self {
        let (name, number, _) = self.name;
        let title = format!("[{}]", key.name);
        Self::new(None, (name, number, key.name), title, reading.next_place())
    }

    /// Where the table stands.
    pub fn span(&self) -> &Span {
        &self.span
    }

    fn raw(&mut self, key: &'static str) -> Option<&'a Spanned<DeValue<'i>>> {
        self.taken.push(key);
        self.table?
            .iter()
            .find(|(name, _)| name.get_ref().as_ref() == key)
            .map(|(_, value)| value)
    }

    /// Remembers where a value of this table stands.
    fn keep_place(&self, reading: &mut Reading, key: &str, span: &Span) {
        let (table, number, inside) = self.name;
        let path = match (inside, key) {
            ("", key) => key.to_owned(),
            (inside, "") => inside.to_owned(),
            (inside, key) => format!("{inside}.{key}"),
        };
        reading.places.set(table, number, &path, span);
    }

    fn refuse(&self, reading: &mut Reading, key: &'static str) {
        reading.refused.insert((self.span.start, key));
    }

    /// A value as it is written, whatever its range, and the same with its place if its key takes it.
    pub fn read<T: Read>(
        &mut self,
        reading: &mut Reading,
        key: &'static Key,
    ) -> (Option<T>, Option<At<T>>) {
        let Some(raw) = self.raw(key.name) else {
            self.absent.push(key);
            return (None, None);
        };
        let span = raw.span();
        self.keep_place(reading, key.name, &span);
        match T::read(key, raw) {
            Ok(value) => {
                let at = At {
                    value: value.clone(),
                    span,
                };
                (Some(value), self.sifted(reading, key, at))
            }
            Err(finding) => {
                self.refuse(reading, key.name);
                if T::too_long(raw).is_some() || !reading.is_broken(&span) {
                    reading.findings.push(*finding);
                }
                (None, None)
            }
        }
    }

    /// A value that a program gives, if its key takes it.
    pub fn take<T: Leaf>(
        &self,
        reading: &mut Reading,
        key: &'static Key,
        value: Option<&T>,
    ) -> Option<At<T>> {
        let Some(value) = value else {
            self.missing(reading, key);
            return None;
        };
        let at = At {
            value: value.clone(),
            span: reading.next_place(),
        };
        self.sifted(reading, key, at)
    }

    /// Passes on a value that its key takes, and remembers that one that it does not take was there.
    fn sifted<T: Leaf>(
        &self,
        reading: &mut Reading,
        key: &'static Key,
        at: At<T>,
    ) -> Option<At<T>> {
        if range::good(&at.value.value(), key, &at.span, &mut reading.findings) {
            return Some(at);
        }
        self.refuse(reading, key.name);
        None
    }

    /// Says that a whole table is missing, where it must be there.
    pub fn missing_table(&self, reading: &mut Reading, table: &Table) {
        if let Some(keys) = table.needed
            && reading.lacks(&self.span, &[table.name])
        {
            let title = table.title();
            reading.findings.push(
                Diagnostic::error(format!("the part file has no {title}"))
                    .id("part-missing")
                    .help(format!("add a line {title}, and below it {keys}")),
            );
        }
    }

    /// Says that a key is missing, where it must be there.
    fn missing(&self, reading: &mut Reading, key: &Key) {
        if let Some(example) = key.needed
            && !reading.forgive_missing
        {
            reading.findings.push(
                Diagnostic::error(format!("{} has no `{}`", self.title, key.name))
                    .id("part-missing")
                    .at(&self.span)
                    .help(format!("add a line such as: {example}")),
            );
        }
    }

    /// One sub-table, `[key]`.
    fn table(
        &mut self,
        reading: &mut Reading,
        key: &'static str,
        name: (&'static str, usize, &'static str),
    ) -> Option<Section<'a, 'i>> {
        let raw = self.raw(key)?;
        let title = format!("[{key}]");
        if let Some(table) = raw.get_ref().as_table() {
            let section = Section::new(Some(table), name, title, raw.span());
            section.keep_place(reading, "", &raw.span());
            return Some(section);
        }
        self.refuse(reading, key);
        reading.findings.push(
            Diagnostic::error(format!(
                "`{key}` should be one table, found {}",
                kind(raw.get_ref())
            ))
            .id("part-type")
            .at(&raw.span())
            .help(format!(
                "write {title}, in single brackets, on a line of its own, and its keys below"
            )),
        );
        None
    }

    /// The table of a name that stands once.
    pub fn one(&mut self, reading: &mut Reading, table: &'static Table) -> Option<Section<'a, 'i>> {
        self.table(reading, table.name, (table.name, 0, ""))
    }

    /// A table inside of this one.
    pub fn inside(&mut self, reading: &mut Reading, key: &'static Key) -> Option<Section<'a, 'i>> {
        let (name, number, _) = self.name;
        self.table(reading, key.name, (name, number, key.name))
    }

    /// All tables of a name, at most as many as there may be.
    pub fn all(&mut self, reading: &mut Reading, table: &'static Table) -> Vec<Section<'a, 'i>> {
        let key = table.name;
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
                .id("part-type")
                .at(&raw.span())
                .help(format!(
                    "write [[{key}]] with double brackets before each one"
                )),
            );
            return Vec::new();
        };
        let past = table.most.and_then(|most| array.get(most));
        let place = past.map_or(raw.span(), Spanned::span);
        if !self.few_enough(reading, table, array.len(), &place) {
            return Vec::new();
        }
        let mut sections = Vec::new();
        for (number, value) in array.iter().enumerate() {
            if let Some(inner) = value.get_ref().as_table() {
                let title = format!("this [[{key}]]");
                let section = Section::new(Some(inner), (key, number, ""), title, value.span());
                section.keep_place(reading, "", &value.span());
                sections.push(section);
            } else {
                self.refuse(reading, key);
                reading.findings.push(
                    Diagnostic::error(format!(
                        "`{key}` should list tables, found {}",
                        kind(value.get_ref())
                    ))
                    .id("part-type")
                    .at(&value.span())
                    .help(format!("write [[{key}]] and its keys on the lines below")),
                );
            }
        }
        sections
    }

    /// Whether there are no more tables of a name than there may be; `place` is where the one too many stands.
    pub fn few_enough(
        &self,
        reading: &mut Reading,
        table: &Table,
        count: usize,
        place: &Span,
    ) -> bool {
        let most = table.most.unwrap_or(1);
        if count <= most {
            return true;
        }
        self.refuse(reading, table.name);
        reading.findings.push(
            Diagnostic::error(format!(
                "{count} {} tables; coldstep takes at most {most}",
                table.title()
            ))
            .id("part-too-many")
            .at(place)
            .label(format!("number {}", most + 1))
            .help(
                "split the board over several part files, or leave out what is far from the plate",
            ),
        );
        false
    }

    /// Keys of this table that nobody asked for, each with its place and the nearest known one that is not there too.
    fn unknown(&self) -> Vec<(&'a str, Span, Option<&'static str>)> {
        let names = || self.table.into_iter().flatten().map(|(name, _)| name);
        let is_there = |known: &str| names().any(|name| name.get_ref().as_ref() == known);
        let not_there = self.taken.iter().copied().filter(|known| !is_there(known));
        let not_there: Vec<&'static str> = not_there.collect();
        names()
            .map(|name| (name.get_ref().as_ref(), name.span()))
            .filter(|(written, _)| !self.taken.contains(written))
            .map(|(written, span)| (written, span, nearest(written, &not_there)))
            .collect()
    }

    /// Remembers which keys are there, but misspelt: they are not called missing.
    pub fn misspelt(&self, reading: &mut Reading) {
        for (_, _, near) in self.unknown() {
            if let Some(near) = near {
                self.refuse(reading, near);
            }
        }
    }

    /// Refuses every key that nobody asked for, with the nearest known one, and says which needed ones are missing.
    pub fn finish(mut self, reading: &mut Reading) {
        // Below a broken [header] the keys of its table look like keys of the file.
        if self.is_root && reading.forgive_missing {
            return;
        }
        self.misspelt(reading);
        for key in std::mem::take(&mut self.absent) {
            if reading.lacks(&self.span, &[key.name]) {
                self.missing(reading, key);
            }
        }
        for (written, span, near) in self.unknown() {
            let finding = Diagnostic::error(format!(
                "unknown key `{}` in {}",
                printable(written),
                self.title
            ))
            .id("part-unknown-key")
            .at(&span);
            let finding = match near.or_else(|| nearest(written, &self.taken)) {
                Some(near) => finding.help(format!("did you mean `{near}`?")),
                None => finding,
            };
            let mut known = self.taken.clone();
            known.sort_unstable();
            known.dedup();
            reading
                .findings
                .push(finding.help(format!("known here: {}", known.join(", "))));
        }
    }
}
