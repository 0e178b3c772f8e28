//! How far each board part is from the metal, and what must stay clear of it.

use super::{Html, Run, Section};
use crate::fit::{ComponentFit, Judged};
use crate::job::Job;
use crate::words;

pub fn section(job: &Job) -> Section {
    let mut body = Html::default();
    body.sentence(
        "/gaps/judged_text",
        &words::press::gaps_judged(&job.part, job.pressing.as_ref()),
    );
    let pressed = job.fit.judged == Judged::Pressed;
    let mut heads = vec!["part", "least", "mean", "largest", "±"];
    if pressed {
        heads.extend(["least, pressed", "mean, pressed", "largest, pressed"]);
    }
    heads.extend(["shortest way", "what it means"]);
    let rows: Vec<Vec<Run>> = job
        .fit
        .components
        .iter()
        .enumerate()
        .map(|(number, component)| row(number, component))
        .collect();
    body.table(
        if pressed {
            "Gaps straight up to the metal and the shortest way to it, mm, as drawn and as pressed"
        } else {
            "Gaps straight up to the metal and the shortest way to it, mm, as drawn"
        },
        &heads,
        &rows,
    );
    let rows: Vec<Vec<Run>> = job
        .fit
        .obstacles
        .iter()
        .enumerate()
        .map(|(number, obstacle)| {
            let place = |field: &str| format!("/gaps/obstacles/{number}/{field}");
            let mut row = vec![
                Run::said(place("name"), &obstacle.name),
                Run::rounded(place("clearance_mm"), obstacle.clearance_mm, 2),
            ];
            if pressed {
                row.push(Run::rounded_or_dash(
                    place("pressed_clearance_mm"),
                    obstacle.pressed_clearance_mm,
                    2,
                ));
            }
            row.push(Run::rounded(place("wanted_mm"), obstacle.wanted_mm, 2));
            row.push(if obstacle.clears {
                Run::words("stays clear")
            } else {
                bad("in the way")
            });
            row
        })
        .collect();
    body.table(
        "Things the plate must clear, mm",
        if pressed {
            &[
                "name",
                "free as drawn",
                "free as pressed",
                "wanted",
                "verdict",
            ]
        } else {
            &["name", "free as drawn", "wanted", "verdict"]
        },
        &rows,
    );
    Section {
        id: "gaps",
        heading: "Gaps",
        body,
    }
}

fn bad(words: &str) -> Run {
    let mut html = Html::default();
    html.markup("<span class=\"bad\">")
        .text(words)
        .markup("</span>");
    Run::from(html)
}

fn row(number: usize, component: &ComponentFit) -> Vec<Run> {
    let place = |field: &str| format!("/gaps/components/{number}/{field}");
    let gap = |field: &str, mm: Option<f64>| Run::rounded_or_dash(place(field), mm, 2);
    let mut row = vec![
        Run::said(place("name"), &component.name),
        gap("gap_min_mm", component.gap_min_mm),
        gap("gap_mean_mm", component.gap_mean_mm),
        gap("gap_max_mm", component.gap_max_mm),
        gap("gap_plus_minus_mm", component.gap_plus_minus_mm),
    ];
    let mut clearance = gap("clearance_mm", Some(component.clearance_mm));
    if let Some(pressed) = &component.pressed {
        row.extend([
            gap("pressed_gap_min_mm", pressed.gap_min_mm),
            gap("pressed_gap_mean_mm", pressed.gap_mean_mm),
            gap("pressed_gap_max_mm", pressed.gap_max_mm),
        ]);
        clearance = gap("pressed_clearance_mm", Some(pressed.clearance_mm));
    }
    row.push(clearance);
    let words = Run::said(place("verdict_text"), &component.verdict_text);
    row.push(if component.verdict.is_good() {
        words
    } else {
        Run::of(&[bad("not good: "), words])
    });
    row
}
