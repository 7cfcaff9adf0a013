//! A survey as text.

use super::findings::{all_the_same, changed_rules, style};
use super::head::counted;
use super::page::Page;
use super::table::{Align, Cell, Table};
use crate::analysis::{Shared, Surveyed, shared_changes, shared_findings};
use crate::render::text::style::{DANGER, FAINT, HEAD, PLAIN};
use crate::rules::{Finding, Level, RuleChange};

/// Most dangers told one by one.
const MOST_DANGERS: usize = 40;
/// Most documents named in a line of the index.
const MOST_NAMED: usize = 6;

/// One line a document, what could not be worked out, and what several share.
pub fn survey(page: &mut Page, all: &[Surveyed]) {
    let folder = common_folder(all);
    let heading = counted(all.len(), "document");
    page.heading(&if folder.is_empty() { heading } else { format!("{heading} in {folder}") });
    let name = |at: usize| all[at].path.get(folder.len()..).unwrap_or(&all[at].path);
    let right = Align::Right;
    let mut table = Table::new(&[Align::Left, Align::Left, Align::Left, right, right, right, right, right]);
    let mut head = vec![Cell::from(""), Cell::from(""), Cell::from("")];
    head.extend(Level::ALL.map(|level| Cell::new(level.word(), FAINT)));
    head.push(Cell::new("changes", FAINT));
    table.row(head);
    for (at, surveyed) in all.iter().enumerate() {
        let Ok(told) = &surveyed.told else { continue };
        let mut row =
            vec![Cell::new(name(at), HEAD), Cell::from(told.kind), Cell::new(told.stock.clone(), FAINT)];
        for level in Level::ALL {
            let count = told.count(level);
            row.push(if count == 0 { Cell::from("") } else { Cell::new(count.to_string(), style(level)) });
        }
        row.push(Cell::from(if told.changes.is_empty() {
            String::new()
        } else {
            told.changes.len().to_string()
        }));
        table.row(row);
    }
    page.table(2, &table);
    changed_rules(page, &changed(all));
    troubles(page, all);
    dangers(page, all, &name);
    index(page, "Findings that several share", &shared_findings(all), &name);
    index(page, "Changes that several share", &shared_changes(all), &name);
}

/// What packs changed for any of them, each once.
fn changed(all: &[Surveyed]) -> Vec<RuleChange> {
    let mut found: Vec<RuleChange> = Vec::new();
    for change in all.iter().filter_map(|s| s.told.as_ref().ok()).flat_map(|told| &told.verdicts.changed) {
        if !found.contains(change) {
            found.push(change.clone());
        }
    }
    found
}

/// The folder that all lie in, with its slash; empty where there is none, or one document.
fn common_folder(all: &[Surveyed]) -> &str {
    let Some((first, others)) = all.split_first() else { return "" };
    let mut folder = first.path.rfind('/').map_or("", |slash| &first.path[..=slash]);
    while !folder.is_empty() && others.iter().any(|other| !other.path.starts_with(folder)) {
        folder = folder[..folder.len() - 1].rfind('/').map_or("", |slash| &folder[..=slash]);
    }
    folder
}

fn troubles(page: &mut Page, all: &[Surveyed]) {
    let lines = |surveyed: &Surveyed| -> Vec<String> {
        let words: Vec<&str> = match &surveyed.told {
            Ok(told) => told.unsolved.iter().map(|problem| problem.message.as_str()).collect(),
            Err(problems) => problems.iter().map(String::as_str).collect(),
        };
        words.into_iter().map(|words| format!("{}: {words}", surveyed.path)).collect()
    };
    let lines: Vec<String> = all.iter().flat_map(lines).collect();
    if !lines.is_empty() {
        page.heading("Trouble");
        for line in &lines {
            page.item(2, "-", DANGER, line);
        }
    }
}

/// Every danger that counts, by document: what an archive is looked through for first.
fn dangers<'a>(page: &mut Page, all: &'a [Surveyed], name: &dyn Fn(usize) -> &'a str) {
    let of = |(at, surveyed): (usize, &Surveyed)| -> Vec<String> {
        let Ok(told) = &surveyed.told else { return Vec::new() };
        let open = told.verdicts.findings.iter().filter(|f| f.counts() && f.level == Level::Danger);
        let whom = |to_people| if to_people { "to people, " } else { "" };
        let line =
            |f: &Finding| format!("{}: {}{}{}", name(at), whom(f.to_people), f.message, all_the_same(f));
        open.map(line).collect()
    };
    let lines: Vec<String> = all.iter().enumerate().flat_map(of).collect();
    if lines.is_empty() {
        return;
    }
    page.heading("Dangers");
    for line in lines.iter().take(MOST_DANGERS) {
        page.item(2, "-", DANGER, line);
    }
    let more = lines.len().saturating_sub(MOST_DANGERS);
    if more > 0 {
        page.item(2, "-", FAINT, &format!("and {more} more: lint the documents that the table marks"));
    }
}

fn index<'a>(page: &mut Page, heading: &str, shared: &[Shared], name: &dyn Fn(usize) -> &'a str) {
    if shared.is_empty() {
        return;
    }
    page.heading(heading);
    let mut table = Table::new(&[Align::Right, Align::Left, Align::Left, Align::Left]);
    for shared in shared {
        let named = shared.documents.iter().take(MOST_NAMED).map(|at| name(*at));
        let more = shared.documents.len().saturating_sub(MOST_NAMED);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        table.row(vec![
            Cell::from(shared.documents.len().to_string()),
            Cell::new(shared.what.clone(), shared.level.map_or(PLAIN, style)),
            Cell::new(shared.stock.clone(), FAINT),
            Cell::new(format!("{}{more}", named.collect::<Vec<_>>().join(" ")), FAINT),
        ]);
    }
    page.table(2, &table);
}
