//! `coldstep blank`: what to cut, and where to bend it.

use crate::blank::{Blank as FlatBlank, Direction, blank};
use crate::cli::flags::output::Output;
use crate::cli::flags::output::{listed, write, written_words};
use crate::cli::flags::printing::HowPrinted;
use crate::cli::io::read;
use crate::cli::io::terminal;
use crate::cli::{Answer, Failure, Run};
use crate::output::folder::blank_files;
use crate::part::Part;
use crate::quantity::plain;
use crate::result::{Finding, Found, PartRead, Verb};
use crate::stock::tolerance::{ToleranceClass, general_tolerance_mm};
use clap::Args;
use std::fmt::Write as _;
use std::path::PathBuf;

/// Flags of `blank`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep blank plate.toml\n  \
    Cut 40.46 x 32.00 mm from 1 mm copper, soft.\n  \
    ...\n\n\
    With --out DIR it writes template.pdf, blank.svg and blank.dxf, all at true size, and plate.step, the\n\
    formed plate. Print the template at 100 % and measure its rulers; if they are not 100 mm, say what they\n\
    are: --printer-scale 99.4x100.2"
)]
pub struct Blank {
    /// Part file.
    part: PathBuf,
    #[command(flatten)]
    printed: HowPrinted,
    #[command(flatten)]
    output: Output,
}

impl Run for Blank {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, mut warnings, source) = read::part(&self.part)?;
        let noted = blank(&part);
        warnings.extend(noted.notes);
        let blank = noted.value;
        let written = write(
            &self.output,
            blank_files(&part, &blank, &self.printed.printing()),
        )?;
        let found = Found {
            part: Some(PartRead::of(&part)),
            blank: Some(blank.clone()),
            files: listed(&written),
            ..Found::new(Verb::Blank, true, Finding::all(&warnings, Some(&source)))
        };
        Ok(Answer {
            text: text(&part, &blank, &written),
            document: found.to_json(),
            good: true,
            warnings,
            source: Some(source),
        })
    }
}

fn text(part: &Part, blank: &FlatBlank, written: &[String]) -> String {
    let [length_mm, width_mm] = blank.rectangle_mm;
    let mut text = format!(
        "Cut {length_mm:.2} x {width_mm:.2} mm from {} mm {}.\n",
        plain(part.sheet.thickness_mm),
        part.sheet.metal.name
    );
    let _ = writeln!(
        text,
        "The blank itself: {:.2} mm developed length, {:.2} cm2, {:.1} g.",
        blank.developed_length_mm,
        blank.area_mm2 / 100.0,
        blank.mass_g
    );
    let _ = writeln!(
        text,
        "K-factor by {}{}; published rules differ by {:.2} mm in length: leave that at one end for filing.",
        part.sheet.k_rule.words(),
        if blank.k_rule.is_default {
            ", the default"
        } else {
            ""
        },
        blank.spread_mm
    );
    if let Some(plus_minus_mm) =
        general_tolerance_mm(ToleranceClass::Medium, blank.developed_length_mm)
    {
        let _ = writeln!(
            text,
            "A usual workshop tolerance for that length: ± {} mm (ISO 2768-1, medium).",
            plain(plus_minus_mm)
        );
    }
    let _ = write!(
        text,
        "\nBends, mm from the left end of the blank, seen from above\n{}",
        bends(blank)
    );
    let _ = write!(text, "\nStretches, mm\n{}", stretches(blank));
    let _ = write!(text, "\nOther rules for K\n{}", rules(blank));
    if !blank.holes.is_empty() {
        let _ = write!(text, "\nHoles on the blank, mm\n{}", holes(blank));
    }
    text.push_str(&written_words(
        written,
        "template.pdf, blank.svg, blank.dxf and plate.step",
    ));
    text.push_str(
        "\nMind:\n  - Cut sheet is sharp: gloves, eye protection, deburr every edge before you bend.\n  \
         - Bend lines are for marking only: in the dies nothing is bent by hand.\n",
    );
    text
}

fn bends(blank: &FlatBlank) -> String {
    let rows = blank
        .bends
        .iter()
        .map(|bend| {
            vec![
                format!("{} to {}", bend.between[0], bend.between[1]),
                match bend.direction {
                    Direction::Up => "up".into(),
                    Direction::Down => "down".into(),
                },
                format!("{:.1}°", bend.angle_deg),
                plain(bend.inside_radius_mm),
                format!("{:.3}", bend.k_factor),
                format!("{:.3}", bend.allowance_mm),
                format!("{:.3}", bend.setback_mm),
                format!("{:.2}", bend.start_mm),
                format!("{:.2}", bend.centre_mm),
                format!("{:.2}", bend.end_mm),
            ]
        })
        .collect();
    terminal::table(
        &[
            "step",
            "way",
            "angle",
            "radius",
            "K",
            "allowance",
            "setback",
            "from",
            "line",
            "to",
        ],
        &[2, 3, 4, 5, 6, 7, 8, 9],
        rows,
    )
}

fn stretches(blank: &FlatBlank) -> String {
    let rows = blank
        .stretches
        .iter()
        .map(|stretch| {
            vec![
                match stretch.kind {
                    crate::blank::StretchKind::Flat => "flat".into(),
                    crate::blank::StretchKind::Bend => "bend".into(),
                    crate::blank::StretchKind::Wall => "wall".into(),
                },
                stretch.name.clone(),
                format!("{:.2}", stretch.start_mm),
                format!("{:.2}", stretch.end_mm),
                format!("{:.3}", stretch.length_mm),
            ]
        })
        .collect();
    terminal::table(
        &["becomes", "name", "from", "to", "length"],
        &[2, 3, 4],
        rows,
    )
}

fn rules(blank: &FlatBlank) -> String {
    let rows = blank
        .other_rules
        .iter()
        .map(|rule| {
            vec![
                rule.name.to_owned(),
                format!("{:.3}", rule.developed_length_mm),
                format!("{:+.3}", rule.difference_mm + 0.0),
            ]
        })
        .collect();
    let mut text = terminal::table(&["rule", "length, mm", "against used"], &[1, 2], rows);
    for rule in &blank.other_rules {
        let _ = writeln!(text, "  {}: {}", rule.name, rule.source);
    }
    text
}

fn holes(blank: &FlatBlank) -> String {
    let rows = blank
        .holes
        .iter()
        .map(|hole| {
            let (low, high) = hole.shape.bounds();
            vec![
                hole.name.clone(),
                format!("{:.2}", hole.centre_mm[0]),
                format!("{:.2}", hole.centre_mm[1]),
                hole.diameter_mm.map_or_else(
                    || format!("{:.2} x {:.2}", high.x - low.x, high.y - low.y),
                    |diameter| format!("diameter {}", plain(diameter)),
                ),
            ]
        })
        .collect();
    terminal::table(&["name", "along", "across", "size"], &[1, 2], rows)
}
