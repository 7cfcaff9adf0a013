//! A danger to people isn't taken away by words, and what leads to the bench says what to mind.

use asfound::analysis::{CAUTION, CAUTIONS};
use asfound::rules::RuleSet;
use asfound::source::FileId;
use serde_json::Value;

use super::Folder;

/// A supply on the mains, its lead without earth.
const STOCK: &str = r#"stock "Dunnock 3"
mains 230V 50Hz
rail B1 "plates"
inlet P1 live F1.1
open P1.earth
fuse F1 1A slow "mains"
switch S1 "Mains" positions off on now on
contact S1 on joins F1.2 to T1.primary.a
contact S1 on joins P1.neutral to T1.primary.b
transformer T1 mains
winding T1.primary 230V 9R
winding T1.ht 280V-0-280V 60R a side
link W2 from T1.ht.centre to chassis
diode D1 1N4007 anode T1.ht.a cathode B1
diode D2 1N4007 anode T1.ht.b cathode B1
capacitor C1 47u 500V electrolytic plus B1 minus chassis
resistor R1 220k 2W from B1 to chassis
"#;

/// Foil round its fuse.
const FOUND: &str = r#"as-found "job 21" of "stock.amp"
P1 T1 C1 S1 checked
F1 shorted "foil"
"#;

/// A text without its line breaks.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn bench(files: &[(&str, &str)]) -> Folder {
    let folder = Folder::of(&[("stock.amp", STOCK), ("found.amp", FOUND)]);
    for (name, text) in files {
        folder.write(name, text.as_bytes());
    }
    folder
}

/// Rule and accepted reason of every danger to people that the JSON of a lint tells as one that counts.
fn to_people(folder: &Folder, line: &str) -> Vec<(String, String)> {
    let ran = folder.run(line);
    let json: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{}{}", ran.out, ran.err));
    assert_eq!(ran.status, 1, "{}", ran.out);
    let findings = json["findings"].as_array().unwrap().iter();
    findings
        .filter(|f| f["to_people"] == true && f["counts"] == true && f["level"] == "danger")
        .map(|f| {
            let reason =
                f["accepted"]["because"].as_str().or(f["known_because"].as_str()).unwrap_or_default();
            (f["rule"].as_str().unwrap().to_owned(), reason.to_owned())
        })
        .collect()
}

#[test]
fn an_acceptance_takes_no_danger_to_people_away() {
    let plan = "plan \"leave it\" for \"found.amp\"\naccept fuse-bridged because \"it kept blowing\"\n\
                accept protective-earth-missing because \"owner wants two cores\"\n\
                accept part-shorted-out because \"the same\"\naccept mains-fuse-missing because \"the same\"\n\
                accept plan-leaves-hazard because \"the same\"\n";
    let folder = bench(&[("plan.amp", plan)]);
    let found = to_people(&folder, "lint --fail-on danger --format json plan.amp");
    let reason = |rule: &str| found.iter().find(|(r, _)| r == rule).map(|(_, reason)| reason.as_str());
    assert_eq!(reason("fuse-bridged"), Some("it kept blowing"), "{found:?}");
    assert_eq!(reason("protective-earth-missing"), Some("owner wants two cores"), "{found:?}");
    for line in ["lint plan.amp", "audit plan.amp", "survey plan.amp", "review --base stock.amp plan.amp"] {
        let ran = folder.run(line);
        assert_eq!(ran.status, 1, "{line}");
        assert!(flat(&ran.out).contains("accepted, and a danger all the same"), "{line}:\n{}", ran.out);
    }
    let lint = folder.run("lint --whole plan.amp");
    assert!(lint.out.contains("accepted: \"it kept blowing\" (plan.amp:2)"), "{}", lint.out);
    assert!(!lint.out.contains("None."), "{}", lint.out);
    // What stays is no reason to approve: a review against the record, which had it too, fails as well.
    assert_eq!(folder.run("review --fail-on danger plan.amp").status, 1);
    let log: Value = serde_json::from_str(&folder.run("lint --format sarif plan.amp").out).unwrap();
    let results = log["runs"][0]["results"].as_array().unwrap();
    let people: Vec<&Value> = results.iter().filter(|r| r["properties"]["toPeople"] == true).collect();
    assert!(people.len() >= 4, "{results:#?}");
    assert!(people.iter().all(|r| r["suppressions"].is_null()), "a suppressed result is not shown");
}

#[test]
fn a_pack_beside_the_document_takes_no_danger_to_people_away() {
    let pack = |line: &str| bench(&[("house.rule", line)]);
    for (line, words) in [
        (
            "off fuse-bridged because \"ours\"",
            "`fuse-bridged` is a danger to people, which no pack switches off",
        ),
        (
            "set fuse-bridged level to notice because \"ours\"",
            "`fuse-bridged` is a danger to people, which no pack lowers",
        ),
        (
            "set part-missing level to warning because \"ours\"",
            "`part-missing` is a danger to people, which no pack lowers",
        ),
    ] {
        let folder = pack(line);
        for command in ["lint found.amp", "audit found.amp", "survey found.amp", "review found.amp"] {
            let ran = folder.run(command);
            assert_eq!(ran.status, 2, "{command}: {}", ran.out);
            assert!(ran.err.contains(words) && ran.err.contains("house.rule:1"), "{command}: {}", ran.err);
            assert!(ran.err.contains("help"), "{}", ran.err);
        }
    }
    // What leaves the danger as it is may be set.
    let folder =
        pack("set fuse-bridged level to danger because \"ours\"\nset fuse-too-large more to 150 %\n");
    assert_eq!(folder.run("lint found.amp").status, 1);
}

/// A rule of one's own, its limit in a comparison.
fn limited(expr: &str) -> String {
    let headings = "  sign \"x\"\n  danger \"x\"\n  measure dead \"x\"\n  cure \"x\"\n  not seen \"x\"\n  source \"x\"\n";
    format!(
        "rule too-much-within-reach\n  for each resistor r\n  limit most is 2 mA\n  limit part is 50 %\n  \
         danger to people when {expr}\n  caution when volts(r) > part of 1 V\n  say \"x\"\n{headings}  flags \"\"\"\n    \
         a\n  \"\"\"\n  passes \"\"\"\n    b\n  \"\"\"\n"
    )
}

#[test]
fn a_limit_of_a_danger_to_people_moves_to_the_stricter_side_alone() {
    for (expr, stricter, laxer) in [
        ("amps(r) > most", Some("1 mA"), Some("3 mA")),
        ("amps(r) > 2 * most", Some("1 mA"), Some("3 mA")),
        ("not amps(r) <= most", Some("1 mA"), Some("3 mA")),
        ("most > amps(r)", Some("3 mA"), Some("1 mA")),
        ("amps(r) + most > 1 A", Some("3 mA"), Some("1 mA")),
        ("amps(r) outside 0 A to most", Some("1 mA"), Some("3 mA")),
        ("any(amps(s) > most for s in each resistor)", Some("1 mA"), Some("3 mA")),
        ("power(r) > most * ohms(r) * 1 A", Some("1 mA"), Some("3 mA")),
        // Volts may be negative: which way is safer can't be told.
        ("power(r) > most * volts(r)", None, Some("1 mA")),
        ("power(r) > most * volts(r)", None, Some("3 mA")),
        ("amps(r) = most", None, Some("1 mA")),
        ("abs(amps(r) - most) > 1 A", None, Some("3 mA")),
    ] {
        let rule = limited(expr);
        let set = |to: &str| {
            let text = format!("{rule}set too-much-within-reach most to {to}\n");
            let (_, problems) = RuleSet::load(&[(FileId(0), &text)]);
            problems.iter().map(|p| p.code.word()).collect::<Vec<_>>()
        };
        assert_eq!(set("2 mA"), Vec::<&str>::new(), "{expr}: as written");
        assert!(
            stricter.is_none_or(|to| set(to).is_empty()),
            "{expr} at {stricter:?}: {:?}",
            stricter.map(set)
        );
        assert_eq!(laxer.map(set), Some(vec!["danger-to-people"]), "{expr} at {laxer:?}");
    }
    // A limit that the danger doesn't hang on may be set either way.
    for to in ["20 %", "80 %"] {
        let text = format!("{}set too-much-within-reach part to {to}\n", limited("amps(r) > most"));
        assert!(RuleSet::load(&[(FileId(0), &text)]).1.is_empty());
    }
}

#[test]
fn a_list_of_known_findings_takes_no_danger_to_people_away() {
    let known = "asfound known findings 1\nfound.amp\n  danger fuse-bridged F1 because \"ok\"\n  danger mains-fuse-missing P1 \
                 because \"ok\"\n  danger protective-earth-missing P1\n";
    let folder = bench(&[("known.txt", known)]);
    let found = to_people(&folder, "lint --known known.txt --fail-on danger --format json found.amp");
    let told = |rule: &str, reason: &str| found.contains(&(rule.into(), reason.into()));
    assert!(
        told("fuse-bridged", "ok")
            && told("mains-fuse-missing", "ok")
            && told("protective-earth-missing", "")
    );
    assert_eq!(found.len(), 3, "a bridged fuse is told once: {found:?}");
    for line in ["lint", "audit", "survey"] {
        let ran = folder.run(&format!("{line} --known known.txt --fail-on danger found.amp"));
        assert_eq!(ran.status, 1, "{line}");
        assert!(flat(&ran.out).contains("accepted, and a danger all the same"), "{line}:\n{}", ran.out);
    }
}

#[test]
fn one_state_of_the_amplifier_leaves_no_danger_to_people_out() {
    let folder = bench(&[]);
    assert!(!to_people(&folder, "lint --in high-mains --format json found.amp").is_empty());
}

#[test]
fn what_a_pack_changed_is_told_on_every_page_that_judges() {
    let pack = "off safety-part-not-looked-at because \"done by hand\"\nset charge-stays-long level to caution because \
                \"small benches\"\nset fuse-too-large more to 150 %\n";
    let folder = bench(&[("house.rule", pack)]);
    for line in ["lint found.amp", "audit found.amp", "survey found.amp", "review found.amp"] {
        let out = flat(&folder.run(line).out);
        for words in [
            "a pack changes safety-part-not-looked-at: switched off: done by hand",
            "a pack changes charge-stays-long: level set to caution: small benches",
            "a pack changes fuse-too-large: more set to 150 %, 120 % as written",
        ] {
            assert!(out.contains(words), "{line}: {words}\n{out}");
        }
        let json = folder.run(&format!("{line} --format json")).out;
        let json: Value =
            serde_json::from_str(json.lines().next().filter(|_| line.starts_with("survey")).unwrap_or(&json))
                .unwrap();
        assert_eq!(json["rules_changed"].as_array().map(Vec::len), Some(3), "{line}");
    }
}

#[test]
fn a_reason_has_words() {
    for reason in ["", " ", "…", "\u{200b}", "-"] {
        let plan = format!(
            "plan \"p\" for \"found.amp\"\naccept non-stock because \"{reason}\"\nwindow B1 100V to 200V because \"{reason}\"\n"
        );
        let ran = bench(&[("plan.amp", &plan)]).run("lint plan.amp");
        assert_eq!(ran.status, 2);
        assert_eq!(ran.err.matches("the reason says nothing").count(), 2, "{reason:?}: {}", ran.err);
        let pack = format!(
            "set fuse-too-large more to 110 % because \"{reason}\"\noff part-drifted because \"{reason}\"\n"
        );
        let ran = bench(&[("house.rule", &pack)]).run("lint found.amp");
        assert_eq!(ran.err.matches("the reason says nothing").count(), 2, "{reason:?}: {}", ran.err);
        let known =
            format!("asfound known findings 1\nfound.amp\n  danger fuse-bridged F1 because \"{reason}\"\n");
        assert_eq!(bench(&[("known.txt", &known)]).run("lint --known known.txt found.amp").status, 2);
    }
}

#[test]
fn no_shipped_text_offers_acceptance_for_a_danger_to_people() {
    let shipped = RuleSet::shipped();
    let people: Vec<_> = shipped.rules().filter(|rule| rule.endangers_people()).collect();
    assert!(people.len() >= 10, "{}", people.len());
    for rule in people {
        let offers = |text: &str| ["accept", "reason"].iter().any(|word| text.contains(word));
        for (heading, text) in rule.headings() {
            assert!(!offers(&text), "{}, {heading}: {text}", rule.name);
        }
    }
    // And what the findings themselves advise, over every example that a rule flags so.
    for rule in shipped.rules() {
        for example in rule.examples().iter().filter(|example| example.flags) {
            let Ok(facts) = asfound::analysis::example_facts(&shipped, &example.documents) else { continue };
            let verdicts = asfound::rules::check(&shipped, &facts);
            let endangered = verdicts.findings.iter().any(|finding| finding.to_people);
            for finding in verdicts.findings.iter().filter(|_| endangered) {
                let advice = finding.advice.as_deref().unwrap_or_default();
                assert!(!advice.contains("accept it"), "{}: {advice}", finding.rule);
            }
        }
    }
}

/// A second finding about what endangers people offers no acceptance either, whatever it names: the lifted earth, the
/// bleeder without which the plug stays charged, the resistor of a jack, a bridge without a part.
#[test]
fn nothing_beside_a_danger_to_people_is_offered_for_acceptance() {
    let sound = super::people::stock(
        "mains 230V 50Hz limits 207V to 253V",
        "capacitor C9 1u 275V class-X2 from F1.2 to P1.neutral\nresistor R9 470k 1W from F1.2 to P1.neutral\n\
         jack J2 \"Send\" sleeve chassis\ncapacitor C2 1u 630V film from B1 to J2.tip\n\
         resistor R3 470k 0.5W from J2.tip to chassis\n",
    );
    let lint = |line: &str| {
        let found = format!("as-found \"job 9\" of \"stock.amp\"\n{line}\n");
        let ran = Folder::of(&[("stock.amp", &sound), ("found.amp", &found)]).run("lint --whole found.amp");
        flat(&ran.out)
    };
    let harmless = lint("R1 replaced 180k 2W\nR2 missing");
    assert!(harmless.contains("restore R2, or accept it with a reason"), "{harmless}");
    for (line, advice) in [
        ("P1.earth lifted", "restore P1"),
        ("P1 missing", "restore P1"),
        ("F1 missing", "restore F1"),
        ("R9 missing", "restore R9"),
        ("R3 missing", "restore R3"),
        ("bridged B1 to J1.tip", "wire it as the spec has it"),
        ("bridged F1.1 to F1.2 with wire W7", "wire it as the spec has it"),
    ] {
        let told = lint(&format!("{line}\nR1 replaced 180k 2W"));
        assert!(told.contains("to people:") && told.contains(advice), "{line}: {told}");
        assert!(!told.contains("accept it"), "{line}: {told}");
    }
}

#[test]
fn every_page_that_leads_to_the_bench_ends_with_the_caution() {
    let folder = Folder::bench();
    for line in [
        "audit job.amp",
        "diff job.amp",
        "diff --effects --texts moor.amp job.amp",
        "lint job.amp",
        "review plan.amp",
        "survey job.amp",
        "volts job.amp",
        "supply moor.amp",
        "response job.amp",
        "roles job.amp",
    ] {
        let ran = folder.run(line);
        let whole = line.starts_with("audit") || line.starts_with("supply");
        let last = if whole { CAUTIONS[CAUTIONS.len() - 1] } else { CAUTION };
        assert!(flat(&ran.out).ends_with(last), "{line}:\n{}{}", ran.out, ran.err);
        if whole {
            assert!(CAUTIONS.iter().all(|caution| flat(&ran.out).contains(caution)), "{line}:\n{}", ran.out);
        }
        let ran = folder.run(&format!("{line} --format json").replace(" --texts", ""));
        let json: Value = serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{line}: {why}"));
        let told: Vec<&str> =
            json["cautions"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
        assert!(told.ends_with(&CAUTIONS), "{line}");
    }
    for file in ["job.amp", "nowhere.amp"] {
        let log: Value =
            serde_json::from_str(&folder.run(&format!("lint --format sarif {file}")).out).unwrap_or_default();
        let cautions = log["runs"][0]["properties"]["cautions"].as_array();
        assert!(cautions.is_some_and(|c| c.len() == CAUTIONS.len()) || file == "nowhere.amp", "{log}");
    }
    assert!(CAUTION.contains("local codes and licensed practice"), "{CAUTION}");
    // What leads nobody to the bench stays a tool for texts.
    assert!(!folder.run("tidy job.amp").out.contains(CAUTION));
}

#[test]
fn a_rule_says_what_is_done_before_measuring() {
    let folder = bench(&[]);
    let dead = folder.run("rules fuse-bridged").out;
    assert!(dead.contains("(dead: power off, unplugged, discharged, verified)"), "{dead}");
    let live = folder.run("rules dropper-overloaded").out;
    assert!(live.contains("(live: one hand, leads clipped on before power)"), "{live}");
    assert!(dead.contains("danger to people when"), "{dead}");
}

#[test]
fn a_move_to_the_safer_side_is_not_told_as_a_fault() {
    let stock = STOCK.replace("inlet P1 live F1.1\nopen P1.earth\n", "inlet P1 live F1.1 two-core\n")
        + "capacitor C9 10n 275V class-X2 from F1.2 to P1.neutral\n";
    let found = "as-found \"job 22\" of \"stock.amp\"\nP1 replaced 250V\nadded link W9 from P1.earth to chassis\n\
                 R1 replaced 220k 5W\nC9 replaced 10n 275V class-Y2\nC1 replaced 47u 600V electrolytic\n";
    let folder = bench(&[("stock.amp", &stock), ("found.amp", found)]);
    let ran = folder.run("lint --format json found.amp");
    let json: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{}", ran.err));
    let findings = json["findings"].as_array().unwrap();
    for part in ["P1", "W9", "R1", "C9", "C1"] {
        for finding in findings.iter().filter(|f| f["subjects"][0] == part) {
            let advice = finding["advice"].as_str().unwrap_or_default();
            assert!(
                !advice.contains("restore")
                    && !advice.contains("take it out")
                    && !advice.contains("spec has it"),
                "{finding:#}"
            );
        }
        assert!(
            findings.iter().any(|f| f["subjects"][0] == part && f["advice"] == "leave it so"),
            "{part}: {findings:#?}"
        );
    }
    // A lower rating, or one that nobody has stated, is none.
    let folder = bench(&[
        ("stock.amp", &stock),
        ("found.amp", "as-found \"j\" of \"stock.amp\"\nR1 replaced 220k\nC9 replaced 10n 275V film\n"),
    ]);
    assert!(!folder.run("lint found.amp").out.contains("leave it so"));
}
