//! Everything `make` writes for one part, in memory.

use super::paper::{Printing, build_pages, section_sheet, template};
use super::pictures::blank::{blank_sheet, flat_drawing};
use super::pictures::dies::solids::{ViewError, on_bed, opened_pair, thumbnail};
use super::pictures::dies::states::{closed_pair, four_states};
use super::pictures::heat::compare::heat_compare;
use super::pictures::heat::ladder::heat_ladder;
use super::pictures::heat::map::heat_map;
use super::pictures::heat::pads::pad_chart;
use super::pictures::plate::plan::plan;
use super::pictures::plate::section::plate_over_parts;
use super::pictures::press::closing::{closing, closing_stills};
use super::pictures::press::force::force_curve;
use super::pictures::press::pressed::pressed_plate;
use super::report::report;
use super::text;
use crate::blank::Blank;
use crate::dies::DieBlock;
use crate::document::answer::{CAUTIONS, summary};
use crate::document::build_sheet::{build_sheet, measurements};
use crate::draw::Drawing;
use crate::draw::lettering::part_name;
use crate::draw::pdf::PdfError;
use crate::draw::svg::{SvgOptions, svg};
use crate::formats::dxf::{DxfError, dxf};
use crate::formats::step::{StepAbout, StepFileError, step};
use crate::formats::stl::{StlError, stl};
use crate::formats::threemf::{Printed, ThreemfError, threemf};
use crate::forming::pressing::Pressing;
use crate::geometry::BodyError;
use crate::heat::Heat;
use crate::job::Job;
use crate::part::Part;
use crate::plate;
use crate::result::catalogue::{OutputFile, all_files, block_name, purpose, step_name, stl_name};
use crate::result::{Found, Source};
use thiserror::Error;

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
    Step(#[from] StepFileError),
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
    for (name, drawing) in [
        ("dies.svg", closed_pair(job)),
        ("states.svg", four_states(job)),
    ] {
        files.extend(drawing.map(|drawing| picture(name, &drawing)));
    }
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
        file("summary.txt", marked_text(&text::summary(&summary(job)))),
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

/// The whole document of a job, as `make` writes it as `result.json` beside files of these names.
///
/// `source` is the part file: with it findings have their places.
pub fn result(job: &Job, names: &[&str], source: Option<&Source>) -> Found {
    let names = names.iter().map(|&name| name.to_owned());
    Found {
        measurements: Some(measurements(job)),
        build_sheet: Some(build_sheet(job)),
        care: Some(CAUTIONS.map(str::to_owned).into()),
        files: Some(names.collect()),
        ..Found::of(job, source)
    }
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
    use crate::result::catalogue::PRESS_FILES;

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
