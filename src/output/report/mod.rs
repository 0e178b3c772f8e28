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
mod section;
mod set;
mod sheet_mesh;
mod steps;
mod temperatures;

pub use html::{Attributes, Html};
pub use section::Section;

use crate::document::answer::{CAUTIONS, remarks};
use crate::document::defaults::defaults;
use crate::document::places::{CARE, NOTE, PART};
use crate::document::{self, Document, Media};
use crate::job::Job;
use crate::result::catalogue::{OutputFile, all_files, purpose};

/// Line after the document type: says whose file it is.
const MARK: &str = "<!-- written by coldstep -->";
const STYLE: &str = include_str!("page.css");
/// The 3D view, bundled: see `src/output/viewer/build.mjs`.
const VIEWER: &str = include_str!("../viewer/viewer.js");
/// Hash of [`VIEWER`]: the page runs this script and no other.
const VIEWER_HASH: &str = include_str!("../viewer/viewer.hash");

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
    html.whole("<!DOCTYPE html>\n")
        .whole(MARK)
        .whole("\n")
        .element("html", &[("lang", "en")], |html| {
            html.element("head", &[], |html| head(job, html));
            html.element("body", &[], |html| {
                body(job, sections, html);
                if has_view {
                    html.element("script", &[], |script| {
                        script.whole(VIEWER);
                    });
                }
            });
        });
    html.into_text()
}

fn head(job: &Job, html: &mut Html) {
    let policy = format!(
        "default-src 'none'; style-src 'unsafe-inline'; script-src '{VIEWER_HASH}'; base-uri 'none'; form-action 'none'"
    );
    let policy = [
        ("http-equiv", "Content-Security-Policy"),
        ("content", policy.as_str()),
    ];
    let viewport = [
        ("name", "viewport"),
        ("content", "width=device-width, initial-scale=1"),
    ];
    html.element("meta", &[("charset", "utf-8")], |_| ())
        .element("meta", &policy, |_| ())
        .element("meta", &viewport, |_| ())
        .words("title", &[], &format!("{}: report", job.part.name))
        .element("style", &[], |style| {
            style.whole(STYLE);
        });
}

fn body(job: &Job, sections: &[Section], html: &mut Html) {
    let skip = [("class", "skip"), ("href", "#answer")];
    html.words("a", &skip, "Go to the answer");
    html.element("header", &[], |header| {
        header.marked("h1", PART, &job.part.name);
        if let Some(note) = &job.part.note {
            header.words("p", &[("class", "note"), ("data-json", NOTE)], note);
        }
    });
    html.element("nav", &[("aria-label", "Contents")], |nav| {
        nav.element("ul", &[], |list| {
            let sections = sections.iter().map(|one| (one.id, one.heading));
            for (id, heading) in std::iter::once(("answer", "Answer")).chain(sections) {
                list.element("li", &[], |point| {
                    point.words("a", &[("href", &format!("#{id}"))], heading);
                });
            }
        });
    });
    html.element("main", &[], |main| {
        main.join(answer::answer(job));
        for section in sections {
            let head_id = format!("{}-head", section.id);
            let named = [("id", section.id), ("aria-labelledby", head_id.as_str())];
            main.element("section", &named, |within| {
                within
                    .words("h2", &[("id", &head_id)], section.heading)
                    .join(section.body.clone());
            });
        }
    });
    html.element("footer", &[], |footer| {
        footer.element("p", &[], |p| {
            p.text("Written by coldstep from the part file alone. Every number here stands in ")
                .words("a", &[("href", "result.json")], "result.json")
                .text(" too.");
        });
    });
}

fn folder(files: &[OutputFile]) -> Section {
    let mut body = Html::default();
    let there = |name: &str| {
        matches!(name, "report.html" | "result.json") || files.iter().any(|file| file.name == name)
    };
    let caption = "What lies beside this page";
    body.element("table", &[], |table| {
        table.words("caption", &[], caption);
        table.element("tbody", &[], |tbody| {
            for (name, _) in all_files().filter(|(name, _)| there(name)) {
                tbody.element("tr", &[], |tr| {
                    tr.element("th", &[("scope", "row")], |th| {
                        th.words("a", &[("href", name)], name);
                    })
                    .words("td", &[], purpose(name));
                });
            }
        });
    });
    Section {
        id: "files",
        heading: "Files in this folder",
        body,
    }
}

fn care(job: &Job) -> Section {
    let mut said = Document::default();
    said.care(Media::ALL, document::sentences(CARE, &CAUTIONS))
        .join(remarks(job));
    if !job.part.defaults.is_empty() {
        said.heading(Media::ALL, "What the part file leaves open");
    }
    said.join(defaults(&job.part.defaults));
    let mut body = Html::default();
    set::set(&said, &[], &mut body);
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
