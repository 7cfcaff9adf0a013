//! Problems shown in their source, each label under its words.

use std::fmt::{self, Write as _};

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents,
    SourceCode, SourceSpan, SpanContents,
};

use crate::source::{FileId, Problem, ProblemCode, Severity, Source, Sources, Span};

/// Most problems shown in one run; the rest are counted.
pub const MOST_SHOWN: usize = 1000;
/// Longest piece of one line that is shown, and longest underline, in bytes.
const LONGEST_PIECE: usize = 240;

/// Problems as text, in the order given, with colours as escape codes.
pub fn problems(problems: &[Problem], sources: &Sources, width: usize) -> String {
    let mut theme = GraphicalTheme::unicode();
    theme.characters.error = "error:".into();
    theme.characters.warning = "notice:".into();
    theme.characters.advice = "see also:".into();
    let handler = GraphicalReportHandler::new_themed(theme).with_links(false).with_width(width);
    let mut text = String::new();
    for problem in problems.iter().take(MOST_SHOWN) {
        for report in reports(problem, sources) {
            // Writing to a string can't fail, and our source gives every span.
            let _ = handler.render_report(&mut text, &report);
        }
        text.push('\n');
    }
    if let Some(rest @ 1..) = problems.len().checked_sub(MOST_SHOWN) {
        let _ = writeln!(text, "… and {rest} more problems");
    }
    text
}

/// One report for each text that the problem has labels in; the help stands under the last.
fn reports<'a>(problem: &'a Problem, sources: &'a Sources) -> Vec<Report<'a>> {
    let mut reports: Vec<Report> = Vec::new();
    for (span, words) in &labels(problem) {
        let label = LabeledSpan::new(
            (!words.is_empty()).then(|| words.clone()),
            span.start as usize,
            underline(sources.source(span.file), *span),
        );
        match reports.iter_mut().find(|r| r.file == span.file) {
            Some(report) => report.labels.push(label),
            None => reports.push(Report {
                file: span.file,
                shown: Shown(sources.source(span.file)),
                problem,
                further: !reports.is_empty(),
                labels: vec![label],
                help: None,
            }),
        }
    }
    if let Some(last) = reports.last_mut() {
        last.help = problem.help.as_deref();
    }
    reports
}

/// The labels, those at one place as one.
fn labels(problem: &Problem) -> Vec<(Span, String)> {
    let mut labels: Vec<(Span, String)> = Vec::new();
    for (span, words) in &problem.labels {
        match labels.iter_mut().find(|(s, _)| s == span) {
            Some((_, said)) if said.is_empty() => said.clone_from(words),
            Some((_, said)) if !words.is_empty() => *said = format!("{said}; {words}"),
            Some(_) => {}
            None => labels.push((*span, words.clone())),
        }
    }
    labels
}

/// Length of an underline: within its line, and not endless.
fn underline(source: &Source, span: Span) -> usize {
    let rest = source.text.get(span.start as usize..span.end as usize).unwrap_or("");
    let line = rest.lines().next().unwrap_or("");
    floor(line, LONGEST_PIECE / 2)
}

/// The largest character boundary of `text` at or below `at`.
fn floor(text: &str, at: usize) -> usize {
    (0..=at.min(text.len())).rev().find(|i| text.is_char_boundary(*i)).unwrap_or(0)
}

/// A problem's labels in one text.
struct Report<'a> {
    file: FileId,
    shown: Shown<'a>,
    problem: &'a Problem,
    /// Not the text of the fault itself.
    further: bool,
    labels: Vec<LabeledSpan>,
    help: Option<&'a str>,
}

impl Report<'_> {
    /// Whether the text is none that may be shown.
    fn hidden(&self) -> bool {
        self.problem.code == ProblemCode::NotADocument
    }
}

impl fmt::Debug for Report<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.problem.fmt(f)
    }
}

impl fmt::Display for Report<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.further, self.hidden()) {
            (true, _) => f.write_str(&self.shown.0.path),
            (false, true) => write!(f, "{}: {}", self.shown.0.path, self.problem.message),
            (false, false) => f.write_str(&self.problem.message),
        }
    }
}

impl std::error::Error for Report<'_> {}

impl Diagnostic for Report<'_> {
    fn code<'b>(&'b self) -> Option<Box<dyn fmt::Display + 'b>> {
        (!self.further).then(|| Box::new(self.problem.code.word()) as Box<dyn fmt::Display>)
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.problem.severity {
            _ if self.further => miette::Severity::Advice,
            Severity::Error => miette::Severity::Error,
            Severity::Notice => miette::Severity::Warning,
        })
    }

    fn help<'b>(&'b self) -> Option<Box<dyn fmt::Display + 'b>> {
        self.help.map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        (!self.hidden()).then_some(&self.shown as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }
}

/// A text found by its line index; long lines are cut to the piece around the span.
struct Shown<'a>(&'a Source);

impl SourceCode for Shown<'_> {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let source = self.0;
        let (first, column) = source.line_column(span.offset() as u32);
        let (last, _) = source.line_column((span.offset() + span.len().saturating_sub(1)) as u32);
        let from = source.line_start((first - 1).saturating_sub(before));
        let to = source.line_start(last + after);
        let (start, end) = (piece_start(source, from, span.offset()), piece_end(source, span, to));
        let text = source.text.get(start..end).unwrap_or("");
        let (line, _) = source.line_column(start as u32);
        let column = if line == first { column - 1 } else { 0 };
        Ok(Box::new(MietteSpanContents::new_named(
            source.path.clone(),
            text.as_bytes(),
            (start, text.len()).into(),
            line - 1,
            column,
            text.lines().count().max(1),
        )))
    }
}

fn piece_start(source: &Source, from: usize, at: usize) -> usize {
    if at - from <= LONGEST_PIECE * 2 {
        return from;
    }
    let line = source.line_start(source.line_column(at as u32).0 - 1);
    let near = at.saturating_sub(LONGEST_PIECE / 2);
    if near <= line { line } else { floor(&source.text, near) }
}

fn piece_end(source: &Source, span: &SourceSpan, to: usize) -> usize {
    let end = span.offset() + span.len();
    if to.saturating_sub(end) <= LONGEST_PIECE * 2 {
        return to.max(end);
    }
    let line_end = source.text[end..].find('\n').map_or(source.text.len(), |i| end + i);
    floor(&source.text, line_end.min(end + LONGEST_PIECE))
}
