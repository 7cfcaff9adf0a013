//! Printing and parsing are inverse, and no text makes the parser panic.

use asfound::source::{FileId, Severity};
use asfound::syntax::document::parse;
use asfound::syntax::print::print;
use asfound::syntax::words::{KINDS, STATEMENTS};
use proptest::prelude::*;

use super::extracts::{FOUND, PLAN, STOCK, TYPES};
use super::shape;

/// Reads, prints, reads again: the same tree; prints again: the same text.
fn assert_round_trip(text: &str) {
    let (tree, _) = parse(FileId(0), text);
    let printed = print(&tree);
    let (again, problems) = parse(FileId(0), &printed);
    let without_blanks = |tree: &asfound::syntax::tree::Document| {
        let mut tree = tree.clone();
        tree.lines.retain(|line| line.statement.is_some() || line.comment.is_some());
        shape(&tree)
    };
    let (before, after) = (without_blanks(&tree), without_blanks(&again));
    let differs = before.lines().zip(after.lines()).position(|(a, b)| a != b);
    if let Some(at) = differs.or((before != after).then_some(0)) {
        let near =
            |text: &str| text.lines().skip(at.saturating_sub(20)).take(25).collect::<Vec<_>>().join("\n");
        panic!("read:\n{}\nread again:\n{}\nprinted:\n{printed}", near(&before), near(&after));
    }
    assert_eq!(print(&again), printed);
    let unread = problems.iter().find(|p| p.severity == Severity::Error && UNREAD.contains(&p.code.word()));
    assert!(unread.is_none(), "{unread:?} in:\n{printed}");
}

/// Takes any text; the lines of it that are sound come back.
fn assert_taken(text: &str) {
    let (tree, _) = parse(FileId(0), text);
    print(&tree);
    let whole = ["no-header", "empty-document", "no-base", "base-not-wanted"];
    let sound = |line: &&str| {
        let (_, problems) = parse(FileId(0), line);
        problems.iter().all(|p| whole.contains(&p.code.word()) || p.severity == Severity::Notice)
    };
    assert_round_trip(&text.lines().filter(sound).collect::<Vec<_>>().join("\n"));
}

/// Problems that canonical text never has.
const UNREAD: [&str; 6] =
    ["unfinished", "unexpected-word", "unknown-statement", "no-statement", "unknown-verb", "said-twice"];

#[test]
fn extracts_come_back() {
    for text in [STOCK, FOUND, PLAN, TYPES] {
        assert_round_trip(text);
    }
}

#[test]
fn examples_of_the_table_come_back() {
    for example in STATEMENTS.iter().map(|row| row.example).chain(KINDS.iter().map(|row| row.example)) {
        assert_round_trip(example);
    }
}

#[test]
fn canonical_text() {
    let text = "\u{feff}\r\n\r\nstock  \"A\"\t\"B\"   #c\r\n\r\n\r\n## heading\r\nvalve V1\tECC83\r\n#\r\n\
                resistor R1 5600 500mW metal-film 5% to B from A \"x\"\r\ncapacitor C1 0.022 µF plus A minus B\r\n\
                mov RV1 275 V\r\ncapacitor C2 minus B 47000nF electrolytic 450V";
    let (tree, problems) = parse(FileId(0), text);
    assert_eq!(problems, []);
    insta::assert_snapshot!(print(&tree), @r#"
    stock "A" "B"  # c

    ## heading
    tube V1 ECC83
    #
    resistor R1 5k6 5% 0.5W metal-film from A to B "x"
    capacitor C1 22n from A to B
    varistor RV1 275V
    capacitor C2 47u 450V electrolytic minus B
    "#);
}

/// Names that may stand where a table example has one.
fn name() -> impl Strategy<Value = String> {
    "[A-Z][A-Z0-9a-z_]{0,3}(-[a-z]{1,2})?"
}

/// A value like the one of an example.
fn figure(like: String) -> BoxedStrategy<String> {
    let unit: String = like.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.').to_owned();
    let number = prop_oneof![(1..1000u32).prop_map(|n| n.to_string()), "[1-9]\\.[0-9]{1,3}"];
    match unit.as_str() {
        "R" | "V" | "W" | "H" | "mA" | "A" | "Hz" | "kHz" | "uA" | "k" | "u" | "n" | "p" | "M" | "pF" => {
            number.prop_map(move |n| format!("{n}{unit}")).boxed()
        }
        "%" => (1..100u32).prop_map(|n| format!("{n}%")).boxed(),
        _ => Just(like).boxed(),
    }
}

/// An example with other names and values, odd spacing and a comment.
fn varied() -> impl Strategy<Value = String> {
    let examples: Vec<&str> =
        STATEMENTS.iter().map(|row| row.example).chain(KINDS.iter().map(|row| row.example)).collect();
    (prop::sample::select(examples), prop::option::of("[ -~é…]{0,12}"))
        .prop_flat_map(|(example, comment)| {
            let words: Vec<BoxedStrategy<String>> = pieces(example).into_iter().map(piece).collect();
            (words, prop::collection::vec("[ \t]{1,3}", 40), Just(comment))
        })
        .prop_map(|(words, gaps, comment)| {
            let mut line = String::new();
            for (word, gap) in words.iter().zip(gaps) {
                line.push_str(word);
                line.push_str(&gap);
            }
            if let Some(comment) = comment {
                line.push('#');
                line.push_str(&comment);
            }
            line
        })
}

/// A line's words; a quoted text is one.
fn pieces(line: &str) -> Vec<String> {
    let mut pieces: Vec<String> = Vec::new();
    for (at, part) in line.split('"').enumerate() {
        if at % 2 == 1 {
            pieces.push(format!("\"{part}\""));
        } else {
            pieces.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    pieces
}

fn piece(word: String) -> BoxedStrategy<String> {
    if word.starts_with('"') {
        return "[ !#-~µ]{0,10}".prop_map(|text| format!("\"{text}\"")).boxed();
    }
    if word.starts_with(|c: char| c.is_ascii_digit()) {
        return figure(word);
    }
    if word.starts_with(|c: char| c.is_ascii_uppercase()) && !word.ends_with(',') {
        let legs = word.split_once('.').map(|(_, leg)| leg.to_owned());
        return name()
            .prop_map(move |name| legs.as_ref().map_or(name.clone(), |leg| format!("{name}.{leg}")))
            .boxed();
    }
    Just(word).boxed()
}

/// Something done to a text at a place.
fn mutate(text: &str, edits: &[(usize, u8, char)]) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    for (at, what, with) in edits {
        let at = at % chars.len().max(1);
        match what % 4 {
            0 if at < chars.len() => drop(chars.remove(at)),
            1 => chars.insert(at.min(chars.len()), *with),
            2 if at < chars.len() => chars[at] = *with,
            _ => {
                let end = (at + 9).min(chars.len());
                let copy: Vec<char> = chars[at.min(end)..end].to_vec();
                chars.splice(at..at, copy);
            }
        }
    }
    chars.into_iter().collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn varied_documents_come_back(lines in prop::collection::vec(varied(), 1..12)) {
        assert_round_trip(&lines.join("\n"));
    }

    #[test]
    fn any_text_is_taken(text in any::<String>()) {
        assert_taken(&text);
    }

    #[test]
    fn any_bytes_are_taken(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        assert_taken(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn damaged_documents_are_taken(
        which in 0..4usize,
        edits in prop::collection::vec((any::<usize>(), any::<u8>(), prop_oneof![any::<char>(), "[ -~]".prop_map(|s| s.chars().next().unwrap_or('x'))]), 1..30),
    ) {
        assert_taken(&mutate([STOCK, FOUND, PLAN, TYPES][which], &edits));
    }
}

#[test]
fn a_long_document_is_read() {
    let mut text = String::from("stock \"long\"\n");
    while text.len() < 1_000_000 {
        text.push_str(STOCK.trim_start().split_once('\n').unwrap().1);
    }
    let (tree, problems) = parse(FileId(0), &text);
    assert_eq!(problems, []);
    assert_eq!(tree.lines.len(), text.lines().count());
}

#[test]
fn a_long_line_and_many_bad_lines_end_soon() {
    let long = format!("stock \"a\"\nnote \"{}\"\nR1 checked\n", "x".repeat(1_000_000));
    let (_, problems) = parse(FileId(0), &long);
    assert_eq!(
        problems.iter().map(|p| p.code.word()).collect::<Vec<_>>(),
        ["line-too-long", "wrong-document"]
    );
    let many = format!("stock \"x\"\n{}", "wibble wobble\n".repeat(20_000));
    assert_eq!(parse(FileId(0), &many).1.len(), 501);
}
