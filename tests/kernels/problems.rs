use asfound::render::problems::problems;
use asfound::source::{Problem, ProblemCode, Source, Sources, Span};

fn shown(text: &str, find: &str) -> String {
    let mut sources = Sources::default();
    let file = sources.add(Source::new("bench.amp", text));
    let start = text.find(find).expect("in the text") as u32;
    let span = Span { file, start, end: start + find.len() as u32 };
    let problem = Problem::error(ProblemCode::UnknownPlace, span, "`B9` is not a declared place");
    let text = problems(&[problem.here("unknown").help("did you mean `B3`?")], &sources, 80);
    anstream::adapter::strip_str(&text).to_string()
}

#[test]
fn a_problem_stands_in_its_line() {
    insta::assert_snapshot!(shown("rail B3\nresistor R1 1k from B9 to B3\nrail B4\n", "B9"));
}

#[test]
fn one_endless_line_is_shown_in_part() {
    let text = format!("{} B9 {}", "µ".repeat(100_000), "x".repeat(100_000));
    assert!(shown(&text, "B9").len() < 3000);
}

#[test]
fn a_thousand_problems_take_no_time() {
    let line = "resistor R1 1k from B9 to B3\n";
    let text = line.repeat(5000);
    let mut sources = Sources::default();
    let file = sources.add(Source::new("bench.amp", text));
    let at = |i: u32| Span { file, start: i * line.len() as u32, end: (i + 1) * line.len() as u32 - 1 };
    let many: Vec<Problem> =
        (0..1000).map(|i| Problem::error(ProblemCode::NotUnderstood, at(i * 5), "a fault")).collect();
    let start = std::time::Instant::now();
    problems(&many, &sources, 100);
    assert!(start.elapsed().as_millis() < 1500, "{:?}", start.elapsed());
}
