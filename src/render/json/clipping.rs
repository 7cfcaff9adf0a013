//! Large signals as JSON: clipping limits, and the output stage by its drive.

use serde::Serialize;

use super::Figure;
use crate::analysis::Heard;
use crate::solve::large_signal::power::{Power, PowerPoint};
use crate::solve::large_signal::transfer::{Class, Limit, Transfer};

/// Large signals of one amplifier.
#[derive(Debug, Serialize)]
pub(super) struct LargeJson<'a> {
    clipping: Vec<ClippingJson<'a>>,
    power: Option<PowerJson<'a>>,
}

#[derive(Debug, Serialize)]
struct ClippingJson<'a> {
    sections: String,
    stage: &'a str,
    slope: Figure,
    rising: Option<LimitJson>,
    falling: Option<LimitJson>,
    asymmetry: Option<Figure>,
    bias: Option<&'static str>,
    /// Volts from rest: grid, output.
    curve: Vec<[Figure; 2]>,
}

#[derive(Debug, Serialize)]
struct LimitJson {
    grid_volts: Figure,
    output_volts: Figure,
    cause: &'static str,
}

#[derive(Debug, Serialize)]
struct PowerJson<'a> {
    stage: &'a str,
    transformer: &'a str,
    load_ohms: Figure,
    drives: Vec<DriveJson>,
    /// Over one cycle at full drive: plate volts, plate amps.
    load_line: Vec<[Figure; 2]>,
}

#[derive(Debug, Serialize)]
struct DriveJson {
    drive_volts: Figure,
    watts: Figure,
    distortion: Option<Figure>,
    sections: Vec<SectionJson>,
}

#[derive(Debug, Serialize)]
struct SectionJson {
    section: String,
    plate_amps: Figure,
    plate_watts: Figure,
    screen_amps: Figure,
    screen_watts: Figure,
}

pub(super) fn large(heard: &Heard) -> LargeJson<'_> {
    LargeJson {
        clipping: heard.responded.transfers.iter().map(|transfer| clipping(heard, transfer)).collect(),
        power: heard.responded.power.as_ref().map(|power| output(heard, power)),
    }
}

fn clipping<'a>(heard: &'a Heard, transfer: &Transfer) -> ClippingJson<'a> {
    let port = &heard.responded.ports[transfer.port];
    let limit = |limit: Limit| LimitJson {
        grid_volts: Figure(limit.grid),
        output_volts: Figure(limit.output),
        cause: limit.cause.word(),
    };
    ClippingJson {
        sections: heard.sections(port),
        stage: heard.stage(port.stage),
        slope: Figure(transfer.slope),
        rising: transfer.up.map(limit),
        falling: transfer.down.map(limit),
        asymmetry: transfer.asymmetry().map(Figure),
        bias: transfer.class().map(Class::word),
        curve: transfer.curve.iter().map(|(x, y)| [Figure(*x), Figure(*y)]).collect(),
    }
}

fn output<'a>(heard: &'a Heard, power: &Power) -> PowerJson<'a> {
    PowerJson {
        stage: heard.stage(power.stage),
        transformer: &heard.circuit.part(power.transformer).name,
        load_ohms: Figure(power.load_ohms),
        drives: power.points.iter().map(|point| drive(heard, point)).collect(),
        load_line: power.load_line.iter().map(|(v, i)| [Figure(*v), Figure(*i)]).collect(),
    }
}

fn drive(heard: &Heard, point: &PowerPoint) -> DriveJson {
    let section = |s: &crate::solve::large_signal::power::SectionPower| SectionJson {
        section: format!("{}{}", heard.circuit.part(s.section.tube).name, s.section.letter),
        plate_amps: Figure(s.plate_amps),
        plate_watts: Figure(s.plate_watts),
        screen_amps: Figure(s.screen_amps),
        screen_watts: Figure(s.screen_watts),
    };
    DriveJson {
        drive_volts: Figure(point.drive),
        watts: Figure(point.watts),
        distortion: point.distortion.map(Figure),
        sections: point.sections.iter().map(section).collect(),
    }
}
