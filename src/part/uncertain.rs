//! What is not known exactly: every measured or assumed number of a part with how far it may be off, in one list.
//!
//! Where nobody says how far, there is one half-width for gaps, heat and press, with its reason and its source. Gaps, heat
//! and press ask for their own numbers; this list is for whoever asks about all of them.

use super::spread::{
    AIR, BACKS, BOARD, DIE_CLEARANCE, DIE_STIFFNESS, EVAPORATION, FRICTION, HARDENING, HEAT,
    JUNCTION_BY_KIND, LENGTH, OTHER_HEAT, PAD_CONTACT, PAD_PRINTED, PIPE_TEMPERATURE, STRENGTH,
    Size, Spread, THICKNESS, TO_AIR,
};
use super::{COMMON_VISE, Component, HeatPipe, Part, Sink, ViseForce};
use crate::quantity::Toleranced;
use crate::stock::Pad;
use serde::Serialize;

/// How values lie between the limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Distribution {
    /// Evenly: all that a plus-minus says when nothing more is known.
    Uniform,
    /// As a bell, with three standard deviations to each limit.
    NormalThreeSigma,
}

/// One number that is not known exactly.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Uncertain {
    /// Tells it from all others of the part: "component.heat_w of Q1".
    pub id: String,
    /// Key of the part file, "component.heat_w".
    pub key: &'static str,
    /// Name of the thing, where there may be several.
    pub name: Option<String>,
    /// The number.
    pub value: f64,
    /// Half-width of the band around it.
    pub plus_minus: f64,
    /// Unit of both; empty for ratios.
    pub unit: &'static str,
    /// How values lie in the band.
    pub distribution: Distribution,
    /// Whether the half-width was given; if not, it is a default.
    pub given: bool,
    /// Whether the answers of gaps, heat and press count it: lengths without a half-width count as exact.
    pub counted: bool,
    /// Why the half-width is this large.
    pub reason: String,
    /// Where it comes from.
    pub source: String,
}

/// Tells a number from all others of a part.
pub(super) fn id(key: &str, name: Option<&str>) -> String {
    name.map_or_else(|| key.to_owned(), |name| format!("{key} of {name}"))
}

/// Everything of a part that is not known exactly, in the order of the part file.
///
/// Heat is listed where the part says something of it.
///
/// ```
/// use coldstep::part::{parse, starter::STARTER, uncertain};
///
/// let part = parse(STARTER).map_err(|findings| format!("{findings:?}"))?.value;
/// let rows = uncertain::of(&part);
/// let height = rows.iter().find(|row| row.id == "component.height_mm of Q1");
/// assert!(height.is_some_and(|row| row.given && row.plus_minus == 0.05));
/// # Ok::<(), String>(())
/// ```
pub fn of(part: &Part) -> Vec<Uncertain> {
    let mut list = List {
        part,
        rows: Vec::new(),
    };
    list.sheet();
    for flat in &part.flats {
        list.length("flat.underside_mm", &flat.name, flat.underside_mm);
    }
    let asks = !part.thermal.pipes.is_empty()
        || part.components.iter().any(|one| one.heat.heat_w.is_some());
    for component in &part.components {
        list.component(component, asks);
    }
    for plate in &part.extensions {
        list.length("extension.thickness_mm", &plate.name, plate.thickness_mm);
    }
    if asks {
        list.pads();
        list.surroundings();
        for pipe in &part.thermal.pipes {
            list.pipe(pipe);
        }
        let old = part.thermal.old_plate.as_ref();
        if let Some(underside_mm) = old.and_then(|old| old.underside_mm) {
            list.row("old_plate.underside_mm", None, underside_mm, "mm", &LENGTH);
        }
    }
    list.press();
    list.rows
}

struct List<'a> {
    part: &'a Part,
    rows: Vec<Uncertain>,
}

impl List<'_> {
    /// A number whose half-width was given, was assumed, or is that of the spread where it has none.
    fn row(
        &mut self,
        key: &'static str,
        name: Option<&str>,
        number: Toleranced,
        unit: &'static str,
        spread: &Spread,
    ) {
        let id = id(key, name);
        let assumed = self.part.spreads_assumed.get(&id).copied();
        let assumed = assumed.or(number.plus_minus.is_none().then_some(*spread));
        let (reason, source) = assumed.map_or(("as the part says", "part file"), |spread| {
            (spread.reason, spread.source)
        });
        let whole = spread.on(number);
        self.rows.push(Uncertain {
            id,
            key,
            name: name.map(str::to_owned),
            value: whole.value,
            plus_minus: whole.plus_minus.unwrap_or(0.0),
            unit,
            distribution: Distribution::Uniform,
            given: assumed.is_none(),
            counted: number.plus_minus.is_some(),
            reason: reason.to_owned(),
            source: source.to_owned(),
        });
    }

    fn length(&mut self, key: &'static str, name: &str, number: Toleranced) {
        self.row(key, Some(name), number, "mm", &LENGTH);
    }

    fn sheet(&mut self) {
        let sheet = &self.part.sheet;
        let thickness = Toleranced {
            value: sheet.thickness_mm,
            plus_minus: sheet.thickness_plus_minus_mm,
        };
        self.row("sheet.thickness_mm", None, thickness, "mm", &THICKNESS);
        // The stock table's tolerance is among the defaults, with its standard.
        let mut defaults = self.part.defaults.iter();
        let table = defaults.find(|used| used.key == "sheet.thickness_mm plus_minus");
        if let Some(row) = self.rows.last_mut() {
            row.counted = true;
            if let Some(table) = table {
                row.given = false;
                row.reason = "tolerance of the sheet as it is sold".into();
                row.source.clone_from(&table.reason);
            }
        }
    }

    fn component(&mut self, component: &Component, asks: bool) {
        let (name, heat) = (component.name.as_str(), &component.heat);
        self.length("component.height_mm", name, component.height_mm);
        if !asks {
            return;
        }
        if let Some(heat_w) = heat.heat_w {
            self.row("component.heat_w", Some(name), heat_w, "W", &HEAT);
            for (key, number) in [
                ("component.junction_to_top_k_w", heat.junction_to_top_k_w),
                (
                    "component.junction_to_board_k_w",
                    heat.junction_to_board_k_w,
                ),
            ] {
                self.row(key, Some(name), number, "K/W", &JUNCTION_BY_KIND);
            }
        }
        if let Some(gap_mm) = heat.old.gap_mm {
            self.length("component.old_gap_mm", name, gap_mm);
        }
    }

    /// Each pad at hand or in use once.
    fn pads(&mut self) {
        let part = self.part;
        let new = part.components.iter().filter_map(|one| one.treatment.pad());
        let old = part
            .components
            .iter()
            .filter_map(|one| one.heat.old.pad.as_ref());
        let mut pads: Vec<&Pad> = part.pads.iter().collect();
        for pad in new.chain(old) {
            if !pads.iter().any(|known| known.name == pad.name) {
                pads.push(pad);
            }
        }
        for pad in pads {
            let name = Some(pad.name.as_str());
            let (conductivity, contact) = (pad.heat.conductivity_w_mk, pad.heat.contact_mm2k_w);
            self.row(
                "pad.effective_w_mk",
                name,
                conductivity,
                "W/(m K)",
                &PAD_PRINTED,
            );
            self.row("pad.contact_mm2k_w", name, contact, "mm²K/W", &PAD_CONTACT);
        }
    }

    fn surroundings(&mut self) {
        let thermal = &self.part.thermal;
        self.row("heat.air_c", None, thermal.air_c, "°C", &AIR);
        if let Some(board_c) = thermal.board_c {
            self.row("heat.board_c", None, board_c, "°C", &BOARD);
        }
    }

    fn pipe(&mut self, pipe: &HeatPipe) {
        let name = Some(pipe.name.as_str());
        let evaporation = pipe.evaporation_mm2k_w;
        self.row(
            "heat_pipe.evaporation_mm2k_w",
            name,
            evaporation,
            "mm²K/W",
            &EVAPORATION,
        );
        match pipe.sink {
            Sink::Held { temperature_c } => {
                self.row(
                    "heat_pipe.temperature_c",
                    name,
                    temperature_c,
                    "°C",
                    &PIPE_TEMPERATURE,
                );
            }
            Sink::ToAir {
                resistance_k_w,
                other_heat_w,
            } => {
                self.row("heat_pipe.to_air_k_w", name, resistance_k_w, "K/W", &TO_AIR);
                self.row(
                    "heat_pipe.other_heat_w",
                    name,
                    other_heat_w,
                    "W",
                    &OTHER_HEAT,
                );
            }
        }
    }

    /// What the pressing changes one by one to see what it does.
    fn press(&mut self) {
        let part = self.part;
        let plastic = part.printer.plastic.data();
        let youngs_mpa = part.printer.youngs_mpa.unwrap_or(plastic.youngs_mpa);
        let metal = &part.sheet.metal;
        let hardening = Spread {
            size: Size::Absolute(HARDENING.of(metal.tensile_mpa - metal.proof_mpa)),
            ..HARDENING
        };
        for (key, value, unit, spread) in [
            (
                "material.proof_mpa",
                part.sheet.metal.proof_mpa,
                "MPa",
                &STRENGTH,
            ),
            (
                "material.tensile_mpa",
                part.sheet.metal.tensile_mpa,
                "MPa",
                &hardening,
            ),
            ("dies.friction", part.dies.friction, "", &FRICTION),
            (
                "dies.clearance_mm",
                part.dies.clearance_mm,
                "mm",
                &DIE_CLEARANCE,
            ),
            ("printer.youngs_mpa", youngs_mpa, "MPa", &DIE_STIFFNESS),
            (
                "printer.size_error_mm",
                part.printer.size_error_mm,
                "mm",
                &BACKS,
            ),
        ] {
            self.row(key, None, Toleranced::exact(value), unit, spread);
            if let Some(row) = self.rows.last_mut() {
                row.counted = true;
            }
        }
        self.vise();
    }

    /// How hard the vise pulls: by its screw where that is said, else as a common one; what is measured has no half-width.
    fn vise(&mut self) {
        let force = self.part.vise.as_ref().and_then(|vise| vise.force);
        let (key, ends, unit, reason) = match force {
            Some(ViseForce::Given { .. }) => return,
            Some(ViseForce::Screw { efficiency, .. }) => (
                "vise.efficiency",
                efficiency,
                "",
                "screws and their grease differ",
            ),
            None => (
                "vise.force_n",
                COMMON_VISE.force_n(),
                "N",
                "nobody says how hard the vise pulls: a common one by hand",
            ),
        };
        let [least, most] = ends;
        let given = matches!(force, Some(ViseForce::Screw { .. }))
            && !self.part.defaults.iter().any(|used| used.key == key);
        self.rows.push(Uncertain {
            id: id(key, None),
            key,
            name: None,
            value: f64::midpoint(least, most),
            plus_minus: (most - least) / 2.0,
            unit,
            distribution: Distribution::Uniform,
            given,
            counted: true,
            reason: if given { "as the part says" } else { reason }.to_owned(),
            source: if given {
                "part file"
            } else {
                "common practice, no source"
            }
            .to_owned(),
        });
    }
}

#[cfg(test)]
mod tests {
    use super::super::spread::JUNCTION_GIVEN;
    use super::*;
    use crate::part::parse;
    use crate::part::starter::STARTER;

    fn rows(text: &str) -> Vec<Uncertain> {
        of(&parse(text).unwrap().value)
    }

    fn row<'a>(rows: &'a [Uncertain], id: &str) -> &'a Uncertain {
        let mut found = rows.iter().filter(|row| row.id == id);
        let row = found.next().unwrap_or_else(|| panic!("{id}: {rows:#?}"));
        assert!(found.next().is_none(), "{id} stands twice");
        row
    }

    #[test]
    fn given_and_assumed_are_told_apart() {
        let text = STARTER
            .replacen(
                "heat_w = 3.0  ",
                "heat_w = { value = 3.0, plus_minus = 0.5 }  ",
                1,
            )
            .replacen(
                "# junction_to_top_k_w = 5.0",
                "junction_to_top_k_w = 5.0",
                1,
            );
        let rows = rows(&text);
        for (id, plus_minus, given) in [
            ("component.heat_w of Q1", 0.5, true),
            ("component.heat_w of Q2", 0.6, false),
            ("component.junction_to_top_k_w of Q1", 1.25, false),
            ("component.junction_to_board_k_w of Q1", 1.8, false),
            ("component.height_mm of L1", 0.1, true),
            ("component.height_mm of C1", 0.05, false),
            ("flat.underside_mm of stages", 0.05, false),
            ("heat.air_c", 2.0, false),
            ("heat.board_c", 10.0, false),
            ("heat_pipe.temperature_c of pipe 1", 3.0, false),
            ("heat_pipe.evaporation_mm2k_w of pipe 1", 15.0, false),
            ("pad.contact_mm2k_w of soft 1.0", 20.0, false),
        ] {
            let row = row(&rows, id);
            assert!((row.plus_minus - plus_minus).abs() < 1e-12, "{row:?}");
            assert_eq!(row.given, given, "{row:?}");
            assert!(!row.reason.is_empty() && !row.source.is_empty(), "{row:?}");
            assert_eq!(row.source == "part file", given, "{row:?}");
        }
        // By its kind alone, by a data sheet, by the pack.
        let reason = |id: &str| row(&rows, id).reason.clone();
        assert_eq!(
            reason("component.junction_to_top_k_w of Q1"),
            JUNCTION_GIVEN.reason
        );
        assert_eq!(
            reason("component.junction_to_board_k_w of Q1"),
            JUNCTION_BY_KIND.reason
        );
        assert_eq!(reason("pad.effective_w_mk of soft 1.0"), PAD_PRINTED.reason);
        // A length of which nobody said how far it is off counts as exact in the gaps.
        assert!(!row(&rows, "component.height_mm of C1").counted);
        assert!(row(&rows, "component.height_mm of L1").counted);
    }

    #[test]
    fn the_sheet_has_the_tolerance_of_its_table() {
        let found = rows(STARTER);
        let thickness = row(&found, "sheet.thickness_mm");
        assert!(
            !thickness.given && thickness.source.contains("EN"),
            "{thickness:?}"
        );
        let told = STARTER.replace(
            "thickness_mm = 1.0\ninside",
            "thickness_mm = { value = 1.0, plus_minus = 0.02 }\ninside",
        );
        let found = rows(&told);
        let thickness = row(&found, "sheet.thickness_mm");
        assert!(
            thickness.given && thickness.plus_minus == 0.02,
            "{thickness:?}"
        );
    }

    /// Its screw as a file tells it or as screws are; a force that was measured is no row.
    #[test]
    #[allow(clippy::format_collect)] // A few lines, once.
    fn a_vise_pulls_as_hard_as_is_said() {
        let bare = STARTER
            .lines()
            .filter(|line| !line.starts_with("efficiency"));
        let bare: String = bare.map(|line| format!("{line}\n")).collect();
        let with = |text: &str| bare.replacen("jaw_width_mm", &format!("{text}\njaw_width_mm"), 1);
        let found = rows(&with(""));
        let screw = row(&found, "vise.efficiency");
        assert!(
            !screw.given && (screw.value - 0.25).abs() < 1e-12,
            "{screw:?}"
        );
        let found = rows(&with("efficiency = [0.2, 0.3]"));
        let screw = row(&found, "vise.efficiency");
        assert!(
            screw.given && (screw.plus_minus - 0.05).abs() < 1e-12,
            "{screw:?}"
        );
    }

    #[test]
    fn every_key_is_one_of_the_part_file() {
        for row in rows(STARTER) {
            let (table, key) = row.key.split_once('.').unwrap();
            let mut tables = crate::part::Design::TABLES.iter();
            let table = tables.find(|known| known.name == table);
            assert!(
                table.is_some_and(|table| table.key(key).is_some()),
                "{}",
                row.key
            );
        }
    }

    #[test]
    fn half_widths_among_the_defaults_are_rows_of_the_list() {
        let part = parse(STARTER).unwrap().value;
        let rows = of(&part);
        let mut asked = 0;
        for used in part
            .defaults
            .iter()
            .filter(|used| used.key.contains(" plus_minus"))
        {
            let key = used.key.split(' ').next().unwrap();
            let row = rows.iter().find(|row| row.key.ends_with(key) && !row.given);
            assert!(row.is_some_and(|row| row.source == used.reason), "{used:?}");
            asked += 1;
        }
        assert!(asked > 3, "{asked}");
    }
}
