//! Sites whose phases are known and where nothing can be moved: every command has an answer.

use crate::program::{MACHINES, MAIN_LOG, Workshop};

const HEADER: &str = "machine,circuit,connection,power_kw\n";

const ROUNDS: &str = "\
time,at,l1_a,l2_a,l3_a,n_a
2026-03-09 08:20,supply,18,10,2,14
2026-03-09 09:20,DB1,18,10,2,14
2026-03-09 09:50,C1,6,6,6,1
";

const ONE_BOARD: &str =
    "\n[[meter]]\nid = \"board\"\nmeasures = \"DB1\"\nfiles = \"meters/main.csv\"
time = { column = \"time\", format = \"%Y-%m-%d %H:%M\" }
[meter.columns]
current_l1_a = \"I1\"
current_l2_a = \"I2\"
current_l3_a = \"I3\"
";

/// Every command that plans or reports, with the exit statuses that it promises.
fn every_command_ends(workshop: &Workshop) {
    for arguments in [
        &["check", "SITE"][..],
        &["energy", "SITE", "--format", "json"],
        &["diagnose", "SITE"],
        &["balance", "SITE", "--format", "json"],
        &["balance", "SITE", "--objective", "phase-peak"],
        &["place", "SITE", "--name", "oven", "--power-kw", "2"],
        &["report", "SITE", "-o", "BESIDE/out"],
    ] {
        let run = workshop.run_command(arguments);
        assert!(
            (0..=2).contains(&run.status) && !run.err.contains("panicked"),
            "{arguments:?} ended with {}: {}",
            run.status,
            run.err
        );
    }
}

/// The site with its log of the supply, and the same machines held where they are.
fn with_list(list: &str) -> Workshop {
    Workshop::new().with("machines.csv", list)
}

#[test]
fn only_three_phase_machines() {
    let list = format!("{HEADER}saw,C1,3ph,2.4\nplaner,C1,3ph,3\n");
    let workshop = with_list(&list);
    every_command_ends(&workshop);
    let plan = workshop.json(&["balance", "SITE", "--format", "json"]);
    assert_eq!(plan["moves"], serde_json::json!([]));
    assert_eq!(plan["before"], plan["after"]);
}

#[test]
fn every_machine_held_where_it_is() {
    let list: String = MACHINES
        .replace(",yes,", ",no,")
        .replace(",1,,,", ",1,no,,");
    every_command_ends(&with_list(&list));
}

#[test]
fn a_list_of_a_header_alone() {
    every_command_ends(&with_list(HEADER));
}

/// The phases are known from rounds of readings alone.
#[test]
fn rounds_of_readings_beside_an_empty_list() {
    let workshop = with_list(HEADER)
        .without("meters/main.csv")
        .replace("site.toml", "measures = \"supply\"", "measures = \"C2\"")
        .with("meters/main.csv", MAIN_LOG)
        .with("readings.csv", ROUNDS);
    every_command_ends(&workshop);
}

/// A board has a meter, the supply has none.
#[test]
fn a_meter_of_a_board_beside_an_empty_list() {
    for rounds in [None, Some(ROUNDS)] {
        let mut workshop =
            with_list(HEADER).replace("site.toml", "measures = \"supply\"", "measures = \"DB1\"");
        if let Some(rounds) = rounds {
            workshop = workshop.with("readings.csv", rounds);
        }
        every_command_ends(&workshop);
    }
}

/// Supply and board have the same log: the board's holds for the board.
#[test]
fn meters_of_supply_and_board_beside_an_empty_list() {
    every_command_ends(&with_list(HEADER).append("site.toml", ONE_BOARD));
}
