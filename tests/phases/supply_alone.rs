//! The demo with the log of its supply alone.

use std::path::Path;

use message::Messages;
use metering::{Period, read_logs};
use phases::identify;
use site::{Connection, Measured, read_site};

/// The demo with the log of its supply alone, and a list that gives no phase: what switches often is found, and what is
/// found is right; of all others it is said that they are not known.
#[test]
fn the_log_of_the_demos_supply_alone_shows_few_loads_and_those_right() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../sample-data/ferry-lane");
    let (site, _) = read_site(&folder).expect("a sound site");
    let mut messages = Messages::new();
    let mut logs = read_logs(&site, Period::default(), &mut messages);
    let supply = site.meter_of(Measured::SUPPLY).expect("a meter");
    logs.meters.retain(|log| log.meter == supply);
    let mut bare = site.clone();
    for machine in &mut bare.machines {
        if !matches!(machine.connection, Connection::ThreePhase { .. }) {
            machine.connection = Connection::Unknown;
        }
    }
    for circuit in &mut bare.circuits {
        circuit.phases = Connection::THREE_PHASE;
    }
    let found = identify(&bare, &logs);
    let mut settled = Vec::new();
    for load in &found.loads {
        let truth = site.machines.iter().find(|one| one.name == load.machine);
        let truth = truth.expect("a machine").connection;
        if load.is_settled() {
            assert_eq!(load.probable, Some(truth), "{load:?}");
            settled.push(load.machine.as_str());
        } else {
            assert!(load.to_settle.is_some(), "{load:?}");
        }
    }
    assert_eq!(settled, ["Slipway and yard lights", "Epoxy cupboard"]);
}
