//! Every statement that a message tells people to write is one.
#![allow(clippy::unwrap_used, reason = "helpers of tests")]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use asfound::source::{FileId, Severity};
use asfound::syntax::document::parse;
use asfound::syntax::words::{A_PART, KINDS, STATEMENTS};

fn files(folder: &Path, ending: &str, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()) {
        if entry.is_dir() {
            files(&entry, ending, found);
        } else if entry.extension().is_some_and(|e| e == ending) {
            found.push(entry);
        }
    }
}

/// What stands between backticks in string literals of the code (comments left out), and in rule files.
fn quoted() -> BTreeSet<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let (mut sources, mut rules) = (Vec::new(), Vec::new());
    files(&root.join("src"), "rs", &mut sources);
    files(&root.join("rules"), "rule", &mut rules);
    let mut found = BTreeSet::new();
    for path in sources.iter().chain(&rules) {
        let text = std::fs::read_to_string(path).unwrap();
        let code: Vec<&str> = text.lines().filter(|line| !line.trim_start().starts_with("//")).collect();
        // A literal that goes on over a line's end.
        let joined = code.join("\n").replace("\\\n", "");
        for line in joined.lines().filter(|line| line.matches('`').count() > 1) {
            found.extend(line.split('`').skip(1).step_by(2).map(squeezed));
        }
    }
    found
}

/// A hint with its places filled in: `{name}` and `NAME` stand for anything of their kind.
fn squeezed(hint: &str) -> String {
    hint.replace("\\\"", "\"").split_whitespace().collect::<Vec<_>>().join(" ")
}

fn filled(hint: &str) -> String {
    let mut text = String::new();
    let hint = hint.replace(".LEG", ".1").replace("resistor {} {}", "resistor R7 10k");
    let mut rest = hint.as_str();
    while let Some((before, after)) = rest.split_once('{') {
        text.push_str(before);
        rest = after.split_once('}').map_or("", |(_, after)| after);
        // Two places of one hint are two.
        text.push_str(if text.contains("R7") { "R8" } else { "R7" });
    }
    text.push_str(rest);
    let words = [
        ("\"FILE.amp\"", "\"a.amp\""),
        ("JOB", "job 7"),
        ("LEG", "R7.1"),
        ("PLACE to PLACE", "B1 to B2"),
        ("PLACE", "B1"),
        ("POSITION", "on"),
        ("VOLTS", "300V"),
        ("YEAR", "1968"),
        ("VALUE", "10V"),
    ];
    let text = words.iter().fold(text, |text, (word, with)| text.replace(word, with));
    text.replace(" …", "").replace('…', "x")
}

/// Whether a hint is a statement of documents: it opens as one, or has a verb after a name.
fn is_statement(hint: &str) -> bool {
    let words: Vec<&str> = hint.split_whitespace().collect();
    let kinds = KINDS.iter().flat_map(|row| row.also.iter().copied().chain([row.kind.word()]));
    let openings: Vec<&str> =
        STATEMENTS.iter().filter(|row| row.opens_line()).map(|row| row.word).chain(kinds).collect();
    let verbs: Vec<&str> =
        STATEMENTS.iter().filter(|r| !r.opens_line() && r.word != A_PART).map(|r| r.word).collect();
    let [first, second, ..] = words.as_slice() else { return false };
    // Slots as the tables write them: their examples are read by another test.
    let slots = hint.contains(['[', '|', '=', '(', ';']) && !hint.contains('"');
    let capitals = words.iter().filter(|w| w.len() > 2 && w.chars().all(|c| c.is_ascii_uppercase())).count();
    let name = first.starts_with(|c: char| c.is_ascii_uppercase()) || first.starts_with('{');
    !slots && (openings.contains(first) || (name && verbs.contains(second))) && (capitals < 3 || !name)
}

#[test]
fn every_statement_that_a_message_suggests_is_read() {
    let mut read = 0;
    for hint in quoted().iter().filter(|hint| is_statement(hint)) {
        let line = filled(hint);
        let (_, problems) = parse(FileId(0), &format!("stock \"x\"\n{line}\n"));
        // Which kind of document it stands in is another matter, and `…` leaves an end open.
        let open = ["no-header", "wrong-document", "no-base", "two-headers", "unfinished", "no-voltage"];
        let wrong = problems.iter().find(|p| p.severity == Severity::Error && !open.contains(&p.code.word()));
        let unfinished = problems.iter().any(|p| p.code.word() == "unfinished") && !hint.contains('…');
        assert!(wrong.is_none() && !unfinished, "`{hint}` as `{line}`: {problems:?}");
        read += 1;
    }
    assert!(read > 50, "{read} hints only");
}

fn help(line: &str) -> String {
    let (_, problems) = parse(FileId(0), &format!("as-found \"j\" of \"a.amp\"\n{line}\n"));
    problems.into_iter().find_map(|p| p.help).unwrap_or_default()
}

#[test]
fn words_of_the_bench_are_told_what_to_write_instead() {
    for (line, write) in [
        ("C3 snipped", "`C3 missing snipped`"),
        ("V5 weak", "`meter V5.cathode 22mA`"),
        ("R4.1 cold joint", "`R4.1 lifted \"cold joint\"`"),
        ("cold joint R4.1", "`R4.1 lifted \"cold joint\"`"),
        ("joint R4.1 reads 20R", "`bridged B3 to B3x through 20R`"),
        ("R4 open", "`R4 missing \"open\"`"),
        ("C7 leaky", "`C33 leaks 12uA at 250V`"),
        ("added tube V9 ECC83 a.anode B1", "the anode is written `plate`"),
        ("added tube V9 12AX7 a.anode B1", "the anode is written `plate`"),
        ("added tube V9 EL34 anode B1", "the anode is written `plate`"),
        ("added tube V9 EL34 g2 B1", "the g2 is written `screen`"),
    ] {
        assert!(help(line).contains(write), "{line}: {}", help(line));
    }
}
