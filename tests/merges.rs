//! Two records of one job put together: nothing that either says is lost, whatever both did to it.

#![allow(clippy::print_stdout, reason = "the counts are shown")]

use std::collections::BTreeSet;

use asfound::source::{FileId, has_errors};
use asfound::syntax::document::parse;
use asfound::syntax::merge::{Merged, merge};
use asfound::syntax::print::{print, statement};
use asfound::syntax::tree::Document;

use crate::robust::Numbers;

fn document(text: &str) -> Document {
    let (document, problems) = parse(FileId(0), text);
    assert!(!has_errors(&problems), "{problems:?}\n{text}");
    document
}

fn merged(base: &str, ours: &str, theirs: &str) -> Merged {
    merge(&document(base), &document(ours), &document(theirs))
}

const HEAD: &str = "as-found \"j\" of \"moor.amp\"\n";

#[test]
fn comments_of_both_arrive() {
    let base = format!("{HEAD}R3 checked\n");
    let theirs =
        format!("{HEAD}# smoke near V2: leave it off\nR3 checked # brown underneath\nR9 checked # warm\n");
    let tidied = print(&document(&theirs));
    assert_eq!(merged(&base, &base, &theirs).text, tidied);
    assert_eq!(merged(&base, &theirs, &base).text, tidied);
    assert_eq!(merged(&base, &theirs, &theirs).text, tidied);
    let ours = format!("{HEAD}R3 checked # ours\nR4 checked\n");
    let both = merged(&base, &ours, &theirs);
    assert_eq!(both.conflicts, []);
    let expected = format!(
        "{HEAD}R3 checked  # ours\n# brown underneath\nR4 checked\n# smoke near V2: leave it off\nR9 checked  # warm\n"
    );
    assert_eq!(both.text, expected);
}

/// Each pair is of different things, and none of them in the other's way.
#[test]
fn what_is_not_about_the_same_thing_is_no_conflict() {
    for (one, other) in [
        ("bridged B1 to B2 with wire W1", "bridged B1 to B3 with wire W2"),
        ("bridged R1.1 to R2.1", "bridged R3.1 to R2.1 through 150k"),
        ("cut B3 leaving R42.2 on B3x", "cut B3 leaving R43.2 on B3y \"burnt\""),
        ("joined R91.2 to B4", "joined R91.1 to B3"),
        ("note \"hums\"", "note \"crackles\""),
        ("meter B1 300V", "meter B1 290V in standby"),
        ("meter B1 300V", "meter B1 3V ac"),
        ("meter B1 to B2 3V", "meter B1 300V"),
        ("set VR1 50%", "VR1 checked"),
        ("R1 R2 checked", "R3 missing"),
    ] {
        let both = merged(HEAD, &format!("{HEAD}{one}\n"), &format!("{HEAD}{other}\n"));
        assert_eq!(both.conflicts, [], "{one} / {other}");
        assert_eq!(both.text, format!("{HEAD}{one}\n{other}\n"));
    }
}

/// Each pair says two things of one part or place.
#[test]
fn a_conflict_stands_between_marks() {
    for (about, one, other) in [
        ("R40", "R40.2 lifted", "R40 missing \"gone\""),
        ("W1", "bridged B1 to B2 with wire W1", "bridged B1 to B3 with wire W1"),
        ("B3x", "cut B3 leaving R42.2 on B3x", "cut B3 leaving R43.2 on B3x"),
        ("the joint of R91.2", "joined R91.2 to B4", "joined R91.2 to B3"),
        ("the bridge from R1.1 to R2.1", "bridged R1.1 to R2.1", "bridged R2.1 to R1.1 through 1k"),
        ("the reading of B1", "meter B1 300V", "meter B1 290V"),
        ("the setting of VR1", "set VR1 50%", "set VR1 60%"),
        ("the header", "", "as-found"),
    ] {
        let [ours, theirs] = if other == "as-found" {
            ["k", "l"].map(|job| HEAD.replace("\"j\"", &format!("\"{job}\"")))
        } else {
            [one, other].map(|line| format!("{HEAD}{line}  # seen\n"))
        };
        let both = merged(HEAD, &ours, &theirs);
        assert_eq!(both.conflicts.len(), 1, "{both:?}");
        assert_eq!(both.conflicts[0].about, about);
        let inside = |text: &str| text.strip_prefix(HEAD).unwrap_or(text).to_owned();
        let block = format!(
            "<<<<<<< ours: {about}\n{}=======\n{}>>>>>>> theirs: {about}\n",
            inside(&ours),
            inside(&theirs)
        );
        assert!(both.text.ends_with(&block), "{}", both.text);
        let (_, problems) = parse(FileId(0), &both.text);
        let told: Vec<_> = problems.iter().filter(|p| p.code.word() == "not-settled").collect();
        assert_eq!(told.len(), 1, "{problems:?}");
        assert!(told[0].message.contains(about) && told[0].labels.len() == 3, "{told:?}");
    }
}

/// What one took out of a list and the other left stays out; the rest is one line still.
#[test]
fn lists_are_merged_name_by_name() {
    let text = |names: &str| format!("{HEAD}{names} checked  # looked over\n");
    let both = merged(&text("R1 R2 R3"), &text("R1 R2 R3 R4"), &text("R1 R3 R5"));
    assert_eq!(both.text, format!("{HEAD}R1 R3 R4 checked  # looked over\nR5 checked\n"));
    let gone = merged(&text("R1 R2"), &text("R1 R2").replace("R1 R2 checked", "R1 R2 R3 checked"), HEAD);
    assert_eq!(gone.text, format!("{HEAD}R3 checked\n"), "{gone:?}");
}

/// The marks of a line merge by version control are told the same way, with what both grew out of.
#[test]
fn marks_set_by_version_control_are_told() {
    let text = format!(
        "{HEAD}<<<<<<< HEAD\nR3 checked\n||||||| 1a2b3c\n=======\nR3 missing\n>>>>>>> bench-two\n=======\n"
    );
    let (_, problems) = parse(FileId(0), &text);
    let codes: Vec<_> = problems.iter().map(|p| (p.code.word(), p.labels.len())).collect();
    assert_eq!(codes, [("not-settled", 5)], "{problems:?}");
    let (document, problems) = parse(FileId(0), &format!("{HEAD}# <<<<<<< said in a comment\n"));
    assert!(problems.is_empty() && document.lines.len() == 2);
}

/// Statements that the random records are made of; `#` is a number.
const STATEMENTS: [&str; 26] = [
    "R# checked",
    "R# checked",
    "R# R# checked",
    "R# R# R# C# checked",
    "R# reads #k",
    "R# reads #k in circuit \"warm\"",
    "C# leaks #uA at 100V",
    "C# missing \"snipped\"",
    "R# replaced #k 0.5W",
    "R#.1 lifted",
    "C#.2 moved to R#.1",
    "V#a swapped with V#b",
    "C# reversed",
    "R# shorted \"solder\"",
    "added resistor R9# #k 1W from B1 to B#",
    "joined R#.1 to B#",
    "cut B# leaving R#.1 R#.2 on X#",
    "bridged B# to X# with wire W#",
    "bridged R#.1 to R#.2",
    "V#b used in \"more\"",
    "meter B# #V",
    "meter V#.cathode #mA",
    "set VR# #%",
    "mains 23#V",
    "note \"owner: hums at #\"",
    "note \"smells\"",
];

const REMARKS: [&str; 6] = ["warm", "# under the board", "seen # times", "", "! loud", "ask the owner of #"];

fn filled(pattern: &str, numbers: &mut Numbers) -> String {
    pattern
        .chars()
        .map(|c| if c == '#' { (1 + numbers.below(7)).to_string() } else { c.to_string() })
        .collect()
}

fn pick(of: &[&str], numbers: &mut Numbers) -> String {
    let pattern = of[numbers.below(of.len())];
    filled(pattern, numbers)
}

fn line(numbers: &mut Numbers) -> String {
    match numbers.below(8) {
        0 => String::new(),
        1 => format!("#{}", pick(&REMARKS, numbers)),
        2 => format!("{} # {}", pick(&STATEMENTS, numbers), pick(&REMARKS, numbers)),
        _ => pick(&STATEMENTS, numbers),
    }
}

/// What a bench does to a record: writes on, strikes out, corrects, remarks, puts in order.
fn edited(lines: &[String], numbers: &mut Numbers) -> Vec<String> {
    let mut lines = lines.to_vec();
    for _ in 0..=numbers.below(6) {
        let at = numbers.below(lines.len());
        match numbers.below(8) {
            0 => lines.push(line(numbers)),
            1 => lines.insert(at, line(numbers)),
            2 => drop((lines.len() > 1).then(|| lines.remove(at))),
            3 => lines[at] = line(numbers),
            4 => {
                lines[at] =
                    format!("{} # {}", lines[at].split('#').next().unwrap_or(""), pick(&REMARKS, numbers));
            }
            5 => lines.swap(at, 0),
            6 if lines[at].contains(" checked") => lines[at] = format!("R{} {}", numbers.below(7), lines[at]),
            _ => lines.insert(at, lines[at].clone()),
        }
    }
    lines
}

/// Statements, each name of a list for itself, and comments.
fn said(text: &str) -> (BTreeSet<String>, Vec<String>) {
    let unmarked = |line: &&str| !["<<<<<<<", "=======", ">>>>>>>"].iter().any(|mark| line.starts_with(mark));
    let text: String = text.lines().filter(unmarked).flat_map(|line| [line, "\n"]).collect();
    let (document, _) = parse(FileId(0), &text);
    let mut facts = BTreeSet::new();
    for words in document.statements().map(statement) {
        match words.strip_suffix(" checked") {
            Some(names) => facts.extend(names.split(' ').map(|name| format!("{name} checked"))),
            None => drop(facts.insert(words)),
        }
    }
    (facts, document.lines.into_iter().filter_map(|line| line.comment).collect())
}

fn assert_nothing_lost(base: &str, ours: &str, theirs: &str) -> usize {
    let both = merged(base, ours, theirs);
    let told = || format!("--- base\n{base}--- ours\n{ours}--- theirs\n{theirs}--- both\n{}", both.text);
    let (was, old_remarks) = said(base);
    let (has, remarks) = said(&both.text);
    let (x, y) = (said(ours), said(theirs));
    let times = |of: &[String], remark: &String| of.iter().filter(|other| *other == remark).count();
    for ((facts, said_here), (others, said_there)) in [(&x, &y), (&y, &x)] {
        for fact in facts {
            let struck_out = was.contains(fact) && !others.contains(fact);
            assert!(has.contains(fact) || struck_out, "lost: {fact}\n{}", told());
        }
        for remark in said_here {
            let struck_out = times(said_there, remark) < times(&old_remarks, remark);
            assert!(remarks.contains(remark) || struck_out, "lost: # {remark}\n{}", told());
        }
    }
    assert!(has.iter().all(|fact| x.0.contains(fact) || y.0.contains(fact)), "made up\n{}", told());
    // What stands after a list is told with each of its names that is in a conflict.
    let most =
        |r: &String| if both.conflicts.is_empty() { times(&x.1, r) + times(&y.1, r) } else { usize::MAX };
    let known = |r: &String| x.1.contains(r) || y.1.contains(r);
    assert!(remarks.iter().all(|r| known(r) && times(&remarks, r) <= most(r)), "made up\n{}", told());
    // The sides change places, and nothing else.
    let turned = merged(base, theirs, ours);
    let sides = |merged: &Merged| -> Vec<[Vec<String>; 2]> {
        merged.conflicts.iter().map(|c| [c.ours.clone(), c.theirs.clone()]).collect()
    };
    let back: Vec<_> = sides(&turned).into_iter().map(|[ours, theirs]| [theirs, ours]).collect();
    assert_eq!((sides(&both), &has), (back, &said(&turned.text).0), "{}", told());
    let (_, problems) = parse(FileId(0), &both.text);
    let unsettled = problems.iter().filter(|p| p.code.word() == "not-settled").count();
    assert_eq!(unsettled, both.conflicts.len(), "{problems:?}\n{}", told());
    assert!(unsettled > 0 || !has_errors(&problems), "{problems:?}\n{}", told());
    unsettled
}

/// `ASFOUND_MERGES=20000` for more.
#[test]
fn every_statement_and_comment_of_either_is_there_or_in_a_conflict() {
    let rounds = std::env::var("ASFOUND_MERGES").ok().and_then(|r| r.parse().ok()).unwrap_or(600);
    let mut numbers = Numbers(0x5eed);
    let (mut conflicts, mut quiet) = (0, 0);
    for _ in 0..rounds {
        let lines: Vec<String> = (0..=numbers.below(12)).map(|_| line(&mut numbers)).collect();
        let text = |lines: &[String]| HEAD.to_owned() + &lines.join("\n") + "\n";
        let [base, ours, theirs] =
            [lines.clone(), edited(&lines, &mut numbers), edited(&lines, &mut numbers)]
                .map(|lines| text(&lines));
        let found = assert_nothing_lost(&base, &ours, &theirs);
        conflicts += found;
        quiet += usize::from(found == 0);
        for side in [&ours, &theirs] {
            let tidied = print(&document(side));
            for same in [merged(&base, &base, side), merged(&base, side, &base), merged(&base, side, side)] {
                assert_eq!((same.text, same.conflicts), (tidied.clone(), Vec::new()), "{base}---\n{side}");
            }
        }
    }
    println!("{rounds} merges: {quiet} without a conflict, {conflicts} conflicts in the others");
    assert!(conflicts > rounds / 10 && quiet > rounds / 10, "{conflicts} {quiet}");
}

/// Marks between the lines of one group are told as a conflict, and the lines around them stay what they are.
#[test]
fn a_conflict_inside_a_group_is_told() {
    let text = format!(
        "{HEAD}added resistor R90 1M 0.5W from R3.1 to chassis in \"extra\"\n<<<<<<< ours: R91\n\
         added resistor R91 1M 0.5W from R3.1 to chassis in \"extra\"\n=======\n\
         added resistor R91 2M2 0.5W from R3.1 to chassis in \"extra\"\n>>>>>>> theirs: R91\n\
         added resistor R92 1M 0.5W from R3.1 to chassis in \"extra\"\n"
    );
    let (_, problems) = parse(FileId(0), &text);
    assert_eq!(
        problems.iter().map(|p| p.code.word().to_string()).collect::<Vec<_>>(),
        ["not-settled"],
        "{problems:?}"
    );
}
