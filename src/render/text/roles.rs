//! Rails, stages and roles as text, each with the path that proves it.

use super::page::Page;
use super::table::{Align, Cell, Table};
use crate::circuit::{Circuit, PartId};
use crate::recognise::{Recognised, Stage};
use crate::render::text::style::{CAUTION, FAINT, PLAIN};

/// Everything that was recognised.
pub fn roles(page: &mut Page, circuit: &Circuit, recognised: &Recognised) {
    rails(page, circuit, recognised);
    for (index, stage) in recognised.stages.iter().enumerate() {
        self::stage(page, circuit, recognised, index, stage);
    }
    let rest: Vec<PartId> =
        recognised.roles.iter().filter(|(_, role)| role.stage.is_none()).map(|(id, _)| *id).collect();
    if !rest.is_empty() {
        page.heading("Parts of no one stage");
        page.table(2, &parts(circuit, recognised, &rest));
    }
    unrecognised(page, circuit, recognised);
}

fn rails(page: &mut Page, circuit: &Circuit, recognised: &Recognised) {
    page.heading("Rails");
    if recognised.rails.is_empty() {
        page.paragraph(2, CAUTION, "No supply rail was recognised.");
    }
    let mut table = Table::new(&[Align::Left; 4]);
    for rail in &recognised.rails {
        let net = circuit.net(rail.net);
        let title = net.declared.as_ref().and_then(|d| d.title.as_deref()).unwrap_or("");
        let capacitors: Vec<&str> = rail.capacitors.iter().map(|c| circuit.part(*c).name.as_str()).collect();
        let filter = if capacitors.is_empty() {
            "no filter capacitor".into()
        } else {
            format!("filtered by {}", capacitors.join(", "))
        };
        table.row(vec![
            net.name.clone().into(),
            title.into(),
            filter.into(),
            Cell::new(rail.why.clone(), FAINT),
        ]);
    }
    page.table(2, &table);
}

fn stage(page: &mut Page, circuit: &Circuit, recognised: &Recognised, index: usize, stage: &Stage) {
    let sections: Vec<String> =
        stage.sections.iter().map(|s| format!("{}{}", circuit.part(s.tube).name, s.letter)).collect();
    page.heading(&capital(&format!("{}: {}, {}", stage.name, sections.join(" and "), stage.kind.phrase())));
    page.paragraph(2, FAINT, &stage.why);
    let serving: Vec<PartId> =
        recognised.roles.iter().filter(|(_, role)| role.stage == Some(index)).map(|(id, _)| *id).collect();
    page.table(2, &parts(circuit, recognised, &serving));
}

fn parts(circuit: &Circuit, recognised: &Recognised, ids: &[PartId]) -> Table {
    let mut table = Table::new(&[Align::Left; 3]);
    for id in ids {
        let Some(role) = recognised.roles.get(id) else { continue };
        let stated = if role.stated { ", as the document says" } else { "" };
        let what = format!("{}{stated}", role.kind.phrase());
        table.row(vec![
            circuit.part(*id).name.clone().into(),
            what.into(),
            Cell::new(role.why.clone(), FAINT),
        ]);
    }
    table
}

fn unrecognised(page: &mut Page, circuit: &Circuit, recognised: &Recognised) {
    if recognised.unrecognised.is_empty() && recognised.strange_sections.is_empty() {
        return;
    }
    page.heading("Not recognised");
    let names: Vec<&str> = recognised.unrecognised.iter().map(|id| circuit.part(*id).name.as_str()).collect();
    let sections: Vec<String> = recognised
        .strange_sections
        .iter()
        .map(|s| format!("{}{}", circuit.part(s.tube).name, s.letter))
        .collect();
    if !sections.is_empty() {
        page.paragraph(2, PLAIN, &format!("valve sections in no stage: {}", sections.join(", ")));
    }
    if !names.is_empty() {
        page.paragraph(2, PLAIN, &format!("parts without a role: {}", names.join(", ")));
    }
    page.paragraph(2, FAINT, "Say what a part is for with `role`, for example: role R7 grid-leak \"…\"");
}

fn capital(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map_or(String::new(), |c| c.to_uppercase().chain(chars).collect())
}
