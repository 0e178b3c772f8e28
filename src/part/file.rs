//! The part file as written: a mirror of the TOML in which every value keeps its place.
//!
//! Reading finds wrong shapes, wrong words, numbers out of range and unknown keys. What only makes sense
//! together (a flat that overlaps the next, a hole outside the plate) is found by [`super::check`].

use super::reader::{At, Radii, Reading, Section, printable, within};
use super::words::{Cheeks, Edge, Grain, JointKind, KRuleWord, Kind, SheetMaterial, TiltWord};
use crate::diagnostic::{Diagnostic, Span};
use crate::quantity::{self as q, Toleranced};
use crate::stock::{HandbookRow, Plastic, Temper};
use toml::de::DeTable;

/// Most tables of one kind; beyond it a drawing or a table helps nobody.
pub const MOST_COMPONENTS: usize = 2000;
const MOST_FLATS: usize = 40;
const MOST_OTHERS: usize = 200;
const LONGEST_NAME: usize = 60;

macro_rules! mirror {
    ($($(#[$doc:meta])* $name:ident { $($field:ident: $type:ty),* $(,)? })*) => {
        $($(#[$doc])* #[derive(Debug, Clone, Default)] #[allow(missing_docs)]
        pub struct $name { pub span: Span, $(pub $field: Option<At<$type>>),* })*
    };
}

mirror! {
    /// `[part]`
    PartEntry { name: String, note: String }
    /// `[sheet]`
    SheetEntry {
        material: SheetMaterial, temper: Temper, thickness_mm: Toleranced, inside_radius_mm: f64,
        k_rule: KRuleWord, k_factor: f64, k_table: Vec<[f64; 2]>, grain: Grain,
    }
    /// `[material]`: overrides of the stock numbers, or a material of one's own.
    MaterialEntry {
        name: String, density_kg_m3: f64, youngs_mpa: f64, poisson: f64, proof_mpa: f64,
        tensile_mpa: f64, elongation_percent: f64, conductivity_w_mk: f64, min_radius_ratio: f64,
        handbook_row: HandbookRow,
    }
    /// `[plate]`
    PlateEntry { width_mm: f64, corner_radius_mm: f64, outline_mm: Vec<[f64; 2]> }
    /// `step = { … }` of a `[[flat]]`: how the sheet gets here from the flat before.
    StepEntry { wall_angle_deg: f64, inside_radius_mm: Radii }
    /// `[[hole]]`
    HoleEntry { name: String, x_mm: f64, y_mm: f64, diameter_mm: f64, size_mm: [f64; 2] }
    /// `[[notch]]`
    NotchEntry { edge: Edge, from_mm: f64, to_mm: f64, depth_mm: f64 }
    /// `[[tab]]`
    TabEntry { edge: Edge, from_mm: f64, to_mm: f64, length_mm: f64 }
    /// `[[component]]`
    ComponentEntry {
        name: String, kind: Kind, x_mm: f64, y_mm: f64, size_mm: [f64; 2], diameter_mm: f64,
        rotation_deg: f64, height_mm: Toleranced, pad: String, keep_out_mm: f64,
        heat_w: Toleranced, limit_c: f64, junction_to_top_k_w: Toleranced,
        junction_to_board_k_w: Toleranced, old_pad: String, old_gap_mm: Toleranced,
    }
    /// `[[extension]]`
    ExtensionEntry {
        name: String, flat: String, from_mm: f64, to_mm: f64, y_from_mm: f64, y_to_mm: f64,
        thickness_mm: Toleranced, solder_mm: f64, solder_conductivity_w_mk: f64, void_percent: f64,
    }
    /// `[[obstacle]]`
    ObstacleEntry {
        name: String, x_mm: f64, y_mm: f64, size_mm: [f64; 2], diameter_mm: f64, rotation_deg: f64,
        bottom_mm: f64, top_mm: f64, clearance_mm: f64,
    }
    /// `[[pad]]`
    PadEntry {
        name: String, thickness_mm: f64, compression_percent: [f64; 2], conductivity_w_mk: f64,
        effective_w_mk: Toleranced, contact_mm2k_w: Toleranced, measured: Vec<[f64; 2]>,
    }
    /// `[heat]`
    HeatEntry { air_c: Toleranced, board_c: Toleranced, loss_w_m2k: f64 }
    /// `[[heat_pipe]]`
    HeatPipeEntry {
        name: String, x_mm: f64, y_mm: f64, size_mm: [f64; 2], rotation_deg: f64, joint: JointKind,
        joint_mm: f64, joint_conductivity_w_mk: f64, void_percent: f64,
        evaporation_mm2k_w: Toleranced, evaporation_k_w: Toleranced, temperature_c: Toleranced,
        to_air_k_w: Toleranced, other_heat_w: Toleranced, limit_c: f64,
    }
    /// `[old_plate]`
    OldPlateEntry {
        thickness_mm: f64, material: SheetMaterial, conductivity_w_mk: f64, underside_mm: Toleranced,
    }
    /// `[printer]`
    PrinterEntry {
        plastic: Plastic, bed_mm: [f64; 3], nozzle_mm: f64, size_error_mm: f64, length_scale: f64,
        infill_percent: f64, wall_mm: f64, compressive_yield_mpa: f64, youngs_mpa: f64,
    }
    /// `[vise]`
    ViseEntry {
        jaw_width_mm: f64, jaw_height_mm: f64, opening_mm: f64, screw_lead_mm: f64,
        handle_length_mm: f64, handle_force_n: f64, efficiency: [f64; 2], force_n: f64,
    }
    /// `[dies]`
    DiesEntry {
        clearance_mm: f64, base_mm: f64, tilt: TiltWord, end_stops: bool, cheeks: Cheeks, pins: bool,
        marks: bool, handling_ledges: bool, corner_relief_mm: f64, chord_error_mm: f64,
        friction: f64,
    }
}

/// `[[flat]]`
#[derive(Debug, Clone, Default)]
#[allow(missing_docs)]
pub struct FlatEntry {
    pub span: Span,
    pub name: Option<At<String>>,
    pub from_mm: Option<At<f64>>,
    pub to_mm: Option<At<f64>>,
    pub underside_mm: Option<At<Toleranced>>,
    pub step: Option<StepEntry>,
}

/// The whole file.
#[derive(Debug, Clone, Default)]
#[allow(missing_docs)]
pub struct PartFile {
    pub part: Option<PartEntry>,
    pub sheet: Option<SheetEntry>,
    pub material: Option<MaterialEntry>,
    pub plate: Option<PlateEntry>,
    pub flats: Vec<FlatEntry>,
    pub holes: Vec<HoleEntry>,
    pub notches: Vec<NotchEntry>,
    pub tabs: Vec<TabEntry>,
    pub components: Vec<ComponentEntry>,
    pub extensions: Vec<ExtensionEntry>,
    pub obstacles: Vec<ObstacleEntry>,
    pub pads: Vec<PadEntry>,
    pub heat: Option<HeatEntry>,
    pub heat_pipes: Vec<HeatPipeEntry>,
    pub old_plate: Option<OldPlateEntry>,
    pub printer: Option<PrinterEntry>,
    pub vise: Option<ViseEntry>,
    pub dies: Option<DiesEntry>,
}

/// Reads a part file as far as it can be read; every finding is in the [`Reading`].
pub fn read(source: &str) -> (PartFile, Reading) {
    let mut reading = Reading::default();
    let (table, errors) = DeTable::parse_recoverable(source);
    for error in &errors {
        reading.forgive_missing = true;
        reading.broken.extend(error.span());
        reading.findings.push(syntax_finding(source, error));
    }
    let file = read_tables(table.get_ref(), &mut reading);
    (file, reading)
}

/// A syntax error in the words of the part file, where the line shows what was meant.
fn syntax_finding(source: &str, error: &toml::de::Error) -> Diagnostic {
    const SHAPE: &str =
        "one `key = value` a line, texts in \"quotes\", tables as [name] or [[name]]";
    let span = error.span().unwrap_or(0..0);
    let line_start = source
        .get(..span.start)
        .and_then(|before| before.rfind('\n'))
        .map_or(0, |at| at + 1);
    let line = source
        .get(line_start..)
        .and_then(|rest| rest.lines().next())
        .unwrap_or("");
    let said = error.message().lines().next().unwrap_or("unreadable");
    let said = said.strip_suffix(", expected nothing").unwrap_or(said);
    let key_and_value = line.split_once('=').map(|(key, value)| {
        let value = value.split('#').next().unwrap_or("");
        (printable(key.trim()), printable(value.trim()))
    });
    if let Some((key, value)) = &key_and_value {
        let decimal_comma = value.split_once(',').is_some_and(|(whole, rest)| {
            let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
            digits(whole.trim_start_matches('-')) && digits(rest)
        });
        if decimal_comma {
            return Diagnostic::error(format!("`{key}` has a decimal comma"))
                .at(&span)
                .help(format!(
                    "write a decimal point: {key} = {}",
                    value.replace(',', ".")
                ));
        }
        if said.starts_with("duplicate key") {
            return Diagnostic::error(format!("`{key}` is given twice"))
                .at(&span)
                .help("keep one of the two lines, or begin the next table between them");
        }
        if value.is_empty() {
            return Diagnostic::error(format!("`{key}` has no value"))
                .at(&span)
                .help("give it a value, or delete the line");
        }
        if said.starts_with("string values must be quoted") {
            return Diagnostic::error(format!("`{key}` has a text without quotes"))
                .at(&span)
                .help(format!("put a text in quotes: {key} = \"{value}\""))
                .help("or write a number with digits and a decimal point only, no unit");
        }
    }
    let finding = Diagnostic::error(format!("not TOML: {said}")).at(&span);
    if said.starts_with("invalid basic string") {
        return finding
            .help(
                "close the text with a quotation mark on its own line, without control characters",
            )
            .help("inside quotes a backslash is written twice");
    }
    finding.help(SHAPE)
}

fn read_tables(table: &DeTable<'_>, r: &mut Reading) -> PartFile {
    let mut root = Section::root(table);
    let file = PartFile {
        part: root.table(r, "part").map(|s| part(s, r)),
        sheet: root.table(r, "sheet").map(|s| sheet(s, r)),
        material: root.table(r, "material").map(|s| material(s, r)),
        plate: root.table(r, "plate").map(|s| plate(s, r)),
        flats: each(&mut root, r, "flat", MOST_FLATS, flat),
        holes: each(&mut root, r, "hole", MOST_OTHERS, hole),
        notches: each(&mut root, r, "notch", MOST_OTHERS, notch),
        tabs: each(&mut root, r, "tab", MOST_OTHERS, tab),
        components: each(&mut root, r, "component", MOST_COMPONENTS, component),
        extensions: each(&mut root, r, "extension", MOST_OTHERS, extension),
        obstacles: each(&mut root, r, "obstacle", MOST_OTHERS, obstacle),
        pads: each(&mut root, r, "pad", MOST_OTHERS, pad),
        heat: root.table(r, "heat").map(|s| heat(s, r)),
        heat_pipes: each(&mut root, r, "heat_pipe", MOST_OTHERS, heat_pipe),
        old_plate: root.table(r, "old_plate").map(|s| old_plate(s, r)),
        printer: root.table(r, "printer").map(|s| printer(s, r)),
        vise: root.table(r, "vise").map(|s| vise(s, r)),
        dies: root.table(r, "dies").map(|s| dies(s, r)),
    };
    for (there, key, title, keys) in [
        (
            file.sheet.is_some(),
            "sheet",
            "[sheet]",
            "material, temper and thickness_mm",
        ),
        (file.plate.is_some(), "plate", "[plate]", "width_mm"),
        (
            !file.flats.is_empty(),
            "flat",
            "[[flat]]",
            "name, from_mm, to_mm and underside_mm",
        ),
        (
            !file.components.is_empty(),
            "component",
            "[[component]]",
            "name, x_mm, y_mm, size_mm and height_mm",
        ),
    ] {
        if !there {
            root.missing_table(r, key, title, keys);
        }
    }
    root.finish(r);
    file
}

fn each<'a, 'i, T>(
    root: &mut Section<'a, 'i>,
    r: &mut Reading,
    key: &'static str,
    most: usize,
    read: fn(Section<'a, 'i>, &mut Reading) -> T,
) -> Vec<T> {
    root.tables(r, key, most)
        .into_iter()
        .map(|section| read(section, r))
        .collect()
}

/// A name: short, without control characters, not empty.
fn name(s: &mut Section<'_, '_>, r: &mut Reading, needed: bool) -> Option<At<String>> {
    text(s, r, "name", needed)
}

fn text(
    s: &mut Section<'_, '_>,
    r: &mut Reading,
    key: &'static str,
    needed: bool,
) -> Option<At<String>> {
    let at: At<String> = if needed {
        s.required(r, key, &format!("{key} = \"…\""))?
    } else {
        s.optional(r, key)?
    };
    let objection = if at.value.trim().is_empty() {
        "is empty"
    } else if at.value.chars().any(char::is_control) {
        "holds a control character (a line break or a tab, for example)"
    } else if at.value.chars().count() > LONGEST_NAME {
        "is longer than 60 characters"
    } else {
        return Some(at);
    };
    r.findings.push(
        Diagnostic::error(format!("`{key}` {objection}"))
            .at(&at.span)
            .help("give a short text on one line, at most 60 characters"),
    );
    None
}

fn free_text(s: &mut Section<'_, '_>, r: &mut Reading, key: &'static str) -> Option<At<String>> {
    let at: At<String> = s.optional(r, key)?;
    if at.value.chars().count() <= 1000 {
        return Some(at);
    }
    r.findings.push(
        Diagnostic::error(format!("`{key}` is longer than 1000 characters"))
            .at(&at.span)
            .help("shorten it; a # comment in the file may be as long as you like"),
    );
    None
}

fn part(mut s: Section<'_, '_>, r: &mut Reading) -> PartEntry {
    let entry = PartEntry {
        span: s.span().clone(),
        name: name(&mut s, r, false),
        note: free_text(&mut s, r, "note"),
    };
    s.finish(r);
    entry
}

fn sheet(mut s: Section<'_, '_>, r: &mut Reading) -> SheetEntry {
    let entry = SheetEntry {
        span: s.span().clone(),
        material: s.required(r, "material", "material = \"copper\""),
        temper: s.optional(r, "temper"),
        grain: s.optional(r, "grain"),
        thickness_mm: s.measured(
            r,
            "thickness_mm",
            &q::THICKNESS_MM,
            Some("thickness_mm = 1.0"),
        ),
        inside_radius_mm: s.number(r, "inside_radius_mm", &q::RADIUS_MM),
        k_rule: s.optional(r, "k_rule"),
        k_factor: s.number(r, "k_factor", &q::K_FACTOR),
        k_table: s.optional::<Vec<[f64; 2]>>(r, "k_table").filter(|at| {
            at.value.iter().all(|[ratio, k]| {
                within(r, *ratio, &at.span, &q::RADIUS_RATIO)
                    & within(r, *k, &at.span, &q::K_FACTOR)
            })
        }),
    };
    let rules: Vec<(&Span, &str)> = [
        entry.k_rule.as_ref().map(|at| (&at.span, "k_rule")),
        entry.k_factor.as_ref().map(|at| (&at.span, "k_factor")),
        entry.k_table.as_ref().map(|at| (&at.span, "k_table")),
    ]
    .into_iter()
    .flatten()
    .collect();
    if let [(first, first_key), (second, second_key), ..] = rules.as_slice() {
        r.findings.push(
            Diagnostic::error(format!(
                "both `{first_key}` and `{second_key}` say how to find K"
            ))
            .at(second)
            .also(first, "the other one")
            .help("keep one of k_rule, k_factor and k_table"),
        );
    }
    s.finish(r);
    entry
}

fn material(mut s: Section<'_, '_>, r: &mut Reading) -> MaterialEntry {
    let entry = MaterialEntry {
        span: s.span().clone(),
        name: name(&mut s, r, false),
        density_kg_m3: s.number(r, "density_kg_m3", &q::DENSITY_KG_M3),
        youngs_mpa: s.number(r, "youngs_mpa", &q::YOUNGS_MPA),
        poisson: s.number(r, "poisson", &q::POISSON),
        proof_mpa: s.number(r, "proof_mpa", &q::STRESS_MPA),
        tensile_mpa: s.number(r, "tensile_mpa", &q::STRESS_MPA),
        elongation_percent: s.number(r, "elongation_percent", &q::PERCENT),
        conductivity_w_mk: s.number(r, "conductivity_w_mk", &q::CONDUCTIVITY_W_MK),
        min_radius_ratio: s.number(r, "min_radius_ratio", &q::RADIUS_RATIO),
        handbook_row: s.optional(r, "handbook_row"),
    };
    s.finish(r);
    entry
}

fn plate(mut s: Section<'_, '_>, r: &mut Reading) -> PlateEntry {
    let entry = PlateEntry {
        span: s.span().clone(),
        width_mm: s.needed_number(r, "width_mm", &q::WIDTH_MM, "width_mm = 30.0"),
        corner_radius_mm: s.number(r, "corner_radius_mm", &q::CORNER_RADIUS_MM),
        outline_mm: s.optional::<Vec<[f64; 2]>>(r, "outline_mm").filter(|at| {
            at.value
                .iter()
                .flatten()
                .all(|place| within(r, *place, &at.span, &q::PLACE_MM))
        }),
    };
    s.finish(r);
    entry
}

fn flat(mut s: Section<'_, '_>, r: &mut Reading) -> FlatEntry {
    let entry = FlatEntry {
        span: s.span().clone(),
        name: name(&mut s, r, true),
        from_mm: s.number(r, "from_mm", &q::PLACE_MM),
        to_mm: s.needed_number(r, "to_mm", &q::PLACE_MM, "to_mm = 18.0"),
        underside_mm: s.measured(r, "underside_mm", &q::HEIGHT_MM, Some("underside_mm = 4.2")),
        step: s.table(r, "step").map(|mut s| {
            let step = StepEntry {
                span: s.span().clone(),
                wall_angle_deg: s.number(r, "wall_angle_deg", &q::WALL_ANGLE_DEG),
                inside_radius_mm: s.optional::<Radii>(r, "inside_radius_mm").filter(|at| {
                    at.value
                        .0
                        .iter()
                        .all(|radius| within(r, *radius, &at.span, &q::RADIUS_MM))
                }),
            };
            s.finish(r);
            step
        }),
    };
    s.finish(r);
    entry
}

fn hole(mut s: Section<'_, '_>, r: &mut Reading) -> HoleEntry {
    let entry = HoleEntry {
        span: s.span().clone(),
        name: name(&mut s, r, false),
        x_mm: s.needed_number(r, "x_mm", &q::PLACE_MM, "x_mm = 6.0"),
        y_mm: s.needed_number(r, "y_mm", &q::PLACE_MM, "y_mm = 4.0"),
        diameter_mm: s.number(r, "diameter_mm", &q::LENGTH_MM),
        size_mm: s.pair(r, "size_mm", &q::LENGTH_MM),
    };
    s.finish(r);
    entry
}

fn notch(mut s: Section<'_, '_>, r: &mut Reading) -> NotchEntry {
    let entry = NotchEntry {
        span: s.span().clone(),
        edge: s.required(r, "edge", "edge = \"front\""),
        from_mm: s.needed_number(r, "from_mm", &q::PLACE_MM, "from_mm = 10.0"),
        to_mm: s.needed_number(r, "to_mm", &q::PLACE_MM, "to_mm = 16.0"),
        depth_mm: s.needed_number(r, "depth_mm", &q::LENGTH_MM, "depth_mm = 4.0"),
    };
    s.finish(r);
    entry
}

fn tab(mut s: Section<'_, '_>, r: &mut Reading) -> TabEntry {
    let entry = TabEntry {
        span: s.span().clone(),
        edge: s.required(r, "edge", "edge = \"back\""),
        from_mm: s.needed_number(r, "from_mm", &q::PLACE_MM, "from_mm = 10.0"),
        to_mm: s.needed_number(r, "to_mm", &q::PLACE_MM, "to_mm = 16.0"),
        length_mm: s.needed_number(r, "length_mm", &q::LENGTH_MM, "length_mm = 5.0"),
    };
    s.finish(r);
    entry
}

fn component(mut s: Section<'_, '_>, r: &mut Reading) -> ComponentEntry {
    let entry = ComponentEntry {
        span: s.span().clone(),
        name: name(&mut s, r, true),
        kind: s.optional(r, "kind"),
        x_mm: s.needed_number(r, "x_mm", &q::PLACE_MM, "x_mm = 12.0"),
        y_mm: s.needed_number(r, "y_mm", &q::PLACE_MM, "y_mm = 10.0"),
        size_mm: s.pair(r, "size_mm", &q::LENGTH_MM),
        diameter_mm: s.number(r, "diameter_mm", &q::LENGTH_MM),
        rotation_deg: s.number(r, "rotation_deg", &q::ROTATION_DEG),
        height_mm: s.measured(r, "height_mm", &q::HEIGHT_MM, Some("height_mm = 3.2")),
        pad: text(&mut s, r, "pad", false),
        keep_out_mm: s.number(r, "keep_out_mm", &q::CLEARANCE_MM),
        heat_w: s.banded(r, "heat_w", &q::HEAT_W, &q::PLUS_MINUS_W),
        limit_c: s.number(r, "limit_c", &q::TEMPERATURE_C),
        junction_to_top_k_w: resistance(&mut s, r, "junction_to_top_k_w"),
        junction_to_board_k_w: resistance(&mut s, r, "junction_to_board_k_w"),
        old_pad: text(&mut s, r, "old_pad", false),
        old_gap_mm: s.banded(r, "old_gap_mm", &q::GAP_MM, &q::PLUS_MINUS_MM),
    };
    s.finish(r);
    entry
}

fn extension(mut s: Section<'_, '_>, r: &mut Reading) -> ExtensionEntry {
    let entry = ExtensionEntry {
        span: s.span().clone(),
        name: name(&mut s, r, true),
        flat: text(&mut s, r, "flat", true),
        from_mm: s.needed_number(r, "from_mm", &q::PLACE_MM, "from_mm = 20.0"),
        to_mm: s.needed_number(r, "to_mm", &q::PLACE_MM, "to_mm = 28.0"),
        y_from_mm: s.needed_number(r, "y_from_mm", &q::PLACE_MM, "y_from_mm = 2.0"),
        y_to_mm: s.needed_number(r, "y_to_mm", &q::PLACE_MM, "y_to_mm = 20.0"),
        thickness_mm: s.measured(
            r,
            "thickness_mm",
            &q::PLATE_THICKNESS_MM,
            Some("thickness_mm = 2.0"),
        ),
        solder_mm: s.number(r, "solder_mm", &q::CLEARANCE_MM),
        solder_conductivity_w_mk: s.number(r, "solder_conductivity_w_mk", &q::CONDUCTIVITY_W_MK),
        void_percent: s.number(r, "void_percent", &q::VOID_PERCENT),
    };
    s.finish(r);
    entry
}

fn obstacle(mut s: Section<'_, '_>, r: &mut Reading) -> ObstacleEntry {
    let entry = ObstacleEntry {
        span: s.span().clone(),
        name: name(&mut s, r, true),
        x_mm: s.needed_number(r, "x_mm", &q::PLACE_MM, "x_mm = 12.0"),
        y_mm: s.needed_number(r, "y_mm", &q::PLACE_MM, "y_mm = 10.0"),
        size_mm: s.pair(r, "size_mm", &q::LENGTH_MM),
        diameter_mm: s.number(r, "diameter_mm", &q::LENGTH_MM),
        rotation_deg: s.number(r, "rotation_deg", &q::ROTATION_DEG),
        bottom_mm: s.number(r, "bottom_mm", &q::LEVEL_MM),
        top_mm: s.needed_number(r, "top_mm", &q::LEVEL_MM, "top_mm = 6.0"),
        clearance_mm: s.number(r, "clearance_mm", &q::CLEARANCE_MM),
    };
    s.finish(r);
    entry
}

fn pad(mut s: Section<'_, '_>, r: &mut Reading) -> PadEntry {
    let entry = PadEntry {
        span: s.span().clone(),
        name: name(&mut s, r, true),
        thickness_mm: s.needed_number(r, "thickness_mm", &q::PAD_MM, "thickness_mm = 1.0"),
        compression_percent: s.pair(r, "compression_percent", &q::PERCENT),
        conductivity_w_mk: s.number(r, "conductivity_w_mk", &q::CONDUCTIVITY_W_MK),
        effective_w_mk: s.banded(
            r,
            "effective_w_mk",
            &q::CONDUCTIVITY_W_MK,
            &q::PLUS_MINUS_W_MK,
        ),
        contact_mm2k_w: s.banded(
            r,
            "contact_mm2k_w",
            &q::CONTACT_MM2K_W,
            &q::PLUS_MINUS_MM2K_W,
        ),
        measured: s.optional::<Vec<[f64; 2]>>(r, "measured").filter(|at| {
            at.value.iter().all(|[thickness, impedance]| {
                within(r, *thickness, &at.span, &q::PAD_MM)
                    & within(r, *impedance, &at.span, &q::IMPEDANCE_MM2K_W)
            })
        }),
    };
    s.finish(r);
    entry
}

/// A thermal resistance with the tolerance of one.
fn resistance(
    s: &mut Section<'_, '_>,
    r: &mut Reading,
    key: &'static str,
) -> Option<At<Toleranced>> {
    s.banded(r, key, &q::RESISTANCE_K_W, &q::PLUS_MINUS_K_W)
}

/// A temperature with the tolerance of one.
fn temperature(
    s: &mut Section<'_, '_>,
    r: &mut Reading,
    key: &'static str,
) -> Option<At<Toleranced>> {
    s.banded(r, key, &q::TEMPERATURE_C, &q::PLUS_MINUS_K)
}

fn heat(mut s: Section<'_, '_>, r: &mut Reading) -> HeatEntry {
    let entry = HeatEntry {
        span: s.span().clone(),
        air_c: temperature(&mut s, r, "air_c"),
        board_c: temperature(&mut s, r, "board_c"),
        loss_w_m2k: s.number(r, "loss_w_m2k", &q::LOSS_W_M2K),
    };
    s.finish(r);
    entry
}

fn heat_pipe(mut s: Section<'_, '_>, r: &mut Reading) -> HeatPipeEntry {
    let entry = HeatPipeEntry {
        span: s.span().clone(),
        name: name(&mut s, r, true),
        x_mm: s.needed_number(r, "x_mm", &q::PLACE_MM, "x_mm = 20.0"),
        y_mm: s.needed_number(r, "y_mm", &q::PLACE_MM, "y_mm = 16.0"),
        size_mm: s.needed_pair(r, "size_mm", &q::LENGTH_MM, "size_mm = [60.0, 8.0]"),
        rotation_deg: s.number(r, "rotation_deg", &q::ROTATION_DEG),
        joint: s.optional(r, "joint"),
        joint_mm: s.number(r, "joint_mm", &q::JOINT_MM),
        joint_conductivity_w_mk: s.number(r, "joint_conductivity_w_mk", &q::CONDUCTIVITY_W_MK),
        void_percent: s.number(r, "void_percent", &q::VOID_PERCENT),
        evaporation_mm2k_w: s.banded(
            r,
            "evaporation_mm2k_w",
            &q::EVAPORATION_MM2K_W,
            &q::PLUS_MINUS_MM2K_W,
        ),
        evaporation_k_w: resistance(&mut s, r, "evaporation_k_w"),
        temperature_c: temperature(&mut s, r, "temperature_c"),
        to_air_k_w: resistance(&mut s, r, "to_air_k_w"),
        other_heat_w: s.banded(r, "other_heat_w", &q::HEAT_W, &q::PLUS_MINUS_W),
        limit_c: s.number(r, "limit_c", &q::TEMPERATURE_C),
    };
    s.finish(r);
    entry
}

fn old_plate(mut s: Section<'_, '_>, r: &mut Reading) -> OldPlateEntry {
    let entry = OldPlateEntry {
        span: s.span().clone(),
        thickness_mm: s.needed_number(
            r,
            "thickness_mm",
            &q::PLATE_THICKNESS_MM,
            "thickness_mm = 0.8",
        ),
        material: s.optional(r, "material"),
        conductivity_w_mk: s.number(r, "conductivity_w_mk", &q::CONDUCTIVITY_W_MK),
        underside_mm: s.measured(r, "underside_mm", &q::HEIGHT_MM, None),
    };
    s.finish(r);
    entry
}

fn printer(mut s: Section<'_, '_>, r: &mut Reading) -> PrinterEntry {
    let entry = PrinterEntry {
        span: s.span().clone(),
        plastic: s.optional(r, "plastic"),
        bed_mm: s
            .optional::<[f64; 3]>(r, "bed_mm")
            .filter(|at| super::reader::all_within(r, &at.value, &at.span, &q::MACHINE_MM)),
        nozzle_mm: s.number(r, "nozzle_mm", &q::NOZZLE_MM),
        size_error_mm: s.number(r, "size_error_mm", &q::SIZE_ERROR_MM),
        length_scale: s.number(r, "length_scale", &q::LENGTH_SCALE),
        infill_percent: s.number(r, "infill_percent", &q::PERCENT),
        wall_mm: s.number(r, "wall_mm", &q::CLEARANCE_MM),
        compressive_yield_mpa: s.number(r, "compressive_yield_mpa", &q::PLASTIC_YIELD_MPA),
        youngs_mpa: s.number(r, "youngs_mpa", &q::PLASTIC_YOUNGS_MPA),
    };
    s.finish(r);
    entry
}

fn vise(mut s: Section<'_, '_>, r: &mut Reading) -> ViseEntry {
    let entry = ViseEntry {
        span: s.span().clone(),
        jaw_width_mm: s.number(r, "jaw_width_mm", &q::MACHINE_MM),
        jaw_height_mm: s.number(r, "jaw_height_mm", &q::MACHINE_MM),
        opening_mm: s.number(r, "opening_mm", &q::MACHINE_MM),
        screw_lead_mm: s.number(r, "screw_lead_mm", &q::SCREW_LEAD_MM),
        handle_length_mm: s.number(r, "handle_length_mm", &q::HANDLE_LENGTH_MM),
        handle_force_n: s.number(r, "handle_force_n", &q::HANDLE_FORCE_N),
        efficiency: s.pair(r, "efficiency", &q::EFFICIENCY),
        force_n: s.number(r, "force_n", &q::VISE_FORCE_N),
    };
    s.finish(r);
    entry
}

fn dies(mut s: Section<'_, '_>, r: &mut Reading) -> DiesEntry {
    let entry = DiesEntry {
        span: s.span().clone(),
        clearance_mm: s.number(r, "clearance_mm", &q::CLEARANCE_MM),
        base_mm: s.number(r, "base_mm", &q::MACHINE_MM),
        tilt: s.optional(r, "tilt"),
        end_stops: s.optional(r, "end_stops"),
        cheeks: s.optional(r, "cheeks"),
        pins: s.optional(r, "pins"),
        marks: s.optional(r, "marks"),
        handling_ledges: s.optional(r, "handling_ledges"),
        corner_relief_mm: s.number(r, "corner_relief_mm", &q::CLEARANCE_MM),
        chord_error_mm: s.number(r, "chord_error_mm", &q::CHORD_ERROR_MM),
        friction: s.number(r, "friction", &q::FRICTION),
    };
    s.finish(r);
    entry
}
