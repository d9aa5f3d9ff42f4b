//! Steps from one steady level to another.

use electrical::{Phase, PhasePair, share_of_pair};
use metering::{AngleBasis, MeterLog};
use num_complex::Complex64;
use site::{Connection, Site};

/// Smaller steps are not looked at. (kVA)
const LEAST_KVA: f64 = 0.2;
/// A level is steady where two intervals differ by less than this, and this share of the level. Meters resolve 0.1 A
/// (0.02 kVA), and voltage moves loads by a per cent or two. (kVA)
const STEADY_KVA: f64 = 0.06;
const STEADY_SHARE: f64 = 0.02;
/// How far a step on several phases may be from that of one machine, as a share of it. (1)
const UNEVEN: f64 = 0.1;

/// A step on one connection, with steady levels before and after.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct LoneStep {
    pub(super) at_s: i64,
    pub(super) connection: Connection,
    /// Power that is switched, at nominal voltage, positive whether on or off. (kW, kvar)
    pub(super) power: Complex64,
    pub(super) on: bool,
}

/// The steps of a log, ascending, and whether their reactive power is measured; without it powers are apparent powers.
pub(super) fn lone_steps(site: &Site, log: &MeterLog) -> (Vec<LoneStep>, bool) {
    let Some(phasors) = log.phasors() else {
        return (Vec::new(), false);
    };
    let with_lag = phasors.angle == AngleBasis::Powers;
    let volts = site.supply.phase_voltage_v() / 1000.0;
    let starts = log.table.starts();
    let interval_s = i64::from(log.table.interval_s());
    let at = |row: usize| -> Option<[Complex64; 3]> {
        let amps = phasors.at(row)?;
        Some(amps.map(|amps| {
            if with_lag {
                amps.conj() * volts
            } else {
                Complex64::new(amps.norm() * volts, 0.0)
            }
        }))
    };
    let powers: Vec<Option<[Complex64; 3]>> = (0..starts.len()).map(at).collect();
    (steps_of(starts, interval_s, &powers), with_lag)
}

fn steps_of(starts: &[i64], interval_s: i64, powers: &[Option<[Complex64; 3]>]) -> Vec<LoneStep> {
    // Has a phase the level of the interval before?
    let steady: Vec<[bool; 3]> = (0..powers.len())
        .map(|row| {
            let before = row.checked_sub(1).and_then(|before| powers[before]);
            let Some((before, now)) = before.zip(powers[row]) else {
                return [false; 3];
            };
            [0, 1, 2].map(|k: usize| {
                (now[k] - before[k]).norm() < STEADY_KVA + STEADY_SHARE * before[k].norm()
            })
        })
        .collect();
    let mut steps = Vec::new();
    let mut taken = [0_usize; 3];
    for row in 2..powers.len().saturating_sub(2) {
        if starts[row + 2] - starts[row - 2] != 4 * interval_s {
            continue;
        }
        let (Some(before), Some(during), Some(after)) =
            (powers[row - 1], powers[row], powers[row + 1])
        else {
            continue;
        };
        let moved = [0, 1, 2].map(|k: usize| {
            let change = after[k] - before[k];
            let between = (during[k] - before[k]).re * change.re.signum();
            let is_step = steady[row - 1][k]
                && steady[row + 2][k]
                && !(steady[row][k] && steady[row + 1][k])
                && change.re.abs() > LEAST_KVA
                && (-STEADY_KVA..change.re.abs() + STEADY_KVA).contains(&between)
                && taken[k] < row;
            is_step.then_some(change)
        });
        for (k, moved) in moved.iter().enumerate() {
            if moved.is_some() {
                // The same step must not count again in the next interval.
                taken[k] = row + 1;
            }
        }
        let mut push = |connection: Connection, change: Complex64| {
            let sign = change.re.signum();
            steps.push(LoneStep {
                at_s: starts[row],
                connection,
                power: change * sign,
                on: sign > 0.0,
            });
        };
        match moved {
            [Some(_), Some(_), Some(_)] => {}
            _ => match between_phases(moved) {
                Some((pair, change)) => push(Connection::Between(pair), change),
                None => {
                    for (phase, moved) in Phase::ALL.into_iter().zip(moved) {
                        if let Some(change) = moved {
                            push(Connection::ToNeutral(phase), change);
                        }
                    }
                }
            },
        }
    }
    steps
}

/// The step of a load between two phases.
fn between_phases(moved: [Option<Complex64>; 3]) -> Option<(PhasePair, Complex64)> {
    PhasePair::ALL.into_iter().find_map(|pair| {
        let (leaves, returns) = pair.phases();
        let (first, second) = (moved[leaves.index()]?, moved[returns.index()]?);
        let change = first + second;
        let shares = share_of_pair();
        let off = (first - change * shares[0]).norm() + (second - change * shares[1]).norm();
        (off < UNEVEN * change.norm() + STEADY_KVA).then_some((pair, change))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2 kW on L2 for two minutes and a bit, then 3 kVA between L3 and L1 at unity power factor: half of 3 kW on each,
    /// 3/(2√3) kvar leading on the first and lagging on the second, by the wattmeters of a two-phase load.
    #[test]
    fn steps_are_taken_once_and_two_phases_joined() {
        let mut powers = vec![Some([Complex64::new(1.0, 0.5); 3]); 30];
        for (row, part) in [(5, 0.3), (6, 1.0), (7, 1.0), (8, 1.0), (9, 0.6)] {
            if let Some(own) = &mut powers[row] {
                own[1] += 2.0 * part;
            }
        }
        for own in powers.iter_mut().skip(20).flatten() {
            let [first, second] = share_of_pair().map(|share| share * 3.0);
            own[2] += first;
            own[0] += second;
        }
        let starts: Vec<i64> = (0..30).map(|row| row * 60).collect();
        let steps = steps_of(&starts, 60, &powers);
        let seen: Vec<(&str, f64, bool)> = steps
            .iter()
            .map(|step| (step.connection.name(), step.power.re.round(), step.on))
            .collect();
        assert_eq!(
            seen,
            [("L2", 2.0, true), ("L2", 2.0, false), ("L3-L1", 3.0, true)]
        );
        assert!(steps[2].power.im.abs() < 1e-9, "{:?}", steps[2]);
    }
}
