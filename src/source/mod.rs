//! Texts by path, and places in them. Comes first in the flow; knows nothing of their meaning.

mod code;

pub use code::ProblemCode;

use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

/// Longer words are no slips of a pen; comparing them takes the square of their length.
const LONGEST_NAME: usize = 64;

/// Which of the loaded texts; an index into [`Sources`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct FileId(pub u32);

/// A stretch of one text, in bytes; `start <= end`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Span {
    /// The text.
    pub file: FileId,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// The stretch from the start of `self` to the end of `other`, both in one text.
    #[must_use]
    pub fn to(self, other: Span) -> Span {
        Span { file: self.file, start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// The same stretch of a text that has so many bytes more before it.
    #[must_use]
    pub fn moved(self, by: u32) -> Span {
        Span { start: self.start + by, end: self.end + by, ..self }
    }

    /// Its bytes in the text.
    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }
}

impl fmt::Debug for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}..{}", self.file.0, self.start, self.end)
    }
}

/// A value with the stretch of text that said it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Spanned<T> {
    /// What was said.
    pub value: T,
    /// Where.
    pub span: Span,
}

/// One text with its path as the user named it, and the starts of its lines.
#[derive(Debug, Clone)]
pub struct Source {
    /// Path as shown to the user.
    pub path: String,
    /// The whole text.
    pub text: String,
    line_starts: Vec<u32>,
}

impl Source {
    /// Indexes the lines of `text`.
    pub fn new(path: impl Into<String>, text: impl Into<String>) -> Source {
        let text = text.into();
        let line_starts = std::iter::once(0)
            .chain(text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i as u32 + 1))
            .collect();
        Source { path: path.into(), text, line_starts }
    }

    /// Line and column of a byte offset, both from 1; the column counts characters.
    pub fn line_column(&self, offset: u32) -> (usize, usize) {
        let line = self.line_starts.partition_point(|s| *s <= offset) - 1;
        let start = self.line_starts[line] as usize;
        let end = (offset as usize).min(self.text.len());
        (line + 1, self.text.get(start..end).map_or(1, |t| t.chars().count() + 1))
    }

    /// Byte offset where a line (from 0) starts; the end of the text past the last line.
    pub fn line_start(&self, line: usize) -> usize {
        self.line_starts.get(line).map_or(self.text.len(), |s| *s as usize)
    }
}

/// Every text of one run, found by [`FileId`]; a copy shares them.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    all: Vec<Arc<Source>>,
}

impl Sources {
    /// Takes a text in and gives its id.
    pub fn add(&mut self, source: Source) -> FileId {
        self.all.push(Arc::new(source));
        FileId(self.all.len() as u32 - 1)
    }

    /// The text of an id that this value gave out.
    pub fn source(&self, file: FileId) -> &Source {
        &self.all[file.0 as usize]
    }

    /// The words that a span covers.
    pub fn text(&self, span: Span) -> &str {
        self.source(span.file).text.get(span.start as usize..span.end as usize).unwrap_or("")
    }

    /// The whole line where a span starts.
    pub fn line_of(&self, span: Span) -> String {
        let source = self.source(span.file);
        let (line, _) = source.line_column(span.start);
        source.text.lines().nth(line - 1).unwrap_or_default().to_owned()
    }

    /// `path:line:column` of the start of a span.
    pub fn place(&self, span: Span) -> String {
        let source = self.source(span.file);
        let (line, column) = source.line_column(span.start);
        format!("{}:{line}:{column}", source.path)
    }

    /// All texts in the order they came.
    pub fn iter(&self) -> impl Iterator<Item = &Source> {
        self.all.iter().map(Arc::as_ref)
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.all.is_empty()
    }
}

/// Whether a written reason says anything at all.
pub fn has_words(reason: &str) -> bool {
    reason.chars().any(char::is_alphanumeric)
}

/// After so many problems of a document no more are told.
pub const MOST_PROBLEMS: usize = 500;

/// How bad a [`Problem`] is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The document can't be used.
    Error,
    /// The document can be used; something in it should be looked at.
    Notice,
}

/// A fault in a document or rule file: what, where (possibly in several texts), and the cure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// A stable name of the kind of fault, in words joined by hyphens: `unknown-place`.
    pub code: ProblemCode,
    /// How bad.
    pub severity: Severity,
    /// One sentence.
    pub message: String,
    /// Places with a few words each; the first is the place of the fault.
    pub labels: Vec<(Span, String)>,
    /// What to do about it.
    pub help: Option<String>,
}

impl Problem {
    /// An error at a place.
    pub fn error(code: ProblemCode, span: Span, message: impl Into<String>) -> Problem {
        let message = message.into();
        Problem { code, severity: Severity::Error, message, labels: vec![(span, String::new())], help: None }
    }

    /// A notice at a place.
    pub fn notice(code: ProblemCode, span: Span, message: impl Into<String>) -> Problem {
        Problem { severity: Severity::Notice, ..Problem::error(code, span, message) }
    }

    /// Puts words to the first place.
    #[must_use]
    pub fn here(mut self, words: impl Into<String>) -> Problem {
        self.labels[0].1 = words.into();
        self
    }

    /// Adds a further place.
    #[must_use]
    pub fn also(mut self, span: Span, words: impl Into<String>) -> Problem {
        self.labels.push((span, words.into()));
        self
    }

    /// Says the cure.
    #[must_use]
    pub fn help(mut self, words: impl Into<String>) -> Problem {
        self.help = Some(words.into());
        self
    }

    /// Where the fault is.
    pub fn span(&self) -> Span {
        self.labels[0].0
    }
}

/// Whether any of the problems is an error.
pub fn has_errors(problems: &[Problem]) -> bool {
    problems.iter().any(|p| p.severity == Severity::Error)
}

/// The nearest of `names` to `word`, if near enough to be a slip of the pen.
pub fn nearest<'a>(word: &str, names: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let length = word.chars().count();
    if length > LONGEST_NAME {
        return None;
    }
    let folded = word.to_lowercase();
    names
        .into_iter()
        .filter_map(|name| {
            let other = name.chars().count();
            let slips = 1 + other.max(length) / 4;
            // Each letter too many or too few is a slip; most names need not be looked at any closer.
            (other.abs_diff(length) <= slips).then_some((slips, name))
        })
        .map(|(slips, name)| (strsim::damerau_levenshtein(&folded, &name.to_lowercase()), slips, name))
        .filter(|(distance, slips, _)| distance <= slips)
        .min_by_key(|(distance, _, name)| (*distance, *name))
        .map(|(.., name)| name)
}
