//! `coldstep press`: what comes out of the vise.

use crate::cli::flags::output::Output;
use crate::cli::flags::output::{write, written_words};
use crate::cli::flags::springback;
use crate::cli::io::kept;
use crate::cli::io::kept::Fresh;
use crate::cli::io::{files, read, terminal};
use crate::cli::{Answer, Failure, Run, json};
use crate::diagnostic::Diagnostic;
use crate::forming::press::guard::Doubt;
use crate::forming::pressing::{Effort, NoPressing, Pressing, Progress, Sensitivity, Task};
use crate::numbers::signed;
use crate::output::folder::press_files;
use crate::part::Part;
use crate::quantity::plain;
use crate::result::catalogue::PRESS_FILES;
use crate::words;
use clap::Args;
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::ops::ControlFlow;
use std::path::PathBuf;

/// Flags of `press`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep press plate.toml --quick\n  \
    YES, by an estimate: the plate comes out as drawn.\n  \
    ...\n\n\
    It presses the sheet in section, looks what is missing after springback, bends the dies further and\n\
    presses again. With --out DIR it writes pressed.svg, force.svg, closing.svg and closing_frames.svg.\n\
    The exit code is 1 when the plate does not come out as drawn; the reasons say what would help."
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
        let effort = if self.quick {
            Effort::Quick
        } else {
            Effort::Full
        };
        let (pressing, sensitivities) = match pressed(&part, effort, self.fresh) {
            Ok(result) => result,
            Err(error) => {
                return Err(Failure::Refused {
                    source: Box::new(source),
                    findings: vec![refusal(&error)],
                });
            }
        };
        let written = write(&self.output, Ok(press_files(&part, &pressing)))?;
        let mut fields = fields(&part, &pressing, &sensitivities);
        fields.push(("files", json::value(&written)));
        Ok(Answer {
            text: text(&part, &pressing, &sensitivities, &written),
            part: Some(part.name.clone()),
            fields,
            good: pressing.converged,
            warnings,
            source: Some(source),
        })
    }
}

/// Searches the dies and asks what the inputs change, with a line about it on a terminal.
fn pressed(
    part: &Part,
    effort: Effort,
    fresh: Fresh,
) -> Result<(Pressing, Vec<Sensitivity>), NoPressing> {
    let mut line = terminal::Line::new();
    let task = Task::of(part)?;
    let pressing = kept::search(&task, effort, fresh, &mut springback::watching(&mut line))?;
    let mut watch = |progress: &Progress| {
        line.show(&format!(
            "what thickness, strength and friction change: press {}, {:.2} mm to close",
            progress.press,
            progress.lifted_mm.max(0.0)
        ));
        ControlFlow::Continue(())
    };
    let sensitivities = kept::sensitivities(&task, effort, &pressing, fresh, &mut watch)?;
    Ok((pressing, sensitivities))
}

/// Why there is no pressing, with ways out.
fn refusal(error: &NoPressing) -> Diagnostic {
    let finding = Diagnostic::error(sentence(error));
    match error {
        NoPressing::Flat => finding
            .help("cut the blank and use it as it is: coldstep blank says its size")
            .help("or give the part a second [[flat]] at another underside_mm"),
        NoPressing::Block(_) => finding
            .help("say how the dies are printed: infill_percent and wall_mm under [printer]")
            .help("100 % infill is the safest under the noses"),
        NoPressing::Shape(_) => finding
            .help("give the step more run or smaller radii, so that a straight wall is left")
            .help("coldstep dies says whether the drawn pair opens"),
        NoPressing::Stopped => finding.help("run it again and let it come to its end"),
        NoPressing::Failed(_) => finding
            .help("give the step more run, larger inside radii or less wall angle")
            .help("try dies.friction = 0.1: greased sheet slides more easily")
            .help("try --quick: the coarse mesh sometimes closes where the fine one does not"),
        NoPressing::Guard(Doubt::ForceEnds { .. }) => finding
            .help("use a stronger vise, a longer handle or a greased screw, and say so under [vise]")
            .help("use thinner or softer sheet, or anneal it")
            .help("press in two strokes with two pairs, a part of the steps in each"),
        NoPressing::Guard(Doubt::DiesGive { .. }) => finding
            .help("use thinner or softer sheet, or anneal it")
            .help("print of a stronger plastic with more walls, or lay bent metal strips under the noses"),
        NoPressing::Guard(Doubt::Unlike) => finding
            .help("make the flats longer: some thicknesses of level sheet beside each bend")
            .help("give the step more run, or less wall angle"),
        NoPressing::Guard(_) => finding
            .help("give the step more run, larger inside radii or less wall angle")
            .help("the dies of coldstep dies stand without this: press, measure, correct the part"),
    }
}

fn sentence(error: &NoPressing) -> String {
    match error {
        NoPressing::Failed(_) | NoPressing::Shape(_) => {
            format!("the pressing could not be calculated: {error}")
        }
        other => other.to_string(),
    }
}

fn text(
    part: &Part,
    pressing: &Pressing,
    sensitivities: &[Sensitivity],
    written: &[String],
) -> String {
    let mut text = format!(
        "{}\n{}\n",
        words::press::verdict(pressing),
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
            changes(sensitivities)
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

fn changes(sensitivities: &[Sensitivity]) -> String {
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

/// What the JSON document says of a pressing.
pub fn fields(
    part: &Part,
    pressing: &Pressing,
    sensitivities: &[Sensitivity],
) -> Vec<(&'static str, Value)> {
    let [quick, full] = pressing.presses;
    let is_estimate = words::press::is_estimate(pressing);
    vec![
        ("verdict", json!(words::press::verdict(pressing))),
        ("worst_text", json!(words::press::worst(pressing))),
        ("converged", json!(pressing.converged)),
        ("model", json!(pressing.model)),
        ("is_estimate", json!(is_estimate)),
        (
            "estimate_error",
            json!(is_estimate.then_some(words::press::QUICK_ERROR)),
        ),
        ("worst_angle_deg", json::value(&pressing.worst_angle_deg())),
        ("worst_rise_mm", json::value(&pressing.worst_rise_mm())),
        (
            "worst_rounding_mm",
            json::value(&pressing.worst_rounding_mm()),
        ),
        ("shape_met", json!(pressing.shape_met)),
        ("limits", json::value(&pressing.limits)),
        ("bends", json::value(&pressing.bends)),
        ("rises", json::value(&pressing.rises)),
        ("flats", json::value(&pressing.flats)),
        ("thinnest_mm", json::value(&pressing.thinnest_mm)),
        ("outer_strain", json::value(&pressing.outer_strain)),
        (
            "breaking_strain",
            json::value(&words::press::breaking_strain(part)),
        ),
        (
            "max_force_n_per_mm",
            json::value(&pressing.max_force_n_per_mm),
        ),
        ("handbook_v_bend", json!(words::press::handbook_v(part))),
        ("force_limited", json!(pressing.force_limited)),
        ("force_curve", json::value(&pressing.curve)),
        (
            "most_pressure_mpa",
            json::value(&pressing.most_pressure_mpa),
        ),
        ("strength", json::value(&pressing.strength)),
        ("stretch_text", json!(words::press::stretch(part, pressing))),
        ("force_text", json!(words::press::force(part, pressing))),
        ("handbook_text", json!(words::press::handbook_force(part))),
        ("noses_text", json!(words::press::noses(pressing))),
        ("sensitivities", json::value(&sensitivities)),
        ("presses", json!({ "quick": quick, "full": full })),
        ("cautions", json!([words::press::CAUTION])),
    ]
}
