//! The index page of a folder: the answer, the pictures, and what each file is for.

use super::folder::purpose;
use super::heat_words;
use super::press_words;
use super::summary::{CAUTIONS, verdict};
use super::svg::escaped;
use crate::fit::Judged;
use crate::heat::Range;
use crate::job::Job;
use crate::quantity::plain;
use std::fmt::Write as _;

/// Line after the document type: says whose file it is.
const MARK: &str = "<!-- written by coldstep -->";

const STYLE: &str = "
:root { color-scheme: light dark; --ink: #26231f; --paper: #faf7f0; --rule: #b9ab92; --soft: #efe8da; }
@media (prefers-color-scheme: dark) { :root { --ink: #ece5d8; --paper: #211e1a; --rule: #6f6552; --soft: #2e2a23; } }
body { margin: 2rem auto; max-width: 62rem; padding: 0 1rem; font: 1rem/1.5 Georgia, 'Times New Roman', serif;
  color: var(--ink); background: var(--paper); }
h1 { font-size: 1.6rem; margin-bottom: .3rem; } h2 { font-size: 1.2rem; margin-top: 2.2rem; }
.answer { border-left: .4rem solid var(--rule); padding: .6rem 1rem; background: var(--soft); }
table { border-collapse: collapse; } td, th { text-align: left; padding: .3rem 1rem .3rem 0;
  border-bottom: 1px solid var(--rule); vertical-align: top; } td.n { text-align: right; }
figure { margin: 1.2rem 0; } figure img { width: 100%; height: auto; background: #fff; }
figcaption { font-style: italic; }
.care { border: 2px solid var(--ink); padding: .2rem 1rem; }
@media print { body { margin: 0; max-width: none; } figure { break-inside: avoid; } }
";

/// The page. `files` are the names of all files of the folder, without the page itself.
pub fn index(job: &Job, files: &[&str]) -> Vec<u8> {
    let mut page = String::new();
    // Writing to a String cannot fail.
    let _ = written(job, files, &mut page);
    page.into_bytes()
}

fn written(job: &Job, files: &[&str], page: &mut String) -> std::fmt::Result {
    let name = escaped(&job.part.name);
    writeln!(
        page,
        "<!doctype html>\n{MARK}\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">"
    )?;
    writeln!(
        page,
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">"
    )?;
    writeln!(
        page,
        "<title>{name} - cold plate</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<main>"
    )?;
    writeln!(page, "<h1>{name}</h1>")?;
    if let Some(note) = &job.part.note {
        writeln!(page, "<p>{}</p>", escaped(note))?;
    }
    answer(job, page)?;
    for (picture, caption) in [
        (
            "section.svg",
            "The plate over the board parts, from the side. Gaps in millimetres.",
        ),
        ("plan.svg", "The same from above."),
        ("dies.svg", "The closed die pair with the sheet between."),
        ("states.svg", "Laid in, touching, closed, opened."),
        (
            "pressed.svg",
            "What comes out of the vise over what was drawn, and how far it is off.",
        ),
        ("force.svg", "The force while the dies close."),
        (
            "closing.svg",
            "The sheet while the dies close on it: a film.",
        ),
        (
            "heat_parts.svg",
            "How warm each part gets, before and after.",
        ),
        ("heat_map.svg", "Temperatures over the plate."),
        ("heat_ladder.svg", "Where the degrees go."),
        ("heat_pads.svg", "What a better pad would bring."),
    ] {
        if files.contains(&picture) {
            writeln!(
                page,
                "<figure><a href=\"{picture}\"><img src=\"{picture}\" alt=\"{caption}\"></a><figcaption>{caption}</figcaption></figure>"
            )?;
        }
    }
    gaps(job, page)?;
    temperatures(job, page)?;
    writeln!(page, "<h2>Files in this folder</h2>\n<table>")?;
    for file in files {
        writeln!(
            page,
            "<tr><td><a href=\"{file}\">{file}</a></td><td>{}</td></tr>",
            escaped(purpose(file))
        )?;
    }
    writeln!(
        page,
        "</table>\n<h2>Take care</h2>\n<div class=\"care\"><ul>"
    )?;
    for caution in CAUTIONS {
        writeln!(page, "<li>{}</li>", escaped(caution))?;
    }
    writeln!(page, "</ul></div>\n</main>\n</body>\n</html>")
}

fn answer(job: &Job, page: &mut String) -> std::fmt::Result {
    writeln!(
        page,
        "<div class=\"answer\"><p><strong>{}</strong></p>",
        escaped(&verdict(job))
    )?;
    let reasons = job.obstacles();
    if !reasons.is_empty() {
        writeln!(page, "<ul>")?;
        for reason in reasons {
            writeln!(page, "<li>{}</li>", escaped(&reason))?;
        }
        writeln!(page, "</ul>")?;
    }
    let [length_mm, width_mm] = job.blank.rectangle_mm;
    writeln!(
        page,
        "<p>Cut a blank of {length_mm:.2} x {width_mm:.2} mm from {} mm {}. Rules for the K-factor differ by up to {:.2} mm in its length: leave that for filing.</p>",
        plain(job.part.sheet.thickness_mm),
        escaped(&job.part.sheet.metal.name),
        job.blank.spread_mm
    )?;
    if let Some(pressing) = &job.pressing {
        writeln!(
            page,
            "<p>{} {}</p>",
            escaped(&press_words::verdict(pressing)),
            escaped(&press_words::worst(pressing))
        )?;
    }
    if let Some(heat) = &job.heat {
        writeln!(page, "<p>{}</p>", escaped(&heat_words::verdict(heat)))?;
    }
    if let Ok(tooling) = &job.tooling {
        let grams: f64 = tooling
            .blocks
            .iter()
            .map(|b| b.print.estimated_mass_g)
            .sum();
        writeln!(
            page,
            "<p>Print lower.stl and upper.stl as they lie in the files, about {grams:.0} g of {} together. Press until the backs are {:.1} mm apart.</p>",
            job.part.printer.plastic.name(),
            tooling.closed_height_mm
        )?;
    }
    writeln!(page, "</div>")
}

fn temperatures(job: &Job, page: &mut String) -> std::fmt::Result {
    let Some(heat) = &job.heat else {
        return Ok(());
    };
    let has_old = heat.old_plate.is_some();
    writeln!(
        page,
        "<h2>Temperatures</h2>\n<p>{} {}</p>\n<p>Inside the parts, °C; in brackets, where nine in ten draws of everything that is not known exactly lie.</p>",
        escaped(&heat_words::dominates(heat)),
        escaped(&heat_words::pad_advice(heat))
    )?;
    writeln!(
        page,
        "<table>\n<tr><th>part</th><th>heat, W</th>{}<th>new plate</th>{}<th>limit</th></tr>",
        if has_old { "<th>old plate</th>" } else { "" },
        if has_old { "<th>change, K</th>" } else { "" }
    )?;
    let range = |range: Range, decimals: usize| {
        format!(
            "<td class=\"n\">{:.decimals$} ({:.decimals$} to {:.decimals$})</td>",
            range.middle, range.low, range.high
        )
    };
    for part in &heat.parts {
        let old = part.old_inside_c.map(|old| range(old, 0));
        let change = part.difference_k.map(|change| range(change, 1));
        writeln!(
            page,
            "<tr><td>{}</td><td class=\"n\">{}</td>{}{}{}<td class=\"n\">{}</td></tr>",
            escaped(&part.name),
            plain(part.heat_w),
            old.unwrap_or_default(),
            range(part.inside_c, 0),
            change.unwrap_or_default(),
            part.limit_c.map_or_else(
                || "-".to_owned(),
                |limit_c| {
                    let over = if part.above_limit { ", above it" } else { "" };
                    format!("{}{over}", plain(limit_c))
                }
            )
        )?;
    }
    writeln!(page, "</table>")?;
    if let Some(focus) = heat.focus()
        && !heat.improvements.is_empty()
    {
        writeln!(
            page,
            "<p>What to improve next for {}, each for itself:</p>\n<table>\n<tr><th>K cooler</th><th>what</th></tr>",
            escaped(&focus.name)
        )?;
        for one in heat.improvements.iter().filter(|one| one.counts()) {
            writeln!(
                page,
                "<tr><td class=\"n\">{:.1}</td><td>{}</td></tr>",
                one.gain_k,
                escaped(&one.what)
            )?;
        }
        writeln!(page, "</table>")?;
    }
    writeln!(page, "<ul>")?;
    for caution in heat_words::CAUTIONS {
        writeln!(page, "<li>{}</li>", escaped(caution))?;
    }
    writeln!(page, "</ul>")
}

fn gaps(job: &Job, page: &mut String) -> std::fmt::Result {
    writeln!(
        page,
        "<h2>Gaps</h2>\n<p>{}</p>\n<table>\n<tr><th>part</th><th>least gap, mm</th><th>mean, mm</th>{}<th>what it means</th></tr>",
        escaped(&press_words::gaps_judged(&job.part, job.pressing.as_ref())),
        if job.fit.judged == Judged::Pressed {
            "<th>least pressed, mm</th><th>mean pressed, mm</th>"
        } else {
            ""
        }
    )?;
    for component in &job.fit.components {
        let number = |value: Option<f64>| value.map_or("-".into(), |value| format!("{value:.2}"));
        let pressed = component.pressed.map_or_else(String::new, |pressed| {
            format!(
                "<td class=\"n\">{}</td><td class=\"n\">{}</td>",
                number(pressed.gap_min_mm),
                number(pressed.gap_mean_mm)
            )
        });
        writeln!(
            page,
            "<tr><td>{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td>{pressed}<td>{}{}</td></tr>",
            escaped(&component.name),
            number(component.gap_min_mm),
            number(component.gap_mean_mm),
            if component.verdict.is_good() {
                ""
            } else {
                "<strong>not good:</strong> "
            },
            escaped(&component.verdict_text)
        )?;
    }
    writeln!(page, "</table>")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::starter::STARTER;

    /// A name may hold anything that a text may; none of it becomes markup.
    #[test]
    fn names_never_become_markup() {
        let hostile = STARTER.replace(
            "name = \"starter plate\"",
            "name = '<script>alert(\"x\")</script> & \u{fc}'",
        );
        let job = Job::read(&hostile).unwrap();
        let page = String::from_utf8(index(&job, &["section.svg"])).unwrap();
        assert!(!page.contains("<script"));
        assert!(page.contains("&lt;script"));
        // As a well-formed document: the doctype and void tags aside.
        let body = page
            .replace("<!doctype html>", "")
            .replace("<meta charset=\"utf-8\">", "");
        assert!(body.contains("</html>"));
        assert!(!page.contains("http"), "a page without any request");
    }
}
