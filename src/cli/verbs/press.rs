//! `coldstep press`: what comes out of the vise.

use crate::cli::flags::output::Output;
use crate::cli::flags::output::{listed, write, written_words};
use crate::cli::flags::springback::{self, HowPressed, Springback};
use crate::cli::io::kept;
use crate::cli::io::kept::Fresh;
use crate::cli::io::source::Source;
use crate::cli::io::{files, read, terminal};
use crate::cli::{Answer, Failure, Run, verdict};
use crate::forming::pressing::{NoPressing, Pressing, Progress, Sensitivity, Task};
use crate::job::Job;
use crate::numbers::signed;
use crate::output::folder::press_files;
use crate::part::Part;
use crate::quantity::plain;
use crate::result::catalogue::PRESS_FILES;
use crate::result::{self, Found, Verb};
use crate::words;
use clap::Args;
use std::fmt::Write as _;
use std::ops::ControlFlow;
use std::path::PathBuf;

/// Flags of `press`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep press plate.toml --quick\n  \
    YES, IF the noses bear 107 MPa (a weak print 72): \"starter plate\" can be made. 1 more below.\n  \
    ...\n\n\
    It presses the sheet in section, looks what is missing after springback, bends the dies further and\n\
    presses again. With --out DIR it writes pressed.svg, force.svg, closing.svg and closing_frames.svg.\n\
    The exit code is 1 when the plate cannot be made like this; the reasons say what would help."
)]
pub struct Press {
    /// Part file.
    part: PathBuf,
    /// Coarse mesh only: an estimate in a few seconds.
    #[arg(long)]
    quick: bool,
    #[command(flatten)]
    fresh: Fresh,
    #[command(flatten)]
    output: Output,
}

impl Run for Press {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, warnings, source) = read::part(&self.part)?;
        if let Some(out) = &self.output.out {
            let names = PRESS_FILES.map(|(name, _)| name);
            files::may_write(out, &names, self.output.replace())?;
        }
        let how = HowPressed {
            springback: if self.quick {
                Springback::Quick
            } else {
                Springback::Pressed
            },
            fresh: self.fresh,
        };
        let job = springback::job(part, warnings, &how)?;
        let Some(pressing) = &job.pressing else {
            return without(&job, source);
        };
        let sensitivities = match changes(&job.part, pressing, &how) {
            Ok(sensitivities) => sensitivities,
            Err(error) => {
                return Err(Failure::Refused {
                    source: Box::new(source),
                    findings: vec![error.refusal()],
                });
            }
        };
        let written = write(&self.output, Ok(press_files(&job.part, pressing)))?;
        let found = Found {
            files: listed(&written),
            ..found(&job, &source, Some(&sensitivities))
        };
        let text = text(&job.part, pressing, &sensitivities, &written);
        Ok(verdict::answer(&job, &text, &found, Some(source)))
    }
}

/// What the inputs change, with a line about it on a terminal.
fn changes(
    part: &Part,
    pressing: &Pressing,
    how: &HowPressed,
) -> Result<Vec<Sensitivity>, NoPressing> {
    let Some(effort) = how.springback.effort() else {
        return Ok(Vec::new());
    };
    let mut line = terminal::Line::new();
    let mut watch = |progress: &Progress| {
        line.show(&format!(
            "what thickness, strength and friction change: press {}, {:.2} mm to close",
            progress.press,
            progress.lifted_mm.max(0.0)
        ));
        ControlFlow::Continue(())
    };
    kept::sensitivities(&Task::of(part)?, effort, pressing, how.fresh, &mut watch)
}

/// The document of the verb.
fn found(job: &Job, source: &Source, sensitivities: Option<&[Sensitivity]>) -> Found {
    Found {
        press: Some(result::Press::of(job, sensitivities)),
        ..Found::about(Verb::Press, job, Some(source))
    }
}

/// The answer where there is no pressing: nothing is bent, or the plate cannot be pressed so. Where only the calculation came
/// to no end, the question has no answer.
fn without(job: &Job, source: Source) -> Result<Answer, Failure> {
    let reason = job.no_pressing.as_ref().unwrap_or(&NoPressing::Flat);
    if !(reason.is_refusal() || *reason == NoPressing::Flat) {
        return Err(Failure::Refused {
            source: Box::new(source),
            findings: vec![reason.refusal()],
        });
    }
    let sentence = format!("No pressing: {}.", reason.sentence());
    let mut text = format!("\n{}", terminal::paragraph("", &sentence));
    for way_out in reason.ways_out() {
        text.push_str(&terminal::paragraph("  help: ", way_out));
    }
    let found = found(job, &source, None);
    Ok(verdict::answer(job, &text, &found, Some(source)))
}

fn text(
    part: &Part,
    pressing: &Pressing,
    sensitivities: &[Sensitivity],
    written: &[String],
) -> String {
    let mut text = format!(
        "\n{}\n{}\n",
        words::press::comes_out(pressing),
        words::press::worst(pressing)
    );
    if words::press::is_estimate(pressing) {
        text.push_str(&terminal::paragraph("", words::press::QUICK_ERROR));
    }
    for limit in &pressing.limits {
        let _ = writeln!(text, "  - {}", limit.reason);
        for help in &limit.help {
            let _ = writeln!(text, "    help: {help}");
        }
    }
    let _ = write!(
        text,
        "\nBends: angles in degrees, inside radii in mm; the die's nose is what the sheet is bent around\n{}",
        bends(pressing)
    );
    let _ = write!(text, "\nRises, mm\n{}", rises(pressing));
    let _ = write!(
        text,
        "\nFlats after letting go, all laid together on the drawn ones\n{}{}",
        flats(pressing),
        terminal::paragraph("", words::press::BOWS)
    );
    text.push('\n');
    for (head, words) in [
        ("SHEET  ", words::press::stretch(part, pressing)),
        (
            "FORCE  ",
            format!(
                "{} {}",
                words::press::force(part, pressing),
                words::press::handbook_force(part)
            ),
        ),
        ("NOSES  ", words::press::noses(pressing)),
        ("LIFE   ", pressing.strength.die_life.clone()),
    ] {
        text.push_str(&terminal::paragraph(head, &words));
    }
    if !sensitivities.is_empty() {
        let _ = write!(
            text,
            "\nWhat would change, the dies left as they are (coarse mesh)\n{}",
            change_rows(sensitivities)
        );
    }
    let [quick, full] = pressing.presses;
    text.push('\n');
    text.push_str(&terminal::paragraph(
        "MODEL  ",
        &format!(
            "{}; {quick} presses on the coarse mesh, {full} on the fine one.",
            pressing.model
        ),
    ));
    text.push_str(&written_words(
        written,
        "pressed.svg, force.svg, closing.svg and closing_frames.svg",
    ));
    text.push('\n');
    text.push_str(&terminal::paragraph("Mind: ", words::press::CAUTION));
    text
}

fn bends(pressing: &Pressing) -> String {
    let rows = pressing
        .bends
        .iter()
        .map(|bend| {
            vec![
                format!("{} to {}", bend.between[0], bend.between[1]),
                format!("{}", bend.which + 1),
                format!("{:.2}", bend.target_angle_deg),
                format!("{:.2}", bend.die_angle_deg),
                format!("{:.2}", bend.closed_angle_deg),
                format!("{:.2}", bend.released_angle_deg),
                plain(bend.target_inside_radius_mm),
                format!("{:.2}", bend.die_nose_radius_mm),
                format!("{:.2}", bend.released_inside_radius_mm),
            ]
        })
        .collect();
    terminal::table(
        &[
            "step", "bend", "drawn", "die", "closed", "opened", "radius", "nose", "opened",
        ],
        &[1, 2, 3, 4, 5, 6, 7, 8],
        rows,
    )
}

fn rises(pressing: &Pressing) -> String {
    let rows = pressing
        .rises
        .iter()
        .map(|rise| {
            vec![
                format!("{} to {}", rise.between[0], rise.between[1]),
                format!("{:.3}", rise.target_mm),
                format!("{:.3}", rise.released_mm),
                signed(rise.released_mm - rise.target_mm, 3),
            ]
        })
        .collect();
    terminal::table(&["step", "drawn", "opened", "off"], &[1, 2, 3], rows)
}

/// What became of each flat.
pub fn flats(pressing: &Pressing) -> String {
    let rows = pressing
        .flats
        .iter()
        .map(|flat| {
            vec![
                flat.name.clone(),
                signed(flat.height_error_mm, 3),
                signed(flat.slope_deg, 2),
                format!("{:.3}", flat.bow_mm),
            ]
        })
        .collect();
    terminal::table(
        &["flat", "height off, mm", "slope, degrees", "bow, mm"],
        &[1, 2, 3],
        rows,
    )
}

fn change_rows(sensitivities: &[Sensitivity]) -> String {
    let rows = sensitivities
        .iter()
        .map(|one| {
            vec![
                one.change.clone(),
                signed(one.angle_deg, 2),
                signed(one.rise_mm, 3),
                signed(one.radius_mm, 2),
                signed(one.force_n_per_mm, 0),
            ]
        })
        .collect();
    terminal::table(
        &[
            "if",
            "angle, degrees",
            "rise, mm",
            "radius, mm",
            "force, N for each mm of width",
        ],
        &[1, 2, 3, 4],
        rows,
    )
}
