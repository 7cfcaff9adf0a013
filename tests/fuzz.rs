//! Mutated documents, rule files, lists of known findings and merges, given to the tool as a user would: whatever the text,
//! it ends without a panic and in time, says what is wrong, and says the same twice.
//!
//! `cargo run --example fuzz -- SEED CASES [FIRST]`; the same seed makes the same cases on any machine. A case that fails is
//! printed with its seed, its number and the smallest text found that fails alike, and the exit status is 1.

#![allow(clippy::print_stdout, reason = "printing is what it is for")]

#[path = "fuzz/case.rs"]
mod case;
#[path = "fuzz/corpus.rs"]
mod corpus;
#[path = "fuzz/mutate.rs"]
mod mutate;
#[path = "fuzz/shrink.rs"]
mod shrink;

use std::collections::BTreeMap;
use std::process::ExitCode;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use case::Case;
use corpus::Corpus;

/// A case that takes longer hangs: the slowest sound one takes a hundredth of it.
const HANGS: Duration = Duration::from_secs(60);
/// Workers, as many as the machine is taken to have cores.
const WORKERS: u64 = 2;

/// What all workers share.
struct Run {
    seed: u64,
    corpus: Corpus,
    next: AtomicU64,
    end: u64,
    executions: AtomicU64,
    failed: Mutex<Vec<u64>>,
    /// What each worker is at, and since when.
    at: Mutex<BTreeMap<u64, (u64, Instant)>>,
}

fn main() -> ExitCode {
    let mut words = std::env::args().skip(1).map(|word| word.parse::<u64>().expect("SEED CASES [FIRST]"));
    let (seed, cases) = (words.next().unwrap_or(412), words.next().unwrap_or(20_000));
    let first = words.next().unwrap_or(0);
    // A panic is caught and told with its case; thousands of backtraces on the way to the smallest are not.
    std::panic::set_hook(Box::new(|_| {}));
    let run = Run {
        seed,
        corpus: Corpus::read(),
        next: AtomicU64::new(first),
        end: first + cases,
        executions: AtomicU64::new(0),
        failed: Mutex::new(Vec::new()),
        at: Mutex::new(BTreeMap::new()),
    };
    let began = Instant::now();
    std::thread::scope(|scope| {
        let workers: Vec<_> = (0..WORKERS)
            .map(|worker| {
                scope.spawn({
                    let run = &run;
                    move || work(run, worker)
                })
            })
            .collect();
        while workers.iter().any(|worker| !worker.is_finished()) {
            std::thread::sleep(Duration::from_millis(50));
            stop_if_hanging(&run);
        }
    });
    let failed = run.failed.into_inner().expect("no worker holds it");
    println!(
        "seed {seed}: {cases} mutated inputs, {} runs, {} failed, {:.0} s",
        run.executions.into_inner(),
        failed.len(),
        began.elapsed().as_secs_f64()
    );
    if failed.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn work(run: &Run, worker: u64) {
    let folder = tempfile::tempdir().expect("a folder for the cases");
    loop {
        let number = run.next.fetch_add(1, Ordering::Relaxed);
        // After a few failures the rest would say the same.
        if number >= run.end || run.failed.lock().expect("no worker panics with it").len() > 8 {
            break;
        }
        run.at.lock().expect("no worker panics with it").insert(worker, (number, Instant::now()));
        let case = Case::new(&run.corpus, run.seed, number);
        match case.run(folder.path()) {
            Ok(executions) => drop(run.executions.fetch_add(executions, Ordering::Relaxed)),
            Err(why) => {
                let told = format!(
                    "seed {} case {number}: {why}\n{}",
                    run.seed,
                    shrink::smallest(case, &why, folder.path())
                );
                println!("{told}");
                run.failed.lock().expect("no worker panics with it").push(number);
            }
        }
    }
    run.at.lock().expect("no worker panics with it").remove(&worker);
}

/// A thread that never ends can't be ended: the case is told and the process with it.
#[allow(clippy::exit, reason = "nothing else ends a thread that hangs")]
fn stop_if_hanging(run: &Run) {
    let at = run.at.lock().expect("no worker panics with it");
    if let Some((number, _)) = at.values().find(|(_, since)| since.elapsed() > HANGS) {
        let case = Case::new(&run.corpus, run.seed, *number);
        println!("seed {} case {number}: no end after {HANGS:?}\n{}", run.seed, case.told());
        std::process::exit(1);
    }
}
