//! A list of known findings: what an archive had when it took up the tool, so that only what is new counts.
//!
//! ```text
//! asfound known findings 1
//! # a comment
//! sedge-45/job-0412.amp
//!   caution  grid-leak-too-high  V5  # the owner's own resistor
//!   danger   dropper-overloaded  R42  because "told the owner, who waits for the part"
//! ```
//!
//! The first line says what it is. Then a line at the margin names a document, as a path from the list's own folder; an
//! indented one is a finding on it: its level, its rule and what it is about. Lines of the documents may move without
//! touching it. A finding that has become worse is new, and a danger counts whatever the list says unless a reason is
//! written; a danger to people even then. A list that is noted anew keeps its lines, their order and all that a person
//! wrote in it.

use std::fmt::Write as _;

use super::finding::{Finding, Verdicts};
use super::level::Level;
use crate::circuit::natural;
use crate::source::has_words;

/// The first line of every list, by which it is told from any other file.
const FIRST_LINE: &str = "asfound known findings 1";

/// The line under it in a new list.
const ABOUT: &str =
    "# A danger counts all the same until its line ends in because \"…\"; one to people always.";

/// What the first line of lists of earlier versions begins with.
const EARLIER: &str = "# Known findings. A danger counts all the same until its line ends in because \"…\"";

/// One known finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownFinding {
    /// How bad it was.
    pub level: Level,
    /// The rule's name.
    pub rule: String,
    /// What it is about: `V5`.
    pub subject: String,
    /// A written reason.
    pub because: Option<String>,
}

/// Known findings by document, with every line as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Known {
    head: Vec<String>,
    blocks: Vec<Block>,
}

/// A document's line and those under it.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Block {
    document: String,
    lines: Vec<Line>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Line {
    /// A comment, or nothing.
    Words(String),
    /// A finding with the comment after it.
    Finding { written: String, known: KnownFinding, comment: Option<String> },
}

impl Default for Known {
    fn default() -> Known {
        Known { head: [FIRST_LINE, ABOUT].map(str::to_owned).to_vec(), blocks: Vec::new() }
    }
}

impl Known {
    /// Reads a list's text; the error is one sentence with the line's number.
    pub fn parse(text: &str) -> Result<Known, String> {
        let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
        if first.trim_end() != FIRST_LINE && !first.starts_with(EARLIER) {
            return Err(format!(
                "line 1: this is not a list of known findings, whose first line is `{FIRST_LINE}`"
            ));
        }
        let mut known = Known { head: vec![first.trim_end().to_owned()], blocks: Vec::new() };
        for (index, line) in rest.lines().enumerate() {
            known.take(line).map_err(|why| format!("line {}: {why}", index + 2))?;
        }
        Ok(known)
    }

    /// Reads the next line.
    fn take(&mut self, line: &str) -> Result<(), String> {
        let words = line.trim();
        let silent = words.is_empty() || words.starts_with('#');
        if !silent && !line.starts_with([' ', '\t']) {
            self.blocks.push(Block { document: words.to_owned(), lines: Vec::new() });
            return Ok(());
        }
        match self.blocks.last_mut() {
            Some(block) if silent => block.lines.push(Line::Words(line.to_owned())),
            Some(block) => block.lines.push(Line::parse(line)?),
            None if silent => self.head.push(line.to_owned()),
            None => return Err("a finding before any document; a line at the margin names one".to_owned()),
        }
        Ok(())
    }

    /// The text that reads back the same.
    pub fn print(&self) -> String {
        let blocks = self.blocks.iter().flat_map(|block| {
            std::iter::once(block.document.as_str()).chain(block.lines.iter().map(Line::written))
        });
        self.head.iter().map(String::as_str).chain(blocks).flat_map(|line| [line, "\n"]).collect()
    }

    /// Notes what was found on a document. What was known of it goes where its rule judged it and found nothing; what a
    /// person wrote beside it stays. `whole` says that the document was judged in every state it has.
    pub fn note(&mut self, document: &str, verdicts: &Verdicts, whole: bool) {
        let found = worst_of_each(verdicts);
        let of = |block: &Block| block.document == document;
        let old: Vec<Line> = self.blocks.iter().filter(|b| of(b)).flat_map(|b| b.lines.clone()).collect();
        for block in self.blocks.iter_mut().filter(|block| of(block)) {
            let lines = std::mem::take(&mut block.lines).into_iter();
            block.lines = lines.flat_map(|line| line.noted(&found, verdicts, whole)).collect();
        }
        let new = found.into_iter().filter(|new| !old.iter().any(|line| line.tells_of(new)));
        self.add(document, new.map(|new| Line::of(new, None)).collect());
        self.blocks.retain(|block| !of(block) || block.lines.iter().any(|line| !line.is_blank()));
    }

    /// Puts findings after those that a document has, or in a block of their own at the end.
    fn add(&mut self, document: &str, new: Vec<Line>) {
        if let Some(block) = self.blocks.iter_mut().rfind(|block| block.document == document) {
            let last = block.lines.iter().rposition(|line| matches!(line, Line::Finding { .. }));
            let after = last.map_or(0, |last| last + 1);
            block.lines.splice(after..after, new);
        } else if !new.is_empty() {
            match self.blocks.last_mut() {
                Some(block) if block.lines.last().is_some_and(Line::is_blank) => {}
                Some(block) => block.lines.push(Line::Words(String::new())),
                None if self.head.last().is_some_and(|line| line.trim().is_empty()) => {}
                None => self.head.push(String::new()),
            }
            self.blocks.push(Block { document: document.to_owned(), lines: new });
        }
    }

    /// Marks findings on a document that are known, and tells which known ones are cleared.
    pub fn compare(&self, document: &str, verdicts: &mut Verdicts, whole: bool) {
        let blocks = self.blocks.iter().filter(|block| block.document == document);
        let known: Vec<&KnownFinding> =
            blocks.flat_map(|block| &block.lines).filter_map(Line::finding).collect();
        for finding in &mut verdicts.findings {
            let own = known.iter().find(|k| k.is_of(finding) && k.covers(finding));
            finding.known = own.is_some();
            finding.known_because = own.and_then(|k| k.because.clone());
        }
        let gone = |k: &&KnownFinding| whole && k.is_gone(verdicts);
        verdicts.cleared = known.into_iter().filter(gone).cloned().collect();
    }
}

/// What was found and not accepted, each rule and subject once, at its worst.
fn worst_of_each(verdicts: &Verdicts) -> Vec<KnownFinding> {
    let open = verdicts.findings.iter().filter(|finding| finding.accepted.is_none());
    let mut found: Vec<KnownFinding> = open.map(KnownFinding::new).collect();
    found.sort_by(|a, b| {
        a.rule.cmp(&b.rule).then_with(|| natural(&a.subject, &b.subject)).then(b.level.cmp(&a.level))
    });
    found.dedup_by(|a, b| (&a.rule, &a.subject) == (&b.rule, &b.subject));
    found
}

impl Line {
    fn parse(line: &str) -> Result<Line, String> {
        let (words, comment) = parted(line);
        let known = KnownFinding::parse(words.trim())?;
        Ok(Line::Finding { written: line.to_owned(), known, comment: comment.map(str::to_owned) })
    }

    /// A finding as the tool writes it.
    fn of(known: KnownFinding, comment: Option<String>) -> Line {
        let KnownFinding { level, rule, subject, because } = &known;
        let mut written = format!("  {:7}  {rule}  {subject}", level.word());
        if let Some(because) = because {
            let _ = write!(written, "  because \"{because}\"");
        }
        if let Some(comment) = &comment {
            let _ = write!(written, "  {comment}");
        }
        Line::Finding { written, known, comment }
    }

    fn written(&self) -> &str {
        match self {
            Line::Words(written) | Line::Finding { written, .. } => written,
        }
    }

    fn finding(&self) -> Option<&KnownFinding> {
        match self {
            Line::Words(_) => None,
            Line::Finding { known, .. } => Some(known),
        }
    }

    fn is_blank(&self) -> bool {
        self.written().trim().is_empty()
    }

    fn tells_of(&self, other: &KnownFinding) -> bool {
        self.finding().is_some_and(|known| known.is_same(other))
    }

    /// What becomes of it once a document is noted: a reason that was written for less than what is found now, or for
    /// what is found no more, stays as a comment.
    fn noted(self, found: &[KnownFinding], verdicts: &Verdicts, whole: bool) -> Vec<Line> {
        let Line::Finding { written, known, comment } = &self else { return vec![self] };
        let by_hand = known.because.is_some() || comment.is_some();
        let aside = |word: &str| by_hand.then(|| Line::Words(format!("  # {word}: {}", written.trim())));
        match found.iter().find(|found| found.is_same(known)) {
            Some(now) if now.level < known.level => {
                let better = KnownFinding { level: now.level, ..known.clone() };
                vec![Line::of(better, comment.clone())]
            }
            Some(now) if now.level > known.level => {
                aside("was").into_iter().chain([Line::of(now.clone(), None)]).collect()
            }
            None if whole && known.is_gone(verdicts) => aside("no more").into_iter().collect(),
            _ => vec![self],
        }
    }
}

/// A line's words, and the comment after them; a `#` inside a reason begins none.
fn parted(line: &str) -> (&str, Option<&str>) {
    let mut quoted = false;
    let mut before = ' ';
    for (at, c) in line.char_indices() {
        quoted ^= c == '"';
        if c == '#' && !quoted && before.is_whitespace() {
            return (&line[..at], Some(line[at..].trim_end()));
        }
        before = c;
    }
    (line, None)
}

impl KnownFinding {
    fn new(finding: &Finding) -> KnownFinding {
        let (rule, subject) = (finding.rule.clone(), subject_of(finding));
        KnownFinding { level: finding.level, rule, subject, because: None }
    }

    fn parse(line: &str) -> Result<KnownFinding, String> {
        const SHAPE: &str = "write `caution grid-leak-too-high V5`, at will with `because \"…\"` after it";
        let (words, because) = match line.split_once(" because ") {
            Some((words, reason)) => {
                let reason = reason.trim().strip_prefix('"').and_then(|r| r.strip_suffix('"'));
                let reason = reason.filter(|r| has_words(r) && !r.contains('"'));
                (words, Some(reason.ok_or("the reason is not in quotes, or says nothing")?.to_owned()))
            }
            None => (line, None),
        };
        let mut words = words.trim().splitn(2, char::is_whitespace);
        let level = words.next().unwrap_or_default();
        let level = Level::of(level).ok_or_else(|| format!("`{level}` is no level; {SHAPE}"))?;
        let mut rest = words.next().unwrap_or_default().trim().splitn(2, char::is_whitespace);
        let (rule, subject) = (rest.next().unwrap_or_default(), rest.next().unwrap_or_default().trim());
        if rule.is_empty() || subject.is_empty() {
            return Err(SHAPE.to_owned());
        }
        Ok(KnownFinding { level, rule: rule.to_owned(), subject: subject.to_owned(), because })
    }

    fn is_of(&self, finding: &Finding) -> bool {
        self.rule == finding.rule && self.subject == subject_of(finding)
    }

    fn is_same(&self, other: &KnownFinding) -> bool {
        self.rule == other.rule && self.subject == other.subject
    }

    /// Whether its rule judged its subject and found nothing: a rule that was not in use, or could not tell, clears none.
    fn is_gone(&self, verdicts: &Verdicts) -> bool {
        let open = |f: &&Finding| f.accepted.is_none() && self.is_of(f);
        let untold = verdicts.could_not_tell.iter().any(|u| u.rule == self.rule && u.subject == self.subject);
        verdicts.tally(&self.rule).is_some() && !untold && !verdicts.findings.iter().any(|f| open(&f))
    }

    /// Whether it sets the finding aside: not one that has become worse, and a danger only with a reason.
    fn covers(&self, finding: &Finding) -> bool {
        finding.level <= self.level && (finding.level < Level::Danger || self.because.is_some())
    }
}

/// What a finding is about, as a list can hold it: a `#` after a space would begin a comment.
fn subject_of(finding: &Finding) -> String {
    finding.subject().replace(" #", "#")
}
