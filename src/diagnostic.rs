//! Findings: severity, place, message, way out. Collected, never thrown one at a time.

use crate::change::Way;
use schemars::JsonSchema;
use serde::Serialize;
use std::fmt;

/// Byte range in the part file.
pub type Span = std::ops::Range<usize>;

/// Where something stands that was not read from a file: a finding placed here has no place.
pub const NOWHERE: Span = usize::MAX..usize::MAX;

/// Stands for what a finding is about until [`Diagnostic::id`] says it.
const NOT_SAID: &str = "not-said";

/// How bad a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The part is refused.
    Error,
    /// The part is taken, but a person should look.
    Warning,
    /// Worth knowing.
    Note,
}

/// One finding about a part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Diagnostic {
    /// What it is about, in a word for programs.
    pub id: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong, in one plain sentence without a full stop.
    pub message: String,
    /// Short words drawn under the excerpt.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// Ways out, each one sentence.
    pub help: Vec<String>,
    /// Changes of the part file that may help; their words stand among the ways out too.
    #[serde(skip)]
    pub ways: Vec<Way>,
    /// Where in the part file; `None` for the file as a whole.
    #[serde(skip)]
    pub span: Option<Span>,
    /// Other places that belong to the finding.
    #[serde(skip)]
    pub related: Vec<(Span, String)>,
}

impl Diagnostic {
    fn new(severity: Severity, message: impl Into<String>) -> Self {
        Self {
            id: NOT_SAID,
            severity,
            message: message.into(),
            label: None,
            help: Vec::new(),
            ways: Vec::new(),
            span: None,
            related: Vec::new(),
        }
    }

    /// A finding that refuses the part.
    pub fn error(message: impl Into<String>) -> Self {
        Self::new(Severity::Error, message)
    }

    /// A finding that a person should look at.
    pub fn warning(message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, message)
    }

    /// A finding worth knowing.
    pub fn note(message: impl Into<String>) -> Self {
        Self::new(Severity::Note, message)
    }

    /// Says what it is about, in a word for programs: `kebab-case`, and never changed.
    #[must_use]
    pub fn id(mut self, id: &'static str) -> Self {
        self.id = id;
        self
    }

    /// Places it in the part file; [`NOWHERE`] leaves it without a place.
    #[must_use]
    pub fn at(mut self, span: &Span) -> Self {
        self.span = (*span != NOWHERE).then(|| span.clone());
        self
    }

    /// The same without a place, for who has no file.
    #[must_use]
    pub fn without_place(mut self) -> Self {
        self.span = None;
        self.related.clear();
        self
    }

    /// Words drawn under the excerpt.
    #[must_use]
    pub fn label(mut self, text: impl Into<String>) -> Self {
        self.label = Some(text.into());
        self
    }

    /// Adds a way out.
    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help.push(text.into());
        self
    }

    /// Adds a way out that is a change of the part file.
    #[must_use]
    pub fn way(mut self, way: Way) -> Self {
        self.help.push(way.words.clone());
        self.ways.push(way);
        self
    }

    /// Adds more or less of the same change: words of the first, the others for where that one does not do.
    #[must_use]
    pub fn ways(mut self, ways: impl IntoIterator<Item = Way>) -> Self {
        let mut ways = ways.into_iter();
        if let Some(first) = ways.next() {
            self = self.way(first);
            self.ways.extend(ways);
        }
        self
    }

    /// Adds another place with its own words, unless it is [`NOWHERE`].
    #[must_use]
    pub fn also(mut self, span: &Span, text: impl Into<String>) -> Self {
        if *span != NOWHERE {
            self.related.push((span.clone(), text.into()));
        }
        self
    }
}

impl fmt::Display for Diagnostic {
    /// Message and ways out on lines of their own; the place is for who has the file.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        for help in &self.help {
            write!(f, "\n  help: {help}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Diagnostic {}

/// Why there is no answer: everything that was found, at least one error among it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Refused(pub Vec<Diagnostic>);

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (number, finding) in self.0.iter().enumerate() {
            if number > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{finding}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Refused {}

impl std::ops::Deref for Refused {
    type Target = [Diagnostic];
    fn deref(&self) -> &[Diagnostic] {
        &self.0
    }
}

impl From<Vec<Diagnostic>> for Refused {
    fn from(findings: Vec<Diagnostic>) -> Self {
        Self(findings)
    }
}

impl From<Diagnostic> for Refused {
    fn from(finding: Diagnostic) -> Self {
        Self(vec![finding])
    }
}

impl FromIterator<Diagnostic> for Refused {
    fn from_iter<I: IntoIterator<Item = Diagnostic>>(findings: I) -> Self {
        Self(findings.into_iter().collect())
    }
}

impl IntoIterator for Refused {
    type Item = Diagnostic;
    type IntoIter = std::vec::IntoIter<Diagnostic>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}

impl<'a> IntoIterator for &'a Refused {
    type Item = &'a Diagnostic;
    type IntoIter = std::slice::Iter<'a, Diagnostic>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}

/// All findings so far.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Findings {
    list: Vec<Diagnostic>,
}

impl Findings {
    /// Adds one.
    pub fn push(&mut self, diagnostic: Diagnostic) {
        self.list.push(diagnostic);
    }

    /// Adds many.
    pub fn extend(&mut self, diagnostics: impl IntoIterator<Item = Diagnostic>) {
        self.list.extend(diagnostics);
    }

    /// Gives each finding more changes that may help.
    pub fn more_ways(&mut self, ways: impl Fn(&Diagnostic) -> Vec<Way>) {
        for finding in &mut self.list {
            let more = ways(finding);
            finding.ways.extend(more);
        }
    }

    /// Takes findings away that another explains; whether an error was among them.
    pub fn replace(&mut self, explained: impl Fn(&Diagnostic) -> bool) -> bool {
        let is_error = |one: &&Diagnostic| one.severity == Severity::Error;
        let refused = self.list.iter().filter(is_error).any(&explained);
        self.list.retain(|one| !explained(one));
        refused
    }

    /// Whether the part must be refused.
    pub fn has_errors(&self) -> bool {
        self.list
            .iter()
            .any(|diagnostic| diagnostic.severity == Severity::Error)
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.list.len()
    }

    /// Nothing found.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// In the order of the file; findings about the whole file come first.
    pub fn into_sorted(mut self) -> Vec<Diagnostic> {
        self.list
            .sort_by_key(|diagnostic| diagnostic.span.as_ref().map_or(0, |span| span.start));
        self.list
    }
}

/// A result that travels with its warnings.
#[derive(Debug, Clone, PartialEq)]
pub struct Noted<T> {
    /// The result.
    pub value: T,
    /// What a person should know about it.
    pub notes: Vec<Diagnostic>,
}
