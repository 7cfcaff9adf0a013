//! Two records of one job put together: by what each statement is about, not by lines.
//!
//! What only one of the two changed is taken from it; what both say alike is said once; where they say different things of
//! one part or place, that is a conflict, told with both.

use std::collections::{BTreeMap, BTreeSet};

use crate::syntax::print::statement as printed;
use crate::syntax::tree::{Document, Said, Statement};

/// What the two differ over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    /// The part, place or matter.
    pub about: String,
    /// What the first says of it; nothing where it has no word.
    pub ours: Vec<String>,
    /// What the second says.
    pub theirs: Vec<String>,
}

/// The two put together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merged {
    /// The text; in a conflict the first's words stand, the second's in comments under them.
    pub text: String,
    /// Conflicts, in the order of their subjects.
    pub conflicts: Vec<Conflict>,
}

/// Statements by what they are about.
type ByMatter = BTreeMap<String, BTreeSet<String>>;

/// Merges two records that grew out of one.
pub fn merge(base: &Document, ours: &Document, theirs: &Document) -> Merged {
    let [was, first, second] = [base, ours, theirs].map(by_matter);
    let none = BTreeSet::new();
    let of = |said: &ByMatter, about: &String| said.get(about).unwrap_or(&none).clone();
    let matters: BTreeSet<&String> = was.keys().chain(first.keys()).chain(second.keys()).collect();
    let mut result: ByMatter = BTreeMap::new();
    let mut conflicts = Vec::new();
    for about in matters {
        let (a, x, y) = (of(&was, about), of(&first, about), of(&second, about));
        let kept = if x == y || a == y {
            x
        } else if a == x {
            y
        } else {
            let list = |said: &BTreeSet<String>| said.iter().cloned().collect();
            conflicts.push(Conflict { about: about.clone(), ours: list(&x), theirs: list(&y) });
            x
        };
        result.insert(about.clone(), kept);
    }
    Merged { text: text(ours, theirs, &mut result, &conflicts), conflicts }
}

/// The first's lines as far as they still hold, then the second's that are new, in its order, then conflicts.
fn text(ours: &Document, theirs: &Document, left: &mut ByMatter, conflicts: &[Conflict]) -> String {
    let mut lines: Vec<String> = Vec::new();
    for (document, first) in [(ours, true), (theirs, false)] {
        for line in &document.lines {
            let said = line.statement.as_ref().map_or_else(Vec::new, split);
            let mut take = |(about, words): &(String, String)| {
                left.get_mut(about).is_some_and(|open| open.remove(words)).then(|| words.clone())
            };
            let kept: Vec<String> = said.iter().filter_map(&mut take).collect();
            let comment = line.comment.as_ref().map(|words| {
                let close = words.is_empty() || words.starts_with(['#', '!']);
                format!("#{}{words}", if close { "" } else { " " })
            });
            let whole = line.statement.as_ref().filter(|_| kept.len() == said.len() && !kept.is_empty());
            match (whole, comment) {
                (Some(statement), Some(comment)) => lines.push(format!("{}  {comment}", printed(statement))),
                (Some(statement), None) => lines.push(printed(statement)),
                (None, comment) => {
                    let blank = first && said.is_empty() && comment.is_none();
                    lines.extend(kept);
                    lines.extend(comment.filter(|_| first));
                    lines.extend(blank.then(String::new));
                }
            }
        }
    }
    for Conflict { about, ours, theirs } in conflicts {
        let words = |said: &[String]| if said.is_empty() { "nothing".to_owned() } else { said.join("; ") };
        lines.push(format!(
            "# THE TWO DIFFER over {about}: here `{}`, there `{}`",
            words(ours),
            words(theirs)
        ));
    }
    while lines.last().is_some_and(String::is_empty) {
        lines.pop();
    }
    lines.join("\n") + "\n"
}

fn by_matter(document: &Document) -> ByMatter {
    let mut said = ByMatter::new();
    for (about, words) in document.statements().flat_map(split) {
        said.entry(about).or_default().insert(words);
    }
    said
}

/// A statement as one for each thing it names, each with what it is about.
fn split(statement: &Statement) -> Vec<(String, String)> {
    if let Said::Checked(names) = &statement.said {
        return names.iter().map(|n| (n.value.clone(), format!("{} checked", n.value))).collect();
    }
    let words = printed(statement);
    vec![(matter(statement, &words), words)]
}

/// What a statement is about: a part, a place to measure, or itself where it can stand beside any other.
fn matter(statement: &Statement, words: &str) -> String {
    let word = |index: usize| words.split_whitespace().nth(index).unwrap_or_default();
    match (&statement.said, word(0)) {
        (Said::Header(_), _) => "the header".to_owned(),
        (Said::Part(part) | Said::Added { part, .. }, _) => part.name.value.clone(),
        (Said::Mains { .. }, _) => "the mains".to_owned(),
        (Said::Meter(_), _) => format!("the reading of {}", word(1)),
        (Said::Note(_), _) => words.to_owned(),
        (_, "change" | "restore" | "remove" | "set") => word(1).to_owned(),
        (_, "accept") => format!("{} on {}", word(1), word(3)),
        _ => word(0).to_owned(),
    }
}
