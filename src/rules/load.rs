//! Clauses to rules: every name, unit, heading and example checked.

use crate::source::{Problem, ProblemCode, Span, has_errors};

use super::ast::{AdviceSaid, Clause, Expr, LevelSaid, Message, PieceSaid, RuleSaid, Word};
use super::compile::{Scope, conditions};
use super::head::{Head, levels};
use super::level::Level;
use super::nouns::Noun;
use super::page::{FileText, HEADINGS, MEASURES};
use super::parse::prose;
use super::reach::unreachable;
use super::rule::{Advice, Compiled, Filter, LevelLine, Piece, Rule, Template, limit};

/// Loads one rule; `None` where it can't be used, with the reasons among the problems.
pub(crate) fn load(text: &FileText, said: &RuleSaid, problems: &mut Vec<Problem>) -> Option<Rule> {
    let mut loader = Loader::of(said, text);
    let rule = loader.rule(text);
    let faulty = has_errors(&loader.scope.problems);
    problems.append(&mut loader.scope.problems);
    rule.filter(|_| !faulty)
}

/// What a rule asks that comes with the tool; a test holds that none has a problem.
pub(crate) fn shipped(said: &RuleSaid, text: &str) -> Option<Compiled> {
    let mut loader = Loader::of(said, text);
    loader.limits();
    let selected = loader.selection()?;
    loader.compiled(selected)
}

struct Loader<'t> {
    scope: Scope<'t>,
    said: &'t RuleSaid,
}

/// What a rule selects, and the condition that stands with it.
type Selected<'t> = (Noun, Option<&'t Expr>);

impl<'t> Loader<'t> {
    fn of(said: &'t RuleSaid, text: &'t str) -> Loader<'t> {
        let scope = Scope {
            text,
            variables: Vec::new(),
            limits: Vec::new(),
            problems: Vec::new(),
            own: false,
            solved: false,
            last: false,
            flagging: Some(true),
        };
        Loader { scope, said }
    }

    fn rule(&mut self, text: &FileText) -> Option<Rule> {
        self.name();
        self.limits();
        let selected = self.selection()?;
        let compiled = self.compiled(selected);
        self.headings();
        self.measures();
        self.examples();
        Some(Rule::loaded(Head::of(self.said), text, selected.0, compiled?))
    }

    fn compiled(&mut self, (noun, beside): Selected<'t>) -> Option<Compiled> {
        let filters = self.filters(beside);
        let levels = self.levels();
        let say = self.one("say", |c| if let Clause::Say(said) = c { Some(said) } else { None }, |w| w);
        if say.is_none() {
            self.lacks("a message", "add `say \"…\"`");
        }
        let say = say.map(|w| self.template(w));
        let advise =
            self.one("advise", |c| if let Clause::Advise(said) = c { Some(said) } else { None }, |a| &a.text);
        let advise = advise.map(|said| self.advice(said));
        Some(Compiled {
            filters: filters?,
            conditions: self.conditions(),
            levels: levels?,
            say: say??,
            advise: match advise {
                Some(advice) => Some(advice?),
                None => None,
            },
            last: self.scope.last || noun.looks_at_findings(),
        })
    }

    fn filters(&mut self, beside: Option<&'t Expr>) -> Option<Vec<Filter>> {
        let further = self.said.clauses.iter().filter_map(|c| match c {
            Clause::Where(expr) => Some(expr),
            _ => None,
        });
        let filters: Vec<Option<Filter>> =
            beside.into_iter().chain(further).map(|f| self.filter(f)).collect();
        filters.into_iter().collect()
    }

    fn filter(&mut self, expr: &Expr) -> Option<Filter> {
        self.scope.own = false;
        let code = self.scope.truth(expr)?;
        Some(Filter { code, own: self.scope.own })
    }

    fn problem(&mut self, problem: Problem) {
        self.scope.problems.push(problem);
    }

    fn lacks(&mut self, what: &str, help: &str) {
        let words = format!("`{}` lacks {what}", self.said.name.value);
        self.problem(Problem::error(ProblemCode::RuleIncomplete, self.said.name.span, words).help(help));
    }

    fn name(&mut self) {
        let name = &self.said.name;
        if !name.value.chars().all(|c| c.is_ascii_lowercase() || c == '-') {
            let words = format!("`{}` is a code, not a fault", name.value);
            self.problem(
                Problem::error(ProblemCode::RuleName, name.span, words)
                    .help("name the fault as a bench hand says it: `dropper-overloaded`"),
            );
        }
    }

    /// The one clause of a sort; a second is a problem that shows both.
    fn one<T>(
        &mut self,
        word: &str,
        pick: impl Fn(&'t Clause) -> Option<&'t T>,
        text: impl Fn(&T) -> &Message,
    ) -> Option<&'t T> {
        let mut found = self.said.clauses.iter().filter_map(pick);
        let first = found.next()?;
        if let Some(second) = found.next() {
            let words = format!("`{word}` is said twice");
            let at = [text(second), text(first)].map(|text| text.span);
            self.problem(Problem::error(ProblemCode::SaidTwice, at[0], words).also(at[1], "first here"));
        }
        Some(first)
    }

    fn limits(&mut self) {
        for clause in &self.said.clauses {
            if let Clause::Limit { name, value } = clause {
                if self.scope.limits.iter().any(|l| l.name == name.value) {
                    let words = format!("the limit `{}` is set twice", name.value);
                    self.problem(Problem::error(ProblemCode::BoundTwice, name.span, words));
                }
                self.scope.limits.push(limit(name.value.clone(), &value.value));
            }
        }
    }

    fn selection(&mut self) -> Option<Selected<'t>> {
        let mut found = self.said.clauses.iter().filter_map(|c| match c {
            Clause::Select { noun, variable, filter } => Some((noun, variable, filter)),
            _ => None,
        });
        let Some((word, variable, filter)) = found.next() else {
            self.lacks("a selection", "add `for each …`: what to look at");
            return None;
        };
        if let Some((second, ..)) = found.next() {
            let problem =
                Problem::error(ProblemCode::SaidTwice, second.span, "a rule selects one sort of thing");
            self.problem(
                problem.also(word.span, "first here").help("count over others with any(… for … in each …)"),
            );
        }
        let noun = self.scope.noun(word)?;
        self.scope.bind(variable, noun.sort());
        Some((noun, filter.as_ref()))
    }

    fn conditions(&mut self) -> Option<Vec<crate::model::Condition>> {
        let words: Vec<Word> = self
            .said
            .clauses
            .iter()
            .flat_map(|c| match c {
                Clause::In(words) => words.clone(),
                _ => Vec::new(),
            })
            .collect();
        let found = conditions(&words, &mut self.scope.problems);
        match (self.scope.solved, found.is_empty()) {
            (true, true) => Some(vec![crate::model::Condition::Idle]),
            (true, false) => Some(found),
            (false, _) => None,
        }
    }

    fn levels(&mut self) -> Option<Vec<LevelLine>> {
        let said = levels(self.said);
        self.only_danger_to_people(&said);
        if said.is_empty() {
            self.lacks(
                "a level",
                "add `danger when …`, `warning when …`, `caution when …` or `notice when …`",
            );
        }
        for problem in unreachable(&said, &self.scope.limits) {
            self.problem(problem);
        }
        let lines: Vec<Option<LevelLine>> = said
            .into_iter()
            .map(|line| {
                self.scope.flagging = Some(!line.required);
                let code = self.scope.truth(&line.expr);
                self.scope.flagging = Some(true);
                let say = line.say.as_ref().map(|w| self.template(w));
                let advise = line.advise.as_ref().map(|said| self.advice(said));
                Some(LevelLine {
                    severity: line.severity(),
                    required: line.required,
                    code: code?,
                    say: match say {
                        Some(template) => Some(template?),
                        None => None,
                    },
                    advise: match advise {
                        Some(advice) => Some(advice?),
                        None => None,
                    },
                })
            })
            .collect();
        lines.into_iter().collect()
    }

    fn only_danger_to_people(&mut self, said: &[&LevelSaid]) {
        for line in said.iter().filter(|line| line.level != Level::Danger) {
            let Some(span) = line.to_people else { continue };
            let words = format!("only a danger is to people, this is a {}", line.level.word());
            self.problem(
                Problem::error(ProblemCode::NotADanger, span, words).help("write `danger to people`"),
            );
        }
    }

    fn advice(&mut self, said: &AdviceSaid) -> Option<Advice> {
        Some(Advice { text: self.template(&said.text)?, or_accept: said.or_accept })
    }

    /// A message, its expressions checked.
    fn template(&mut self, message: &Message) -> Option<Template> {
        let pieces: Vec<Option<Piece>> = message.pieces.iter().map(|piece| self.piece(piece)).collect();
        pieces.into_iter().collect()
    }

    fn piece(&mut self, piece: &PieceSaid) -> Option<Piece> {
        match piece {
            PieceSaid::Text(text) => Some(Piece::Text(text.clone())),
            PieceSaid::Value(expr) => self.scope.expr(expr).map(|(code, ty)| Piece::Value(code, ty)),
            PieceSaid::Wrong(problem) => {
                self.problem(problem.clone());
                None
            }
        }
    }

    fn headings(&mut self) {
        for heading in HEADINGS {
            let texts: Vec<(&Word, Span)> = self
                .said
                .clauses
                .iter()
                .filter_map(|c| match c {
                    Clause::Heading { word, text } if word.value == heading => Some((word, *text)),
                    _ => None,
                })
                .collect();
            match texts.as_slice() {
                [] if MEASURES.contains(&heading) => {}
                [] => self.lacks(&format!("the heading `{heading}`"), &format!("add `{heading} \"…\"`")),
                [(word, text), ..] if prose(&self.scope.text[text.range()]).is_empty() => {
                    self.problem(Problem::error(
                        ProblemCode::RuleIncomplete,
                        word.span,
                        "this heading says nothing",
                    ));
                }
                [_] => {}
                [(first, _), (second, _), ..] => {
                    let words = format!("`{heading}` is said twice");
                    self.problem(
                        Problem::error(ProblemCode::SaidTwice, second.span, words)
                            .also(first.span, "first here"),
                    );
                }
            }
        }
    }

    /// Whoever probes a live amplifier as if it were dead is killed: a rule says which it is.
    fn measures(&mut self) {
        const HELP: &str = "write `measure dead \"…\"` where the amplifier is unplugged and discharged for it, \
                            `measure live \"…\"` where it is powered";
        let headings = self.said.clauses.iter().filter_map(|c| match c {
            Clause::Heading { word, .. } if word.value.starts_with("measure") => Some(word),
            _ => None,
        });
        let headings: Vec<&Word> = headings.collect();
        if headings.is_empty() {
            self.lacks("the heading `measure`", HELP);
        }
        for word in headings.into_iter().filter(|word| !MEASURES.contains(&word.value.as_str())) {
            let words = "this does not say whether the amplifier is dead or live";
            self.problem(Problem::error(ProblemCode::DeadOrLive, word.span, words).help(HELP));
        }
    }

    fn examples(&mut self) {
        let has = |wanted: bool| {
            let clauses = self.said.clauses.iter();
            clauses.filter(|c| matches!(c, Clause::Example { flags, .. } if *flags == wanted)).count() > 0
        };
        let (flagged, passed) = (has(true), has(false));
        if !flagged {
            self.lacks("an example that it flags", "add `flags \"\"\" … \"\"\"` with a small document");
        }
        if !passed {
            self.lacks("an example that passes", "add `passes \"\"\" … \"\"\"` with a small document");
        }
    }
}
