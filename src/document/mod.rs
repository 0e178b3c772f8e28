//! What is said about a result, each fact once: documents of blocks that media only set.
//!
//! A document knows the analyses and no medium; a medium knows blocks and no analysis. Where one medium shows less than
//! another, the document says so: every block and every column of a table has the [`Media`] that show it. Values carry
//! their place in `result.json`, so that a test can read each back from wherever it was set.

pub mod answer;
pub mod blank;
pub mod build_sheet;
pub mod defaults;
pub mod dies;
pub mod gaps;
pub mod heat;
pub mod places;
pub mod press;
pub mod table;

pub use table::{Cell, Column, Head, SetTable, Table};

use crate::numbers::Digits;
use crate::result::making;

/// Who reads it, from the shortest telling to the longest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Medium {
    /// The summary of everything.
    Summary,
    /// The terminal, about one topic.
    Terminal,
    /// The report.
    Page,
}

/// The media that show something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Media {
    first: Medium,
    last: Medium,
}

impl Media {
    /// All of them.
    pub const ALL: Self = Self::from(Medium::Summary);
    /// Terminal and page.
    pub const USUAL: Self = Self::from(Medium::Terminal);
    /// The page alone: detail.
    pub const DETAIL: Self = Self::from(Medium::Page);

    /// This one and all longer ones.
    pub const fn from(first: Medium) -> Self {
        Self {
            first,
            last: Medium::Page,
        }
    }

    /// This one alone.
    pub const fn only(medium: Medium) -> Self {
        Self {
            first: medium,
            last: medium,
        }
    }

    /// Whether a medium shows it.
    pub fn shows(self, medium: Medium) -> bool {
        (self.first..=self.last).contains(&medium)
    }
}

/// A piece of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Run {
    /// Fixed words.
    Words(String),
    /// Fixed words that nobody may miss.
    Bad(String),
    /// A value, a name or a sentence that stands in `result.json` at a pointer (RFC 6901).
    Value {
        /// The pointer.
        place: String,
        /// As it is shown.
        shown: String,
    },
}

/// Words and values, one after the other.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Line(pub Vec<Run>);

impl Line {
    /// Fixed words.
    pub fn words(words: impl Into<String>) -> Self {
        Self(vec![Run::Words(words.into())])
    }

    /// A name or a sentence of `result.json`.
    pub fn said(place: impl Into<String>, words: impl Into<String>) -> Self {
        Self(vec![Run::Value {
            place: place.into(),
            shown: words.into(),
        }])
    }

    /// A number of `result.json`. What is no finite number has no place there and is told in words.
    pub fn number(place: impl Into<String>, value: f64, digits: Digits) -> Self {
        digits.write(value).map_or_else(
            || Self::words("not known"),
            |shown| Self::said(place, shown),
        )
    }

    /// Goes on with fixed words.
    #[must_use]
    pub fn then(mut self, words: impl Into<String>) -> Self {
        self.0.push(Run::Words(words.into()));
        self
    }

    /// Goes on with words that nobody may miss.
    #[must_use]
    pub fn then_bad(mut self, words: impl Into<String>) -> Self {
        self.0.push(Run::Bad(words.into()));
        self
    }

    /// Goes on with another line.
    #[must_use]
    pub fn join(mut self, other: Self) -> Self {
        self.0.extend(other.0);
        self
    }

    /// Goes on with a number.
    #[must_use]
    pub fn then_number(self, place: impl Into<String>, value: f64, digits: Digits) -> Self {
        self.join(Self::number(place, value, digits))
    }

    /// Goes on with a name or a sentence.
    #[must_use]
    pub fn then_said(self, place: impl Into<String>, words: impl Into<String>) -> Self {
        self.join(Self::said(place, words))
    }

    /// Its letters.
    pub fn text(&self) -> String {
        self.0
            .iter()
            .map(|run| match run {
                Run::Words(shown) | Run::Bad(shown) | Run::Value { shown, .. } => shown.as_str(),
            })
            .collect()
    }

    /// Whether it says nothing.
    pub fn is_empty(&self) -> bool {
        self.text().is_empty()
    }
}

impl From<&str> for Line {
    fn from(words: &str) -> Self {
        Self::words(words)
    }
}

impl From<String> for Line {
    fn from(words: String) -> Self {
        Self::words(words)
    }
}

/// A point of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// A word that stands before it instead of a mark: "NO".
    pub head: &'static str,
    /// What it says.
    pub line: Line,
    /// Ways out of it.
    pub ways_out: Vec<Line>,
}

impl<T: Into<Line>> From<T> for Item {
    fn from(line: T) -> Self {
        Self {
            head: "",
            line: line.into(),
            ways_out: Vec::new(),
        }
    }
}

/// A block of a document.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// The answer in one sentence, the first of all.
    Headline(Line),
    /// A heading below that of the topic.
    Heading(Line),
    /// A paragraph.
    Text(Line),
    /// Points, one after the other.
    List(Vec<Item>),
    /// Words with what is said about each.
    Terms(Vec<(&'static str, Line)>),
    /// A table.
    Table(Table),
    /// What can hurt somebody or something.
    Care(Vec<Line>),
    /// A picture of the folder, where there is one of that name; only a page shows it.
    Picture {
        /// Its file.
        name: &'static str,
        /// What it shows.
        caption: &'static str,
    },
}

impl Block {
    /// A block of the build sheet, which stands at a place of `result.json` as the text it is.
    pub fn of_sheet(block: &making::Block, at: &str) -> Self {
        match block {
            making::Block::Text { text } => Self::Text(Line::said(format!("{at}/text"), text)),
            making::Block::Care { text } => {
                Self::Care(vec![Line::said(format!("{at}/text"), text)])
            }
            making::Block::List { items } => {
                let items = sentences(&format!("{at}/items"), items);
                Self::List(items.into_iter().map(Into::into).collect())
            }
            making::Block::Table {
                caption,
                head,
                rows,
            } => Self::Table(Table::of_sheet(caption, head, rows, at)),
        }
    }
}

/// A list of sentences that stands in `result.json`, as lines with their places.
pub fn sentences<T: AsRef<str>>(place: &str, list: &[T]) -> Vec<Line> {
    let list = list.iter().enumerate();
    list.map(|(number, words)| Line::said(places::entry(place, number), words.as_ref()))
        .collect()
}

/// `stages to chokes`, from the pair of names in `between` of an entry.
fn between(at: &str, names: &[String; 2]) -> Line {
    let [from, to] = names;
    Line::said(format!("{at}/between/0"), from)
        .then(" to ")
        .then_said(format!("{at}/between/1"), to)
}

/// Three sizes of a box.
fn box_size(place: &str, size_mm: [f64; 3]) -> Line {
    let mut line = Line::default();
    for (number, mm) in size_mm.into_iter().enumerate() {
        if number > 0 {
            line = line.then(" x ");
        }
        line = line.then_number(places::entry(place, number), mm, Digits::Fixed(1));
    }
    line
}

/// Several lines as one paragraph.
pub fn joined(lines: &[Line]) -> Line {
    let mut whole = Line::default();
    for line in lines {
        if !whole.0.is_empty() {
            whole = whole.then(" ");
        }
        whole = whole.join(line.clone());
    }
    whole
}

/// A document: blocks, each with the media that show it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Document {
    blocks: Vec<(Media, Block)>,
}

impl Document {
    /// Adds a block. What has nothing to say is left out.
    pub fn push(&mut self, media: Media, block: Block) -> &mut Self {
        let says_nothing = match &block {
            Block::Headline(line) | Block::Heading(line) | Block::Text(line) => line.is_empty(),
            Block::List(items) => items.is_empty(),
            Block::Terms(terms) => terms.is_empty(),
            Block::Table(table) => table.rows.is_empty(),
            Block::Care(lines) => lines.is_empty(),
            Block::Picture { .. } => false,
        };
        if !says_nothing {
            self.blocks.push((media, block));
        }
        self
    }

    /// A heading.
    pub fn heading(&mut self, media: Media, words: impl Into<Line>) -> &mut Self {
        self.push(media, Block::Heading(words.into()))
    }

    /// A paragraph.
    pub fn text(&mut self, media: Media, line: impl Into<Line>) -> &mut Self {
        self.push(media, Block::Text(line.into()))
    }

    /// Points.
    pub fn list<T: Into<Item>>(
        &mut self,
        media: Media,
        items: impl IntoIterator<Item = T>,
    ) -> &mut Self {
        self.push(
            media,
            Block::List(items.into_iter().map(Into::into).collect()),
        )
    }

    /// A table.
    pub fn table(&mut self, media: Media, table: Table) -> &mut Self {
        self.push(media, Block::Table(table))
    }

    /// Cautions.
    pub fn care<T: Into<Line>>(
        &mut self,
        media: Media,
        lines: impl IntoIterator<Item = T>,
    ) -> &mut Self {
        self.push(
            media,
            Block::Care(lines.into_iter().map(Into::into).collect()),
        )
    }

    /// Goes on with another document.
    pub fn join(&mut self, other: Self) -> &mut Self {
        self.blocks.extend(other.blocks);
        self
    }

    /// The blocks that a medium shows.
    pub fn shown(&self, medium: Medium) -> impl Iterator<Item = &Block> {
        self.blocks
            .iter()
            .filter(move |(media, _)| media.shows(medium))
            .map(|(_, block)| block)
    }
}
