//! Steps of power: loads that switch.

use num_complex::Complex64;

use super::channels::Channels;

/// A change smaller than this share of the largest one that is common is no load's own. Common practice.
const SHARE: f64 = 0.1;
/// Least change that is looked at. (kVA)
const LEAST_KVA: f64 = 0.15;

/// A change of power from one row to the next.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PowerStep {
    /// The row after the change.
    pub(crate) row: usize,
    /// Change of P + jQ of each phase, turned round where a load switched off. (kVA)
    pub(crate) change: [Complex64; 3],
}

/// Changes in which at least one phase moves by more than the meter and running loads make it.
pub(crate) fn steps(channels: &Channels<'_>) -> Vec<PowerStep> {
    let power = |row: usize| {
        let mut powers = [Complex64::ZERO; 3];
        for (power, channel) in powers.iter_mut().zip(&channels.phases) {
            let kvar = channel.kvar.as_ref()?.get(row)?;
            *power = Complex64::new(channel.kw.as_ref()?.get(row)?, kvar);
        }
        Some(powers)
    };
    let mut found = Vec::new();
    let mut sizes = Vec::new();
    let mut before = None;
    for row in 0..channels.len() {
        let now = power(row);
        if let (Some(old), Some(new)) = (before, now)
            && channels.follows(row)
        {
            let change = difference(old, new);
            let largest = change
                .iter()
                .map(Complex64::norm_sqr)
                .fold(0.0, f64::max)
                .sqrt();
            if largest >= LEAST_KVA {
                let sum: f64 = change.iter().map(|one| one.re).sum();
                let sign = if sum < 0.0 { -1.0 } else { 1.0 };
                sizes.push(largest);
                let change = change.map(|one| one * sign);
                found.push((largest, PowerStep { row, change }));
            }
        }
        before = now;
    }
    let least = SHARE * statistics::quantile(&sizes, 0.95).unwrap_or(0.0);
    found
        .into_iter()
        .filter(|(size, _)| *size >= least)
        .map(|(_, step)| step)
        .collect()
}

fn difference(old: [Complex64; 3], new: [Complex64; 3]) -> [Complex64; 3] {
    [0, 1, 2].map(|k| new[k] - old[k])
}
