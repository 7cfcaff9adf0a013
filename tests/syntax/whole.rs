//! Documents as a whole, odd texts, and replacements read for the part that they replace.

use asfound::model::Kind;
use asfound::source::FileId;
use asfound::syntax::document::{parse, settle};
use asfound::syntax::print;
use asfound::syntax::tree::{Document, Replacement, Said, Spec};

use super::told;

/// What a document says last, as what a part was replaced by.
fn replaced_by(document: &Document) -> Spec {
    match document.statements().last().map(|s| &s.said) {
        Some(Said::Replaced { by: Replacement::One(spec), .. }) => spec.clone(),
        other => panic!("{other:?}"),
    }
}

/// What a replacement says of a part of a kind, or the first problem.
fn settled(text: &str, kind: Kind) -> String {
    let (document, problems) = parse(FileId(0), &format!("as-found \"a\" of \"b\"\nX1 replaced {text}\n"));
    assert_eq!(problems, [], "{text}");
    let (spec, problems) = settle(&replaced_by(&document), kind);
    problems.first().map_or_else(|| print::spec(&spec, kind), |problem| problem.message.clone())
}

#[test]
fn a_replacement_is_read_for_the_part_it_replaces() {
    for (text, kind, expected) in [
        ("5k6 0.5W metal-film", Kind::Resistor, "5k6 0.5W metal-film"),
        ("470", Kind::Resistor, "470R"),
        ("22nF 400V film", Kind::Capacitor, "22n 400V film"),
        ("2A slow", Kind::Fuse, "2A slow"),
        ("12V 1W", Kind::Zener, "12V 1W"),
        ("6550", Kind::Tube, "6550"),
        ("6L6GC", Kind::Tube, "6L6GC"),
        ("5Y3GT", Kind::Tube, "5Y3GT"),
        ("1N4007 1000V", Kind::Diode, "1N4007 1000V"),
        ("10H 105R 120mA", Kind::Choke, "10H 105R 120mA"),
        (
            "primary 6k6 90R a side 30H taps 8R 16R",
            Kind::OutputTransformer,
            "primary 6k6 90R a side 30H taps 8R 16R",
        ),
        ("470V behind 85R", Kind::Source, "470V behind 85R"),
        ("unknown", Kind::Resistor, "unknown"),
        ("22n", Kind::Resistor, "not a resistance: `22n`"),
        ("4k7", Kind::Capacitor, "not a capacitance: `4k7`"),
        ("22n 1W", Kind::Capacitor, "not said of a capacitor: a power rating"),
        ("ECC83", Kind::Resistor, "not said of a resistor: a type name"),
    ] {
        assert_eq!(settled(text, kind), expected, "{text}");
    }
}

#[test]
fn headers() {
    for (text, code) in [
        ("", "empty-document"),
        ("# nothing\n\n", "empty-document"),
        ("R1 checked\n", "no-header"),
        ("as-found \"a\"\n", "no-base"),
        ("plan \"a\"\n", "no-base"),
        ("type-data \"a\" of \"b\"\n", "base-not-wanted"),
        ("stock \"a\" pinned 0123456789abcdef\n", "base-not-wanted"),
        ("stock \"a\" of \"b\" pinned 0123\n", "unexpected-word"),
        ("stock\n", "unfinished"),
        ("stok \"a\"\n", "unknown-statement"),
    ] {
        let told = told(text);
        assert_eq!(told.lines().count(), 1, "{text}: {told}");
        assert!(told.contains(code), "{text}: {told}");
    }
}

#[test]
fn odd_characters_are_named() {
    for (text, expected) in [
        ("note \"a\u{7}b\"", "2:8 control-character not text: control character U+0007"),
        ("rail B1\u{0}", "2:8 control-character not text: control character U+0000"),
        ("# a\u{1b}[31m", "2:4 control-character not text: control character U+001B"),
        ("rail B1 'plates'", "2:9 wrong-quotes not a quote of this language: `'`"),
        ("rail B1 \"plates", "2:9 quote-not-closed not closed: a quoted text"),
        ("rail Bé", "2:7 unexpected-word not expected here: `é`"),
    ] {
        let told = told(&format!("stock \"a\"\n{text}\n"));
        assert!(told.starts_with(expected), "{text:?}: {told}");
    }
}

#[test]
fn every_fault_of_a_file_is_told_with_its_place() {
    let text = "\u{feff}stock \"a\"\r\n\tresitor R1\r\nrail\r\nresistor R2 10zF\r\nrail B1\r\nR9";
    let lines: Vec<String> =
        told(text).lines().map(|line| line.split(' ').take(2).collect::<Vec<_>>().join(" ")).collect();
    assert_eq!(lines, ["2:2 unknown-statement", "3:1 unfinished", "4:13 wrong-value", "6:1 no-statement"]);
}
