#[test]
fn show() {
    for line in std::fs::read_to_string("/tmp/mist.txt").unwrap().lines() {
        let text = line.replace("\\n", "\n");
        let shown = super::told(&text);
        println!("{}\n    {}", text.lines().nth(1).unwrap(), shown.trim().replace('\n', "\n    "));
    }
}
