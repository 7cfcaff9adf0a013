//! Measures the house and prints its figures: folders, circles, functions, comments. The tests hold what must hold.

#![allow(clippy::print_stdout, reason = "printing is this program's output")]
#![allow(dead_code, reason = "the tests hold the arrows, the program also prints the figures")]

#[path = "house/circles.rs"]
pub(crate) mod circles;
#[path = "house/figures.rs"]
pub(crate) mod figures;
#[path = "house/read.rs"]
pub(crate) mod read;
#[path = "house/uses.rs"]
pub(crate) mod uses;

use std::collections::BTreeMap;

fn main() {
    let files = read::modules();
    let arrows = uses::arrows(&files);
    let lines: usize = files.values().map(figures::code_lines).sum();
    println!("{} files, {lines} lines of code", files.len());

    let mut folders: BTreeMap<&str, figures::Size> = BTreeMap::new();
    for (module, file) in &files {
        folders.entry(circles::folder(module)).or_default().add(file);
    }
    let mut sized: Vec<_> = folders.into_iter().collect();
    sized.sort_by_key(|(name, size)| (std::cmp::Reverse(size.code), *name));
    println!("lines of code, their share of all, why-comments in a hundred of them:");
    for (name, size) in sized {
        println!(
            "  {:5} {:4.1} % {:5.2}  {name}",
            size.code,
            100.0 * size.code as f64 / lines as f64,
            size.why()
        );
    }
    println!("why-comments of the folders below them, where there are 300 lines of code or more:");
    for (path, size) in figures::by_folder(files.values()).iter().filter(|(_, size)| size.code >= 300) {
        println!("  {:5} {:5.2}  {path}", size.code, size.why());
    }

    let between = circles::between_folders(&arrows);
    for (from, to) in &between {
        println!("{from} knows {}", to.iter().map(String::as_str).collect::<Vec<_>>().join(" "));
    }
    for circle in circles::circles(&between) {
        println!("circle of folders: {}", circle.join(" "));
    }
    for circle in circles::circles(&arrows) {
        let names: Vec<String> = circle.iter().map(|module| module.join("/")).collect();
        println!("circle of files: {}", names.join(" "));
    }

    let functions: Vec<figures::Function> = files.values().flat_map(figures::functions).collect();
    let short = functions.iter().filter(|f| f.lines <= 15).count();
    let long = functions.iter().filter(|f| f.lines > 60).count();
    let wide = functions.iter().filter(|f| f.parameters > 4).count();
    let why: usize = files.values().map(figures::why_lines).sum();
    println!(
        "{} functions, {:.1} % of at most 15 lines, {long} of over 60",
        functions.len(),
        100.0 * short as f64 / functions.len() as f64
    );
    println!("{wide} functions with more than four parameters");
    println!(
        "{:.2} lines of comment that is not documentation in a hundred lines of code",
        100.0 * why as f64 / lines as f64
    );
}
