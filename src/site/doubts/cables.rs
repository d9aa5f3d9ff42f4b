//! A cable that does not fit its device, or its own capacity.

use crate::model::device::{Cable, Conductor};
use crate::model::site::Site;
use electrical::{is_above_limit, least_protected_capacity};
use message::Message;
use units::Amperes;

/// No copper cable carries more than this times its area to the power below: single-core cables in free air
/// (IEC 60364-5-52, annex D, has the form; the factor is above all of its tables). (A)
const MOST: (f64, f64) = (26.0, 0.625);
/// Aluminium carries less by this factor.
const ALUMINIUM: f64 = 0.8;
/// A device below this current for each mm² of its cable is rare even where the voltage drop decides. (A/mm²)
const LEAST_DENSITY: f64 = 0.5;

pub(super) fn doubts(site: &Site) -> Vec<Message> {
    let boards = site.boards.iter().filter_map(|board| {
        let what = format!("the feeder of board `{}`", board.id);
        let limit = board
            .phase_limit_a
            .map(|amps| (amps, format!("the limit of {amps} A")));
        Some(of_cable(&what, board.feeder.as_ref()?, limit))
    });
    let circuits = site.circuits.iter().filter_map(|circuit| {
        let what = format!("the cable of circuit `{}`", circuit.id);
        let cable = circuit.cable.as_ref()?;
        let device = circuit.protective_device;
        let limit = device.map(|device| (device.rated_a, format!("the device {device}")));
        let mut found = of_cable(&what, cable, limit);
        if let (Some(device), Some(capacity)) = (device, cable.current_capacity_a) {
            let capacity = capacity * cable.derating;
            let kind = device.kind.overload_device();
            let needed = least_protected_capacity(kind, Amperes(device.rated_a)).ok()?.0;
            if is_above_limit(needed, capacity) {
                found.push(
                    Message::warning(
                        "device-above-cable",
                        format!("{what} carries {capacity:.1} A, and {device} needs {needed:.1} A to protect it"),
                    )
                    .note("the rated current is not above the capacity, and a fuse operates at no more than 1.45 times the capacity (IEC 60364-4-43, 433.1)")
                    .help("check rating, area, capacity and derating on site"),
                );
            }
        }
        Some(found)
    });
    boards.chain(circuits).flatten().collect()
}

/// `limit` is what protects it, and its name.
fn of_cable(what: &str, cable: &Cable, limit: Option<(f64, String)>) -> Vec<Message> {
    let area = cable.phase_mm2;
    let metal = match cable.conductor {
        Conductor::Copper => 1.0,
        Conductor::Aluminium => ALUMINIUM,
    };
    let most = metal * MOST.0 * area.powf(MOST.1);
    let mut found = Vec::new();
    let mut doubt = |text: String, reason: &str| {
        found.push(
            Message::warning("cable-in-doubt", text)
                .note(reason)
                .help("check the cross-sectional area and the rating on site"),
        );
    };
    if let Some((amps, name)) = limit {
        if amps > most {
            doubt(
                format!("{what} has {area} mm², too little for {name}"),
                "no method of installation lets a cable of that area carry so much",
            );
        } else if amps < LEAST_DENSITY * area {
            doubt(
                format!("{what} has {area} mm², far more than {name} needs"),
                "even a long cable rarely has less than 0.5 A for each mm²",
            );
        }
    }
    if let Some(capacity) = cable.current_capacity_a
        && capacity > most
    {
        doubt(
            format!("{what} has {area} mm² and a current capacity of {capacity} A"),
            "no method of installation lets a cable of that area carry so much",
        );
    }
    found
}
