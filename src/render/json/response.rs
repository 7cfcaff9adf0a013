//! The response to a signal as JSON.

use num_complex::Complex64;
use serde::Serialize;

use super::{Figure, Head, Report};
use crate::analysis::Heard;
use crate::numeric::ac::margins::degrees;
use crate::solve::signal::feedback::Loop;
use crate::solve::signal::gain::{Gains, decibels};
use crate::solve::signal::sweep::Corners;

/// The whole report of `response`.
#[derive(Debug, Serialize)]
pub struct ResponseJson<'a> {
    condition: &'static str,
    before: Option<HeardJson<'a>>,
    now: HeardJson<'a>,
    /// The curve now less the curve before, dB.
    difference: Option<Vec<Figure>>,
}

#[derive(Debug, Serialize)]
struct HeardJson<'a> {
    title: &'a str,
    curve: Option<CurveJson<'a>>,
    stages: Vec<StageJson<'a>>,
    couplings: Vec<CouplingJson<'a>>,
    whole: Option<WholeJson<'a>>,
    /// The part behind which there is no signal, where none arrives.
    stops_at: Option<&'a str>,
    output: Option<OutputJson<'a>>,
    feedback: Option<LoopJson<'a>>,
    presence: Vec<PresenceJson<'a>>,
    #[serde(flatten)]
    large: super::clipping::LargeJson<'a>,
    assumed: &'a [String],
}

#[derive(Debug, Serialize)]
struct CurveJson<'a> {
    from: Option<&'a str>,
    to: Option<&'a str>,
    hertz: Vec<Figure>,
    decibels: Vec<Figure>,
    degrees: Vec<Figure>,
}

#[derive(Debug, Serialize)]
struct CornersJson {
    low: Option<Figure>,
    high: Option<Figure>,
}

#[derive(Debug, Serialize)]
struct StageJson<'a> {
    sections: String,
    stage: &'a str,
    kind: &'static str,
    grids: Vec<&'a str>,
    output: &'a str,
    decibels: Figure,
    degrees: Figure,
    corners: CornersJson,
    input_farads: Option<Figure>,
    grid_ohms: Option<Figure>,
}

#[derive(Debug, Serialize)]
struct CouplingJson<'a> {
    output: &'a str,
    input: &'a str,
    parts: Vec<&'a str>,
    decibels: Figure,
    degrees: Figure,
    corners: CornersJson,
}

#[derive(Debug, Serialize)]
struct WholeJson<'a> {
    output: &'a str,
    decibels: Figure,
    degrees: Figure,
    corners: CornersJson,
    product_decibels: Option<Figure>,
    loop_or_bypass: bool,
    loop_stages: Vec<&'a str>,
}

#[derive(Debug, Serialize)]
struct OutputJson<'a> {
    load: &'a str,
    load_ohms: Figure,
    ohms: Figure,
    degrees: Figure,
    damping: Figure,
}

#[derive(Debug, Serialize)]
struct LoopJson<'a> {
    parts: Vec<&'a str>,
    into: Option<&'a str>,
    loop_decibels: Figure,
    loop_degrees: Figure,
    reduction_decibels: Figure,
    positive: bool,
    oscillates: bool,
    phase_margins: Vec<MarginJson>,
    gain_margins: Vec<MarginJson>,
    transformer: Option<&'a str>,
    sense_stated: Option<bool>,
}

#[derive(Debug, Serialize)]
struct MarginJson {
    hertz: Figure,
    margin: Figure,
}

#[derive(Debug, Serialize)]
struct PresenceJson<'a> {
    control: &'a str,
    hertz: Figure,
    decibels: Figure,
}

/// The report of one amplifier, alone or against an earlier one.
pub fn response<'a>(
    head: Head<'a>,
    condition: &'static str,
    before: Option<&'a Heard>,
    now: &'a Heard,
) -> Report<'a, ResponseJson<'a>> {
    let difference = before.and_then(|before| before.difference(now));
    let told = ResponseJson {
        condition,
        before: before.map(heard),
        now: heard(now),
        difference: difference.map(|list| list.into_iter().map(Figure).collect()),
    };
    Report::new("asfound/response/1", head, told)
}

fn heard(heard: &Heard) -> HeardJson<'_> {
    let responded = &heard.responded;
    let name = |part: crate::circuit::PartId| heard.circuit.part(part).name.as_str();
    HeardJson {
        title: &heard.circuit.title,
        curve: curve(heard),
        stages: stages(heard),
        couplings: couplings(heard),
        whole: whole(heard, &responded.gains),
        stops_at: responded.stops_at.map(name),
        output: responded.output.map(|output| OutputJson {
            load: name(output.part),
            load_ohms: Figure(output.load_ohms),
            ohms: Figure(output.ohms.norm()),
            degrees: Figure(degrees(output.ohms)),
            damping: Figure(output.damping),
        }),
        feedback: responded.feedback.as_ref().map(|found| feedback(heard, found)),
        presence: responded
            .presence
            .iter()
            .map(|p| PresenceJson {
                control: name(p.part),
                hertz: Figure(p.hertz),
                decibels: Figure(p.decibels),
            })
            .collect(),
        large: super::clipping::large(heard),
        assumed: &responded.assumed,
    }
}

fn level(ratio: Complex64) -> (Figure, Figure) {
    (Figure(decibels(ratio)), Figure(degrees(ratio)))
}

fn corners(corners: Corners) -> CornersJson {
    CornersJson { low: corners.low.map(Figure), high: corners.high.map(Figure) }
}

fn curve(heard: &Heard) -> Option<CurveJson<'_>> {
    let sweep = heard.responded.sweep.as_ref()?;
    Some(CurveJson {
        from: heard.responded.from.map(|net| heard.net(net)),
        to: heard.responded.to.map(|net| heard.net(net)),
        hertz: sweep.hertz.iter().copied().map(Figure).collect(),
        decibels: sweep.ratio.iter().map(|r| level(*r).0).collect(),
        degrees: sweep.ratio.iter().map(|r| level(*r).1).collect(),
    })
}

fn stages(heard: &Heard) -> Vec<StageJson<'_>> {
    let responded = &heard.responded;
    let one = |(gain, at): (&crate::solve::signal::gain::StageGain, &Corners)| {
        let port = &responded.ports[gain.port];
        let input = responded.gains.inputs.iter().find(|input| input.port == gain.port);
        let (decibels, degrees) = level(gain.gain);
        StageJson {
            sections: heard.sections(port),
            stage: heard.stage(port.stage),
            kind: heard.recognised.stages[port.stage].kind.phrase(),
            grids: port.grids.iter().map(|net| heard.net(*net)).collect(),
            output: heard.net(gain.output),
            decibels,
            degrees,
            corners: corners(*at),
            input_farads: input.map(|input| Figure(input.farads)),
            grid_ohms: input.map(|input| Figure(input.ohms.norm())),
        }
    };
    responded.gains.stages.iter().zip(&responded.stage_corners).map(one).collect()
}

fn couplings(heard: &Heard) -> Vec<CouplingJson<'_>> {
    let responded = &heard.responded;
    let one = |(gain, at): (&crate::solve::signal::gain::CouplingGain, &Corners)| {
        let coupling = &heard.recognised.couplings[gain.coupling];
        let (decibels, degrees) = level(gain.gain);
        CouplingJson {
            output: heard.net(coupling.output),
            input: heard.net(coupling.input),
            parts: coupling.parts.iter().map(|p| heard.circuit.part(*p).name.as_str()).collect(),
            decibels,
            degrees,
            corners: corners(*at),
        }
    };
    responded.gains.couplings.iter().zip(&responded.coupling_corners).map(one).collect()
}

fn whole<'a>(heard: &'a Heard, gains: &Gains) -> Option<WholeJson<'a>> {
    let (decibels_now, degrees) = level(gains.whole?);
    Some(WholeJson {
        output: heard.output_name(),
        decibels: decibels_now,
        degrees,
        corners: corners(heard.responded.whole_corners),
        product_decibels: gains.product.map(|product| level(product).0),
        loop_or_bypass: gains.loop_or_bypass(),
        loop_stages: gains.in_loop.iter().map(|stage| heard.stage(*stage)).collect(),
    })
}

fn feedback<'a>(heard: &'a Heard, found: &Loop) -> LoopJson<'a> {
    let name = |part: crate::circuit::PartId| heard.circuit.part(part).name.as_str();
    let margins = |list: &[(f64, f64)]| {
        list.iter().map(|(f, m)| MarginJson { hertz: Figure(*f), margin: Figure(*m) }).collect()
    };
    let (loop_decibels, loop_degrees) = level(found.at_1k);
    LoopJson {
        parts: found.parts.iter().map(|p| name(*p)).collect(),
        into: found.stage.map(|stage| heard.stage(stage)),
        loop_decibels,
        loop_degrees,
        reduction_decibels: Figure(found.decibels),
        positive: found.positive,
        oscillates: found.oscillates(),
        phase_margins: margins(&found.margins.phase),
        gain_margins: margins(&found.margins.gain),
        transformer: found.transformer.map(|(part, _)| name(part)),
        sense_stated: found.transformer.map(|(_, stated)| stated),
    }
}
