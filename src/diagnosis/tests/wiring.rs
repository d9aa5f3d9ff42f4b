//! Meters wired wrongly and lost phases, and what only looks like them.

use super::{active, number, resistive, set};
use crate::samples::{clear, constant, judge, needs, on_phases, only};
use electrical::Phase;
use finding::{Kind, Severity};
use site::Quantity;

#[test]
fn a_consumer_that_gives_power_has_its_transformer_reversed() {
    let columns = on_phases(active, [2.0, -2.0, 2.0], 600);
    let diagnosis = judge(columns);
    let finding = only(&diagnosis, Kind::MeteringFault);
    assert_eq!(finding.spot.phase, Some(Phase::L2));
    // 2 kW for ten hours.
    assert!((number(finding, "energy_with_wrong_sign_kwh") - 20.0).abs() < 1e-9);
}

#[test]
fn a_machine_that_brakes_or_a_generator_is_not_a_reversed_transformer() {
    let mut columns = on_phases(active, [2.0; 3], 600);
    set(
        &mut columns,
        Quantity::ActivePower(Some(Phase::L1)),
        100..160,
        -1.5,
    );
    assert!(clear(&judge(columns), Kind::MeteringFault));
    let mut generator = on_phases(active, [-2.0; 3], 600);
    generator.push(constant(Quantity::EnergyExport, 7.0, 600));
    let diagnosis = judge(generator);
    assert!(needs(&diagnosis, Kind::MeteringFault).contains("export"));
}

#[test]
fn a_lost_phase_is_a_danger() {
    let mut columns = resistive([230.0; 3], [10.0; 3], 300);
    set(&mut columns, Quantity::Voltage(Phase::L2), 50..60, 20.0);
    set(&mut columns, Quantity::Current(Phase::L2), 50..60, 0.0);
    let lost = judge(columns);
    let finding = only(&lost, Kind::PhaseLoss);
    assert_eq!(finding.severity, Severity::Danger);
    assert!((number(finding, "longest_spell_min") - 10.0).abs() < 1e-9);
}

/// The meter's voltage lead is off: no volts, but the current flows on.
#[test]
fn a_lost_lead_is_not_a_lost_phase() {
    let mut columns = resistive([230.0; 3], [10.0; 3], 300);
    set(&mut columns, Quantity::Voltage(Phase::L2), 50..60, 20.0);
    let lead = judge(columns);
    assert!(clear(&lead, Kind::PhaseLoss));
    let wiring = only(&lead, Kind::MeteringFault);
    assert_eq!(wiring.spot.phase, Some(Phase::L2));
    assert!(wiring.summary.contains("voltage lead"));
}

#[test]
fn an_outage_of_all_phases_is_not_the_loss_of_one() {
    let mut columns = resistive([230.0; 3], [10.0; 3], 300);
    for phase in Phase::ALL {
        set(&mut columns, Quantity::Voltage(phase), 50..60, 0.0);
    }
    assert!(clear(&judge(columns), Kind::PhaseLoss));
}
