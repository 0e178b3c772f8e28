//! What comes out of the vise, where it was calculated.

use super::places::{PRESS, entry};
use super::{
    Block, Cell, Column, Digits, Document, Item, Line, Media, Medium, Table, between, sentences,
};
use crate::forming::pressing::{NoPressing, Pressing, Sensitivity};
use crate::job::Job;
use crate::part::Part;
use crate::words;

fn said(field: &str, words: impl Into<String>) -> Line {
    Line::said(format!("{PRESS}/{field}"), words)
}

/// What is known of a pressing, or why there is none to speak of.
pub fn of_job(job: &Job) -> Document {
    let mut document = Document::default();
    match &job.pressing {
        Some(pressing) => {
            document.join(press(&job.part, pressing));
        }
        None if job.part.steps.is_empty() => {}
        None => {
            if let Some(reason) = &job.no_pressing {
                document.join(not_pressed(reason));
            }
            document.text(
                Media::ALL,
                "No pressing was calculated: the dies follow published springback factors, bend by bend. A sheet does \
                 not quite fill a printed die, so expect the first one rounder and flatter than drawn.",
            );
        }
    }
    document
}

/// What is known of a pressing, and of what would change it where that was asked.
pub fn press(part: &Part, pressing: &Pressing) -> Document {
    let mut document = came_out(pressing);
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
        document.push(Media::DETAIL, Block::Picture { name, caption });
    }
    document
        .list(Media::ALL, limits(pressing))
        .list(Media::ALL, fragile(pressing))
        .list(Media::ALL, as_they_come(pressing))
        .table(Media::ALL, angles(pressing))
        .table(Media::ALL, radii(pressing))
        .table(Media::ALL, rises(pressing))
        .table(Media::USUAL, flats(pressing))
        .text(Media::USUAL, words::press::BOWS)
        .push(
            Media::ALL,
            Block::Terms(vec![
                (
                    "Sheet",
                    said("stretch_text", words::press::stretch(part, pressing)),
                ),
                (
                    "Force",
                    said("force_text", words::press::force(part, pressing)),
                ),
                ("Noses", said("noses_text", words::press::noses(pressing))),
                (
                    "Life",
                    said("strength/die_life", &pressing.strength.die_life),
                ),
            ]),
        )
        .table(Media::USUAL, changes(&pressing.sensitivities))
        .push(
            Media::USUAL,
            Block::Terms(vec![
                (
                    "Handbook",
                    said("handbook_text", words::press::handbook_force(part)),
                ),
                ("Model", model(pressing)),
            ]),
        )
        .care(
            Media::USUAL,
            sentences(&format!("{PRESS}/cautions"), &[words::press::CAUTION]),
        );
    document
}

/// Why there is no pressing, and the ways out.
pub fn not_pressed(reason: &NoPressing) -> Document {
    let mut document = Document::default();
    document.list(
        Media::ALL,
        [Item {
            head: "",
            line: Line::words("No pressing: ")
                .then_said(format!("{PRESS}/reason"), reason.sentence()),
            ways_out: sentences(&format!("{PRESS}/ways_out"), reason.ways_out()),
        }],
    );
    document
}

/// Does the plate come out as drawn? For those who ask about something else too.
pub fn came_out(pressing: &Pressing) -> Document {
    let mut document = Document::default();
    for line in outcome(pressing) {
        document.text(Media::ALL, line);
    }
    if words::press::is_estimate(pressing) {
        document.text(Media::ALL, said("estimate_text", words::press::QUICK_ERROR));
    }
    document
}

/// Whether it comes out as drawn, and how far it is off.
pub(super) fn outcome(pressing: &Pressing) -> [Line; 3] {
    [
        said("answer_text", words::press::comes_out(pressing)),
        said("range_text", words::press::range(pressing)),
        said("worst_text", words::press::worst(pressing)),
    ]
}

/// The same, with what became of each flat.
pub fn came_out_flats(pressing: &Pressing) -> Document {
    let mut document = came_out(pressing);
    document.table(Media::ALL, flats(pressing));
    document
}

/// What keeps it from the drawing, with ways out.
fn limits(pressing: &Pressing) -> Vec<Item> {
    let limits = pressing.limits.iter().enumerate();
    limits
        .map(|(number, limit)| {
            helped(
                ("limits", number),
                "",
                ("reason", &limit.reason),
                &limit.help,
            )
        })
        .collect()
}

/// Walls that forgive little.
fn fragile(pressing: &Pressing) -> Vec<Item> {
    let walls = pressing.fragile_walls.iter().enumerate();
    walls
        .map(|(number, wall)| {
            helped(
                ("fragile_walls", number),
                "fragile",
                ("text", &wall.text),
                &wall.help,
            )
        })
        .collect()
}

/// An entry of a list of the result, its field that is said, and what helps.
fn helped(
    (list, number): (&str, usize),
    head: &'static str,
    (field, text): (&str, &str),
    help: &[String],
) -> Item {
    let at = entry(&format!("{PRESS}/{list}"), number);
    Item {
        head,
        line: Line::said(format!("{at}/{field}"), text),
        ways_out: sentences(&format!("{at}/help"), help),
    }
}

fn which(which: usize) -> Cell {
    Cell::words(if which == 0 { "first" } else { "second" })
}

/// Inside radii that nobody asked to keep.
fn as_they_come(pressing: &Pressing) -> Vec<Item> {
    let radii = pressing.radii_as_they_come.iter().enumerate();
    radii
        .map(|(number, radius)| Item {
            head: "as they come",
            line: Line::said(
                entry(&format!("{PRESS}/radii_as_they_come"), number),
                radius,
            ),
            ways_out: Vec::new(),
        })
        .collect()
}

fn angles(pressing: &Pressing) -> Table {
    let rows = pressing.bends.iter().enumerate().map(|(number, bend)| {
        let at = entry(&format!("{PRESS}/bends"), number);
        let place = |field: &str| format!("{at}/{field}");
        vec![
            between(&at, &bend.between).into(),
            which(bend.which),
            Cell::number(place("target_angle_deg"), bend.target_angle_deg),
            Cell::number(place("die_angle_deg"), bend.die_angle_deg),
            Cell::number(place("closed_angle_deg"), bend.closed_angle_deg),
            Cell::number(place("released_angle_deg"), bend.released_angle_deg),
        ]
    });
    let columns = vec![
        Column::words("step"),
        Column::words("bend"),
        Column::fixed("drawn", "", 2),
        Column::fixed("die", "", 2),
        Column::fixed("closed", "", 2),
        Column::fixed("opened", "", 2),
    ];
    Table::new("Angles of the bends, degrees", columns).with(rows)
}

fn radii(pressing: &Pressing) -> Table {
    let rows = pressing.bends.iter().enumerate().map(|(number, bend)| {
        let at = entry(&format!("{PRESS}/bends"), number);
        let place = |field: &str| format!("{at}/{field}");
        vec![
            between(&at, &bend.between).into(),
            which(bend.which),
            Cell::number(
                place("target_inside_radius_mm"),
                bend.target_inside_radius_mm,
            ),
            Cell::number(place("die_nose_radius_mm"), bend.die_nose_radius_mm),
            Cell::number(
                place("released_inside_radius_mm"),
                bend.released_inside_radius_mm,
            ),
        ]
    });
    let columns = vec![
        Column::words("step"),
        Column::words("bend"),
        Column::numbers("drawn", "", Digits::Plain),
        Column::fixed("nose", "", 2),
        Column::fixed("opened", "", 2),
    ];
    Table::new(
        "Inside radii of the bends, mm (nose: what the sheet is bent around)",
        columns,
    )
    .with(rows)
}

fn rises(pressing: &Pressing) -> Table {
    let rows = pressing.rises.iter().enumerate().map(|(number, rise)| {
        let at = entry(&format!("{PRESS}/rises"), number);
        let place = |field: &str| format!("{at}/{field}");
        vec![
            between(&at, &rise.between).into(),
            Cell::number(place("target_mm"), rise.target_mm),
            Cell::number(place("released_mm"), rise.released_mm),
            // Worked out here, it has no place of its own.
            Cell::number("", rise.released_mm - rise.target_mm),
        ]
    });
    let columns = vec![
        Column::words("step"),
        Column::fixed("drawn", "", 3),
        Column::fixed("opened", "", 3),
        Column::numbers("off", "", Digits::Signed(3)).on(Media::only(Medium::Terminal)),
    ];
    Table::new("Rises, mm", columns).with(rows)
}

fn flats(pressing: &Pressing) -> Table {
    let rows = pressing.flats.iter().enumerate().map(|(number, flat)| {
        let at = entry(&format!("{PRESS}/flats"), number);
        let place = |field: &str| format!("{at}/{field}");
        vec![
            Cell::said(place("name"), &flat.name),
            Cell::number(place("height_error_mm"), flat.height_error_mm),
            Cell::number(place("slope_deg"), flat.slope_deg),
            Cell::number(place("bow_mm"), flat.bow_mm),
        ]
    });
    let columns = vec![
        Column::words("flat"),
        Column::numbers("height off", "mm", Digits::Signed(3)),
        Column::numbers("slope", "°", Digits::Signed(2)),
        Column::fixed("bow", "mm", 3),
    ];
    Table::new(
        "Flats after letting go, all laid together on the drawn ones",
        columns,
    )
    .with(rows)
}

fn changes(sensitivities: &[Sensitivity]) -> Table {
    let rows = sensitivities.iter().enumerate().map(|(number, one)| {
        let at = entry(&format!("{PRESS}/sensitivities"), number);
        let place = |field: &str| format!("{at}/{field}");
        vec![
            Cell::said(place("change"), &one.change),
            Cell::number(place("angle_deg"), one.angle_deg),
            Cell::number(place("rise_mm"), one.rise_mm),
            Cell::number(place("radius_mm"), one.radius_mm),
            Cell::number(place("force_n_per_mm"), one.force_n_per_mm),
        ]
    });
    let columns = vec![
        Column::words("if"),
        Column::numbers("angle", "°", Digits::Signed(2)),
        Column::numbers("rise", "mm", Digits::Signed(3)),
        Column::numbers("radius", "mm", Digits::Signed(2)),
        Column::numbers("force", "N/mm", Digits::Signed(0)),
    ];
    Table::new(
        "What would change, the dies left as they are (coarse mesh; force for each mm of width)",
        columns,
    )
    .with(rows)
}

/// How it was calculated.
fn model(pressing: &Pressing) -> Line {
    let [quick, full] = pressing.presses;
    let count = |field: &str, count: u32| {
        Line::number(
            format!("{PRESS}/presses/{field}"),
            f64::from(count),
            Digits::Fixed(0),
        )
    };
    said("model", &pressing.model)
        .then("; ")
        .join(count("quick", quick))
        .then(" presses on the coarse mesh, ")
        .join(count("full", full))
        .then(" on the fine one.")
}
