//! The currents of a node, alone and with an added load.

use num_complex::Complex64;

use super::load::NewLoad;
use electrical::Phase;

/// The basis of the currents of a node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CarriedBasis {
    /// Its own log or readings.
    Measured,
    /// The log of the node upstream, less the logs of the other nodes it feeds.
    ByDifference,
    /// The logs of all machines below it.
    MachineMeters,
    /// Ratings of the machine list, with this diversity factor.
    Declared(f64),
}

impl CarriedBasis {
    /// In words.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            CarriedBasis::Measured => "measured".to_owned(),
            CarriedBasis::ByDifference => "derived from other meters".to_owned(),
            CarriedBasis::MachineMeters => "meters of its machines".to_owned(),
            CarriedBasis::Declared(diversity) => {
                format!("rating only, diversity factor {diversity}")
            }
        }
    }
}

/// Currents of a node: one value for each interval, or a single one where they are declared.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Carried {
    /// Their basis.
    pub(super) basis: CarriedBasis,
    /// Phase currents, each relative to its own phase voltage. (A)
    pub(super) phases: [Vec<Complex64>; 3],
    /// Current that flows in the neutral only, in the common frame. (A)
    pub(super) neutral_alone: Vec<Complex64>,
    /// Part of the neutral that the phasors do not explain. (A)
    pub(super) beyond: Vec<f64>,
    /// Third harmonics of machines, where those add up, and of other new machines, on each phase; a node's own log
    /// contains them in its magnitudes. (A)
    pub(super) harmonics: [Vec<f64>; 3],
    /// Mean squares of L1, L2, L3 and N as measured, less those of the series. (A²)
    pub(super) unresolved_square: [f64; 4],
}

/// The load added to a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Added {
    /// Nothing.
    Nothing,
    /// The machine at its rating whenever it runs.
    Running,
    /// The machine while it starts.
    Starting,
}

/// Largest currents of a node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct LargestCurrents {
    pub(super) phases_a: [f64; 3],
    pub(super) neutral_a: f64,
}

impl LargestCurrents {
    /// The larger of each conductor.
    pub(super) fn or(self, other: LargestCurrents) -> LargestCurrents {
        LargestCurrents {
            phases_a: [0, 1, 2].map(|k| self.phases_a[k].max(other.phases_a[k])),
            neutral_a: self.neutral_a.max(other.neutral_a),
        }
    }
}

impl Carried {
    /// Is there a value for each interval?
    pub(super) fn is_series(&self) -> bool {
        !matches!(self.basis, CarriedBasis::Declared(_))
    }

    /// A conductor that carries only the new machine.
    pub(super) fn nothing() -> Carried {
        Carried {
            basis: CarriedBasis::Declared(1.0),
            phases: [0; 3].map(|_| vec![Complex64::ZERO]),
            neutral_alone: vec![Complex64::ZERO],
            beyond: vec![0.0],
            harmonics: [0; 3].map(|_| vec![0.0]),
            unresolved_square: [0.0; 4],
        }
    }

    /// Adds a load: at its rating whenever it runs.
    pub(super) fn put(&mut self, load: &NewLoad, turn: usize) {
        let share = load.third_harmonic;
        for interval in 0..self.beyond.len() {
            for position in 0..3 {
                let more = self.added(load, Added::Running, position, interval);
                let k = (position + turn) % 3;
                self.phases[k][interval] += more;
                self.harmonics[k][interval] += share * more.norm();
                if load.has_neutral() {
                    self.beyond[interval] += share * more.norm();
                }
            }
        }
    }

    /// In some of the intervals only; unchanged where it rests on ratings.
    pub(super) fn only(&self, intervals: &[usize]) -> Carried {
        if !self.is_series() {
            return self.clone();
        }
        let at = |values: &Vec<f64>| intervals.iter().map(|&i| values[i]).collect();
        Carried {
            basis: self.basis,
            phases: [0, 1, 2].map(|k| intervals.iter().map(|&i| self.phases[k][i]).collect()),
            neutral_alone: intervals.iter().map(|&i| self.neutral_alone[i]).collect(),
            beyond: at(&self.beyond),
            harmonics: [0, 1, 2].map(|k| at(&self.harmonics[k])),
            unresolved_square: self.unresolved_square,
        }
    }

    /// Fundamental current that the load adds on a position in an interval.
    fn added(&self, load: &NewLoad, added: Added, position: usize, interval: usize) -> Complex64 {
        match added {
            Added::Nothing => Complex64::ZERO,
            // The sun does not keep to the hours of a log of loads.
            Added::Running if self.is_series() && !load.generates() => {
                load.highest.at(position, interval)
            }
            Added::Running => load.rated[position],
            Added::Starting => {
                let runs = !self.is_series() || load.highest.at(position, interval).norm() > 0.0;
                match &load.starting {
                    Some(starting) if runs => starting[position],
                    _ => Complex64::ZERO,
                }
            }
        }
    }

    /// Phase currents in the common frame and the neutral's phasor, with the load.
    fn phasors(
        &self,
        load: &NewLoad,
        added: Added,
        turn: usize,
        interval: usize,
    ) -> ([Complex64; 3], Complex64) {
        let mut phases = [0, 1, 2].map(|k| self.phases[k][interval]);
        for position in 0..3 {
            phases[(position + turn) % 3] += self.added(load, added, position, interval);
        }
        for phase in Phase::ALL {
            phases[phase.index()] *= DIRECTIONS[phase.index()];
        }
        let neutral = phases.iter().sum::<Complex64>() + self.neutral_alone[interval];
        (phases, neutral)
    }

    /// Largest currents with the load.
    pub(super) fn largest(&self, load: &NewLoad, added: Added, turn: usize) -> LargestCurrents {
        let share = load.third_harmonic;
        let in_neutral = if load.has_neutral() { share } else { 0.0 };
        let mut squares = [0.0_f64; 3];
        let mut neutral_square = 0.0_f64;
        for interval in 0..self.beyond.len() {
            let (phases, neutral) = self.phasors(load, added, turn, interval);
            let mut beyond = self.beyond[interval];
            for position in 0..3 {
                let k = (position + turn) % 3;
                let more = self.added(load, added, position, interval).norm();
                let harmonic = self.harmonics[k][interval] + share * more;
                squares[k] = squares[k].max(phases[k].norm_sqr() + harmonic * harmonic);
                beyond += in_neutral * more;
            }
            neutral_square = neutral_square.max(neutral.norm_sqr() + beyond * beyond);
        }
        LargestCurrents {
            phases_a: squares.map(f64::sqrt),
            neutral_a: neutral_square.sqrt(),
        }
    }

    /// The intervals in which the phases and the neutral are largest with the load.
    pub(super) fn worst_intervals(&self, load: &NewLoad, added: Added, turn: usize) -> Vec<usize> {
        let mut worst = [(0, -1.0_f64); 4];
        for interval in 0..self.beyond.len() {
            let (phases, neutral) = self.phasors(load, added, turn, interval);
            let squares = phases.map(|phase| phase.norm_sqr());
            let beyond = self.beyond[interval];
            let all = squares
                .into_iter()
                .chain([neutral.norm_sqr() + beyond * beyond]);
            for (most, square) in worst.iter_mut().zip(all) {
                if square > most.1 {
                    *most = (interval, square);
                }
            }
        }
        worst.into_iter().map(|(interval, _)| interval).collect()
    }

    /// Largest voltage drop along conductors, between the phases of the load or from its phase to
    /// neutral, in volts of that voltage; of what generates the largest rise.
    pub(super) fn largest_drop(
        &self,
        load: &NewLoad,
        added: Added,
        turn: usize,
        (z, z_neutral): (Complex64, Complex64),
    ) -> f64 {
        let loaded: Vec<usize> = load.phases(turn).map(|(_, k)| k).collect();
        let sign = if load.generates() { -1.0 } else { 1.0 };
        let mut most = 0.0_f64;
        for interval in 0..self.beyond.len() {
            let (phases, neutral) = self.phasors(load, added, turn, interval);
            let drop = |k: usize| z * phases[k] + z_neutral * neutral;
            if let [a, b] = loaded[..] {
                // Pairs lead from the position 0 to the position 1.
                let (a, b) = if (a + 1) % 3 == b { (a, b) } else { (b, a) };
                let between = DIRECTIONS[a] - DIRECTIONS[b];
                let along = (drop(a) - drop(b)) * between.conj() / between.norm();
                most = most.max(sign * along.re);
            } else {
                for &k in &loaded {
                    most = most.max(sign * (drop(k) * DIRECTIONS[k].conj()).re);
                }
            }
        }
        most
    }
}

/// Directions of the phase voltages L1, L2, L3 in the common frame.
const DIRECTIONS: [Complex64; 3] = [
    Complex64::new(1.0, 0.0),
    Complex64::new(-0.5, -0.866_025_403_784_438_6),
    Complex64::new(-0.5, 0.866_025_403_784_438_6),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_directions_are_those_of_the_phases() {
        for phase in Phase::ALL {
            assert!((phase.direction() - DIRECTIONS[phase.index()]).norm() < 1e-15);
        }
    }
}
