//! The neutral's resistance against that of the phases, on circuits that are solved.

use diagnosis::joint::{ExtraResistance, JointEstimate, PhaseReadings, estimate};
use num_complex::Complex64;
use rayon::prelude::*;
use simulated::{Fault, Meter, Workshop, log};

/// Readings of a site of a seed: with so much more resistance in the neutral. (Ω)
fn readings(seed: u64, days: f64, faults: &[Fault]) -> PhaseReadings {
    let meter = Meter::of_seed(seed, days);
    let faults: Vec<_> = faults.iter().map(|&fault| (fault, 0.0..1.0)).collect();
    let columns = log(&meter, &Workshop::of_seed(seed), &faults);
    let column = |name: String| -> Vec<f64> {
        let found = columns.iter().find(|column| column.0 == name);
        found.expect("a column").1.iter().map(|v| v.expect("known")).collect()
    };
    let mut readings = PhaseReadings {
        starts: meter.starts(),
        interval_s: 60,
        ..PhaseReadings::default()
    };
    for k in 0..3 {
        let volts = column(format!("voltage_l{}_v", k + 1));
        let kw = column(format!("active_power_l{}_kw", k + 1));
        let kvar = column(format!("reactive_power_l{}_kvar", k + 1));
        readings.current_a[k] = (0..volts.len())
            .map(|row| Complex64::new(kw[row], -kvar[row]) * 1000.0 / volts[row])
            .collect();
        readings.level_v[k] = volts.clone();
        readings.voltage_v[k] = volts;
    }
    readings
}

#[test]
#[ignore = "experiment"]
fn experiment() {
    for days in [3.0, 14.0] {
        for extra in [0.0, 0.010, 0.015, 0.04, 0.1, 0.3] {
            let found: Vec<JointEstimate> = (0..12_u64)
                .into_par_iter()
                .map(|seed| estimate(&readings(seed, days, &[Fault::NeutralJoint(extra)]), 1.0).expect("judged"))
                .collect();
            let values: Vec<f64> = found.iter().map(|f| f.neutral.expect("n").at_middle.value).collect();
            let errors: Vec<f64> = found.iter().map(|f| f.neutral.expect("n").at_middle.error).collect();
            let last: Vec<f64> = found.iter().map(|f| f.neutral.expect("n").last_week.error).collect();
            let n = values.len() as f64;
            let mean = values.iter().sum::<f64>() / n;
            let sd = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
            let covered = found.iter().filter(|f| { let (a, b) = ExtraResistance::interval_95(f.neutral.expect("n").at_middle); a <= extra && extra <= b }).count();
            let joints = found.iter().filter(|f| f.phases.iter().any(ExtraResistance::is_found)).count();
            let worst = found.iter().flat_map(|f| f.phases).map(|p| p.at_middle.value.abs()).fold(0.0, f64::max);
            let free = found.iter().map(|f| f.neutral.expect("n").at_middle.freedom).sum::<f64>() / n;
            println!("{days} d {:.0} mΩ: mean {:.1} sd {:.1} error {:.1} last {:.1} freedom {free:.0} covered {covered}, joints {joints} worst {:.2}",
                extra * 1e3, mean * 1e3, sd * 1e3, 1e3 * errors.iter().sum::<f64>() / n, 1e3 * last.iter().sum::<f64>() / n, worst * 1e3);
        }
    }
}
