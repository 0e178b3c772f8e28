//! Blocks, and the document that they make.

use super::line::{Line, Media, Medium, sentences};
use super::table::Table;
use crate::result::making;

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
