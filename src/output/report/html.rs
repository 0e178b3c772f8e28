//! A page as a tree of elements: what is opened is closed and what comes from outside is escaped by construction, so a
//! page is well-formed as XML too. Every value is marked with its place in `result.json`.

use crate::document::{Line, Run};
use crate::draw::xml::{as_it_stands, legal};
use quick_xml::Writer;
use quick_xml::events::{BytesText, Event};

/// Names and values of attributes.
pub type Attributes<'a> = &'a [(&'static str, &'a str)];

/// A run of elements and text.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Html(Vec<Node>);

#[derive(Debug, Clone, PartialEq, Eq)]
enum Node {
    Element {
        tag: &'static str,
        attributes: Vec<(&'static str, String)>,
        within: Html,
    },
    Text(String),
    /// What is XML already: a drawing that coldstep wrote, a style, a script.
    Whole(String),
}

/// Elements that HTML writes without an end tag.
const VOID: [&str; 3] = ["meta", "input", "br"];
/// Elements within a line of text: no line break follows them.
const WITHIN_LINES: [&str; 8] = [
    "a", "span", "strong", "td", "th", "label", "legend", "title",
];

impl Html {
    /// An element and what stands in it.
    pub fn element(
        &mut self,
        tag: &'static str,
        attributes: Attributes<'_>,
        fill: impl FnOnce(&mut Self),
    ) -> &mut Self {
        let mut within = Self::default();
        fill(&mut within);
        let attributes = attributes.iter();
        self.0.push(Node::Element {
            tag,
            attributes: attributes
                .map(|(name, value)| (*name, legal(value)))
                .collect(),
            within,
        });
        self
    }

    /// An element with nothing but words in it.
    pub fn words(
        &mut self,
        tag: &'static str,
        attributes: Attributes<'_>,
        words: &str,
    ) -> &mut Self {
        self.element(tag, attributes, |within| {
            within.text(words);
        })
    }

    /// Words.
    pub fn text(&mut self, text: &str) -> &mut Self {
        self.0.push(Node::Text(legal(text)));
        self
    }

    /// What is XML already and comes from the program alone: a drawing, a style, a script.
    pub fn whole(&mut self, xml: impl Into<String>) -> &mut Self {
        self.0.push(Node::Whole(xml.into()));
        self
    }

    /// An element with a value or a sentence of `result.json`.
    pub fn marked(&mut self, tag: &'static str, place: &str, shown: &str) -> &mut Self {
        self.words(tag, &[("data-json", place)], shown)
    }

    /// An element with words and values; one that is a single value carries its mark itself.
    pub fn line(
        &mut self,
        tag: &'static str,
        attributes: Attributes<'_>,
        line: &Line,
    ) -> &mut Self {
        if let [Run::Value { place, shown }] = line.0.as_slice() {
            let marked = [attributes, &[("data-json", place.as_str())]].concat();
            return self.words(tag, &marked, shown);
        }
        self.element(tag, attributes, |within| {
            within.runs(line);
        })
    }

    /// Words and values.
    pub fn runs(&mut self, line: &Line) -> &mut Self {
        for run in &line.0 {
            match run {
                Run::Words(words) => self.text(words),
                Run::Bad(words) => self.words("span", &[("class", "bad")], words),
                Run::Value { place, shown } => self.marked("span", place, shown),
            };
        }
        self
    }

    /// A part of a page inside another.
    pub fn join(&mut self, other: Self) -> &mut Self {
        self.0.extend(other.0);
        self
    }

    /// Whether nothing stands in it.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The letters.
    pub fn into_text(self) -> String {
        let mut writer = Writer::new(Vec::new());
        // Writing into memory cannot fail.
        let _ = self.write(&mut writer);
        String::from_utf8(writer.into_inner()).unwrap_or_default()
    }

    fn write(&self, writer: &mut Writer<Vec<u8>>) -> quick_xml::Result<()> {
        for node in &self.0 {
            match node {
                Node::Text(text) => writer.write_event(Event::Text(BytesText::new(text)))?,
                Node::Whole(xml) => writer.write_event(as_it_stands(xml))?,
                Node::Element {
                    tag,
                    attributes,
                    within,
                } => {
                    let named = attributes.iter();
                    let named = named.map(|(name, value)| (*name, value.as_str()));
                    let element = writer.create_element(*tag).with_attributes(named);
                    let mut inner = Ok(());
                    if VOID.contains(tag) {
                        element.write_empty()?;
                    } else {
                        element.write_inner_content(|writer| {
                            inner = within.write(writer);
                            Ok(())
                        })?;
                    }
                    inner?;
                    if !WITHIN_LINES.contains(tag) {
                        writer.write_event(as_it_stands("\n"))?;
                    }
                }
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_comes_from_outside_never_becomes_markup() {
        let mut html = Html::default();
        html.element("main", &[("aria-label", "\"><i>")], |main| {
            main.text("<b>&\"'")
                .marked("span", "/a\"b", "</span><script>")
                .line("p", &[], &Line::said("/x", "<s>").then_bad("<u>"));
        });
        let page = html.into_text();
        for tag in ["<b>", "<script>", "<i>", "<u>", "<s>"] {
            assert!(!page.contains(tag), "{tag} in {page}");
        }
        let document = roxmltree::Document::parse(&page).unwrap();
        let marked = document
            .descendants()
            .find(|node| node.attribute("data-json") == Some("/a\"b"));
        assert_eq!(marked.unwrap().text(), Some("</span><script>"));
    }

    #[test]
    fn an_empty_element_has_its_end_tag_where_html_wants_one() {
        let mut html = Html::default();
        html.element("canvas", &[("id", "view")], |_| ()).element(
            "input",
            &[("type", "range")],
            |_| (),
        );
        assert_eq!(
            html.into_text(),
            "<canvas id=\"view\"></canvas>\n<input type=\"range\"/>\n"
        );
    }

    proptest! {
        /// Any letters, as words and as attributes: the page stays XML and says them.
        #[test]
        fn any_text_comes_back(words in "\\PC{0,40}", other in any::<String>()) {
            let mut html = Html::default();
            html.element("p", &[("title", &words)], |p| {
                p.text(&words);
            });
            let mut wild = Html::default();
            wild.words("p", &[("title", &other)], &other);
            let page = html.into_text();
            let document = roxmltree::Document::parse(&page).unwrap();
            let root = document.root_element();
            prop_assert_eq!(root.text().unwrap_or(""), legal(&words));
            prop_assert_eq!(root.attribute("title").unwrap_or(""), legal(&words));
            prop_assert!(roxmltree::Document::parse(&wild.into_text()).is_ok());
        }
    }
}
