//! Currents that are measured against the voltage of another phase.

use num_complex::Complex64;

use super::ORDERS;
use super::page::{CAUTION, KIND, SOURCE};
use crate::outcome::{Diagnosis, Report};
use crate::view::View;
use electrical::Phase;
use finding::{Evidence, Severity};
use site::Quantity;

/// Angles of a load's mean current against its own voltage: from here … (°)
const LAGGING: f64 = -60.0;
/// … to here. (°)
const LEADING: f64 = 30.0;
/// The right way must be better than the next by so much. (°)
const CLEAR: f64 = 15.0;

/// A way in which three currents reach a meter: the phase whose current is read as that of L1, L2, L3, and
/// whether its transformer is reversed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Wiring {
    from: [usize; 3],
    reversed: [bool; 3],
}

impl Wiring {
    /// Straight ones first, then in order of faults: a simple mistake is likelier than two.
    fn all() -> Vec<Wiring> {
        let mut ways = Vec::new();
        for from in ORDERS {
            for signs in 0..8_u8 {
                let reversed = [signs & 1 != 0, signs & 2 != 0, signs & 4 != 0];
                ways.push(Wiring { from, reversed });
            }
        }
        ways
    }

    /// Angle that the load's own current would have, given what the meter reads on a phase. (°)
    fn own_angle(self, phase: usize, read: f64) -> f64 {
        const DIRECTION: [f64; 3] = [0.0, -120.0, 120.0];
        let turned = DIRECTION[self.from[phase]] - DIRECTION[phase];
        let half = if self.reversed[phase] { 180.0 } else { 0.0 };
        wrap(read - turned - half)
    }

    /// Largest distance of the three from the middle of what a load's currents may be. (°)
    fn strangeness(self, read: [f64; 3]) -> f64 {
        let middle = 0.5 * (LAGGING + LEADING);
        (0..3)
            .map(|k| wrap(self.own_angle(k, read[k]) - middle).abs())
            .fold(0.0, f64::max)
    }

    fn is_straight(self) -> bool {
        self.from == [0, 1, 2]
    }
}

fn wrap(degrees: f64) -> f64 {
    (degrees + 180.0).rem_euclid(360.0) - 180.0
}

/// The only way that makes loads' currents of the three angles; `None` where none or several do.
fn explain(read: [f64; 3]) -> Option<Wiring> {
    let half = 0.5 * (LEADING - LAGGING);
    let sound = Wiring {
        from: [0, 1, 2],
        reversed: [false; 3],
    };
    if sound.strangeness(read) <= half {
        return Some(sound);
    }
    let mut ways: Vec<(f64, Wiring)> = Wiring::all()
        .into_iter()
        .map(|way| (way.strangeness(read), way))
        .collect();
    ways.sort_by(|a, b| a.0.total_cmp(&b.0));
    let alone = ways[1].0 - ways[0].0 >= CLEAR;
    (ways[0].0 <= half && alone).then_some(ways[0].1)
}

/// True if a wrong pairing was reported.
pub(super) fn check(view: &View<'_>, diagnosis: &mut Diagnosis) -> bool {
    let Some(read) = angles(view) else {
        return false;
    };
    let Some(way) = explain(read).filter(|way| !way.is_straight()) else {
        return false;
    };
    let wrong: Vec<String> = (0..3)
        .filter(|&k| way.from[k] != k)
        .map(|k| {
            let turned = if way.reversed[k] { ", reversed" } else { "" };
            let [on, of] = [k, way.from[k]].map(|index| Phase::ALL[index].name());
            format!("the current read on {on} is that of {of}{turned}")
        })
        .collect();
    let report = Report {
        severity: Severity::Warning,
        summary: format!(
            "currents are paired with voltages of other phases: {}",
            wrong.join("; ")
        ),
        evidence: Evidence::default()
            .with("angle_read_l1_deg", read[0])
            .with("angle_read_l2_deg", read[1])
            .with("angle_read_l3_deg", read[2])
            .with("angle_corrected_l1_deg", way.own_angle(0, read[0]))
            .with("angle_corrected_l2_deg", way.own_angle(1, read[1]))
            .with("angle_corrected_l3_deg", way.own_angle(2, read[2])),
        action: "trace the secondary wires of each current transformer to the meter and compare its conductor with the voltage lead of the same input; swap the pairs named (circuit dead, CTs shorted). Power and energy logged until then are wrong".to_owned(),
        caution: CAUTION,
        source: SOURCE,
    };
    diagnosis.found(view, KIND, None, report);
    true
}

/// Angle of each phase's mean current against its voltage; `None` without powers, or where the angle
/// wanders too much to say. (°)
fn angles(view: &View<'_>) -> Option<[f64; 3]> {
    let watts = view.by_phase(|phase| Quantity::ActivePower(Some(phase)))?;
    let vars = view.by_phase(|phase| Quantity::ReactivePower(Some(phase)))?;
    let mut angles = [0.0; 3];
    for k in 0..3 {
        let mut sum = Complex64::ZERO;
        let mut size = 0.0;
        for (watts, vars) in watts[k].iter().zip(vars[k].iter()) {
            if let (Some(watts), Some(vars)) = (watts, vars) {
                let current = Complex64::new(watts, -vars);
                sum += current;
                size += current.norm();
            }
        }
        if size <= 0.0 || sum.norm() < 0.8 * size {
            return None;
        }
        angles[k] = sum.arg().to_degrees();
    }
    Some(angles)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A load 25° behind on every phase. Its currents read against the next phase's voltages are 120° apart
    /// from where they belong (IEC 60375; L1 at 0°, L2 at −120°, L3 at +120°).
    #[test]
    fn two_exchanged_currents_and_a_turn_of_three_are_told_apart() {
        // The current of L2 (−120° − 25°) read against L1: −145°; that of L1 against L2: −25° + 120° = 95°.
        let swapped = explain([-145.0, 95.0, -25.0]).expect("one way");
        assert_eq!((swapped.from, swapped.reversed), ([1, 0, 2], [false; 3]));
        // Each against the voltage before it: −145° on all.
        let turned = explain([-145.0; 3]).expect("one way");
        assert_eq!((turned.from, turned.reversed), ([1, 2, 0], [false; 3]));
    }

    #[test]
    fn sound_reversed_or_strange_angles_are_no_wrong_pairing() {
        let straight = |read| explain(read).is_none_or(Wiring::is_straight);
        assert!(straight([-25.0, -30.0, -10.0]));
        assert!(straight([155.0, -25.0, -25.0]));
        // A generator, or capacitors that overcompensate at night.
        assert!(straight([75.0, 75.0, 75.0]));
        assert!(straight([0.0, 0.0, 0.0]));
        // Idling motors; reversed ones in turn would fit even better.
        assert!(straight([-55.0; 3]));
    }
}
