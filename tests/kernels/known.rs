use asfound::rules::{CouldNotTell, Finding, Known, Level, Tally, Verdicts};

const TEXT: &str = "asfound known findings 1\n# ours\njob.amp\n  caution  grid-leak-too-high  V5\n  \
                    danger dropper-overloaded R42 because \"told #7\"  # in May\n\n\tnotice part-added the whole \
                    amplifier\n\n# next\n  # shelf\nb.amp\n";

#[test]
fn text_comes_back() {
    let known = Known::parse(TEXT).expect("a list");
    assert_eq!(known.print(), TEXT);
    let told = format!("{known:?}");
    for words in ["subject: \"V5\"", "because: Some(\"told #7\")", "subject: \"the whole amplifier\""] {
        assert_eq!(told.matches(words).count(), 1, "{told}");
    }
}

#[test]
fn what_is_wrong_is_told_with_its_line() {
    for (text, words) in [
        ("", "line 1: this is not a list"),
        ("# asfound known findings 1", "line 1: this is not a list"),
        ("stock \"x\"\n", "line 1: this is not a list"),
        ("asfound known findings 1\n  caution a V5", "line 2: a finding before any document"),
        ("asfound known findings 1\nx.amp\n  grave a V5", "line 3: `grave` is no level"),
        ("asfound known findings 1\nx.amp\n  caution a", "line 3: write"),
        ("asfound known findings 1\nx.amp\n  caution a V5 because no", "line 3: the reason is not in quotes"),
    ] {
        let why = Known::parse(text).map_or_else(|why| why, |known| format!("{known:?}"));
        assert!(why.contains(words), "{why}");
    }
}

/// Verdicts by rules `a` and `b`, of these findings: level, rule, subject.
fn verdicts(found: &[(Level, &str, &str)]) -> Verdicts {
    let finding = |(level, rule, subject): &(Level, &str, &str)| Finding {
        rule: (*rule).to_owned(),
        level: *level,
        message: String::new(),
        advice: None,
        or_accept: false,
        subjects: vec![(*subject).to_owned()],
        parts: Vec::new(),
        spans: Vec::new(),
        values: Vec::new(),
        condition: None,
        case: None,
        accepted: None,
        known: false,
        known_because: None,
        to_people: false,
    };
    let tallies = ["a", "b"].map(|rule| (rule.to_owned(), Tally::default())).to_vec();
    Verdicts { findings: found.iter().map(finding).collect(), tallies, ..Verdicts::default() }
}

#[test]
fn what_a_person_wrote_stays_when_a_list_is_noted_anew() {
    let text = "asfound known findings 1\n# the shop's\n\nz.amp\n  # by hand\n  caution b R9  # order kept\n  \
                warning  a  R1  because \"waits\"\n  danger a R2 because \"gone\"\n  notice a R3\n  caution a R4 \
                because \"mild\"\n  caution other R5\n  caution b R6\n\n# below\na.amp\n  notice a R1\n";
    let mut known = Known::parse(text).expect("a list");
    let mut judged = verdicts(&[
        (Level::Caution, "b", "R9"),
        (Level::Caution, "a", "R1"),
        (Level::Danger, "a", "R4"),
        (Level::Notice, "b", "R10"),
    ]);
    let missing = "rating".to_owned();
    judged.could_not_tell.push(CouldNotTell { rule: "b".into(), subject: "R6".into(), missing });
    known.note("z.amp", &judged, true);
    let expected = "asfound known findings 1\n# the shop's\n\nz.amp\n  # by hand\n  caution b R9  # order kept\n  \
                    caution  a  R1  because \"waits\"\n  # no more: danger a R2 because \"gone\"\n  # was: caution a \
                    R4 because \"mild\"\n  danger   a  R4\n  caution other R5\n  caution b R6\n  notice   b  R10\n\n\
                    # below\na.amp\n  notice a R1\n";
    assert_eq!(known.print(), expected);
    // Judged in one state, or not solved: nothing goes.
    known.note("a.amp", &verdicts(&[]), false);
    assert_eq!(known.print(), expected);
    known.note("a.amp", &verdicts(&[]), true);
    assert_eq!(known.print(), expected.strip_suffix("a.amp\n  notice a R1\n").expect("at the end"));
}
