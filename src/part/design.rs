//! A part as plain values: what a part file can say, without a file.
//!
//! A program fills in a [`Design`] and asks for the [`super::Part`] with [`super::Part::of`]; the checks are those of a
//! file. What is `None` was not said, and gets its default or is found missing.

use super::keys::{MOST_COMPONENTS, MOST_FLATS, MOST_OTHERS, first, key, part_file};
use super::value::Takes::{Any, Banded, Measured, Name, Note, Pairs, Within};
use super::value::{Key, Keyed, Radii, Said, Shape, Shaped, Table};
use super::words::{Cheeks, Edge, Grain, JointKind, KRuleWord, Kind, SheetMaterial, TiltWord};
use crate::quantity::{self as q, Toleranced};
use crate::stock::{HandbookRow, Plastic, Temper};

impl Shaped for Step {
    const SHAPE: Shape = Shape::Table(Self::KEYS);

    fn said(&self) -> Said {
        Said::Table(Keyed::said(self))
    }
}

macro_rules! plain_values {
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
            #[derive(Debug, Clone, Default, PartialEq)]
            pub struct $plain {
                $($(#[doc = $about])+ pub $key: Option<$type>,)*
            }

            impl Keyed for $plain {
                const ABOUT: &'static str = concat!($($table_about),+).trim_ascii();
                const KEYS: &'static [Key] =
                    &[$(key!([$($about)+] $key: $type, $takes $(, $needed)?)),*];

                fn said(&self) -> Vec<(&'static Key, Said)> {
                    let values = [$(self.$key.as_ref().map(Shaped::said)),*];
                    let keyed = Self::KEYS.iter().zip(values);
                    keyed.filter_map(|(key, said)| Some((key, said?))).collect()
                }
            }
        )*

        /// A part as plain values: everything that a part file can say.
        #[derive(Debug, Clone, Default, PartialEq)]
        pub struct Design {
            $(#[doc = concat!("`", $name, "` of the part file.")] pub $field: $holder<$held>,)*
        }

        impl Design {
            /// Every table of the part file, in the order in which they are written.
            pub const TABLES: &'static [Table] = &[$(Table {
                name: $name,
                about: <$held as Keyed>::ABOUT,
                keys: <$held as Keyed>::KEYS,
                most: first(&[$($most)?]),
                needed: first(&[$($table_needed)?]),
            }),*];

            /// What is said in each table, in the order in which they are written.
            pub fn said(&self) -> Vec<(&'static Table, Vec<(&'static Key, Said)>)> {
                let mut said = Vec::new();
                let mut tables = Self::TABLES.iter();
                $(if let Some(table) = tables.next() {
                    said.extend(self.$field.iter().map(|one| (table, Keyed::said(one))));
                })*
                said
            }
        }
    };
}
part_file!(plain_values);
