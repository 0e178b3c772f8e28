//! What a verb hands back: an answer, or why there is none.

use super::io::source::Source;
use crate::diagnostic::Diagnostic;

/// A verb with its flags.
pub trait Run {
    /// Whether standard output takes something that is no document and cannot be put into one: a part file, a script.
    fn is_text_only(&self) -> bool {
        false
    }

    /// Does the work. Files may be written, but nothing is printed.
    ///
    /// # Errors
    /// When the part is refused, or a file cannot be read or written.
    fn run(&self) -> Result<Answer, Failure>;
}

impl<R: Run> Run for &R {
    fn is_text_only(&self) -> bool {
        (*self).is_text_only()
    }

    fn run(&self) -> Result<Answer, Failure> {
        (*self).run()
    }
}

/// How a run ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// Done, and all is well.
    Done,
    /// The part is refused, or a check fails.
    Refused,
    /// Usage or file trouble.
    Trouble,
    /// Somebody pressed Ctrl-C.
    Interrupted,
    /// Whoever read the answer went away before its end.
    NobodyListens,
}

impl Exit {
    /// The number the shell sees.
    pub fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::Refused => 1,
            Self::Trouble => 2,
            // What a shell sees of programs that end by SIGINT and by SIGPIPE.
            Self::Interrupted => 130,
            Self::NobodyListens => 141,
        }
    }
}

/// What a verb found out.
#[derive(Debug, Clone)]
pub struct Answer {
    /// For people: the answer in the first lines, then tables. Whole lines.
    pub text: String,
    /// For people who want no more than the verdict, or what stands in its place: one line, or nothing.
    pub brief: String,
    /// For programs: the whole JSON document.
    pub document: String,
    /// Whether every check passed.
    pub good: bool,
    /// What a person should look at.
    pub warnings: Vec<Diagnostic>,
    /// Part file that the warnings point into.
    pub source: Option<Source>,
}

impl Answer {
    /// A text that is all there is to say, however briefly.
    pub fn product(text: impl Into<String>) -> Self {
        let text = text.into();
        Self {
            brief: text.clone(),
            document: text.clone(),
            text,
            good: true,
            warnings: Vec::new(),
            source: None,
        }
    }

    /// How the run ends with it.
    pub fn exit(&self) -> Exit {
        if self.good { Exit::Done } else { Exit::Refused }
    }
}

/// Why there is no answer.
#[derive(Debug, Clone)]
pub enum Failure {
    /// The part file says something that cannot be built.
    Refused {
        /// The file.
        source: Box<Source>,
        /// Everything found in it.
        findings: Vec<Diagnostic>,
    },
    /// Something outside the part: a file that cannot be read, a folder that cannot be written.
    Trouble(Box<Trouble>),
}

impl Failure {
    /// How the run ends with it.
    pub fn exit(&self) -> Exit {
        match self {
            Self::Refused { .. } => Exit::Refused,
            Self::Trouble(_) => Exit::Trouble,
        }
    }
}

impl From<Trouble> for Failure {
    fn from(trouble: Trouble) -> Self {
        Self::Trouble(Box::new(trouble))
    }
}

/// File trouble in plain words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    /// What is wrong, one sentence without a full stop.
    pub message: String,
    /// Ways out, each one sentence.
    pub help: Vec<String>,
    /// File or folder it is about.
    pub file: Option<String>,
    /// Line and column in that file.
    pub place: Option<(usize, usize)>,
}

impl Trouble {
    /// Trouble with a message.
    pub fn new(message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            help: Vec::new(),
            file: None,
            place: None,
        }
    }

    /// Adds a way out.
    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help.push(text.into());
        self
    }

    /// Names the file or folder.
    #[must_use]
    pub fn file(mut self, shown: impl Into<String>) -> Self {
        self.file = Some(shown.into());
        self
    }

    /// Names line and column.
    #[must_use]
    pub fn place(mut self, place: (usize, usize)) -> Self {
        self.place = Some(place);
        self
    }
}
