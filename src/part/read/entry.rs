//! The part with the place of every value: what the checks look at.
//!
//! Reading finds wrong types, wrong words, numbers out of range and unknown keys. What only makes sense
//! together (a flat that overlaps the next, a hole outside the plate) is found by [`super::check`].

use super::leaf::Read;
use super::section::{At, Reading, Section};
use crate::diagnostic::Span;
use crate::part::design::{
    Component, Design, Dies, Extension, Flat, Heat, HeatPipe, Hole, Material, Notch, Obstacle,
    OldPlate, Pad, Part, Plate, Printer, Sheet, Step, Tab, Vise,
};
use crate::part::keys::{key, part_file};
use crate::part::value::Takes::{Any, Banded, Measured, Name, Note, Pairs, Within};
use crate::part::value::{Key, Keyed, Radii, Table};
use crate::part::words::{
    Cheeks, Edge, Grain, JointKind, KRuleWord, Kind, SheetMaterial, TiltWord,
};
use crate::quantity::{self as q, Toleranced};
use crate::stock::{HandbookRow, Plastic, Temper};
use toml::de::DeTable;

/// What stands under a key: a value, or a table of its own.
pub trait Field: Sized {
    /// The same with its place.
    type Entry;
    /// From a file: as written, and with its place if its key takes it.
    fn read(
        section: &mut Section<'_, '_>,
        key: &'static Key,
        reading: &mut Reading,
    ) -> (Option<Self>, Option<Self::Entry>);
    /// From a program.
    fn given(
        value: Option<&Self>,
        section: &Section<'_, '_>,
        key: &'static Key,
        reading: &mut Reading,
    ) -> Option<Self::Entry>;
}

impl<T: Read> Field for T {
    type Entry = At<T>;

    fn read(
        section: &mut Section<'_, '_>,
        key: &'static Key,
        reading: &mut Reading,
    ) -> (Option<Self>, Option<At<T>>) {
        section.read(reading, key)
    }

    fn given(
        value: Option<&Self>,
        section: &Section<'_, '_>,
        key: &'static Key,
        reading: &mut Reading,
    ) -> Option<At<T>> {
        section.take(reading, key, value)
    }
}

impl Field for Step {
    type Entry = StepEntry;

    fn read(
        section: &mut Section<'_, '_>,
        key: &'static Key,
        reading: &mut Reading,
    ) -> (Option<Self>, Option<StepEntry>) {
        let inside = section.inside(reading, key);
        inside
            .map(|section| Self::read_all(section, reading))
            .unzip()
    }

    fn given(
        value: Option<&Self>,
        section: &Section<'_, '_>,
        key: &'static Key,
        reading: &mut Reading,
    ) -> Option<StepEntry> {
        let value = value?;
        let inside = section.given_inside(key, reading);
        Some(value.given_all(&inside, reading))
    }
}

/// Keys under one header.
pub trait Keys: Keyed + Sized {
    /// The same with its place.
    type Entry;
    /// All keys from a file.
    fn read_all(section: Section<'_, '_>, reading: &mut Reading) -> (Self, Self::Entry);
    /// All keys from a program.
    fn given_all(&self, section: &Section<'_, '_>, reading: &mut Reading) -> Self::Entry;
}

/// A table that may stand once, or those of a name that may stand often.
pub trait Held: Sized {
    /// The same with places.
    type Entries;
    /// From a file.
    fn read(
        root: &mut Section<'_, '_>,
        table: &'static Table,
        reading: &mut Reading,
    ) -> (Self, Self::Entries);
    /// From a program.
    fn given(
        &self,
        root: &Section<'_, '_>,
        table: &'static Table,
        reading: &mut Reading,
    ) -> Self::Entries;
    /// Whether there is none.
    fn is_none(entries: &Self::Entries) -> bool;
}

impl<T: Keys> Held for Option<T> {
    type Entries = Option<T::Entry>;

    fn read(
        root: &mut Section<'_, '_>,
        table: &'static Table,
        reading: &mut Reading,
    ) -> (Self, Self::Entries) {
        let one = root.one(reading, table);
        one.map(|section| T::read_all(section, reading)).unzip()
    }

    fn given(
        &self,
        _: &Section<'_, '_>,
        table: &'static Table,
        reading: &mut Reading,
    ) -> Self::Entries {
        let value = self.as_ref()?;
        let section = Section::given(table, 0, reading);
        Some(value.given_all(&section, reading))
    }

    fn is_none(entries: &Self::Entries) -> bool {
        entries.is_none()
    }
}

impl<T: Keys> Held for Vec<T> {
    type Entries = Vec<T::Entry>;

    fn read(
        root: &mut Section<'_, '_>,
        table: &'static Table,
        reading: &mut Reading,
    ) -> (Self, Self::Entries) {
        let all = root.all(reading, table);
        all.into_iter()
            .map(|section| T::read_all(section, reading))
            .unzip()
    }

    fn given(
        &self,
        root: &Section<'_, '_>,
        table: &'static Table,
        reading: &mut Reading,
    ) -> Self::Entries {
        let place = reading.next_place();
        if !root.few_enough(reading, table, self.len(), &place) {
            return Vec::new();
        }
        let numbered = self.iter().enumerate();
        numbered
            .map(|(number, value)| {
                let section = Section::given(table, number, reading);
                value.given_all(&section, reading)
            })
            .collect()
    }

    fn is_none(entries: &Self::Entries) -> bool {
        entries.is_empty()
    }
}

macro_rules! entries {
    (
        tables {
            $($(#[doc = $table_about:literal])+ $plain:ident / $entry:ident {
                $($(#[doc = $about:literal])+ $key:ident: $type:ty, $takes:expr $(, needs $needed:literal)?;)*
            })*
        }
        file {
            $($field:ident: $holder:ident $held:ident / $held_entry:ident = $name:literal
                $(, most $most:expr)? $(, needs $table_needed:literal)?;)*
        }
    ) => {
        $(
            $(#[doc = $table_about])+
            #[derive(Debug, Clone, Default)]
            pub struct $entry {
                /// Where it stands.
                pub span: Span,
                $($(#[doc = $about])+ pub $key: Option<<$type as Field>::Entry>,)*
            }

            impl Keys for $plain {
                type Entry = $entry;

                fn read_all(mut section: Section<'_, '_>, reading: &mut Reading) -> (Self, $entry) {
                    let (mut plain, mut entry) = (Self::default(), $entry::default());
                    entry.span = section.span().clone();
                    $({
                        const KEY: Key = key!([$($about)+] $key: $type, $takes $(, $needed)?);
                        (plain.$key, entry.$key) =
                            <$type as Field>::read(&mut section, &KEY, reading);
                    })*
                    section.finish(reading);
                    (plain, entry)
                }

                fn given_all(&self, section: &Section<'_, '_>, reading: &mut Reading) -> $entry {
                    $entry {
                        span: section.span().clone(),
                        $($key: {
                            const KEY: Key = key!([$($about)+] $key: $type, $takes $(, $needed)?);
                            <$type as Field>::given(self.$key.as_ref(), section, &KEY, reading)
                        },)*
                    }
                }
            }
        )*

        /// The whole part with places.
        #[derive(Debug, Clone, Default)]
        pub struct Entries {
            $(
                #[doc = concat!("`", $name, "` of the part file.")]
                pub $field: <$holder<$held> as Held>::Entries,
            )*
        }

        /// Reads all tables of a file: as written, and with places where the keys take what is written.
        pub fn read(table: &DeTable<'_>, reading: &mut Reading) -> (Design, Entries) {
            let mut root = Section::root(Some(table));
            let mut tables = Design::TABLES.iter();
            let (mut design, mut entries) = (Design::default(), Entries::default());
            $(if let Some(table) = tables.next() {
                (design.$field, entries.$field) =
                    <$holder<$held> as Held>::read(&mut root, table, reading);
            })*
            root.misspelt(reading);
            missing(&entries, &root, reading);
            root.finish(reading);
            (design, entries)
        }

        /// Takes all tables from a program, with places that only tell their order.
        pub fn given(design: &Design, reading: &mut Reading) -> Entries {
            let root = Section::root(None);
            let mut tables = Design::TABLES.iter();
            let mut entries = Entries::default();
            $(if let Some(table) = tables.next() {
                entries.$field = design.$field.given(&root, table, reading);
            })*
            missing(&entries, &root, reading);
            entries
        }

        /// Says which tables are missing.
        fn missing(entries: &Entries, root: &Section<'_, '_>, reading: &mut Reading) {
            let mut tables = Design::TABLES.iter();
            $(if let Some(table) = tables.next()
                && <$holder<$held> as Held>::is_none(&entries.$field)
            {
                root.missing_table(reading, table);
            })*
        }
    };
}
part_file!(entries);
