//! Printing the dies: settings with their reasons, and what to look at before the first press.

use super::BuildStep;
use crate::dies::printability::PrintPose;
use crate::dies::{DieBlock, Tooling};
use crate::job::Job;
use crate::numbers::plain;
use crate::result::catalogue::stl_name;

/// Printing the pair; nothing when there is no pair.
pub fn print_dies(job: &Job) -> Option<BuildStep> {
    let tooling = job.tooling.as_ref().ok()?;
    if job.part.steps.is_empty() {
        return Some(BuildStep::new("No dies needed").text(
            "The plate has no bends. The dies in the folder only hold it flat; print nothing, cut the blank and go on.",
        ));
    }
    let files: Vec<&str> = tooling
        .blocks
        .iter()
        .map(|block| stl_name(block.role))
        .collect();
    let step = BuildStep::new("Print the dies")
        .text(format!(
            "{}, or both in one file: dies.3mf. Millimetres, 100 %, as they lie in the file.",
            files.join(" and ")
        ))
        .table(
            "Print settings with their reasons",
            &["setting", "value", "why"],
            settings(job, tooling),
        )
        .list(after_printing(job));
    Some(step)
}

fn settings(job: &Job, tooling: &Tooling) -> Vec<Vec<String>> {
    let printer = &job.part.printer;
    let row =
        |setting: &str, value: String, why: &str| vec![setting.to_owned(), value, why.to_owned()];
    let lines = (printer.wall_mm / printer.nozzle_mm).round().max(1.0);
    let mut rows = vec![
        row(
            "plastic",
            printer.plastic.trade_name().into(),
            "stiffness and strength of the dies are calculated with it; another plastic gives other angles",
        ),
        row(
            "walls",
            format!(
                "{} mm, {lines:.0} lines of {} mm",
                plain(printer.wall_mm),
                plain(printer.nozzle_mm)
            ),
            "the noses press on the walls; with fewer they are pressed in, with more the dies give less than calculated",
        ),
        row(
            "infill",
            format!(
                "{} %, the same in all directions",
                plain(printer.infill_percent)
            ),
            "it carries the walls; the calculation counts on this much",
        ),
        row(
            "layers",
            format!("{} mm or thinner", plain(0.5 * printer.nozzle_mm)),
            "half the nozzle: layers weld better and round noses come out round (common practice, no source)",
        ),
    ];
    rows.extend(tooling.blocks.iter().map(pose));
    rows.push(row(
        "supports",
        "none on working faces".to_owned(),
        "what a support leaves behind would be pressed into the sheet",
    ));
    rows
}

fn pose(block: &DieBlock) -> Vec<String> {
    let [x, y, z] = block.size_mm;
    let why = match block.print.pose {
        PrintPose::OnSide => {
            "layers then run through back and nose in one piece: the press pushes along the layers, not across them, and the \
             profile is as smooth as the printer's walls"
        }
        PrintPose::OnBack => {
            "it does not fit or hangs over too much otherwise; layers lie across the press's push, which presses them \
             together, and the profile shows their steps"
        }
        PrintPose::OnEnd => {
            "nothing else fits; noses can split along the layers: more walls, slow closing"
        }
    };
    vec![
        format!("{} die", block.role.word()),
        format!(
            "{}, {x:.0} × {y:.0} × {z:.0} mm, about {:.0} g",
            block.print.pose.words(),
            block.print.estimated_mass_g
        ),
        why.to_owned(),
    ]
}

fn after_printing(job: &Job) -> Vec<String> {
    let mut items = vec![
        "Cut strings and the rim of the first layer off; the working faces must be clean.".to_owned(),
        "Close the empty pair: it must slide together by hand and not rock. Ream holes or thin pins until it does."
            .to_owned(),
    ];
    if let Ok(tooling) = &job.tooling
        && let Some(block) = tooling.blocks.first()
    {
        let drawn_mm = block.size_mm.iter().copied().fold(0.0, f64::max);
        items.push(format!(
            "Measure the lower die's longest side: {drawn_mm:.2} mm. What it is off, print minus drawn, is size_error_mm \
             under [printer]; now the file says {} mm.",
            plain(job.part.printer.size_error_mm)
        ));
    }
    items
}
