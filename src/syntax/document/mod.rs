//! Text of a document to its tree: `grammar/document.pest`, then a walk over the pairs. Takes any text, never
//! fails: what is wrong comes out as problems, what is right as statements.

mod declare;
mod explain;
mod legs;
mod part;
mod rule_words;
mod settle;
mod spec;
mod trade;
mod types;
mod value;
mod verb;
mod winding;

use pest::Parser as _;
use pest::iterators::{Pair, Pairs};

use super::check::check;
use super::conflict::{Mark, unsettled};
use super::tree::{Document, Line, MeterSaid, Said, Statement, Word};
use crate::model::Kind;
use crate::source::{FileId, MOST_PROBLEMS, Problem, ProblemCode, Span, Spanned};
use grammar::{Grammar, Rule};

pub(crate) use legs::{ELECTRODES, electrode_meant, is_electrolytic};
pub use settle::settle;

mod grammar {
    #![allow(
        missing_docs,
        unreachable_pub,
        reason = "made by the parser generator; the grammar has the docs"
    )]

    #[derive(pest_derive::Parser)]
    #[grammar = "grammar/document.pest"]
    pub struct Grammar;
}

/// Text is parsed in stretches of whole lines of at most this many bytes, which bounds the memory for pairs;
/// a line longer than this is refused unread, for no honest statement comes near it.
const STRETCH: usize = 64 * 1024;

/// Reads a document. What can't be read is told in the problems, each with its place; statements on other
/// lines stand in the tree. A statement with a faulty clause stands without that clause.
pub fn parse(file: FileId, text: &str) -> (Document, Vec<Problem>) {
    let mut walk = Walk::new(file);
    let mut lines = Vec::new();
    let mut rest = text.strip_prefix('\u{feff}').unwrap_or(text);
    while !rest.is_empty() {
        let (stretch, after) = rest.split_at(stretch_end(rest));
        walk.base = text.len() - rest.len();
        walk.stretch(stretch, &mut lines);
        rest = after;
    }
    let document = Document { file, lines };
    if walk.unread_lines && !walk.misspelt_header && document.header().is_none() {
        return (document, vec![not_a_document(file)]);
    }
    let mut problems = walk.problems;
    problems.extend(unsettled(&walk.marks));
    problems.extend(check(&document).into_iter().filter(|problem| match problem.code {
        // Lines that can't be read may hold what seems not to be there.
        ProblemCode::NoHeader => !walk.unread_header,
        ProblemCode::EmptyDocument => !walk.unread_lines,
        _ => true,
    }));
    problems.sort_by_key(Problem::span);
    (document, problems)
}

/// A text without a header, of which not every line is a statement: its words are its own business.
fn not_a_document(file: FileId) -> Problem {
    Problem::error(
        ProblemCode::NotADocument,
        Span { file, start: 0, end: 0 },
        "not a document: it has no header",
    )
    .help("a document begins with a header such as `stock \"MODEL\"`")
}

/// Where the first whole lines of `text` end that make up a stretch.
fn stretch_end(text: &str) -> usize {
    let bytes = text.as_bytes();
    if bytes.len() <= STRETCH {
        return bytes.len();
    }
    let from = STRETCH;
    bytes[..from]
        .iter()
        .rposition(|b| *b == b'\n')
        .or_else(|| bytes[from..].iter().position(|b| *b == b'\n').map(|i| i + from))
        .map_or(bytes.len(), |newline| newline + 1)
}

/// The walk over one file's pairs: knows where a stretch begins and gathers the problems.
struct Walk {
    file: FileId,
    base: usize,
    problems: Vec<Problem>,
    /// lines that mark a conflict
    marks: Vec<Mark>,
    /// some line could not be read
    unread_lines: bool,
    /// one of them may be the header
    unread_header: bool,
    /// one of them looks like a header
    misspelt_header: bool,
    /// where the last word ended that meant nothing
    stray_end: u32,
}

impl Walk {
    fn new(file: FileId) -> Walk {
        Walk {
            file,
            base: 0,
            problems: Vec::new(),
            marks: Vec::new(),
            unread_lines: false,
            unread_header: false,
            misspelt_header: false,
            stray_end: 0,
        }
    }

    fn stretch(&mut self, stretch: &str, lines: &mut Vec<Line>) {
        let read = if stretch.len() > STRETCH { None } else { Grammar::parse(Rule::file, stretch).ok() };
        let Some(mut pairs) = read else {
            let span =
                Span { file: self.file, start: self.base as u32, end: (self.base + stretch.len()) as u32 };
            self.unread_lines = true;
            self.unread_header = true;
            let problem = Problem::error(
                ProblemCode::LineTooLong,
                span,
                format!("not a statement: {} bytes", stretch.len()),
            )
            .here("a line this long")
            .help("a statement is one short line; is the file really a text?");
            self.push(problem);
            return;
        };
        for pair in pairs.next().map(Pair::into_inner).into_iter().flatten() {
            // After the last line end there is no further line.
            let nothing = pair.as_str().is_empty() && pair.as_span().end() == stretch.len();
            if pair.as_rule() == Rule::line && !nothing {
                let line = self.line(pair);
                lines.push(line);
            }
        }
    }

    fn line(&mut self, pair: Pair<Rule>) -> Line {
        let mut line = Line { statement: None, comment: None };
        for part in pair.into_inner() {
            match part.as_rule() {
                Rule::statement => line.statement = self.statement(part),
                Rule::comment => line.comment = Some(comment_text(part.as_str())),
                _ => self.unread(&part),
            }
        }
        line
    }

    fn statement(&mut self, pair: Pair<Rule>) -> Option<Statement> {
        let inner = pair.into_inner().next()?;
        let span = self.span(&inner);
        // The verb stands last of what follows the names; other statements begin with their keyword.
        let worded =
            if inner.as_rule() == Rule::named { inner.clone().into_inner().last()? } else { inner.clone() };
        let length = worded.as_str().find([' ', '\t']).unwrap_or(worded.as_str().len()) as u32;
        let start = self.span(&worded).start;
        let word = Span { file: self.file, start, end: start + length };
        self.blank_texts(inner.clone());
        let said = self.said(inner)?;
        self.onto_itself(&said);
        Some(Statement { span, word, said })
    }

    /// A quoted text says something.
    fn blank_texts(&mut self, pair: Pair<Rule>) {
        // A reason is looked at where it is read.
        let pairs: Vec<Pair<Rule>> = pair.into_inner().flatten().collect();
        let reasons =
            pairs.windows(2).filter(|two| two[0].as_rule() == Rule::k_because).map(|two| two[1].as_span());
        let reasons: Vec<_> = reasons.collect();
        let quoted = pairs.iter().filter(|p| p.as_rule() == Rule::string && !reasons.contains(&p.as_span()));
        for text in quoted.filter(|text| text.as_str().trim_matches('"').trim().is_empty()) {
            let problem = Problem::error(ProblemCode::BlankText, self.span(text), "not a text: it is blank")
                .here("nothing in it")
                .help("write what it is to say, or leave it out");
            self.push(problem);
        }
    }

    /// What is joined, moved or exchanged, and with what, are two.
    fn onto_itself(&mut self, said: &Said) {
        let pair = match said {
            Said::Swapped { leg: Some(one), with, .. } | Said::Swapped { part: one, leg: None, with, .. } => {
                Some((one, with))
            }
            Said::Contact { a, b, .. } | Said::Bridged { a, b, .. } => Some((a, b)),
            Said::Joined { leg, to, .. } | Said::Moved { leg, to, .. } => Some((leg, to)),
            Said::Meter(MeterSaid { place, to: Some(to), .. }) => Some((place, to)),
            Said::Part(part) | Said::Added { part, .. } if part.kind.value == Kind::Link => {
                match part.legs.as_slice() {
                    [one, other] => Some((&one.place, &other.place)),
                    _ => None,
                }
            }
            _ => None,
        };
        if let Some((one, other)) = pair.filter(|(one, other)| one.value == other.value) {
            let problem =
                Problem::error(ProblemCode::WithItself, other.span, format!("not two: `{}`", other.value))
                    .here("the same again")
                    .also(one.span, "first here")
                    .help("name another place, leg or part as the second");
            self.push(problem);
        }
    }

    /// What one statement says; `None` where a value is so wrong that nothing can be kept of it.
    fn said(&mut self, pair: Pair<Rule>) -> Option<Said> {
        let rule = pair.as_rule();
        let inner = pair.into_inner();
        match rule {
            Rule::part => self.part(inner).map(Said::Part),
            Rule::named => self.named(inner),
            Rule::header
            | Rule::types_from
            | Rule::net
            | Rule::mains
            | Rule::insulation
            | Rule::made_in
            | Rule::note_line
            | Rule::heater
            | Rule::contact
            | Rule::role
            | Rule::open
            | Rule::window_line
            | Rule::drive => self.declared(rule, inner),
            Rule::winding => self.winding(inner).map(Said::Winding),
            Rule::tube_type | Rule::diode_type | Rule::pins | Rule::type_values | Rule::provenance => {
                self.type_line(rule, inner).map(Said::Type)
            }
            _ => self.worked(rule, inner),
        }
    }

    /// Where a pair stands.
    fn span(&self, pair: &Pair<Rule>) -> Span {
        let span = pair.as_span();
        let at = |offset: usize| (self.base + offset) as u32;
        Span { file: self.file, start: at(span.start()), end: at(span.end()) }
    }

    /// A word with its place; a quoted text without its quotes, its place with them.
    fn word(&self, pair: &Pair<Rule>) -> Word {
        let text = pair.as_str();
        let value = if pair.as_rule() == Rule::string { text.trim_matches('"') } else { text };
        Spanned { value: value.to_owned(), span: self.span(pair) }
    }

    /// All words of a rule among pairs.
    fn words(&self, pairs: Pairs<Rule>, rule: Rule) -> Vec<Word> {
        pairs.filter(|pair| pair.as_rule() == rule).map(|pair| self.word(&pair)).collect()
    }

    /// The last quoted text among pairs: a remark.
    fn note(&self, pairs: &Pairs<Rule>) -> Option<Word> {
        pairs.clone().filter(|pair| pair.as_rule() == Rule::string).last().map(|pair| self.word(&pair))
    }

    /// Takes a problem in, unless there are too many already.
    fn push(&mut self, problem: Problem) {
        if self.problems.len() == MOST_PROBLEMS {
            let end = Problem::error(
                ProblemCode::TooManyProblems,
                problem.span(),
                "not told: what is wrong from here on",
            )
            .here("the next problem")
            .help("is this a document of the kind that its name says?");
            self.problems.push(end);
        } else if !self.is_full() {
            self.problems.push(problem);
        }
    }

    fn is_full(&self) -> bool {
        self.problems.len() > MOST_PROBLEMS
    }

    /// Fills a slot that may be said once.
    fn once<T>(&mut self, slot: &mut Option<Spanned<T>>, new: Spanned<T>, what: &str) {
        match slot {
            Some(old) => self.twice(old.span, new.span, what),
            None => *slot = Some(new),
        }
    }

    /// Notes the place of a word that may be said once.
    fn mark(&mut self, slot: &mut Option<Span>, new: Span, what: &str) {
        match slot {
            Some(old) => self.twice(*old, new, what),
            None => *slot = Some(new),
        }
    }

    fn twice(&mut self, first: Span, second: Span, what: &str) {
        let problem = Problem::error(ProblemCode::SaidTwice, second, format!("said twice: {what}"))
            .here("said again here")
            .also(first, "said first here")
            .help("keep one of the two");
        self.push(problem);
    }
}

/// A comment without its `#`, without one space after it and without spaces at its end.
fn comment_text(text: &str) -> String {
    let text = text.trim_end();
    let text = text.strip_prefix('#').unwrap_or(text);
    text.strip_prefix(' ').unwrap_or(text).to_owned()
}

/// A word with its article.
pub(crate) fn an(word: &str) -> String {
    let article = if word.starts_with(['a', 'e', 'i', 'o', 'u']) || word == "led" { "an" } else { "a" };
    format!("{article} {word}")
}
