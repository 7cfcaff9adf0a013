//! The README is run: its sessions give the output it shows, its documents read without a problem.

use std::process::Command;

use crate::support::problems;

const README: &str = include_str!("../README.md");

/// Fenced blocks of one kind: the words after the fence, and the lines.
fn blocks(kind: &str) -> Vec<(String, Vec<&'static str>)> {
    let mut found = Vec::new();
    let mut lines = README.lines();
    while let Some(line) = lines.next() {
        if let Some(rest) = line.strip_prefix("```")
            && let Some(rest) = rest.strip_prefix(kind)
        {
            let body = lines.by_ref().take_while(|l| *l != "```").collect();
            found.push((rest.trim().to_owned(), body));
        }
    }
    found
}

/// The stretches between `…` lines stand in the output, whole and in order.
fn assert_shows(output: &str, shown: &[&str], command: &str) {
    let lines: Vec<&str> = output.lines().map(str::trim_end).collect();
    let mut from = 0;
    for stretch in shown.split(|line| *line == "…").filter(|s| !s.is_empty()) {
        let fits = |at: usize| lines[at..].starts_with(stretch);
        let at = (from..lines.len()).find(|at| fits(*at));
        let at =
            at.unwrap_or_else(|| panic!("`{command}` does not show\n{}\nbut\n{output}", stretch.join("\n")));
        from = at + stretch.len();
    }
}

#[test]
fn sessions_give_what_they_show() {
    let sessions = blocks("console");
    assert!(sessions.len() >= 4);
    for (_, lines) in sessions {
        let command = lines[0].strip_prefix("$ asfound ").expect("a session starts with its command");
        let output = Command::new(env!("CARGO_BIN_EXE_asfound"))
            .args(command.split_whitespace())
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .output()
            .expect("the command runs");
        assert_shows(&String::from_utf8_lossy(&output.stdout), &lines[1..], command);
    }
}

#[test]
fn documents_read_without_a_problem() {
    let documents: Vec<(String, String)> =
        blocks("amp").into_iter().map(|(name, lines)| (name, lines.join("\n") + "\n")).collect();
    assert_eq!(documents.len(), 4);
    for count in 1..=documents.len() {
        let stack: Vec<(&str, &str)> =
            documents[..count].iter().map(|(n, t)| (n.as_str(), t.as_str())).collect();
        assert_eq!(problems(&stack), "");
    }
}

#[test]
fn commands_of_the_first_page_are_the_ones_that_work() {
    let first = blocks("sh").remove(0).1;
    assert_eq!(first, ["cargo run --release -- audit examples/sedge-45/job-0412.amp", "cargo test"]);
}
