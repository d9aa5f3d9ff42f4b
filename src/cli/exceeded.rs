//! Measured currents above their limits: of meters, and of each clamp-meter reading.

use demand::EnergyResult;
use electrical::is_above_limit;
use export::ExceededLimit;
use metering::{Logs, Round};
use site::{Cable, Measured, Node, Site};

const CONDUCTORS: [&str; 4] = ["L1", "L2", "L3", "N"];

/// One limit of a place, of L1, L2, L3 and N alike or of the phases alone.
struct PlaceLimit {
    what: String,
    phase_a: Option<f64>,
    neutral_a: Option<f64>,
}

/// The largest means of each meter, then the readings of each round, where they are above a limit.
pub(super) fn exceeded_limits(
    site: &Site,
    logs: &Logs,
    energy: &EnergyResult,
) -> Vec<ExceededLimit> {
    let mut found = Vec::new();
    for meter in &energy.meters {
        let known = site.meters.iter().find(|known| known.id == meter.id);
        if let Some(Measured::Node(node)) = known.map(|known| known.measures) {
            let phases = meter.phase_max_a.map(|phases| phases.map(Some));
            let [l1, l2, l3] = phases.unwrap_or_default();
            compare(
                site,
                Measured::Node(node),
                None,
                [l1, l2, l3, meter.neutral_max_a],
                &mut found,
            );
        }
    }
    for round in &logs.rounds {
        for reading in &round.readings {
            let [l1, l2, l3] = reading.phases_a;
            let amps = [l1, l2, l3, reading.neutral_a];
            compare(site, reading.at, Some(round), amps, &mut found);
        }
    }
    found
}

fn compare(
    site: &Site,
    at: Measured,
    round: Option<&Round>,
    amps: [Option<f64>; 4],
    found: &mut Vec<ExceededLimit>,
) {
    let limits = limits_of(site, at, round.is_some());
    for (index, amps) in amps.into_iter().enumerate() {
        for limit in &limits {
            let limit_a = if index < 3 {
                limit.phase_a
            } else {
                limit.neutral_a
            };
            let (Some(value_a), Some(limit_a)) = (amps.map(f64::abs), limit_a) else {
                continue;
            };
            if is_above_limit(value_a, limit_a) {
                found.push(ExceededLimit {
                    at: site.measured_name(at).to_owned(),
                    conductor: CONDUCTORS[index],
                    value_a,
                    limit_a,
                    limit_of: limit.what.clone(),
                    read_at: round
                        .map(|round| round.at.with_timezone(&site.timezone).fixed_offset()),
                });
            }
        }
    }
}

/// A meter is compared with the limits of the supply, boards and circuits' devices, as its alarms are; a reading
/// with those of the cable, the machine's own device and the circuit that feeds it too.
fn limits_of(site: &Site, at: Measured, of_reading: bool) -> Vec<PlaceLimit> {
    let node = match at {
        Measured::Node(node) => node,
        Measured::Machine(index) => {
            let machine = &site.machines[index];
            let own = machine.protective_device.map(|device| PlaceLimit {
                what: format!("its device {device}"),
                phase_a: Some(device.rated_a),
                neutral_a: None,
            });
            let mut limits: Vec<PlaceLimit> = own.into_iter().collect();
            if let Node::Circuit(_) = machine.tapped_off {
                limits.extend(limits_of(site, Measured::Node(machine.tapped_off), true));
            }
            return limits;
        }
    };
    let what = match node {
        Node::Supply => "the supply".to_owned(),
        Node::Board(index) => format!("board `{}`", site.boards[index].id),
        Node::Circuit(index) => site.circuits[index]
            .protective_device
            .map_or_else(String::new, |device| {
                format!("circuit `{}`, device {device}", site.circuits[index].id)
            }),
    };
    let mut limits = vec![PlaceLimit {
        what,
        phase_a: site.phase_limit_a(node),
        neutral_a: site.neutral_limit_a(node),
    }];
    let cable = match node {
        Node::Supply => None,
        Node::Board(index) => site.boards[index].feeder.as_ref(),
        Node::Circuit(index) => site.circuits[index].cable.as_ref(),
    };
    limits.extend(cable.filter(|_| of_reading).and_then(cable_limit));
    limits
}

/// Of a cable whose current-carrying capacity is declared; of its neutral where that is not thinner.
fn cable_limit(cable: &Cable) -> Option<PlaceLimit> {
    let capacity = cable.current_capacity_a? * cable.derating;
    Some(PlaceLimit {
        what: format!("cable of {} mm²", cable.phase_mm2),
        phase_a: Some(capacity),
        neutral_a: (cable.neutral_mm2 >= cable.phase_mm2).then_some(capacity),
    })
}
