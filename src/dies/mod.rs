//! Tooling: the matching die pair, from the compensated strip to blocks that can be printed.
//!
//! [`section`] lays the pair out, [`block`] makes bodies of it,
//! [`printability`] looks at bed, nozzle and overhang.

pub mod block;
mod marks;
pub mod printability;
pub mod role;
pub mod section;

pub use role::DieSide;

use crate::diagnostic::{Diagnostic, Noted, Refused};
use crate::forming::Compensation;
use crate::geometry::solid::solid;
use crate::geometry::{Body, BodyError, Chain, Mesh, Segment};
use crate::numbers::plain;
use crate::part::{Cheeks, Part};
use block::{BlockShape, Ledge, Pin, Socket};
use nalgebra::{Point3, Vector3};
use printability::{LEAST_LINES, PrintCheck};
use section::{DieSection, TowerLands};

/// Thickness of a cheek. Common practice, no source.
const CHEEK_MM: f64 = 4.0;
/// Free distance between the blank's edge and a cheek. Common practice, no source.
const CHEEK_CLEARANCE_MM: f64 = 0.2;
/// How far a face reaches beyond the blank where no cheek stands. Common practice, no source.
const BESIDE_BLANK_MM: f64 = 1.0;
/// Free distance between upper block and cheek. Common practice, no source.
const SLIDE_MM: f64 = 0.3;
/// Largest pin radius and smallest that is worth printing. Common practice, no source.
const PIN_RADIUS_MM: (f64, f64) = (1.5, 3.0);
/// Radial play between pin and socket. Common practice, no source.
const PIN_PLAY_MM: f64 = 0.2;
/// Bevel of pin tips and socket mouths.
const BEVEL_MM: f64 = 0.8;
/// How far pins engage before the upper die touches the blank. Common practice, no source.
const ENGAGED_MM: f64 = 1.5;
/// Free depth below a pin in its socket.
const SOCKET_RESERVE_MM: f64 = 1.0;
/// Material left behind a socket.
const BEHIND_SOCKET_MM: f64 = 3.0;
/// Material left around a pin on its land.
const AROUND_PIN_MM: f64 = 2.0;
/// Material left beside a socket's mouth, along y.
const BESIDE_SOCKET_MM: f64 = 1.5;
/// Pins stand at least this far from the middle of the blocks: turned round, the pair cannot close.
const OFF_MIDDLE_MM: f64 = 1.0;
/// Level land on a tower without a pin.
const BARE_TOWER_MM: f64 = 4.0;
/// A pin is at most this many radii high, or it would break. Engineering judgement, no source.
const SLENDEREST_PIN: f64 = 6.0;
/// Handling ledge: length and largest thickness. Common practice, no source.
const LEDGE_MM: (f64, f64) = (8.0, 6.0);
/// The upper back stands at least this far above the cheeks, so that the jaws press on the back.
const ABOVE_CHEEKS_MM: f64 = 2.0;

/// One block, ready to print.
#[derive(Debug, Clone, PartialEq)]
pub struct DieBlock {
    /// Which one.
    pub role: DieSide,
    /// Its description, in its own frame (the upper one turned half round y).
    pub shape: BlockShape,
    /// Its mesh in print pose, corrected for the printer's length scale.
    pub mesh: Mesh,
    /// Size of that mesh along x, y, z.
    pub size_mm: [f64; 3],
    /// Volume of the mesh.
    pub volume_mm3: f64,
    /// Volume with arcs counted as arcs.
    pub exact_volume_mm3: f64,
    /// Faces of the exact solid, which was built and found closed; see [`solid()`].
    pub solid_faces: usize,
    /// Printing.
    pub print: PrintCheck,
}

impl DieBlock {
    /// The block as it stands in the vise, closed, in the frame of the section; as drawn, without the printer's length
    /// scale.
    pub fn in_vise(&self) -> Body {
        let own = self.shape.body();
        match self.role {
            DieSide::Lower => own,
            // It is described turned half round y.
            DieSide::Upper => own.placed(&|p| Point3::new(-p.x, p.y, -p.z), &|v| {
                Vector3::new(-v.x, v.y, -v.z)
            }),
        }
    }

    /// The block's triangles as it stands in the vise, closed, in the frame of the section.
    ///
    /// # Errors
    /// When its faces do not close; it was found closed when it was made.
    pub fn mesh_in_vise(&self) -> Result<Mesh, BodyError> {
        self.in_vise().mesh()
    }
}

/// The pair.
#[derive(Debug, Clone, PartialEq)]
pub struct Tooling {
    /// Closed pair in section.
    pub section: DieSection,
    /// Level of the lower block's back, in the section's frame.
    pub lower_back_mm: f64,
    /// Level of the upper block's back, closed.
    pub upper_back_mm: f64,
    /// Lower, then upper.
    pub blocks: Vec<DieBlock>,
    /// From back to back, closed on the sheet.
    pub closed_height_mm: f64,
    /// From back to back when the upper die touches the laid-in blank.
    pub touching_height_mm: f64,
    /// Length along the strip without ledges.
    pub length_mm: f64,
    /// Height of the pins above their lands, if any.
    pub pin_height_mm: Option<f64>,
}

impl Tooling {
    /// Plastic of both dies together.
    pub fn total_mass_g(&self) -> f64 {
        let blocks = self.blocks.iter();
        blocks.map(|block| block.print.estimated_mass_g).sum()
    }

    /// The back that a jaw presses on: along the strip without ledges, and across it without cheeks, which press on nothing.
    pub fn back_mm(&self) -> [f64; 2] {
        let width_mm = |block: &DieBlock| block.shape.y_mm.1 - block.shape.y_mm.0;
        [
            self.length_mm,
            self.blocks.iter().map(width_mm).fold(0.0, f64::max),
        ]
    }
}

/// Designs the pair.
///
/// # Errors
/// Every reason why the pair cannot be made, opened, printed or pressed, each with a way out.
pub fn tooling(part: &Part, compensation: &Compensation) -> Result<Noted<Tooling>, Refused> {
    let mut notes = Vec::new();
    let across = Across::of(part);
    let pin_radius_mm = pin_radius_mm(part, &across, &mut notes);
    let tower_land_mm =
        pin_radius_mm.map_or(BARE_TOWER_MM, |radius| 2.0 * (radius + AROUND_PIN_MM));
    let section = section::section(part, compensation, tower_land_mm)?;
    let pin_height_mm = pin_radius_mm.map(|radius_mm| {
        let wanted_mm = section.gap_mm + section.stroke_mm + ENGAGED_MM + BEVEL_MM;
        let most_mm = SLENDEREST_PIN * radius_mm;
        if wanted_mm > most_mm {
            notes.push(
                Diagnostic::note(format!(
                    "the pins are {} mm high and engage only after the upper die has touched the blank",
                    plain(most_mm)
                )).id("dies-pins-late")
                .help("guide the upper die by hand, along the cheek, until the pins engage"),
            );
        }
        wanted_mm.min(most_mm)
    });
    let pins = pin_radius_mm.zip(pin_height_mm);
    let shapes = Shapes::new(part, &section, &across, pins, &mut notes);
    let mut refusals = Vec::new();
    let mut blocks = Vec::new();
    for (role, shape) in [
        (DieSide::Lower, shapes.lower),
        (DieSide::Upper, shapes.upper),
    ] {
        match die_block(role, shape, part) {
            Ok(block) => {
                printable(&block, part, &mut refusals);
                blocks.push(block);
            }
            Err(refusal) => refusals.push(*refusal),
        }
    }
    let closed_height_mm = shapes.upper_back_mm - shapes.lower_back_mm;
    let (x0, x1) = (section.lower.start.point.x, section.lower.end().point.x);
    let tooling = Tooling {
        lower_back_mm: shapes.lower_back_mm,
        upper_back_mm: shapes.upper_back_mm,
        closed_height_mm,
        touching_height_mm: closed_height_mm + section.stroke_mm,
        length_mm: x1 - x0,
        section,
        blocks,
        pin_height_mm,
    };
    in_the_vise(&tooling, part, &mut refusals);
    blunt_noses(&tooling, part, &mut notes);
    if refusals.is_empty() {
        Ok(Noted {
            value: tooling,
            notes,
        })
    } else {
        Err(refusals.into())
    }
}

/// Extents along y, tabs of the plate included.
struct Across {
    /// Working face of the lower block.
    lower: (f64, f64),
    /// Working face of the upper block, which slides between the cheeks.
    upper: (f64, f64),
    /// A cheek stands at the front.
    front_cheek: bool,
    /// A cheek stands at the back.
    back_cheek: bool,
}

impl Across {
    fn of(part: &Part) -> Self {
        let (low, high) = part.outline.bounds();
        let (front_cheek, back_cheek) = match part.dies.cheeks {
            Cheeks::Front => (true, false),
            Cheeks::Both => (true, true),
            Cheeks::None => (false, false),
        };
        let beside = |cheek: bool| {
            if cheek {
                CHEEK_CLEARANCE_MM
            } else {
                BESIDE_BLANK_MM
            }
        };
        let slide_mm = SLIDE_MM + part.printer.size_error_mm.max(0.0);
        let slide = |cheek: bool| if cheek { slide_mm } else { 0.0 };
        let lower = (low.y - beside(front_cheek), high.y + beside(back_cheek));
        Self {
            lower,
            upper: (lower.0 + slide(front_cheek), lower.1 - slide(back_cheek)),
            front_cheek,
            back_cheek,
        }
    }
}

/// Radius of a socket's mouth around a pin.
fn mouth_mm(pin_radius_mm: f64, part: &Part) -> f64 {
    pin_radius_mm + PIN_PLAY_MM + part.printer.size_error_mm.abs() / 2.0 + BEVEL_MM
}

/// Largest pin that leaves material around its socket and stands far enough from the middle.
fn pin_radius_mm(part: &Part, across: &Across, notes: &mut Vec<Diagnostic>) -> Option<f64> {
    if !part.dies.pins {
        return None;
    }
    if !part.dies.end_stops {
        notes.push(
            Diagnostic::note("no pins: they stand on the end stops, which are switched off")
                .id("dies-no-pins")
                .help("switch end_stops on, or guide the upper die by hand"),
        );
        return None;
    }
    let half_mm = (across.upper.1 - across.upper.0) / 2.0;
    let radius_mm =
        (half_mm - OFF_MIDDLE_MM - BESIDE_SOCKET_MM - mouth_mm(0.0, part)).min(PIN_RADIUS_MM.1);
    if radius_mm < PIN_RADIUS_MM.0 {
        notes.push(
            Diagnostic::note(format!(
                "no pins: the blocks are only {:.1} mm wide",
                2.0 * half_mm
            ))
            .id("dies-narrow-for-pins")
            .help("look at the engraved arrows when you close the pair"),
        );
        return None;
    }
    Some(radius_mm)
}

/// Both blocks before they become meshes.
struct Shapes {
    lower: BlockShape,
    upper: BlockShape,
    lower_back_mm: f64,
    upper_back_mm: f64,
}

impl Shapes {
    fn new(
        part: &Part,
        section: &DieSection,
        across: &Across,
        pins: Option<(f64, f64)>,
        notes: &mut Vec<Diagnostic>,
    ) -> Self {
        let options = &part.dies;
        let ledge = options.handling_ledges.then(|| Ledge {
            length_mm: LEDGE_MM.0,
            thickness_mm: (options.base_mm / 2.0).min(LEDGE_MM.1),
        });
        let grown_mm = part.printer.size_error_mm / 2.0;
        let y_pin = |radius_mm: f64| across.upper.1 - mouth_mm(radius_mm, part) - BESIDE_SOCKET_MM;
        let lands = section.towers.zip(pins);
        let socket_depth_mm = pins.map_or(0.0, |(_, height_mm)| {
            height_mm - section.gap_mm + SOCKET_RESERVE_MM
        });
        let lower_back_mm = section.lower.bounds().0.y - options.base_mm;
        let upper_base_mm = options.base_mm.max(socket_depth_mm + BEHIND_SOCKET_MM);
        let upper_back_mm = (section.upper.bounds().1.y + upper_base_mm)
            .max(section.cheek_top_mm + ABOVE_CHEEKS_MM);
        let marks = |role: DieSide, back_mm: f64, base_mm: f64, x_mm: (f64, f64)| {
            options
                .marks
                .then(|| marks::marks(role, back_mm, base_mm, x_mm))
                .flatten()
                .unwrap_or_default()
        };
        let cheek = |there: bool| there.then_some(CHEEK_MM);
        let plain_lower = BlockShape::plain(
            section.lower.clone(),
            lower_back_mm,
            across.lower,
            options.chord_error_mm,
        );
        let lower = BlockShape {
            front_cheek_mm: cheek(across.front_cheek),
            back_cheek_mm: cheek(across.back_cheek),
            cheek_top_mm: section.cheek_top_mm,
            ledge,
            pins: lands.map_or_else(Vec::new, |(lands, (radius_mm, height_mm))| {
                middles(&lands)
                    .map(|x_mm| Pin {
                        x_mm,
                        y_mm: y_pin(radius_mm),
                        radius_mm: radius_mm - grown_mm,
                        height_mm,
                        bevel_mm: BEVEL_MM,
                    })
                    .into()
            }),
            marks: marks(
                DieSide::Lower,
                lower_back_mm,
                options.base_mm,
                plain_lower.x_mm(),
            ),
            ..plain_lower
        };
        let plain_upper = BlockShape::plain(
            half_round(&section.upper),
            -upper_back_mm,
            across.upper,
            options.chord_error_mm,
        );
        let upper = BlockShape {
            ledge,
            sockets: lands.map_or_else(Vec::new, |(lands, (radius_mm, _))| {
                middles(&lands)
                    .map(|x_mm| Socket {
                        x_mm: -x_mm,
                        y_mm: y_pin(radius_mm),
                        radius_mm: radius_mm + PIN_PLAY_MM + grown_mm,
                        depth_mm: socket_depth_mm,
                        bevel_mm: BEVEL_MM,
                    })
                    .into()
            }),
            marks: marks(
                DieSide::Upper,
                -upper_back_mm,
                options.base_mm,
                plain_upper.x_mm(),
            ),
            ..plain_upper
        };
        if options.marks && (lower.marks.polygons.is_empty() || upper.marks.polygons.is_empty()) {
            notes.push(
                Diagnostic::note("a block has no room for engraved marks")
                    .id("dies-no-marks")
                    .help("write L, U and an arrow towards the last flat on the blocks yourself"),
            );
        }
        Self {
            lower,
            upper,
            lower_back_mm,
            upper_back_mm,
        }
    }
}

fn middles(lands: &TowerLands) -> [f64; 2] {
    [lands.left, lands.right].map(|(from, to)| f64::midpoint(from, to))
}

/// A chain turned half round the y axis and walked from its other end: left stays left.
fn half_round(chain: &Chain) -> Chain {
    let end = chain.end();
    let mut turned = Chain::from_start(-end.point.x, -end.point.y, end.heading);
    turned.segments = chain
        .segments
        .iter()
        .rev()
        .map(|segment| match *segment {
            Segment::Line { .. } => *segment,
            Segment::Arc { radius_mm, turn } => Segment::Arc {
                radius_mm,
                turn: -turn,
            },
        })
        .collect();
    turned
}

fn die_block(role: DieSide, shape: BlockShape, part: &Part) -> Result<DieBlock, Box<Diagnostic>> {
    let refused = |reason: String| {
        Diagnostic::error(format!(
            "the {} die cannot be meshed: {reason}",
            role.word()
        ))
        .id("dies-fault")
        .help("this is a fault of coldstep: please report it with the part file")
    };
    let body = shape.body();
    let drawn = body.mesh().map_err(|error| refused(error.to_string()))?;
    // A second realisation of the same faces by an independent kernel: it must close as well.
    let exact = solid(&body).map_err(|error| refused(error.to_string()))?;
    let scale = 1.0 / part.printer.length_scale;
    let print = printability::check(&drawn, &shape.face, &part.printer);
    let mesh = print.pose.placed(&drawn).mapped(|p| p * scale);
    let (low, high) = mesh.bounds();
    let size = high - low;
    Ok(DieBlock {
        role,
        size_mm: [size.x, size.y, size.z],
        volume_mm3: mesh.volume_mm3(),
        exact_volume_mm3: shape.volume_mm3() * scale * scale * scale,
        solid_faces: exact.face_iter().count(),
        shape,
        mesh,
        print,
    })
}

fn printable(block: &DieBlock, part: &Part, refusals: &mut Vec<Diagnostic>) {
    let printer = &part.printer;
    let at_printer = |finding: Diagnostic| match &printer.span {
        Some(span) => finding.at(span),
        None => finding,
    };
    if block
        .print
        .poses
        .iter()
        .all(|pose| pose.fits_bed == Some(false))
    {
        let [x, y, z] = block.size_mm;
        let [bed_x, bed_y, bed_z] = printer.bed_mm.unwrap_or_default();
        refusals.push(at_printer(
            Diagnostic::error(format!(
                "the {} die, {x:.1} x {y:.1} x {z:.1} mm, fits the printer in no pose: the bed is {} x {} x {} mm",
                block.role.word(),
                plain(bed_x),
                plain(bed_y),
                plain(bed_z)
            )).id("dies-bed-too-small")
            .help("switch end_stops and handling_ledges off under [dies]: both lengthen the blocks")
            .help("or press the plate in two strokes with shorter dies, fewer steps in each"),
        ));
    }
    let least_mm = LEAST_LINES * printer.nozzle_mm;
    if block.print.narrowest_rib_mm < least_mm {
        refusals.push(at_printer(
            Diagnostic::error(format!(
                "a rib of the {} die is only {:.2} mm wide, less than {LEAST_LINES} lines of a {} mm nozzle",
                block.role.word(),
                block.print.narrowest_rib_mm,
                plain(printer.nozzle_mm)
            )).id("dies-rib-too-narrow")
            .help("make the flat on that rib longer")
            .help("or print with a finer nozzle"),
        ));
    }
}

fn in_the_vise(tooling: &Tooling, part: &Part, refusals: &mut Vec<Diagnostic>) {
    let Some(vise) = &part.vise else { return };
    if tooling.touching_height_mm > vise.opening_mm {
        refusals.push(
            Diagnostic::error(format!(
                "the open pair with the blank is {:.1} mm high, the vise opens {} mm",
                tooling.touching_height_mm,
                plain(vise.opening_mm)
            ))
            .id("dies-vise-too-small")
            .at(&vise.span)
            .help("use a smaller dies.base_mm, or a larger vise or a press")
            .help("or press in two strokes, fewer steps in each pair"),
        );
    }
}

/// Noses that a nozzle rounds off.
fn blunt_noses(tooling: &Tooling, part: &Part, notes: &mut Vec<Diagnostic>) {
    let least_mm = part.printer.nozzle_mm / 2.0;
    let nose_mm = tooling.section.nose_radius_mm;
    if nose_mm < least_mm {
        notes.push(
            Diagnostic::warning(format!(
                "the smallest nose of the dies has a radius of {nose_mm:.2} mm, a {} mm nozzle prints it rounder",
                plain(part.printer.nozzle_mm)
            )).id("dies-nose-printed-rounder")
            .help("use a larger inside radius, or a finer nozzle")
            .help("such a nose is also the first to give way under load"),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forming::compensate;
    use crate::part::{parse, starter::STARTER};
    use approx::assert_abs_diff_eq;

    fn pair(edit: &str) -> Result<Noted<Tooling>, Refused> {
        let text = STARTER.replace("[dies]", &format!("[dies]\n{edit}"));
        let part = parse(&text).unwrap().value;
        tooling(&part, &compensate(&part).value)
    }

    fn shapes(pair: &Tooling) -> (&BlockShape, &BlockShape) {
        (&pair.blocks[0].shape, &pair.blocks[1].shape)
    }

    #[test]
    fn every_pin_finds_its_socket_with_play_and_depth_to_spare() {
        let pair = pair("").unwrap().value;
        let (lower, upper) = shapes(&pair);
        assert_eq!(lower.pins.len(), 2);
        for pin in &lower.pins {
            // The upper block is described turned half round y.
            let socket = upper
                .sockets
                .iter()
                .find(|socket| (socket.x_mm + pin.x_mm).abs() < 1e-9)
                .unwrap();
            assert_eq!(socket.y_mm, pin.y_mm);
            assert_abs_diff_eq!(
                socket.radius_mm - pin.radius_mm,
                PIN_PLAY_MM,
                epsilon = 1e-12
            );
            let tip = lower.face.height_at(pin.x_mm) + pin.height_mm;
            let bottom = -(upper.face.height_at(socket.x_mm) - socket.depth_mm);
            assert_abs_diff_eq!(bottom - tip, SOCKET_RESERVE_MM, epsilon = 1e-9);
            assert!(pair.upper_back_mm - bottom >= BEHIND_SOCKET_MM - 1e-9);
            // The pin is in its socket before the blank is touched.
            let mouth = -upper.face.height_at(socket.x_mm) + pair.section.stroke_mm;
            assert!(tip > mouth + ENGAGED_MM - 1e-9);
        }
    }

    #[test]
    fn turned_round_the_pins_meet_no_socket() {
        let pair = pair("").unwrap().value;
        let (lower, upper) = shapes(&pair);
        let middle = f64::midpoint(upper.y_mm.0, upper.y_mm.1);
        for pin in &lower.pins {
            for socket in &upper.sockets {
                let turned_y = 2.0 * middle - socket.y_mm;
                assert!((turned_y - pin.y_mm).abs() > 2.0 * PIN_PLAY_MM);
            }
        }
    }

    #[test]
    fn the_upper_block_slides_between_the_cheeks_and_stands_above_them() {
        let pair = pair("cheeks = \"both\"").unwrap().value;
        let (lower, upper) = shapes(&pair);
        assert!(upper.y_mm.0 - lower.y_mm.0 >= SLIDE_MM - 1e-12);
        assert!(lower.y_mm.1 - upper.y_mm.1 >= SLIDE_MM - 1e-12);
        assert!(pair.upper_back_mm >= lower.cheek_top_mm + ABOVE_CHEEKS_MM - 1e-9);
        // The blank, 32 mm wide, stands between the cheeks.
        let room = lower.y_mm.1 - lower.y_mm.0 - 32.0;
        assert_abs_diff_eq!(room, 2.0 * CHEEK_CLEARANCE_MM, epsilon = 1e-9);
    }

    #[test]
    fn the_blank_lies_between_the_end_stops() {
        let pair = pair("").unwrap().value;
        let towers = pair.section.towers.unwrap();
        let laid = pair.section.laid;
        assert!(laid.left.x > towers.left.1 && laid.right.x < towers.right.0);
        // Its ends lie lower than the towers: they stop it.
        let top = pair.section.lower.height_at(towers.left.0);
        assert!(laid.highest_mm(1.0) < top);
    }

    #[test]
    fn what_does_not_fit_vise_bed_or_nozzle_is_refused_all_at_once() {
        let text = STARTER
            .replace("opening_mm = 140.0", "opening_mm = 25.0")
            .replace(
                "bed_mm = [220.0, 220.0, 250.0]",
                "bed_mm = [60.0, 60.0, 60.0]",
            )
            .replace("nozzle_mm = 0.4", "nozzle_mm = 2.0")
            .replace(
                "to_mm = 40.0",
                "to_mm = 40.0\nstep = { wall_angle_deg = 45.0 }",
            )
            .replace("from_mm = 21.5 ", "# ");
        let part = parse(&text).unwrap().value;
        let refusals = tooling(&part, &compensate(&part).value).unwrap_err();
        let all: String = refusals.iter().map(|r| r.message.clone() + "\n").collect();
        assert!(all.contains("the vise opens 25 mm"), "{all}");
        assert!(all.contains("fits the printer in no pose"), "{all}");
        for refusal in &refusals {
            assert!(refusal.span.is_some() && !refusal.help.is_empty());
        }
    }

    #[test]
    fn without_stops_there_are_no_pins_and_a_word_about_it() {
        let pair = pair("end_stops = false").unwrap();
        assert!(pair.value.blocks[0].shape.pins.is_empty());
        assert!(
            pair.notes
                .iter()
                .any(|note| note.message.starts_with("no pins"))
        );
    }

    #[test]
    fn a_printer_that_shrinks_gets_larger_files() {
        let text = STARTER.replace("# length_scale = 1.0", "length_scale = 0.99");
        let part = parse(&text).unwrap().value;
        let shrunk = tooling(&part, &compensate(&part).value).unwrap().value;
        let usual = pair("").unwrap().value;
        let ratio = shrunk.blocks[0].size_mm[0] / usual.blocks[0].size_mm[0];
        assert_abs_diff_eq!(ratio, 1.0 / 0.99, epsilon = 1e-9);
    }
}
