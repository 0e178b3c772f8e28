//! XML as a tree of elements: what is opened is closed and what comes from outside is escaped by construction.

use quick_xml::Writer;
use quick_xml::events::{BytesText, Event};

/// An element, its attributes in order, and what stands in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Element {
    tag: &'static str,
    attributes: Vec<(&'static str, String)>,
    within: Vec<Within>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Within {
    Element(Element),
    Text(String),
}

impl Element {
    /// An empty element.
    pub fn new(tag: &'static str) -> Self {
        Self {
            tag,
            attributes: Vec::new(),
            within: Vec::new(),
        }
    }

    /// The element with one more attribute.
    pub fn with(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.attributes.push((name, legal(&value.into())));
        self
    }

    /// The element with attributes more, a run of them.
    pub fn with_all<const N: usize>(self, attributes: [(&'static str, String); N]) -> Self {
        let add = |element: Self, (name, value)| element.with(name, value);
        attributes.into_iter().fold(self, add)
    }

    /// The element with another one as the last in it.
    pub fn holding(mut self, inner: Self) -> Self {
        self.within.push(Within::Element(inner));
        self
    }

    /// The element with words as the last in it.
    pub fn saying(mut self, words: &str) -> Self {
        self.within.push(Within::Text(legal(words)));
        self
    }

    /// Whether words stand in it.
    pub fn has_words(&self) -> bool {
        let mut within = self.within.iter();
        within.any(|one| matches!(one, Within::Text(_)))
    }

    /// Whether nothing stands in it.
    pub fn is_empty(&self) -> bool {
        self.within.is_empty()
    }

    /// The letters; elements down to a depth stand on lines of their own.
    pub fn into_text(self, depth: usize) -> String {
        let mut writer = Writer::new(Vec::new());
        // Writing into memory cannot fail.
        let _ = self.write(&mut writer, depth);
        String::from_utf8(writer.into_inner()).unwrap_or_default()
    }

    fn write(&self, writer: &mut Writer<Vec<u8>>, depth: usize) -> quick_xml::Result<()> {
        let attributes = self.attributes.iter();
        let element = writer
            .create_element(self.tag)
            .with_attributes(attributes.map(|(name, value)| (*name, value.as_str())));
        if self.is_empty() {
            element.write_empty()?;
            return Ok(());
        }
        let line = if depth > 0 && !self.has_words() {
            "\n"
        } else {
            ""
        };
        let mut inner = Ok(());
        element.write_inner_content(|writer| {
            inner = self.write_within(writer, line, depth.saturating_sub(1));
            Ok(())
        })?;
        inner
    }

    fn write_within(
        &self,
        writer: &mut Writer<Vec<u8>>,
        line: &str,
        depth: usize,
    ) -> quick_xml::Result<()> {
        writer.write_event(as_it_stands(line))?;
        for one in &self.within {
            match one {
                Within::Element(element) => element.write(writer, depth)?,
                Within::Text(words) => writer.write_event(Event::Text(BytesText::new(words)))?,
            }
            writer.write_event(as_it_stands(line))?;
        }
        Ok(())
    }
}

/// Letters that are XML already.
pub(crate) fn as_it_stands(xml: &str) -> Event<'_> {
    Event::Text(BytesText::from_escaped(xml))
}

/// Text without what XML forbids and what would disturb the letters beside it (control characters, direction overrides);
/// line breaks and tabs as spaces.
pub(crate) fn legal(text: &str) -> String {
    text.chars()
        .filter_map(|letter| match letter {
            '\n' | '\r' | '\t' => Some(' '),
            '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{fffe}' | '\u{ffff}' => None,
            other => (!other.is_control()).then_some(other),
        })
        .collect()
}
