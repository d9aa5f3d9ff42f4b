//! Laws that hold for any currents and voltages.

use num_complex::Complex64;
use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;
use tapoff::electrical::{
    PhasePair, PowerFactor, SymmetricalComponents, arithmetic_apparent_power, complex_power,
    correction_power, current_from_power, effective_apparent_power, line_currents_of_delta,
    negative_sequence_ratio, neutral_current, phase_currents_between, phase_voltage,
    phase_voltage_phasors, power_of_two_wattmeters, reactive_power_at, two_wattmeter_readings,
    vector_apparent_power,
};
use tapoff::units::{Vars, Volts, Watts};

use crate::tolerance::{IDENTITY_RELATIVE, ROOT_OF_DIFFERENCE, close};

/// Currents of any size a workshop sees, at any angle.
fn phasor() -> impl Strategy<Value = Complex64> {
    (0.0..1000.0_f64, -180.0..180.0_f64)
        .prop_map(|(size, degrees)| Complex64::from_polar(size, degrees.to_radians()))
}

fn three() -> impl Strategy<Value = [Complex64; 3]> {
    [phasor(), phasor(), phasor()]
}

/// Voltages to neutral that sum to zero, near a usual supply or far from it.
fn voltages_without_zero_sequence() -> impl Strategy<Value = [Complex64; 3]> {
    three().prop_map(|phasors| {
        let mean = phasors.iter().sum::<Complex64>() / 3.0;
        phasors.map(|phasor| phasor - mean)
    })
}

fn config() -> ProptestConfig {
    let finds = FileFailurePersistence::Direct("tests/regressions/electrical.txt");
    ProptestConfig {
        failure_persistence: Some(Box::new(finds)),
        ..ProptestConfig::default()
    }
}

/// Equal but for rounding of sums of about this size.
fn same(left: f64, right: f64, size: f64) -> bool {
    (left - right).abs() <= IDENTITY_RELATIVE * size.max(1.0)
}

/// Not below, but for rounding.
fn at_least(larger: f64, smaller: f64) -> bool {
    larger >= smaller * (1.0 - IDENTITY_RELATIVE) - IDENTITY_RELATIVE
}

fn neutral(phases: [Complex64; 3]) -> f64 {
    neutral_current(phases).map_or(f64::NAN, Complex64::norm)
}

proptest! {
    #![proptest_config(config())]

    /// Three cyclic shifts of the phases, with their currents turned along, leave the neutral as it is.
    #[test]
    fn neutral_is_unchanged_when_phases_are_rotated([a, b, c] in three()) {
        let turn = Complex64::from_polar(1.0, (-120.0_f64).to_radians());
        let rotated = neutral([c * turn, a * turn, b * turn]);
        prop_assert!(same(neutral([a, b, c]), rotated, 3000.0));
    }

    #[test]
    fn neutral_scales_with_the_currents(phases in three(), factor in 0.0..10.0_f64) {
        let scaled = neutral(phases.map(|phase| phase * factor));
        prop_assert!(same(scaled, factor * neutral(phases), 30_000.0));
    }

    #[test]
    fn neutral_is_three_times_the_zero_sequence(phases in three()) {
        let parts = SymmetricalComponents::of(phases)?;
        prop_assert!(same(neutral(phases), 3.0 * parts.zero.norm(), 3000.0));
    }

    /// The trade's shortcut for equal power factors.
    #[test]
    fn neutral_of_equal_power_factors_follows_from_magnitudes(
        amps in [0.0..1000.0_f64, 0.0..1000.0, 0.0..1000.0],
        degrees in -90.0..90.0_f64,
    ) {
        let [a, b, c] = amps;
        let shortcut = (a * a + b * b + c * c - a * b - b * c - c * a).max(0.0).sqrt();
        let at = |size: f64, turn: f64| Complex64::from_polar(size, (turn + degrees).to_radians());
        let found = neutral([at(a, 0.0), at(b, -120.0), at(c, 120.0)]);
        // Near zero the shortcut's root loses half of its digits.
        prop_assert!((found - shortcut).abs() < ROOT_OF_DIFFERENCE);
    }

    #[test]
    fn symmetrical_components_give_the_phasors_back(phasors in three()) {
        let back = SymmetricalComponents::of(phasors)?.phasors();
        for (phasor, back) in phasors.iter().zip(back) {
            prop_assert!(same((phasor - back).norm(), 0.0, 3000.0));
        }
    }

    #[test]
    fn effective_power_is_at_least_arithmetic_and_that_at_least_vector(
        voltages in voltages_without_zero_sequence(),
        currents in three(),
    ) {
        let effective = effective_apparent_power(voltages, currents)?.0;
        let arithmetic = arithmetic_apparent_power(voltages, currents)?.0;
        let vector = vector_apparent_power(voltages, currents)?.0;
        prop_assert!(at_least(effective, arithmetic), "{effective} {arithmetic}");
        prop_assert!(at_least(arithmetic, vector), "{arithmetic} {vector}");
    }

    /// With any voltages the effective definition still covers the power delivered.
    #[test]
    fn effective_power_is_at_least_vector_power(voltages in three(), currents in three()) {
        let effective = effective_apparent_power(voltages, currents)?.0;
        prop_assert!(at_least(effective, vector_apparent_power(voltages, currents)?.0));
    }

    /// The power of a load between two phases is what the two phases deliver together.
    #[test]
    fn a_load_between_phases_keeps_its_power(
        watts in -20_000.0..20_000.0_f64,
        vars in -20_000.0..20_000.0_f64,
        pair in prop::sample::select(PhasePair::ALL.to_vec()),
    ) {
        let own = current_from_power(Watts(watts), Vars(vars), Volts(400.0))?;
        let currents = phase_currents_between(pair, own);
        let voltages = phase_voltage_phasors(phase_voltage(Volts(400.0))?)?;
        let delivered: Complex64 = (0..3).map(|k| complex_power(voltages[k], currents[k])).sum();
        prop_assert!(same(delivered.re, watts, 30_000.0));
        prop_assert!(same(delivered.im, vars, 30_000.0));
    }

    #[test]
    fn line_currents_of_any_delta_sum_to_nothing(branches in three()) {
        prop_assert!(same(neutral(line_currents_of_delta(branches)), 0.0, 3000.0));
    }

    /// Magnitudes of line voltages alone tell their negative sequence.
    #[test]
    fn negative_sequence_from_lengths_is_that_of_the_phasors(voltages in three()) {
        let [u_1, u_2, u_3] = voltages;
        let lines = [u_1 - u_2, u_2 - u_3, u_3 - u_1];
        let parts = SymmetricalComponents::of(lines)?;
        let (one, other) = (parts.positive.norm(), parts.negative.norm());
        // Lengths do not tell the sequence: the larger counts as positive.
        let ratio = 100.0 * one.min(other) / one.max(other);
        prop_assume!(one.max(other) > 1e-3);
        let found = negative_sequence_ratio(lines.map(|line| Volts(line.norm())))?;
        // Close to a flat triangle, the root loses half of the digits.
        prop_assert!((found - ratio).abs() < ROOT_OF_DIFFERENCE, "{found} {ratio}");
    }

    #[test]
    fn two_wattmeters_give_back_the_power_they_show(
        watts in 1.0..1e6_f64,
        factor in 0.05..1.0_f64,
        leading in any::<bool>(),
    ) {
        let power_factor = if leading { PowerFactor::leading(factor)? } else { PowerFactor::lagging(factor)? };
        let [w_1, w_2] = two_wattmeter_readings(Watts(watts), power_factor)?;
        let (p, q) = power_of_two_wattmeters(w_1, w_2)?;
        prop_assert!(close(p.0, watts, IDENTITY_RELATIVE));
        prop_assert!(same(q.0, reactive_power_at(Watts(watts), power_factor)?.0, 1e8));
    }

    /// A capacitor of the size told lifts the power factor to the one wanted.
    #[test]
    fn correction_reaches_the_power_factor_wanted(
        watts in 1.0..1e6_f64,
        now in 0.3..1.0_f64,
        wanted in 0.3..1.0_f64,
    ) {
        let (now, wanted) = (PowerFactor::lagging(now)?, PowerFactor::lagging(wanted)?);
        let capacitor = correction_power(Watts(watts), now, wanted)?;
        let left = reactive_power_at(Watts(watts), now)? - capacitor;
        let reached = watts / watts.hypot(left.0);
        prop_assert!(close(reached, wanted.value(), IDENTITY_RELATIVE));
    }
}
