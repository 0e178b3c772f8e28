//! `coldstep dies`: the pair that presses the plate.

use crate::cli::flags::output::Output;
use crate::cli::flags::output::{said, write};
use crate::cli::flags::springback;
use crate::cli::flags::springback::HowPressed;
use crate::cli::io::read;
use crate::cli::io::terminal;
use crate::cli::{Answer, Failure, Run, json, verdict};
use crate::dies::{DieBlock, Tooling};
use crate::document;
use crate::document::answer::total_mass_g;
use crate::job::Job;
use crate::output::folder::die_files;
use crate::result::catalogue::stl_name;
use clap::Args;
use serde_json::{Value, json};
use std::path::PathBuf;

/// Flags of `dies`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep dies plate.toml\n  \
    YES, IF the noses bear 107 MPa (a weak print 72): \"starter plate\" can be made.\n  \
    ...\n\n\
    With --out DIR it writes both blocks as STL, 3MF and STEP, and three pictures. The exit code is 1 when\n\
    the plate cannot be made like this; the reasons say what would help."
)]
pub struct Dies {
    /// Part file.
    part: PathBuf,
    #[command(flatten)]
    how: HowPressed,
    #[command(flatten)]
    output: Output,
}

impl Run for Dies {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, warnings, source) = read::part(&self.part)?;
        let job = springback::job(part, warnings, &self.how)?;
        let Ok(tooling) = &job.tooling else {
            return Ok(verdict::answer(
                &job,
                &format!("\n{}", terminal::document(&document::dies::dies(&job))),
                Vec::new(),
                Some(source),
            ));
        };
        let written = write(&self.output, die_files(&job))?;
        let mut fields = fields(&job, tooling);
        fields.push(("files", json::value(&written)));
        let text = said(
            &document::dies::dies(&job),
            &written,
            "lower.stl, upper.stl, dies.3mf for both, lower.step, upper.step, dies.svg, states.svg and dies.png",
        );
        Ok(verdict::answer(
            &job,
            &format!("\n{text}"),
            fields,
            Some(source),
        ))
    }
}

fn block_json(block: &DieBlock) -> Value {
    json!({
        "role": block.role,
        "file": stl_name(block.role),
        "size_mm": block.size_mm,
        "volume_mm3": block.volume_mm3,
        "exact_volume_mm3": block.exact_volume_mm3,
        "triangles": block.mesh.triangles.len(),
        "solid_faces": block.solid_faces,
        "print": block.print,
    })
}

/// JSON fields of the pair.
pub(super) fn fields(job: &Job, tooling: &Tooling) -> Vec<(&'static str, Value)> {
    let section = &tooling.section;
    let blocks: Vec<Value> = tooling.blocks.iter().map(block_json).collect();
    vec![
        ("total_mass_g", json::value(&total_mass_g(tooling))),
        ("plastic", json!(job.part.printer.plastic.name())),
        ("blocks", json::rounded(Value::Array(blocks))),
        ("compensation", json::value(&job.compensation.bends)),
        ("compensation_model", json!(job.compensation.model)),
        ("tilt_deg", json::value(&section.tilt.degrees())),
        ("gap_mm", json::value(&section.gap_mm)),
        ("nose_radius_mm", json::value(&section.nose_radius_mm)),
        ("corner_relief_mm", json::value(&section.relief_mm)),
        ("stroke_mm", json::value(&section.stroke_mm)),
        ("closed_height_mm", json::value(&tooling.closed_height_mm)),
        (
            "touching_height_mm",
            json::value(&tooling.touching_height_mm),
        ),
        ("length_mm", json::value(&tooling.length_mm)),
        ("pin_height_mm", json::value(&tooling.pin_height_mm)),
        ("chord_error_mm", json::value(&job.part.dies.chord_error_mm)),
    ]
}
