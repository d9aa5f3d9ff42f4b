//! Headers without a table of columns. Unless said otherwise each log holds two hours of 4 and
//! 5 kW: 9 kWh.

use std::fmt::Write;

use tapoff::electrical::Phase;
use tapoff::metering::Reason;
use tapoff::site::Quantity;

use super::{NONE, Written, undeclared};
use crate::log_values::{Outcome, close};

/// Column, quantity, factor and reason of what was recognised.
fn mapping(outcome: &Outcome) -> Vec<(&str, String, f64, Reason)> {
    let columns = outcome.logs.meters[0].columns.iter();
    columns
        .map(|column| {
            (
                column.column.as_str(),
                column.quantity.name(),
                column.scale,
                column.reason,
            )
        })
        .collect()
}

#[track_caller]
fn nine(log: &Written) -> Outcome {
    let outcome = log.run();
    close(outcome.meter().energy_kwh, 9.0);
    assert_eq!(outcome.kinds(), NONE);
    outcome
}

#[test]
fn names_of_quantities() {
    let log = "time,active_power_kw,note\n2026-03-09 01:00,4,x\n2026-03-09 02:00,5,y\n";
    let outcome = nine(&undeclared(log));
    assert_eq!(
        mapping(&outcome),
        [(
            "active_power_kw",
            "active_power_kw".to_owned(),
            1.0,
            Reason::Name
        )]
    );
    assert_eq!(outcome.logs.unused_columns[0].1, ["note"]);
}

/// IEC 62056-6-1: 16.7.0 is the net active power of all phases, 31, 51, 71.7.0 are the currents,
/// 32.7.0 is the voltage of L1. Watts become kilowatts.
#[test]
fn obis_codes_with_their_units() {
    let log = "Station 5\ntime;1-0:16.7.0 [W];1-0:31.7.0 [A];51.7.0 [mA];71.7.0*255 (A);32.7.0\n\
               2026-03-09 01:00;4000;10;10000;10;231,5\n2026-03-09 02:00;5000;12;12000;12;230,5\n";
    let outcome = nine(&undeclared(log));
    close(outcome.meter().phase_max_a.map(|phases| phases[1]), 12.0);
    let table = &outcome.logs.meters[0].table;
    let volts = table.values(Quantity::Voltage(Phase::L1));
    assert_eq!(volts.expect("logged").to_vec(), [231.5, 230.5].map(Some));
    assert!(
        mapping(&outcome)
            .iter()
            .all(|(.., reason)| *reason == Reason::Obis)
    );
}

/// Two tariffs: 3 kWh by day and 2 by night between the first and the last reading.
#[test]
fn registers_of_two_tariffs_add_up() {
    let log = "time,1.8.1 [kWh],1.8.2 [kWh]\n2026-03-09 01:00,100,200\n2026-03-09 02:00,101,200\n\
               2026-03-09 03:00,103,202\n";
    let outcome = undeclared(log).run();
    close(outcome.meter().register_energy_kwh, 5.0);
    assert_eq!(outcome.kinds(), NONE);
    // Where the total is there, its parts are not needed: 105 − 100.
    let log = "time,1.8.0 [kWh],1.8.1 [kWh]\n2026-03-09 01:00,100,50\n2026-03-09 02:00,103,52\n\
               2026-03-09 03:00,105,53\n";
    let outcome = undeclared(log).run();
    close(outcome.meter().register_energy_kwh, 5.0);
    assert_eq!(outcome.logs.unused_columns[0].1, ["1.8.1 [kWh]"]);
}

/// Without a unit a power may be in watts or in kilowatts: read as kW, and asked about.
#[test]
fn an_obis_code_without_a_unit_is_questioned() {
    let log = "time,16.7.0\n2026-03-09 01:00,4\n2026-03-09 02:00,5\n";
    let (outcome, warnings) = undeclared(log).run_warned();
    close(outcome.meter().energy_kwh, 9.0);
    assert_eq!(warnings, ["unit-not-said"]);
}

#[test]
fn words_of_the_trade() {
    let log = "time,U L1-N [V],I L2 (A),P L1 [W],P L2 [W],P L3 [W],Comment\n\
               2026-03-09 01:00,230,5,1000,1000,2000,\n2026-03-09 02:00,230,6,1000,2000,2000,\n";
    let outcome = nine(&undeclared(log));
    let found = mapping(&outcome);
    let of = |name: &str| found.iter().find(|(column, ..)| *column == name);
    assert_eq!(
        of("P L3 [W]"),
        Some(&(
            "P L3 [W]",
            "active_power_l3_kw".to_owned(),
            0.001,
            Reason::Words
        ))
    );
    assert_eq!(
        of("U L1-N [V]"),
        Some(&("U L1-N [V]", "voltage_l1_v".to_owned(), 1.0, Reason::Words))
    );
    close(
        outcome.meter().energy_kwh_by_phase.map(|phases| phases[1]),
        3.0,
    );
}

/// The names are symbols; their units stand in the row below.
#[test]
fn words_with_a_row_of_units() {
    let log = "time;P;U L1\n;W;V\n2026-03-09 01:00;4000;230,1\n2026-03-09 02:00;5000;230,2\n";
    nine(&undeclared(log));
}

/// 1.5, 1.25, 1.5 and 1 kWh come and go: amounts, 5.25 kWh. 100 to 116.5 in steps of 1.5 only rises: a register. Four
/// readings may rise by chance.
#[test]
fn energy_is_a_register_or_an_amount_as_its_readings_say() {
    let rows = |values: &[&str]| {
        let mut log = "time,kWh\n".to_owned();
        for (hour, value) in (1..).zip(values) {
            writeln!(log, "2026-03-09 {hour:02}:00,{value}").expect("a String takes any text");
        }
        log
    };
    let outcome = undeclared(rows(&["1.5", "1.25", "1.5", "1"])).run();
    close(outcome.meter().energy_kwh, 5.25);
    assert_eq!(mapping(&outcome)[0].1, "energy_interval_kwh");
    let rising: Vec<String> = (0..12)
        .map(|at| (100.0 + 1.5 * f64::from(at)).to_string())
        .collect();
    let rising: Vec<&str> = rising.iter().map(String::as_str).collect();
    let outcome = undeclared(rows(&rising)).run();
    close(outcome.meter().register_energy_kwh, 16.5);
    assert_eq!(mapping(&outcome)[0].1, "energy_import_kwh");
    for few in [&rising[..1], &rising[..4]] {
        let refusal = undeclared(rows(few)).refused();
        assert!(refusal.contains("register-or-interval"), "{refusal}");
        assert!(refusal.contains("logs/a.csv, row 1, column B"), "{refusal}");
    }
}

#[test]
fn two_candidates_are_an_error_and_no_guess() {
    let log = "time,P [W],active_power_kw\n2026-03-09 01:00,4000,4\n2026-03-09 02:00,5000,5\n";
    let refusal = undeclared(log).refused();
    assert!(refusal.contains("two-candidates"), "{refusal}");
    assert!(
        refusal.contains("`P [W]` and `active_power_kw`"),
        "{refusal}"
    );
    assert!(refusal.contains("logs/a.csv, row 1, column C"), "{refusal}");
    nine(&Written::new("active_power_kw = \"P [W]\"", log));
}

#[test]
fn nothing_known_is_an_error() {
    let refusal = undeclared("time,a,b\n2026-03-09 01:00,4,5\n").refused();
    assert!(refusal.contains("no-known-column"), "{refusal}");
}

/// The second file has its columns in another order; the third lacks one.
#[test]
fn files_of_one_meter_may_order_their_columns_as_they_like() {
    let first = "time,P [kW],I L1 [A]\n2026-03-09 01:00,4,10\n";
    let second = "time,I L1 [A],P [kW]\n2026-03-09 02:00,10,5\n";
    nine(&undeclared(first).and("b.csv", second));
    let third = "time,P [kW]\n2026-03-09 03:00,5\n";
    let refusal = undeclared(first).and("b.csv", third).refused();
    assert!(refusal.contains("files-differ"), "{refusal}");
    assert!(refusal.contains("has no `current_l1_a`"), "{refusal}");
}
