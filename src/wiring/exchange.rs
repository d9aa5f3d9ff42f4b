//! Loads that are on another phase than before.
//!
//! A load switches on and off with a change of power of its own, P + jQ, on its own phase. Changes of the first quarter of
//! the log say which sizes are at home on which phase; where in the last quarter two phases have each other's, their
//! conductors were exchanged in between. Voltages and currents stay paired: nothing else shows it.

use num_complex::Complex64;

use super::DeclaredHere;
use super::channels::Channels;
use super::runs::boundary;
use super::steps::{PowerStep, steps};
use electrical::Phase;
use metering::{FaultKind, MeterFault, Treatment};

/// A change is a phase's own where the others move by less than this share of it.
const OWN: f64 = 0.33;
/// Two changes are of one load where they are this close: voltage and load scatter by some per cent. Common practice.
const ALIKE: f64 = 0.05;
/// … and what the other running loads scatter. (kVA)
const ALIKE_KVA: f64 = 0.03;
/// A size is at home on a phase that has it this many times as often as the others.
const CLEAR: f64 = 3.0;
/// Seen at least so often.
const FEWEST_ALIKE: usize = 2;
/// Changes of each of the two phases whose home is known.
const FEWEST: usize = 10;
/// Share of them that came from the other phase.
const MOST: f64 = 0.7;

/// Two phases whose loads changed places.
pub(crate) fn faults(channels: &Channels<'_>, ground: &DeclaredHere) -> Vec<MeterFault> {
    if ground.is_machine {
        return Vec::new();
    }
    let steps = steps(channels);
    let own: Vec<OwnStep> = steps.iter().filter_map(OwnStep::of).collect();
    let part = own.len() / 4;
    if part < 3 * FEWEST {
        return Vec::new();
    }
    let homes = Homes::of(&own[..part]);
    let mut came = [[0_usize; 3]; 3];
    for step in &own[own.len() - part..] {
        if let Some(home) = homes.of_size(step.size) {
            came[step.phase][home] += 1;
        }
    }
    let known = |phase: usize| came[phase].iter().sum::<usize>();
    let mostly = |phase: usize, from: usize| {
        known(phase) >= FEWEST && came[phase][from] as f64 >= MOST * known(phase) as f64
    };
    for (a, b) in [(0, 1), (1, 2), (0, 2)] {
        let third = 3 - a - b;
        let third_stays = known(third) < FEWEST || mostly(third, third);
        if !(mostly(a, b) && mostly(b, a) && third_stays) {
            continue;
        }
        let concerned: Vec<(usize, bool)> = own
            .iter()
            .filter(|step| step.phase != third)
            .filter_map(|step| {
                let home = homes.of_size(step.size)?;
                (home != third).then_some((step.row, home == step.phase))
            })
            .collect();
        let count = |holds: bool| f64::from(u8::from(holds));
        let at = boundary(
            0..concerned.len(),
            |step| count(!concerned[step].1),
            |step| count(concerned[step].1),
        );
        let row = |step: usize| concerned.get(step).map_or(channels.len() - 1, |one| one.0);
        let last_before = at.checked_sub(1).map_or(0, row);
        let rows = row(at)..channels.len();
        let evidence = vec![
            ("changes_with_a_known_home", (known(a) + known(b)) as f64),
            (
                "of_these_at_home_on_the_other_phase",
                (came[a][b] + came[b][a]) as f64,
            ),
            (
                "last_change_as_before_min_earlier",
                channels.duration_s(&(last_before..rows.start)) as f64 / 60.0,
            ),
        ];
        let kind = FaultKind::LoadsExchanged {
            phases: [Phase::ALL[a], Phase::ALL[b]],
        };
        return vec![channels.fault(kind, None, rows, Treatment::Reported, evidence)];
    }
    Vec::new()
}

/// A change of one phase alone.
#[derive(Clone, Copy, Debug)]
struct OwnStep {
    row: usize,
    phase: usize,
    /// (kVA)
    size: Complex64,
}

impl OwnStep {
    fn of(step: &PowerStep) -> Option<OwnStep> {
        let sizes = step.change.map(|one| one.norm_sqr().sqrt());
        let phase = (0..3).max_by(|&a, &b| sizes[a].total_cmp(&sizes[b]))?;
        let alone = (0..3).all(|k| k == phase || sizes[k] <= OWN * sizes[phase]);
        alone.then(|| {
            let size = step.change[phase];
            OwnStep {
                row: step.row,
                phase,
                size: if size.re < 0.0 { -size } else { size },
            }
        })
    }
}

/// Sizes that are at home on each phase, in order of length.
struct Homes([Vec<(f64, Complex64)>; 3]);

impl Homes {
    fn of(steps: &[OwnStep]) -> Homes {
        let mut homes: [Vec<(f64, Complex64)>; 3] = Default::default();
        for step in steps {
            homes[step.phase].push((step.size.norm(), step.size));
        }
        for home in &mut homes {
            home.sort_by(|a, b| a.0.total_cmp(&b.0));
        }
        Homes(homes)
    }

    /// The phase on which a size is at home; `None` where none or several have it.
    fn of_size(&self, size: Complex64) -> Option<usize> {
        let length = size.norm();
        let reach = ALIKE * length + ALIKE_KVA;
        let seen = self.0.each_ref().map(|home| {
            let first = home.partition_point(|(own, _)| *own < length - reach);
            home[first..]
                .iter()
                .take_while(|(own, _)| *own <= length + reach)
                .filter(|(_, own)| (own - size).norm_sqr() <= reach * reach)
                .count()
        });
        // A share of the phase's changes: one phase may switch more often than another.
        let share = |phase: usize| seen[phase] as f64 / self.0[phase].len().max(1) as f64;
        let best = (0..3).max_by(|&a, &b| share(a).total_cmp(&share(b)))?;
        let clear = (0..3).all(|k| k == best || share(best) >= CLEAR * share(k));
        (seen[best] >= FEWEST_ALIKE && clear).then_some(best)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_is_at_home_where_it_is_seen_most() {
        let step = |phase, kw| OwnStep {
            row: 0,
            phase,
            size: Complex64::new(kw, 0.3 * kw),
        };
        let homes = Homes::of(&[
            step(0, 1.0),
            step(0, 1.01),
            step(1, 2.0),
            step(1, 2.02),
            step(2, 2.01),
            step(2, 1.99),
        ]);
        assert_eq!(homes.of_size(Complex64::new(1.0, 0.3)), Some(0));
        assert_eq!(homes.of_size(Complex64::new(2.0, 0.6)), None);
        assert_eq!(homes.of_size(Complex64::new(3.0, 0.9)), None);
    }
}
