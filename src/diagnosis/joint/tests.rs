//! Two meters in series on one circuit: what is between them, and what is not.

use num_complex::Complex64;

use crate::Diagnosis;
use crate::samples::{Columns, judge_pair};
use electrical::Phase;
use finding::{Finding, Kind};
use site::Quantity;

const ROWS: usize = 3 * 1440;

/// Numbers from 0 to 1, evenly: the "quick and dirty" generator of Numerical Recipes, 2nd edition, 7.1.
struct Chance(u32);

impl Chance {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(self.0) / f64::from(u32::MAX)
    }
}

/// Resistive currents of one phase that come and go. (A)
fn loads(chance: &mut Chance) -> Vec<f64> {
    let sizes = [8.0, 13.0, 21.0];
    let mut on = [false; 3];
    (0..ROWS)
        .map(|_| {
            for state in &mut on {
                if chance.next() < 0.03 {
                    *state = !*state;
                }
            }
            sizes
                .iter()
                .zip(on)
                .filter(|(_, on)| *on)
                .map(|(amps, _)| amps)
                .sum()
        })
        .collect()
}

fn rounded(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}

fn columns(volts: [Vec<f64>; 3], amps: &[Vec<f64>; 3]) -> Columns {
    let mut columns = Vec::new();
    for (phase, volts) in Phase::ALL.into_iter().zip(volts) {
        let k = phase.index();
        let power = volts
            .iter()
            .zip(&amps[k])
            .map(|(volts, amps)| volts * amps / 1000.0)
            .collect();
        columns.push((Quantity::Voltage(phase), volts));
        columns.push((Quantity::Current(phase), amps[k].clone()));
        columns.push((Quantity::ActivePower(Some(phase)), power));
        columns.push((Quantity::ReactivePower(Some(phase)), vec![0.0; ROWS]));
    }
    columns
}

/// Source, 30 mΩ and what is added above, meter, 15 mΩ and what is added between, meter, loads. The source
/// wanders by itself on each phase; volts are rounded to a tenth, as meters do.
fn series(above: [f64; 3], between: [f64; 3]) -> Diagnosis {
    let mut chance = Chance(7);
    let amps = [0, 1, 2].map(|_| loads(&mut chance));
    let mut wander = [0.0; 3];
    let mut upper = [0, 1, 2].map(|_| Vec::with_capacity(ROWS));
    let mut lower = upper.clone();
    let [l1, l2, l3] = &amps;
    for ((&a, &b), &c) in l1.iter().zip(l2).zip(l3) {
        let own = [a, b, c];
        let neutral: Complex64 = Phase::ALL
            .iter()
            .map(|phase| phase.direction() * own[phase.index()])
            .sum();
        for phase in Phase::ALL {
            let k = phase.index();
            wander[k] = 0.98 * wander[k] + 0.1 * (chance.next() - 0.5);
            let lost = (neutral / phase.direction()).re;
            let at_upper = 236.0 + wander[k] - (0.030 + above[k]) * own[k] - 0.030 * lost;
            let at_lower = at_upper - (0.015 + between[k]) * own[k] - 0.015 * lost;
            upper[k].push(rounded(at_upper, 0.1));
            lower[k].push(rounded(at_lower, 0.1));
        }
    }
    judge_pair(columns(upper, &amps), columns(lower, &amps), 0)
}

fn joints(diagnosis: &Diagnosis) -> Vec<&Finding> {
    let is_joint = |finding: &&Finding| finding.kind == Kind::HighResistanceJoint;
    diagnosis.findings.iter().filter(is_joint).collect()
}

fn number(finding: &Finding, name: &str) -> f64 {
    finding.evidence.number(name).expect("a figure")
}

#[test]
fn a_joint_above_both_meters_is_not_blamed_on_what_is_between() {
    let diagnosis = series([0.0, 0.020, 0.0], [0.0; 3]);
    let found = joints(&diagnosis);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].spot.meter.as_deref(), Some("main"));
    assert_eq!(found[0].spot.phase, Some(Phase::L2));
    let (low, high) = (
        number(found[0], "low_95_mohm"),
        number(found[0], "high_95_mohm"),
    );
    assert!(low <= 20.0 && 20.0 <= high, "20 in {low} to {high}");
    assert!(joints(&series([0.0; 3], [0.0; 3])).is_empty());
}

/// Volts in steps of a tenth, and heaters alone, so that line and neutral do the same to the voltages.
#[test]
fn a_joint_between_two_meters_is_found_there() {
    for mohm in [3.0, 8.0, 20.0, 40.0] {
        let diagnosis = series([0.0; 3], [0.0, 0.0, mohm / 1e3]);
        // To the upper meter what is below it is load.
        let [found] = joints(&diagnosis)[..] else {
            panic!("{mohm} mΩ: {:?}", diagnosis.findings);
        };
        assert_eq!(found.spot.meter.as_deref(), Some("board"));
        assert_eq!(found.spot.phase, Some(Phase::L3));
        let low = number(found, "low_95_mohm");
        let high = number(found, "high_95_mohm");
        assert!(low <= mohm && mohm <= high, "{mohm} in {low} to {high}");
        // The meter's class alone is ±0.5 mΩ of 40.
        assert!(high - low < 2.5, "{mohm} in {low} to {high}");
    }
}
