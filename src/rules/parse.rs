//! Rule text to clauses ([`super::ast`]). Never fails: a bad line becomes a problem and the rest is read.

use pest::Parser as _;
use pest::error::{ErrorVariant, InputLocation};
use pest::iterators::Pair;

use crate::source::{FileId, Problem, ProblemCode, Span, Spanned, nearest};
use crate::units::{Quantity, parse_quantity};

use super::ast::{Clause, FileSaid, LevelSaid, Override, Overriding, RuleSaid, Word};
use super::level::{Level, Severity};
use super::parse_expr;
use super::parse_message::{advice, message};

#[derive(pest_derive::Parser)]
#[grammar = "grammar/rules.pest"]
pub(crate) struct RuleText;

/// Deepest nesting of brackets, and deepest tree of an expression.
pub(crate) const DEEPEST: u32 = 60;

/// First words of clauses, for slips of the pen.
const OPENERS: [&str; 20] = [
    "rule", "for", "where", "in", "limit", "danger", "warning", "caution", "notice", "require", "say",
    "advise", "sign", "measure", "cure", "not", "source", "flags", "passes", "set",
];

/// Where a text stands: its file, and the offset of its first byte in it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct At {
    pub(crate) file: FileId,
    pub(crate) offset: usize,
}

impl At {
    /// The span of a pair.
    pub(crate) fn span(self, pair: &Pair<'_, Rule>) -> Span {
        self.range(pair.as_span().start(), pair.as_span().end())
    }

    /// The span of a stretch of the text.
    pub(crate) fn range(self, start: usize, end: usize) -> Span {
        let place = |at: usize| u32::try_from(at + self.offset).unwrap_or(u32::MAX);
        Span { file: self.file, start: place(start), end: place(end) }
    }

    /// The word of a pair.
    pub(crate) fn word(self, pair: &Pair<'_, Rule>) -> Word {
        Spanned { value: pair.as_str().to_owned(), span: self.span(pair) }
    }
}

/// Reads a whole file.
pub(crate) fn parse(file: FileId, text: &str) -> (FileSaid, Vec<Problem>) {
    let at = At { file, offset: 0 };
    if let Err(problem) = guard(at, text) {
        return (FileSaid::default(), vec![problem]);
    }
    let mut walk = Walk { at, said: FileSaid::default(), problems: Vec::new() };
    match RuleText::parse(Rule::file, text) {
        Ok(pairs) => pairs.flat_map(Pair::into_inner).for_each(|pair| walk.line(pair)),
        Err(error) => walk.problems.push(explain(at, text, &error)),
    }
    (walk.said, walk.problems)
}

/// Refuses brackets nested too deep before anything recurses over them. Quotes and comments count too: a quote left
/// open must not hide what follows.
pub(crate) fn guard(at: At, text: &str) -> Result<(), Problem> {
    let mut depth = 0u32;
    for (offset, c) in text.char_indices() {
        match c {
            '(' => depth += 1,
            ')' => depth = depth.saturating_sub(1),
            '\n' if !text[offset + 1..].starts_with("      ") => depth = 0,
            _ => {}
        }
        if depth > DEEPEST {
            return Err(too_deep(at.range(offset, offset + 1)));
        }
    }
    Ok(())
}

pub(crate) fn too_deep(span: Span) -> Problem {
    Problem::error(ProblemCode::NestedTooDeep, span, format!("this is nested more than {DEEPEST} deep"))
        .help("split the condition into several `where` lines, or several rules")
}

struct Walk {
    at: At,
    said: FileSaid,
    problems: Vec<Problem>,
}

impl Walk {
    fn line(&mut self, pair: Pair<'_, Rule>) {
        let span = self.at.span(&pair);
        let result = match pair.as_rule() {
            Rule::rule_head => {
                let name = pair.into_inner().nth(1).map(|n| self.at.word(&n));
                self.said.rules.extend(name.map(|name| RuleSaid { name, clauses: Vec::new() }));
                return;
            }
            Rule::off | Rule::override_level | Rule::override_limit => self.overriding(pair),
            Rule::junk => Err(bad_line(self.at, &pair)),
            Rule::unclosed => {
                Err(Problem::error(ProblemCode::UnclosedDocument, span, "this document never ends")
                    .help("close it with `\"\"\"`"))
            }
            Rule::EOI => return,
            _ => self.clause(pair, span),
        };
        if let Err(problem) = result {
            self.problems.push(problem);
        }
    }

    fn clause(&mut self, pair: Pair<'_, Rule>, span: Span) -> Result<(), Problem> {
        let clause = clause(self.at, pair)?;
        let Some(rule) = self.said.rules.last_mut() else {
            return Err(Problem::error(ProblemCode::NoRule, span, "this line stands before any `rule NAME`"));
        };
        rule.clauses.push(clause);
        Ok(())
    }

    fn overriding(&mut self, pair: Pair<'_, Rule>) -> Result<(), Problem> {
        let (at, which) = (self.at, pair.as_rule());
        let parts = inner(pair);
        let names: Vec<Word> =
            parts.iter().filter(|p| p.as_rule() == Rule::name).map(|p| at.word(p)).collect();
        let because = parts
            .iter()
            .find(|p| p.as_rule() == Rule::string)
            .map(|p| Spanned { value: string(p), span: at.span(p) });
        let mut names = names.into_iter();
        let rule = names.next().ok_or_else(|| broken(at))?;
        let change = match which {
            Rule::off => Overriding::Off,
            Rule::override_level => {
                let word = parts.iter().find(|p| p.as_rule() == Rule::level).ok_or_else(|| broken(at))?;
                let value = level(&parts).ok_or_else(|| broken(at))?;
                Overriding::Level(Spanned { value, span: at.span(word) })
            }
            _ => Overriding::Limit {
                limit: names.next().ok_or_else(|| broken(at))?,
                value: signed_quantity(at, &parts)?,
            },
        };
        self.said.overrides.push(Override { rule, because, change });
        Ok(())
    }
}

fn clause(at: At, pair: Pair<'_, Rule>) -> Result<Clause, Problem> {
    let which = pair.as_rule();
    let parts = inner(pair);
    let names: Vec<Word> = parts.iter().filter(|p| p.as_rule() == Rule::name).map(|p| at.word(p)).collect();
    let strings: Vec<&Pair<'_, Rule>> = parts.iter().filter(|p| p.as_rule() == Rule::string).collect();
    let expr = || {
        parts.iter().find(|p| p.as_rule() == Rule::expr).map(|p| parse_expr::build(at, p.clone())).transpose()
    };
    let first = || names.first().cloned().ok_or_else(|| broken(at));
    Ok(match which {
        Rule::select => Clause::Select {
            noun: first()?,
            variable: names.get(1).cloned().ok_or_else(|| broken(at))?,
            filter: expr()?,
        },
        Rule::filter => Clause::Where(expr()?.ok_or_else(|| broken(at))?),
        Rule::conditions => Clause::In(names),
        Rule::limit => Clause::Limit { name: first()?, value: signed_quantity(at, &parts)? },
        Rule::level_line | Rule::require => Clause::Level(LevelSaid {
            level: level(&parts).ok_or_else(|| broken(at))?,
            to_people: to_people(at, &parts),
            required: which == Rule::require,
            expr: expr()?.ok_or_else(|| broken(at))?,
            say: part(&parts, Rule::own_say).and_then(|own| message(at, &inner(own))),
            advise: part(&parts, Rule::own_advise).and_then(|own| advice(at, &inner(own))),
        }),
        Rule::say => Clause::Say(message(at, &parts).ok_or_else(|| broken(at))?),
        Rule::advise => Clause::Advise(advice(at, &parts).ok_or_else(|| broken(at))?),
        Rule::heading => {
            let word = parts.first().map(|p| at.word(p)).ok_or_else(|| broken(at))?;
            let value = word.value.split_whitespace().collect::<Vec<_>>().join(" ");
            Clause::Heading {
                word: Spanned { value, span: word.span },
                text: strings
                    .first()
                    .and_then(|s| inner((*s).clone()).pop())
                    .map_or(word.span, |t| at.span(&t)),
            }
        }
        _ => example(at, &parts)?,
    })
}

fn example(at: At, parts: &[Pair<'_, Rule>]) -> Result<Clause, Problem> {
    let flags = parts.iter().any(|p| p.as_rule() == Rule::kw_flags);
    let document = parts.iter().find(|p| p.as_rule() == Rule::document).ok_or_else(|| broken(at))?;
    let text = document.clone().into_inner().next().ok_or_else(|| broken(at))?;
    let severity = level(parts).map(|level| Severity { level, to_people: to_people(at, parts).is_some() });
    Ok(Clause::Example { flags, severity, text: at.span(&text) })
}

/// A string's text as prose.
fn string(pair: &Pair<'_, Rule>) -> String {
    prose(pair.clone().into_inner().next().map_or("", |t| t.as_str()))
}

/// A text with every run of spaces and line ends as one space.
pub(crate) fn prose(text: &str) -> String {
    let mut prose = String::with_capacity(text.len());
    for word in text.split_whitespace() {
        if !prose.is_empty() {
            prose.push(' ');
        }
        prose.push_str(word);
    }
    prose
}

fn inner(pair: Pair<'_, Rule>) -> Vec<Pair<'_, Rule>> {
    pair.into_inner().collect()
}

fn level(parts: &[Pair<'_, Rule>]) -> Option<Level> {
    parts.iter().find(|p| p.as_rule() == Rule::level).and_then(|p| Level::of(p.as_str()))
}

/// A part of a clause by its sort.
pub(super) fn part<'a>(parts: &[Pair<'a, Rule>], which: Rule) -> Option<Pair<'a, Rule>> {
    parts.iter().find(|p| p.as_rule() == which).cloned()
}

fn to_people(at: At, parts: &[Pair<'_, Rule>]) -> Option<Span> {
    parts.iter().find(|p| p.as_rule() == Rule::to_people).map(|p| at.span(p))
}

fn signed_quantity(at: At, parts: &[Pair<'_, Rule>]) -> Result<Spanned<Quantity>, Problem> {
    let negative = parts.iter().any(|p| p.as_rule() == Rule::minus);
    let pair = parts.iter().find(|p| p.as_rule() == Rule::quantity).ok_or_else(|| broken(at))?;
    let mut value = quantity(at, pair)?;
    if negative {
        value.value.value = -value.value.value;
    }
    Ok(value)
}

/// Reads a number with its unit.
pub(crate) fn quantity(at: At, pair: &Pair<'_, Rule>) -> Result<Spanned<Quantity>, Problem> {
    let span = at.span(pair);
    parse_quantity(pair.as_str())
        .map(|value| Spanned { value, span })
        .map_err(|why| Problem::error(ProblemCode::NotAValue, span, why))
}

/// The grammar gave a pair without a piece it always has; said rather than panicked on.
pub(crate) fn broken(at: At) -> Problem {
    Problem::error(ProblemCode::NotUnderstood, at.range(0, 0), "this clause is not complete")
}

fn bad_line(at: At, pair: &Pair<'_, Rule>) -> Problem {
    let text = pair.as_str();
    let start = pair.as_span().start();
    let word: &str =
        text.split(|c: char| !c.is_alphanumeric() && c != '-').find(|w| !w.is_empty()).unwrap_or("");
    let lead = text.len() - text.trim_start().len();
    if !OPENERS.contains(&word) && word != "off" {
        let problem = Problem::error(
            ProblemCode::UnknownClause,
            at.range(start + lead, start + lead + word.len().max(1)),
            format!("no clause of a rule starts with `{word}`"),
        );
        return match nearest(word, OPENERS) {
            Some(name) => problem.help(format!("did you mean `{name}`?")),
            None => problem.help(
                "clauses start with one of rule, for each, where, in, limit, danger, warning, caution, notice, \
                 require, say, advise, sign, measure, cure, not seen, source, flags, passes; a line that \
                 continues another is indented by six spaces or more",
            ),
        };
    }
    match RuleText::parse(Rule::one_line, text) {
        Err(error) => explain(At { file: at.file, offset: at.offset + start }, text, &error),
        Ok(_) => {
            Problem::error(ProblemCode::NotUnderstood, at.span(pair), "this line is not understood here")
        }
    }
}

/// A parser's error in the words of the language.
pub(crate) fn explain(at: At, text: &str, error: &pest::error::Error<Rule>) -> Problem {
    let (start, end) = match error.location {
        InputLocation::Pos(p) => (p, p),
        InputLocation::Span((a, b)) => (a, b),
    };
    let length = text[start.min(text.len())..].chars().next().map_or(0, char::len_utf8);
    let span = at.range(start, end.max(start + length));
    let ErrorVariant::ParsingError { positives, .. } = &error.variant else {
        return Problem::error(ProblemCode::NotUnderstood, span, "this is not understood");
    };
    let mut expected: Vec<&str> = positives.iter().filter_map(|r| words(*r)).collect();
    expected.sort_unstable();
    expected.dedup();
    match expected.split_last() {
        None => Problem::error(ProblemCode::NotUnderstood, span, "this is not understood"),
        Some((last, [])) => Problem::error(ProblemCode::NotUnderstood, span, format!("expected {last} here")),
        Some((last, rest)) => Problem::error(
            ProblemCode::NotUnderstood,
            span,
            format!("expected {} or {last} here", rest.join(", ")),
        ),
    }
}

/// What a writer of rules would call a piece of the grammar.
fn words(rule: Rule) -> Option<&'static str> {
    Some(match rule {
        Rule::name => "a name",
        Rule::quantity => "a number",
        Rule::string => "text in quotation marks",
        Rule::document => "a document in three quotation marks",
        Rule::level => "danger, warning, caution or notice",
        Rule::comparator => "a comparison",
        Rule::plus | Rule::minus | Rule::times | Rule::over => "arithmetic",
        Rule::open | Rule::paren => "`(`",
        Rule::close => "`)`",
        Rule::comma => "`,`",
        Rule::kw_when => "`when`",
        Rule::kw_each => "`each`",
        Rule::kw_else => "`else`",
        Rule::kw_is => "`is`",
        Rule::kw_to => "`to`",
        Rule::kw_people => "`people`",
        Rule::kw_in => "`in`",
        Rule::kw_for => "`for`",
        Rule::kw_of => "`of`",
        Rule::kw_because => "`because \"…\"`",
        Rule::kw_where => "`where`",
        Rule::kw_say => "`say`",
        Rule::kw_advise => "`advise`",
        Rule::or_accept | Rule::kw_accept => "`or accept`",
        Rule::kw_and | Rule::kw_or => "`and` or `or`",
        Rule::EOI => "the end of the line",
        Rule::atom | Rule::expr | Rule::call | Rule::chain => "a value",
        _ => return None,
    })
}
