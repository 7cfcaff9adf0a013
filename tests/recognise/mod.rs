//! Recognition, on texts: small circuits for each stage and role, a whole amplifier, faults, and order.

mod bias_and_pairs;
mod example;
mod faults;
mod full;
mod more;
mod small;
mod supplies;

use std::collections::BTreeMap;

use asfound::analysis::circuits;
use asfound::circuit::Circuit;
use asfound::load::load;
use asfound::recognise::{Recognised, recognise};

/// The circuit of the last of several documents, named `0.amp`, `1.amp` …
pub(crate) fn circuit(texts: &[&str]) -> Circuit {
    let files: BTreeMap<String, String> =
        texts.iter().enumerate().map(|(i, t)| (format!("{i}.amp"), (*t).to_owned())).collect();
    let top = format!("{}.amp", texts.len() - 1);
    let mut read = |path: &str| files.get(path).cloned().ok_or_else(|| format!("no {path}"));
    let loaded = load(&top, &mut read).expect("the top document is there");
    match circuits(&loaded) {
        Ok((mut circuits, _)) => circuits.pop().expect("a stack has a circuit"),
        Err(problems) => {
            let told: Vec<String> = problems
                .iter()
                .map(|p| format!("{} {}", loaded.sources.place(p.span()), p.message))
                .collect();
            panic!("{}", told.join("\n"))
        }
    }
}

/// The circuit and what is recognised in it.
pub(crate) fn seen(texts: &[&str]) -> (Circuit, Recognised) {
    let circuit = circuit(texts);
    let recognised = recognise(&circuit);
    (circuit, recognised)
}

/// One line a part: name, role, stage, proof.
pub(crate) fn table(circuit: &Circuit, recognised: &Recognised) -> String {
    let mut lines = Vec::new();
    for part in circuit.part_ids() {
        let name = &circuit.part(part).name;
        let Some(role) = recognised.role(part) else {
            lines.push(format!("{name}: -"));
            continue;
        };
        let joint = if recognised.roles.contains_key(&part) { "" } else { " (by joint)" };
        lines.push(format!("{name}: {}{joint} [{}]", recognised.describe(circuit, part), role.why));
    }
    lines.join("\n")
}

/// Stages and rails, a line each.
pub(crate) fn outline(circuit: &Circuit, recognised: &Recognised) -> String {
    let mut lines = Vec::new();
    for stage in &recognised.stages {
        let sections: Vec<String> =
            stage.sections.iter().map(|s| format!("{}{}", circuit.part(s.tube).name, s.letter)).collect();
        lines.push(format!("{}: {} {}", stage.name, sections.join(" "), stage.kind.phrase()));
    }
    for rail in &recognised.rails {
        let by = rail.fed_by.map_or("-", |p| &circuit.part(p).name);
        let capacitors: Vec<&str> = rail.capacitors.iter().map(|p| circuit.part(*p).name.as_str()).collect();
        let fed = if rail.fed { "" } else { " not fed" };
        lines.push(format!(
            "rail {} {} {by} [{}]{fed} {}",
            circuit.net(rail.net).name,
            rail.depth,
            capacitors.join(" "),
            rail.why
        ));
    }
    for strange in &recognised.strange_sections {
        lines.push(format!("strange: {}{}", circuit.part(strange.tube).name, strange.letter));
    }
    lines.join("\n")
}

/// "R4: plate load, first stage" for every part, in natural order.
pub(crate) fn roles(circuit: &Circuit, recognised: &Recognised) -> Vec<String> {
    let named = circuit.part_ids().filter(|p| recognised.role(*p).is_some());
    named.map(|p| format!("{}: {}", circuit.part(p).name, recognised.describe(circuit, p))).collect()
}

/// A supply with two rails, and what is added to it.
pub(crate) fn amp(body: &str) -> String {
    format!(
        "stock \"Bench\"\nrail B1\nrail B2\nsource HT 350V behind 100R plus B1 minus chassis\n\
         capacitor C80 47u 450V electrolytic plus B1 minus chassis\nresistor R80 10k 2W from B1 to B2\n\
         capacitor C81 22u 450V electrolytic plus B2 minus chassis\n{body}\n"
    )
}

/// Asserts the stages (`name: sections, kind`), the roles listed, and that nothing is left over.
pub(crate) fn assert_seen(text: &str, stages: &[&str], expected: &[&str]) {
    let (circuit, recognised) = seen(&[text]);
    let outline = outline(&circuit, &recognised);
    let found: Vec<&str> = outline.lines().take(recognised.stages.len()).collect();
    assert_eq!(found, stages, "\n{outline}\n{}", table(&circuit, &recognised));
    let roles = roles(&circuit, &recognised);
    for line in expected {
        assert!(
            roles.iter().any(|r| r == line),
            "no `{line}` in\n{outline}\n{}",
            table(&circuit, &recognised)
        );
    }
    let left: Vec<&str> = recognised.unrecognised.iter().map(|p| circuit.part(*p).name.as_str()).collect();
    assert!(left.is_empty(), "{left:?} in\n{}", table(&circuit, &recognised));
}
