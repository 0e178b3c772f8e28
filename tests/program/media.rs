//! Terminal, summary and page tell the same: each cell of each table is read back from where it was set, by its place in
//! `result.json`, and compared with the others and with the document itself.

use coldstep::cli::io::terminal;
use coldstep::document::{
    Block, Document, Line, Medium, Run, SetTable, answer, blank, dies, gaps, heat, press,
};
use coldstep::job::Job;
use coldstep::output::folder::result;
use coldstep::output::report::report;
use coldstep::output::text;
use coldstep::part::starter::STARTER;
use proptest::prelude::*;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// What stands at each place of the document, as it was set.
type Told = BTreeMap<String, BTreeSet<String>>;

/// All topics of a job.
fn topics(job: &Job) -> Vec<Document> {
    let mut topics = vec![
        gaps::gaps(&job.part, &job.fit, job.pressing.as_ref()),
        blank::blank(&job.part, &job.blank),
        dies::dies(job),
        press::of_job(job),
    ];
    topics.extend(job.heat.as_ref().map(|found| heat::heat(found, false)));
    topics
}

fn tables(document: &Document, medium: Medium) -> Vec<SetTable> {
    let blocks = document.shown(medium);
    blocks
        .filter_map(|block| match block {
            Block::Table(table) => Some(table.set(medium)),
            _ => None,
        })
        .collect()
}

/// Takes the values out of a cell as it was set: they stand between the fixed words.
#[track_caller]
fn read(cell: &str, line: &Line, told: &mut Told) {
    let mut rest = cell;
    for (number, run) in line.0.iter().enumerate() {
        match run {
            Run::Words(words) | Run::Bad(words) => {
                let words = words.trim();
                let after = rest.trim_start().strip_prefix(words);
                rest = after.unwrap_or_else(|| panic!("{words:?} is not in {cell:?}"));
            }
            Run::Value { place, .. } => {
                let next = line.0.get(number + 1).map(|run| match run {
                    Run::Words(words) | Run::Bad(words) => words.trim(),
                    Run::Value { .. } => panic!("two values without a word between: {line:?}"),
                });
                let end = next.and_then(|next| rest.find(next)).unwrap_or(rest.len());
                let (shown, after) = rest.split_at(end);
                told.entry(place.clone())
                    .or_default()
                    .insert(shown.trim().to_owned());
                rest = after;
            }
        }
    }
    assert_eq!(rest.trim(), "", "{cell:?}");
}

/// Reads tables from a text; `cells` takes a line apart.
#[track_caller]
fn read_text(
    text: &str,
    tables: &[SetTable],
    cells: impl Fn(&str) -> Vec<String>,
    told: &mut Told,
) {
    let mut lines = text.lines();
    for table in tables {
        let heads: Vec<&str> = table.heads.iter().map(|head| head.words.as_str()).collect();
        lines
            .find(|line| {
                let said: Vec<String> = cells(line);
                said == heads
                    || said
                        == heads
                            .iter()
                            .filter(|head| !head.is_empty())
                            .copied()
                            .collect::<Vec<_>>()
            })
            .unwrap_or_else(|| panic!("no head {heads:?} in {text}"));
        let mut rows = table.rows.iter();
        let mut row = rows.next();
        let mut said: Option<Vec<String>> = None;
        let mut finish = |said: Option<Vec<String>>, row: Option<&Vec<Line>>| {
            let (Some(said), Some(row)) = (said, row) else {
                return;
            };
            assert_eq!(said.len(), row.len(), "{said:?}");
            for (cell, line) in said.iter().zip(row) {
                read(cell, line, told);
            }
        };
        loop {
            let line = lines.next().unwrap_or("");
            if line.contains('┼') {
                continue;
            }
            let found = cells(line);
            // Words of a last column go on in a line of their own.
            let goes_on = !line.contains('│') && line.starts_with("     ") && found.len() == 1;
            if goes_on && let Some(last) = said.as_mut().and_then(|cells| cells.last_mut()) {
                *last = format!("{last} {}", found[0]);
                continue;
            }
            if said.is_some() {
                finish(said.take(), row);
                row = rows.next();
            }
            if row.is_none() {
                break;
            }
            assert!(
                !found.is_empty(),
                "a row is missing below {heads:?} in {text}"
            );
            said = Some(found);
        }
    }
}

/// A line of the terminal: columns with a stroke between.
fn ruled(line: &str) -> Vec<String> {
    line.split('│').map(|cell| cell.trim().to_owned()).collect()
}

/// A line of the summary: columns with two spaces or more between.
fn aligned(line: &str) -> Vec<String> {
    let cells = line.split("  ").map(str::trim);
    cells
        .filter(|cell| !cell.is_empty())
        .map(str::to_owned)
        .collect()
}

fn page(job: &Job) -> Told {
    let bytes = report(job, &[]);
    let options = roxmltree::ParsingOptions {
        allow_dtd: true,
        ..roxmltree::ParsingOptions::default()
    };
    let page = String::from_utf8(bytes).unwrap();
    let page = roxmltree::Document::parse_with_options(&page, options).unwrap();
    let mut told = Told::new();
    for node in page.descendants() {
        if let Some(place) = node.attribute("data-json") {
            let words = node
                .descendants()
                .filter_map(|node| node.is_text().then(|| node.text()).flatten());
            told.entry(place.to_owned())
                .or_default()
                .insert(words.collect());
        }
    }
    told
}

/// A number to the digits that are shown, a sentence letter by letter.
fn shows(shown: &str, value: &Value) -> bool {
    match value {
        Value::String(text) => text.split_whitespace().eq(shown.split_whitespace()),
        Value::Number(number) => {
            let decimals = shown.split_once('.').map_or(0, |(_, rest)| rest.len());
            let half = 0.5 * 10f64.powi(-i32::try_from(decimals).unwrap());
            let read: Result<f64, _> = shown.parse();
            read.is_ok_and(|read| (read - number.as_f64().unwrap()).abs() <= half + 1e-6)
        }
        _ => false,
    }
}

/// Compares the three; gives how many places terminal and summary told.
#[track_caller]
fn compared(job: &Job) -> [usize; 2] {
    let page = page(job);
    let json: Value = serde_json::from_str(&result(job, &[], None).to_json()).unwrap();
    let mut on_terminal = Told::new();
    for topic in topics(job) {
        let set = tables(&topic, Medium::Terminal);
        read_text(&terminal::document(&topic), &set, ruled, &mut on_terminal);
    }
    let summary = answer::below_the_verdict(job);
    let mut in_summary = Told::new();
    let set = tables(&summary, Medium::Summary);
    read_text(&text::summary(&summary), &set, aligned, &mut in_summary);
    for told in [&on_terminal, &in_summary] {
        for (place, shown) in told.iter().filter(|(place, _)| !place.is_empty()) {
            let value = json.pointer(place);
            let value = value.unwrap_or_else(|| panic!("{place} is not in result.json"));
            for shown in shown {
                assert!(shows(shown, value), "{place}: {shown:?} stands for {value}");
                let on_page = page.get(place);
                let on_page = on_page.unwrap_or_else(|| panic!("{place} is not on the page"));
                assert!(
                    on_page.contains(shown),
                    "{place}: {shown:?} and {on_page:?}"
                );
            }
        }
    }
    [on_terminal.len(), in_summary.len()]
}

#[test]
fn examples_are_told_the_same_everywhere() {
    for name in ["single-step", "three-levels", "extension-plate"] {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/examples");
        let source = std::fs::read_to_string(format!("{folder}/{name}.toml")).unwrap();
        let told = compared(&Job::read(&source).unwrap());
        assert!(told[0] > 150 && told[1] > 60, "{name}: {told:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// Whatever the sizes, also where parts do not fit and where a number rounds to nothing.
    #[test]
    fn any_part_is_told_the_same_everywhere(
        height_mm in 0.2..4.0f64,
        underside_mm in 3.2..4.8f64,
        thickness_mm in prop::sample::select(vec![0.5, 0.8, 1.0]),
    ) {
        let source = STARTER
            .replace("height_mm = 1.3", &format!("height_mm = {height_mm:.3}"))
            .replacen("thickness_mm = 1.0", &format!("thickness_mm = {thickness_mm:.1}"), 1)
            .replacen("underside_mm = 3.90", &format!("underside_mm = {underside_mm:.2}"), 1);
        prop_assert_ne!(&source, STARTER);
        // What cannot be drawn at all has nothing to tell.
        if let Ok(job) = Job::read(&source) {
            compared(&job);
        }
    }
}

/// The reading itself refuses what is off.
#[test]
fn a_wrong_cell_is_seen() {
    assert!(shows("+0.02", &Value::from(0.0214)));
    assert!(!shows("0.03", &Value::from(0.0214)));
    let line = Line::said("/a", "86")
        .then(" (")
        .then_said("/b", "82")
        .then(")");
    let mut told = Told::new();
    read("86 (83)", &line, &mut told);
    assert_eq!(told["/b"].first().map(String::as_str), Some("83"));
}
