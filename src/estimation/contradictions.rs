//! Readings that nothing explains.

use num_complex::Complex64;

use crate::model::{Contradiction, Draw, Load, PhaseReading, ReadPlace};
use crate::round_likelihood::shown;
use crate::touch::{Touch, touches_of};

/// Standard errors by which a reading must stand apart from all draws to be named.
const APART_ERRORS: f64 = 4.0;

/// Readings that stand apart from what the draws explain.
pub(crate) fn contradictions(
    loads: &[Load],
    places: &[ReadPlace],
    readings: &[PhaseReading],
    draws: &[Draw],
) -> Vec<Contradiction> {
    readings
        .iter()
        .filter_map(|reading| {
            let row = std::slice::from_ref(reading);
            let touches: Vec<[Option<Touch>; 3]> = loads
                .iter()
                .map(|load| [0, 1, 2].map(|turn| touches_of(load, turn, places, row).pop()))
                .collect();
            let explained = |draw: &Draw| {
                let (mut sum, mut third) = (Complex64::ZERO, 0.0);
                for (load, &share) in draw.in_round[reading.round].iter().enumerate() {
                    if let Some(touch) = touches[load][draw.turns[load]] {
                        sum += touch.fundamental * share;
                        third += touch.third * share;
                    }
                }
                shown(reading, sum, third)
            };
            let mean = draws.iter().map(explained).sum::<f64>() / draws.len().max(1) as f64;
            let apart = (reading.amps - mean).abs();
            (apart > APART_ERRORS * reading.error_a).then_some(Contradiction {
                reading: *reading,
                explained_a: mean,
            })
        })
        .collect()
}
