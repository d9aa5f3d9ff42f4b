//! What stands around and between the rows. Unless said otherwise each log holds three hours of
//! 4, 5 and 6 kW: 15 kWh.

use std::fmt::Write;

use tapoff::electrical::Phase;
use tapoff::site::Quantity;

use super::{NONE, Written, power};
use crate::log_values::{Outcome, close};

/// 15 kWh, and only these oddities.
#[track_caller]
fn fifteen(log: &Written, kinds: &[(&str, u64)]) -> Outcome {
    let outcome = log.run();
    close(outcome.meter().energy_kwh, 15.0);
    assert_eq!(outcome.kinds(), kinds);
    outcome
}

#[test]
fn separators_line_ends_and_quotes() {
    for log in [
        "time,P\n2026-03-09 01:00,4\n2026-03-09 02:00,5\n2026-03-09 03:00,6\n",
        "time\tP\n2026-03-09 01:00\t4\n2026-03-09 02:00\t5\n2026-03-09 03:00\t6\n",
        "time;P\r\n2026-03-09 01:00;4\r\n2026-03-09 02:00;5\r\n2026-03-09 03:00;6",
        "\"time\",\"P\"\n\"2026-03-09 01:00\",\"4\"\n\"2026-03-09 02:00\",\"5\"\n\"2026-03-09 03:00\",\"6\"\n",
        "time,P\n2026-03-09 01:00,\"4,0\"\n2026-03-09 02:00,\"5,0\"\n2026-03-09 03:00,\"6,0\"\n",
        "time;P;\n2026-03-09 01:00;4;\n2026-03-09 02:00;5;;\n2026-03-09 03:00;6;;;\n",
        "time;P\n2026-03-09 01:00;4;;\n2026-03-09 02:00;5;;\n2026-03-09 03:00;6;;\n",
        "\n\ntime;P\n\n2026-03-09 01:00;4\n\n\n2026-03-09 02:00;5\n2026-03-09 03:00;6\n\n",
    ] {
        fifteen(&power(log), &[]);
    }
}

/// The lines above the header hold separators of their own and more of them than the rows.
#[test]
fn lines_before_the_header() {
    let log = "Logger,Hall 5,East,Serial 4711\nExported 2026-03-10, by hand\n\n\
               time;P\n2026-03-09 01:00;4\n2026-03-09 02:00;5\n2026-03-09 03:00;6\n";
    let outcome = fifteen(&power(log), &[]);
    assert_eq!(outcome.logs.meters[0].files[0].header_line, Some(4));
}

/// 4000 W, 5000 W and 6000 W; 20 000 mA is 20 A; 0.001 MWh is 1 kWh. Of the register, which counts
/// up to the end of an hour, two steps of 5 and 6 kWh follow the first reading.
#[test]
fn a_row_of_units_scales_its_columns() {
    let log = "time,P,I1,E\n[UTC],W,mA,MWh\n2026-03-09 01:00,4000,20000,0.004\n\
               2026-03-09 02:00,5000,20000,0.009\n2026-03-09 03:00,6000,20000,0.015\n";
    let columns = "active_power_kw = \"P\"\ncurrent_l1_a = \"I1\"\nenergy_import_kwh = \"E\"";
    let outcome = fifteen(&Written::new(columns, log), &[]);
    let meter = outcome.meter();
    let amperes = outcome.logs.meters[0]
        .table
        .values(Quantity::Current(Phase::L1));
    assert_eq!(amperes.expect("logged").to_vec(), [Some(20.0); 3]);
    close(meter.register_energy_kwh, 11.0);
    assert_eq!(outcome.logs.meters[0].files[0].units_line, Some(2));
}

#[test]
fn units_in_the_names_and_declared_scales() {
    let log = "time,P [W]\n2026-03-09 01:00,4000\n2026-03-09 02:00,5000\n2026-03-09 03:00,6000\n";
    fifteen(&Written::new("active_power_kw = \"P [W]\"", log), &[]);
    // What is declared counts, whatever the log says: these watts are kilowatts.
    let log = "time,P\n,W\n2026-03-09 01:00,4\n2026-03-09 02:00,5\n2026-03-09 03:00,6\n";
    let scaled = "active_power_kw = { column = \"P\", scale = 1 }";
    fifteen(&Written::new(scaled, log), &[]);
}

/// Horsepower is not a unit of this trade, volts are none of power: read as kW, and asked about.
#[test]
fn a_unit_that_is_unknown_or_does_not_fit_is_questioned() {
    for unit in ["hp", "V"] {
        let log = format!(
            "time,P,U\n,{unit},V\n2026-03-09 01:00,4,230\n2026-03-09 02:00,5,230\n2026-03-09 03:00,6,230\n"
        );
        let (outcome, warnings) = power(log).run_warned();
        close(outcome.meter().energy_kwh, 15.0);
        assert_eq!(warnings, ["unknown-unit"], "{unit}");
    }
}

/// The header stands again on line 4 and with its units on lines 6 and 7.
#[test]
fn a_header_repeated_between_the_rows() {
    let log = "time,P\n[UTC],kW\n2026-03-09 01:00,4\ntime,P\n2026-03-09 02:00,5\ntime,P\n[UTC],kW\n\
               2026-03-09 03:00,6\n";
    let outcome = fifteen(&power(log), &[("repeated-header", 3)]);
    assert_eq!(
        outcome.entry("repeated-header").lines(),
        "logs/a.csv, rows 4–7"
    );
}

/// From line 3 on the columns have changed places: 100 °C must not become 100 kW.
#[test]
fn a_header_that_names_other_columns_is_refused() {
    let log = "time,P,T\n2026-03-09 01:00,4,100\ntime,T,P\n2026-03-09 02:00,100,5\n";
    let refusal = power(log).refused();
    assert!(refusal.contains("columns-move"), "{refusal}");
    assert!(refusal.contains("logs/a.csv, row 3, column B"), "{refusal}");
}

#[test]
fn no_header_at_all() {
    let log = "2026-03-09 01:00;x;4\n2026-03-09 02:00;y;5\n2026-03-09 03:00;z;6\n";
    let by_number = Written::new("active_power_kw = \"3\"", log).with("header = false");
    let outcome = fifteen(&by_number, &[]);
    assert_eq!(outcome.logs.unused_columns[0].1, ["2"]);
    // The time by its number too; and numbers without quotes.
    let log = "x;4;2026-03-09 01:00\ny;5;2026-03-09 02:00\nz;6;2026-03-09 03:00\n";
    let by_number =
        Written::new("active_power_kw = 2", log).with("header = false\ntime = { column = 3 }");
    fifteen(&by_number, &[]);
}

/// Each of the twelve ways of writing nothing takes an hour before 4, 5 and 6 kW. Nothing is filled.
#[test]
fn words_for_no_reading() {
    let words = [
        "", "-", "---", "NaN", "n/a", "N/A", "null", "NULL", "none", "#N/A", "-9999", "off",
    ];
    let mut log = "time,P,U\n".to_owned();
    for (hour, value) in words.iter().chain(&["4", "5", "6"]).enumerate() {
        writeln!(log, "2026-03-09 {hour:02}:00,{value},230").expect("a String takes any text");
    }
    let columns = "active_power_kw = \"P\"\nvoltage_l1_v = \"U\"";
    let declared = Written::new(columns, &log).with("missing = [\"-9999\", \"off\"]");
    fifteen(&declared, &[("unknown-power", 12)]);
    // Undeclared, -9999 is a number far beyond the supply and `off` a word.
    let (outcome, warnings) = Written::new(columns, &log).run_warned();
    assert_eq!(warnings, ["unreadable-cell"]);
    assert_eq!(
        outcome.entry("unreadable-cell").lines(),
        "logs/a.csv, row 13"
    );
}

/// A supply that draws 4 kW, returns 5 and 3 kW and draws 6 kW, an hour each: 4 − 5 − 3 + 6 = 2 kWh. The minus sign is
/// U+2212 as spreadsheets of some languages write it, or the dash that others put in its place.
#[test]
fn minus_signs_that_are_no_hyphens() {
    for sign in ["\u{2212}", "\u{2013}"] {
        let log = format!(
            "time;P\n2026-03-09 01:00;4,0\n2026-03-09 02:00;{sign}5,0\n2026-03-09 03:00;{sign}3\n2026-03-09 04:00;6,0\n"
        );
        let outcome = power(&log).run();
        close(outcome.meter().energy_kwh, 2.0);
        assert_eq!(outcome.kinds(), [("typeset-minus", 2)], "{sign}");
        let entry = outcome.entry("typeset-minus");
        assert_eq!(entry.lines(), "logs/a.csv, rows 3–4");
    }
    // A hyphen is counted as nothing odd, and a dash alone is no reading.
    let log =
        "time,P\n2026-03-09 01:00,4\n2026-03-09 02:00,-5\n2026-03-09 03:00,–\n2026-03-09 04:00,3\n";
    let outcome = power(log).run();
    close(outcome.meter().energy_kwh, 2.0);
    assert_eq!(outcome.kinds(), [("gap", 1)]);
}

/// 12.345,5 Wh and 1.234,5 Wh and 2.000 Wh: 15.58 kWh in all.
#[test]
fn thousands_separators_that_are_declared() {
    let log =
        "time;E\n2026-03-09 01:00;12.345,5\n2026-03-09 02:00;1.234,5\n2026-03-09 03:00;2.000\n";
    let columns = "energy_interval_kwh = { column = \"E\", scale = 0.001 }";
    let outcome = Written::new(columns, log).with("thousands = \".\"").run();
    close(outcome.meter().energy_kwh, 15.58);
    assert_eq!(outcome.kinds(), NONE);
    // Undeclared, a point beside decimal commas is not taken for either.
    let log = "time;E\n2026-03-09 01:00;345,5\n2026-03-09 02:00;234,5\n2026-03-09 03:00;2.000\n";
    let (outcome, warnings) = Written::new(columns, log).run_warned();
    close(outcome.meter().energy_kwh, 0.58);
    assert_eq!(
        (outcome.kinds(), warnings),
        (
            vec![("unreadable-cell", 1)],
            vec!["unreadable-cell".to_owned()]
        )
    );
    let grouped = "time,E\n2026-03-09 01:00,\"12,345.5\"\n2026-03-09 02:00,\"1,234.5\"\n2026-03-09 03:00,2000\n";
    let outcome = Written::new(columns, grouped)
        .with("thousands = \",\"")
        .run();
    close(outcome.meter().energy_kwh, 15.58);
}
