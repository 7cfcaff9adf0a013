//! An archive of a thousand jobs, surveyed: `cargo bench --bench bench_survey`.
//!
//! Every job is the example's, with readings, controls and mains of its own; all rest on one stock spec.

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::time::Instant;

use asfound::cli::{Console, run};

const JOBS: usize = 1000;

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    let example = |name: &str| {
        let path = format!("{}/examples/sedge-45/{name}", env!("CARGO_MANIFEST_DIR"));
        std::fs::read_to_string(path).expect("the example is there")
    };
    let write = |name: &str, text: &str| {
        std::fs::write(folder.path().join(name), text).expect("the folder takes files");
    };
    write("sedge-45.amp", &example("sedge-45.amp"));
    let job = example("job-0412.amp");
    for at in 0..JOBS {
        write(&format!("job-{at:04}.amp"), &varied(&job, at));
    }
    let words = ["asfound".into(), "survey".into(), folder.path().as_os_str().to_owned()];
    for threads in [1, 2] {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let start = Instant::now();
        let status = pool.install(|| run(words.clone(), &mut Console::new(&mut out, &mut err, None)));
        let seconds = start.elapsed().as_secs_f64();
        println!("{} documents, {threads} cores: {seconds:6.2} s, status {status}", JOBS + 1);
    }
}

/// The job with readings and controls of another day.
fn varied(job: &str, at: usize) -> String {
    let replace = [
        ("job 0412", format!("job {at:04}")),
        ("reads 131k", format!("reads {}k", 90 + at % 61)),
        ("reads 382k", format!("reads {}k", 340 + at % 43)),
        ("set VR8 34%", format!("set VR8 {}%", 25 + at % 21)),
        ("leaks 45uA", format!("leaks {}uA", 5 + at % 47)),
        ("mains 231V", format!("mains {}V", 222 + at % 17)),
    ];
    replace.iter().fold(job.to_owned(), |text, (old, new)| {
        assert!(text.contains(old), "{old}");
        text.replacen(old, new, 1)
    })
}
