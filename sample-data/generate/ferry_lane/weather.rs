//! Outdoor temperature: a late English winter with three cold spells.

use super::calendar::{Moment, STEP};
use super::chance::{Chance, Wander};

/// Centre and half-width in days from the start, depth in kelvin.
const COLD_SPELLS: [(f64, f64, f64); 3] = [(3.0, 2.2, 8.0), (16.4, 2.4, 7.5), (23.3, 1.4, 6.0)];

/// The weather over Ferry Lane.
pub(crate) struct Weather {
    chance: Chance,
    wander: Wander,
}

impl Weather {
    pub(crate) fn new(seed: u64) -> Self {
        Weather {
            chance: Chance::new(seed, 900),
            wander: Wander::new(1.2, 18.0 * 3600.0),
        }
    }

    /// Outdoor temperature of this step. [°C]
    pub(crate) fn step(&mut self, moment: &Moment) -> f64 {
        let day = moment.elapsed_h / 24.0;
        // Spring comes slowly, and stops coming after eight weeks.
        let season = 6.5 + 0.10 * day.min(56.0);
        let spell: f64 = COLD_SPELLS
            .iter()
            .map(|&(centre, half_width, depth)| {
                let distance = ((day - centre) / half_width).abs();
                // Flat in the middle, ramps at both ends.
                depth * (2.0 * (1.0 - distance)).clamp(0.0, 1.0)
            })
            .sum();
        season + 4.0 * wave((moment.hour - 9.0) / 24.0) - spell
            + self.wander.step(STEP, &mut self.chance)
    }
}

/// A sine of period 1, by Bhaskara's rational formula (within 0.2 % of the amplitude).
pub(crate) fn wave(turns: f64) -> f64 {
    let turns = turns - turns.floor();
    let half = if turns < 0.5 { turns } else { turns - 0.5 } * 2.0;
    let arch = half * (1.0 - half);
    let sine = 16.0 * arch / (5.0 - 4.0 * arch);
    if turns < 0.5 { sine } else { -sine }
}

#[cfg(test)]
mod tests {
    use super::wave;

    #[test]
    fn the_wave_is_a_sine_within_two_thousandths() {
        for n in -20..20 {
            let turns = f64::from(n) / 17.0;
            let exact = (turns * std::f64::consts::TAU).sin();
            assert!((wave(turns) - exact).abs() < 0.002, "{turns}");
        }
    }
}
