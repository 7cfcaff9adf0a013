//! Expressions to code: names looked up, types and units checked, every fault at its exact place.

use crate::model::Condition;
use crate::source::{Problem, ProblemCode, Span, nearest};
use crate::units::Quantity;

use super::ast::{Comparator, Expr, Gather, Node, Past, Sign, Word};
use super::dimension::{Dim, Domain, Sort, Ty};
use super::finding::Basis;
use super::functions::{self, Function, Gives};
use super::nouns::Noun;
use super::value::Number;

/// An expression ready to be evaluated.
#[derive(Debug, Clone)]
pub(crate) enum Code {
    Number(Number),
    Text(String),
    Word(String),
    Condition,
    Variable(usize),
    Limit(usize),
    Call(&'static Function, Vec<Code>),
    Gather { how: Gather, body: Box<Code>, slot: usize, group: Box<Code>, filter: Option<Box<Code>> },
    Past(Past, Box<Code>),
    Each(Noun),
    Not(Box<Code>),
    Negate(Box<Code>),
    And(Vec<Code>),
    Or(Vec<Code>),
    Compare { sign: Comparator, a: Box<Operand>, b: Box<Operand> },
    Range { outside: bool, value: Box<Operand>, low: Box<Operand>, high: Box<Operand> },
    Is { value: Box<Code>, negated: bool, words: Vec<String> },
    Arith { sign: Sign, a: Box<Code>, b: Box<Code> },
}

/// A side of a comparison: its code, how the rule names it, and its unit.
#[derive(Debug, Clone)]
pub(crate) struct Operand {
    pub(crate) code: Code,
    pub(crate) name: String,
    pub(crate) dim: Dim,
    pub(crate) constant: bool,
}

/// A figure of a rule with a name.
#[derive(Debug, Clone)]
pub(crate) struct Limit {
    pub(crate) name: String,
    pub(crate) value: Number,
    pub(crate) dim: Dim,
    /// As the rule says it, whatever a pack has set.
    pub(crate) written: f64,
    /// What a pack has set, in words, and its reason.
    pub(crate) set: Option<(String, Option<String>)>,
}

/// What is bound while a rule is read.
#[derive(Debug)]
pub(crate) struct Scope<'t> {
    /// The file's text, for the names of values.
    pub(crate) text: &'t str,
    pub(crate) variables: Vec<(String, Ty)>,
    pub(crate) limits: Vec<Limit>,
    pub(crate) problems: Vec<Problem>,
    /// Whether something depends on the thing that the rule judges.
    pub(crate) own: bool,
    /// Whether something depends on the condition.
    pub(crate) solved: bool,
    /// Whether something looks at the findings of other rules.
    pub(crate) last: bool,
    /// Whether more truth here can only flag more (`Some(true)`), only less, or either (`None`).
    pub(crate) flagging: Option<bool>,
}

pub(super) type Typed = Option<(Code, Ty)>;

impl Scope<'_> {
    /// Compiles an expression that must be a condition.
    pub(crate) fn truth(&mut self, expr: &Expr) -> Option<Code> {
        let (code, ty) = self.expr(expr)?;
        if ty == Ty::Truth {
            return Some(code);
        }
        self.fault(
            ProblemCode::NotACondition,
            expr.span,
            format!("this is {}, not something that holds or not", ty.words()),
        )
    }

    /// Compiles any expression.
    pub(crate) fn expr(&mut self, expr: &Expr) -> Typed {
        match &expr.node {
            Node::Number(q) => Some(literal(q)),
            Node::Text(text) => Some((Code::Text(text.clone()), Ty::Text)),
            Node::Name(name) => self.name(name, expr.span),
            Node::Call { name, args } => self.call(name, args, expr.span),
            Node::Each(word) => self.each(word),
            Node::Past { which, body } => self.past(*which, body),
            Node::Not(body) => {
                let before = self.flagging;
                self.flagging = before.map(|f| !f);
                let code = self.truth(body);
                self.flagging = before;
                Some((Code::Not(Box::new(code?)), Ty::Truth))
            }
            Node::Negate(body) => {
                let (code, dim) = self.number(body)?;
                Some((Code::Negate(Box::new(code)), Ty::Number(dim)))
            }
            Node::And(all) => Some((Code::And(self.truths(all)?), Ty::Truth)),
            Node::Or(all) => Some((Code::Or(self.truths(all)?), Ty::Truth)),
            Node::Compare { sign, a, b } => {
                let (x, y) = (self.operand(a), self.operand(b));
                let (x, y) = (x?, y?);
                self.alike("comparing", "with", (expr.span, x.dim), (expr.span, y.dim))?;
                Some((Code::Compare { sign: *sign, a: Box::new(x), b: Box::new(y) }, Ty::Truth))
            }
            Node::Range { outside, value, low, high } => {
                let (v, l, h) = (self.operand(value), self.operand(low), self.operand(high));
                let (v, l, h) = (v?, l?, h?);
                self.alike("comparing", "with", (expr.span, v.dim), (low.span, l.dim))?;
                self.alike("comparing", "with", (expr.span, v.dim), (high.span, h.dim))?;
                let (value, low, high) = (Box::new(v), Box::new(l), Box::new(h));
                Some((Code::Range { outside: *outside, value, low, high }, Ty::Truth))
            }
            Node::Is { value, negated, words } => self.is(value, *negated, words),
            Node::Arith { sign, a, b } => self.arith(*sign, a, b, expr.span),
            Node::Gather { how, body, variable, group, filter } => {
                self.gather(*how, body, variable, group, filter.as_deref())
            }
        }
    }

    fn truths(&mut self, all: &[Expr]) -> Option<Vec<Code>> {
        let codes: Vec<Option<Code>> = all.iter().map(|e| self.truth(e)).collect();
        codes.into_iter().collect()
    }

    fn number(&mut self, expr: &Expr) -> Option<(Code, Dim)> {
        match self.expr(expr)? {
            (code, Ty::Number(dim)) => Some((code, dim)),
            (_, ty) => self.fault(
                ProblemCode::NotANumber,
                expr.span,
                format!("this is {}, not a number", ty.words()),
            ),
        }
    }

    fn operand(&mut self, expr: &Expr) -> Option<Operand> {
        let (code, dim) = self.number(expr)?;
        let constant = matches!(code, Code::Number(_) | Code::Limit(_));
        let range = expr.span.start as usize..expr.span.end as usize;
        let name = self.text.get(range).unwrap_or("").split_whitespace().collect::<Vec<_>>().join(" ");
        Some(Operand { code, name, dim, constant })
    }

    fn alike(&mut self, verb: &str, link: &str, a: (Span, Dim), b: (Span, Dim)) -> Option<()> {
        if a.1 == b.1 {
            return Some(());
        }
        self.fault(ProblemCode::UnitsDiffer, b.0, format!("{verb} {} {link} {}", a.1.words(), b.1.words()))
    }

    pub(super) fn arith(&mut self, sign: Sign, a: &Expr, b: &Expr, span: Span) -> Typed {
        let (x, y) = (self.number(a), self.number(b));
        let ((x, d), (y, e)) = (x?, y?);
        let dim = match sign {
            Sign::Plus => {
                self.alike("adding", "to", (span, d), (span, e))?;
                Some(d)
            }
            Sign::Minus => {
                self.alike("taking", "from", (span, e), (span, d))?;
                Some(d)
            }
            Sign::Times => d.times(e),
            Sign::Over => d.over(e),
        };
        let Some(dim) = dim else {
            let verb = if sign == Sign::Times { "multiplying" } else { "dividing" };
            return self.fault(
                ProblemCode::UnitsDiffer,
                span,
                format!("{verb} {} by {}", d.words(), e.words()),
            );
        };
        Some((Code::Arith { sign, a: Box::new(x), b: Box::new(y) }, Ty::Number(dim)))
    }

    fn name(&mut self, name: &str, span: Span) -> Typed {
        if let Some(slot) = self.variables.iter().rposition(|(n, _)| n == name) {
            self.own |= slot == 0;
            return Some((Code::Variable(slot), self.variables[slot].1));
        }
        if let Some(index) = self.limits.iter().position(|l| l.name == name) {
            return Some((Code::Limit(index), Ty::Number(self.limits[index].dim)));
        }
        if name == "condition" {
            return Some((Code::Condition, Ty::Word(Domain::Condition)));
        }
        if let Some(function) = functions::named(name).iter().copied().find(|f| f.params.is_empty()) {
            let Gives::Ty(ty) = function.gives else { return None };
            return Some((Code::Call(function, Vec::new()), ty));
        }
        let bound: Vec<String> = self
            .variables
            .iter()
            .map(|(n, _)| n.clone())
            .chain(self.limits.iter().map(|l| l.name.clone()))
            .collect();
        let help = if functions::named(name).is_empty() {
            match nearest(name, bound.iter().map(String::as_str)) {
                Some(near) => format!("did you mean `{near}`?"),
                None if bound.is_empty() => "nothing is bound: start with `for each …`".to_owned(),
                None => format!("bound here: {}", bound.join(", ")),
            }
        } else {
            format!("`{name}` asks for something: {}", functions::named(name)[0].example)
        };
        self.problems.push(
            Problem::error(ProblemCode::UnknownName, span, format!("nothing here is called `{name}`"))
                .help(help),
        );
        None
    }

    fn each(&mut self, word: &Word) -> Typed {
        let noun = self.noun(word)?;
        self.last |= noun.looks_at_findings();
        Some((Code::Each(noun), Ty::Group(noun.sort())))
    }

    /// The noun of a word, or a problem with the nearest one.
    pub(crate) fn noun(&mut self, word: &Word) -> Option<Noun> {
        let found = Noun::of(&word.value);
        if found.is_none() {
            let problem = Problem::error(
                ProblemCode::UnknownNoun,
                word.span,
                format!("there is no group `{}`", word.value),
            );
            self.problems.push(match nearest(&word.value, Noun::words()) {
                Some(near) => problem.help(format!("did you mean `{near}`?")),
                None => {
                    problem.help("a kind of part, a role, or a group such as section, stage, rail, change")
                }
            });
        }
        found
    }

    fn past(&mut self, which: Past, body: &Expr) -> Typed {
        let (code, ty) = self.expr(body)?;
        if matches!(ty, Ty::Thing(_) | Ty::Group(_)) {
            let words = format!("{} of another document can't be mixed with those of this one", ty.words());
            return self.fault(ProblemCode::OtherDocument, body.span, words);
        }
        Some((Code::Past(which, Box::new(code)), ty))
    }

    fn is(&mut self, value: &Expr, negated: bool, words: &[Word]) -> Typed {
        let (code, ty) = self.expr(value)?;
        let Ty::Word(domain) = ty else {
            let said = format!("`is` compares a word of a list; this is {}", ty.words());
            return self.fault(ProblemCode::NotAWord, value.span, said);
        };
        let known: Vec<bool> = words.iter().map(|w| self.word(domain, w)).collect();
        if known.contains(&false) {
            return None;
        }
        let words = words.iter().map(|w| w.value.clone()).collect();
        Some((Code::Is { value: Box::new(code), negated, words }, Ty::Truth))
    }

    pub(super) fn word(&mut self, domain: Domain, word: &Word) -> bool {
        let all = domain.all();
        if all.iter().any(|known| *known == word.value) {
            return true;
        }
        let problem = Problem::error(
            ProblemCode::UnknownWord,
            word.span,
            format!("`{}` is not {}", word.value, domain.words()),
        );
        self.problems.push(match nearest(&word.value, all.iter().map(AsRef::as_ref)) {
            Some(near) => problem.help(format!("did you mean `{near}`?")),
            None => problem.help(format!("one of {}", all.join(", "))),
        });
        false
    }

    fn gather(
        &mut self,
        how: Gather,
        body: &Expr,
        variable: &Word,
        group: &Expr,
        filter: Option<&Expr>,
    ) -> Typed {
        let (from, ty) = self.expr(group)?;
        let Ty::Group(sort) = ty else {
            let words = format!("this is {}, not several things", ty.words());
            return self.fault(ProblemCode::NotAGroup, group.span, words);
        };
        let slot = self.bind(variable, sort);
        let before = self.flagging;
        let (in_body, in_filter) = match how {
            Gather::Any => (before, before),
            Gather::Every => (before, before.map(|f| !f)),
            Gather::None => (before.map(|f| !f), before.map(|f| !f)),
            _ => (None, None),
        };
        self.flagging = in_filter;
        let filter = filter.map(|f| self.truth(f));
        self.flagging = in_body;
        let body = match how {
            Gather::Sum | Gather::Highest | Gather::Lowest => {
                self.number(body).map(|(code, dim)| (code, Ty::Number(dim)))
            }
            Gather::Count => self.truth(body).map(|code| (code, Ty::Number(Dim::COUNT))),
            _ => self.truth(body).map(|code| (code, Ty::Truth)),
        };
        self.flagging = before;
        self.variables.truncate(slot);
        let (body, ty) = body?;
        let filter = match filter {
            Some(code) => Some(Box::new(code?)),
            None => None,
        };
        Some((Code::Gather { how, body: Box::new(body), slot, group: Box::new(from), filter }, ty))
    }

    /// Binds a name to things of a sort and gives its slot.
    pub(crate) fn bind(&mut self, variable: &Word, sort: Sort) -> usize {
        if self.variables.iter().any(|(n, _)| *n == variable.value) || variable.value == "condition" {
            let words = format!("`{}` is bound already", variable.value);
            self.problems.push(Problem::error(ProblemCode::BoundTwice, variable.span, words));
        }
        self.variables.push((variable.value.clone(), Ty::Thing(sort)));
        self.variables.len() - 1
    }

    pub(super) fn fault<T>(&mut self, code: ProblemCode, span: Span, message: String) -> Option<T> {
        self.problems.push(Problem::error(code, span, message));
        None
    }
}

/// A written number. Bare numbers count; `4k7` without a unit is in ohms.
pub(crate) fn literal(q: &Quantity) -> (Code, Ty) {
    let (value, dim) = figure(q);
    (Code::Number(value), Ty::Number(dim))
}

/// Value and dimension of a written number.
pub(crate) fn figure(q: &Quantity) -> (Number, Dim) {
    let dim = match q.unit {
        Some(unit) => Dim::of(unit),
        None if q.prefixed => Dim::OHM,
        None => Dim::COUNT,
    };
    (Number::plain(q.value, Basis::Stated), dim)
}

/// The conditions that words name, with a problem for each that is none.
pub(crate) fn conditions(words: &[Word], problems: &mut Vec<Problem>) -> Vec<Condition> {
    let mut found = Vec::new();
    for word in words {
        let Some(condition) = Condition::of(&word.value) else {
            let problem = Problem::error(
                ProblemCode::UnknownCondition,
                word.span,
                format!("there is no condition `{}`", word.value),
            );
            let names = Condition::ALL.map(Condition::word);
            problems.push(match nearest(&word.value, names) {
                Some(near) => problem.help(format!("did you mean `{near}`?")),
                None => problem.help(format!("one of {}", names.join(", "))),
            });
            continue;
        };
        found.push(condition);
    }
    found
}
