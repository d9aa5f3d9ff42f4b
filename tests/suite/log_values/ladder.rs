//! What is not logged is derived, and says so.

use tapoff::electrical::Phase;
use tapoff::metering::Origin;
use tapoff::site::Quantity;

use super::{Case, close};

const PHASE: &str = "voltage_l1_v = \"U\"\ncurrent_l1_a = \"I\"\npower_factor_l1 = \"PF\"";

/// 230 V · 10 A · 0.8 = 1.84 kW; two hours are 3.68 kWh. Q = 2.3 kVA · 0.6 = 1.38 kvar, lagging by
/// assumption: 2.76 kvarh.
#[test]
fn power_of_voltage_current_and_factor() {
    let outcome = Case::hourly(PHASE, &["230,10,0.8"; 2])
        .at_machine()
        .run("U,I,PF");
    let meter = outcome.meter();
    close(meter.energy_kwh, 3.68);
    close(meter.reactive_energy_import_kvarh, 2.76);
    close(meter.power_factor, 0.8);
    assert_eq!(meter.basis.energy_kwh, Some("derived"));
    assert_eq!(meter.basis.reactive_energy_kvarh, Some("estimated"));
    let notes = outcome.result.notes.join("\n");
    assert!(notes.contains("assumed lagging"), "{notes}");
    let origin = outcome.logs.meters[0]
        .table
        .origin(Quantity::ActivePower(Some(Phase::L1)));
    assert!(matches!(origin, Some(Origin::Derived { .. })), "{origin:?}");
}

/// 2 + 3 + 4 kW on the phases are 9 in total, which counts as measured.
#[test]
fn the_total_is_the_sum_of_the_phases() {
    let columns =
        "active_power_l1_kw = \"a\"\nactive_power_l2_kw = \"b\"\nactive_power_l3_kw = \"c\"";
    let outcome = Case::hourly(columns, &["2,3,4"; 2]).run("a,b,c");
    close(outcome.meter().energy_kwh, 18.0);
    assert_eq!(outcome.meter().basis.energy_kwh, Some("measured"));
}

/// 73.21 % of 10 kVA are 7.321 kW.
#[test]
fn a_factor_in_percent_is_recognised() {
    let columns = "apparent_power_kva = \"S\"\npower_factor = \"PF\"";
    let outcome = Case::hourly(columns, &["10,73.21"; 2]).run("S,PF");
    close(outcome.meter().energy_kwh, 14.642);
    assert_eq!(outcome.kinds(), [("power-factor-percent", 2)]);
}

/// A factor of −0.8 at a machine that returns nothing is leading: 1.84 kW drawn, 1.38 kvar leading.
#[test]
fn a_negative_factor_of_a_consumer_is_leading() {
    let outcome = Case::hourly(PHASE, &["230,10,-0.8", "230,10,0.8"])
        .at_machine()
        .run("U,I,PF");
    let meter = outcome.meter();
    close(meter.energy_kwh, 3.68);
    close(meter.reactive_energy_import_kvarh, 1.38);
    close(meter.reactive_energy_export_kvarh, 1.38);
    assert_eq!(meter.basis.reactive_energy_kvarh, Some("derived"));
    assert_eq!(outcome.kinds(), [("power-factor-sign", 1)]);
}

/// A factor of 1.2 cannot be; 0.8 of 10 kVA are 8 kWh in the other hour, and 12 kWh are left out.
#[test]
fn a_factor_above_one_is_left_out() {
    let columns = "apparent_power_kva = \"S\"\npower_factor = \"PF\"";
    let outcome = Case::hourly(columns, &["10,0.8", "10,1.2"]).run("S,PF");
    close(outcome.meter().energy_kwh, 8.0);
    assert_eq!(
        outcome.kinds(),
        [("unknown-power", 1), ("power-factor-range", 1)]
    );
}

/// 2.31 kW at U0 = 400/√3 = 230.940 V are 10.0026 A at a power factor of 1.
#[test]
fn a_current_is_estimated_at_nominal_voltage() {
    let outcome = Case::hourly("active_power_l1_kw = \"P\"", &["2.31"; 2])
        .at_machine()
        .run("P");
    let table = &outcome.logs.meters[0].table;
    let current = Quantity::Current(Phase::L1);
    let values = table.values(current).expect("estimated");
    close(values.get(0), 2310.0 / (400.0 / 3.0_f64.sqrt()));
    assert!(matches!(
        table.origin(current),
        Some(Origin::Estimated { .. })
    ));
    assert!(outcome.site.supply.phase_voltage_v() > 230.0);
}

/// S and P without anything that tells the sense: √(5² − 3²) = 4 kvar, as if lagging. With
/// registers of which only the leading one counts, it leads.
#[test]
fn reactive_power_of_apparent_and_active() {
    let columns = "apparent_power_kva = \"S\"\nactive_power_kw = \"P\"";
    let outcome = Case::hourly(columns, &["5,3"; 2]).run("S,P");
    close(outcome.meter().reactive_energy_import_kvarh, 8.0);
    assert_eq!(
        outcome.meter().basis.reactive_energy_kvarh,
        Some("estimated")
    );
    let columns = format!(
        "{columns}\nreactive_energy_import_kvarh = \"lag\"\nreactive_energy_export_kvarh = \"lead\""
    );
    let outcome = Case::hourly(&columns, &["5,3,7,10", "5,3,7,14"]).run("S,P,lag,lead");
    close(outcome.meter().reactive_energy_export_kvarh, 8.0);
    close(outcome.meter().reactive_energy_import_kvarh, 0.0);
    assert_eq!(outcome.meter().basis.reactive_energy_kvarh, Some("derived"));
}
