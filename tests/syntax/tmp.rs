#[test]
fn show() {
    for path in std::env::var("FILES").unwrap_or_default().split_whitespace() {
        let text = std::fs::read_to_string(path).unwrap();
        println!("{path}\n{}", super::told(&text));
        let (tree, _) = asfound::syntax::document::parse(asfound::source::FileId(0), &text);
        let printed = asfound::syntax::print::print(&tree);
        std::fs::write(format!("/tmp/{}.tidy", path.rsplit('/').next().unwrap()), &printed).unwrap();
        let (again, _) = asfound::syntax::document::parse(asfound::source::FileId(0), &printed);
        assert_eq!(asfound::syntax::print::print(&again), printed);
    }
    if let Ok(file) = std::env::var("BIG") {
        let text = std::fs::read_to_string(file).unwrap();
        let start = std::time::Instant::now();
        let (tree, problems) = asfound::syntax::document::parse(asfound::source::FileId(0), &text);
        let took = start.elapsed().as_secs_f64();
        println!(
            "{} lines {} problems {:.3} s {:.2} MB/s",
            tree.lines.len(),
            problems.len(),
            took,
            text.len() as f64 / 1e6 / took
        );
    }
}
