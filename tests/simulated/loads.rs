//! Loads of a workshop that switch on and off.

use num_complex::Complex64;

use crate::dice::Dice;

/// One load: an admittance between a phase and neutral, or of each of three phases without a neutral.
#[derive(Clone, Copy, Debug)]
pub struct Load {
    /// The phase from 0; `None` for three phases.
    pub phase: Option<usize>,
    /// Current at 230 V. (A)
    pub amps: f64,
    /// Power factor, lagging.
    pub factor: f64,
    /// Mean time on and off. (minutes)
    pub minutes: (f64, f64),
    /// Does it run at night as well?
    pub by_night: bool,
}

impl Load {
    fn admittance(&self) -> Complex64 {
        Complex64::from_polar(self.amps / 230.0, -self.factor.acos())
    }
}

/// The loads of a site.
#[derive(Clone, Debug)]
pub struct Workshop {
    /// Its loads.
    pub loads: Vec<Load>,
}

impl Workshop {
    /// Fifteen single-phase and five three-phase loads of a seed.
    #[must_use]
    pub fn of_seed(seed: u64) -> Workshop {
        let mut dice = Dice::new(seed.wrapping_mul(7919).wrapping_add(1));
        let mut loads = Vec::new();
        for number in 0..15 {
            loads.push(Load {
                phase: Some(number % 3),
                amps: dice.between(1.0, 14.0),
                factor: dice.between(0.75, 1.0),
                minutes: (dice.between(3.0, 60.0), dice.between(5.0, 120.0)),
                by_night: number % 5 < 2,
            });
        }
        for _ in 0..5 {
            loads.push(Load {
                phase: None,
                amps: dice.between(2.0, 10.0),
                factor: dice.between(0.7, 0.9),
                minutes: (dice.between(5.0, 60.0), dice.between(20.0, 200.0)),
                by_night: false,
            });
        }
        Workshop { loads }
    }

    /// Admittances of each row: of the three phases to neutral, and of the three-phase loads.
    pub(crate) fn admittances(
        &self,
        starts: &[i64],
        interval_s: i64,
        seed: u64,
    ) -> Vec<([Complex64; 3], Complex64)> {
        let mut dice = Dice::new(seed);
        let mut rows = vec![([Complex64::new(0.0005, 0.0); 3], Complex64::ZERO); starts.len()];
        for load in &self.loads {
            let mut on = dice.share() < 0.5;
            for (row, &start) in rows.iter_mut().zip(starts) {
                let hour = start.rem_euclid(86_400) / 3600;
                let day = (start.div_euclid(86_400) + 3).rem_euclid(7);
                let works = load.by_night || ((7..17).contains(&hour) && day < 5);
                let mean = if on { load.minutes.0 } else { load.minutes.1 };
                let change = 1.0 - (-(interval_s as f64) / 60.0 / mean).exp();
                if dice.share() < change {
                    on = !on;
                }
                if on && works {
                    let size = 1.0 + 0.01 * dice.normal();
                    match load.phase {
                        Some(phase) => row.0[phase] += load.admittance() * size,
                        None => row.1 += load.admittance() * size,
                    }
                }
            }
        }
        rows
    }
}
