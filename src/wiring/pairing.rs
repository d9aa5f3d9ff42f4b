//! Currents that are read with the voltage of another phase, and since when.

use std::ops::Range;

use num_complex::Complex64;

use electrical::Phase;

use super::DeclaredHere;
use super::channels::Channels;
use super::runs::boundary;
use metering::{FaultKind, MeterFault, Treatment};
/// Angles of a load's mean current against its own voltage: from here … (°)
const LAGGING: f64 = -60.0;
/// … to here. (°)
const LEADING: f64 = 30.0;
/// The right way must be better than the next by so much. (°)
const CLEAR: f64 = 15.0;
/// A window whose currents point all ways says nothing: least length of their sum as a share of the sum of their lengths.
const STEADY: f64 = 0.8;
/// Least mean current of each phase in a window. (A)
const LEAST_A: f64 = 1.0;
/// Windows over which the mean angles are taken. (s)
const WINDOW_S: i64 = 6 * 3600;
/// A pairing holds at least for so long. (s)
const SHORTEST_S: i64 = 18 * 3600;

/// A way in which three currents reach a meter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Pairing {
    /// The phase whose current is read as that of L1, L2, L3.
    from: [usize; 3],
    /// Is its transformer reversed?
    reversed: [bool; 3],
}

impl Pairing {
    const SOUND: Pairing = Pairing {
        from: [0, 1, 2],
        reversed: [false; 3],
    };

    /// Straight ones first, then in order of faults: a simple mistake is likelier than two.
    fn all() -> Vec<Pairing> {
        let mut ways = Vec::new();
        for from in Phase::ORDERS {
            for signs in 0..8_u8 {
                let reversed = [signs & 1 != 0, signs & 2 != 0, signs & 4 != 0];
                ways.push(Pairing { from, reversed });
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

/// The only way that makes load currents of the three angles; `None` where none or several do.
fn explain(read: [f64; 3]) -> Option<Pairing> {
    let half = 0.5 * (LEADING - LAGGING);
    if Pairing::SOUND.strangeness(read) <= half {
        return Some(Pairing::SOUND);
    }
    let mut ways: Vec<(f64, Pairing)> = Pairing::all()
        .into_iter()
        .map(|way| (way.strangeness(read), way))
        .collect();
    ways.sort_by(|a, b| a.0.total_cmp(&b.0));
    let alone = ways[1].0 - ways[0].0 >= CLEAR;
    (ways[0].0 <= half && alone).then_some(ways[0].1)
}

struct AngleWindow {
    rows: Range<usize>,
    /// `None` where the window says nothing.
    way: Option<Pairing>,
}

/// Stretches in which currents are read with the voltages of other phases.
pub(crate) fn faults(channels: &Channels<'_>, ground: &DeclaredHere) -> Vec<MeterFault> {
    if ground.is_machine && channels.phases.iter().any(|phase| phase.kw.is_none()) {
        return Vec::new();
    }
    let windows = windows(channels);
    let known: Vec<&AngleWindow> = windows
        .iter()
        .filter(|window| window.way.is_some())
        .collect();
    let mut found = Vec::new();
    let mut first = 0;
    while first < known.len() {
        let way = known[first].way;
        let mut last = first;
        while last + 1 < known.len() && known[last + 1].way == way {
            last += 1;
        }
        let from = if first == 0 {
            0
        } else {
            change(channels, known[first - 1], known[first])
        };
        let to = match known.get(last + 1) {
            None => channels.len(),
            Some(next) => change(channels, known[last], next),
        };
        first = last + 1;
        let Some(way) = way.filter(|way| !way.is_straight()) else {
            continue;
        };
        let rows = from..to;
        let whole = rows == (0..channels.len());
        if !whole && channels.duration_s(&rows) < SHORTEST_S {
            continue;
        }
        let Some(read) = angles(channels, &rows) else {
            continue;
        };
        let evidence = vec![
            ("angle_read_l1_deg", read[0]),
            ("angle_read_l2_deg", read[1]),
            ("angle_read_l3_deg", read[2]),
            ("angle_corrected_l1_deg", way.own_angle(0, read[0])),
            ("angle_corrected_l2_deg", way.own_angle(1, read[1])),
            ("angle_corrected_l3_deg", way.own_angle(2, read[2])),
        ];
        let kind = FaultKind::Paired {
            from: way.from,
            reversed: way.reversed,
        };
        found.push(channels.fault(kind, None, rows, Treatment::Corrected, evidence));
    }
    found
}

fn windows(channels: &Channels<'_>) -> Vec<AngleWindow> {
    let mut windows = Vec::new();
    let mut first = 0;
    while first < channels.len() {
        let window = channels.starts[first].div_euclid(WINDOW_S);
        let mut end = first;
        while end < channels.len() && channels.starts[end].div_euclid(WINDOW_S) == window {
            end += 1;
        }
        let rows = first..end;
        let way = angles(channels, &rows).and_then(explain);
        windows.push(AngleWindow { rows, way });
        first = end;
    }
    windows
}

/// The row between two windows from which the second one's way explains what is read better.
fn change(channels: &Channels<'_>, before: &AngleWindow, after: &AngleWindow) -> usize {
    let (Some(old), Some(new)) = (before.way, after.way) else {
        return after.rows.start;
    };
    let rows = before.rows.start..after.rows.end;
    let strange = |row: usize, way: Pairing| -> f64 {
        let read = [0, 1, 2].map(|k| phasor(channels, k, row));
        let [Some(l1), Some(l2), Some(l3)] = read else {
            return 0.0;
        };
        way.strangeness([l1, l2, l3].map(|current| current.arg().to_degrees()))
    };
    boundary(rows, |row| strange(row, old), |row| strange(row, new))
}

/// Power as a current of the same angle. (kVA)
fn phasor(channels: &Channels<'_>, phase: usize, row: usize) -> Option<Complex64> {
    let channel = &channels.phases[phase];
    let (kw, kvar) = (
        channel.kw.as_ref()?.get(row)?,
        channel.kvar.as_ref()?.get(row)?,
    );
    Some(Complex64::new(kw, -kvar))
}

/// Angle of each phase's mean current against its voltage; `None` without powers, without load, or where the angle wanders
/// too much to say. (°)
fn angles(channels: &Channels<'_>, rows: &Range<usize>) -> Option<[f64; 3]> {
    let mut angles = [0.0; 3];
    for (k, angle) in angles.iter_mut().enumerate() {
        let (mut sum, mut size, mut count) = (Complex64::ZERO, 0.0, 0.0);
        for current in rows.clone().filter_map(|row| phasor(channels, k, row)) {
            sum += current;
            // The length itself: `hypot` guards against sizes that no power has.
            size += current.norm_sqr().sqrt();
            count += 1.0;
        }
        let least_kva = 0.230 * LEAST_A * count;
        if size <= least_kva.max(0.0) || sum.norm() < STEADY * size {
            return None;
        }
        *angle = sum.arg().to_degrees();
    }
    Some(angles)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A load 25° behind on every phase. Its currents read against the next phase's voltages stand 120° apart
    /// from where they belong (IEC 60375; L1 at 0°, L2 at −120°, L3 at +120°).
    #[test]
    fn two_swapped_currents_and_a_turn_of_three_are_told_apart() {
        // The current of L2 (−120° − 25°) read against L1: −145°; that of L1 against L2: −25° + 120° = 95°.
        let swapped = explain([-145.0, 95.0, -25.0]).expect("one way");
        assert_eq!((swapped.from, swapped.reversed), ([1, 0, 2], [false; 3]));
        // Each against the voltage before it: −145° on all.
        let turned = explain([-145.0; 3]).expect("one way");
        assert_eq!((turned.from, turned.reversed), ([1, 2, 0], [false; 3]));
    }

    #[test]
    fn sound_reversed_or_strange_angles_are_no_wrong_pairing() {
        let straight = |read| explain(read).is_none_or(Pairing::is_straight);
        assert!(straight([-25.0, -30.0, -10.0]));
        assert!(straight([155.0, -25.0, -25.0]));
        // A generator, or capacitors that overcompensate at night.
        assert!(straight([75.0, 75.0, 75.0]));
        assert!(straight([0.0, 0.0, 0.0]));
        // Idling motors; reversed ones in turn would fit even better.
        assert!(straight([-55.0; 3]));
    }
}
