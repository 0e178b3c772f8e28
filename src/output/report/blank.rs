//! What to cut, and where it bends.

use super::pictures::figure;
use super::{Html, Run, Section};
use crate::blank::Direction;
use crate::job::Job;
use crate::quantity::plain;
use crate::result::catalogue::OutputFile;

pub fn section(job: &Job, files: &[OutputFile]) -> Section {
    let mut body = Html::default();
    let blank = &job.blank;
    figure(
        files,
        "blank.svg",
        "The flat blank; here it fills the page, the file prints it at true size.",
        &mut body,
    );
    body.line(&[
        Run::words("Developed length "),
        Run::rounded("/blank/developed_length_mm", blank.developed_length_mm, 2),
        Run::words(" mm, width "),
        Run::rounded("/blank/width_mm", blank.width_mm, 2),
        Run::words(" mm, area of one face "),
        Run::rounded("/blank/area_mm2", blank.area_mm2, 0),
        Run::words(" mm², mass "),
        Run::rounded("/blank/mass_g", blank.mass_g, 1),
        Run::words(" g."),
    ]);
    body.line(&[
        Run::words("Length of bends by "),
        Run::said("/part/sheet/k_rule_text", job.part.sheet.k_rule.words()),
        Run::words(if blank.k_rule.is_default {
            ", the rule taken because the part file names none."
        } else {
            ", as the part file asks."
        }),
    ]);
    let rows: Vec<Vec<Run>> = blank
        .bends
        .iter()
        .enumerate()
        .map(|(number, bend)| {
            let place = |field: &str| format!("/blank/bends/{number}/{field}");
            let [from, to] = &bend.between;
            vec![
                Run::of(&[
                    Run::said(place("between/0"), from),
                    Run::words(" to "),
                    Run::said(place("between/1"), to),
                ]),
                Run::words(match bend.direction {
                    Direction::Up => "up",
                    Direction::Down => "down",
                }),
                Run::rounded(place("angle_deg"), bend.angle_deg, 1),
                Run::number(
                    place("inside_radius_mm"),
                    bend.inside_radius_mm,
                    &plain(bend.inside_radius_mm),
                ),
                Run::rounded(place("start_mm"), bend.start_mm, 2),
                Run::rounded(place("centre_mm"), bend.centre_mm, 2),
                Run::rounded(place("end_mm"), bend.end_mm, 2),
            ]
        })
        .collect();
    body.table(
        "Bends: places in mm from the left end of the blank, seen from above",
        &[
            "step",
            "way",
            "angle, degrees",
            "inside radius, mm",
            "begins",
            "bend line",
            "ends",
        ],
        &rows,
    );
    let rows: Vec<Vec<Run>> = blank
        .other_rules
        .iter()
        .enumerate()
        .map(|(number, rule)| {
            let place = |field: &str| format!("/blank/other_rules/{number}/{field}");
            vec![
                Run::said(place("name"), rule.name),
                Run::rounded(place("developed_length_mm"), rule.developed_length_mm, 2),
                Run::rounded(place("difference_mm"), rule.difference_mm, 2),
                Run::said(place("source"), rule.source),
            ]
        })
        .collect();
    body.table(
        "The same length by every rule, mm",
        &["rule", "length", "difference", "source"],
        &rows,
    );
    let rows: Vec<Vec<Run>> = blank
        .holes
        .iter()
        .enumerate()
        .map(|(number, hole)| {
            let place = |field: &str| format!("/blank/holes/{number}/{field}");
            let [along, across] = hole.centre_mm;
            vec![
                Run::said(place("name"), &hole.name),
                Run::rounded(place("centre_mm/0"), along, 2),
                Run::rounded(place("centre_mm/1"), across, 2),
                hole.diameter_mm.map_or_else(
                    || Run::words("not round on the blank"),
                    |mm| Run::number(place("diameter_mm"), mm, &plain(mm)),
                ),
            ]
        })
        .collect();
    body.table(
        "Holes on the blank, mm",
        &["name", "along", "across", "diameter"],
        &rows,
    );
    Section {
        id: "blank",
        heading: "Blank and bends",
        body,
    }
}
