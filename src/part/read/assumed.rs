//! Defaults about heat, alike ones in one row; half-widths and joints that they stand for.

use super::names::listed;
use super::section::At;
use crate::numbers::plain;
use crate::part::DefaultUsed;
use crate::part::spread::{PAD_CONTACT, PAD_MEASURED, PAD_PRINTED, Spread};
use crate::part::thermal::Joint;
use crate::part::uncertain;
use crate::part::usual::usual_joint;
use crate::part::words::JointKind;
use crate::quantity::Toleranced;
use crate::stock::Pad;
use crate::stock::pad_heat::{EFFECTIVE_SHARE, EFFECTIVE_SPREAD_SHARE, UNKNOWN_PRINTED_W_MK};
use std::collections::BTreeMap;

/// Defaults about heat, told only where the file asks about it: alike ones in one row, with the names of all.
#[derive(Debug, Default)]
pub struct Assumed {
    rows: Vec<(DefaultUsed, Vec<String>)>,
    spreads: BTreeMap<String, Spread>,
}

impl Assumed {
    /// Remembers a default; `name` is whose it is, if there may be several.
    pub fn add(&mut self, key: &str, name: Option<&str>, value: String, reason: &str) {
        let used = DefaultUsed {
            key: key.into(),
            value,
            reason: reason.into(),
        };
        let at = self.rows.iter().position(|(row, _)| *row == used);
        let at = at.unwrap_or_else(|| {
            self.rows.push((used, Vec::new()));
            self.rows.len() - 1
        });
        if let (Some((_, names)), Some(name)) = (self.rows.get_mut(at), name)
            && !names.iter().any(|known| known == name)
        {
            names.push(name.into());
        }
    }

    /// Remembers which half-width was assumed of a number.
    pub fn open(&mut self, key: &str, name: Option<&str>, spread: Spread) {
        // Keys of board parts are told without their table.
        let id = if key.contains('.') {
            uncertain::id(key, name)
        } else {
            uncertain::id(&format!("component.{key}"), name)
        };
        self.spreads.insert(id, spread);
    }

    /// Half-widths that were assumed, by the ids of their numbers.
    pub fn spreads(&self) -> BTreeMap<String, Spread> {
        self.spreads.clone()
    }

    /// A number that was given, with a half-width of `spread` where none was.
    pub fn spread(
        &mut self,
        key: &str,
        name: Option<&str>,
        given: Toleranced,
        spread: Spread,
    ) -> Toleranced {
        if given.plus_minus.is_none() {
            self.add(
                &format!("{key} plus_minus"),
                name,
                spread.words(),
                spread.source,
            );
            self.open(key, name, spread);
        }
        spread.on(given)
    }

    /// What of a pad's heat nobody wrote down.
    pub fn stock_pad(&mut self, pad: &Pad) {
        if pad.from_stock {
            self.pad(&pad.name, pad, true, true);
        }
    }

    /// Conductivity or contact of a pad, where they are assumed.
    pub fn pad(&mut self, name: &str, pad: &Pad, conductivity: bool, contact: bool) {
        let written = |number: Toleranced| {
            format!(
                "{} ± {}",
                plain(number.value),
                plain(number.plus_minus.unwrap_or(0.0))
            )
        };
        if conductivity {
            let (of, why) = if pad.heat.printed_w_mk.is_some() {
                (
                    "what the pack says".to_owned(),
                    ": a best case, as a rule; own choice",
                )
            } else {
                (
                    format!("{} W/(m K)", plain(UNKNOWN_PRINTED_W_MK)),
                    "; common practice, no source: read the pack",
                )
            };
            self.open("pad.effective_w_mk", Some(name), PAD_PRINTED);
            let reason =
                format!("{EFFECTIVE_SHARE} of {of}, ± {EFFECTIVE_SPREAD_SHARE} of it{why}");
            self.add(
                "pad.effective_w_mk",
                Some(name),
                written(pad.heat.conductivity_w_mk),
                &reason,
            );
        }
        if contact {
            self.open("pad.contact_mm2k_w", Some(name), PAD_CONTACT);
            self.add(
                "pad.contact_mm2k_w",
                Some(name),
                written(pad.heat.contact_mm2k_w),
                "both faces together; from memory, 20 each is usual of soft pads",
            );
        }
    }

    /// Half-widths of a pad's numbers that came without one; the numbers themselves are filled in by [`Pad`].
    pub fn pad_spreads(
        &mut self,
        name: &str,
        effective: Option<&At<Toleranced>>,
        contact: Option<&At<Toleranced>>,
    ) {
        for (key, given, spread) in [
            ("pad.effective_w_mk", effective, PAD_MEASURED),
            ("pad.contact_mm2k_w", contact, PAD_CONTACT),
        ] {
            if let Some(at) = given {
                self.spread(key, Some(name), at.value, spread);
            }
        }
    }

    /// All of them as rows.
    pub fn into_rows(self) -> impl Iterator<Item = DefaultUsed> {
        self.rows.into_iter().map(|(mut used, names)| {
            if !names.is_empty() {
                used.key = format!("{} of {}", used.key, listed(&names));
            }
            used
        })
    }
}

/// What the file says of a joint; numbers with their keys as defaults are told.
pub struct JointGiven<'a> {
    /// What it is made of.
    pub kind: JointKind,
    /// How thick it is.
    pub thickness_mm: (&'a str, Option<f64>),
    /// How well it conducts.
    pub conductivity_w_mk: (&'a str, Option<&'a At<f64>>),
    /// Share of it that is not filled.
    pub void_percent: (&'a str, Option<&'a At<f64>>),
}

/// A joint with what its kind usually has where the file does not say.
pub fn joint(given: &JointGiven<'_>, name: &str, assumed: &mut Assumed) -> Joint {
    let (thickness_mm, conductivity_w_mk, void_percent, reason) = usual_joint(given.kind);
    let mut number = |key: &str, given: Option<f64>, usual: f64| {
        given.unwrap_or_else(|| {
            assumed.add(key, Some(name), plain(usual), reason);
            usual
        })
    };
    let value = |at: Option<&At<f64>>| at.map(|at| at.value);
    let (thickness, conductivity, voids) = (
        given.thickness_mm,
        given.conductivity_w_mk,
        given.void_percent,
    );
    Joint {
        kind: given.kind,
        thickness_mm: number(thickness.0, thickness.1, thickness_mm),
        conductivity_w_mk: number(conductivity.0, value(conductivity.1), conductivity_w_mk),
        void_percent: number(voids.0, value(voids.1), void_percent),
    }
}
