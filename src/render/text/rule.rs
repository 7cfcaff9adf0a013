//! Rules as text: the list, and one explained.

use super::head::counted;
use super::page::Page;
use super::table::{Align, Cell, Table};
use crate::render::text::style::{CAUTION, FAINT, HEAD, PLAIN};
use crate::rules::{Broken, Explained, Heading, Line, Severity};

/// Every rule in one line: name, levels, what it sees.
pub fn list(page: &mut Page, rules: &[Line]) {
    let mut table = Table::new(&[Align::Left; 3]);
    for Line { name, levels, sees } in rules {
        let levels = levels.iter().map(|l| l.words()).collect::<Vec<_>>().join(", ");
        table.row(vec![Cell::new(name, HEAD), Cell::new(&levels, CAUTION), sees.clone().into()]);
    }
    page.table(0, &table);
}

/// One rule with its reason, source and examples.
pub fn rule(page: &mut Page, rule: &Explained) {
    page.heading(&rule.name);
    rule.changed.iter().for_each(|line| page.item(2, "-", CAUTION, line));
    let mut table = Table::new(&[Align::Left; 2]);
    for Heading { heading, before, text } in &rule.headings {
        let word = before.map_or(*heading, |_| "measure");
        let text = before.map_or_else(|| text.clone(), |before| format!("({before}) {text}"));
        table.row(vec![Cell::new(word, FAINT), text.into()]);
    }
    page.table(2, &table);
    page.heading("As written");
    rule.lines.iter().for_each(|line| page.verbatim(2, line));
    for example in &rule.examples {
        page.heading(
            match (example.flags, example.severity.map(Severity::words)) {
                (true, Some(words)) => format!("An example that it flags as {words}"),
                (true, None) => "An example that it flags".into(),
                (false, _) => "An example that it passes".into(),
            }
            .as_str(),
        );
        for (name, text) in &example.documents {
            if example.documents.len() > 1 {
                page.paragraph(2, FAINT, name);
            }
            text.lines().for_each(|line| page.verbatim(2, line));
        }
    }
}

/// How rules agree with their examples.
pub fn proof(page: &mut Page, rules: usize, examples: usize, broken: &[Broken]) {
    for one in broken {
        page.item(0, &format!("{}, example {}:", one.rule, one.example), CAUTION, &one.why);
    }
    let words = match broken.len() {
        0 => "every one agrees".to_owned(),
        some => format!("{some} disagree"),
    };
    page.paragraph(
        0,
        PLAIN,
        &format!("{}, {}: {words}.", counted(rules, "rule"), counted(examples, "example")),
    );
}
