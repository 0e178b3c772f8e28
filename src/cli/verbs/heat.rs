//! `coldstep heat`: what the new plate buys, and why.

use crate::cli::flags::output::Output;
use crate::cli::flags::output::{listed, write, written_words};
use crate::cli::flags::springback::{self, HowPressed, Springback};
use crate::cli::io::kept::Fresh;
use crate::cli::io::{files, read, terminal};
use crate::cli::{Answer, Failure, Run, verdict};
use crate::diagnostic::Diagnostic;
use crate::fit::Underside;
use crate::heat::{Heat, PartTemperature, Range, Step, heat};
use crate::job::{Job, underside};
use crate::numbers::signed;
use crate::output::folder::heat_files;
use crate::part::{DefaultUsed, Part};
use crate::quantity::plain;
use crate::result::catalogue::HEAT_FILES;
use crate::result::{self, Found, Verb};
use crate::words;
use clap::Args;
use std::fmt::Write as _;
use std::path::PathBuf;

/// Heat in and out that agree so far are one, W.
const SAME_HEAT_W: f64 = 1e-6;
/// Improvements named; the JSON document has them all.
const IMPROVEMENTS_SHOWN: usize = 8;

/// Flags of `heat`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep heat plate.toml\n  \
    YES, IF a trial pressing comes out as drawn: \"starter plate\" can be made.\n  \
    ...\n  \
    Temperatures inside the parts, °C\n  \
    ...\n\n\
    It needs heat_w for the parts that get hot and a [[heat_pipe]] that carries the heat away; with an\n\
    [old_plate] it says what the new plate changes. With --out DIR it writes heat_map.svg, heat_parts.svg,\n\
    heat_ladder.svg and heat_pads.svg. The exit code is 1 when a part or a heat\n\
    pipe comes above its limit, when the plate cannot be made like this, or when there are no temperatures."
)]
pub struct HeatVerb {
    /// Part file.
    part: PathBuf,
    /// Whose gaps are used: `bend-by-bend` takes the drawn ones, at once; the others those of the pressed plate.
    #[arg(long, value_enum, default_value = "bend-by-bend", value_name = "HOW")]
    springback: Springback,
    #[command(flatten)]
    fresh: Fresh,
    #[command(flatten)]
    output: Output,
}

impl Run for HeatVerb {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, warnings, source) = read::part(&self.part)?;
        if let Some(out) = &self.output.out {
            let names = HEAT_FILES.map(|(name, _)| name);
            files::may_write(out, &names, self.output.replace())?;
        }
        let how = HowPressed {
            springback: self.springback,
            fresh: self.fresh,
        };
        let job = springback::job(part, warnings, &how)?;
        let (part, pressed) = (&job.part, job.pressing.is_some());
        let Some(heat) = &job.heat else {
            return Err(Failure::Refused {
                source: Box::new(source),
                findings: why_none(&job),
            });
        };
        let written = write(&self.output, Ok(heat_files(part, heat)))?;
        let found = Found {
            heat: Some(result::Heat::of(&job, Some(&source))),
            files: listed(&written),
            ..Found::about(Verb::Heat, &job, Some(&source))
        };
        let text = format!("\n{}", text(part, heat, pressed, &written));
        Ok(verdict::answer(&job, &text, &found, Some(source)))
    }
}

/// Why there are no temperatures, also where the file does not ask for any.
fn why_none(job: &Job) -> Vec<Diagnostic> {
    if !job.no_heat.is_empty() {
        return job.no_heat.clone();
    }
    let underside = underside(&job.part, job.pressing.as_ref());
    heat(&job.part, &underside, Underside::drawn)
        .err()
        .unwrap_or_default()
}

fn gaps_of(pressed: bool) -> &'static str {
    if pressed {
        "pressed plate"
    } else {
        "drawn plate"
    }
}

/// Defaults that have to do with heat.
fn defaults(part: &Part) -> Vec<DefaultUsed> {
    const ABOUT: [&str; 10] = [
        "heat.",
        "heat_pipe",
        "old_plate",
        "junction_to",
        "conductivity",
        "contact",
        "void_percent",
        "effective",
        "heat_w",
        "evaporation",
    ];
    part.defaults
        .iter()
        .filter(|default| ABOUT.iter().any(|word| default.key.contains(word)))
        .cloned()
        .collect()
}

fn text(part: &Part, heat: &Heat, pressed: bool, written: &[String]) -> String {
    let mut text = terminal::paragraph("", &words::heat::verdict(heat));
    for words in [words::heat::dominates(heat), words::heat::pad_advice(heat)] {
        text.push_str(&terminal::paragraph("", &words));
    }
    let _ = write!(
        text,
        "\nTemperatures inside the parts, °C; in brackets, where nine in ten draws lie; W up: heat into the new plate\n{}",
        temperatures(heat)
    );
    if let Some(focus) = heat.focus() {
        let _ = write!(
            text,
            "\nWhere the degrees go, from the inside of {} to the air, K\n{}",
            focus.name,
            ladder(focus)
        );
        if let Some(pads) = words::heat::pads_pressed(focus) {
            text.push_str(&terminal::paragraph("  ", &pads));
        }
        if !heat.improvements.is_empty() {
            let _ = write!(
                text,
                "\nWhat to improve next for {}, each for itself, K cooler\n{}",
                focus.name,
                improvements(heat)
            );
        }
    }
    let _ = write!(text, "\nHeat pipes\n{}", pipes(heat));
    if !heat.pads.is_empty() {
        let _ = write!(
            text,
            "\nPads as they are reckoned: what is printed is not what a pressed pad does\n{}",
            pads(heat)
        );
        for line in sources(heat).into_iter().chain(crossings(heat)) {
            text.push_str(&terminal::paragraph("  ", &line));
        }
    }
    text.push_str("\nBefore you believe one explanation, measure:\n");
    for line in words::heat::tell_apart(heat) {
        text.push_str(&terminal::paragraph("  - ", &line));
    }
    text.push('\n');
    text.push_str(&terminal::paragraph("MODEL  ", &model(heat, pressed)));
    let defaults = defaults(part);
    if !defaults.is_empty() {
        text.push_str("\nNot given, so:\n");
        for default in defaults {
            text.push_str(&terminal::paragraph(
                "  ",
                &format!("{} = {}  ({})", default.key, default.value, default.reason),
            ));
        }
    }
    text.push_str(&written_words(
        written,
        "heat_map.svg, heat_parts.svg, heat_ladder.svg and heat_pads.svg",
    ));
    text.push_str("\nMind:\n");
    for caution in words::heat::CAUTIONS {
        text.push_str(&terminal::paragraph("  - ", caution));
    }
    text
}

/// `86 (82 to 91)`.
fn bracketed(range: Range, decimals: usize) -> String {
    format!(
        "{:.decimals$} ({:.decimals$} to {:.decimals$})",
        range.middle, range.low, range.high
    )
}

/// A limit, and whether something is above it.
fn limit(limit_c: Option<f64>, above: bool) -> String {
    limit_c.map_or_else(
        || "-".into(),
        |limit_c| format!("{}{}", plain(limit_c), if above { " ABOVE" } else { "" }),
    )
}

fn temperatures(heat: &Heat) -> String {
    let has_old = heat.old_plate.is_some();
    let rows = heat
        .parts
        .iter()
        .map(|part| {
            let mut row = vec![part.name.clone(), plain(part.heat_w)];
            if has_old {
                let old = part.old_inside_c;
                row.push(old.map_or_else(|| "-".into(), |range| bracketed(range, 0)));
            }
            row.push(bracketed(part.inside_c, 0));
            if has_old {
                row.push(part.difference_k.map_or_else(
                    || "-".into(),
                    |range| {
                        format!(
                            "{} ({} to {})",
                            signed(range.middle, 1),
                            signed(range.low, 1),
                            signed(range.high, 1)
                        )
                    },
                ));
            }
            row.push(format!("{:.1}", part.into_plate_w));
            row.push(
                part.top_c
                    .map_or_else(|| "-".into(), |top_c| format!("{top_c:.0}")),
            );
            row.push(limit(part.limit_c, part.above_limit));
            row
        })
        .collect();
    if has_old {
        let heads = [
            "name",
            "heat, W",
            "old plate",
            "new plate",
            "change",
            "W up",
            "top",
            "limit",
        ];
        terminal::table(&heads, &[1, 2, 3, 4, 5, 6, 7], rows)
    } else {
        let heads = ["name", "heat, W", "new plate", "W up", "top", "limit"];
        terminal::table(&heads, &[1, 2, 3, 4, 5], rows)
    }
}

fn ladder(part: &PartTemperature) -> String {
    let kelvin = |ladder: Option<&crate::heat::Ladder>, step: Step| {
        let rung = ladder.and_then(|ladder| ladder.rungs.iter().find(|rung| rung.step == step));
        rung.map_or_else(|| "-".into(), |rung| format!("{:.1}", rung.kelvin + 0.0))
    };
    let Some(new) = &part.ladder else {
        return String::new();
    };
    let mut rows: Vec<Vec<String>> = new
        .rungs
        .iter()
        .map(|rung| {
            let mut row = vec![words::heat::step_words(rung.step, new.pipes_given).to_owned()];
            if part.old_ladder.is_some() {
                row.push(kelvin(part.old_ladder.as_ref(), rung.step));
            }
            row.push(kelvin(Some(new), rung.step));
            row
        })
        .collect();
    let sum = |ladder: &crate::heat::Ladder| format!("{:.1}", ladder.inside_c - ladder.air_c);
    let mut total = vec![format!("all together, above air of {:.0} °C", new.air_c)];
    total.extend(part.old_ladder.as_ref().map(sum));
    total.push(sum(new));
    rows.push(total);
    if part.old_ladder.is_some() {
        terminal::table(&["", "old plate", "new plate"], &[1, 2], rows)
    } else {
        terminal::table(&["", "new plate"], &[1], rows)
    }
}

fn improvements(heat: &Heat) -> String {
    let rows = heat
        .improvements
        .iter()
        .filter(|one| one.counts())
        .take(IMPROVEMENTS_SHOWN)
        .map(|one| vec![format!("{:.1}", one.gain_k), one.what.clone()])
        .collect();
    let mut text = terminal::table(&["K", "what"], &[0], rows);
    let nothing: Vec<&str> = heat
        .improvements
        .iter()
        .filter(|one| !one.counts())
        .map(|one| one.what.as_str())
        .collect();
    if !nothing.is_empty() {
        text.push_str(&terminal::paragraph(
            "  ",
            &format!("Hardly anything: {}.", nothing.join("; ")),
        ));
    }
    text
}

fn pipes(heat: &Heat) -> String {
    let has_old = heat.old_plate.is_some();
    let rows = heat
        .pipes
        .iter()
        .map(|pipe| {
            let mut row = vec![pipe.name.clone()];
            if has_old {
                let old = pipe.old_vapour_c;
                row.push(old.map_or_else(|| "-".into(), |c| format!("{c:.1}")));
            }
            row.extend([
                format!("{:.1}", pipe.vapour_c),
                format!("{:.1}", pipe.from_plate_w),
                format!("{:.0}", pipe.seat_mm2),
                limit(pipe.limit_c, pipe.above_limit),
            ]);
            row
        })
        .collect();
    if has_old {
        let heads = [
            "name",
            "vapour before, °C",
            "now",
            "W from the plate",
            "seat, mm²",
            "limit",
        ];
        terminal::table(&heads, &[1, 2, 3, 4, 5], rows)
    } else {
        let heads = [
            "name",
            "vapour, °C",
            "W from the plate",
            "seat, mm²",
            "limit",
        ];
        terminal::table(&heads, &[1, 2, 3, 4], rows)
    }
}

fn pads(heat: &Heat) -> String {
    let rows = heat
        .pads
        .iter()
        .map(|pad| {
            vec![
                pad.name.clone(),
                plain(pad.thickness_mm),
                pad.printed_w_mk.map_or_else(|| "-".into(), plain),
                format!(
                    "{:.1} ± {:.1}",
                    pad.conductivity_w_mk, pad.conductivity_plus_minus_w_mk
                ),
                format!(
                    "{:.0} ± {:.0}",
                    pad.contact_mm2k_w, pad.contact_plus_minus_mm2k_w
                ),
            ]
        })
        .collect();
    terminal::table(
        &["pad", "mm", "printed W/(m K)", "pressed", "faces, mm²K/W"],
        &[1, 2, 3, 4],
        rows,
    )
}

/// Where the numbers of the pads come from, those alike together.
fn sources(heat: &Heat) -> Vec<String> {
    let mut lines: Vec<(Vec<&str>, &str)> = Vec::new();
    for pad in &heat.pads {
        match lines.iter_mut().find(|(_, source)| *source == pad.source) {
            Some((names, _)) => names.push(&pad.name),
            None => lines.push((vec![&pad.name], &pad.source)),
        }
    }
    lines
        .into_iter()
        .map(|(names, source)| format!("{}: {source}", names.join(", ")))
        .collect()
}

/// Where one pad overtakes another.
fn crossings(heat: &Heat) -> Vec<String> {
    heat.pads
        .iter()
        .flat_map(|pad| {
            pad.crossings.iter().map(|crossing| match crossing.thickness_mm {
                Some(mm) => format!(
                    "{} and {} hold back alike where both are pressed to {mm:.2} mm; thinner, the one with the better faces is ahead.",
                    pad.name, crossing.with
                ),
                None => format!(
                    "{} and {} differ the same way at every thickness: thinner brings them nearer, never level.",
                    pad.name, crossing.with
                ),
            })
        })
        .collect()
}

fn model(heat: &Heat, pressed: bool) -> String {
    let grid = heat.plate.grid;
    let layers = if grid.layers > 1 {
        format!(" in {} layers", grid.layers)
    } else {
        String::new()
    };
    let balance = if grid.imbalance_w.abs() <= SAME_HEAT_W {
        "a millionth of a watt".to_owned()
    } else {
        format!("{:.0e} W", grid.imbalance_w.abs())
    };
    let old = if heat.old_plate.is_some() {
        " The old plate is taken level, with the outline of the new one and no holes."
    } else {
        ""
    };
    format!(
        "Gaps of the {}. Steady conduction in the unfolded sheets, cells of {:.2} mm{layers} ({} nodes); a grid twice as \
         coarse gave temperatures within {:.3} K. Heat in and out agree within {balance}.{old} Ranges from {} draws, every input \
         evenly between its limits.",
        gaps_of(pressed),
        grid.cell_mm,
        grid.nodes,
        grid.change_k,
        crate::numbers::count(heat.draws)
    )
}
