//! What everybody in the trade knows, and what physics demands in the plain cases.

use std::error::Error;

use num_complex::Complex64;
use tapoff::electrical::{
    Phase, PhasePair, PowerFactor, current_from_power, current_from_power_factor,
    current_unbalance, in_common_frame, neutral_current, neutral_with_third_harmonic,
    phase_currents_between, phase_currents_three_phase, phase_currents_to_neutral, phase_voltage,
    reactive_power_at, split_third_harmonic,
};
use tapoff::units::{Amperes, Vars, Volts, Watts};

use crate::tolerance::{IDENTITY_RELATIVE, close};

type Outcome = Result<(), Box<dyn Error>>;

/// Common practice, no source: the nominal pairs are within a volt of √3.
#[test]
fn line_voltage_415_is_240_and_400_is_230_to_neutral_within_a_volt() -> Outcome {
    assert!((phase_voltage(Volts(415.0))?.0 - 240.0).abs() < 1.0);
    assert!((phase_voltage(Volts(400.0))?.0 - 230.0).abs() < 1.0);
    Ok(())
}

/// Common practice, no source: 5 A at 240 V.
#[test]
fn a_five_ampere_lighting_circuit_carries_1200_watts() -> Outcome {
    let current = current_from_power(Watts::from_kilo(1.2), Vars(0.0), Volts(240.0))?;
    assert!(close(current.norm(), 5.0, IDENTITY_RELATIVE));
    Ok(())
}

/// Common practice, no source: about two amperes per kilowatt of motor on 400 V, here 7.5 kW with the
/// usual efficiency of 0.88 and power factor of 0.85.
#[test]
fn a_motor_draws_about_two_amperes_per_kilowatt_at_400_volts() -> Outcome {
    let p = Watts::from_kilo(7.5 / 0.88);
    let q = reactive_power_at(p, PowerFactor::lagging(0.85)?)?;
    let third = 1.0 / 3.0;
    let current = current_from_power(p * third, q * third, phase_voltage(Volts(400.0))?)?;
    assert!((current.norm() / 7.5 - 2.0).abs() < 0.2, "{current}");
    Ok(())
}

/// Common practice, no source.
#[test]
fn in_a_balanced_system_the_neutral_carries_nothing() -> Outcome {
    let current = current_from_power_factor(Amperes(63.0), PowerFactor::lagging(0.8)?)?;
    let neutral = neutral_current(phase_currents_three_phase(current))?;
    assert!(close(neutral.norm(), 0.0, IDENTITY_RELATIVE));
    Ok(())
}

/// Common practice, no source: a welder between two phases needs no neutral.
#[test]
fn a_load_between_two_phases_puts_nothing_on_the_neutral() -> Outcome {
    for pair in PhasePair::ALL {
        let current = current_from_power_factor(Amperes(40.0), PowerFactor::lagging(0.5)?)?;
        let phases = phase_currents_between(pair, current);
        assert!(close(
            neutral_current(phases)?.norm(),
            0.0,
            IDENTITY_RELATIVE
        ));
        let loaded = phases.iter().filter(|phase| phase.norm() > 39.9).count();
        assert_eq!(loaded, 2);
    }
    Ok(())
}

/// Common practice, no source: a third of third harmonic loads the neutral like a phase's fundamental.
#[test]
fn electronic_loads_can_load_the_neutral_like_a_phase_though_balanced() -> Outcome {
    let (first, third) = split_third_harmonic(Amperes(100.0), 1.0 / 3.0)?;
    let fundamental = neutral_current(phase_currents_three_phase(Complex64::from(first.0)))?;
    let neutral = neutral_with_third_harmonic(fundamental, third * 3.0)?;
    assert!(close(neutral.0, first.0, IDENTITY_RELATIVE));
    assert!(neutral.0 < 100.0); // below the rms of the phase
    Ok(())
}

/// Currents in their own frames on L1, L2, L3, and what must come of them.
struct Regime {
    what: &'static str,
    own: [(f64, f64); 3],
    neutral_a: f64,
    unbalance_pct: Option<f64>,
}

/// Worked out by hand from the phasor diagram and the definition of unbalance.
fn regimes() -> [Regime; 9] {
    let regime = |what, own, neutral_a, unbalance_pct| Regime {
        what,
        own,
        neutral_a,
        unbalance_pct,
    };
    [
        regime("balanced", [(10.0, 0.0); 3], 0.0, Some(0.0)),
        regime("balanced, lagging", [(10.0, -37.0); 3], 0.0, Some(0.0)),
        // The two others lie 120° apart: their sum is as long as each.
        regime(
            "one phase off",
            [(10.0, 0.0), (10.0, 0.0), (0.0, 0.0)],
            10.0,
            Some(100.0),
        ),
        // What the two equal ones have in common cancels: the difference remains. Mean 25/3 A.
        regime(
            "two equal",
            [(10.0, 0.0), (10.0, 0.0), (5.0, 0.0)],
            5.0,
            Some(40.0),
        ),
        regime(
            "all on one phase",
            [(0.0, 0.0), (30.0, 0.0), (0.0, 0.0)],
            30.0,
            Some(200.0),
        ),
        regime(
            "purely reactive, balanced",
            [(10.0, -90.0); 3],
            0.0,
            Some(0.0),
        ),
        // A coil on L1 at −90°, a capacitor on L2 at −30°: 60° apart, so the sum is 2·10·cos 30°.
        regime(
            "purely reactive, coil and capacitor",
            [(10.0, -90.0), (10.0, 90.0), (0.0, 0.0)],
            10.0 * 3.0_f64.sqrt(),
            Some(100.0),
        ),
        regime("nothing flows", [(0.0, 0.0); 3], 0.0, None),
        // Solar on L3 returns what L1 and L2 each draw: 10∠0 + 10∠−120 − 10∠120 = 20∠−60.
        regime(
            "one phase returns power",
            [(10.0, 0.0), (10.0, 0.0), (10.0, 180.0)],
            20.0,
            Some(0.0),
        ),
    ]
}

#[test]
fn plain_cases_come_out_as_physics_demands() -> Outcome {
    for regime in regimes() {
        let own = regime
            .own
            .map(|(amps, degrees)| Complex64::from_polar(amps, degrees.to_radians()));
        let phases = Phase::ALL.map(|phase| in_common_frame(own[phase.index()], phase));
        let neutral = neutral_current(phases)?.norm();
        assert!(
            close(neutral, regime.neutral_a, IDENTITY_RELATIVE),
            "{}: neutral {neutral} A",
            regime.what
        );
        let unbalance = current_unbalance(own.map(|current| Amperes(current.norm())))?;
        let agrees = match (unbalance, regime.unbalance_pct) {
            (Some(found), Some(wanted)) => close(found, wanted, IDENTITY_RELATIVE),
            (found, wanted) => found == wanted,
        };
        assert!(agrees, "{}: unbalance {unbalance:?} %", regime.what);
    }
    Ok(())
}

/// One machine alone: its whole current comes back through the neutral, on whichever phase.
#[test]
fn one_machine_alone_loads_the_neutral_with_its_own_current() -> Outcome {
    for phase in Phase::ALL {
        for power_factor in [PowerFactor::lagging(0.6)?, PowerFactor::leading(0.9)?] {
            let current = current_from_power_factor(Amperes(17.0), power_factor)?;
            let neutral = neutral_current(phase_currents_to_neutral(phase, current))?;
            assert!(close(neutral.norm(), 17.0, IDENTITY_RELATIVE));
        }
    }
    Ok(())
}
