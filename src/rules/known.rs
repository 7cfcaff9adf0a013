//! A file of known findings: what an archive had when it took up the tool, so that only what is new counts.
//!
//! ```text
//! # a comment
//! sedge-45/job-0412.amp
//!   caution  grid-leak-too-high  V5
//!   danger   dropper-overloaded  R42  because "told the owner, who waits for the part"
//! ```
//!
//! A line at the margin names a document, as a path from the file's own folder; an indented one is a finding on it: its
//! level, its rule and what it is about. Lines of the documents may move without touching it. A finding that has become
//! worse is new, and a danger counts whatever the file says unless a reason is written; a danger to people even then.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::finding::{Finding, Level, Verdicts};
use crate::circuit::natural;
use crate::source::has_words;

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

/// Known findings by document.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Known {
    documents: BTreeMap<String, Vec<KnownFinding>>,
}

impl Known {
    /// Reads a file's text; the error is one sentence with the line's number.
    pub fn parse(text: &str) -> Result<Known, String> {
        let mut known = Known::default();
        let mut document: Option<&mut Vec<KnownFinding>> = None;
        for (index, line) in text.lines().enumerate() {
            let wrong = |why: &str| format!("line {}: {why}", index + 1);
            let words = line.trim();
            if words.is_empty() || words.starts_with('#') {
                continue;
            }
            if !line.starts_with([' ', '\t']) {
                document = Some(known.documents.entry(words.to_owned()).or_default());
                continue;
            }
            let finding = KnownFinding::parse(words).map_err(|why| wrong(&why))?;
            let Some(document) = &mut document else {
                return Err(wrong("a finding before any document; a line at the margin names one"));
            };
            document.push(finding);
        }
        Ok(known)
    }

    /// The text that reads back the same.
    pub fn print(&self) -> String {
        let mut text =
            "# Known findings. A danger counts all the same until its line ends in because \"…\"; one to people always.\n"
                .to_owned();
        for (document, findings) in &self.documents {
            // Writing to a text can't fail.
            let _ = writeln!(text, "\n{document}");
            for finding in findings {
                let KnownFinding { level, rule, subject, because } = finding;
                let _ = write!(text, "  {:7}  {rule}  {subject}", level.word());
                if let Some(because) = because {
                    let _ = write!(text, "  because \"{because}\"");
                }
                text.push('\n');
            }
        }
        text
    }

    /// Puts what was found on a document in place of what was known of it; reasons stay with what is still there.
    pub fn note(&mut self, document: &str, verdicts: &Verdicts) {
        let before = self.documents.remove(document).unwrap_or_default();
        let reason =
            |finding: &Finding| before.iter().find(|k| k.is_of(finding)).and_then(|k| k.because.clone());
        let open = verdicts.findings.iter().filter(|finding| finding.accepted.is_none());
        let mut now: Vec<KnownFinding> =
            open.map(|finding| KnownFinding::new(finding, reason(finding))).collect();
        now.sort_by(|a, b| a.rule.cmp(&b.rule).then_with(|| natural(&a.subject, &b.subject)));
        now.dedup_by(|a, b| (&a.rule, &a.subject) == (&b.rule, &b.subject));
        if !now.is_empty() {
            self.documents.insert(document.to_owned(), now);
        }
    }

    /// Marks findings on a document that are known, and tells which known ones are cleared.
    pub fn compare(&self, document: &str, verdicts: &mut Verdicts) {
        let known = self.documents.get(document).map_or(&[][..], Vec::as_slice);
        for finding in &mut verdicts.findings {
            let own = known.iter().find(|k| k.is_of(finding) && k.covers(finding));
            finding.known = own.is_some();
            finding.known_because = own.and_then(|k| k.because.clone());
        }
        let there = |k: &&KnownFinding| !verdicts.findings.iter().any(|f| f.accepted.is_none() && k.is_of(f));
        verdicts.cleared = known.iter().filter(there).cloned().collect();
    }
}

impl KnownFinding {
    fn new(finding: &Finding, because: Option<String>) -> KnownFinding {
        let (rule, subject) = (finding.rule.clone(), finding.subject().to_owned());
        KnownFinding { level: finding.level, rule, subject, because }
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
        self.rule == finding.rule && self.subject == finding.subject()
    }

    /// Whether it sets the finding aside: not one that has become worse, and a danger only with a reason.
    fn covers(&self, finding: &Finding) -> bool {
        finding.level <= self.level && (finding.level < Level::Danger || self.because.is_some())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# ours\njob.amp\n  caution  grid-leak-too-high  V5\n  danger dropper-overloaded R42 because \"told\"\n\
                        \tnotice part-added the whole amplifier\n";

    #[test]
    fn text_comes_back() {
        let known = Known::parse(TEXT).unwrap_or_default();
        assert_eq!(known.documents["job.amp"].len(), 3);
        assert_eq!(known.documents["job.amp"][2].subject, "the whole amplifier");
        assert_eq!(Known::parse(&known.print()), Ok(known));
    }

    #[test]
    fn what_is_wrong_is_told_with_its_line() {
        for (text, words) in [
            ("\n  caution a V5", "line 2: a finding before any document"),
            ("x.amp\n  grave a V5", "line 2: `grave` is no level"),
            ("x.amp\n  caution a", "line 2: write"),
            ("x.amp\n  caution a V5 because nothing", "line 2: the reason is not in quotes"),
        ] {
            let why = Known::parse(text).map_or_else(|why| why, |known| format!("{known:?}"));
            assert!(why.contains(words), "{why}");
        }
    }
}
