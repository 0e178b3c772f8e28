//! Everything `make` writes for one part, in memory.

use super::Drawing;
use super::blank_sheet::{blank_sheet, flat_drawing};
use super::build_sheet::build_sheet;
use super::closing_pictures::{closing, closing_stills};
use super::die_pictures::{closed_pair, four_states};
use super::die_views::{ViewError, on_bed, opened_pair, thumbnail};
use super::dxf::{DxfError, dxf};
use super::force_picture::force_curve;
use super::heat_compare::heat_compare;
use super::heat_ladder::heat_ladder;
use super::heat_map::heat_map;
use super::lettering::part_name;
use super::pad_chart::pad_chart;
use super::paper::{PdfError, Printing, build_pages, section_sheet, template};
use super::plan_picture::plan;
use super::pressed_picture::pressed_plate;
use super::report::report;
use super::section_picture::plate_over_parts;
use super::step::{StepAbout, StepError, step};
use super::stl::{StlError, stl};
use super::summary::summary;
use super::svg::{SvgOptions, svg};
use super::threemf::{Printed, ThreemfError, threemf};
use crate::blank::Blank;
use crate::dies::{DieBlock, Role};
use crate::forming::pressing::Pressing;
use crate::geometry::BodyError;
use crate::heat::Heat;
use crate::job::Job;
use crate::part::Part;
use crate::plate;
use thiserror::Error;

/// One file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutputFile {
    /// Name without a folder.
    pub name: &'static str,
    /// What it is for, in one sentence.
    pub purpose: &'static str,
    /// Content.
    pub bytes: Vec<u8>,
}

/// Names of all files that a run may write, and what each is for.
pub const FILES: &[(&str, &str)] = &[
    (
        "report.html",
        "This page: open it first. It needs no network.",
    ),
    ("summary.txt", "The answer in plain words."),
    (
        "section.svg",
        "The plate over the board parts, from the side, with every gap.",
    ),
    ("section.pdf", "The same on a page, to print."),
    (
        "build_sheet.pdf",
        "What to do, step by step, from buying the sheet to the first power-up: print it.",
    ),
    ("plan.svg", "The plate over the board parts, from above."),
    (
        "template.pdf",
        "The flat blank at true size on paper: print at 100 % and check the rulers.",
    ),
    ("blank.svg", "The same as a picture at true size."),
    (
        "blank.dxf",
        "The flat blank for a cutter: millimetres, layers outline, hole, bend and tangent.",
    ),
    (
        "lower.stl",
        "Lower die, on the board's side, in print pose: millimetres.",
    ),
    ("upper.stl", "Upper die, in print pose: millimetres."),
    (
        "dies.3mf",
        "Both dies in one print file, named, beside each other on the bed.",
    ),
    (
        "dies.png",
        "The two dies opened, the formed plate between them.",
    ),
    (
        "dies.svg",
        "The closed pair in section, with the sheet between.",
    ),
    ("states.svg", "Blank laid in, touching, closed, opened."),
    (
        "lower.step",
        "Lower die as an exact solid for drawing programs, in its place in the vise.",
    ),
    (
        "upper.step",
        "Upper die as an exact solid, closed, in the same frame as the lower one.",
    ),
    (
        "plate.step",
        "The formed plate as drawn, an exact solid; board top is z = 0.",
    ),
    ("result.json", "Every number, for other programs."),
];

/// Names of the files about a calculated pressing, and what each is for.
pub const PRESS_FILES: [(&str, &str); 4] = [
    (
        "pressed.svg",
        "The pressed plate over the drawn one, with every angle and height that came out.",
    ),
    (
        "force.svg",
        "The force while the dies close, and what the vise gives.",
    ),
    (
        "closing.svg",
        "The sheet while the dies close on it: a film, to be opened in a browser.",
    ),
    (
        "closing_frames.svg",
        "Four stills of the closing, for print.",
    ),
];

/// Names of the files about temperatures, and what each is for.
pub const HEAT_FILES: [(&str, &str); 4] = [
    (
        "heat_map.svg",
        "Temperatures over the plate, from above and along its section.",
    ),
    (
        "heat_parts.svg",
        "How warm each part gets, before and after, and how far that can be trusted.",
    ),
    (
        "heat_ladder.svg",
        "Where the degrees go, from the inside of the part that needs help most to the air.",
    ),
    (
        "heat_pads.svg",
        "What a better pad would bring that part, and where it stops paying.",
    ),
];

/// Every file that `make` may write, with what it is for, in the order of the page.
pub fn all_files() -> impl Iterator<Item = (&'static str, &'static str)> {
    FILES.iter().copied().chain(PRESS_FILES).chain(HEAT_FILES)
}

/// What a file is for.
pub fn purpose(name: &str) -> &'static str {
    all_files()
        .find(|(known, _)| *known == name)
        .map_or("", |(_, purpose)| purpose)
}

/// Name of a block's file.
pub const fn stl_name(role: Role) -> &'static str {
    match role {
        Role::Lower => "lower.stl",
        Role::Upper => "upper.stl",
    }
}

/// Name of a block's exact solid.
const fn step_name(role: Role) -> &'static str {
    match role {
        Role::Lower => "lower.step",
        Role::Upper => "upper.step",
    }
}

/// Name of a block in a print file.
const fn block_name(role: Role) -> &'static str {
    match role {
        Role::Lower => "lower die",
        Role::Upper => "upper die",
    }
}

/// Why a file could not be made. Each is a fault of coldstep, not of the part.
#[derive(Debug, Error)]
pub enum FolderError {
    /// DXF.
    #[error("the blank cannot be written as DXF: {0}")]
    Dxf(#[from] DxfError),
    /// PDF.
    #[error("pages cannot be written: {0}")]
    Pdf(#[from] PdfError),
    /// STL.
    #[error("a die cannot be written as STL: {0}")]
    Stl(#[from] StlError),
    /// 3MF.
    #[error("the dies cannot be written as 3MF: {0}")]
    Threemf(#[from] ThreemfError),
    /// STEP.
    #[error("a solid cannot be written as STEP: {0}")]
    Step(#[from] StepError),
    /// The formed plate.
    #[error("the formed plate cannot be meshed: {0}")]
    Plate(#[from] BodyError),
    /// Pictures of solids.
    #[error("the dies cannot be drawn as solids: {0}")]
    View(#[from] ViewError),
}

fn file(name: &'static str, bytes: Vec<u8>) -> OutputFile {
    OutputFile {
        name,
        purpose: purpose(name),
        bytes,
    }
}

/// A picture, drawn on paper of a usual width.
fn picture(name: &'static str, drawing: &Drawing) -> OutputFile {
    file(name, svg(drawing, &SvgOptions::default()))
}

/// The blank at true size, on paper, as a picture and for a cutter, and the plate that it becomes.
///
/// # Errors
/// When a writer refuses.
pub fn blank_files(
    part: &Part,
    blank: &Blank,
    printing: &Printing,
) -> Result<Vec<OutputFile>, FolderError> {
    Ok(vec![
        file("template.pdf", template(part, blank, printing)?),
        file("blank.dxf", dxf(&flat_drawing(blank))?),
        file(
            "blank.svg",
            svg(&blank_sheet(part, blank), &SvgOptions::default()),
        ),
        plate_file(part, blank)?,
    ])
}

/// The formed plate as an exact solid.
fn plate_file(part: &Part, blank: &Blank) -> Result<OutputFile, FolderError> {
    let name = "plate.step";
    let about = StepAbout {
        file: name,
        title: part_name(&part.name),
        volume_mm3: plate::volume_mm3(part, blank),
    };
    Ok(file(name, step(&plate::body(part, blank), &about)?))
}

/// One block as an exact solid.
fn die_solid(part: &Part, block: &DieBlock) -> Result<OutputFile, FolderError> {
    let name = step_name(block.role);
    let title = format!("{} of {}", block_name(block.role), part_name(&part.name));
    let about = StepAbout {
        file: name,
        title: &title,
        volume_mm3: block.shape.volume_mm3(),
    };
    Ok(file(name, step(&block.in_vise(), &about)?))
}

/// Both blocks as one print file.
fn print_file(part: &Part, blocks: &[DieBlock]) -> Result<OutputFile, FolderError> {
    let solids: Vec<Printed<'_>> = blocks
        .iter()
        .zip(on_bed(blocks))
        .map(|(block, at)| Printed {
            name: block_name(block.role),
            mesh: &block.mesh,
            at,
        })
        .collect();
    let title = format!("dies of {}", part_name(&part.name));
    Ok(file(
        "dies.3mf",
        threemf(&title, &solids, thumbnail(part, blocks)?)?,
    ))
}

/// One block as STL.
///
/// # Errors
/// When the mesh does not close in single precision.
pub fn die_file(part: &Part, block: &DieBlock) -> Result<OutputFile, FolderError> {
    let title = format!("{} die of {}", block.role.word(), part.name);
    Ok(file(stl_name(block.role), stl(&block.mesh, &title)?))
}

/// The die pair: blocks and pictures; nothing when there is no pair.
///
/// # Errors
/// When a block cannot be written.
pub fn die_files(job: &Job) -> Result<Vec<OutputFile>, FolderError> {
    let Ok(tooling) = &job.tooling else {
        return Ok(Vec::new());
    };
    let mut files = tooling
        .blocks
        .iter()
        .map(|block| die_file(&job.part, block))
        .collect::<Result<Vec<_>, _>>()?;
    files.push(print_file(&job.part, &tooling.blocks)?);
    let plate = plate::mesh(&job.part, &job.blank, job.part.dies.chord_error_mm)?;
    files.push(file("dies.png", opened_pair(&job.part, tooling, &plate)?));
    for block in &tooling.blocks {
        files.push(die_solid(&job.part, block)?);
    }
    files.push(picture("dies.svg", &closed_pair(&job.part, tooling)));
    files.push(picture("states.svg", &four_states(&job.part, tooling)));
    Ok(files)
}

/// The pictures of a calculated pressing.
pub fn press_files(part: &Part, pressing: &Pressing) -> Vec<OutputFile> {
    vec![
        picture("pressed.svg", &pressed_plate(part, pressing)),
        picture("force.svg", &force_curve(part, pressing)),
        file("closing.svg", closing(part, pressing)),
        picture("closing_frames.svg", &closing_stills(part, pressing)),
    ]
}

/// The pictures of temperatures.
pub fn heat_files(part: &Part, heat: &Heat) -> Vec<OutputFile> {
    let mut files = vec![
        picture("heat_map.svg", &heat_map(part, heat)),
        picture("heat_parts.svg", &heat_compare(part, heat)),
    ];
    let ladder = heat_ladder(part, heat, heat.focus);
    files.extend(ladder.map(|drawing| picture("heat_ladder.svg", &drawing)));
    let pads = pad_chart(part, heat, heat.focus);
    files.extend(pads.map(|drawing| picture("heat_pads.svg", &drawing)));
    files
}

/// All files but `result.json`, in the order of [`all_files`].
///
/// # Errors
/// When a file cannot be made.
pub fn folder(job: &Job, printing: &Printing) -> Result<Vec<OutputFile>, FolderError> {
    let mut files = vec![
        file("summary.txt", marked_text(&summary(job))),
        picture("section.svg", &plate_over_parts(&job.part, &job.fit)),
        picture("plan.svg", &plan(&job.part, &job.fit)),
        file("section.pdf", section_sheet(job, printing.paper)?),
        file(
            "build_sheet.pdf",
            build_pages(job, &build_sheet(job), printing.paper)?,
        ),
    ];
    files.extend(blank_files(&job.part, &job.blank, printing)?);
    files.extend(die_files(job)?);
    if let Some(pressing) = &job.pressing {
        files.extend(press_files(&job.part, pressing));
    }
    if let Some(heat) = &job.heat {
        files.extend(heat_files(&job.part, heat));
    }
    let place = |name: &str| all_files().position(|(known, _)| known == name);
    files.sort_by_key(|file| place(file.name));
    files.insert(0, file("report.html", report(job, &files)));
    Ok(files)
}

/// A text that says whose it is, so that a later run may replace it.
fn marked_text(text: &str) -> Vec<u8> {
    let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
    format!("{first}\n(written by coldstep)\n{rest}").into_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::starter::STARTER;

    #[test]
    fn every_file_carries_the_mark_and_has_a_purpose() {
        let job = Job::read(STARTER).unwrap();
        let files = folder(&job, &Printing::default()).unwrap();
        let names: Vec<&str> = files.iter().map(|file| file.name).collect();
        // All but the document, which the command line writes, and what a pressing would add.
        let all: Vec<&str> = all_files()
            .map(|(name, _)| name)
            .filter(|name| {
                *name != "result.json" && !PRESS_FILES.iter().any(|(known, _)| known == name)
            })
            .collect();
        assert_eq!(names, all);
        for file in &files {
            let within = file.bytes.len().min(512);
            let (head, tail) = (
                &file.bytes[..within],
                &file.bytes[file.bytes.len() - within..],
            );
            // A ZIP archive begins with what is packed; its comment stands last.
            let place = if file.name == "dies.3mf" { tail } else { head };
            assert!(
                place
                    .windows(19)
                    .any(|window| window == b"written by coldstep"),
                "{}",
                file.name
            );
            assert!(!file.purpose.is_empty());
        }
    }

    #[test]
    fn the_same_part_gives_the_same_bytes() {
        let make = || folder(&Job::read(STARTER).unwrap(), &Printing::default()).unwrap();
        assert_eq!(make(), make());
    }
}
