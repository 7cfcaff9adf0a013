//! Holds SARIF logs to the schema that OASIS publishes (`reference/published/README.md`): `sarif-schema LOG…`.

use std::process::ExitCode;
use std::{env, fs};

use serde_json::Value;

fn main() -> ExitCode {
    let logs: Vec<String> = env::args().skip(1).collect();
    let faults: Vec<String> = logs.iter().flat_map(|path| faults(path)).collect();
    faults.iter().for_each(|fault| eprintln!("{fault}"));
    println!("{} logs, {} faults by the schema of SARIF 2.1.0", logs.len(), faults.len());
    if logs.is_empty() || !faults.is_empty() { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

fn faults(path: &str) -> Vec<String> {
    let text = fs::read_to_string(path).unwrap_or_else(|why| panic!("{path}: {why}"));
    let mut log: Value = serde_json::from_str(&text).unwrap_or_else(|why| panic!("{path}: {why}"));
    let schema = schema();
    let mut faults: Vec<String> = schema.iter_errors(&log).map(|fault| format!("{path}: {fault}")).collect();
    // Without a message a result is none: the schema does look.
    if let Some(result) = log["runs"][0]["results"].get_mut(0).and_then(Value::as_object_mut) {
        result.remove("message");
        if schema.is_valid(&log) {
            faults.push(format!("{path}: the schema misses that a result has no message"));
        }
    }
    faults
}

fn schema() -> jsonschema::Validator {
    // A bracket too many in the schema's pattern of a language, which no log here states.
    let text = include_str!("../reference/published/sarif-schema-2.1.0.json")
        .replace("-[a-zA-Z]{2}]?$", "-[a-zA-Z]{2}$");
    let schema = serde_json::from_str(&text).expect("the schema is JSON");
    jsonschema::options().should_validate_formats(true).build(&schema).expect("the schema is one")
}
