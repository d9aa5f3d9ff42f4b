//! Is a column of energy a register, which counts on, or the energy of each interval? By the words of its name and by
//! its numbers; where neither decides it is asked, since the two give different kWh.

/// Readings below which numbers show nothing.
const FEWEST: usize = 4;
/// So many advances without a decrease are no chance: a day of intervals has its evening.
const ADVANCES_OF_REGISTER: usize = 10;

/// What the values of a column of energy are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EnergyReading {
    /// Counts on; energy is the difference of two readings.
    Register,
    /// The energy of each interval.
    Interval,
    /// Either.
    Unclear,
}

/// How numbers go from one to the next, in the order of the file or against it.
#[derive(Clone, Copy, Debug, Default)]
struct NumberSteps {
    advances: usize,
    decreases: usize,
    /// Decreases to no less than half: no register begins again there.
    slight: usize,
}

impl NumberSteps {
    fn of<'n>(pairs: impl Iterator<Item = (&'n f64, &'n f64)>) -> NumberSteps {
        let mut found = NumberSteps::default();
        for (before, after) in pairs {
            found.advances += usize::from(after > before);
            found.decreases += usize::from(after < before);
            found.slight += usize::from(after < before && 2.0 * after >= *before);
        }
        found
    }

    /// No decreases but those of a replaced meter or a mistaken reading.
    fn counts_on(self, readings: usize) -> bool {
        self.decreases <= readings / 100
    }

    /// A register that begins again now and then, such as every midnight, decreases seldom and far, and counts between.
    fn may_be_register(self, readings: usize) -> bool {
        let changes = self.advances + self.decreases;
        let often = self.decreases >= 3 && 10 * self.decreases >= changes
            || self.decreases == 2 && 3 * self.decreases >= changes;
        let counts = self.advances >= 2 * self.decreases;
        self.counts_on(readings) || self.slight == 0 && counts && !often
    }
}

impl EnergyReading {
    /// By a name and the first numbers of a column; `whole`: there are no others.
    #[must_use]
    pub fn of(name: &str, numbers: &[f64], whole: bool) -> EnergyReading {
        match (of_name(name), EnergyReading::of_numbers(numbers, whole)) {
            (EnergyReading::Unclear, by_numbers) => by_numbers,
            (by_name, EnergyReading::Unclear) => by_name,
            (by_name, by_numbers) if by_name == by_numbers => by_name,
            // The name says one thing, the numbers another.
            _ => EnergyReading::Unclear,
        }
    }

    /// By the first numbers alone.
    #[must_use]
    pub fn of_numbers(numbers: &[f64], whole: bool) -> EnergyReading {
        if whole && numbers.iter().all(|number| *number == 0.0) {
            // Nothing either way.
            return EnergyReading::Interval;
        }
        if numbers.len() < FEWEST {
            return EnergyReading::Unclear;
        }
        let count = numbers.len();
        // Rows may be in reverse order of time.
        let ways = directions(numbers);
        let sure = |way: &NumberSteps| way.counts_on(count) && way.advances >= ADVANCES_OF_REGISTER;
        if ways.iter().any(sure) {
            EnergyReading::Register
        } else if ways.iter().any(|way| way.may_be_register(count)) {
            EnergyReading::Unclear
        } else {
            EnergyReading::Interval
        }
    }

    /// What numbers add up to as a register and as energies of intervals.
    #[must_use]
    pub fn totals(numbers: &[f64]) -> (f64, f64) {
        let [forward, backward] = directions(numbers);
        let step = |pair: &[f64]| {
            let step = pair[1] - pair[0];
            if forward.decreases <= backward.decreases {
                step.max(0.0)
            } else {
                (-step).max(0.0)
            }
        };
        // An empty sum of floating-point numbers is −0.
        (
            numbers.windows(2).map(step).sum::<f64>() + 0.0,
            numbers.iter().sum::<f64>() + 0.0,
        )
    }
}

fn directions(numbers: &[f64]) -> [NumberSteps; 2] {
    let later = numbers.iter().skip(1);
    [
        NumberSteps::of(numbers.iter().zip(later.clone())),
        NumberSteps::of(later.zip(numbers)),
    ]
}

/// By the words of a name.
fn of_name(name: &str) -> EnergyReading {
    let lower = name.to_lowercase();
    let words = lower
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty());
    let has = |known: &[&str]| words.clone().any(|word| known.contains(&word));
    let register = has(&["register", "cumulative", "index", "counter"])
        || has(&["meter"]) && has(&["reading", "read"]);
    let interval = has(&["interval", "half", "hourly", "hh", "delta"]);
    match (register, interval) {
        (true, false) => EnergyReading::Register,
        (false, true) => EnergyReading::Interval,
        _ => EnergyReading::Unclear,
    }
}

#[cfg(test)]
mod tests {
    use super::EnergyReading::{Interval, Register, Unclear};
    use super::*;

    #[test]
    fn a_name_says_it_or_says_nothing() {
        for (name, expected) in [
            ("register kWh", Register),
            ("Meter reading (kWh)", Register),
            ("cumulative_kWh", Register),
            ("half hourly kWh", Interval),
            ("interval energy [kWh]", Interval),
            ("Half-hourly meter reading", Unclear),
            ("kWh", Unclear),
            ("Consumption (kWh)", Unclear),
        ] {
            assert_eq!(of_name(name), expected, "{name}");
        }
    }

    #[test]
    fn numbers_say_it_or_say_nothing() {
        let rising: Vec<f64> = (0..12).map(|at| 100.0 + 1.5 * f64::from(at)).collect();
        let falling: Vec<f64> = rising.iter().copied().rev().collect();
        // A count that begins again at midnight: 48 steps up, one down.
        let daily: Vec<f64> = (0..480).map(|at| f64::from(at % 48)).collect();
        for (numbers, expected) in [
            (&rising[..], Register),
            (&falling, Register),
            // Three rises in a row are no evidence.
            (&rising[..4], Unclear),
            (&[5.0; 48], Unclear),
            (&[1.5, 1.25, 1.5, 1.0], Interval),
            (&[310.0, 311.0, 300.33, 313.0], Interval),
            // A replaced meter, or four months.
            (&[98_000.0, 99_000.0, 500.0, 1500.0], Unclear),
            (&daily, Unclear),
            // A load that is off once.
            (&[2.0, 2.0, 2.0, 0.1, 0.1, 2.0, 2.0], Interval),
            (&[1.0, 2.0, 0.0, 1.0, 2.0, 0.0, 1.0, 2.0, 0.0], Interval),
        ] {
            assert_eq!(
                EnergyReading::of_numbers(numbers, true),
                expected,
                "{numbers:?}"
            );
        }
        assert_eq!(EnergyReading::of_numbers(&[0.0; 48], true), Interval);
        assert_eq!(EnergyReading::of_numbers(&[0.0; 48], false), Unclear);
    }

    #[test]
    fn a_name_and_numbers_that_disagree_are_asked_about() {
        let rising: Vec<f64> = (0..12).map(f64::from).collect();
        let of = |name, numbers| EnergyReading::of(name, numbers, true);
        assert_eq!(of("register kWh", &[5.0, 5.0]), Register);
        assert_eq!(of("interval kWh", &[5.0, 5.0]), Interval);
        assert_eq!(of("interval kWh", &rising), Unclear);
        assert_eq!(of("register kWh", &[1.5, 1.25, 1.5, 1.0]), Unclear);
    }

    #[test]
    fn totals_either_way() {
        assert_eq!(EnergyReading::totals(&[100.0, 103.0, 107.0]), (7.0, 310.0));
        assert_eq!(EnergyReading::totals(&[107.0, 103.0, 100.0]), (7.0, 310.0));
        assert_eq!(EnergyReading::totals(&[5.0, 5.0]), (0.0, 10.0));
    }
}
