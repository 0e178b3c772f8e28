//! The build sheet: what a maker does, step by step, from buying sheet to the first power-up.
//!
//! It says in order what the analyses found, with what each step expects and when to stop. Words only; the report and
//! the PDF set them. Habits of the trade that no analysis gives are common practice, no source.

mod fit_and_run;
mod make_blank;
mod measure;
mod prepare;
mod press_it;
mod print_dies;

use crate::draw::lettering::part_name;
use crate::job::Job;

pub use crate::result::making::{Block, BuildSheet, BuildStep, Measurement};
pub use measure::measurements;

impl BuildStep {
    fn new(title: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            blocks: Vec::new(),
        }
    }

    fn text(mut self, text: impl Into<String>) -> Self {
        self.blocks.push(Block::Text { text: text.into() });
        self
    }

    fn list(mut self, items: Vec<String>) -> Self {
        if !items.is_empty() {
            self.blocks.push(Block::List { items });
        }
        self
    }

    fn table(mut self, caption: &str, head: &[&str], rows: Vec<Vec<String>>) -> Self {
        if !rows.is_empty() {
            self.blocks.push(Block::Table {
                caption: caption.to_owned(),
                head: head.iter().map(|&word| word.to_owned()).collect(),
                rows,
            });
        }
        self
    }

    fn care(mut self, text: impl Into<String>) -> Self {
        self.blocks.push(Block::Care { text: text.into() });
        self
    }
}

/// Writes the build sheet of a job.
pub fn build_sheet(job: &Job) -> BuildSheet {
    let mut steps = Vec::new();
    steps.extend(prepare::not_yet(job));
    steps.push(prepare::buy(job));
    steps.push(prepare::tools(job));
    steps.extend(print_dies::print_dies(job));
    steps.push(make_blank::cut(job));
    steps.push(make_blank::soften(job));
    steps.extend(press_it::lay_in(job));
    steps.extend(press_it::press(job));
    steps.extend(measure::open_and_measure(job));
    steps.push(fit_and_run::solder(job));
    steps.push(fit_and_run::fit(job));
    steps.push(fit_and_run::power_up(job));
    BuildSheet {
        title: format!("{}: build sheet", part_name(&job.part.name)),
        steps,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Noted;
    use crate::forming::pressing::Pressing;
    use crate::output::pictures::fixtures::check::{parts, pressed_parts};
    use crate::part::Part;
    use crate::part::starter::STARTER;
    use crate::verdict::State;

    fn words(sheet: &BuildSheet) -> String {
        serde_json::to_string(sheet).unwrap()
    }

    fn job_of(part: Part) -> Job {
        Job::run(Noted {
            value: part,
            notes: Vec::new(),
        })
    }

    /// Pressed parts as jobs, their pressings changed.
    fn pressed_jobs(change: impl Fn(&mut Pressing)) -> Vec<(&'static str, Job)> {
        let pressed = pressed_parts().into_iter();
        pressed
            .map(|(name, part, mut pressing)| {
                change(&mut pressing);
                let mut job = job_of(part);
                job.pressing = Some(pressing);
                (name, job)
            })
            .collect()
    }

    #[test]
    fn every_part_has_a_sheet_without_empty_blocks() {
        for (name, part) in parts() {
            let job = job_of(part);
            let sheet = build_sheet(&job);
            for step in &sheet.steps {
                assert!(!step.blocks.is_empty(), "{name}: {}", step.title);
                for block in &step.blocks {
                    match block {
                        Block::Text { text } | Block::Care { text } => {
                            assert!(text.ends_with('.') || text.ends_with(':'), "{name}: {text}");
                        }
                        Block::List { items } => assert!(!items.is_empty()),
                        Block::Table { head, rows, .. } => {
                            assert!(rows.iter().all(|row| row.len() == head.len()));
                        }
                    }
                }
            }
            let words = words(&sheet);
            assert!(
                !words.contains("NaN") && !words.contains("inf "),
                "{name}: {words}"
            );
            let first = match job.verdict().state {
                State::Yes => "What to buy",
                State::YesIf => "Make sure first",
                State::No => "Not yet",
            };
            assert_eq!(sheet.steps[0].title, first, "{name}");
        }
    }

    #[test]
    fn pads_are_counted_and_named() {
        let job = Job::read(STARTER).unwrap();
        let words = words(&build_sheet(&job));
        for component in &job.part.components {
            if matches!(component.treatment, crate::part::Treatment::Pad(_)) {
                assert!(words.contains(&component.name), "{}", component.name);
            }
        }
    }

    #[test]
    fn a_pressing_gives_force_turns_and_three_numbers() {
        for (name, job) in pressed_jobs(|_| ()) {
            let found = measurements(&job);
            assert_eq!(found.len(), 3, "{name}");
            for one in &found {
                assert!(
                    one.from_mm <= one.expected_mm && one.expected_mm <= one.to_mm,
                    "{one:?}"
                );
            }
            let words = words(&build_sheet(&job));
            assert!(words.contains(" N for each mm of width"), "{name}");
            // One way to end the closing, and no other beside it.
            let by_force = job.pressing.is_some_and(|pressing| pressing.force_limited);
            assert_eq!(words.matches("STOP there:").count(), 1, "{name}");
            assert_eq!(words.contains("the handle ends it"), by_force, "{name}");
        }
    }

    /// As the words of the force say it: what leaves less open ends the closing.
    #[test]
    fn a_gauge_ends_the_closing_where_it_leaves_less_open() {
        let gauged = |pressing: &mut Pressing| {
            pressing.range_by_gauge_deg = Some(0.0);
            pressing.force_limited = true;
        };
        for (name, job) in pressed_jobs(gauged) {
            let words = words(&build_sheet(&job));
            assert!(
                words.contains("Let a gauge between the backs end it"),
                "{name}"
            );
            assert!(
                words.contains("by a gauge between them, not by the handle"),
                "{name}"
            );
            assert!(!words.contains("the handle ends it"), "{name}");
        }
    }
}
