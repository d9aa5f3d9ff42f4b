//! Estimates held against what the supply's meter has seen.

use num_complex::Complex64;

use super::connections::{connection_now, turn_of};
use super::profile::Profile;
use electrical::Phase;
use site::Site;
use units::{Basis, percent_of};

/// Share of a phase's current by which slower meters of machines may exceed that of the supply's meter before
/// it is reported.
const LARGEST_CONTRADICTION: f64 = 0.02;

/// Estimates may not draw more than the supply's meter has seen beyond the measured machines.
pub(crate) fn cap_estimates(
    site: &Site,
    profiles: &mut [Profile],
    main: &[Vec<Complex64>; 3],
    notes: &mut Vec<String>,
) {
    let intervals = main[0].len();
    let turns: Vec<Option<usize>> = (0..profiles.len())
        .map(|machine| turn_of(connection_now(site, machine)))
        .collect();
    let mut measured = [0, 1, 2].map(|_| vec![0.0; intervals]);
    let mut estimated = [0, 1, 2].map(|_| vec![0.0; intervals]);
    for (profile, turn) in profiles.iter().zip(&turns) {
        let Some(turn) = *turn else { continue };
        let sums = if profile.basis == Basis::Measured {
            &mut measured
        } else {
            &mut estimated
        };
        for position in 0..3 {
            if let Some(series) = profile.currents.series(position) {
                for (sum, current) in sums[(position + turn) % 3].iter_mut().zip(series) {
                    *sum += current.re;
                }
            }
        }
    }
    let factors: [Vec<f64>; 3] = [0, 1, 2].map(|k| {
        (0..intervals)
            .map(|interval| {
                let left = main[k][interval].re - measured[k][interval];
                let wanted = estimated[k][interval];
                if wanted > left {
                    (left.max(0.0) / wanted).min(1.0)
                } else {
                    1.0
                }
            })
            .collect()
    });
    for (profile, turn) in profiles.iter_mut().zip(&turns) {
        let (Some(turn), false) = (*turn, profile.basis == Basis::Measured) else {
            continue;
        };
        let on: Vec<usize> = (0..3)
            .filter(|&position| profile.currents.series(position).is_some())
            .map(|position| (position + turn) % 3)
            .collect();
        let scale: Vec<f64> = (0..intervals)
            .map(|interval| on.iter().map(|&k| factors[k][interval]).fold(1.0, f64::min))
            .collect();
        profile.currents = profile.currents.scaled(&scale);
        for (power, scale) in profile.power_kw.iter_mut().zip(&scale) {
            *power *= scale;
        }
    }
    for phase in Phase::ALL {
        let k = phase.index();
        let seen: f64 = main[k].iter().map(|current| current.re.max(0.0)).sum();
        let beyond: f64 = main[k]
            .iter()
            .zip(&measured[k])
            .map(|(current, measured)| (measured - current.re).max(0.0))
            .sum();
        if beyond > LARGEST_CONTRADICTION * seen {
            let than = match percent_of(beyond, seen) {
                Some(share) => format!(
                    "more current than the supply's meter: {share:.1} % of the current there"
                ),
                None if seen > 0.0 => "current; the supply's meter shows next to none".to_owned(),
                None => "current; the supply's meter shows none".to_owned(),
            };
            notes.push(format!("on {phase} the machines' own meters show {than}"));
        }
    }
}
