//! What the plate buys, and why.

use super::places::{HEAT, entry};
use super::{
    Block, Cell, Column, Digits, Document, Item, Line, Media, Medium, Run, Table, sentences,
};
use crate::diagnostic::Diagnostic;
use crate::heat::{Heat, Improvement, Ladder, PadUse, PartTemperature, Range};
use crate::numbers::count;
use crate::words;

/// Heat in and out that agree so far are one, W.
const SAME_HEAT_W: f64 = 1e-6;
/// Improvements that a summary and a terminal name; the page has them all.
const IMPROVEMENTS: [(Medium, usize); 3] = [
    (Medium::Summary, 3),
    (Medium::Terminal, 8),
    (Medium::Page, usize::MAX),
];

fn said(field: &str, words: impl Into<String>) -> Line {
    Line::said(format!("{HEAT}/{field}"), words)
}

/// What is known of temperatures. `pressed`: with the gaps of the pressed plate.
pub fn heat(heat: &Heat, pressed: bool) -> Document {
    let terminal = Media::only(Medium::Terminal);
    let mut document = Document::default();
    document
        .text(Media::ALL, said("answer_text", words::heat::verdict(heat)))
        .text(
            Media::ALL,
            said("dominates_text", words::heat::dominates(heat)),
        )
        .text(
            Media::ALL,
            said("pad_advice_text", words::heat::pad_advice(heat)),
        );
    for (name, caption) in [
        (
            "heat_parts.svg",
            "How warm each part gets, before and after, and how far that can be trusted.",
        ),
        (
            "heat_map.svg",
            "Temperatures over the plate, from above and along its section.",
        ),
        (
            "heat_ladder.svg",
            "Where the degrees go, from the inside of the part that needs help most to the air.",
        ),
        (
            "heat_pads.svg",
            "What a better pad would bring that part, and where it stops paying.",
        ),
    ] {
        document.push(Media::DETAIL, Block::Picture { name, caption });
    }
    document
        .table(Media::ALL, temperatures(heat))
        .text(Media::ALL, said("ranges_text", words::heat::RANGES))
        .table(Media::USUAL, ways(heat));
    if let Some(focus) = heat.focus() {
        document
            .table(Media::USUAL, ladder(heat.focus, focus))
            .text(terminal, all_together(focus))
            .text(
                terminal,
                words::heat::pads_pressed(focus).unwrap_or_default(),
            );
        for (medium, most) in IMPROVEMENTS {
            document.table(Media::only(medium), improvements(heat, focus, most));
        }
        document.text(Media::USUAL, hardly_anything(heat));
    }
    document
        .table(Media::USUAL, pipes(heat))
        .table(Media::USUAL, pads(heat))
        .list(Media::USUAL, sources(heat))
        .list(Media::USUAL, crossings(heat))
        .heading(Media::USUAL, "Before you believe one explanation, measure:")
        .list(
            Media::USUAL,
            sentences(
                &format!("{HEAT}/tell_apart"),
                &words::heat::tell_apart(heat),
            ),
        )
        .push(
            terminal,
            Block::Terms(vec![("Model", model(heat, pressed).into())]),
        )
        .care(
            Media::ALL,
            sentences(&format!("{HEAT}/cautions"), &words::heat::CAUTIONS),
        );
    document
}

/// Why there are no temperatures where the part file asks for them.
pub fn no_temperatures(reasons: &[Diagnostic]) -> Document {
    let items = reasons.iter().enumerate().map(|(number, reason)| {
        let at = entry(&format!("{HEAT}/reasons"), number);
        Item {
            head: "",
            line: Line::words("No temperatures: ")
                .then_said(format!("{at}/message"), reason.message.as_str()),
            ways_out: sentences(&format!("{at}/help"), &reason.help),
        }
    });
    let mut document = Document::default();
    document.list(Media::ALL, items);
    document
}

/// `86 (82 to 91)`.
fn bracketed(place: &str, range: Option<Range>, digits: Digits) -> Cell {
    let Some(range) = range else {
        return Cell::Absent;
    };
    let end = |word: &str, value: f64| Line::number(format!("{place}/{word}"), value, digits);
    end("middle", range.middle)
        .then(" (")
        .join(end("low", range.low))
        .then(" to ")
        .join(end("high", range.high))
        .then(")")
        .into()
}

/// A limit, and whether something is above it.
fn limit(place: String, limit_c: Option<f64>, above: bool) -> Cell {
    let Some(limit_c) = limit_c else {
        return Cell::Absent;
    };
    let line = Line::number(place, limit_c, Digits::Plain);
    if above {
        line.then_bad(" ABOVE IT").into()
    } else {
        line.into()
    }
}

fn temperatures(heat: &Heat) -> Table {
    let has_old = heat.old_plate.is_some();
    let rows = heat.parts.iter().enumerate().map(|(number, part)| {
        let at = entry(&format!("{HEAT}/parts"), number);
        let place = |field: &str| format!("{at}/{field}");
        let mut row = vec![Cell::said(place("name"), &part.name)];
        if has_old {
            row.push(bracketed(
                &place("old_inside_c"),
                part.old_inside_c,
                Digits::Fixed(0),
            ));
        }
        row.push(bracketed(
            &place("inside_c"),
            Some(part.inside_c),
            Digits::Fixed(0),
        ));
        if has_old {
            row.push(bracketed(
                &place("difference_k"),
                part.difference_k,
                Digits::Signed(1),
            ));
        }
        row.push(limit(place("limit_c"), part.limit_c, part.above_limit));
        row
    });
    // Cells of several numbers bring their digits along.
    let cells = |head: &str, unit: &'static str| Column::numbers(head, unit, Digits::Plain);
    let mut columns = vec![Column::words("name"), cells("new plate", "")];
    if has_old {
        columns.insert(1, cells("old plate", ""));
        columns.push(cells("change", "K"));
    }
    columns.push(cells("limit", ""));
    Table::new("Temperatures inside the parts, °C", columns).with(rows)
}

fn ways(heat: &Heat) -> Table {
    let rows = heat.parts.iter().enumerate().map(|(number, part)| {
        let at = entry(&format!("{HEAT}/parts"), number);
        let place = |field: &str| format!("{at}/{field}");
        vec![
            Cell::said(place("name"), &part.name),
            Cell::number(place("heat_w"), part.heat_w),
            Cell::number(place("into_plate_w"), part.into_plate_w),
            Cell::or_absent(place("top_c"), part.top_c),
        ]
    });
    let columns = vec![
        Column::words("name"),
        Column::numbers("heat", "W", Digits::Plain),
        Column::fixed("into the new plate", "W", 1),
        Column::fixed("top of the part", "°C", 0),
    ];
    Table::new("Where the heat of the parts goes", columns).with(rows)
}

fn ladder(focus: usize, part: &PartTemperature) -> Table {
    let at = entry(&format!("{HEAT}/parts"), focus);
    let caption = Line::words("Where the degrees go, from the inside of ")
        .then_said(format!("{at}/name"), &part.name)
        .then(" to the air, K");
    let mut columns = vec![Column::words(""), Column::fixed("new plate", "", 1)];
    if part.old_ladder.is_some() {
        columns.insert(1, Column::fixed("old plate", "", 1));
    }
    let Some(new) = &part.ladder else {
        return Table::new(caption, columns);
    };
    let rows = new.rungs.iter().enumerate().map(|(number, rung)| {
        let mut row = vec![Cell::words(words::heat::step_words(
            rung.step,
            new.pipes_given,
        ))];
        if let Some(old) = &part.old_ladder {
            let same = old.rungs.iter().position(|old| old.step == rung.step);
            let kelvin = same.and_then(|place| Some((place, old.rungs.get(place)?.kelvin)));
            row.push(kelvin.map_or(Cell::Absent, |(place, kelvin)| {
                Cell::number(format!("{at}/old_ladder/rungs/{place}/kelvin"), kelvin)
            }));
        }
        row.push(Cell::number(
            format!("{at}/ladder/rungs/{number}/kelvin"),
            rung.kelvin,
        ));
        row
    });
    Table::new(caption, columns).with(rows)
}

fn all_together(part: &PartTemperature) -> String {
    let sum = |ladder: &Ladder| crate::numbers::tenths(ladder.inside_c - ladder.air_c);
    let Some(new) = &part.ladder else {
        return String::new();
    };
    let old = part.old_ladder.as_ref().map_or_else(String::new, |old| {
        format!(" with the new plate, {} K with the old one", sum(old))
    });
    format!(
        "All together {} K{old}, above air of {} °C.",
        sum(new),
        crate::numbers::whole(new.air_c)
    )
}

fn counting(heat: &Heat) -> impl Iterator<Item = (usize, &Improvement)> {
    let all = heat.improvements.iter().enumerate();
    all.filter(|(_, one)| one.counts())
}

fn improvements(heat: &Heat, focus: &PartTemperature, most: usize) -> Table {
    let rows = counting(heat).take(most).map(|(number, one)| {
        let at = entry(&format!("{HEAT}/improvements"), number);
        vec![
            Cell::said(format!("{at}/what"), &one.what),
            Cell::number(format!("{at}/gain_k"), one.gain_k),
        ]
    });
    let caption = Line::words("What to improve next for ")
        .then_said(format!("{HEAT}/focus"), &focus.name)
        .then(", each for itself, best first");
    let columns = vec![Column::words("what"), Column::fixed("cooler", "K", 1)];
    Table::new(caption, columns).with(rows)
}

fn hardly_anything(heat: &Heat) -> Line {
    let all = heat.improvements.iter().enumerate();
    let mut line = Line::default();
    for (number, one) in all.filter(|(_, one)| !one.counts()) {
        let before = if line.0.is_empty() {
            "Hardly anything: "
        } else {
            "; "
        };
        let at = entry(&format!("{HEAT}/improvements"), number);
        line = line.then(before).then_said(format!("{at}/what"), &one.what);
    }
    if line.0.is_empty() {
        line
    } else {
        line.then(".")
    }
}

fn pipes(heat: &Heat) -> Table {
    let has_old = heat.old_plate.is_some();
    let rows = heat.pipes.iter().enumerate().map(|(number, pipe)| {
        let at = entry(&format!("{HEAT}/heat_pipes"), number);
        let place = |field: &str| format!("{at}/{field}");
        let mut row = vec![Cell::said(place("name"), &pipe.name)];
        if has_old {
            row.push(Cell::or_absent(place("old_vapour_c"), pipe.old_vapour_c));
        }
        row.extend([
            Cell::number(place("vapour_c"), pipe.vapour_c),
            limit(place("limit_c"), pipe.limit_c, pipe.above_limit),
            Cell::number(place("from_plate_w"), pipe.from_plate_w),
            Cell::number(place("seat_mm2"), pipe.seat_mm2),
        ]);
        row
    });
    let mut columns = vec![Column::words("heat pipe")];
    if has_old {
        columns.push(Column::fixed("old plate", "", 1));
        columns.push(Column::fixed("new plate", "", 1));
    } else {
        columns.push(Column::fixed("vapour", "", 1));
    }
    columns.extend([
        Column::numbers("limit", "", Digits::Plain),
        Column::fixed("from the plate", "W", 1),
        Column::fixed("seat", "mm²", 0),
    ]);
    Table::new("Heat pipes: vapour and its limit in °C", columns).with(rows)
}

fn pad_place(number: usize) -> String {
    entry(&format!("{HEAT}/pads"), number)
}

fn pads(heat: &Heat) -> Table {
    let rows = heat.pads.iter().enumerate().map(|(number, pad)| {
        let at = pad_place(number);
        let place = |field: &str| format!("{at}/{field}");
        let about = |field: &str, value: f64, more: &str, plus_minus: f64, digits: Digits| {
            Line::number(place(field), value, digits)
                .then(" ± ")
                .then_number(place(more), plus_minus, digits)
        };
        vec![
            Cell::said(place("name"), &pad.name),
            Cell::number(place("thickness_mm"), pad.thickness_mm),
            Cell::or_absent(place("printed_w_mk"), pad.printed_w_mk),
            about(
                "conductivity_w_mk",
                pad.conductivity_w_mk,
                "conductivity_plus_minus_w_mk",
                pad.conductivity_plus_minus_w_mk,
                Digits::Fixed(1),
            )
            .into(),
            about(
                "contact_mm2k_w",
                pad.contact_mm2k_w,
                "contact_plus_minus_mm2k_w",
                pad.contact_plus_minus_mm2k_w,
                Digits::Fixed(0),
            )
            .into(),
        ]
    });
    let columns = vec![
        Column::words("pad"),
        Column::numbers("thick", "mm", Digits::Plain),
        Column::numbers("printed", "", Digits::Plain),
        Column::numbers("compressed", "", Digits::Plain),
        Column::numbers("contact", "mm²K/W", Digits::Plain),
    ];
    Table::new(
        "Pad values used, conductivity in W/(m K): a compressed pad does not reach its printed one",
        columns,
    )
    .with(rows)
}

/// Where the numbers of the pads come from, the same source once.
fn sources(heat: &Heat) -> Vec<Line> {
    let mut lines: Vec<(Line, &str, usize)> = Vec::new();
    for (number, pad) in heat.pads.iter().enumerate() {
        let name = Line::said(format!("{}/name", pad_place(number)), &pad.name);
        match lines
            .iter_mut()
            .find(|(_, source, _)| *source == pad.source)
        {
            Some((names, ..)) => {
                names.0.push(Run::Words(", ".into()));
                names.0.extend(name.0);
            }
            None => lines.push((name, &pad.source, number)),
        }
    }
    lines
        .into_iter()
        .map(|(names, source, number)| {
            names
                .then(": ")
                .then_said(format!("{}/source", pad_place(number)), source)
        })
        .collect()
}

/// Where one pad overtakes another.
fn crossings(heat: &Heat) -> Vec<Line> {
    let pads = heat.pads.iter().enumerate();
    pads.flat_map(|(number, pad)| crossings_of(number, pad))
        .collect()
}

fn crossings_of(number: usize, pad: &PadUse) -> Vec<Line> {
    let at = pad_place(number);
    let crossings = pad.crossings.iter().enumerate();
    crossings
        .map(|(with, crossing)| {
            let names = Line::said(format!("{at}/name"), &pad.name)
                .then(" and ")
                .then_said(format!("{at}/crossings/{with}/with"), &crossing.with);
            match crossing.thickness_mm {
                Some(mm) => names
                    .then(" have equal resistance at ")
                    .then_number(
                        format!("{at}/crossings/{with}/thickness_mm"),
                        mm,
                        Digits::Fixed(2),
                    )
                    .then(" mm; below that the pad with the lower contact resistance wins."),
                None => names.then(
                    " never have equal resistance: the same one is ahead at every thickness, by less the thinner they are.",
                ),
            }
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
        count(heat.draws)
    )
}

/// Whose gaps heat crosses.
pub const fn gaps_of(pressed: bool) -> &'static str {
    if pressed {
        "pressed plate"
    } else {
        "drawn plate"
    }
}
