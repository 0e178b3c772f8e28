//! Everything `make` writes for one part, in memory.

use super::Drawing;
use super::blank_sheet::{blank_sheet, flat_drawing};
use super::closing_pictures::{closing, closing_stills};
use super::die_pictures::{closed_pair, four_states};
use super::dxf::{DxfError, dxf};
use super::force_picture::force_curve;
use super::heat_compare::heat_compare;
use super::heat_ladder::heat_ladder;
use super::heat_map::heat_map;
use super::pad_chart::pad_chart;
use super::plan_picture::plan;
use super::pressed_picture::pressed_plate;
use super::report::report;
use super::section_picture::plate_over_parts;
use super::stl::{StlError, stl};
use super::summary::summary;
use super::svg::{SvgOptions, svg};
use crate::blank::Blank;
use crate::dies::{DieBlock, Role};
use crate::forming::pressing::Pressing;
use crate::heat::Heat;
use crate::job::Job;
use crate::part::Part;
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
pub const FILES: [(&str, &str); 11] = [
    (
        "report.html",
        "This page: open it first. It needs no network.",
    ),
    ("summary.txt", "The answer in plain words."),
    (
        "section.svg",
        "The plate over the board parts, from the side, with every gap.",
    ),
    ("plan.svg", "The plate over the board parts, from above."),
    (
        "blank.svg",
        "The flat blank at true size: print at 100 % and check the ruler line.",
    ),
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
        "dies.svg",
        "The closed pair in section, with the sheet between.",
    ),
    ("states.svg", "Blank laid in, touching, closed, opened."),
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
    FILES.into_iter().chain(PRESS_FILES).chain(HEAT_FILES)
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

/// Why a file could not be made. Each is a fault of coldstep, not of the part.
#[derive(Debug, Error)]
pub enum FolderError {
    /// DXF.
    #[error("the blank cannot be written as DXF: {0}")]
    Dxf(#[from] DxfError),
    /// STL.
    #[error("a die cannot be written as STL: {0}")]
    Stl(#[from] StlError),
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

/// The blank as DXF and as SVG at true size.
///
/// # Errors
/// When the DXF writer refuses.
pub fn blank_files(part: &Part, blank: &Blank) -> Result<Vec<OutputFile>, FolderError> {
    Ok(vec![
        file("blank.dxf", dxf(&flat_drawing(blank))?),
        file(
            "blank.svg",
            svg(&blank_sheet(part, blank), &SvgOptions::default()),
        ),
    ])
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
pub fn folder(job: &Job) -> Result<Vec<OutputFile>, FolderError> {
    let mut files = vec![
        file("summary.txt", marked_text(&summary(job))),
        picture("section.svg", &plate_over_parts(&job.part, &job.fit)),
        picture("plan.svg", &plan(&job.part, &job.fit)),
    ];
    files.extend(blank_files(&job.part, &job.blank)?);
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
    fn every_file_carries_the_mark_near_its_start_and_has_a_purpose() {
        let job = Job::read(STARTER).unwrap();
        let files = folder(&job).unwrap();
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
            let head = &file.bytes[..file.bytes.len().min(512)];
            assert!(
                head.windows(19)
                    .any(|window| window == b"written by coldstep"),
                "{}",
                file.name
            );
            assert!(!file.purpose.is_empty());
        }
    }

    #[test]
    fn the_same_part_gives_the_same_bytes() {
        let make = || folder(&Job::read(STARTER).unwrap()).unwrap();
        assert_eq!(make(), make());
    }
}
