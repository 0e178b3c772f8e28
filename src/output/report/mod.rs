//! The report: one page that holds everything, opens without a network and asks for nothing.
//!
//! A page is a list of [`Section`]s in the order of a maker's questions. Each value and each computed sentence is
//! marked with the place in `result.json` where it stands too (`data-json`, a pointer of RFC 6901). The page is
//! well-formed XML, so that any reader can check it.

mod answer;
mod blank;
mod closing;
mod die_view;
mod gaps;
mod html;
mod pictures;
mod pressing;
mod scene;
mod sheet_mesh;
mod steps;
mod temperatures;

pub use html::{Html, Run};

use crate::document::answer::CAUTIONS;
use crate::draw::svg::escaped;
use crate::job::Job;
use crate::result::catalogue::{OutputFile, all_files, purpose};

/// Line after the document type: says whose file it is.
const MARK: &str = "<!-- written by coldstep -->";
const STYLE: &str = include_str!("page.css");
/// The 3D view, bundled: see `src/output/viewer/build.mjs`.
const VIEWER: &str = include_str!("../viewer/viewer.js");
/// Hash of [`VIEWER`]: the page runs this script and no other.
const VIEWER_HASH: &str = include_str!("../viewer/viewer.hash");

/// One part of the page with its own heading and a place in its list of contents.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// Where links lead.
    pub id: &'static str,
    /// Heading, fixed words.
    pub heading: &'static str,
    /// What stands below it.
    pub body: Html,
}

/// The page. `files` are all others of the folder that are known by now; `result.json` comes after them.
pub fn report(job: &Job, files: &[OutputFile]) -> Vec<u8> {
    page(job, &sections(job, files)).into_bytes()
}

/// Everything below the answer, in the order of the page.
fn sections(job: &Job, files: &[OutputFile]) -> Vec<Section> {
    [
        pictures::plate(files),
        Some(die_view::section(job, files)),
        Some(gaps::section(job)),
        Some(blank::section(job, files)),
        pressing::section(job, files),
        temperatures::section(job, files),
        Some(steps::section(job)),
        Some(folder(files)),
        Some(care(job)),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The page of a part from its sections.
fn page(job: &Job, sections: &[Section]) -> String {
    let has_view = sections
        .iter()
        .any(|section| section.id == die_view::ID && die_view::has_scene(job));
    let mut html = Html::default();
    html.markup("<!DOCTYPE html>\n")
        .markup(MARK)
        .markup("\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n")
        .markup("<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; ")
        .markup(&format!("script-src '{VIEWER_HASH}'; base-uri 'none'; form-action 'none'\"/>\n"))
        .markup("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<title>")
        .text(&format!("{}: report", job.part.name))
        .markup("</title>\n<style>\n")
        .markup(STYLE)
        .markup("</style>\n</head>\n<body>\n<a class=\"skip\" href=\"#answer\">Go to the answer</a>\n<header>\n")
        .marked("h1", "/part/name", &job.part.name)
        .markup("\n");
    if let Some(note) = &job.part.note {
        html.markup(&format!(
            "<p class=\"note\" data-json=\"/part/note\">{}</p>\n",
            escaped(note)
        ));
    }
    html.markup("</header>\n<nav aria-label=\"Contents\">\n<ul>\n");
    html.markup("<li><a href=\"#answer\">Answer</a></li>\n");
    for section in sections {
        html.markup(&format!("<li><a href=\"#{}\">", section.id))
            .text(section.heading)
            .markup("</a></li>\n");
    }
    html.markup("</ul>\n</nav>\n<main>\n")
        .join(&answer::answer(job));
    for section in sections {
        let id = section.id;
        html.markup(&format!(
            "<section id=\"{id}\" aria-labelledby=\"{id}-head\">\n<h2 id=\"{id}-head\">"
        ))
        .text(section.heading)
        .markup("</h2>\n")
        .join(&section.body)
        .markup("</section>\n");
    }
    html.markup("</main>\n<footer>\n<p>Written by coldstep from the part file alone. Every number here stands in ")
        .markup("<a href=\"result.json\">result.json</a> too.</p>\n</footer>\n");
    if has_view {
        html.markup("<script>").markup(VIEWER).markup("</script>\n");
    }
    html.markup("</body>\n</html>\n");
    html.into_text()
}

fn folder(files: &[OutputFile]) -> Section {
    let mut body = Html::default();
    let there = |name: &str| {
        matches!(name, "report.html" | "result.json") || files.iter().any(|file| file.name == name)
    };
    let rows: Vec<Vec<Run>> = all_files()
        .filter(|(name, _)| there(name))
        .map(|(name, _)| {
            let mut link = Html::default();
            link.markup(&format!("<a href=\"{name}\">{name}</a>"));
            vec![Run::from(link), Run::words(purpose(name))]
        })
        .collect();
    body.table(
        "What lies beside this page",
        &["file", "what it is for"],
        &rows,
    );
    Section {
        id: "files",
        heading: "Files in this folder",
        body,
    }
}

fn care(job: &Job) -> Section {
    let mut body = Html::default();
    body.markup("<div class=\"care\">\n")
        .sentences("/care", &CAUTIONS)
        .markup("</div>\n");
    if !job.notes.is_empty() {
        body.heading("Remarks on this part file").markup("<ul>\n");
        for (number, note) in job.notes.iter().enumerate() {
            body.markup("<li>")
                .value(&format!("/findings/{number}/message"), &note.message)
                .sentences(&format!("/findings/{number}/help"), &note.help)
                .markup("</li>\n");
        }
        body.markup("</ul>\n");
    }
    let rows: Vec<Vec<Run>> = job
        .part
        .defaults
        .iter()
        .enumerate()
        .map(|(number, default)| {
            let place = |field: &str| format!("/part/defaults/{number}/{field}");
            vec![
                Run::said(place("key"), &default.key),
                Run::said(place("value"), &default.value),
                Run::said(place("reason"), &default.reason),
            ]
        })
        .collect();
    if !rows.is_empty() {
        body.heading("What the part file leaves open");
        body.table(
            "Taken because the part file does not say",
            &["key", "taken", "why"],
            &rows,
        );
    }
    Section {
        id: "care",
        heading: "Take care",
        body,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::folder::folder;
    use crate::part::starter::STARTER;

    fn page_of(source: &str) -> String {
        let job = Job::read(source).unwrap();
        let files = folder(&job, &crate::output::paper::Printing::default()).unwrap();
        let page = files.into_iter().find(|file| file.name == "report.html");
        String::from_utf8(page.unwrap().bytes).unwrap()
    }

    fn parsed(page: &str) -> roxmltree::Document<'_> {
        let options = roxmltree::ParsingOptions {
            allow_dtd: true,
            ..roxmltree::ParsingOptions::default()
        };
        roxmltree::Document::parse_with_options(page, options).unwrap()
    }

    /// A name may hold anything that a text may; none of it becomes markup.
    #[test]
    fn names_never_become_markup() {
        let hostile = STARTER.replace(
            "name = \"starter plate\"",
            "name = '</title></script><script>alert(\"x\")</script> ]]> & \u{2028} \u{fc}'",
        );
        let page = page_of(&hostile);
        let document = parsed(&page);
        let scripts = document
            .descendants()
            .filter(|node| node.has_tag_name("script"));
        assert_eq!(scripts.count(), 2, "the scene and the viewer, no other");
        assert!(!page.contains("<script>alert"));
        assert!(page.contains("&lt;script&gt;alert"));
    }

    /// The same name twice would make a link or a hatch mean another's.
    #[test]
    fn every_id_is_there_once_and_every_reference_has_its_id() {
        let page = page_of(STARTER);
        let document = parsed(&page);
        let mut ids: Vec<&str> = document
            .descendants()
            .filter_map(|node| node.attribute("id"))
            .collect();
        let count = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), count);
        let mut references = 0;
        for attribute in document
            .descendants()
            .flat_map(|node| node.attributes().collect::<Vec<_>>())
        {
            let name = match attribute.name() {
                "fill" => attribute
                    .value()
                    .strip_prefix("url(#")
                    .and_then(|rest| rest.strip_suffix(')')),
                "href" => attribute.value().strip_prefix('#'),
                "aria-labelledby" | "aria-describedby" | "for" => Some(attribute.value()),
                _ => None,
            };
            if let Some(name) = name {
                assert!(ids.contains(&name), "{name}");
                references += 1;
            }
        }
        assert!(references > 20);
    }

    #[test]
    fn a_refused_part_has_its_reasons_and_no_dies() {
        let tall = STARTER.replace("height_mm = 1.3", "height_mm = 9.0");
        let page = page_of(&tall);
        assert!(page.contains("class=\"answer no\""));
        let no_bed = STARTER.replace("bed_mm = [220.0, 220.0, 250.0]", "bed_mm = [30, 30, 30]");
        assert_ne!(no_bed, STARTER);
        let page = page_of(&no_bed);
        assert!(page.contains("fits the printer in no pose"), "{page}");
        let document = parsed(&page);
        assert!(
            !document
                .descendants()
                .any(|node| node.has_tag_name("script"))
        );
    }

    #[test]
    fn the_page_stays_small_enough_to_send() {
        assert!(page_of(STARTER).len() < 1_200_000);
    }
}
