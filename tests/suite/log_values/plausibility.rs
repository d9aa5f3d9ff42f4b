//! Readings that cannot be, and those that only look so.

use super::{Case, Outcome, close};

const ALL: &str = "voltage_l1_v = \"U1\"\nvoltage_l2_v = \"U2\"\nvoltage_l3_v = \"U3\"\n\
                   current_l1_a = \"I1\"\ncurrent_l2_a = \"I2\"\ncurrent_l3_a = \"I3\"\n\
                   active_power_l1_kw = \"P1\"\nactive_power_l2_kw = \"P2\"\nactive_power_l3_kw = \"P3\"\n\
                   reactive_power_l1_kvar = \"Q1\"\nreactive_power_l2_kvar = \"Q2\"\nreactive_power_l3_kvar = \"Q3\"";
const HEAD: &str = "U1,U2,U3,I1,I2,I3,P1,P2,P3,Q1,Q2,Q3";
/// 10 A on each phase: 2.3 kW each, 6.9 kWh in an hour.
const GOOD: &str = "230.1,230.2,230.3,10,10,10,2.3,2.3,2.3,0,0,0";

fn all(rows: &[&str]) -> Outcome {
    Case::hourly(ALL, rows).run(HEAD)
}

/// S = 2 kVA below P = 3 kW: nothing says which is wrong, and energy comes from P: 3 + 3 kWh.
#[test]
fn apparent_power_below_active_power_is_left_out() {
    let columns = "apparent_power_kva = \"S\"\nactive_power_kw = \"P\"";
    let outcome = Case::hourly(columns, &["3,3", "2,3"]).run("S,P");
    close(outcome.meter().energy_kwh, 6.0);
    assert_eq!(outcome.kinds(), [("apparent-below-active", 1)]);
    close(outcome.entry("apparent-below-active").effect_kwh, 0.0);
}

/// L2 reads 3 V while 10 A flow: its power of 0 is false, and so is any total of that hour. Left are
/// two hours of 6.9 kWh; the 4.6 kWh that the log shows in the other hour are left out.
#[test]
fn a_lost_voltage_takes_its_powers_with_it() {
    let lost = "230.1,3.0,230.3,10,10,10,2.3,0.0,2.3,0,0,0";
    let outcome = all(&[GOOD, lost, GOOD]);
    close(outcome.meter().energy_kwh, 13.8);
    assert_eq!(outcome.kinds(), [("unknown-power", 1), ("voltage-lost", 1)]);
    close(outcome.entry("voltage-lost").effect_kwh, -4.6);
    let kept = Case::hourly(ALL, &[GOOD, lost, GOOD])
        .with("plausibility = \"keep\"")
        .run(HEAD);
    close(kept.meter().energy_kwh, 18.4);
    assert_eq!(kept.kinds(), [("voltage-lost", 1)]);
    assert_eq!(kept.entry("voltage-lost").effect_kwh, None);
}

/// Without voltage and without current the phase is dead: that is real and stays.
#[test]
fn a_dead_phase_is_no_lost_voltage() {
    let dead = "230.1,0.0,230.3,10,0,10,2.3,0.0,2.3,0,0,0";
    let outcome = all(&[GOOD, dead, GOOD]);
    close(outcome.meter().energy_kwh, 18.4);
    assert_eq!(outcome.kinds(), []);
}

/// 6553.5 kW cannot flow through fuses of 100 A; 6.9 kWh of each of the other hours remain.
#[test]
fn an_impossible_power_is_left_out() {
    let spike = "230.1,230.2,230.3,10,10,10,6553.5,2.3,2.3,0,0,0";
    let outcome = all(&[GOOD, GOOD, spike, GOOD]);
    close(outcome.meter().energy_kwh, 20.7);
    close(outcome.meter().max_demand_kw, 6.9);
    close(outcome.entry("spike").effect_kwh, -6558.1);
    let at = outcome.entry("spike").first.map(|at| at.to_rfc3339());
    assert_eq!(at.as_deref(), Some("2026-03-09T02:00:00+00:00"));
}

/// 400 A for one hour while 2.3 kW are drawn: the power denies it. 400 A with 90 kW would be an
/// overload, and stays.
#[test]
fn a_current_that_its_power_denies_is_left_out_and_an_overload_is_not() {
    let denied = "230.1,230.2,230.3,400,10,10,2.3,2.3,2.3,0,0,0";
    let outcome = all(&[GOOD, denied, GOOD]);
    assert_eq!(outcome.kinds(), [("spike", 1)]);
    close(outcome.meter().energy_kwh, 20.7);
    close(outcome.meter().phase_max_a.map(|max| max[0]), 10.0);
    let overload = "225.0,230.2,230.3,400,10,10,89.0,2.3,2.3,0,0,0";
    let outcome = all(&[GOOD, overload, GOOD]);
    assert_eq!(outcome.kinds(), []);
    close(outcome.meter().phase_max_a.map(|max| max[0]), 400.0);
}

/// Watts read as kilowatts are no spikes: the scale is doubted as a whole, nothing is left out.
#[test]
fn a_channel_out_of_scale_is_doubted_as_a_whole() {
    let outcome = Case::hourly("active_power_kw = \"P\"", &["6900"; 4]).run("P");
    assert_eq!(outcome.kinds(), [("out-of-scale", 4)]);
    close(outcome.meter().energy_kwh, 27_600.0);
}

/// P2 is −2.3 kW in every hour while the others draw: the sum is 2.3 kW. Reported, not corrected.
#[test]
fn one_reversed_phase_is_named_and_not_changed() {
    let reversed = "230.1,230.2,230.3,10,10,10,2.3,-2.3,2.3,0,0,0";
    let outcome = all(&[reversed; 4]);
    close(outcome.meter().energy_kwh, 9.2);
    assert_eq!(outcome.kinds(), [("reversed-phase", 4)]);
    let note = &outcome.entry("reversed-phase").note;
    assert!(note.starts_with("the power of L2"), "{note}");
    // A machine that gives back now and then.
    let outcome = all(&[GOOD, reversed, GOOD, GOOD]);
    assert_eq!(outcome.kinds(), [("negative-phase", 1)]);
}

/// The current of L1 stands at 12.34 A for 30 hours while its power moves between 1 and 2.8 kW.
#[test]
fn a_current_that_stands_still_while_its_power_moves_is_left_out() {
    let rows: Vec<String> = (0..32)
        .map(|hour| {
            let amps = if hour < 30 { 12.34 } else { 5.5 };
            format!("{amps},{}", 1.0 + 0.2 * f64::from(hour % 10))
        })
        .collect();
    let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
    let columns = "current_l1_a = \"I\"\nactive_power_l1_kw = \"P\"";
    let outcome = Case::hourly(columns, &rows).at_machine().run("I,P");
    assert_eq!(outcome.kinds(), [("flat-line", 30)]);
    // 1 + 0.2·(0 … 9) kW three times over, and 1.0 and 1.2 kW: 3 · 19 + 2.2 kWh.
    close(outcome.meter().energy_kwh, 59.2);
}

/// A voltage that reads 230 V for 30 hours while currents move: reported, and kept.
#[test]
fn a_voltage_that_stands_still_is_reported() {
    let rows: Vec<String> = (0..30)
        .map(|hour| format!("230.0,{},0.9", 10 + hour % 5))
        .collect();
    let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
    let columns = "voltage_l1_v = \"U\"\ncurrent_l1_a = \"I\"\npower_factor_l1 = \"PF\"";
    let outcome = Case::hourly(columns, &rows).at_machine().run("U,I,PF");
    assert_eq!(outcome.kinds(), [("flat-voltage", 30)]);
    // Six times 10 + 11 + 12 + 13 + 14 A are 360 Ah, at 230 V and 0.9: 74.52 kWh.
    close(outcome.meter().energy_kwh, 74.52);
}

#[test]
fn a_frequency_that_no_grid_has_is_left_out() {
    let columns = "active_power_kw = \"P\"\nfrequency_hz = \"f\"";
    let outcome = Case::hourly(columns, &["1,50.01", "1,0", "1,49.98", "1,65.5"]).run("P,f");
    assert_eq!(outcome.kinds(), [("frequency-range", 2)]);
    close(outcome.meter().energy_kwh, 4.0);
}

/// One negative voltage is a misreading; a current that is negative whenever power flows back
/// carries its sign.
#[test]
fn negative_magnitudes() {
    let negative = "-230.1,230.2,230.3,10,10,10,2.3,2.3,2.3,0,0,0";
    let outcome = all(&[GOOD, negative, GOOD]);
    assert_eq!(outcome.kinds(), [("negative-magnitude", 1)]);
    close(outcome.meter().energy_kwh, 20.7);
    let columns = "current_l1_a = \"I\"\nactive_power_l1_kw = \"P\"";
    let outcome = Case::hourly(columns, &["-10,-2.3", "-10,-2.3", "-10,-2.3", "10,2.3"]).run("I,P");
    assert!(
        outcome.kinds().contains(&("signed-current", 3)),
        "{:?}",
        outcome.kinds()
    );
    let table = &outcome.logs.meters[0].table;
    let current = tapoff::site::Quantity::Current(tapoff::electrical::Phase::L1);
    let amperes = table.values(current).expect("logged");
    assert_eq!(amperes.to_vec(), [Some(10.0); 4]);
}

/// 230 V and 10 A are 2.3 kVA; a log with 1.15 kVA throughout has one of the three wrong by a factor of two. 2.1 kVA is
/// a matter of class.
#[test]
fn apparent_power_far_below_volts_times_amperes_is_reported() {
    let columns = "voltage_l1_v = \"U\"\ncurrent_l1_a = \"I\"\napparent_power_l1_kva = \"S\"";
    let of = |kva: &str| -> Vec<(String, u64)> {
        let row = format!("230,10,{kva}");
        let outcome = Case::hourly(columns, &[row.as_str(); 30]).run("U,I,S");
        let kinds = outcome.kinds().into_iter();
        kinds
            .map(|(kind, count)| (kind.to_owned(), count))
            .collect()
    };
    assert_eq!(of("1.15"), [("apparent-below-volt-amperes".to_owned(), 30)]);
    assert_eq!(of("2.1"), []);
}
