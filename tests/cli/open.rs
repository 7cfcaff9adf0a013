//! What a record says stays in sight until something answers it; what was looked at stays so in the record that follows.

use super::Folder;

const JOB: &str = r#"as-found "job 7" of "moor.amp"
note "owner: hums, and V1 crackles"
note "smells of smoke"
R1 R2 checked
C3 missing "snipped"
R6 reads 131k "warm to the touch"
added capacitor C90 1u 50V electrolytic plus V1b.cathode minus chassis "whose?"
bridged B2 to V2.plate with wire W1 "tacked on"
meter V2.cathode 40V
meter T2.8R 3V ac at 1kHz
"#;

const PLAN: &str =
    "plan \"stock again\" for \"job.amp\"\nrestore C3\nremove C90\nremove W1\nchange R5 to 2k2 0.5W\n";

fn bench(left: &str) -> Folder {
    let folder = Folder::bench();
    folder.write("job.amp", JOB.as_bytes());
    folder.write("plan.amp", PLAN.as_bytes());
    folder.write("left.amp", format!("as-left \"back\" after \"plan.amp\"\n{left}").as_bytes());
    folder.write("next.amp", b"as-found \"job 8\" of \"left.amp\"\nR1 checked\n");
    folder
}

/// What is open by a command's JSON, each in a few words; the whole text has them too.
fn open(folder: &Folder, line: &str) -> Vec<String> {
    let ran = folder.run(&format!("{line} --format json"));
    let report: serde_json::Value = serde_json::from_str(&ran.out).expect("JSON");
    let text = folder.run(&format!("{line} --whole")).out.split_whitespace().collect::<Vec<_>>().join(" ");
    let word = |open: &serde_json::Value| {
        let about = open["about"].as_str().unwrap_or("-");
        let words = open["words"].as_str().unwrap_or("a reading");
        assert_eq!(open["document"], "job 7");
        assert!(text.contains(if words == "a reading" { "reads 40 V" } else { words }), "{text}");
        format!("{about}: {words}")
    };
    let all = report["open"].as_array().expect("a list").iter().map(word).collect::<Vec<_>>();
    assert_eq!(text.contains("Still open"), !all.is_empty(), "{text}");
    all
}

const NOTES: [&str; 2] = ["-: owner: hums, and V1 crackles", "-: smells of smoke"];
const REMARKS: [&str; 3] = ["C3: snipped", "C90: whose?", "R6: warm to the touch"];
const WIRE: &str = "W1: tacked on";
const READING: &str = "V2.cathode: a reading";

#[test]
fn what_a_record_says_stays_in_sight_until_it_is_answered() {
    let folder = bench("R7 checked\n");
    assert_eq!(open(&folder, "audit job.amp"), NOTES);
    let all = [&NOTES[..], &REMARKS, &[READING, WIRE]].concat();
    for line in ["audit plan.amp", "review plan.amp", "audit left.amp", "review left.amp"] {
        assert_eq!(open(&folder, line), all, "{line}");
    }
    assert_eq!(open(&folder, "audit next.amp"), [""; 0]);
    // What was done, read again and looked at answers; a reading in another state doesn't.
    let folder = bench("done C3 C90 W1\nR6 reads 100k\nmeter V2.cathode 16V in standby\n");
    assert_eq!(open(&folder, "audit left.amp"), [&NOTES[..], &[READING]].concat());
    let folder = bench("done all\nmeter V2.cathode 16V\nR6 reads 100k\nV1 checked\n");
    assert_eq!(open(&folder, "audit left.amp"), ["-: smells of smoke"]);
    // A plan is no answer.
    assert_eq!(open(&folder, "audit plan.amp"), all);
}

/// Parts of the top record that count as not looked at.
fn unseen(folder: &Folder, file: &str) -> Vec<String> {
    let ran = folder.run(&format!("audit --format json {file}"));
    let report: serde_json::Value = serde_json::from_str(&ran.out).expect("JSON");
    let groups = report["coverage"]["not_looked_at"].as_array().expect("a list").iter();
    let parts = groups.flat_map(|group| group["parts"].as_array().expect("parts"));
    parts.map(|part| part.as_str().expect("a name").to_owned()).collect()
}

#[test]
fn an_as_left_record_counts_what_the_record_beneath_looked_at_and_what_was_done() {
    let folder = bench("done C3\nR7 checked\n");
    let left = unseen(&folder, "left.amp");
    for part in ["R1", "R2", "R6", "C3", "R7"] {
        assert!(!left.contains(&part.to_owned()), "{part}: {left:?}");
    }
    // Planned and not done, and never named.
    for part in ["R5", "R4"] {
        assert!(left.contains(&part.to_owned()), "{part}: {left:?}");
    }
    let next = unseen(&folder, "next.amp");
    assert!(next.contains(&"R2".to_owned()) && next.contains(&"C3".to_owned()), "{next:?}");
    assert!(!next.contains(&"R1".to_owned()), "{next:?}");
    // All of a plan: also what `restore all` put back.
    folder.write("plan.amp", b"plan \"stock again\" for \"job.amp\"\nrestore all\n");
    folder.write("left.amp", b"as-left \"back\" after \"plan.amp\"\ndone all\n");
    let left = unseen(&folder, "left.amp");
    assert!(!left.contains(&"C3".to_owned()) && left.contains(&"R4".to_owned()), "{left:?}");
}

/// A short that keeps the supply from settling is told at its statement; findings decide the exit status, no known
/// finding is dropped, and a command that can answer nothing names it too.
#[test]
fn what_keeps_the_supply_from_settling_ends_in_findings() {
    let folder = Folder::bench();
    let path = format!("{}/examples/hollin-100/hollin-100.amp", env!("CARGO_MANIFEST_DIR"));
    folder.write("stock.amp", &std::fs::read(path).expect("the example"));
    folder.write(
        "found.amp",
        b"as-found \"blows fuses\" of \"stock.amp\"\n\nbridged L1.1 to S3.T2.4R with wire W50\n",
    );
    for line in ["lint found.amp", "audit found.amp", "review found.amp", "survey found.amp"] {
        let ran = folder.run(line);
        assert_eq!(ran.status, 1, "{line}: {ran:?}");
        let told = if line.starts_with("survey") { &ran.out } else { &ran.err };
        assert!(told.contains("with W50 bridged"), "{line}: {ran:?}");
    }
    for line in ["volts found.amp", "supply found.amp", "response found.amp"] {
        let ran = folder.run(line);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{line}");
        assert!(ran.err.contains("with W50 bridged"), "{line}: {ran:?}");
    }
}
