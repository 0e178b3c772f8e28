//! The answer: what a person wants to know first, then what to cut, print and press.

use super::places::{CARE, FINDINGS, HEAT, NOTE, VERDICT, entry};
use super::{
    Block, Document, Item, Line, Media, Medium, blank, dies, gaps, heat, joined, press, sentences,
};
use crate::job::Job;
use crate::verdict::Verdict;
use crate::words;

/// Cautions that go with every set of files. Common practice, no source.
pub const CAUTIONS: [&str; 5] = [
    "Cut sheet is sharp: wear gloves and eye protection, deburr every edge, keep chips off the board.",
    "Printed dies can split under load: eye protection, close slowly, keep your face out of line, fingers out of the jaws.",
    "Metal over a bare part shorts it: check every gap on the real board with the power off before it runs.",
    "Sizes are nominal: what measuring, sheet and printing tolerances do to the gaps is not counted yet.",
    "These are estimates, not a safety case: keep to the makers' limits and your local rules, and ask someone licensed where they require it.",
];

/// Reasons told before the rest is only counted; the page has them all.
const REASONS_SHOWN: usize = 12;

/// The verdict in its one sentence.
pub fn headline(verdict: &Verdict) -> Document {
    let mut document = Document::default();
    document.push(
        Media::ALL,
        Block::Headline(Line::said(format!("{VERDICT}/headline"), &verdict.headline)),
    );
    document
}

/// The verdict with its reasons and their ways out.
pub fn verdict(verdict: &Verdict) -> Document {
    let mut document = headline(verdict);
    let reasons: Vec<Item> = reasons(verdict);
    let mut first: Vec<Item> = reasons.iter().take(REASONS_SHOWN).cloned().collect();
    if let Some(rest @ 1..) = reasons.len().checked_sub(REASONS_SHOWN) {
        first.push(format!("and {rest} more, see below.").into());
    }
    document
        .list(Media::only(Medium::Summary), first.clone())
        .list(Media::only(Medium::Terminal), first)
        .list(Media::DETAIL, reasons);
    document
}

fn reasons(verdict: &Verdict) -> Vec<Item> {
    let reasons = verdict.reasons.iter().enumerate();
    reasons
        .map(|(number, reason)| {
            let at = entry(&format!("{VERDICT}/reasons"), number);
            Item {
                head: reason.forces.word(),
                line: Line::said(format!("{at}/text"), &reason.text).then("."),
                ways_out: sentences(&format!("{at}/ways_out"), &reason.ways_out),
            }
        })
        .collect()
}

/// Everything in short: the verdict, then each topic as far as a summary tells it.
pub fn summary(job: &Job) -> Document {
    let mut document = verdict(&job.verdict());
    document.join(below_the_verdict(job));
    document
}

/// The summary without the verdict.
pub fn below_the_verdict(job: &Job) -> Document {
    let mut document = Document::default();
    if let Some(note) = &job.part.note {
        document.text(Media::ALL, Line::said(NOTE, note));
    }
    let gaps = gaps::gaps(&job.part, &job.fit, job.pressing.as_ref());
    let topics = [
        ("CUT", blank::blank(&job.part, &job.blank)),
        ("GAPS", gaps),
        ("DIES", dies::dies(job)),
        ("PRESSING", press::of_job(job)),
        (
            "TEMPERATURES",
            job.heat.as_ref().map_or_else(
                || heat::no_temperatures(&job.no_heat),
                |found| heat::heat(found, job.pressing.is_some()),
            ),
        ),
    ];
    for (head, topic) in topics {
        if topic.shown(Medium::Summary).next().is_some() {
            document.heading(Media::ALL, head).join(topic);
        }
    }
    document.care(Media::ALL, sentences(CARE, &CAUTIONS));
    document
}

/// What to do, a line for each topic: the box at the top of the page.
pub fn in_a_box(job: &Job) -> Document {
    let mut terms = vec![
        (
            "Gaps",
            joined(&[
                gaps::how_many_fit(&job.fit).into(),
                gaps::judged(&job.part, job.pressing.as_ref()),
            ]),
        ),
        ("Cut", blank::cut(&job.part, &job.blank)),
    ];
    if let Ok(tooling) = &job.tooling {
        terms.push(("Print", dies::plastic(job, tooling)));
        terms.push(("Press", dies::press_until(job, tooling)));
    }
    if let Some(pressing) = &job.pressing {
        terms.push(("Comes out", joined(&press::outcome(pressing))));
    }
    if let Some(found) = &job.heat {
        let place = format!("{HEAT}/answer_text");
        terms.push((
            "Temperatures",
            Line::said(place, words::heat::verdict(found)),
        ));
    }
    let mut document = Document::default();
    document.push(Media::ALL, Block::Terms(terms));
    document
}

/// What should be looked at in the part file.
pub fn remarks(job: &Job) -> Document {
    let mut document = Document::default();
    if job.notes.is_empty() {
        return document;
    }
    let notes = job.notes.iter().enumerate().map(|(number, note)| {
        let at = entry(FINDINGS, number);
        Item {
            head: "",
            line: Line::said(format!("{at}/message"), &note.message),
            ways_out: sentences(&format!("{at}/help"), &note.help),
        }
    });
    document
        .heading(Media::ALL, "Remarks on this part file")
        .list(Media::ALL, notes);
    document
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::text::summary as set;
    use crate::part::starter::STARTER;

    #[test]
    fn the_answer_comes_first_and_every_part_is_named() {
        let job = Job::read(STARTER).unwrap();
        let text = set(&summary(&job));
        assert!(text.starts_with("YES, IF "), "{text}");
        for component in &job.fit.components {
            assert!(text.contains(&component.name));
        }
        let squeezed = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        for caution in CAUTIONS {
            assert!(squeezed(&text).contains(&squeezed(caution)));
        }
        let longest = text.lines().skip(1).map(|line| line.chars().count()).max();
        assert!(longest.is_some_and(|longest| longest <= 80), "{text}");
    }

    #[test]
    fn a_no_names_its_reasons() {
        let tall = STARTER.replace("height_mm = 1.3", "height_mm = 9.0");
        let job = Job::read(&tall).unwrap();
        let text = set(&summary(&job));
        assert!(text.starts_with("NO: "), "{text}");
        assert!(text.contains("  NO  C1: "), "{text}");
        assert!(text.contains("help: "), "{text}");
    }
}
