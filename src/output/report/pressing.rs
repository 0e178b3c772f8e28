//! What comes out of the vise, where it was calculated, and the dies that make it.

use super::pictures::figure;
use super::{Html, Run, Section};
use crate::forming::pressing::Pressing;
use crate::job::Job;
use crate::part::Part;
use crate::quantity::plain;
use crate::result::catalogue::OutputFile;
use crate::words;

pub fn section(job: &Job, files: &[OutputFile]) -> Option<Section> {
    if job.part.steps.is_empty() {
        return None;
    }
    let mut body = Html::default();
    match &job.pressing {
        Some(pressing) => pressed(&job.part, pressing, files, &mut body),
        None => {
            body.paragraph(
                "No pressing was calculated: the dies follow published springback factors, bend by bend. A sheet does \
                 not quite fill a printed die, so expect the first one rounder and flatter than drawn.",
            );
        }
    }
    if job.tooling.is_ok() && job.pressing.is_none() {
        dies(job, &mut body);
    }
    Some(Section {
        id: "pressing",
        heading: "Pressing",
        body,
    })
}

fn between(place: impl Fn(&str) -> String, names: &[String; 2]) -> Run {
    let [from, to] = names;
    Run::of(&[
        Run::said(place("between/0"), from),
        Run::words(" to "),
        Run::said(place("between/1"), to),
    ])
}

fn pressed(part: &Part, pressing: &Pressing, files: &[OutputFile], body: &mut Html) {
    body.sentence("/press/answer_text", &words::press::comes_out(pressing))
        .sentence("/press/worst_text", &words::press::worst(pressing));
    if words::press::is_estimate(pressing) {
        body.sentence("/press/estimate_error", words::press::QUICK_ERROR);
    }
    for (name, caption) in [
        (
            "pressed.svg",
            "What comes out of the vise over what was drawn, and how far it is off.",
        ),
        (
            "closing_frames.svg",
            "The sheet while the dies close on it; closing.svg beside this page plays it.",
        ),
        (
            "force.svg",
            "The force while the dies close, and what the vise gives.",
        ),
    ] {
        figure(files, name, caption, body);
    }
    if !pressing.limits.is_empty() {
        body.heading("What keeps it from the drawing")
            .markup("<ul>\n");
        for (number, limit) in pressing.limits.iter().enumerate() {
            body.markup("<li>")
                .value(&format!("/press/limits/{number}/reason"), &limit.reason)
                .sentences(&format!("/press/limits/{number}/help"), &limit.help)
                .markup("</li>\n");
        }
        body.markup("</ul>\n");
    }
    body.heading("Sheet, vise and dies").markup("<dl>\n");
    for (head, field, words) in [
        (
            "Sheet",
            "stretch_text",
            words::press::stretch(part, pressing),
        ),
        ("Force", "force_text", words::press::force(part, pressing)),
        (
            "Handbook",
            "handbook_text",
            words::press::handbook_force(part),
        ),
        ("Noses", "noses_text", words::press::noses(pressing)),
        (
            "Life",
            "strength/die_life",
            pressing.strength.die_life.clone(),
        ),
    ] {
        if !words.is_empty() {
            body.markup("<dt>").text(head).markup("</dt>").marked(
                "dd",
                &format!("/press/{field}"),
                &words,
            );
        }
    }
    body.markup("</dl>\n");
    bends(pressing, body);
    let rows: Vec<Vec<Run>> = pressing
        .rises
        .iter()
        .enumerate()
        .map(|(number, rise)| {
            let place = |field: &str| format!("/press/rises/{number}/{field}");
            vec![
                between(place, &rise.between),
                Run::rounded(place("target_mm"), rise.target_mm, 3),
                Run::rounded(place("released_mm"), rise.released_mm, 3),
            ]
        })
        .collect();
    body.table("Rises, mm", &["step", "drawn", "opened"], &rows);
    let rows: Vec<Vec<Run>> = pressing
        .flats
        .iter()
        .enumerate()
        .map(|(number, flat)| {
            let place = |field: &str| format!("/press/flats/{number}/{field}");
            vec![
                Run::said(place("name"), &flat.name),
                Run::rounded(place("height_error_mm"), flat.height_error_mm, 3),
                Run::rounded(place("slope_deg"), flat.slope_deg, 2),
                Run::rounded(place("bow_mm"), flat.bow_mm, 3),
            ]
        })
        .collect();
    body.table(
        "Flats after letting go, all laid together on the drawn ones",
        &["flat", "height off, mm", "slope, degrees", "bow, mm"],
        &rows,
    );
    body.paragraph(words::press::BOWS);
    body.line(&[
        Run::words("How it was calculated: "),
        Run::said("/press/model", &pressing.model),
        Run::words("."),
    ]);
}

fn bends(pressing: &Pressing, body: &mut Html) {
    let rows: Vec<Vec<Run>> = pressing
        .bends
        .iter()
        .enumerate()
        .map(|(number, bend)| {
            let place = |field: &str| format!("/press/bends/{number}/{field}");
            vec![
                between(place, &bend.between),
                Run::words(if bend.which == 0 { "first" } else { "second" }),
                Run::rounded(place("target_angle_deg"), bend.target_angle_deg, 2),
                Run::rounded(place("die_angle_deg"), bend.die_angle_deg, 2),
                Run::rounded(place("closed_angle_deg"), bend.closed_angle_deg, 2),
                Run::rounded(place("released_angle_deg"), bend.released_angle_deg, 2),
                Run::number(
                    place("target_inside_radius_mm"),
                    bend.target_inside_radius_mm,
                    &plain(bend.target_inside_radius_mm),
                ),
                Run::rounded(place("die_nose_radius_mm"), bend.die_nose_radius_mm, 2),
                Run::rounded(
                    place("released_inside_radius_mm"),
                    bend.released_inside_radius_mm,
                    2,
                ),
            ]
        })
        .collect();
    body.table(
        "Bends: angles in degrees, inside radii in mm; the nose is what the sheet is bent around",
        &[
            "step",
            "bend",
            "angle drawn",
            "in the die",
            "closed",
            "opened",
            "radius drawn",
            "nose",
            "radius opened",
        ],
        &rows,
    );
}

/// What the dies make of the drawing.
fn dies(job: &Job, body: &mut Html) {
    body.heading("Shape of the dies");
    body.line(&[
        Run::words("Springback: "),
        Run::said("/dies/compensation_model", &job.compensation.model),
        Run::words("."),
    ]);
    let rows: Vec<Vec<Run>> = job
        .compensation
        .bends
        .iter()
        .enumerate()
        .map(|(number, bend)| {
            let place = |field: &str| format!("/dies/compensation/{number}/{field}");
            vec![
                between(place, &bend.between),
                Run::rounded(place("target_angle_deg"), bend.target_angle_deg, 1),
                Run::number(
                    place("target_inside_radius_mm"),
                    bend.target_inside_radius_mm,
                    &plain(bend.target_inside_radius_mm),
                ),
                Run::rounded(place("die_angle_deg"), bend.die_angle_deg, 2),
                Run::rounded(place("die_inside_radius_mm"), bend.die_inside_radius_mm, 3),
            ]
        })
        .collect();
    body.table(
        "Bends drawn and in the die: angles in degrees, inside radii in mm",
        &[
            "step",
            "angle drawn",
            "radius drawn",
            "angle in the die",
            "radius in the die",
        ],
        &rows,
    );
}
