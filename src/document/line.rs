//! Lines: fixed words, and values with their place in `result.json`; and the media that show them.

use super::digits::Digits;
use super::places::entry;

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

/// A list of sentences that stands in `result.json`, as lines with their places.
pub fn sentences<T: AsRef<str>>(place: &str, list: &[T]) -> Vec<Line> {
    let list = list.iter().enumerate();
    list.map(|(number, words)| Line::said(entry(place, number), words.as_ref()))
        .collect()
}

/// `stages to chokes`, from the pair of names in `between` of an entry.
pub fn between(at: &str, names: &[String; 2]) -> Line {
    let [from, to] = names;
    Line::said(format!("{at}/between/0"), from)
        .then(" to ")
        .then_said(format!("{at}/between/1"), to)
}

/// Three sizes of a box.
pub fn box_size(place: &str, size_mm: [f64; 3]) -> Line {
    let mut line = Line::default();
    for (number, mm) in size_mm.into_iter().enumerate() {
        if number > 0 {
            line = line.then(" x ");
        }
        line = line.then_number(entry(place, number), mm, Digits::Fixed(1));
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
