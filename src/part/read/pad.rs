//! Pads at hand: which gaps they fill, and what they do to heat.

use super::assumed::Assumed;
use super::entry::PadEntry;
use super::names::distinct_names;
use super::section::Reading;
use crate::diagnostic::Diagnostic;
use crate::numbers::plain;
use crate::part::DefaultUsed;
use crate::quantity::CONDUCTIVITY_W_MK;
use crate::stock::impedance::ImpedanceError;
use crate::stock::pad::{
    STOCK_COMPRESSION_MAX_PERCENT, STOCK_COMPRESSION_MIN_PERCENT, STOCK_SOURCE,
};
use crate::stock::{ImpedanceFit, Pad, PadHeat};

/// Most measured pairs of one pad; more of them make no line better.
const MOST_PAIRS: usize = 50;

/// Pads at hand, with the generic compression window where the file gives none.
pub fn pads(
    entries: &[PadEntry],
    reading: &mut Reading,
    (defaults, assumed): (&mut Vec<DefaultUsed>, &mut Assumed),
) -> Vec<Pad> {
    distinct_names(
        "pad",
        entries.iter().filter_map(|e| e.name.as_ref()),
        reading,
    );
    let mut pads = Vec::new();
    for entry in entries {
        let heat = pad_heat(entry, reading);
        let (Some(name), Some(thickness)) = (&entry.name, &entry.thickness_mm) else {
            continue;
        };
        let mut pad = Pad {
            name: name.value.clone(),
            thickness_mm: thickness.value,
            compression_min_percent: STOCK_COMPRESSION_MIN_PERCENT,
            compression_max_percent: STOCK_COMPRESSION_MAX_PERCENT,
            source: STOCK_SOURCE.into(),
            from_stock: false,
            // What was refused refuses the part: until then any numbers do.
            heat: heat.unwrap_or_else(|| PadHeat::known(None, None, None)),
        };
        if let Some(window) = &entry.compression_percent {
            let [least, most] = window.value;
            if least >= most || most >= 100.0 {
                reading.findings.push(
                    Diagnostic::error(format!(
                        "a compression from {} % to {} % is no window",
                        plain(least),
                        plain(most)
                    ))
                    .id("part-backwards")
                    .at(&window.span)
                    .help("give the least and the largest compression, as in [10, 40], below 100"),
                );
                continue;
            }
            pad.compression_min_percent = least;
            pad.compression_max_percent = most;
            pad.source = "part file".into();
        } else {
            defaults.push(DefaultUsed {
                key: format!("pad \"{}\" compression_percent", name.value),
                value: format!(
                    "[{}, {}]",
                    plain(pad.compression_min_percent),
                    plain(pad.compression_max_percent)
                ),
                reason: pad.source.clone(),
            });
        }
        assumed_heat(&pad, entry, assumed);
        pads.push(pad);
    }
    pads
}

/// What a pad does to heat; `None` when what is written cannot be used.
fn pad_heat(entry: &PadEntry, reading: &mut Reading) -> Option<PadHeat> {
    let printed_w_mk = entry.conductivity_w_mk.as_ref().map(|at| at.value);
    let (effective, contact) = (&entry.effective_w_mk, &entry.contact_mm2k_w);
    let Some(measured) = &entry.measured else {
        return Some(PadHeat::known(
            printed_w_mk,
            effective.as_ref().map(|at| at.value),
            contact.as_ref().map(|at| at.value),
        ));
    };
    let given = [
        effective.as_ref().map(|at| ("effective_w_mk", &at.span)),
        contact.as_ref().map(|at| ("contact_mm2k_w", &at.span)),
    ];
    if let Some((key, span)) = given.into_iter().flatten().next() {
        reading.findings.push(
            Diagnostic::error(format!(
                "both `measured` and `{key}` say what this pad does to heat"
            ))
            .id("part-said-twice")
            .at(span)
            .also(&measured.span, "the measured pairs")
            .help("keep measured: conductivity and faces follow from it")
            .help("or keep effective_w_mk and contact_mm2k_w, and delete measured"),
        );
        return None;
    }
    let count = measured.value.len();
    if !(2..=MOST_PAIRS).contains(&count) {
        reading.findings.push(
            Diagnostic::error(format!(
                "`measured` needs 2 to {MOST_PAIRS} pairs, this one has {count}"
            )).id("part-measured-pairs")
            .at(&measured.span)
            .help("give [thickness in mm, impedance in mm²K/W] of two thicknesses or more: measured = [[0.5, 150.0], [1.0, 275.0]]"),
        );
        return None;
    }
    let fit = ImpedanceFit::of(&measured.value).map_err(|error| {
        let way_out = match error {
            ImpedanceError::OneThickness => {
                "measure two thicknesses or more, at least 0.01 mm apart; of one alone give effective_w_mk and contact_mm2k_w"
            }
            ImpedanceError::DoesNotGrow { .. } => {
                "a pair is [pressed thickness in mm, impedance in mm²K/W]: the thicker, the more; look at their order"
            }
            ImpedanceError::Scattered { .. } => {
                "measure more thicknesses, farther apart; or delete measured and give what the pack says, conductivity_w_mk"
            }
            ImpedanceError::BelowZero { .. } => {
                "look whether the thickness is that of the pressed pad, and whether area and heat are right"
            }
        };
        Diagnostic::error(error.to_string()).id("part-measured-pairs").at(&measured.span).help(way_out)
    });
    let fit = match fit {
        Ok(fit) => fit,
        Err(finding) => {
            reading.findings.push(finding);
            return None;
        }
    };
    if let Some(objection) = CONDUCTIVITY_W_MK.objection(fit.conductivity_w_mk) {
        reading.findings.push(
            Diagnostic::error(format!("from the measured pairs, {objection}"))
                .id("part-measured-pairs")
                .at(&measured.span)
                .help("impedances are in mm²K/W (100 of them are 1 cm²K/W), thicknesses in mm"),
        );
        return None;
    }
    Some(PadHeat::measured(fit, printed_w_mk))
}

/// Tells what of a pad's heat is assumed.
fn assumed_heat(pad: &Pad, entry: &PadEntry, assumed: &mut Assumed) {
    if pad.heat.fit.is_some() {
        return;
    }
    let (effective, contact) = (entry.effective_w_mk.as_ref(), entry.contact_mm2k_w.as_ref());
    assumed.pad(&pad.name, pad, effective.is_none(), contact.is_none());
    assumed.pad_spreads(&pad.name, effective, contact);
}
