//! `coldstep dies`: the pair that presses the plate.

use crate::cli::flags::output::Output;
use crate::cli::flags::output::{listed, write, written_words};
use crate::cli::flags::springback;
use crate::cli::flags::springback::HowPressed;
use crate::cli::io::read;
use crate::cli::io::terminal;
use crate::cli::{Answer, Failure, Run, verdict};
use crate::dies::Tooling;
use crate::document::answer::total_mass_g;
use crate::job::Job;
use crate::output::folder::die_files;
use crate::quantity::plain;
use crate::result::{self, Found, Verb};
use clap::Args;
use std::fmt::Write as _;
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
        let mut found = Found {
            dies: Some(result::Dies::of(&job, Some(&source))),
            ..Found::about(Verb::Dies, &job, Some(&source))
        };
        let text = match &job.tooling {
            Ok(tooling) => {
                let written = write(&self.output, die_files(&job))?;
                found.files = listed(&written);
                text(&job, tooling, &written)
            }
            Err(_) => "\nNo pair of dies: what keeps it from being made stands below.\n".to_owned(),
        };
        Ok(verdict::answer(&job, &text, &found, Some(source)))
    }
}

fn text(job: &Job, tooling: &Tooling, written: &[String]) -> String {
    let section = &tooling.section;
    let mut text = format!(
        "\nThe pair opens{}. Press until the backs are {:.1} mm apart.\n",
        if job.part.printer.bed_mm.is_some() {
            " and prints"
        } else {
            ""
        },
        tooling.closed_height_mm
    );
    let _ = writeln!(
        text,
        "The blank is touched at {:.1} mm, so the vise travels {:.1} mm under load.",
        tooling.touching_height_mm, section.stroke_mm
    );
    if section.tilt.rad() == 0.0 {
        let _ = writeln!(
            text,
            "The flats lie square to the closing direction; both backs are parallel to them."
        );
    } else {
        let _ = writeln!(
            text,
            "The part is turned by {:.1}° in the die, so that its steepest walls open; the backs are parallel to each other.",
            section.tilt.degrees()
        );
    }
    let _ = write!(text, "\nBlocks, in print pose\n{}", blocks(tooling));
    let grams = total_mass_g(tooling);
    let _ = writeln!(
        text,
        "About {grams:.0} g of {} with {} mm walls and {} % infill.",
        job.part.printer.plastic.name(),
        plain(job.part.printer.wall_mm),
        plain(job.part.printer.infill_percent)
    );
    let _ = write!(text, "\nPoses looked at\n{}", poses(tooling));
    let _ = write!(
        text,
        "\nSpringback: {}\n{}",
        job.compensation.model,
        bends(job)
    );
    let _ = writeln!(
        text,
        "Gap between the closed faces {} mm, smallest nose radius {:.2} mm, hollow corners relieved by up to {:.2} mm,\narcs in the mesh true to {} mm.",
        plain(section.gap_mm),
        section.nose_radius_mm,
        section.relief_mm,
        plain(job.part.dies.chord_error_mm)
    );
    text.push_str(&written_words(
        written,
        "lower.stl, upper.stl, dies.3mf for both, lower.step, upper.step, dies.svg, states.svg and dies.png",
    ));
    let expect = if job.pressing.is_some() {
        "The pressing is calculated for plastic that scatters by a factor of two: measure the first plate."
    } else {
        "A sheet does not quite fill a printed die: expect the first pressing rounder and flatter than drawn."
    };
    let _ = write!(
        text,
        "\nMind:\n  \
         - Printed dies can split under load: eye protection, close slowly, face out of line, fingers clear.\n  \
         - {expect}\n"
    );
    text
}

fn blocks(tooling: &Tooling) -> String {
    let rows = tooling
        .blocks
        .iter()
        .map(|block| {
            let [x, y, z] = block.size_mm;
            vec![
                block.role.word().to_owned(),
                format!("{x:.1} x {y:.1} x {z:.1}"),
                block.print.pose.words().to_owned(),
                format!("{:.0}", block.print.overhang_mm2()),
                format!("{:.1}", block.volume_mm3 / 1000.0),
                format!("{:.0}", block.print.estimated_mass_g),
                if block.print.narrowest_rib_mm.is_finite() {
                    format!("{:.1}", block.print.narrowest_rib_mm)
                } else {
                    "-".into()
                },
                format!("{}", block.mesh.triangles.len()),
            ]
        })
        .collect();
    terminal::table(
        &[
            "die",
            "size, mm",
            "print it",
            "hangs over, mm2",
            "cm3",
            "g",
            "narrowest rib, mm",
            "triangles",
        ],
        &[3, 4, 5, 6, 7],
        rows,
    )
}

fn poses(tooling: &Tooling) -> String {
    let rows = tooling
        .blocks
        .iter()
        .flat_map(|block| {
            block.print.poses.iter().map(|check| {
                let [x, y, z] = check.size_mm;
                vec![
                    block.role.word().to_owned(),
                    check.pose.words().to_owned(),
                    format!("{x:.1} x {y:.1} x {z:.1}"),
                    format!("{:.0}", check.overhang_mm2),
                    match check.fits_bed {
                        Some(true) => "yes".into(),
                        Some(false) => "NO".into(),
                        None => "not checked".into(),
                    },
                    if check.pose == block.print.pose {
                        "chosen".into()
                    } else {
                        String::new()
                    },
                ]
            })
        })
        .collect();
    terminal::table(
        &[
            "die",
            "pose",
            "size, mm",
            "hangs over, mm2",
            "fits the bed",
            "",
        ],
        &[3],
        rows,
    )
}

fn bends(job: &Job) -> String {
    let rows = job
        .compensation
        .bends
        .iter()
        .map(|bend| {
            vec![
                format!("{} to {}", bend.between[0], bend.between[1]),
                format!("{:.1}°", bend.target_angle_deg),
                plain(bend.target_inside_radius_mm),
                format!("{:.2}°", bend.die_angle_deg),
                format!("{:.3}", bend.die_inside_radius_mm),
                format!("{:.3}", bend.k_r),
            ]
        })
        .collect();
    let mut text = terminal::table(
        &["step", "angle", "radius", "die angle", "die radius", "kR"],
        &[1, 2, 3, 4, 5],
        rows,
    );
    let mut methods: Vec<&str> = job
        .compensation
        .bends
        .iter()
        .map(|b| b.method.as_str())
        .collect();
    methods.dedup();
    for method in methods {
        let _ = writeln!(text, "  kR from {method}");
    }
    text
}
