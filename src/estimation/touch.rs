//! What a load adds to the readings of the places that it is fed through.

use num_complex::Complex64;

use crate::model::{Load, PhaseReading, ReadPlace};

/// What a load adds to one reading for each share of its listed current.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Touch {
    /// Position of the reading.
    pub(crate) row: usize,
    /// Fundamental. (A)
    pub(crate) fundamental: Complex64,
    /// Third harmonic. (A)
    pub(crate) third: f64,
}

/// Of one load at a turn, to a list of readings.
pub(crate) fn touches_of(
    load: &Load,
    turn: usize,
    places: &[ReadPlace],
    rows: &[PhaseReading],
) -> Vec<Touch> {
    let mut path = Vec::new();
    let mut at = Some(load.place);
    while let Some(place) = at {
        path.push(place);
        at = places[place].fed_from;
    }
    rows.iter()
        .enumerate()
        .filter(|(_, reading)| path.contains(&reading.place))
        .filter_map(|(row, reading)| {
            let fundamental = load.on_a[(reading.phase + 3 - turn) % 3]?;
            Some(Touch {
                row,
                fundamental,
                third: load.third_harmonic * fundamental.norm(),
            })
        })
        .collect()
}
