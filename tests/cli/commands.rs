//! What each command prints.

use super::{Folder, MOOR};
use crate::retold::{Numbers, Telling};
use crate::support::stock;

#[test]
fn the_voltage_chart_of_a_record() {
    let ran = Folder::bench().run("volts job.amp");
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    insta::assert_snapshot!(ran.out);
}

/// Asked for, the chart says where other amplifiers of the model lie; the same seed draws the same ones.
#[test]
fn the_voltage_chart_with_its_spread() {
    let folder = Folder::bench();
    let plain = folder.run("volts moor.amp").out;
    assert!(!plain.contains("1 % to 99 %"), "{plain}");
    let first = folder.run("volts --spread moor.amp");
    assert_eq!((first.status, first.err.as_str()), (0, ""));
    assert!(first.out.contains("1 % to 99 %") && first.out.contains("to first order"), "{}", first.out);
    let drawn = folder.run("volts --samples 200 --seed 4 moor.amp");
    assert_eq!((drawn.status, drawn.err.as_str()), (0, ""));
    assert!(drawn.out.contains("200 amplifiers drawn at random, seed 4"), "{}", drawn.out);
    assert_eq!(drawn.out, folder.run("volts --samples 200 --seed 4 moor.amp").out);
    assert_ne!(drawn.out, folder.run("volts --samples 200 --seed 5 moor.amp").out);
    let json = folder.run("volts --samples 200 --format json moor.amp").out;
    assert!(json.contains("\"method\": \"monte-carlo\""));
    assert_eq!(folder.run("volts --seed 4 moor.amp").status, 2);
    assert_eq!(folder.run("volts --samples 1 moor.amp").status, 2);
}

#[test]
fn roles_with_the_paths_that_prove_them() {
    let ran = Folder::bench().run("roles moor.amp");
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    insta::assert_snapshot!(ran.out);
}

#[test]
fn differences_from_what_a_document_rests_on() {
    let folder = Folder::bench();
    let ran = folder.run("diff job.amp");
    assert_eq!((ran.status, ran.err.as_str()), (1, ""));
    insta::assert_snapshot!(ran.out);
    assert_eq!(folder.run("diff moor.amp moor.amp").status, 0);
    let alone = folder.run("diff moor.amp");
    assert_eq!(alone.status, 2);
    assert!(alone.err.contains("rests on no other document"), "{}", alone.err);
}

#[test]
fn texts_side_by_side() {
    let folder = Folder::bench();
    folder.write("other.amp", MOOR.replace("R41 22k 2W", "R41 27k 3W").as_bytes());
    let ran = folder.run("diff --texts moor.amp other.amp");
    assert_eq!(ran.status, 1);
    insta::assert_snapshot!(ran.out);
}

#[test]
fn another_hand_s_telling_is_compared_by_circuit() {
    let folder = Folder::bench();
    let text = MOOR.replace("R41 22k 2W", "R41 27k 2W");
    let circuit = stock(&text);
    let (anew, _) = Telling::of(&text, &circuit).tell(&mut Numbers(12));
    folder.write("anew.amp", anew.as_bytes());
    let ran = folder.run("diff moor.amp anew.amp");
    assert_eq!((ran.status, ran.err.as_str()), (1, ""));
    insta::assert_snapshot!(ran.out);
    assert!(!folder.run("diff --by names moor.amp anew.amp").out.contains("Matched by circuit"));
    assert!(folder.run("diff --by circuit moor.amp moor.amp").out.contains("0 under another name"));
    let value: serde_json::Value =
        serde_json::from_str(&folder.run("diff --format json moor.amp anew.amp").out).unwrap();
    assert_eq!((&value["by_circuit"]["cost"], &value["by_circuit"]["least"]), (&2.into(), &2.into()));
    // What the one change does is the same whatever the parts are called.
    folder.write("same.amp", text.as_bytes());
    let effects = |other: &str| -> serde_json::Value {
        let ran = folder.run(&format!("diff --effects --format json moor.amp {other}"));
        let value: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        let rows = value["effects"].as_array().unwrap().iter();
        rows.map(|e| serde_json::json!([e["subject"], e["after"].as_f64().map(|v| (v * 1e4).round())]))
            .collect()
    };
    assert!(effects("same.amp").as_array().is_some_and(|rows| rows.len() > 2));
    assert_eq!(effects("same.amp"), effects("anew.amp"));
}

/// Head, changes and effects; not the findings between them, which change with the rules.
#[test]
fn changes_and_effects_of_an_audit() {
    let ran = Folder::bench().run("audit --whole job.amp");
    let (head, rest) = ran.out.split_once("\nFindings\n").unwrap();
    let start = rest.lines().position(|line| line.contains(" since Moor 5 (stock)")).unwrap();
    let end = rest.lines().position(|line| line.starts_with("Not yet looked at")).unwrap();
    let middle: Vec<&str> = rest.lines().take(end).skip(start).collect();
    insta::assert_snapshot!(format!("{head}\n{}", middle.join("\n")));
    let after = rest;
    for heading in
        ["\nNot yet looked at (", "\nReadings, predictions at 236 V mains\n", "\nBefore you open it\n"]
    {
        assert!(after.contains(heading), "{after}");
    }
    assert!(after.contains("Judged: "), "{after}");
}

#[test]
fn a_plan_is_shown_beside_what_was_found_and_stock() {
    let ran = Folder::bench().run("audit --whole plan.amp");
    assert!(ran.out.contains("changes since job 0501 (as-found)"), "{}", ran.out);
    assert!(ran.out.contains("against Moor 5 (stock)"), "{}", ran.out);
    let (_, three) = ran.out.split_once("Stock, before and now\n").unwrap();
    let head = three.lines().next().unwrap();
    assert!(["stock", "found", "planned"].iter().all(|word| head.contains(word)), "{three}");
}

#[test]
fn levels_decide_the_exit_status() {
    // 22 k with about 40 V across: 73 mW, on a tenth of a watt.
    let hot = MOOR.replace("R41 22k 2W", "R41 22k 0.1W");
    let folder = Folder::of(&[("hot.amp", &hot)]);
    let ran = folder.run("lint --whole hot.amp");
    assert_eq!(ran.status, 1, "{}", ran.out);
    assert!(ran.out.contains("R41 dissipates"), "{}", ran.out);
    assert!(ran.out.contains("hot.amp:12"), "{}", ran.out);
    assert_eq!(folder.run("lint --whole --fail-on danger hot.amp").status, 0);
}

#[test]
fn a_pack_of_the_shop_switches_a_rule_off() {
    let hot = MOOR.replace("R41 22k 2W", "R41 22k 0.1W");
    let pack = "off dropper-overloaded because \"tried and left\"\n";
    let folder = Folder::of(&[("hot.amp", &hot), ("shop.rule", pack)]);
    let ran = folder.run("lint --rules shop.rule hot.amp");
    assert!(ran.out.contains("a pack changes dropper-overloaded: switched off: tried and left"), "{ran:?}");
    assert!(!ran.out.contains("R41 dissipates"), "{}", ran.out);
}

#[test]
fn rules_are_listed_explained_and_proved() {
    let folder = Folder::bench();
    let list = folder.run("rules");
    assert_eq!(list.status, 0);
    assert!(list.out.contains("dropper-overloaded"), "{}", list.out);
    let one = folder.run("rules dropper-overloaded");
    assert_eq!(one.status, 0);
    for words in
        ["sign", "cure", "source", "As written", "An example that it flags", "An example that it passes"]
    {
        assert!(one.out.contains(words), "{words}: {}", one.out);
    }
}

#[test]
fn tidy_writes_in_place_and_keeps_comments() {
    let folder = Folder::of(&[
        ("a.amp", "stock  \"X\"   # the head\n\n\nrail   B1\n# the end\n"),
        ("bad.amp", "stcok\n"),
    ]);
    let shown = folder.run("tidy a.amp");
    assert_eq!(shown.status, 0);
    assert_eq!(shown.out, "stock \"X\"  # the head\n\nrail B1\n# the end\n");
    let check = folder.run("tidy --check a.amp");
    assert_eq!((check.status, check.out.as_str()), (1, "a.amp is not in canonical form\n"));
    let both = folder.run("tidy --write a.amp bad.amp");
    assert_eq!(both.status, 2, "{both:?}");
    assert_eq!(folder.read("a.amp"), shown.out);
    assert_eq!(folder.read("bad.amp"), "stcok\n");
    assert_eq!(folder.run("tidy --check a.amp").status, 0);
}

#[cfg(unix)]
#[test]
fn tidy_keeps_permissions_and_follows_links() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = Folder::of(&[("a.amp", "stock  \"X\"\n")]);
    std::fs::set_permissions(folder.path("a.amp"), std::fs::Permissions::from_mode(0o640)).unwrap();
    symlink(folder.path("a.amp"), folder.path("link.amp")).unwrap();
    assert_eq!(folder.run("tidy --write link.amp").status, 0);
    assert_eq!(folder.read("a.amp"), "stock \"X\"\n");
    assert!(folder.path("link.amp").symlink_metadata().unwrap().is_symlink());
    let mode = folder.path("a.amp").metadata().unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o640);
    std::fs::set_permissions(folder.path("a.amp"), std::fs::Permissions::from_mode(0o440)).unwrap();
    folder.run("tidy --write link.amp");
    assert_eq!(folder.read("a.amp"), "stock \"X\"\n");
}

#[test]
fn json_parses_names_its_schema_and_is_the_same_twice() {
    let folder = Folder::bench();
    let lines = [
        ("audit --format json plan.amp", "asfound/audit/1"),
        ("audit --format json job.amp", "asfound/audit/1"),
        ("diff --format json job.amp", "asfound/diff/1"),
        ("lint --format json job.amp", "asfound/lint/1"),
        ("volts --format json --in cold-start job.amp", "asfound/volts/2"),
        ("supply --format json job.amp", "asfound/supply/1"),
        ("review --format json plan.amp", "asfound/review/1"),
        ("roles --format json job.amp", "asfound/roles/1"),
        ("rules --format json", "asfound/rules/1"),
        ("rules --format json dropper-overloaded", "asfound/rule/2"),
    ];
    for (line, schema) in lines {
        let ran = folder.run(line);
        let value: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        assert_eq!(value["schema"], schema, "{line}");
        assert_eq!(folder.run(line).out, ran.out, "{line}");
    }
}

/// What an archive had is set aside, but for dangers without a reason; what is new counts, what is gone is said.
#[test]
fn known_findings() {
    let folder = Folder::bench();
    let first = folder.run("lint --whole --fail-on notice job.amp");
    assert_eq!(first.status, 1);
    folder.run("lint --whole --write-known known.txt job.amp");
    let noted = folder.read("known.txt");
    assert!(noted.contains("\njob.amp\n"), "{noted}");
    let text = noted.replace("  danger", "  # danger");
    let dangers = noted.matches("  danger ").count();
    assert!(dangers > 0, "{noted}");
    // A danger counts until its line has a reason.
    let known = folder.run("lint --whole --fail-on notice --known known.txt job.amp");
    assert_eq!(known.status, 1, "{known:?}");
    assert_eq!(known.out.matches("\n  danger").count(), first.out.matches("\n  danger").count());
    assert!(known.out.contains("Known, and still there"));
    let with_reason = |line: &str| {
        let reason = if line.starts_with("  danger") { " because \"the owner knows\"" } else { "" };
        format!("{line}{reason}")
    };
    let reasons = noted.lines().map(with_reason).collect::<Vec<_>>().join("\n") + "\n";
    let gone = "  caution  part-drifted  R77\n";
    std::fs::write(folder.path("known.txt"), reasons + gone).unwrap();
    let known = folder.run("lint --whole --fail-on notice --known known.txt job.amp");
    assert_eq!(known.status, 0, "{known:?}");
    assert!(known.out.contains("Known, and there no more\n  - part-drifted on R77"), "{}", known.out);
    // One that is not in the file is new.
    let line = text.lines().find(|l| l.starts_with("  warning") || l.starts_with("  caution")).unwrap();
    let less = folder.read("known.txt").replace(&format!("{line}\n"), "");
    std::fs::write(folder.path("known.txt"), less).unwrap();
    assert_eq!(folder.run("lint --whole --fail-on notice --known known.txt job.amp").status, 1);
    std::fs::write(folder.path("known.txt"), "asfound known findings 1\njob.amp\n  grave x y\n").unwrap();
    let wrong = folder.run("lint --whole --known known.txt job.amp");
    assert_eq!(wrong.status, 2);
    assert!(wrong.err.contains("known.txt, line 3: `grave` is no level"), "{wrong:?}");
}

/// A finding keeps its fingerprint while lines move. That logs are valid by the schema of SARIF is for `schema/`.
#[test]
fn findings_for_code_review() {
    let folder = Folder::bench();
    let log = |file: &str| {
        let ran = folder.run(&format!("lint --format sarif {file}"));
        let value: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        value["runs"][0].clone()
    };
    let told = |run: &serde_json::Value| -> Vec<(String, u64)> {
        let results = run["results"].as_array().unwrap().iter();
        let key =
            |r: &serde_json::Value| r["partialFingerprints"]["documentRuleSubjectCondition/v1"].to_string();
        let line =
            |r: &serde_json::Value| r["locations"][0]["physicalLocation"]["region"]["startLine"].as_u64();
        results.map(|r| (key(r), line(r).unwrap_or(0))).collect()
    };
    let before = told(&log("job.amp"));
    assert!(before.len() > 3);
    let text = folder.read("job.amp").replacen('\n', "\n# one\n# two\n", 1);
    std::fs::write(folder.path("job.amp"), text).unwrap();
    let after = told(&log("job.amp"));
    let keys = |told: &[(String, u64)]| told.iter().map(|(key, _)| key.clone()).collect::<Vec<_>>();
    assert_eq!(keys(&before), keys(&after));
    assert_ne!(before, after);
    // A document that can't be judged: a log that says so.
    std::fs::write(folder.path("wrong.amp"), folder.read("job.amp") + "C3 mising\n").unwrap();
    let wrong = folder.run("lint --format sarif wrong.amp");
    let log_of_wrong: serde_json::Value = serde_json::from_str(&wrong.out).unwrap();
    assert_eq!(wrong.status, 2, "{wrong:?}");
    let run = &log_of_wrong["runs"][0]["invocations"][0];
    assert!(run["executionSuccessful"] == false && run["toolExecutionNotifications"].is_array(), "{run}");
    let run = log("job.amp");
    for result in run["results"].as_array().unwrap() {
        let rule = &run["tool"]["driver"]["rules"][result["ruleIndex"].as_u64().unwrap() as usize];
        assert_eq!(rule["id"], result["ruleId"]);
    }
}

/// Two benches wrote on from one record: what only one says is taken, what both say stands once, and where they differ
/// over a part that is a conflict by its name.
#[test]
fn two_records_of_one_job() {
    let base = "as-found \"job\" of \"moor.amp\"\n# looked at\nR1 R2 R3 checked\nR6 reads 120k  # warm\nmeter B1 300V\n";
    let ours = "as-found \"job\" of \"moor.amp\"\n# looked at\nR1 R2 R3 R4 checked\nR6 reads 131k  # warm\nmeter B1 300V\n\
        C3 missing \"gone\"\n";
    let theirs = "as-found \"job\" of \"moor.amp\"\n# looked at\nR1 R3 checked\nR6 reads 120k  # warm\nmeter B1 305V\n\
        R5 replaced 5k6 0.5W\nC3 missing \"gone\"\n";
    let folder = Folder::of(&[("base.amp", base), ("ours.amp", ours), ("theirs.amp", theirs)]);
    let ran = folder.run("merge base.amp ours.amp theirs.amp");
    assert_eq!(ran.status, 0, "{ran:?}");
    let expected = "as-found \"job\" of \"moor.amp\"\n# looked at\nR1 R3 R4 checked\n\
        R6 reads 131k  # warm\nC3 missing \"gone\"\nmeter B1 305V\nR5 replaced 5k6 0.5W\n";
    assert_eq!(ran.out, expected);
    // Parts added by either are kept; two under one name are a conflict of that name.
    let added = |name: &str, ohms: &str| {
        format!("as-found \"job\" of \"moor.amp\"\nadded resistor {name} {ohms} 1W from B1 to B2\n")
    };
    for (file, text) in [
        ("b.amp", "as-found \"job\" of \"moor.amp\"\n"),
        ("o.amp", &added("R90", "1k")),
        ("t.amp", &added("R91", "1k")),
    ] {
        std::fs::write(folder.path(file), text).unwrap();
    }
    let both = folder.run("merge b.amp o.amp t.amp");
    assert!(both.status == 0 && both.out.contains("R90 1k") && both.out.contains("R91 1k"), "{both:?}");
    std::fs::write(folder.path("t.amp"), added("R90", "2k2")).unwrap();
    assert!(folder.run("merge b.amp o.amp t.amp").err.contains("differ over R90"));
    std::fs::write(folder.path("theirs.amp"), theirs.replace("R6 reads 120k", "R6 reads 118k")).unwrap();
    let ran = folder.run("merge --write base.amp ours.amp theirs.amp");
    assert_eq!(ran.status, 1, "{ran:?}");
    assert!(ran.err.contains("the two differ over R6"), "{ran:?}");
    let merged = folder.read("ours.amp");
    let conflict =
        "<<<<<<< ours: R6\nR6 reads 131k  # warm\n=======\nR6 reads 118k  # warm\n>>>>>>> theirs: R6\n";
    assert!(merged.contains(conflict), "{merged}");
    // Nobody takes it for a record before it is settled.
    std::fs::write(folder.path("plan.amp"), "plan \"p\" for \"ours.amp\"\nrestore C3\n").unwrap();
    for line in [
        "lint ours.amp",
        "audit ours.amp",
        "survey ours.amp",
        "volts ours.amp",
        "supply ours.amp",
        "response ours.amp",
        "roles ours.amp",
        "diff ours.amp",
        "review ours.amp",
        "tidy --write ours.amp",
        "merge --write base.amp ours.amp theirs.amp",
        "lint plan.amp",
        "review plan.amp",
    ] {
        let ran = folder.run(line);
        let told = ran.out + &ran.err;
        assert!(
            ran.status == 2 && told.contains("not settled: the two records differ over R6"),
            "{line}: {told}"
        );
        assert_eq!(folder.read("ours.amp"), merged, "{line}");
    }
    std::fs::write(folder.path("theirs.amp"), "as-foun\n").unwrap();
    assert_eq!(folder.run("merge base.amp ours.amp theirs.amp").status, 2);
}

/// Broken documents among sound ones: each told with its error, the others surveyed all the same, whatever the number
/// of threads; what several share is said.
#[test]
fn many_documents() {
    let folder = Folder::bench();
    let job = folder.read("job.amp");
    std::fs::create_dir(folder.path("old")).unwrap();
    for number in 0..6 {
        let text = job.replacen("of \"moor.amp\"", "of \"../moor.amp\"", 1);
        std::fs::write(folder.path(&format!("old/job-{number}.amp")), text).unwrap();
    }
    for (name, text) in [("bad-1", "stcok \"x\"\n"), ("bad-2", "as-found \"x\" of \"nowhere.amp\"\n")] {
        std::fs::write(folder.path(&format!("old/{name}.amp")), text).unwrap();
    }
    std::fs::write(folder.path("old/notes.txt"), "no document").unwrap();
    let ran = folder.run("survey old");
    assert_eq!(ran.status, 2);
    for words in ["8 documents in old/", "bad-1.amp:", "bad-2.amp:", "  6  ", "job-5.amp"] {
        assert!(ran.out.contains(words), "{words}: {}", ran.out);
    }
    assert_eq!(
        folder.run("survey old/job-0.amp old/job-1.amp --fail-on danger").status,
        folder.run("lint --fail-on danger job.amp").status
    );
    let lines = folder.run("survey --format json old").out;
    let parsed: Vec<serde_json::Value> =
        lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(parsed.len(), 8);
    let alone: serde_json::Value =
        serde_json::from_str(&folder.run("lint --format json job.amp").out).unwrap();
    let open = alone["findings"].as_array().unwrap().iter().filter(|f| f["accepted"].is_null()).count();
    let job = parsed.iter().find(|line| line["path"] == "old/job-3.amp").unwrap();
    assert_eq!(job["findings"].as_array().unwrap().len(), open);
    // What several rest on is worked out once for all of them: none is told anything else than alone.
    let by_itself = folder.run("survey --format json old/job-3.amp").out;
    assert!(lines.lines().any(|line| line == by_itself.trim_end()), "{by_itself}");
    assert!(parsed[0]["trouble"][0].as_str().unwrap().contains("bad-1.amp:1"), "{}", parsed[0]);
    assert_eq!(folder.run("survey nowhere").status, 2);
    // A pattern that no shell has expanded, and any number of threads.
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let pattern = folder.path("old/job-*.amp").display().to_string();
        pool.install(|| folder.run(&format!("survey --format json {pattern}")))
    };
    let one = on(1);
    assert_eq!((one.out.lines().count(), &one.err[..]), (6, ""), "{one:?}");
    assert_eq!([&on(2).out, &on(3).out], [&one.out, &one.out]);
    assert!(folder.run("survey old/x*.amp").err.contains("nothing fits it"));
    assert!(folder.run("survey old/x[.amp").err.contains("the pattern"));
    // One file under two names is one document.
    let twice = folder.run("survey old ./old").out;
    assert!(twice.contains("8 documents"), "{twice}");
    // Known findings of the whole archive in one file: what is new of one document counts alone.
    let jobs = "old/job-0.amp old/job-1.amp";
    let ran = folder.run(&format!("survey --fail-on notice --write-known old/known.txt {jobs}"));
    assert_eq!(ran.status, folder.run("lint --fail-on notice --write-known one.txt job.amp").status);
    let known = folder.read("old/known.txt");
    assert!(known.contains("\njob-0.amp\n  ") && known.contains("\njob-1.amp\n  "), "{known}");
    let reasons = known.lines().map(|line| {
        if line.starts_with("  danger") { format!("{line}  because \"told\"\n") } else { format!("{line}\n") }
    });
    std::fs::write(folder.path("old/known.txt"), reasons.collect::<String>()).unwrap();
    let quiet = folder.run(&format!("survey --fail-on notice --known old/known.txt {jobs}"));
    assert_eq!(quiet.status, 0, "{quiet:?}");
    let text = folder.read("old/job-1.amp") + "R1 missing\n";
    std::fs::write(folder.path("old/job-1.amp"), text).unwrap();
    assert_eq!(folder.run(&format!("survey --fail-on notice --known old/known.txt {jobs}")).status, 1);
}

/// A plan against what it rests on, against the stock spec, and the wrong way round.
#[test]
fn a_plan_is_reviewed() {
    let folder = Folder::bench();
    let found: Vec<String> =
        ["job.amp", "plan.amp"].map(|file| folder.run(&format!("lint --format json {file}")).out).to_vec();
    let keys = |text: &str| -> std::collections::BTreeSet<String> {
        let value: serde_json::Value = serde_json::from_str(text).unwrap();
        let open = value["findings"].as_array().unwrap().iter().filter(|f| f["accepted"].is_null());
        // What a rule says of other findings the review says itself.
        let own = open
            .filter(|f| !["plan-leaves-hazard", "plan-brings-hazard"].contains(&f["rule"].as_str().unwrap()));
        own.map(|f| format!("{} {}", f["rule"], f["subjects"][0])).collect()
    };
    let (before, after) = (keys(&found[0]), keys(&found[1]));
    let ran = folder.run("review --format json plan.amp");
    let value: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let listed = |list: &str| -> std::collections::BTreeSet<String> {
        let all = value[list].as_array().unwrap().iter();
        all.map(|f| format!("{} {}", f["rule"], f["subjects"][0])).collect()
    };
    // A plan looks at no part and reads no meter: nothing is cleared by that.
    let record = ["safety-part-not-looked-at", "reading-off"];
    let circuit = |key: &&String| !record.iter().any(|rule| key.contains(rule));
    assert!(before.difference(&after).any(|key| !circuit(&key)), "{before:?}");
    assert_eq!(listed("cleared"), before.difference(&after).filter(circuit).cloned().collect());
    let brought: std::collections::BTreeSet<String> = after.difference(&before).cloned().collect();
    assert!(brought.is_subset(&listed("brought")), "{brought:?} {:?}", listed("brought"));
    assert!(listed("brought").is_disjoint(&listed("still")));
    assert_eq!(listed("brought").len() + listed("still").len(), after.len());
    assert!(
        !value["changes"].as_array().unwrap().is_empty() && !value["windows"].as_array().unwrap().is_empty()
    );
    let text = folder.run("review --whole plan.amp");
    assert!(text.out.contains("Findings it clears") && text.out.contains("Windows"), "{text:?}");
    let stock = folder.run("review --base moor.amp plan.amp");
    assert!(stock.status < 2 && stock.out.contains("moor.amp"), "{stock:?}");
    let wrong = folder.run("review --base plan.amp job.amp");
    assert_eq!(wrong.status, 2);
    assert!(wrong.err.contains("it is the later one of the two"), "{wrong:?}");
    assert_eq!(folder.run("review --whole moor.amp").status, 2);
}

/// A pack beside the document is used without being named, once.
#[test]
fn packs_beside_the_document() {
    let folder = Folder::bench();
    let pack = "set part-drifted level to danger because \"ours\"\noff non-stock because \"ours\"\n";
    let before = folder.run("lint --fail-on danger job.amp");
    std::fs::write(folder.path("shop.rule"), pack).unwrap();
    for line in ["lint job.amp", "lint --rules shop.rule job.amp", "lint --rules . job.amp"] {
        let ran = folder.run(line);
        assert!(ran.out.contains("a pack changes non-stock: switched off: ours"), "{line} {ran:?}");
        assert_ne!(ran.out, before.out);
    }
    std::fs::write(folder.path("shop.rule"), "set part-driftet level to danger because \"ours\"\n").unwrap();
    let wrong = folder.run("lint job.amp");
    assert_eq!(wrong.status, 2);
    assert!(wrong.err.contains("did you mean `part-drifted`?"), "{wrong:?}");
}

/// In one state only what holds in it is told, and effects are of it.
#[test]
fn one_state_of_the_amplifier() {
    let folder = Folder::bench();
    let high = folder.run("audit --whole --in high-mains job.amp");
    assert!(high.out.contains("Effects at high mains, Moor 5 (stock)"), "{high:?}");
    let idle = folder.run("audit --whole job.amp");
    let effects = |out: &str| {
        let (_, after) = out.split_once("Effects at").unwrap();
        after.split_once("(stock) → now").unwrap().1.split("\nFindings").next().unwrap().to_owned()
    };
    assert_ne!(effects(&high.out), effects(&idle.out));
    let lint = folder.run("lint --whole --in standby job.amp");
    assert_eq!(lint.status, 2);
    assert!(lint.err.contains("has no standby: there is no standby switch"), "{lint:?}");
    let cold: serde_json::Value =
        serde_json::from_str(&folder.run("lint --format json --in cold-start job.amp").out).unwrap();
    let conditions = cold["findings"].as_array().unwrap().iter().map(|f| f["condition"].clone());
    assert!(conditions.clone().count() > 0);
    assert!(conditions.into_iter().all(|c| c.is_null() || c == "cold-start"));
}

#[test]
fn help_of_every_command_has_examples() {
    let folder = Folder::bench();
    insta::assert_snapshot!("help", folder.run("--help").out);
    for command in [
        "audit",
        "diff",
        "lint",
        "volts",
        "supply",
        "response",
        "review",
        "survey",
        "merge",
        "git-driver",
        "roles",
        "tidy",
        "rules",
    ] {
        let ran = folder.run(&format!("{command} --help"));
        assert_eq!(ran.status, 0);
        assert!(ran.out.contains("Examples:"), "{command}");
        insta::assert_snapshot!(format!("help_{command}"), ran.out);
    }
}

/// The current of a spare section that is put to use is the share of what put it to use.
#[test]
fn a_spare_section_put_to_use_has_its_share() {
    let spare = MOOR
        .replace("pot VR1 1M log \"Volume\" wiper V1b.grid", "pot VR1 1M log \"Volume\" wiper V2.grid")
        .replace("resistor R5 1k5 0.5W from V1b.cathode to chassis\n", "")
        .replace("resistor R6 100k 1W from B3 to V1b.plate\n", "")
        .replace("capacitor C4 22n 400V film from V1b.plate to V2.grid\n", "");
    let spare = format!("{spare}V1b unused grid chassis cathode chassis\n");
    let used = "as-found \"x\" of \"spare.amp\"\nV1b used in \"lead\"\n\
        added resistor R90 1k5 0.5W from V1b.cathode to chassis in \"lead\"\n\
        added resistor R91 100k 1W from B3 to V1b.plate in \"lead\"\n\
        added resistor R92 1M 0.5W from V1b.grid to chassis in \"lead\"\nR8 replaced 390R 5W\n";
    let ran = Folder::of(&[("spare.amp", &spare), ("used.amp", used)]).run("audit --whole used.amp");
    let rail = ran.out.lines().find(|line| line.trim_start().starts_with("B3")).unwrap();
    assert!(!rail.contains("together") && rail.contains("\"lead\""), "{rail}\n{ran:?}");
}
