//! Checks what the part file says of heat, and fills in what it leaves out.

use super::DefaultUsed;
use super::board::{self, PadsAtHand};
use super::file::{ComponentEntry, HeatEntry, OldPlateEntry, PartFile};
use super::reader::{At, FILE, Reading};
use super::thermal::{Joint, OldOver, OldPlate, PartHeat};
use super::words::{JointKind, Kind, SheetMaterial};
use crate::diagnostic::Diagnostic;
use crate::quantity::{Toleranced, plain};
use crate::stock::pad_heat::{
    CONTACT_SPREAD_SHARE, EFFECTIVE_SHARE, EFFECTIVE_SPREAD_SHARE, MEASURED_SPREAD_SHARE,
    UNKNOWN_PRINTED_W_MK,
};
use crate::stock::{Material, Metal, Pad};

/// Half-width of a number whose writer gave none.
#[derive(Debug, Clone, Copy)]
pub enum Spread {
    /// Over the value.
    Share(f64),
    /// In the unit of the value.
    Absolute(f64),
}

impl Spread {
    fn of(self, value: f64) -> f64 {
        match self {
            Self::Share(share) => share * value,
            Self::Absolute(half_width) => half_width,
        }
    }

    /// The number with this half-width, unless it has its own.
    pub fn on(self, number: Toleranced) -> Toleranced {
        Toleranced {
            value: number.value,
            plus_minus: number.plus_minus.or(Some(self.of(number.value))),
        }
    }

    /// As told among the defaults.
    pub fn words(self) -> String {
        match self {
            Self::Share(share) => format!("{} %", plain(100.0 * share)),
            Self::Absolute(half_width) => plain(half_width),
        }
    }
}

/// Where the half-widths below come from.
pub const OWN_CHOICE: &str = "own choice";

// Half-widths where the file gives none. All of them are own choices, no source.

/// Heat of a part: mostly calculated, or read off a screen.
pub const HEAT: Spread = Spread::Share(0.2);
/// Resistances inside a part, given: a data sheet measures them on a board of its own.
pub const JUNCTION_GIVEN: Spread = Spread::Share(0.25);
/// Resistances inside a part, by its kind alone: they differ by a factor of two.
pub const JUNCTION_BY_KIND: Spread = Spread::Share(0.6);
/// A heat pipe's temperature: a thermocouple taped to it.
pub const PIPE_TEMPERATURE: Spread = Spread::Absolute(3.0);
/// Air.
pub const AIR: Spread = Spread::Absolute(2.0);
/// Board: it is not equally warm everywhere.
pub const BOARD: Spread = Spread::Absolute(10.0);
/// From a heat pipe to the air.
pub const TO_AIR: Spread = Spread::Share(0.15);
/// Heat that a pipe carries besides.
pub const OTHER_HEAT: Spread = Spread::Share(0.15);
/// Wall and wick of a pipe.
pub const EVAPORATION: Spread = Spread::Share(0.5);

/// Air where the file does not say, °C: inside a case. Common practice, no source.
pub const DEFAULT_AIR_C: f64 = 30.0;
/// Natural convection and radiation of a small plate, W/(m²·K). From memory.
pub const DEFAULT_LOSS_W_M2K: f64 = 5.0;

/// Thickness in mm, conductivity in W/(m·K) and voids in % of a joint where the file does not say, and why these.
pub const fn usual_joint(kind: JointKind) -> (f64, f64, f64, &'static str) {
    match kind {
        JointKind::Solder => (
            0.1,
            20.0,
            10.0,
            "low-melting tin-bismuth solder, with the voids of hand work; from memory",
        ),
        JointKind::Paste => (0.05, 4.0, 0.0, "a usual thermal paste; from memory"),
        JointKind::Adhesive => (0.1, 1.0, 0.0, "a usual thermal adhesive; from memory"),
    }
}

/// From a part's inside to its top and into the board, K/W, by its kind. From memory: parts of a kind differ by a factor
/// of two.
const fn usual_junction_k_w(kind: Kind) -> [f64; 2] {
    match kind {
        Kind::PowerStage => [5.0, 3.0],
        Kind::Inductor => [4.0, 10.0],
        Kind::Memory => [4.0, 12.0],
        Kind::Capacitor => [10.0, 30.0],
        Kind::Other => [8.0, 20.0],
    }
}

const JUNCTION_REASON: &str =
    "by its kind, from memory; parts of a kind differ by a factor of two: look into the data sheet";

/// Whether the file asks anything about heat.
pub fn asks(file: &PartFile) -> bool {
    !file.heat_pipes.is_empty() || file.components.iter().any(|entry| entry.heat_w.is_some())
}

/// Defaults about heat, told only where the file asks about it: alike ones in one row, with the names of all.
#[derive(Debug, Default)]
pub struct Assumed {
    rows: Vec<(DefaultUsed, Vec<String>)>,
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
                OWN_CHOICE,
            );
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
        for (key, given, share) in [
            ("pad.effective_w_mk", effective, MEASURED_SPREAD_SHARE),
            ("pad.contact_mm2k_w", contact, CONTACT_SPREAD_SHARE),
        ] {
            if let Some(at) = given {
                self.spread(key, Some(name), at.value, Spread::Share(share));
            }
        }
    }

    /// All of them as rows.
    pub fn into_rows(self) -> impl Iterator<Item = DefaultUsed> {
        self.rows.into_iter().map(|(mut used, names)| {
            if !names.is_empty() {
                used.key = format!("{} of {}", used.key, board::listed(&names));
            }
            used
        })
    }
}

/// What `[heat]` says, or would: air, board, loss of bare faces.
pub fn surroundings(
    entry: Option<&HeatEntry>,
    assumed: &mut Assumed,
) -> (Toleranced, Option<Toleranced>, f64) {
    let none = HeatEntry::default();
    let given = entry.unwrap_or(&none);
    let air_c = if let Some(at) = &given.air_c {
        assumed.spread("heat.air_c", None, at.value, AIR)
    } else {
        assumed.add(
            "heat.air_c",
            None,
            format!("{} ± {}", plain(DEFAULT_AIR_C), AIR.words()),
            "air inside a case; common practice, no source",
        );
        AIR.on(Toleranced::exact(DEFAULT_AIR_C))
    };
    let board_c = given
        .board_c
        .as_ref()
        .map(|at| assumed.spread("heat.board_c", None, at.value, BOARD));
    if board_c.is_none() {
        assumed.add(
            "heat.board_c",
            None,
            "none".into(),
            "no heat flows into the board; measure it away from the hot parts",
        );
    }
    let loss_w_m2k = given.loss_w_m2k.as_ref().map_or_else(
        || {
            assumed.add(
                "heat.loss_w_m2k",
                None,
                plain(DEFAULT_LOSS_W_M2K),
                "natural convection and radiation of a small plate; from memory",
            );
            DEFAULT_LOSS_W_M2K
        },
        |at| at.value,
    );
    (air_c, board_c, loss_w_m2k)
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

/// What the file says of the old plate.
pub fn old_plate(
    entry: Option<&OldPlateEntry>,
    reading: &mut Reading,
    assumed: &mut Assumed,
) -> Option<OldPlate> {
    let entry = entry?;
    let material = match &entry.material {
        Some(at) => at.value,
        None => SheetMaterial::Stock(Material::Copper),
    };
    let stock = match material {
        SheetMaterial::Stock(material) => Metal::tempers(material)
            .first()
            .and_then(|temper| Metal::stock(material, *temper))
            .map(|metal| (material.trade_name().to_owned(), metal.conductivity_w_mk)),
        SheetMaterial::Own => None,
    };
    let given = entry.conductivity_w_mk.as_ref().map(|at| at.value);
    if let (None, Some(material)) = (&stock, &entry.material)
        && given.is_none()
        && reading.lacks(&entry.span, &["conductivity_w_mk"])
    {
        reading.findings.push(
            Diagnostic::error("an old plate of a metal of your own needs `conductivity_w_mk`")
                .at(&material.span)
                .help("add conductivity_w_mk = 390.0 below [old_plate], or name a material of the stock table"),
        );
    }
    if entry.material.is_none()
        && given.is_none()
        && let Some((name, conductivity_w_mk)) = &stock
    {
        assumed.add(
            "old_plate.material",
            None,
            format!("{name}, {} W/(m K)", plain(*conductivity_w_mk)),
            "most cold plates are; common practice, no source",
        );
    }
    // A conductivity alone does not say which metal it is.
    let name = match (&entry.material, given) {
        (None, Some(conductivity_w_mk)) => {
            format!("metal of {} W/(m K)", plain(conductivity_w_mk))
        }
        _ => stock
            .as_ref()
            .map_or_else(|| "own material".to_owned(), |(name, _)| name.clone()),
    };
    Some(OldPlate {
        name,
        conductivity_w_mk: given.or(stock.map(|(_, conductivity_w_mk)| conductivity_w_mk))?,
        thickness_mm: entry.thickness_mm.as_ref()?.value,
        underside_mm: entry.underside_mm.as_ref().map(|at| at.value),
        span: entry.span.clone(),
    })
}

/// What a board part has to do with heat.
pub fn part_heat(
    entry: &ComponentEntry,
    pads: PadsAtHand<'_>,
    old_plate: Option<&OldPlateEntry>,
    reading: &mut Reading,
    assumed: &mut Assumed,
) -> PartHeat {
    let name = entry.name.as_ref().map(|at| at.value.as_str());
    let kind = entry.kind.as_ref().map_or(Kind::Other, |at| at.value);
    let heat_w = entry
        .heat_w
        .as_ref()
        .map(|at| assumed.spread("heat_w", name, at.value, HEAT));
    let mut junction = |key: &str, at: Option<&At<Toleranced>>, usual: f64| {
        if let Some(at) = at {
            return assumed.spread(key, name, at.value, JUNCTION_GIVEN);
        }
        // Where no heat is made, nobody needs to know.
        if heat_w.is_some() {
            let value = format!("{} ± {}", plain(usual), JUNCTION_BY_KIND.words());
            assumed.add(key, name, value, JUNCTION_REASON);
        }
        JUNCTION_BY_KIND.on(Toleranced::exact(usual))
    };
    let [to_top, to_board] = usual_junction_k_w(kind);
    let junction_to_top_k_w = junction(
        "junction_to_top_k_w",
        entry.junction_to_top_k_w.as_ref(),
        to_top,
    );
    let junction_to_board_k_w = junction(
        "junction_to_board_k_w",
        entry.junction_to_board_k_w.as_ref(),
        to_board,
    );
    PartHeat {
        heat_w,
        limit_c: entry.limit_c.as_ref().map(|at| at.value),
        junction_to_top_k_w,
        junction_to_board_k_w,
        old: old_over(entry, pads, old_plate, reading, assumed),
    }
}

/// What the old plate had over a part.
fn old_over(
    entry: &ComponentEntry,
    pads: PadsAtHand<'_>,
    old_plate: Option<&OldPlateEntry>,
    reading: &mut Reading,
    assumed: &mut Assumed,
) -> OldOver {
    let Some(plate) = old_plate else {
        let written = [
            entry.old_pad.as_ref().map(|at| (&at.span, "old_pad")),
            entry.old_gap_mm.as_ref().map(|at| (&at.span, "old_gap_mm")),
        ];
        if let Some((span, key)) = written.into_iter().flatten().next()
            && reading.lacks(&FILE, &["old_plate"])
        {
            reading.findings.push(
                Diagnostic::error(format!(
                    "this component has `{key}`, but the part file has no [old_plate]"
                ))
                .at(span)
                .help("add [old_plate] and below it thickness_mm = 0.8: it was under that plate")
                .help("or delete old_pad and old_gap_mm: then no old plate is compared"),
            );
        }
        return OldOver::default();
    };
    let pad = entry
        .old_pad
        .as_ref()
        .and_then(|wanted| board::pad_called(wanted, pads, reading));
    if let Some(pad) = &pad {
        assumed.stock_pad(pad);
    }
    let gap_mm = match (&entry.old_gap_mm, &plate.underside_mm, &entry.height_mm) {
        (Some(given), _, _) => Some(given.value),
        (None, Some(underside), Some(height)) => {
            let gap_mm = less(underside.value, height.value);
            if let (Some(old_pad), true) = (&entry.old_pad, gap_mm.value <= 0.0) {
                reading.findings.push(
                    Diagnostic::error(format!(
                        "the old plate's underside, {} mm above the board, leaves this component, {} mm high, no gap for a pad",
                        plain(underside.value.value),
                        plain(height.value.value)
                    ))
                    .at(&old_pad.span)
                    .also(&underside.span, "the old plate's underside")
                    .help("give the gap that was here, old_gap_mm = 1.6: the old plate had more than one level")
                    .help("or measure underside_mm and height_mm again"),
                );
            }
            // What stands higher than the plate stood beside it, or in a hole of it.
            (gap_mm.value > 0.0).then_some(gap_mm)
        }
        (None, underside, _) => {
            if let (Some(old_pad), None) = (&entry.old_pad, underside)
                && reading.lacks(&entry.span, &["old_gap_mm"])
                && reading.lacks(&plate.span, &["underside_mm"])
            {
                reading.findings.push(
                    Diagnostic::error("how far this component was below the old plate is not said")
                        .at(&old_pad.span)
                        .help("add old_gap_mm = 1.6 to this component")
                        .help("or underside_mm = 3.0 to [old_plate], if it was level: its height is then taken off"),
                );
            }
            None
        }
    };
    OldOver { pad, gap_mm }
}

/// One measured number less another; half-widths add as those of two that do not know of each other.
fn less(one: Toleranced, other: Toleranced) -> Toleranced {
    let both = [one.plus_minus, other.plus_minus];
    Toleranced {
        value: one.value - other.value,
        plus_minus: both.iter().any(Option::is_some).then(|| {
            let squares = both
                .iter()
                .flatten()
                .map(|half_width| half_width * half_width);
            squares.sum::<f64>().sqrt()
        }),
    }
}
