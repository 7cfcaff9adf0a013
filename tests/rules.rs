//! Rules: the language, its problems, and the shipped pack.

use asfound::rules::{HEADINGS, MEASURES, RuleSet, SHIPPED, Severity, language};
use asfound::source::{FileId, Problem};

fn loaded(text: &str) -> Vec<Problem> {
    RuleSet::load(&[(FileId(0), text)]).1
}

/// A whole rule around the lines in question.
fn rule(lines: &str) -> String {
    let headings = HEADINGS.map(|h| format!("  {h} \"x\"\n")).concat();
    format!(
        "rule test-rule\n{lines}\n  say \"x\"\n{headings}  flags \"\"\"\n    a\n  \"\"\"\n  passes \"\"\"\n    b\n  \"\"\"\n"
    )
}

/// Code, and the words that the first label covers.
fn faults(text: &str) -> Vec<(&'static str, String)> {
    let covered = |p: &Problem| text[p.span().start as usize..p.span().end as usize].to_owned();
    loaded(text).iter().map(|p| (p.code.word(), covered(p))).collect()
}

#[test]
fn shipped_rules_load_without_a_problem() {
    let texts: Vec<(FileId, &str)> =
        SHIPPED.iter().enumerate().map(|(i, (_, text))| (FileId(i as u32), *text)).collect();
    let (set, problems) = RuleSet::load(&texts);
    let shown: Vec<String> = problems
        .iter()
        .map(|p| {
            let (path, text) = SHIPPED[p.span().file.0 as usize];
            let at = p.span().start as usize..p.span().end as usize;
            format!("{path}: {} `{}` {:?}", p.message, text.get(at).unwrap_or(""), p.help)
        })
        .collect();
    assert!(shown.is_empty(), "{shown:#?}");
    assert_eq!(set.rules().count(), SHIPPED.len(), "one rule a file");
}

#[test]
fn every_rule_file_is_shipped_and_named_after_its_rule() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("rules");
    let mut found = Vec::new();
    for group in std::fs::read_dir(&root).unwrap().map(|e| e.unwrap().path()).filter(|p| p.is_dir()) {
        for file in std::fs::read_dir(&group).unwrap().map(|e| e.unwrap().path()) {
            if file.extension().is_some_and(|e| e == "rule") {
                let name = file.file_stem().unwrap().to_str().unwrap().to_owned();
                let text = std::fs::read_to_string(&file).unwrap();
                assert!(text.starts_with(&format!("rule {name}\n")), "{name} opens another rule");
                found.push(format!("{}/{name}.rule", group.file_name().unwrap().to_str().unwrap()));
            }
        }
    }
    found.sort();
    let mut shipped: Vec<String> = SHIPPED.iter().map(|(path, _)| (*path).to_owned()).collect();
    shipped.sort();
    assert_eq!(found, shipped);
}

#[test]
fn every_rule_has_its_page_and_examples() {
    for rule in RuleSet::shipped().rules() {
        for heading in HEADINGS.iter().filter(|heading| !MEASURES.contains(heading)) {
            assert!(!rule.heading(heading).is_empty(), "{}: {heading}", rule.name);
        }
        assert!(MEASURES.iter().any(|heading| !rule.heading(heading).is_empty()), "{}", rule.name);
        assert!(
            rule.examples().iter().any(|e| e.flags) && rule.examples().iter().any(|e| !e.flags),
            "{}",
            rule.name
        );
        let words = rule.name.split('-').all(|w| !w.is_empty() && w.chars().all(|c| c.is_ascii_lowercase()));
        assert!(words, "{} is no fault in words", rule.name);
    }
}

#[test]
fn every_word_of_the_language_is_documented() {
    for entry in language() {
        assert!(entry.docs.ends_with('.') && !entry.example.is_empty(), "{}", entry.name);
    }
}

#[test]
fn units_are_checked_at_the_exact_place() {
    let text = rule("  for each resistor r\n  danger when volts(r) + power(r) > 3 V");
    assert_eq!(faults(&text), [("units-differ", "volts(r) + power(r)".to_owned())]);
    assert_eq!(loaded(&text)[0].message, "adding volts to watts");
    let text = rule("  for each resistor r\n  danger when power(r) > 3 V");
    assert_eq!(loaded(&text)[0].message, "comparing watts with volts");
    assert!(loaded(&rule("  for each resistor r\n  danger when volts(r) / ohms(r) > 3 mA")).is_empty());
    assert!(
        loaded(&rule("  for each resistor r\n  danger when volts(r) > root(power(r) * ohms(r))")).is_empty()
    );
}

#[test]
fn unknown_names_are_named_with_the_nearest() {
    let text = rule("  for each resitor r\n  danger when powr(r) > 3 W");
    let found = loaded(&text);
    assert_eq!(found[0].help.as_deref(), Some("did you mean `resistor`?"));
    let text = rule("  for each resistor r\n  danger when powr(r) > 3 W");
    assert_eq!(faults(&text), [("unknown-function", "powr".to_owned())]);
    let text = rule("  for each resistor r where role(r) is droper\n  danger when power(r) > 3 W");
    assert_eq!(faults(&text), [("unknown-word", "droper".to_owned())]);
    let text = rule("  for each resistor r\n  in idel\n  danger when power(r) > 3 W");
    assert_eq!(faults(&text), [("unknown-condition", "idel".to_owned())]);
}

#[test]
fn a_message_names_what_is_not_bound() {
    let text = rule("  for each resistor r\n  danger when power(r) > 3 W\n  advise \"{x} is too small\"");
    assert_eq!(faults(&text), [("unknown-name", "x".to_owned())]);
}

#[test]
fn a_threshold_that_is_never_reached_is_an_error() {
    let text = rule("  for each resistor r\n  danger when power(r) > 1 W\n  warning when power(r) > 2 W");
    assert_eq!(faults(&text), [("unreachable-level", "power(r) > 2 W".to_owned())]);
    let text = rule(
        "  for each resistor r\n  danger when power(r) > rated-power(r)\n  warning when power(r) > 60 % of rated-power(r)",
    );
    assert!(faults(&text).is_empty());
}

#[test]
fn rules_are_complete_or_refused() {
    let codes: Vec<_> =
        loaded("rule test-rule\n  for each part p\n").iter().map(|p| p.message.clone()).collect();
    assert_eq!(codes.len(), 10, "{codes:#?}");
    let twice = format!(
        "{}{}",
        rule("  for each part p\n  danger when fitted(p)"),
        rule("  for each part p\n  danger when fitted(p)")
    );
    assert_eq!(faults(&twice), [("rule-twice", "test-rule".to_owned())]);
}

#[test]
fn only_a_danger_is_to_people() {
    let text = rule("  for each fuse f\n  danger to people when shorted(f)\n  danger when linked-out(f)");
    assert!(faults(&text).is_empty(), "{:?}", faults(&text));
    let set = RuleSet::load(&[(FileId(0), &text)]).0;
    let levels: Vec<&str> =
        set.rule("test-rule").unwrap().levels().into_iter().map(Severity::words).collect();
    assert_eq!(levels, ["danger to people", "danger"]);
    for (line, place, words) in [
        ("  warning to people when shorted(f)", "to people", "only a danger is to people, this is a warning"),
        (
            "  require shorted(f) else notice to people",
            "to people",
            "only a danger is to people, this is a notice",
        ),
        ("  danger to poeple when shorted(f)", "p", "expected `people` here"),
    ] {
        let text = rule(&format!("  for each fuse f\n{line}"));
        let found = loaded(&text);
        assert!(found.iter().any(|p| p.message == words), "{line}: {found:?}");
        assert!(faults(&text).iter().any(|(_, covered)| covered == place), "{line}: {:?}", faults(&text));
    }
}

#[test]
fn a_measure_says_whether_the_amplifier_is_dead_or_live() {
    let whole = rule("  for each fuse f\n  danger to people when shorted(f)");
    let without = |heading: &str| whole.replace(&format!("  {heading} \"x\"\n"), "");
    assert!(loaded(&without("measure dead")).is_empty() && loaded(&without("measure live")).is_empty());
    let bare = without("measure dead").replace("measure live", "measure");
    assert_eq!(faults(&bare), [("dead-or-live", "measure".to_owned())]);
    assert!(loaded(&bare)[0].help.as_ref().unwrap().contains("`measure dead"), "{:?}", loaded(&bare));
    let none = without("measure dead").replace("  measure live \"x\"\n", "");
    assert_eq!(loaded(&none)[0].message, "`test-rule` lacks the heading `measure`");
}

#[test]
fn bad_lines_are_named_and_the_rest_is_read() {
    let text = rule(
        "  for each resistor r\n  dangr when power(r) > 3 W\n  warning whn power(r) > 3 W\n  caution when (power(r) > 3 W",
    );
    let found = loaded(&text);
    let codes: Vec<_> = found.iter().map(|p| (p.code.word(), p.message.as_str())).collect();
    assert_eq!(codes[0].0, "unknown-clause");
    assert_eq!(found[0].help.as_deref(), Some("did you mean `danger`?"));
    assert_eq!(codes[1], ("not-understood", "expected `to` or `when` here"));
    assert_eq!(codes[2].0, "not-understood");
}

#[test]
fn brackets_nested_ten_thousand_deep_are_refused() {
    for (open, close) in
        [("(", ")"), ("power(", ")"), ("not ", ""), ("- ", ""), ("power of ", ""), ("stock(", ")")]
    {
        let text = rule(&format!(
            "  for each resistor r\n  danger when {}r{}",
            open.repeat(10_000),
            close.repeat(10_000)
        ));
        let found = loaded(&text);
        assert_eq!(found[0].code.word(), "nested-too-deep", "{open}: {}", found[0].message);
    }
    let text =
        rule(&format!("  for each resistor r\n  danger when power(r) > 1 W{}", " + 1 W".repeat(10_000)));
    assert_eq!(loaded(&text)[0].code.word(), "nested-too-deep");
    let text =
        rule(&format!("  for each part r\n  danger when fitted(r)\n  advise \"{{{}\"", "(".repeat(10_000)));
    assert!(!loaded(&text).is_empty());
}

#[test]
fn a_blank_may_not_pass() {
    let text = rule("  for each resistor r\n  danger when not unknown(rated-power(r))");
    assert_eq!(faults(&text), [("blank-passes", "unknown(rated-power(r))".to_owned())]);
    assert!(loaded(&rule("  for each resistor r\n  danger when unknown(rated-power(r))")).is_empty());
}

#[test]
fn packs_change_rules_with_a_reason() {
    let pack = |text: &str| RuleSet::shipped().extended(&[(FileId(0), text)]);
    let (set, problems) = pack("off dropper-overloaded because \"bench spare\"\n");
    assert!(problems.is_empty());
    assert_eq!(set.rule("dropper-overloaded").unwrap().off.as_deref(), Some("bench spare"));
    let (set, problems) =
        pack("set dropper-overloaded share to 50 %\nset dropper-overloaded level to caution because \"x\"\n");
    assert!(problems.is_empty(), "{problems:?}");
    assert!(set.rule("dropper-overloaded").unwrap().level_set.is_some());
    for (text, code) in [
        ("off dropper-overloaded\n", "not-understood"),
        ("off dropper-overloaded because \" \"\n", "no-reason"),
        ("off droper-overloaded because \"x\"\n", "unknown-rule"),
        ("set dropper-overloaded share to 50 V\n", "units-differ"),
        ("set dropper-overloaded shore to 50 %\n", "unknown-limit"),
    ] {
        let found: Vec<_> = pack(text).1.iter().map(|p| p.code.word()).collect();
        assert_eq!(found, [code], "{text}");
    }
}

#[test]
fn no_mangled_rule_text_panics() {
    for (_, text) in SHIPPED {
        let places: Vec<usize> = text.char_indices().map(|(i, _)| i).step_by(173).collect();
        for at in places {
            let (head, tail) = text.split_at(at);
            let rest: String = tail.chars().skip(1).collect();
            for mangled in [
                head.to_owned(),
                tail.to_owned(),
                format!("{head}\"{tail}"),
                format!("{head}(µ{{{rest}"),
                format!("{head}#{rest}"),
            ] {
                let (_, problems) = RuleSet::load(&[(FileId(0), &mangled)]);
                assert!(problems.iter().all(|p| p.span().end as usize <= mangled.len()));
            }
        }
    }
}

#[test]
fn a_quote_left_open_hides_no_brackets() {
    let text = format!("rule a-b\n  say \"x\n  danger when {}r\n  cure \"", "(".repeat(10_000));
    assert_eq!(loaded(&text)[0].code.word(), "nested-too-deep");
}

/// Counts over counts of all parts end as what could not be told; the same rule over a few parts ends as it should.
#[test]
fn a_rule_has_a_budget() {
    let nested =
        "count(every(count(fitted(d) for d in each part) > 0 for c in each part) for b in each part)";
    let text = rule(&format!("  for each part a\n  danger when {nested} < 0"));
    let (set, problems) = RuleSet::load(&[(FileId(0), &text)]);
    assert!(problems.is_empty(), "{problems:?}");
    let judged = |parts: usize| {
        let one = |n| format!("resistor R{n} 10k 5W from B1 to chassis\n");
        let resistors = (0..parts).map(one).collect::<Vec<_>>().concat();
        let stock =
            format!("stock \"X\"\nrail B1\nsource HT 300V behind 1R plus B1 minus chassis\n{resistors}");
        asfound::analysis::judge(&crate::support::built(&[("x.amp", &stock)]), &set).verdicts
    };
    let few = judged(9);
    assert!(few.too_large.is_empty() && few.total().passed == 10, "{few:?}");
    let many = judged(199);
    assert_eq!(many.too_large, ["test-rule"]);
    assert!(many.total().could_not_tell > 0 && many.findings.is_empty());
    assert!(
        many.could_not_tell.iter().all(|c| c.missing.starts_with("too large")),
        "{:?}",
        many.could_not_tell
    );
}
