//! The answer: can it be built, what to cut, what to print, what comes out, what it buys.

use super::{Html, Run};
use crate::document::answer::{total_mass_g, verdict};
use crate::job::Job;
use crate::quantity::plain;
use crate::words;

/// The first thing on the page.
pub fn answer(job: &Job) -> Html {
    let mut html = Html::default();
    let class = if job.is_good() { "answer" } else { "answer no" };
    html.markup(&format!(
        "<section id=\"answer\" tabindex=\"-1\" aria-label=\"Answer\" class=\"{class}\">\n<p class=\"verdict\">"
    ))
    .value("/verdict", &verdict(job))
    .markup("</p>\n")
    .sentences("/reasons", &job.obstacles());
    ways_out(job, &mut html);
    html.markup("<dl>\n");
    entry("Gaps", &gaps(job), &mut html);
    entry("Cut", &cut(job), &mut html);
    if let Some(print) = print(job) {
        entry("Print", &print, &mut html);
    }
    if let Some(press) = press(job) {
        entry("Press", &press, &mut html);
    }
    if let Some(heat) = &job.heat {
        let mut words = Html::default();
        words.sentence("/heat/verdict", &words::heat::verdict(heat));
        entry("Temperatures", &words, &mut html);
    }
    html.markup("</dl>\n</section>\n");
    html
}

fn entry(word: &str, body: &Html, html: &mut Html) {
    html.markup("<dt>")
        .text(word)
        .markup("</dt><dd>")
        .join(body)
        .markup("</dd>\n");
}

/// What would help where there is no die pair.
fn ways_out(job: &Job, html: &mut Html) {
    let Err(reasons) = &job.tooling else {
        return;
    };
    if reasons.iter().all(|reason| reason.help.is_empty()) {
        return;
    }
    html.paragraph("What would help the dies:").markup("<ul>\n");
    for (number, reason) in reasons.iter().enumerate() {
        // The document lists them after all other findings.
        let place = job.notes.len() + number;
        for (line, help) in reason.help.iter().enumerate() {
            html.marked("li", &format!("/warnings/{place}/help/{line}"), help)
                .markup("\n");
        }
    }
    html.markup("</ul>\n");
}

fn gaps(job: &Job) -> Html {
    let mut html = Html::default();
    let fit = &job.fit;
    let misfits = fit.bad_components().count() + fit.obstacles.iter().filter(|o| !o.clears).count();
    html.paragraph(if misfits == 0 {
        "Every board part has its pad or its distance, and nothing is in the way."
    } else {
        "Not everything fits; the reasons stand above."
    });
    html.sentence(
        "/gaps_judged_text",
        &words::press::gaps_judged(&job.part, job.pressing.as_ref()),
    );
    html
}

fn cut(job: &Job) -> Html {
    let mut html = Html::default();
    let blank = &job.blank;
    let [length_mm, width_mm] = blank.rectangle_mm;
    let sheet = &job.part.sheet;
    html.line(&[
        Run::words("A blank of "),
        Run::rounded("/blank/rectangle_mm/0", length_mm, 2),
        Run::words(" x "),
        Run::rounded("/blank/rectangle_mm/1", width_mm, 2),
        Run::words(" mm from "),
        Run::number(
            "/sheet/thickness_mm",
            sheet.thickness_mm,
            &plain(sheet.thickness_mm),
        ),
        Run::words(" mm "),
        Run::said("/sheet/metal", &sheet.metal.name),
        Run::words(". Rules for the stretch of bends differ by up to "),
        Run::rounded("/blank/spread_mm", blank.spread_mm, 2),
        Run::words(" mm in its length: leave that for filing."),
    ]);
    html
}

fn print(job: &Job) -> Option<Html> {
    let tooling = job.tooling.as_ref().ok()?;
    let mut html = Html::default();
    html.line(&[
        Run::words("lower.stl and upper.stl, as they lie in the files: about "),
        Run::rounded("/dies/total_mass_g", total_mass_g(tooling), 0),
        Run::words(" g of "),
        Run::said("/dies/plastic", job.part.printer.plastic.name()),
        Run::words(" together."),
    ]);
    Some(html)
}

fn press(job: &Job) -> Option<Html> {
    let tooling = job.tooling.as_ref().ok()?;
    let mut html = Html::default();
    html.line(&[
        Run::words("Until the backs are "),
        Run::rounded("/dies/closed_height_mm", tooling.closed_height_mm, 1),
        Run::words(" mm apart."),
    ]);
    if let Some(pressing) = &job.pressing {
        html.sentence("/press/verdict", &words::press::verdict(pressing))
            .sentence("/press/worst_text", &words::press::worst(pressing));
    }
    Some(html)
}
