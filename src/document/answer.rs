//! The answer in plain words: what a person wants to know first, then what to cut, print and press.

use crate::dies::Tooling;
use crate::forming::pressing::Pressing;
use crate::heat::Range;
use crate::job::Job;
use crate::part::Part;
use crate::quantity::plain;
use crate::words;
use std::fmt::Write as _;

/// Cautions that go with every set of files. Common practice, no source.
pub const CAUTIONS: [&str; 5] = [
    "Cut sheet is sharp: wear gloves and eye protection, deburr every edge, keep chips off the board.",
    "Printed dies can split under load: eye protection, close slowly, keep your face out of line, fingers out of the jaws.",
    "Metal over a bare part shorts it: check every gap on the real board with the power off before it runs.",
    "Sizes are nominal: what measuring, sheet and printing tolerances do to the gaps is not counted yet.",
    "These are estimates, not a safety case: keep to the makers' limits and your local rules, and ask someone licensed where they require it.",
];

/// Plastic of both dies together.
pub fn total_mass_g(tooling: &Tooling) -> f64 {
    tooling.total_mass_g()
}

/// The whole summary as lines of plain text.
pub fn summary(job: &Job) -> String {
    let mut text = String::new();
    for (head, words) in job.verdict().lines() {
        // Writing to a String cannot fail.
        let _ = writeln!(text, "{head}{words}");
    }
    text.push_str(&below_the_answer(job));
    text
}

/// The summary without the verdict.
pub fn below_the_answer(job: &Job) -> String {
    let mut text = String::new();
    // Writing to a String cannot fail.
    let _ = note(job, &mut text);
    let _ = cut(job, &mut text);
    let _ = gaps(job, &mut text);
    let _ = dies(job, &mut text);
    let _ = temperatures(job, &mut text);
    let _ = cautions(&mut text);
    text
}

fn note(job: &Job, text: &mut String) -> std::fmt::Result {
    if let Some(note) = &job.part.note {
        writeln!(text, "  ({note})")?;
    }
    writeln!(text)
}

fn cut(job: &Job, text: &mut String) -> std::fmt::Result {
    let blank = &job.blank;
    let sheet = &job.part.sheet;
    let [length_mm, width_mm] = blank.rectangle_mm;
    writeln!(
        text,
        "CUT    {length_mm:.2} x {width_mm:.2} mm from {} mm {}; the blank itself is {:.1} cm2 and {:.1} g",
        plain(sheet.thickness_mm),
        sheet.metal.name,
        blank.area_mm2 / 100.0,
        blank.mass_g
    )?;
    writeln!(
        text,
        "       K-factor by {}{}; other rules differ by up to {:.2} mm in length: leave that for filing",
        sheet.k_rule.words(),
        if blank.k_rule.is_default {
            " (default)"
        } else {
            ""
        },
        blank.spread_mm
    )?;
    for bend in &blank.bends {
        writeln!(
            text,
            "       bend {} {:.1} deg, inside radius {}, line at {:.2} (from {:.2} to {:.2})",
            match bend.direction {
                crate::blank::Direction::Up => "up  ",
                crate::blank::Direction::Down => "down",
            },
            bend.angle_deg,
            plain(bend.inside_radius_mm),
            bend.centre_mm,
            bend.start_mm,
            bend.end_mm
        )?;
    }
    writeln!(text)
}

fn gaps(job: &Job, text: &mut String) -> std::fmt::Result {
    let range = |low: Option<f64>, high: Option<f64>| match (low, high) {
        (Some(low), Some(high)) if high - low < 0.005 => format!("{low:.2} mm"),
        (Some(low), Some(high)) => format!("{low:.2} to {high:.2} mm"),
        _ => "no metal above".into(),
    };
    writeln!(
        text,
        "GAPS   {}",
        words::press::gaps_judged(&job.part, job.pressing.as_ref())
    )?;
    let width = job
        .fit
        .components
        .iter()
        .map(|c| c.name.chars().count())
        .max()
        .unwrap_or(0);
    for component in &job.fit.components {
        let gap = range(component.gap_min_mm, component.gap_max_mm);
        let pressed = component.pressed.map_or_else(String::new, |pressed| {
            let words = match (component.gap_min_mm, pressed.gap_min_mm) {
                (None, None) => String::new(),
                _ => format!("pressed {}", range(pressed.gap_min_mm, pressed.gap_max_mm)),
            };
            format!("{words:24} ")
        });
        let mark = if component.verdict.is_good() {
            "ok "
        } else {
            "NOT"
        };
        writeln!(
            text,
            "       {mark} {:width$}  {gap:16} {pressed}{}",
            component.name, component.verdict_text
        )?;
    }
    for obstacle in &job.fit.obstacles {
        let mark = if obstacle.clears { "ok " } else { "NOT" };
        writeln!(
            text,
            "       {mark} {}: {:.2} mm free, {:.2} mm wanted",
            obstacle.name,
            obstacle.judged_mm(),
            obstacle.wanted_mm
        )?;
    }
    writeln!(text)
}

fn dies(job: &Job, text: &mut String) -> std::fmt::Result {
    let Ok(tooling) = &job.tooling else {
        return writeln!(text, "DIES   none: see the reasons above\n");
    };
    for (number, block) in tooling.blocks.iter().enumerate() {
        let head = if number == 0 { "DIES" } else { "" };
        let [x, y, z] = block.size_mm;
        writeln!(
            text,
            "{head:6} {} die {x:.1} x {y:.1} x {z:.1} mm, print it {} ({:.0} mm2 hang over); {:.1} cm3, about {:.0} g of {}",
            block.role.word(),
            block.print.pose.words(),
            block.print.overhang_mm2(),
            block.volume_mm3 / 1000.0,
            block.print.estimated_mass_g,
            job.part.printer.plastic.name()
        )?;
    }
    let grams = total_mass_g(tooling);
    let volume: f64 = tooling.blocks.iter().map(|b| b.volume_mm3 / 1000.0).sum();
    writeln!(
        text,
        "       together {volume:.1} cm3 of print volume, about {grams:.0} g of plastic"
    )?;
    writeln!(
        text,
        "PRESS  back to back {:.1} mm when the blank is touched, {:.1} mm when closed: {:.1} mm of travel",
        tooling.touching_height_mm,
        tooling.closed_height_mm,
        tooling.touching_height_mm - tooling.closed_height_mm
    )?;
    writeln!(text, "       springback: {}", job.compensation.model)?;
    for bend in &job.compensation.bends {
        writeln!(
            text,
            "       {} to {}: {:.1} deg, radius {} -> die {:.2} deg, radius {:.3}",
            bend.between[0],
            bend.between[1],
            bend.target_angle_deg,
            plain(bend.target_inside_radius_mm),
            bend.die_angle_deg,
            bend.die_inside_radius_mm
        )?;
    }
    if let Some(pressing) = &job.pressing {
        formed(&job.part, pressing, text)?;
    } else if !job.part.steps.is_empty() {
        writeln!(
            text,
            "       no pressing was calculated: a sheet does not quite fill a printed die, expect the first one rounder and flatter than drawn"
        )?;
    }
    writeln!(text)
}

/// What a calculated pressing says, as a paragraph of the summary.
///
/// # Errors
/// Writing to a `String` gives none.
pub fn formed(part: &Part, pressing: &Pressing, text: &mut String) -> std::fmt::Result {
    writeln!(text, "FORMED {}", words::press::comes_out(pressing))?;
    writeln!(text, "       {}", words::press::worst(pressing))?;
    if words::press::is_estimate(pressing) {
        writeln!(text, "       {}", words::press::QUICK_ERROR)?;
    }
    for limit in &pressing.limits {
        writeln!(text, "       - {}", limit.reason)?;
        for help in &limit.help {
            writeln!(text, "         help: {help}")?;
        }
    }
    for bend in &pressing.bends {
        writeln!(
            text,
            "       {} to {}, bend {}: {:.2} deg drawn, {:.2} in the die, {:.2} opened; inside radius {} drawn, {:.2} opened",
            bend.between[0],
            bend.between[1],
            bend.which + 1,
            bend.target_angle_deg,
            bend.die_angle_deg,
            bend.released_angle_deg,
            plain(bend.target_inside_radius_mm),
            bend.released_inside_radius_mm
        )?;
    }
    for rise in &pressing.rises {
        writeln!(
            text,
            "       {} to {}: rises {:.3} mm drawn, {:.3} opened",
            rise.between[0], rise.between[1], rise.target_mm, rise.released_mm
        )?;
    }
    for words in [
        words::press::stretch(part, pressing),
        words::press::force(part, pressing),
        words::press::noses(pressing),
        pressing.strength.die_life.clone(),
    ] {
        writeln!(text, "       {words}")?;
    }
    Ok(())
}

/// What the plate does to temperatures.
fn temperatures(job: &Job, text: &mut String) -> std::fmt::Result {
    let Some(heat) = &job.heat else {
        return Ok(());
    };
    writeln!(text, "HEAT   {}", words::heat::verdict(heat))?;
    for words in [words::heat::dominates(heat), words::heat::pad_advice(heat)] {
        writeln!(text, "       {words}")?;
    }
    let width = heat
        .parts
        .iter()
        .map(|part| part.name.chars().count())
        .max();
    let width = width.unwrap_or(0);
    for part in &heat.parts {
        let range = |range: Range| {
            format!(
                "{:.0} °C ({:.0} to {:.0})",
                range.middle, range.low, range.high
            )
        };
        let before = part
            .old_inside_c
            .map_or_else(String::new, |old| format!("before {}, now ", range(old)));
        let limit = part.limit_c.map_or_else(String::new, |limit_c| {
            let over = if part.above_limit { ", ABOVE IT" } else { "" };
            format!("; limit {} °C{over}", plain(limit_c))
        });
        writeln!(
            text,
            "       {:width$}  {before}{}{limit}",
            part.name,
            range(part.inside_c)
        )?;
    }
    for improvement in heat.improvements.iter().filter(|one| one.counts()).take(3) {
        writeln!(
            text,
            "       {:.1} K would come from {}",
            improvement.gain_k, improvement.what
        )?;
    }
    for caution in words::heat::CAUTIONS {
        writeln!(text, "       {caution}")?;
    }
    writeln!(text)
}

fn cautions(text: &mut String) -> std::fmt::Result {
    for (number, caution) in CAUTIONS.iter().enumerate() {
        let head = if number == 0 { "CARE" } else { "" };
        writeln!(text, "{head:6} {caution}")?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::pictures::fixtures::check::pressed;
    use crate::part::starter::STARTER;

    #[test]
    fn the_answer_comes_first_and_every_part_is_named() {
        let job = Job::read(STARTER).unwrap();
        let text = summary(&job);
        let headline = job.verdict().headline;
        assert_eq!(text.lines().next(), Some(headline.as_str()));
        for component in &job.fit.components {
            assert!(text.contains(&component.name));
        }
        for caution in CAUTIONS {
            assert!(text.contains(caution));
        }
    }

    #[test]
    fn a_pressing_is_a_paragraph_of_its_own() {
        let (part, pressing) = pressed();
        let mut text = String::new();
        formed(&part, &pressing, &mut text).unwrap();
        assert!(text.starts_with("FORMED "), "{text}");
        assert!(text.ends_with('\n') && !text.contains("\n\n"));
        assert!(
            text.contains("stages to chokes, bend 2: 37.39 deg drawn"),
            "{text}"
        );
        assert!(
            text.lines()
                .skip(1)
                .all(|line| line.is_empty() || line.starts_with("       "))
        );
    }

    #[test]
    fn a_no_names_its_reasons() {
        let tall = STARTER.replace("height_mm = 1.3", "height_mm = 9.0");
        let job = Job::read(&tall).unwrap();
        let text = summary(&job);
        assert!(text.starts_with("NO: "), "{text}");
        assert!(text.contains("  NO  C1: "), "{text}");
    }
}
