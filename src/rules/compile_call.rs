//! Calls of functions: which of a name's functions fits, and what it gives.

use crate::source::{Problem, ProblemCode, Span, nearest};

use super::ast::{Expr, Node, Sign, Word};
use super::compile::{Code, Scope, Typed};
use super::dimension::Ty;
use super::domain;
use super::functions::{self, Function, Gives, Param};

impl Scope<'_> {
    pub(super) fn call(&mut self, name: &Word, args: &[Expr], span: Span) -> Typed {
        // `share of rated-power(d)`: a limit of the rule as a factor.
        if let ([of], true) = (args, self.limits.iter().any(|l| l.name == name.value)) {
            let limit = Expr { span: name.span, depth: 1, node: Node::Name(name.value.clone()) };
            return self.arith(Sign::Times, &limit, of, span);
        }
        let found = functions::named(&name.value);
        if found.is_empty() {
            let problem = Problem::error(
                ProblemCode::UnknownFunction,
                name.span,
                format!("there is no function `{}`", name.value),
            );
            self.problems.push(match nearest(&name.value, functions::all().map(|f| f.name)) {
                Some(near) => problem.help(format!("did you mean `{near}`?")),
                None => problem.help("`asfound rules` lists what a rule may ask"),
            });
            return None;
        }
        let Some(counted) = found.iter().find(|f| f.params.len() == args.len()) else {
            let words =
                format!("`{}` asks for {} value(s), not {}", name.value, found[0].params.len(), args.len());
            self.problems.push(Problem::error(ProblemCode::WrongCount, span, words).help(found[0].example));
            return None;
        };
        if counted.name == "unknown" && self.flagging != Some(true) {
            let words = "`unknown` here would let a blank rating or reading pass";
            self.problems
                .push(Problem::error(ProblemCode::BlankPasses, span, words).help("turn the condition round"));
            return None;
        }
        let mut compiled = Vec::new();
        for (index, arg) in args.iter().enumerate() {
            compiled.push(self.argument(counted.params[index], arg)?);
        }
        let types: Vec<Ty> = compiled.iter().map(|(_, ty)| *ty).collect();
        let Some(function) = found.iter().find(|f| fits(f, &types)) else {
            return self.misfit(found, args, &types);
        };
        self.solved |= function.solved;
        self.last |= functions::looks_at_findings(function.name);
        let ty = gives(function, &types, args);
        let Some(ty) = ty else {
            return self.fault(
                ProblemCode::UnitsDiffer,
                span,
                format!("the root of {} has no unit", types[0].words()),
            );
        };
        Some((Code::Call(function, compiled.into_iter().map(|(code, _)| code).collect()), ty))
    }

    fn argument(&mut self, param: Param, arg: &Expr) -> Typed {
        if let (Param::Is(Ty::Word(domain)), Node::Name(name)) = (param, &arg.node) {
            let word = Word { value: name.clone(), span: arg.span };
            return self.word(domain, &word).then(|| (Code::Word(name.clone()), Ty::Word(domain)));
        }
        self.expr(arg)
    }

    fn misfit(&mut self, found: &[&'static Function], args: &[Expr], types: &[Ty]) -> Typed {
        let at = (0..types.len()).find(|i| !fits_at(found[0], types, *i)).unwrap_or(0);
        let wanted: Vec<String> = found
            .iter()
            .map(|f| match f.params.get(at) {
                Some(Param::Is(ty)) => ty.words(),
                Some(Param::LikeFirst) => types[0].words(),
                Some(Param::AnyNumber) => "a number".to_owned(),
                _ => "a thing".to_owned(),
            })
            .collect();
        let words =
            format!("`{}` asks for {}, this is {}", found[0].name, wanted.join(" or "), types[at].words());
        self.fault(ProblemCode::WrongType, args[at].span, words)
    }
}

fn fits(function: &Function, types: &[Ty]) -> bool {
    function.params.len() == types.len() && (0..types.len()).all(|i| fits_at(function, types, i))
}

fn fits_at(function: &Function, types: &[Ty], index: usize) -> bool {
    match function.params[index] {
        Param::Is(ty) => types[index] == ty,
        Param::AnyNumber => matches!(types[index], Ty::Number(_)),
        Param::LikeFirst => types[index] == types[0],
        Param::AnyThing => matches!(types[index], Ty::Thing(_)),
        Param::Any => true,
    }
}

fn gives(function: &Function, types: &[Ty], args: &[Expr]) -> Option<Ty> {
    match function.gives {
        Gives::Ty(ty) => Some(ty),
        Gives::LikeFirst => Some(types[0]),
        Gives::Root => match types[0] {
            Ty::Number(dim) => dim.root().map(Ty::Number),
            _ => None,
        },
        Gives::Limit => match args.get(1).map(|a| &a.node) {
            Some(Node::Name(name)) => domain::limit(name).map(Ty::Number),
            _ => None,
        },
    }
}
