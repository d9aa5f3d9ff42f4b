//! Loads that the list may have left out.

use num_complex::Complex64;

use crate::model::{Load, NOT_LISTED_SHARE, PhaseReading, ReadPlace, Turns};
use crate::touch::touches_of;

/// Current of a load that is not listed, before it is read, and its standard deviation as a share of that. (A, 1)
const NOT_LISTED_A: (f64, f64) = (6.0, 0.9);
/// Its power factor: that of mixed small loads.
const NOT_LISTED_POWER_FACTOR: f64 = 0.95;
/// A load draws no more than this share of its rating, unless its rating is wrong.
const CAN_DRAW: f64 = 1.2;

/// One possible load on each phase of each place that is read and may feed more than is listed.
///
/// Where one load alone is listed it takes a reading whole, unless that is more than it can draw.
pub(crate) fn not_listed(
    loads: &[Load],
    places: &[ReadPlace],
    readings: &[PhaseReading],
    rounds: usize,
) -> Vec<Load> {
    let mut found: Vec<(usize, usize)> = readings
        .iter()
        .filter(|reading| !places[reading.place].is_complete)
        .filter(|reading| {
            let row = std::slice::from_ref(*reading);
            let own = loads.iter().flat_map(|load| {
                let turn = load.turns.first();
                touches_of(load, turn, places, row)
                    .into_iter()
                    .map(|touch| touch.fundamental.norm())
            });
            let own: Vec<f64> = own.collect();
            let most = own.iter().sum::<f64>() * CAN_DRAW + 2.0 * reading.error_a;
            own.len() > 1 || reading.amps.abs() > most
        })
        .map(|reading| (reading.place, reading.phase))
        .collect();
    found.sort_unstable();
    found.dedup();
    let reactive = (1.0 - NOT_LISTED_POWER_FACTOR.powi(2)).sqrt();
    let current = Complex64::new(NOT_LISTED_POWER_FACTOR, -reactive) * NOT_LISTED_A.0;
    found
        .into_iter()
        .map(|(place, phase)| Load {
            place,
            on_a: [Some(current), None, None],
            third_harmonic: 0.0,
            turns: Turns::certain(phase),
            on_share: NOT_LISTED_SHARE,
            runs: vec![true; rounds],
            own_spread: Some(NOT_LISTED_A.1),
        })
        .collect()
}
