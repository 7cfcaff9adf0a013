//! A review as one page of text.

use super::changes::changes;
use super::effects::effects;
use super::findings::{all_the_same, changed_rules, in_short, one, style};
use super::head::counted;
use super::heads::head_name;
use super::page::Page;
use super::record::{open, open_in_short};
use super::table::{Align, Cell, Table};
use crate::analysis::{Heads, Mark, Matter, Open, Review, WindowRow};
use crate::change::Change;
use crate::render::text::style::{CAUTION, FAINT, GOOD, HEAD, PLAIN};
use crate::rules::{Finding, Level};
use crate::source::Sources;
use crate::units::{Unit, rounded};

/// One screen for approval: what is cleared and by what, what is brought, what stays.
pub fn review_in_short(page: &mut Page, review: &Review) {
    let counts: Vec<String> = review
        .counts
        .iter()
        .filter(|(_, before, after)| before + after > 0)
        .map(|(level, before, after)| format!("{}s {before} → {after}", level.word()))
        .collect();
    page.blank();
    page.paragraph(0, HEAD, &counts.join("    "));
    if !review.cleared.is_empty() {
        page.heading("Clears, and by what");
        by_change(page, &review.cleared_by, &review.cleared, Level::Danger);
    }
    page.heading("Brings");
    if review.brought.is_empty() {
        page.paragraph(2, GOOD, "nothing");
    }
    by_change(page, &review.brought_by, &review.brought, Level::Caution);
    if !review.still.is_empty() {
        page.heading("Stays");
        let (worth, notices): (Vec<&Finding>, Vec<&Finding>) =
            review.still.iter().partition(|finding| finding.level > Level::Notice);
        for finding in worth {
            let whom = if finding.to_people { "to people: " } else { "" };
            let words = format!("{whom}{}{}", finding.message, all_the_same(finding));
            page.item(2, &format!("{:7}", finding.level.word()), style(finding.level), &words);
        }
        if !notices.is_empty() {
            let names: Vec<&str> = notices.iter().map(|finding| finding.subject()).collect();
            page.paragraph(2, PLAIN, &format!("{} of {}", counted(names.len(), "notice"), names.join(" ")));
        }
    }
    if !review.windows.is_empty() {
        windows_in_short(page, &review.windows);
    }
    still_open(page, review);
    changed_rules(page, &review.changed);
    let names: Vec<&str> =
        review.step.comparison.changes.iter().map(|change| change.subject.as_str()).collect();
    page.blank();
    page.paragraph(0, PLAIN, &format!("{}: {}", counted(names.len(), "change"), names.join(" ")));
}

/// What waits for an answer; remarks on what the plan deals with are counted.
fn still_open(page: &mut Page, review: &Review) {
    let dealt_with = |matter: &&Open| {
        let about = matter.about.as_deref().unwrap_or_default();
        let part = about.split('.').next().unwrap_or_default();
        let changed = |change: &Change| change.subject == about || change.subject == part;
        matches!(matter.said, Matter::Words(_)) && review.step.comparison.changes.iter().any(changed)
    };
    let (remarks, rest): (Vec<&Open>, Vec<&Open>) = review.open.iter().partition(dealt_with);
    open_in_short(page, &rest);
    if !remarks.is_empty() {
        let words = format!("{} on what it deals with: --whole", counted(remarks.len(), "remark"));
        page.paragraph(0, FAINT, &words);
    }
}

/// Findings by the changes that clear or bring them, a line each from a level up; the others are named.
fn by_change(page: &mut Page, heads: &Heads, findings: &[Finding], least: Level) {
    let mut less: Vec<(Level, Vec<String>)> = Vec::new();
    for head in &heads.heads {
        let all: Vec<&Finding> = head.findings.iter().map(|under| &findings[under.finding]).collect();
        let Some(worst) = all.first() else { continue };
        let name = head_name(heads, head);
        if worst.level < least {
            match less.last_mut().filter(|(level, _)| *level == worst.level) {
                Some((_, names)) => names.push(name),
                None => less.push((worst.level, vec![name])),
            }
            continue;
        }
        let more = if all.len() > 1 { format!(" (+{} more)", all.len() - 1) } else { String::new() };
        let whom = if worst.to_people { "to people: " } else { "" };
        let message = worst.message.strip_prefix(&format!("{name} ")).unwrap_or(&worst.message);
        let mark = format!("{:7} {name}", worst.level.word());
        page.item(2, &mark, style(worst.level), &format!("{whom}{message}{}{more}", all_the_same(worst)));
    }
    for (level, names) in less {
        page.paragraph(2, PLAIN, &format!("{}s by {}", level.word(), names.join(" ")));
    }
}

/// Windows that moved or are not kept; how many others are.
fn windows_in_short(page: &mut Page, rows: &[WindowRow]) {
    let moved = |row: &&WindowRow| match (row.before, row.after) {
        (Some((before, was)), Some((after, is))) => {
            was.bad() || is.bad() || (after - before).abs() > MOVED * before.abs()
        }
        _ => true,
    };
    let (shown, same): (Vec<&WindowRow>, Vec<&WindowRow>) = rows.iter().partition(moved);
    let columns =
        [Align::Left, Align::Right, Align::Right, Align::Left, Align::Right, Align::Left, Align::Left];
    let mut table = Table::new(&columns);
    let head = ["", "stock", "before", "", "after", "", "window"];
    table.row(head.map(|word| Cell::new(word, FAINT)).to_vec());
    for row in shown {
        let mut cells = vec![Cell::new(row.place.clone(), HEAD)];
        cells.push(row.stock.map_or(Cell::from(""), |value| Cell::new(figure(value, row.unit), FAINT)));
        cells.extend(side(row.before, row.unit));
        cells.extend(side(row.after, row.unit));
        let (low, high) = row.window;
        cells.push(Cell::new(format!("{} to {}", figure(low, row.unit), figure(high, row.unit)), FAINT));
        table.row(cells);
    }
    page.blank();
    page.table(2, &table);
    if !same.is_empty() {
        page.paragraph(2, FAINT, &format!("{} others keep theirs", same.len()));
    }
}

/// The share by which a figure has to move to be shown.
const MOVED: f64 = 0.02;

/// What a colleague needs to approve it: the worst first.
pub fn review(page: &mut Page, review: &Review, sources: &Sources) {
    page.heading("Findings it brings");
    if review.brought.is_empty() {
        page.paragraph(2, GOOD, "None.");
    }
    review.brought.iter().for_each(|finding| one(page, finding, sources));
    short(page, "Findings it clears", &review.cleared);
    short(page, "Findings still there", &review.still);
    open(page, &review.open);
    changed_rules(page, &review.changed);
    if !review.windows.is_empty() {
        page.heading("Windows");
        windows(page, &review.windows);
    }
    let all = &review.step.comparison.changes;
    page.heading(&counted(all.len(), "change"));
    changes(page, all, sources);
    if !review.step.effects.is_empty() {
        page.heading("Effects at idle");
        effects(page, &review.step.effects, &review.step.comparison);
    }
}

/// Findings a line each.
fn short(page: &mut Page, heading: &str, findings: &[Finding]) {
    if findings.is_empty() {
        return;
    }
    page.heading(heading);
    for finding in findings {
        in_short(page, finding, style(finding.level));
    }
}

fn windows(page: &mut Page, rows: &[WindowRow]) {
    let mut table =
        Table::new(&[Align::Left, Align::Right, Align::Left, Align::Right, Align::Left, Align::Left]);
    let head = ["", "before", "", "after", "", "window"];
    table.row(head.map(|word| Cell::new(word, FAINT)).to_vec());
    for row in rows {
        let mut cells = vec![Cell::new(row.place.clone(), HEAD)];
        cells.extend(side(row.before, row.unit));
        cells.extend(side(row.after, row.unit));
        let (low, high) = row.window;
        cells.push(Cell::new(format!("{} to {}", figure(low, row.unit), figure(high, row.unit)), FAINT));
        table.row(cells);
    }
    page.table(2, &table);
}

fn side(side: Option<(f64, Mark)>, unit: Unit) -> [Cell; 2] {
    match side {
        Some((value, mark)) if mark.bad() => {
            [Cell::new(figure(value, unit), CAUTION), Cell::new(mark.word(), CAUTION)]
        }
        Some((value, _)) => [Cell::new(figure(value, unit), PLAIN), Cell::from("")],
        None => [Cell::new("undefined", CAUTION), Cell::from("")],
    }
}

fn figure(value: f64, unit: Unit) -> String {
    rounded(value, unit, 4)
}

/// `2 brought, 5 cleared, 1 still there.`
pub fn review_summary(review: &Review) -> String {
    let Review { brought, cleared, still, .. } = review;
    format!("Findings: {} brought, {} cleared, {} still there.", brought.len(), cleared.len(), still.len())
}
