//! The answer: can it be built, what to cut, what to print, what comes out, what it buys.

use super::{Html, Run};
use crate::document::answer::total_mass_g;
use crate::job::Job;
use crate::quantity::plain;
use crate::verdict::{State, Verdict};
use crate::words;

/// The first thing on the page.
pub fn answer(job: &Job) -> Html {
    let mut html = Html::default();
    let verdict = job.verdict();
    let class = match verdict.state {
        State::Yes => "answer",
        State::YesIf => "answer if",
        State::No => "answer no",
    };
    html.markup(&format!(
        "<section id=\"answer\" tabindex=\"-1\" aria-label=\"Answer\" class=\"{class}\">\n<p class=\"verdict\">"
    ))
    .value("/verdict/headline", &verdict.headline)
    .markup("</p>\n");
    reasons(&verdict, &mut html);
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
        words.sentence("/heat/answer_text", &words::heat::verdict(heat));
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

/// Why it is not a plain YES, and what would help.
fn reasons(verdict: &Verdict, html: &mut Html) {
    if verdict.reasons.is_empty() {
        return;
    }
    html.markup("<ul class=\"reasons\">\n");
    for (number, reason) in verdict.reasons.iter().enumerate() {
        let pointer = format!("/verdict/reasons/{number}");
        html.markup("<li><strong>")
            .text(reason.forces.word())
            .markup("</strong> ")
            .value(&format!("{pointer}/text"), &reason.text)
            .sentences(&format!("{pointer}/ways_out"), &reason.ways_out)
            .markup("</li>\n");
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
        "/gaps/judged_text",
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
            "/part/sheet/thickness_mm",
            sheet.thickness_mm,
            &plain(sheet.thickness_mm),
        ),
        Run::words(" mm "),
        Run::said("/part/sheet/metal", &sheet.metal.name),
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
        html.sentence("/press/answer_text", &words::press::comes_out(pressing))
            .sentence("/press/worst_text", &words::press::worst(pressing));
    }
    Some(html)
}
