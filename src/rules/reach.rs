//! Levels that can never be reached, because a worse one holds whenever they would.

use crate::source::{Problem, ProblemCode};

use super::ast::{Comparator, Expr, LevelSaid, Node, Sign, Word};
use super::compile::Limit;

/// Problems for every level line behind one that covers it; `said` is sorted worst first.
pub(crate) fn unreachable(said: &[&LevelSaid], limits: &[Limit]) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (index, line) in said.iter().enumerate() {
        let hidden = said[..index]
            .iter()
            .find(|worse| !worse.required && !line.required && covers(&worse.expr, &line.expr, limits));
        if let Some(worse) = hidden {
            let words = format!(
                "`{}` is never reached: `{}` holds whenever this does",
                line.severity().words(),
                worse.severity().words()
            );
            problems.push(
                Problem::error(ProblemCode::UnreachableLevel, line.expr.span, words)
                    .also(worse.expr.span, "this holds first")
                    .help("a worse level needs the higher threshold"),
            );
        }
    }
    problems
}

/// Whether `wide` holds whenever `narrow` does: each of its parts follows from one of the other's.
fn covers(wide: &Expr, narrow: &Expr, limits: &[Limit]) -> bool {
    let (wide, narrow) = (parts(wide), parts(narrow));
    wide.iter().all(|w| narrow.iter().any(|n| follows(n, w, limits)))
}

fn parts(expr: &Expr) -> Vec<&Expr> {
    match &expr.node {
        Node::And(all) => all.iter().collect(),
        _ => vec![expr],
    }
}

/// Whether `wide` follows from `narrow`, both without `and`.
fn follows(narrow: &Expr, wide: &Expr, limits: &[Limit]) -> bool {
    match (&narrow.node, &wide.node) {
        (Node::Compare { sign: s, a, b }, Node::Compare { sign: t, a: c, b: d }) if a.same(c) => {
            let (Some((k, x)), Some((m, y))) = (scaled(b, limits), scaled(d, limits)) else { return false };
            let like = match (x, y) {
                (None, None) => true,
                (Some(x), Some(y)) => x.same(y),
                _ => false,
            };
            let up = |s: &Comparator| matches!(s, Comparator::Over | Comparator::AtLeast);
            let down = |s: &Comparator| matches!(s, Comparator::Under | Comparator::AtMost);
            let strict = *s == *t || matches!(s, Comparator::Over | Comparator::Under);
            like && ((up(s) && up(t) && (k > m || k == m && strict))
                || (down(s) && down(t) && (k < m || k == m && strict)))
        }
        (Node::Is { value: a, negated: n, words: v }, Node::Is { value: b, negated: m, words: w }) => {
            let among = |word: &Word| w.iter().any(|x| x.value == word.value);
            n == m && !n && a.same(b) && v.iter().all(among)
        }
        _ => narrow.same(wide),
    }
}

/// A threshold as a figure times something: `60 % of rated-power(d)`.
fn scaled<'e>(expr: &'e Expr, limits: &[Limit]) -> Option<(f64, Option<&'e Expr>)> {
    match &expr.node {
        Node::Number(q) => Some((q.value, None)),
        Node::Name(name) => match limits.iter().find(|l| l.name == *name) {
            Some(limit) => Some((limit.value.value, None)),
            None => Some((1.0, Some(expr))),
        },
        Node::Arith { sign: Sign::Times, a, b } => match (scaled(a, limits)?, scaled(b, limits)?) {
            ((k, None), (m, x)) | ((m, x), (k, None)) => Some((k * m, x)),
            _ => None,
        },
        Node::Call { name, args } => {
            let factor = limits.iter().find(|l| l.name == name.value).map(|l| l.value.value);
            match (factor, args.as_slice()) {
                (Some(k), [of]) => scaled(of, limits).map(|(m, x)| (k * m, x)),
                _ => Some((1.0, Some(expr))),
            }
        }
        _ => Some((1.0, Some(expr))),
    }
}
