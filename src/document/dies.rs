//! The pair that presses the plate: how far to close it, how to print it, what it makes of the drawing.

use super::places::{DIES, entry};
use super::{Block, Cell, Column, Digits, Document, Line, Media, Medium, Table, between, box_size};
use crate::dies::{DieBlock, Tooling};
use crate::job::Job;
use crate::numbers::plain;
use crate::result::catalogue::stl_name;
use crate::words;

fn number(field: &str, value: f64, decimals: usize) -> Line {
    Line::number(format!("{DIES}/{field}"), value, Digits::Fixed(decimals))
}

/// Pictures of the pair: what a page shows where it cannot show it turning.
pub fn pictures(job: &Job) -> Document {
    let mut document = Document::default();
    if job.tooling.is_ok() {
        for (name, caption) in [
            (
                "dies.svg",
                "The closed pair in section, with the sheet between.",
            ),
            ("states.svg", "Blank laid in, touching, closed, opened."),
        ] {
            document.push(Media::DETAIL, Block::Picture { name, caption });
        }
    }
    document
}

/// What is known of the pair.
pub fn dies(job: &Job) -> Document {
    let mut document = Document::default();
    let Ok(tooling) = &job.tooling else {
        document.text(
            Media::ALL,
            "There is no die pair: the reasons stand in the answer above.",
        );
        return document;
    };
    let printer = &job.part.printer;
    document
        .text(Media::ALL, press_until(job, tooling))
        .text(Media::ALL, travel(job, tooling))
        .text(Media::USUAL, tilt(tooling));
    if printer.bed_mm.is_none() {
        document.text(
            Media::ALL,
            "Not checked against a printer bed: no bed_mm under [printer].",
        );
    }
    if job.part.vise.is_none() {
        document.text(
            Media::ALL,
            "Not checked against a vise: no [vise] in the part file.",
        );
    }
    document
        .table(Media::ALL, print(tooling))
        .text(Media::ALL, plastic(job, tooling))
        .text(
            Media::only(Medium::Terminal),
            format!(
                "That is with walls of {} mm and {} % infill.",
                plain(printer.wall_mm),
                plain(printer.infill_percent)
            ),
        )
        .table(Media::USUAL, blocks(tooling))
        .table(Media::USUAL, poses(tooling))
        .text(
            Media::USUAL,
            Line::words("Springback: ").then_said(
                format!("{DIES}/compensation_model"),
                &job.compensation.model,
            ),
        )
        .table(Media::ALL, bends(job))
        .list(Media::USUAL, methods(job))
        .text(Media::USUAL, faces(job, tooling));
    document.care(
        Media::USUAL,
        [
            "Printed dies can split under load: eye protection, close slowly, face out of line, fingers clear.",
            if job.pressing.is_some() {
                "The pressing is calculated for plastic that scatters by a factor of two: measure the first plate."
            } else {
                "A sheet does not quite fill a printed die: expect the first pressing rounder and flatter than drawn."
            },
        ],
    );
    document
}

/// How far to close the vise.
pub fn press_until(job: &Job, tooling: &Tooling) -> Line {
    let end_mm = job.backs_of(tooling).end_mm;
    let words = words::press::until(&job.part, job.pressing.as_ref(), end_mm);
    Line::said(format!("{DIES}/press_until_text"), words)
}

fn travel(job: &Job, tooling: &Tooling) -> Line {
    let backs = job.backs_of(tooling);
    Line::words("The blank is touched at ")
        .join(number("touching_height_mm", backs.touching_mm, 2))
        .then(" mm, so the vise travels ")
        .join(number("travel_mm", backs.travel_mm(), 2))
        .then(" mm under load.")
}

fn tilt(tooling: &Tooling) -> Line {
    let tilt = tooling.section.tilt;
    if tilt.rad() == 0.0 {
        return Line::words(
            "The flats lie square to the closing direction; both backs are parallel to them.",
        );
    }
    Line::words("The part is turned by ")
        .join(number("tilt_deg", tilt.degrees(), 1))
        .then(
            "° in the die, so that its steepest walls open; the backs are parallel to each other.",
        )
}

/// What printing takes.
pub fn plastic(job: &Job, tooling: &Tooling) -> Line {
    Line::words("Both dies together: about ")
        .join(number("total_mass_g", tooling.total_mass_g(), 0))
        .then(" g of ")
        .then_said(
            format!("{DIES}/plastic"),
            job.part.printer.plastic.trade_name(),
        )
        .then(".")
}

fn place_of(number: usize) -> String {
    entry(&format!("{DIES}/blocks"), number)
}

fn print(tooling: &Tooling) -> Table {
    let rows = tooling.blocks.iter().enumerate().map(|(number, block)| {
        let at = place_of(number);
        let pose = chosen(block);
        vec![
            Cell::said(format!("{at}/file"), stl_name(block.role)),
            box_size(&format!("{at}/size_mm"), block.size_mm).into(),
            Cell::words(block.print.pose.words()),
            Cell::number(
                format!("{at}/print/poses/{pose}/overhang_mm2"),
                block.print.overhang_mm2(),
            ),
            Cell::number(
                format!("{at}/print/estimated_mass_g"),
                block.print.estimated_mass_g,
            ),
        ]
    });
    let columns = vec![
        Column::words("file"),
        Column::words("size, mm"),
        Column::words("print it"),
        Column::fixed("overhang", "mm²", 0),
        Column::fixed("mass", "g", 0),
    ];
    Table::new("What to print, as it lies in the files", columns).with(rows)
}

fn chosen(block: &DieBlock) -> usize {
    let mut poses = block.print.poses.iter();
    poses
        .position(|check| check.pose == block.print.pose)
        .unwrap_or_default()
}

fn blocks(tooling: &Tooling) -> Table {
    let rows = tooling.blocks.iter().enumerate().map(|(number, block)| {
        let at = place_of(number);
        vec![
            Cell::words(block.role.word()),
            Cell::number(format!("{at}/volume_mm3"), block.volume_mm3),
            Cell::or_absent(
                format!("{at}/print/narrowest_rib_mm"),
                Some(block.print.narrowest_rib_mm),
            ),
            Cell::number(format!("{at}/triangles"), block.mesh.triangles.len() as f64),
        ]
    });
    let columns = vec![
        Column::words("die"),
        Column::fixed("volume", "mm³", 0),
        Column::fixed("narrowest rib", "mm", 1),
        Column::fixed("triangles", "", 0),
    ];
    Table::new("Blocks", columns).with(rows)
}

fn poses(tooling: &Tooling) -> Table {
    let rows = tooling
        .blocks
        .iter()
        .enumerate()
        .flat_map(|(number, block)| {
            let poses = block.print.poses.iter().enumerate();
            poses.map(move |(pose, check)| {
                let at = format!("{}/print/poses/{pose}", place_of(number));
                vec![
                    Cell::words(block.role.word()),
                    Cell::words(check.pose.words()),
                    box_size(&format!("{at}/size_mm"), check.size_mm).into(),
                    Cell::number(format!("{at}/overhang_mm2"), check.overhang_mm2),
                    match check.fits_bed {
                        Some(true) => Cell::words("yes"),
                        Some(false) => Cell::bad("NO"),
                        None => Cell::words("not checked"),
                    },
                    Cell::words(if check.pose == block.print.pose {
                        "chosen"
                    } else {
                        ""
                    }),
                ]
            })
        });
    let columns = vec![
        Column::words("die"),
        Column::words("pose"),
        Column::words("size, mm"),
        Column::fixed("overhang", "mm²", 0),
        Column::words("on the bed"),
        Column::words(""),
    ];
    Table::new("Poses looked at", columns).with(rows)
}

fn bends(job: &Job) -> Table {
    let bends = job.compensation.bends.iter().enumerate();
    let rows = bends.map(|(number, bend)| {
        let at = entry(&format!("{DIES}/compensation"), number);
        let place = |field: &str| format!("{at}/{field}");
        vec![
            between(&at, &bend.between).into(),
            Cell::number(place("target_angle_deg"), bend.target_angle_deg),
            Cell::number(place("die_angle_deg"), bend.die_angle_deg),
            Cell::number(
                place("target_inside_radius_mm"),
                bend.target_inside_radius_mm,
            ),
            Cell::number(place("die_inside_radius_mm"), bend.die_inside_radius_mm),
            Cell::number(place("k_r"), bend.k_r),
        ]
    });
    let columns = vec![
        Column::words("step"),
        Column::fixed("angle drawn", "°", 1),
        Column::fixed("die", "°", 2),
        Column::numbers("radius drawn", "mm", Digits::Plain),
        Column::fixed("die", "mm", 3),
        Column::fixed("kR", "", 3).on(Media::USUAL),
    ];
    Table::new("Bends drawn and in the die (radius: inside)", columns).with(rows)
}

/// Where the factors come from, each once.
fn methods(job: &Job) -> Vec<Line> {
    let mut known: Vec<&str> = Vec::new();
    let mut lines = Vec::new();
    for (number, bend) in job.compensation.bends.iter().enumerate() {
        if !known.contains(&bend.method.as_str()) {
            known.push(&bend.method);
            let place = format!("{DIES}/compensation/{number}/method");
            lines.push(Line::words("kR from ").then_said(place, &bend.method));
        }
    }
    lines
}

fn faces(job: &Job, tooling: &Tooling) -> Line {
    let section = &tooling.section;
    let as_given =
        |field: &str, mm: f64| Line::number(format!("{DIES}/{field}"), mm, Digits::Plain);
    Line::words("Gap between the closed faces ")
        .join(as_given("gap_mm", section.gap_mm))
        .then(" mm, smallest nose radius ")
        .join(number("nose_radius_mm", section.nose_radius_mm, 2))
        .then(" mm, hollow corners relieved by up to ")
        .join(number("corner_relief_mm", section.relief_mm, 2))
        .then(" mm, arcs in the mesh true to ")
        .join(as_given("chord_error_mm", job.part.dies.chord_error_mm))
        .then(" mm.")
}
