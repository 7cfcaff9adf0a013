//! A line that is no statement: what is wrong with it, told from its first word on.

use pest::Parser as _;
use pest::error::{ErrorVariant, InputLocation};
use pest::iterators::Pair;

use super::grammar::{Grammar, Rule};
use super::legs::electrode_help;
use super::rule_words::{keyword_of, rule_words};
use super::{Walk, trade};
use crate::model::{DocumentKind, Kind};
use crate::source::{Problem, ProblemCode, Span, nearest};
use crate::syntax::conflict::Mark;
use crate::syntax::words::{A_PART, KINDS, KindWord, STATEMENTS, StatementWord};

/// Statements whose words may be legs of a valve.
const TAKES_LEGS: [&str; 4] = [A_PART, "added", "fit", "unused"];

/// A piece of a line: a word or a quoted text.
#[derive(Debug, Clone, Copy)]
struct Token<'a> {
    text: &'a str,
    start: usize,
}

impl Token<'_> {
    fn end(&self) -> usize {
        self.start + self.text.len()
    }
}

impl Walk {
    /// Tells what is wrong with a line that is no statement.
    pub(super) fn unread(&mut self, junk: &Pair<Rule>) {
        let text = junk.as_str().trim_end();
        let base = self.base + junk.as_span().start();
        let first = text.split_whitespace().next().unwrap_or("");
        self.unread_lines = true;
        if let Some(mark) = Mark::of(text, self.at(base, 0, text.len())) {
            self.marks.push(mark);
            return;
        }
        self.misspelt_header |= nearest(first, DocumentKind::ALL.map(DocumentKind::word)).is_some();
        self.unread_header |= self.misspelt_header;
        if !self.is_full() {
            let problem = self.odd_character(text, base).unwrap_or_else(|| self.fault(text, base));
            self.push(problem);
        }
    }

    fn at(&self, base: usize, start: usize, end: usize) -> Span {
        Span { file: self.file, start: (base + start) as u32, end: (base + end.max(start)) as u32 }
    }

    /// A character that no line may hold, quotes of another kind, or a quote that is not closed.
    fn odd_character(&self, text: &str, base: usize) -> Option<Problem> {
        let span = |at: usize, c: char| self.at(base, at, at + c.len_utf8());
        if let Some((at, c)) = text.char_indices().find(|(_, c)| c.is_control() && *c != '\t') {
            let code = u32::from(c);
            return Some(
                Problem::error(
                    ProblemCode::ControlCharacter,
                    span(at, c),
                    format!("not text: control character U+{code:04X}"),
                )
                .here("control character")
                .help("delete it; is the file really a text?"),
            );
        }
        let tokens = tokens(text);
        if let Some(open) =
            tokens.iter().find(|t| t.text.starts_with('"') && (t.text.len() == 1 || !t.text.ends_with('"')))
        {
            return Some(
                Problem::error(
                    ProblemCode::QuoteNotClosed,
                    self.at(base, open.start, open.end()),
                    "not closed: a quoted text",
                )
                .here("opened here")
                .help("end it with `\"` on the same line; a quoted text has no quotes inside"),
            );
        }
        let outside =
            |at: usize| tokens.iter().any(|t| !t.text.starts_with('"') && (t.start..t.end()).contains(&at));
        let quote = |c: char| matches!(c, '“' | '”' | '„' | '‟' | '«' | '»' | '‘' | '’' | '\'' | '`');
        let (at, c) = text.char_indices().find(|(at, c)| quote(*c) && outside(*at))?;
        Some(
            Problem::error(
                ProblemCode::WrongQuotes,
                span(at, c),
                format!("not a quote of this language: `{c}`"),
            )
            .here("another kind of quote")
            .help("put texts in straight double quotes: \"…\""),
        )
    }

    fn fault(&self, text: &str, base: usize) -> Problem {
        let tokens = tokens(text);
        let Some(first) = tokens.first().copied() else {
            return Problem::error(ProblemCode::NoStatement, self.at(base, 0, text.len()), "not a statement");
        };
        if let Some(problem) = self.of_the_bench(base, &tokens) {
            return problem;
        }
        if opens_line(first.text) {
            return self.refused(text, base, &tokens, usage(first.text));
        }
        if let Some(problem) = self.misspelt_opening(base, &tokens) {
            return problem;
        }
        let figure = |t: &Token| t.text.starts_with(|c: char| c.is_ascii_digit());
        if let [name, value, ..] = tokens.as_slice()
            && !figure(name)
            && figure(value)
        {
            return Problem::error(
                ProblemCode::KindNotSaid,
                self.at(base, name.start, name.end()),
                "not told what kind of part this is",
            )
            .here("what is it?")
            .help(format!("begin with the kind: `resistor {} {} …`", name.text, value.text));
        }
        // A line about named parts: the verb is the first word that looks like no name.
        let verb = tokens.iter().skip(1).find(|t| t.text.starts_with(|c: char| c.is_ascii_lowercase()));
        match verb {
            Some(verb) if verbs().any(|v| v == verb.text) => {
                self.refused(text, base, &tokens, StatementWord::named(verb.text).copied())
            }
            Some(verb) => self.no_verb(base, *verb),
            None => {
                let span = self.at(base, first.start, tokens.last().map_or(first.end(), Token::end));
                Problem::error(ProblemCode::NoStatement, span, "not a statement: names alone")
                    .here("what of it?")
                    .help("say what is so: `R3 checked`, `R7 reads 131k`, `C3 missing`; or begin with a kind of part")
            }
        }
    }

    /// A line about a joint, or whose verb is a word of the bench and none of this language.
    fn of_the_bench(&self, base: usize, tokens: &[Token]) -> Option<Problem> {
        let first = tokens.first()?;
        let is_name = |t: &Token| t.text.starts_with(|c: char| c.is_ascii_uppercase());
        let word = match tokens.iter().find(|t| !is_name(t)) {
            Some(verb) if is_name(first) => verb,
            _ if trade::of_a_joint(first.text).is_some() => first,
            _ => return None,
        };
        let help = trade::instead(word.text)?;
        let problem = Problem::error(
            ProblemCode::UnknownVerb,
            self.at(base, word.start, word.end()),
            format!("not said so: `{}`", word.text),
        );
        Some(problem.here("a word of the bench").help(help))
    }

    /// A first word in capitals, or near to a word that opens a line.
    fn misspelt_opening(&self, base: usize, tokens: &[Token]) -> Option<Problem> {
        let first = tokens.first()?;
        let span = self.at(base, first.start, first.end());
        let lower = first.text.to_lowercase();
        let wrong = |help: String| {
            Problem::error(ProblemCode::UnknownStatement, span, format!("not a statement: `{}`", first.text))
                .here("no line begins so")
                .help(help)
        };
        if opens_line(&lower) {
            return Some(wrong(format!("keywords are in small letters: `{lower}`")));
        }
        if first.text.starts_with(|c: char| c.is_ascii_digit()) {
            return Some(wrong(
                "a line begins with a keyword or a name, and a name with a letter".to_owned(),
            ));
        }
        let named = tokens.iter().skip(1).any(|t| verbs().any(|v| v == t.text));
        let small = first.text.starts_with(|c: char| c.is_lowercase());
        if named || (!small && first.text.chars().count() < 4 && first.text.starts_with(char::is_alphabetic))
        {
            return None;
        }
        let longer = openings()
            .find(|word| word.strip_prefix(lower.as_str()).is_some_and(|rest| rest.starts_with('-')));
        let verb = verbs().find(|v| *v == first.text);
        let near = nearest(first.text, openings().chain(verbs())).or(longer);
        match (verb.or(near.filter(|near| verbs().any(|v| v == *near))), near) {
            (Some(verb), _) => Some(wrong(format!(
                "names come first: write `{}`",
                StatementWord::named(verb).map_or("", |row| row.slots)
            ))),
            (_, Some(near)) => Some(wrong(format!("did you mean `{near}`?"))),
            _ if small || !first.text.starts_with(char::is_alphabetic) => Some(wrong(
                "a line begins with a keyword (`resistor`, `rail`, `meter` …), or with names before a verb (`checked`, \
                 `reads` …)"
                    .to_owned(),
            )),
            _ => None,
        }
    }

    fn no_verb(&self, base: usize, verb: Token) -> Problem {
        let help = match nearest(verb.text, verbs()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("after a name stands one of {}", verbs().collect::<Vec<_>>().join(", ")),
        };
        let span = self.at(base, verb.start, verb.end());
        Problem::error(ProblemCode::UnknownVerb, span, format!("not said of a part: `{}`", verb.text))
            .here("unknown here")
            .help(help)
    }

    /// The grammar's own complaint about a line whose statement is known.
    fn refused(&self, text: &str, base: usize, tokens: &[Token], row: Option<StatementWord>) -> Problem {
        let usage = row
            .map_or_else(String::new, |row| format!("write: {}; for example `{}`", row.slots, row.example));
        let Err(error) = Grammar::parse(Rule::single, text) else {
            return Problem::error(ProblemCode::NoStatement, self.at(base, 0, text.len()), "not a statement")
                .help(usage);
        };
        let at = match error.location {
            InputLocation::Pos(at) | InputLocation::Span((at, _)) => at,
        };
        let expected = match error.variant {
            ErrorVariant::ParsingError { positives, .. } => positives,
            ErrorVariant::CustomError { .. } => Vec::new(),
        };
        let found = tokens.iter().find(|t| t.end() > at);
        let names = expected_words(&expected);
        let Some(found) = found else {
            let end = tokens.last().map_or(text.len(), Token::end);
            let last = tokens.last().map_or(0, |t| t.start);
            return Problem::error(
                ProblemCode::Unfinished,
                self.at(base, last, end),
                format!("not finished: {names} comes next"),
            )
            .here("then what?")
            .help(usage);
        };
        let start = at.max(found.start);
        let word = &found.text[start - found.start..];
        let near = nearest(word, expected.iter().filter_map(|rule| keyword_of(*rule)));
        let name_wanted = expected.iter().any(|rule| matches!(rule, Rule::name | Rule::place));
        let replaces = row.is_some_and(|row| matches!(row.word, "replaced" | "change"));
        let electrode =
            electrode_help(word).filter(|_| row.is_some_and(|row| TAKES_LEGS.contains(&row.word)));
        let help = match near {
            _ if electrode.is_some() => electrode.unwrap_or_default(),
            Some(near) => format!("did you mean `{near}`?"),
            None if replaces && is_keyword(word) => {
                "what replaces a part sits in the same joints: its legs are not said again".to_owned()
            }
            None if name_wanted && is_keyword(word) => format!("`{word}` is a keyword and no name; {usage}"),
            None if name_wanted && word.starts_with(|c: char| c.is_ascii_digit()) => {
                format!("a name begins with a letter; {usage}")
            }
            None => usage,
        };
        let message = if names.is_empty() {
            format!("not expected here: `{word}`")
        } else {
            format!("not expected here: `{word}`; {names} comes next")
        };
        Problem::error(ProblemCode::UnexpectedWord, self.at(base, start, found.end()), message)
            .here("not expected")
            .help(help)
    }
}

/// The words of a line up to its comment; a quoted text is one.
fn tokens(text: &str) -> Vec<Token<'_>> {
    let mut tokens = Vec::new();
    let mut at = 0;
    while let Some(skip) = text[at..].find(|c: char| !c.is_whitespace()) {
        let start = at + skip;
        let rest = &text[start..];
        if rest.starts_with('#') {
            break;
        }
        let length = match rest.strip_prefix('"') {
            Some(quoted) => quoted.find('"').map_or(rest.len(), |end| end + 2),
            None => rest.find(|c: char| c.is_whitespace() || c == '"' || c == '#').unwrap_or(rest.len()),
        };
        tokens.push(Token { text: &rest[..length], start });
        at = start + length;
    }
    tokens
}

/// Words that open a line.
fn openings() -> impl Iterator<Item = &'static str> {
    let kinds = KINDS.iter().flat_map(|row| row.also.iter().copied().chain([row.kind.word()]));
    kinds.chain(STATEMENTS.iter().filter(|row| row.opens_line()).map(|row| row.word))
}

fn opens_line(word: &str) -> bool {
    openings().any(|opening| opening == word)
}

/// Words that stand after names.
fn verbs() -> impl Iterator<Item = &'static str> {
    STATEMENTS.iter().filter(|row| row.word != A_PART && !row.opens_line()).map(|row| row.word)
}

/// The row that says how a line with this first word is written.
fn usage(word: &str) -> Option<StatementWord> {
    let part = |kind: Kind| {
        let row = KindWord::of(kind);
        let general = StatementWord::named(A_PART)?;
        Some(StatementWord { slots: row.slots, example: row.example, ..*general })
    };
    match KindWord::named(word) {
        Some(kind) => part(kind),
        None => StatementWord::named(word).copied(),
    }
}

fn is_keyword(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_lowercase()) && Grammar::parse(Rule::name, word).is_err()
}

/// What could come next, in words: at most four, then "…".
fn expected_words(expected: &[Rule]) -> String {
    let mut words: Vec<String> = Vec::new();
    for rule in expected {
        let word = rule_words(*rule);
        if !word.is_empty() && !words.contains(&word) {
            words.push(word);
        }
    }
    match words.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [some @ .., last] if words.len() <= 4 => format!("{} or {last}", some.join(", ")),
        many => format!("{} …", many[..4].join(", ")),
    }
}
