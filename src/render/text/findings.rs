//! Findings as text: the worst first, with what to do and where it stands.

use anstyle::Style;

use super::head::counted;
use super::page::Page;
use crate::render::text::style::{CAUTION, DANGER, FAINT, GOOD, NOTICE, PLAIN, WARNING};
use crate::rules::{Finding, Level, RuleChange, Verdicts};
use crate::source::Sources;

/// Columns of the level's word.
const LEVEL: usize = 9;

/// Findings, accepted ones apart, counts, and what could not be told.
pub fn findings(page: &mut Page, verdicts: &Verdicts, sources: &Sources) {
    let (open, aside): (Vec<&Finding>, Vec<&Finding>) = verdicts.findings.iter().partition(|f| f.counts());
    let (accepted, known): (Vec<&Finding>, Vec<&Finding>) =
        aside.into_iter().partition(|f| f.accepted.is_some());
    page.heading("Findings");
    if open.is_empty() {
        page.paragraph(2, GOOD, "None.");
    }
    for finding in open {
        one(page, finding, sources);
    }
    if !accepted.is_empty() {
        page.heading("Accepted with a written reason");
        for finding in accepted {
            one(page, finding, sources);
        }
    }
    if !known.is_empty() {
        page.heading("Known, and still there");
        for finding in known {
            in_short(page, finding, FAINT);
        }
    }
    if !verdicts.cleared.is_empty() {
        page.heading("Known, and there no more");
        for gone in &verdicts.cleared {
            page.item(2, "-", GOOD, &format!("{} on {}", gone.rule, gone.subject));
        }
    }
    could_not_tell(page, verdicts);
    changed_rules(page, &verdicts.changed);
}

/// What packs changed of the rules, a line each.
pub fn changed_rules(page: &mut Page, changed: &[RuleChange]) {
    if !changed.is_empty() {
        page.heading("Rules changed");
    }
    for change in changed {
        page.item(2, "-", CAUTION, &change.told());
    }
}

/// A finding without what to do and where.
pub(super) fn in_short(page: &mut Page, finding: &Finding, style: Style) {
    let mark = format!("{:LEVEL$}", finding.level.word());
    page.item(2, &mark, style, &format!("{} · {}", said(finding), finding.rule));
}

/// The message, after the level's word.
fn said(finding: &Finding) -> String {
    let whom = if finding.to_people { "to people: " } else { "" };
    format!("{whom}{}{}", finding.message, all_the_same(finding))
}

/// That a reason was written for a danger to people, which counts all the same.
pub(super) fn all_the_same(finding: &Finding) -> &'static str {
    let reason = finding.accepted.is_some() || finding.known_because.is_some();
    if finding.counts() && reason { "; accepted, and a danger all the same" } else { "" }
}

pub(super) fn one(page: &mut Page, finding: &Finding, sources: &Sources) {
    let mark = format!("{:LEVEL$}", finding.level.word());
    page.item(2, &mark, style(finding.level), &said(finding));
    let hang = 2 + LEVEL + 1;
    if let Some(accepted) = &finding.accepted {
        let where_ = place(accepted.span, sources);
        page.paragraph(hang, PLAIN, &format!("accepted: \"{}\" ({where_})", accepted.because));
    }
    if let Some(because) = finding.known_because.as_ref().filter(|_| finding.counts()) {
        page.paragraph(hang, PLAIN, &format!("accepted: \"{because}\" (the list of known findings)"));
    }
    if let Some(advice) = finding.advice.as_ref().filter(|_| finding.counts()) {
        page.item(hang, "→", GOOD, advice);
    }
    let mut places: Vec<String> = Vec::new();
    for span in &finding.spans {
        let place = place(*span, sources);
        if !places.contains(&place) {
            places.push(place);
        }
    }
    page.paragraph(hang, FAINT, &format!("{} · {}", finding.rule, places.join(", ")));
}

fn place(span: crate::source::Span, sources: &Sources) -> String {
    let source = sources.source(span.file);
    format!("{}:{}", source.path, source.line_column(span.start).0)
}

/// The style of a level.
pub(super) fn style(level: Level) -> Style {
    match level {
        Level::Danger => DANGER,
        Level::Warning => WARNING,
        Level::Caution => CAUTION,
        Level::Notice => NOTICE,
    }
}

/// By rule, and within it by what was missing.
fn could_not_tell(page: &mut Page, verdicts: &Verdicts) {
    if verdicts.could_not_tell.is_empty() {
        return;
    }
    page.heading("Could not tell");
    let mut groups: Vec<(&str, &str, Vec<&str>)> = Vec::new();
    for unknown in &verdicts.could_not_tell {
        match groups
            .iter_mut()
            .find(|(rule, missing, _)| *rule == unknown.rule && *missing == unknown.missing)
        {
            Some((.., subjects)) => subjects.push(&unknown.subject),
            None => groups.push((&unknown.rule, &unknown.missing, vec![&unknown.subject])),
        }
    }
    for (rule, missing, subjects) in groups {
        page.item(2, "-", FAINT, &format!("{rule}: {} ({missing})", subjects.join(", ")));
    }
}

/// `1 danger, 3 warnings. Judged: 4 flagged, 211 passed, 14 could not tell.`
pub fn summary(verdicts: &Verdicts) -> String {
    let total = verdicts.total();
    format!(
        "{}. Judged: {} flagged, {} passed, {} could not tell.",
        counts(verdicts),
        total.flagged,
        total.passed,
        total.could_not_tell
    )
}

/// `1 danger, 3 warnings, 2 accepted`.
pub fn counts(verdicts: &Verdicts) -> String {
    let mut words: Vec<String> = Vec::new();
    for level in Level::ALL {
        let count = verdicts.findings.iter().filter(|f| f.counts() && f.level == level).count();
        if count > 0 {
            words.push(counted(count, level.word()));
        }
    }
    let accepted = verdicts.findings.iter().filter(|f| !f.counts() && f.accepted.is_some()).count();
    if accepted > 0 {
        words.push(format!("{accepted} accepted"));
    }
    let known = verdicts.findings.iter().filter(|f| !f.counts() && f.accepted.is_none()).count();
    if known > 0 {
        words.push(format!("{known} known"));
    }
    if words.is_empty() {
        words.push("no finding".into());
    }
    words.join(", ")
}
