//! The one table of what a part file may say: every key with its type, its range, and one sentence.
//!
//! Two macros expand it: one into the plain values of a [`super::Design`] and the keys that the schema and the writer
//! go by, one into the reader with places. A new key is one line here.

/// Most board parts; beyond it a drawing or a table helps nobody.
pub const MOST_COMPONENTS: usize = 2000;
/// Most flats of one strip.
pub const MOST_FLATS: usize = 40;
/// Most tables of any other kind.
pub const MOST_OTHERS: usize = 200;

/// Hands the table to the macro of this name.
macro_rules! part_file {
    ($expand:ident) => {
        $expand! {
            tables {
                /// The name of the part, and free words.
                Part / PartEntry {
                    /// Name for people; "plate" if it is left out.
                    name: String, Name;
                    /// Free words, for example that everything is invented.
                    note: String, Note;
                }
                /// The sheet that the plate is cut from.
                Sheet / SheetEntry {
                    /// Its metal; "own" takes every number from the table material.
                    material: SheetMaterial, Any, needs "material = \"copper\"";
                    /// How hard it was rolled; soft if it is left out.
                    temper: Temper, Any;
                    /// Rolling direction of the sheet, to be laid along the strip or across it.
                    grain: Grain, Any;
                    /// Thickness, mm; without a tolerance that of the stock table is taken.
                    thickness_mm: Toleranced, Measured(q::THICKNESS_MM, q::PLUS_MINUS_MM), needs "thickness_mm = 1.0";
                    /// Inside radius of every bend that says nothing else, mm; one sheet thickness if it is left out.
                    inside_radius_mm: f64, Within(q::RADIUS_MM);
                    /// How the K-factor is found; din-6935 if it is left out.
                    k_rule: KRuleWord, Any;
                    /// The K-factor itself, instead of a rule.
                    k_factor: f64, Within(q::K_FACTOR);
                    /// Pairs of inside radius over thickness and K, instead of a rule.
                    k_table: Vec<[f64; 2]>, Pairs(q::RADIUS_RATIO, q::K_FACTOR);
                }
                /// Single numbers of the sheet's metal replaced, or all of them for a metal of your own.
                Material / MaterialEntry {
                    /// Name of the metal.
                    name: String, Name;
                    /// Density, kg/m³.
                    density_kg_m3: f64, Within(q::DENSITY_KG_M3);
                    /// Young's modulus, MPa.
                    youngs_mpa: f64, Within(q::YOUNGS_MPA);
                    /// Poisson's ratio.
                    poisson: f64, Within(q::POISSON);
                    /// Proof stress Rp0.2, MPa.
                    proof_mpa: f64, Within(q::STRESS_MPA);
                    /// Tensile strength, MPa.
                    tensile_mpa: f64, Within(q::STRESS_MPA);
                    /// Elongation at break, %.
                    elongation_percent: f64, Within(q::PERCENT);
                    /// Thermal conductivity, W/(m K).
                    conductivity_w_mk: f64, Within(q::CONDUCTIVITY_W_MK);
                    /// Least inside bend radius over sheet thickness.
                    min_radius_ratio: f64, Within(q::RADIUS_RATIO);
                    /// Row of the handbook's bend allowance that fits the metal.
                    handbook_row: HandbookRow, Any;
                }
                /// The plate in plan.
                Plate / PlateEntry {
                    /// Width across the strip, mm.
                    width_mm: f64, Within(q::WIDTH_MM), needs "width_mm = 30.0";
                    /// Rounding of the plate's own corners, mm.
                    corner_radius_mm: f64, Within(q::CORNER_RADIUS_MM);
                    /// Any other outline, corner by corner in mm, seen from above.
                    outline_mm: Vec<[f64; 2]>, Within(q::PLACE_MM);
                }
                /// How the sheet gets to a flat from the one before it.
                Step / StepEntry {
                    /// Angle of the wall, degrees; instead of the flat's from_mm.
                    wall_angle_deg: f64, Within(q::WALL_ANGLE_DEG);
                    /// Inside radius of both bends, or of the first and the second, mm.
                    inside_radius_mm: Radii, Within(q::RADIUS_MM);
                    /// Whether those radii must come out of the press as drawn; as they come if it is left out.
                    keep_radius: bool, Any;
                }
                /// A level stretch of the plate, from left to right.
                Flat / FlatEntry {
                    /// Its name.
                    name: String, Name, needs "name = \"…\"";
                    /// Where it begins along x, mm.
                    from_mm: f64, Within(q::PLACE_MM);
                    /// Where it ends along x, mm.
                    to_mm: f64, Within(q::PLACE_MM), needs "to_mm = 18.0";
                    /// Its underside above the board, mm.
                    underside_mm: Toleranced, Measured(q::HEIGHT_MM, q::PLUS_MINUS_MM), needs "underside_mm = 4.2";
                    /// The step that leads to it.
                    step: Step, Any;
                }
                /// A hole in the plate: round or rectangular.
                Hole / HoleEntry {
                    /// Its name.
                    name: String, Name;
                    /// Its centre along x, mm.
                    x_mm: f64, Within(q::PLACE_MM), needs "x_mm = 6.0";
                    /// Its centre along y, mm.
                    y_mm: f64, Within(q::PLACE_MM), needs "y_mm = 4.0";
                    /// Diameter of a round hole, mm.
                    diameter_mm: f64, Within(q::LENGTH_MM);
                    /// Sides of a rectangular hole along x and y, mm.
                    size_mm: [f64; 2], Within(q::LENGTH_MM);
                }
                /// A piece cut out of an edge.
                Notch / NotchEntry {
                    /// The edge: front and back run along x, left and right along y.
                    edge: Edge, Any, needs "edge = \"front\"";
                    /// Where it begins along the edge, mm.
                    from_mm: f64, Within(q::PLACE_MM), needs "from_mm = 10.0";
                    /// Where it ends along the edge, mm.
                    to_mm: f64, Within(q::PLACE_MM), needs "to_mm = 16.0";
                    /// How deep it is, mm.
                    depth_mm: f64, Within(q::LENGTH_MM), needs "depth_mm = 4.0";
                }
                /// A piece added to an edge.
                Tab / TabEntry {
                    /// The edge: front and back run along x, left and right along y.
                    edge: Edge, Any, needs "edge = \"back\"";
                    /// Where it begins along the edge, mm.
                    from_mm: f64, Within(q::PLACE_MM), needs "from_mm = 10.0";
                    /// Where it ends along the edge, mm.
                    to_mm: f64, Within(q::PLACE_MM), needs "to_mm = 16.0";
                    /// How far it stands out, mm.
                    length_mm: f64, Within(q::LENGTH_MM), needs "length_mm = 5.0";
                }
                /// A board part: with a pad if the plate shall cool it, with a keep-out if metal must stay away.
                Component / ComponentEntry {
                    /// Its name.
                    name: String, Name, needs "name = \"…\"";
                    /// What kind of part it is; other if it is left out.
                    kind: Kind, Any;
                    /// Its centre along x, mm.
                    x_mm: f64, Within(q::PLACE_MM), needs "x_mm = 12.0";
                    /// Its centre along y, mm.
                    y_mm: f64, Within(q::PLACE_MM), needs "y_mm = 10.0";
                    /// Sides of a rectangular part along x and y, mm.
                    size_mm: [f64; 2], Within(q::LENGTH_MM);
                    /// Diameter of a round part, mm.
                    diameter_mm: f64, Within(q::LENGTH_MM);
                    /// Turn of a rectangular part in plan, degrees.
                    rotation_deg: f64, Within(q::ROTATION_DEG);
                    /// Its top above the board, mm.
                    height_mm: Toleranced, Measured(q::HEIGHT_MM, q::PLUS_MINUS_MM), needs "height_mm = 3.2";
                    /// Name of the pad on it: one of this part or of the stock series.
                    pad: String, Name;
                    /// Shortest distance to metal in any direction, mm; instead of a pad.
                    keep_out_mm: f64, Within(q::CLEARANCE_MM);
                    /// What it turns into heat, W; without it nothing is said of its temperature.
                    heat_w: Toleranced, Banded(q::HEAT_W, q::PLUS_MINUS_W);
                    /// How warm its inside may be, °C.
                    limit_c: f64, Within(q::TEMPERATURE_C);
                    /// From its inside to its top, K/W.
                    junction_to_top_k_w: Toleranced, Banded(q::RESISTANCE_K_W, q::PLUS_MINUS_K_W);
                    /// From its inside into the board, K/W.
                    junction_to_board_k_w: Toleranced, Banded(q::RESISTANCE_K_W, q::PLUS_MINUS_K_W);
                    /// Name of the pad that the old plate had here.
                    old_pad: String, Name;
                    /// From its top to the old plate, mm.
                    old_gap_mm: Toleranced, Banded(q::GAP_MM, q::PLUS_MINUS_MM);
                }
                /// A plate soldered under a flat, where a bend cannot come close enough.
                Extension / ExtensionEntry {
                    /// Its name.
                    name: String, Name, needs "name = \"…\"";
                    /// Name of the flat that it hangs under.
                    flat: String, Name, needs "flat = \"…\"";
                    /// Where it begins along x, mm.
                    from_mm: f64, Within(q::PLACE_MM), needs "from_mm = 20.0";
                    /// Where it ends along x, mm.
                    to_mm: f64, Within(q::PLACE_MM), needs "to_mm = 28.0";
                    /// Where it begins along y, mm.
                    y_from_mm: f64, Within(q::PLACE_MM), needs "y_from_mm = 2.0";
                    /// Where it ends along y, mm.
                    y_to_mm: f64, Within(q::PLACE_MM), needs "y_to_mm = 20.0";
                    /// Its thickness, mm.
                    thickness_mm: Toleranced, Measured(q::PLATE_THICKNESS_MM, q::PLUS_MINUS_MM), needs "thickness_mm = 2.0";
                    /// Thickness of the solder above it, mm.
                    solder_mm: f64, Within(q::CLEARANCE_MM);
                    /// Thermal conductivity of the solder, W/(m K).
                    solder_conductivity_w_mk: f64, Within(q::CONDUCTIVITY_W_MK);
                    /// Share of the solder's area that is not filled, %.
                    void_percent: f64, Within(q::VOID_PERCENT);
                }
                /// Anything that the plate must clear: a frame, a screw post.
                Obstacle / ObstacleEntry {
                    /// Its name.
                    name: String, Name, needs "name = \"…\"";
                    /// Its centre along x, mm.
                    x_mm: f64, Within(q::PLACE_MM), needs "x_mm = 12.0";
                    /// Its centre along y, mm.
                    y_mm: f64, Within(q::PLACE_MM), needs "y_mm = 10.0";
                    /// Sides of a rectangular obstacle along x and y, mm.
                    size_mm: [f64; 2], Within(q::LENGTH_MM);
                    /// Diameter of a round obstacle, mm.
                    diameter_mm: f64, Within(q::LENGTH_MM);
                    /// Turn of a rectangular obstacle in plan, degrees.
                    rotation_deg: f64, Within(q::ROTATION_DEG);
                    /// Its lower end above the board, mm; 0 if it is left out.
                    bottom_mm: f64, Within(q::LEVEL_MM);
                    /// Its upper end above the board, mm.
                    top_mm: f64, Within(q::LEVEL_MM), needs "top_mm = 6.0";
                    /// Shortest distance to metal, mm.
                    clearance_mm: f64, Within(q::CLEARANCE_MM);
                }
                /// A thermal pad at hand.
                Pad / PadEntry {
                    /// Its name.
                    name: String, Name, needs "name = \"…\"";
                    /// Thickness before it is pressed, mm.
                    thickness_mm: f64, Within(q::PAD_MM), needs "thickness_mm = 1.0";
                    /// Least and most that it should be pressed, %.
                    compression_percent: [f64; 2], Within(q::PERCENT);
                    /// Thermal conductivity as printed on the pack, W/(m K).
                    conductivity_w_mk: f64, Within(q::CONDUCTIVITY_W_MK);
                    /// Thermal conductivity that was measured, W/(m K).
                    effective_w_mk: Toleranced, Banded(q::CONDUCTIVITY_W_MK, q::PLUS_MINUS_W_MK);
                    /// Contact resistance of both faces together, mm²K/W.
                    contact_mm2k_w: Toleranced, Banded(q::CONTACT_MM2K_W, q::PLUS_MINUS_MM2K_W);
                    /// Pairs of pressed thickness in mm and impedance in mm²K/W, of two thicknesses or more.
                    measured: Vec<[f64; 2]>, Pairs(q::PAD_MM, q::IMPEDANCE_MM2K_W);
                }
                /// What surrounds the plate.
                Heat / HeatEntry {
                    /// Air around the plate, °C.
                    air_c: Toleranced, Banded(q::TEMPERATURE_C, q::PLUS_MINUS_K);
                    /// Board away from the hot parts, °C; without it no heat flows into the board.
                    board_c: Toleranced, Banded(q::TEMPERATURE_C, q::PLUS_MINUS_K);
                    /// What bare faces give to the air, W/(m²K).
                    loss_w_m2k: f64, Within(q::LOSS_W_M2K);
                }
                /// A heat pipe with a flat face on the plate's top.
                HeatPipe / HeatPipeEntry {
                    /// Its name.
                    name: String, Name, needs "name = \"…\"";
                    /// Centre of its flat face along x, mm.
                    x_mm: f64, Within(q::PLACE_MM), needs "x_mm = 20.0";
                    /// Centre of its flat face along y, mm.
                    y_mm: f64, Within(q::PLACE_MM), needs "y_mm = 16.0";
                    /// Sides of its flat face along x and y, mm.
                    size_mm: [f64; 2], Within(q::LENGTH_MM), needs "size_mm = [60.0, 8.0]";
                    /// Turn of its flat face in plan, degrees.
                    rotation_deg: f64, Within(q::ROTATION_DEG);
                    /// What joins it to the plate; solder if it is left out.
                    joint: JointKind, Any;
                    /// Thickness of the joint, mm.
                    joint_mm: f64, Within(q::JOINT_MM);
                    /// Thermal conductivity of the joint, W/(m K).
                    joint_conductivity_w_mk: f64, Within(q::CONDUCTIVITY_W_MK);
                    /// Share of the joint's area that is not filled, %.
                    void_percent: f64, Within(q::VOID_PERCENT);
                    /// Its wall and wick, mm²K/W.
                    evaporation_mm2k_w: Toleranced, Banded(q::EVAPORATION_MM2K_W, q::PLUS_MINUS_MM2K_W);
                    /// Its wall and wick for the whole seat, K/W; instead of evaporation_mm2k_w.
                    evaporation_k_w: Toleranced, Banded(q::RESISTANCE_K_W, q::PLUS_MINUS_K_W);
                    /// Temperature measured on it while it works, °C.
                    temperature_c: Toleranced, Banded(q::TEMPERATURE_C, q::PLUS_MINUS_K);
                    /// From its vapour through pipe and fins to the air, K/W; instead of temperature_c.
                    to_air_k_w: Toleranced, Banded(q::RESISTANCE_K_W, q::PLUS_MINUS_K_W);
                    /// Heat that it carries besides that of the plate, W; with to_air_k_w.
                    other_heat_w: Toleranced, Banded(q::HEAT_W, q::PLUS_MINUS_W);
                    /// How warm it may be, °C.
                    limit_c: f64, Within(q::TEMPERATURE_C);
                }
                /// The plate that this one replaces, to compare with.
                OldPlate / OldPlateEntry {
                    /// Its thickness, mm.
                    thickness_mm: f64, Within(q::PLATE_THICKNESS_MM), needs "thickness_mm = 0.8";
                    /// Its metal; copper if it is left out.
                    material: SheetMaterial, Any;
                    /// Thermal conductivity of another metal, W/(m K).
                    conductivity_w_mk: f64, Within(q::CONDUCTIVITY_W_MK);
                    /// Its underside above the board if it was level, mm.
                    underside_mm: Toleranced, Measured(q::HEIGHT_MM, q::PLUS_MINUS_MM);
                }
                /// The printer that makes the dies.
                Printer / PrinterEntry {
                    /// Plastic of the dies; pla if it is left out.
                    plastic: Plastic, Any;
                    /// Bed along x and y, and height, mm.
                    bed_mm: [f64; 3], Within(q::MACHINE_MM);
                    /// Nozzle, mm.
                    nozzle_mm: f64, Within(q::NOZZLE_MM);
                    /// A printed block measured, minus what was drawn, mm.
                    size_error_mm: f64, Within(q::SIZE_ERROR_MM);
                    /// Printed length over drawn length, for long parts.
                    length_scale: f64, Within(q::LENGTH_SCALE);
                    /// Share of the inside that is filled, %.
                    infill_percent: f64, Within(q::INFILL_PERCENT);
                    /// Thickness of the solid walls around it, mm.
                    wall_mm: f64, Within(q::CLEARANCE_MM);
                    /// Compressive yield stress measured on a block printed solid, MPa.
                    compressive_yield_mpa: f64, Within(q::PLASTIC_YIELD_MPA);
                    /// Young's modulus measured on a block printed solid, MPa.
                    youngs_mpa: f64, Within(q::PLASTIC_YOUNGS_MPA);
                }
                /// The vise that presses the dies.
                Vise / ViseEntry {
                    /// Width of the jaws, mm.
                    jaw_width_mm: f64, Within(q::MACHINE_MM);
                    /// Height of the jaws, mm.
                    jaw_height_mm: f64, Within(q::MACHINE_MM);
                    /// Widest opening, mm.
                    opening_mm: f64, Within(q::MACHINE_MM);
                    /// How far one turn of the handle moves the jaw, mm.
                    screw_lead_mm: f64, Within(q::SCREW_LEAD_MM);
                    /// From the middle of the screw to the hand, mm.
                    handle_length_mm: f64, Within(q::HANDLE_LENGTH_MM);
                    /// What the hand pulls with, N.
                    handle_force_n: f64, Within(q::HANDLE_FORCE_N);
                    /// Share of the work at the handle that reaches the jaws, least and most.
                    efficiency: [f64; 2], Within(q::EFFICIENCY);
                    /// The force itself, N; instead of screw and handle.
                    force_n: f64, Within(q::VISE_FORCE_N);
                }
                /// What the dies shall look like; everything here has a default.
                Dies / DiesEntry {
                    /// Free distance between the closed faces beyond the sheet, mm.
                    clearance_mm: f64, Within(q::CLEARANCE_MM);
                    /// Least thickness of a block behind its face, mm.
                    base_mm: f64, Within(q::BASE_MM);
                    /// How the part lies in the die.
                    tilt: TiltWord, Any;
                    /// Towers at both ends that locate the blank.
                    end_stops: bool, Any;
                    /// Cheeks of the lower die.
                    cheeks: Cheeks, Any;
                    /// Pins and holes that let the pair close only one way.
                    pins: bool, Any;
                    /// Engraved letters and arrows.
                    marks: bool, Any;
                    /// Ledges at both ends of the backs, for fingers, clamps or tape.
                    handling_ledges: bool, Any;
                    /// By how much hollow corners are tighter than the sheet's outside, mm.
                    corner_relief_mm: f64, Within(q::CLEARANCE_MM);
                    /// Largest distance between an arc and its chords in the mesh, mm.
                    chord_error_mm: f64, Within(q::CHORD_ERROR_MM);
                    /// Friction coefficient of the sheet on the faces of the dies.
                    friction: f64, Within(q::FRICTION);
                }
            }
            file {
                part: Option Part / PartEntry = "part";
                sheet: Option Sheet / SheetEntry = "sheet", needs "material, temper and thickness_mm";
                material: Option Material / MaterialEntry = "material";
                plate: Option Plate / PlateEntry = "plate", needs "width_mm";
                flats: Vec Flat / FlatEntry = "flat", most MOST_FLATS, needs "name, from_mm, to_mm and underside_mm";
                holes: Vec Hole / HoleEntry = "hole", most MOST_OTHERS;
                notches: Vec Notch / NotchEntry = "notch", most MOST_OTHERS;
                tabs: Vec Tab / TabEntry = "tab", most MOST_OTHERS;
                components: Vec Component / ComponentEntry = "component", most MOST_COMPONENTS,
                    needs "name, x_mm, y_mm, size_mm and height_mm";
                extensions: Vec Extension / ExtensionEntry = "extension", most MOST_OTHERS;
                obstacles: Vec Obstacle / ObstacleEntry = "obstacle", most MOST_OTHERS;
                pads: Vec Pad / PadEntry = "pad", most MOST_OTHERS;
                heat: Option Heat / HeatEntry = "heat";
                heat_pipes: Vec HeatPipe / HeatPipeEntry = "heat_pipe", most MOST_OTHERS;
                old_plate: Option OldPlate / OldPlateEntry = "old_plate";
                printer: Option Printer / PrinterEntry = "printer";
                vise: Option Vise / ViseEntry = "vise";
                dies: Option Dies / DiesEntry = "dies";
            }
        }
    };
}
pub(super) use part_file;

/// One key as a value that lives as long as the program.
macro_rules! key {
    ([$($about:literal)+] $name:ident: $type:ty, $takes:expr $(, $needed:literal)?) => {
        $crate::part::value::Key {
            name: stringify!($name),
            about: concat!($($about),+).trim_ascii(),
            shape: <$type as $crate::part::value::Shaped>::SHAPE,
            takes: $takes,
            needed: $crate::part::keys::first(&[$($needed)?]),
        }
    };
}
pub(super) use key;

/// The first of a list that has one or none.
pub(super) const fn first<T: Copy>(list: &[T]) -> Option<T> {
    match list {
        [] => None,
        [first, ..] => Some(*first),
    }
}
