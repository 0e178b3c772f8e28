//! The files that a run writes: their names, and what each is for.

use crate::dies::DieSide;

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
pub const fn stl_name(role: DieSide) -> &'static str {
    match role {
        DieSide::Lower => "lower.stl",
        DieSide::Upper => "upper.stl",
    }
}

/// Name of a block's exact solid.
pub const fn step_name(role: DieSide) -> &'static str {
    match role {
        DieSide::Lower => "lower.step",
        DieSide::Upper => "upper.step",
    }
}

/// Name of a block in a print file.
pub const fn block_name(role: DieSide) -> &'static str {
    match role {
        DieSide::Lower => "lower die",
        DieSide::Upper => "upper die",
    }
}
