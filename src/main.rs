//! The `asfound` command: see [`asfound::cli`].
#![allow(clippy::print_stdout)]
fn main() {
    let path = std::env::args().nth(1).unwrap_or_default();
    let mut read = |p: &str| std::fs::read_to_string(p).map_err(|e| format!("{p}: {e}"));
    let loaded = match asfound::load::load(&path, &mut read) {
        Ok(l) => l,
        Err(e) => {
            println!("{e}");
            return;
        }
    };
    match asfound::analysis::circuits(&loaded) {
        Err(ps) => {
            for p in ps {
                println!("{:?} {} {} {:?}", p.severity, loaded.sources.place(p.span()), p.message, p.help);
                for l in &p.labels {
                    println!("    {} {}", loaded.sources.place(l.0), l.1);
                }
            }
        }
        Ok((cs, ps)) => {
            for p in ps {
                println!("{:?} {} {}", p.severity, loaded.sources.place(p.span()), p.message);
            }
            if cs.len() > 1 {
                let r: Vec<_> = cs.iter().map(asfound::recognise::recognise).collect();
                let n = cs.len();
                use asfound::change::*;
                let a = Side { circuit: &cs[n - 2], recognised: &r[n - 2] };
                let b = Side { circuit: &cs[n - 1], recognised: &r[n - 1] };
                let cmp = compare(a, b);
                for (i, c) in cmp.changes.iter().enumerate() {
                    println!(
                        "{i} {:10} {:?} | {} -> {} | {} {:?}",
                        c.subject, c.kind, c.before, c.after, c.role, c.note
                    );
                }
                let su = asfound::solve::Setup::idle();
                let sa = asfound::solve::at_rest(a.circuit, &su).unwrap();
                let sb = asfound::solve::at_rest(b.circuit, &su).unwrap();
                let t = std::time::Instant::now();
                let fx = effects(&cmp, (a, &sa), (b, &sb));
                println!("{:?}", t.elapsed());
                for e in fx {
                    println!(
                        "{} {:?} {:?} -> {:?} : {:?}",
                        e.subject, e.quantity, e.before, e.after, e.causes
                    );
                }
            }
            for (d, c) in cs.into_iter().enumerate() {
                match asfound::analysis::work_out(c, d, &[asfound::solve::Condition::Idle]) {
                    Ok(w) => {
                        println!("== {}", w.circuit.title);
                        let s = &w.solved.by_condition[&asfound::solve::Condition::Idle];
                        for n in w.circuit.net_ids() {
                            println!("{:20} {:?}", w.circuit.net(n).name, s.net_volts(n));
                        }
                        for x in &s.sections {
                            println!("{}{} {:?}", w.circuit.part(x.tube).name, x.letter, x);
                        }
                        println!("{:?}", s.assumed);
                    }
                    Err(e) => println!("{e:?}"),
                }
            }
        }
    }
}
