//! Readings of a meter, or of two in series, for the estimate.

use num_complex::Complex64;

use super::readings::PhaseReadings;
use crate::star_point::StarPoint;
use crate::thresholds as limits;
use crate::view::View;
use metering::{AngleBasis, FaultKind};
use site::Quantity;

/// How the currents' angles are known, and what that adds to the error.
pub(super) struct Angles {
    pub(super) note: Option<&'static str>,
    pub(super) share: f64,
    pub(super) ohm: f64,
}

fn angles(basis: AngleBasis) -> Angles {
    match basis {
        AngleBasis::Powers => Angles {
            note: None,
            share: 0.0,
            ohm: 0.0,
        },
        AngleBasis::PowerFactor => Angles {
            note: Some("currents assumed to lag by the logged power factor"),
            share: 0.05,
            ohm: 0.0005,
        },
        // A power factor of 0.7 hides a third of the resistance; a reactance of 20 mΩ with different
        // reactive loads on the phases adds some milliohms.
        AngleBasis::Unity => Angles {
            note: Some(
                "no reactive power is logged: currents assumed in phase with their voltages",
            ),
            share: 0.20,
            ohm: 0.003,
        },
    }
}

/// Voltages, and the powers or currents, of the three phases, where the neutral carries what returns.
pub(super) fn readings(
    view: &View<'_>,
    star_point: &StarPoint,
) -> Result<(PhaseReadings, Angles), &'static str> {
    let table = view.table();
    let volts = view
        .by_phase(Quantity::Voltage)
        .ok_or("the voltage of each phase to neutral")?;
    let phasors = view
        .analysis()
        .phasors()
        .ok_or("the current, or active and reactive power, of each phase")?;
    let watts = view.by_phase(|phase| Quantity::ActivePower(Some(phase)));
    let vars = view.by_phase(|phase| Quantity::ReactivePower(Some(phase)));
    // Power over voltage is the fundamental; a logged current has its harmonics.
    let current = |k: usize, row: usize, volts: f64| -> Option<Complex64> {
        match (watts, vars) {
            (Some(watts), Some(vars)) => {
                Some(Complex64::new(watts[k].get(row)?, -vars[k].get(row)?) * 1000.0 / volts)
            }
            _ => phasors.series[k][row],
        }
    };
    let end = table.starts().last().copied().unwrap_or(0);
    let mut readings = PhaseReadings {
        interval_s: table.interval_s(),
        ..PhaseReadings::default()
    };
    for (row, &start) in table.starts().iter().enumerate() {
        let all = [0, 1, 2].map(|k| {
            let volts = volts[k]
                .get(row)
                .filter(|volts| *volts > 0.5 * view.nominal_v())?;
            Some((volts, current(k, row, volts)?))
        });
        // A generator's source is another one than the network's.
        let on_generator = view
            .log
            .faults
            .iter()
            .any(|fault| fault.kind == FaultKind::OnGenerator && fault.rows.contains(&row));
        let is_used =
            start > end - limits::JOINT_LONGEST_S && !star_point.is_open(row) && !on_generator;
        let ([Some(l1), Some(l2), Some(l3)], true) = (all, is_used) else {
            continue;
        };
        readings.starts.push(start);
        for (k, (volts, current)) in [l1, l2, l3].into_iter().enumerate() {
            readings.voltage_v[k].push(volts);
            readings.level_v[k].push(volts);
            readings.current_a[k].push(current);
        }
    }
    Ok((readings, angles(phasors.angle)))
}

/// With a meter further up, the voltage that is lost between the two.
pub(super) fn below(upstream: &View<'_>, readings: &PhaseReadings) -> Option<PhaseReadings> {
    if upstream.table().interval_s() != readings.interval_s {
        return None;
    }
    let volts = upstream.by_phase(Quantity::Voltage)?;
    let starts = upstream.table().starts();
    let mut left = PhaseReadings {
        interval_s: readings.interval_s,
        ..PhaseReadings::default()
    };
    for (row, start) in readings.starts.iter().enumerate() {
        let Ok(up) = starts.binary_search(start) else {
            continue;
        };
        let [Some(l1), Some(l2), Some(l3)] = volts.map(|volts| volts.get(up)) else {
            continue;
        };
        left.starts.push(*start);
        for (k, above) in [l1, l2, l3].into_iter().enumerate() {
            left.voltage_v[k].push(readings.voltage_v[k][row] - above);
            left.level_v[k].push(readings.level_v[k][row]);
            left.current_a[k].push(readings.current_a[k][row]);
        }
    }
    Some(left)
}
