//! Documents given as text, for tests: loaded, built, solved.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::Arc;

use asfound::analysis::{Worked, circuits};
use asfound::change::compare;
use asfound::circuit::Circuit;
use asfound::load::{Loaded, load};
use asfound::rules::{Facts, Finding, RuleSet, check};
use asfound::source::{Problem, Severity};

/// Loads the last of several documents; the others lie beside it under their names.
pub(crate) fn loaded(documents: &[(&str, &str)]) -> Loaded {
    let files: BTreeMap<String, String> =
        documents.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect();
    let top = documents.last().expect("at least one document").0;
    load(top, &mut |path| files.get(path).cloned().ok_or_else(|| format!("{path} can't be read: not there")))
        .expect("the top document is there")
}

/// The circuits of a stack of documents without errors, stock spec first.
pub(crate) fn built(documents: &[(&str, &str)]) -> Vec<Circuit> {
    let loaded = loaded(documents);
    match circuits(&loaded) {
        Ok((circuits, _)) => circuits,
        Err(problems) => panic!("{}", told(&loaded, &problems)),
    }
}

/// One stock spec's circuit.
pub(crate) fn stock(text: &str) -> Circuit {
    built(&[("stock.amp", text)]).remove(0)
}

/// The problems of a stack, as `path:line:column code: message` and what is said at each place.
pub(crate) fn problems(documents: &[(&str, &str)]) -> String {
    let loaded = loaded(documents);
    let problems = match circuits(&loaded) {
        Ok((_, notices)) => notices,
        Err(problems) => problems,
    };
    told(&loaded, &problems)
}

fn told(loaded: &Loaded, problems: &[Problem]) -> String {
    let mut text = String::new();
    for problem in problems {
        let severity = if problem.severity == Severity::Error { "error" } else { "notice" };
        let place = loaded.sources.place(problem.span());
        let _ = writeln!(text, "{place} {severity} {}: {}", problem.code.word(), problem.message);
        for (span, words) in &problem.labels[1..] {
            let _ = writeln!(text, "  {} {words}", loaded.sources.place(*span));
        }
        if let Some(help) = &problem.help {
            let _ = writeln!(text, "  help: {help}");
        }
    }
    text
}

/// What the rules find in a circuit that rests on a stock spec, or on none.
pub(crate) fn findings(now: &Arc<Worked>, stock: Option<&Arc<Worked>>, rules: &RuleSet) -> Vec<Finding> {
    let changes = stock.map_or_else(Vec::new, |stock| compare(stock.side(), now.side()).changes);
    let facts = Facts {
        now: now.clone(),
        before: stock.cloned(),
        stock: stock.cloned(),
        differences: changes.clone(),
        changes,
        before_findings: None,
    };
    check(rules, &facts).findings
}
