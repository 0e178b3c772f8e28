//! `coldstep check`: can it be built, and how far is each board part from the metal?

use super::press;
use crate::cli::flags::springback::{self, HowPressed, Springback};
use crate::cli::io::kept::Fresh;
use crate::cli::io::read;
use crate::cli::io::terminal;
use crate::cli::{Answer, Failure, Run, verdict};
use crate::fit::{Fit, Judged, Verdict};
use crate::forming::pressing::Pressing;
use crate::part::{Kind, Part, Treatment};
use crate::quantity::plain;
use crate::result::{self, Found, Gaps, Verb};
use crate::verdict::shown_pads;
use crate::words;
use clap::Args;
use std::fmt::Write as _;
use std::path::PathBuf;

/// Flags of `check`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep check plate.toml\n  \
    YES, IF the noses bear 107 MPa (a weak print 72): \"starter plate\" can be made. 1 more below.\n  \
    ...\n\n\
    The exit code is 1 when the plate cannot be made like this, also for another reason than its gaps."
)]
pub struct Check {
    /// Part file.
    part: PathBuf,
    /// How the pressed plate is found, whose gaps decide; without it the drawn ones do.
    #[arg(long, value_enum, default_value = "quick", value_name = "HOW")]
    springback: Springback,
    #[command(flatten)]
    fresh: Fresh,
}

impl Run for Check {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, warnings, source) = read::part(&self.part)?;
        let how = HowPressed {
            springback: self.springback,
            fresh: self.fresh,
        };
        let job = springback::job(part, warnings, &how)?;
        let (part, pressing) = (&job.part, job.pressing.as_ref());
        let mut text = text(part, &job.fit, pressing);
        if let Some(pressing) = pressing {
            text.push_str(&pressed(pressing));
        }
        let found = Found {
            gaps: Some(Gaps::of(&job)),
            press: Some(result::Press::of(&job, None)),
            ..Found::about(Verb::Check, &job, Some(&source))
        };
        Ok(verdict::answer(&job, &text, &found, Some(source)))
    }
}

/// What the vise makes of the flats.
fn pressed(pressing: &Pressing) -> String {
    let mut text = format!(
        "\nPressed: {}\n{}\n{}",
        words::press::comes_out(pressing),
        words::press::worst(pressing),
        press::flats(pressing)
    );
    if words::press::is_estimate(pressing) {
        text.push_str(&terminal::paragraph("", words::press::QUICK_ERROR));
    }
    text
}

fn text(part: &Part, fit: &Fit, pressing: Option<&Pressing>) -> String {
    let mut text = format!("\n{}", how_many_fit(fit));
    text.push_str(&terminal::paragraph(
        "",
        &words::press::gaps_judged(part, pressing),
    ));
    text.push('\n');
    text.push_str(&components(part, fit));
    if !fit.obstacles.is_empty() {
        text.push('\n');
        text.push_str(&obstacles(fit));
    }
    if !part.steps.is_empty() {
        text.push('\n');
        text.push_str(&steps(part));
    }
    text.push_str(&defaults(part));
    text.push_str("\nMind:\n");
    for caution in words::gaps::cautions(part, fit) {
        let _ = writeln!(text, "  - {caution}");
    }
    text
}

fn many(count: usize, one: &str, more: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { more })
}

/// One line about all gaps.
fn how_many_fit(fit: &Fit) -> String {
    let bad = fit.bad_components().count();
    let in_the_way = fit.obstacles.iter().filter(|o| !o.clears).count();
    let (parts, obstacles) = (fit.components.len(), fit.obstacles.len());
    if bad == 0 && in_the_way == 0 {
        let cleared = match obstacles {
            0 => String::new(),
            1 => ", and the obstacle stays clear".into(),
            2 => ", and both obstacles stay clear".into(),
            count => format!(", and all {count} obstacles stay clear"),
        };
        return if parts == 1 {
            format!("Gaps: the one part has its pad or its distance{cleared}.\n")
        } else {
            format!("Gaps: all {parts} parts have their pad or their distance{cleared}.\n")
        };
    }
    let mut wrong = Vec::new();
    if bad > 0 {
        wrong.push(format!(
            "{bad} of {} {} not fit",
            many(parts, "part", "parts"),
            if bad == 1 { "does" } else { "do" }
        ));
    }
    if in_the_way > 0 {
        wrong.push(format!(
            "{in_the_way} of {} {} in the way",
            many(obstacles, "obstacle", "obstacles"),
            if in_the_way == 1 { "is" } else { "are" }
        ));
    }
    format!("Gaps: {}.\n", wrong.join(", and "))
}

fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::PowerStage => "power stage",
        Kind::Inductor => "inductor",
        Kind::Capacitor => "capacitor",
        Kind::Memory => "memory",
        Kind::Other => "other",
    }
}

fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::PadFits | Verdict::Clear => "good",
        Verdict::PadTooThin => "PAD TOO THIN",
        Verdict::PadTooThick => "PAD TOO THICK",
        Verdict::GapUneven => "GAP UNEVEN",
        Verdict::TooClose => "TOO CLOSE",
        Verdict::Touches => "TOUCHES",
        Verdict::NotCovered => "NOT COVERED",
    }
}

/// Hundredths of a millimetre; a dash where there is nothing to measure.
fn gap(gap_mm: Option<f64>) -> String {
    gap_mm
        .filter(|gap_mm| gap_mm.is_finite())
        .map_or_else(|| "-".into(), |gap_mm| format!("{:.2}", gap_mm + 0.0))
}

/// Numbers first, words below: side by side they would not fit a usual terminal.
fn components(part: &Part, fit: &Fit) -> String {
    let numbers = part
        .components
        .iter()
        .zip(&fit.components)
        .map(|(component, fit)| {
            let mut row = vec![
                fit.name.clone(),
                kind(component.kind).into(),
                format!("{:.0} %", fit.covered_percent),
                gap(fit.gap_min_mm),
                gap(fit.gap_mean_mm),
                gap(fit.gap_max_mm),
                gap(Some(fit.clearance_mm)),
            ];
            if let Some(pressed) = &fit.pressed {
                row.extend([
                    gap(pressed.gap_min_mm),
                    gap(pressed.gap_max_mm),
                    gap(Some(pressed.clearance_mm)),
                ]);
            }
            row.push(verdict_word(fit.verdict).into());
            row
        })
        .collect();
    let words = part
        .components
        .iter()
        .zip(&fit.components)
        .map(|(component, fit)| {
            vec![
                fit.name.clone(),
                fit.facing.clone().unwrap_or_else(|| "no metal".into()),
                fit.verdict_text.clone(),
                match component.treatment {
                    Treatment::Bare { .. } => "-".into(),
                    Treatment::Pad(_) if fit.fitting_pads.is_empty() => "none".into(),
                    Treatment::Pad(_) => shown_pads(fit),
                },
            ]
        })
        .collect();
    let table = if fit.judged == Judged::Pressed {
        let heads = [
            "name",
            "kind",
            "covered",
            "gap min",
            "mean",
            "max",
            "free",
            "pressed min",
            "max",
            "free",
            "verdict",
        ];
        terminal::table(&heads, &[2, 3, 4, 5, 6, 7, 8, 9], numbers)
    } else {
        let heads = [
            "name", "kind", "covered", "gap min", "mean", "max", "free", "verdict",
        ];
        terminal::table(&heads, &[2, 3, 4, 5, 6], numbers)
    };
    let pressed = if fit.judged == Judged::Pressed {
        "; first as drawn, then as pressed"
    } else {
        ""
    };
    format!(
        "Board parts, mm (gap: straight up to the metal; free: shortest way to it{pressed})\n{table}\n{}",
        terminal::table(&["name", "faces", "because", "pads that fit"], &[], words)
    )
}

fn obstacles(fit: &Fit) -> String {
    let rows = fit
        .obstacles
        .iter()
        .map(|obstacle| {
            let mut row = vec![obstacle.name.clone(), gap(Some(obstacle.clearance_mm))];
            row.extend(obstacle.pressed_clearance_mm.map(|mm| gap(Some(mm))));
            row.push(gap(Some(obstacle.wanted_mm)));
            row.push(
                if obstacle.clears {
                    "good"
                } else {
                    "IN THE WAY"
                }
                .into(),
            );
            row
        })
        .collect();
    let table = if fit.judged == Judged::Pressed {
        let heads = ["name", "free as drawn", "as pressed", "wanted", "verdict"];
        terminal::table(&heads, &[1, 2, 3], rows)
    } else {
        terminal::table(&["name", "free", "wanted", "verdict"], &[1, 2], rows)
    };
    format!("Obstacles, mm\n{table}")
}

fn steps(part: &Part) -> String {
    let rows = part
        .flats
        .windows(2)
        .zip(&part.steps)
        .filter_map(|(flats, step)| {
            let [from, to] = flats else { return None };
            let [first, second] = step.inside_radius_mm.map(plain);
            Some(vec![
                from.name.clone(),
                to.name.clone(),
                format!(
                    "{:.2} {}",
                    step.shape.rise_mm,
                    if step.up { "up" } else { "down" }
                ),
                format!("{:.2}", step.shape.run_mm),
                format!("{:.1}°", step.shape.bend.degrees()),
                format!("{:.2}", step.shape.wall_mm),
                if first == second {
                    first
                } else {
                    format!("{first} then {second}")
                },
                if step.run_was_solved {
                    format!("x = {:.3}, found from the angle", to.level.from_mm)
                } else {
                    format!("x = {}, as given", plain(to.level.from_mm))
                },
            ])
        })
        .collect();
    format!(
        "Steps, mm\n{}",
        terminal::table(
            &[
                "from",
                "to",
                "rise",
                "run",
                "wall angle",
                "straight wall",
                "inside radii",
                "next flat begins",
            ],
            &[2, 3, 4, 5],
            rows,
        )
    )
}

fn defaults(part: &Part) -> String {
    if part.defaults.is_empty() {
        return String::new();
    }
    let mut text = "\nNot given, so:\n".to_owned();
    for default in &part.defaults {
        let _ = writeln!(
            text,
            "  {} = {}  ({})",
            default.key, default.value, default.reason
        );
    }
    text
}
