//! The three phases and the pairs between them.

use std::fmt;
use std::str::FromStr;

use num_complex::Complex64;
use schemars::JsonSchema;
use serde::Serialize;

/// One of the three phases, named as in IEC 60445.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, JsonSchema, Serialize)]
pub enum Phase {
    /// First phase, angle 0°.
    L1,
    /// Second phase, angle −120°.
    L2,
    /// Third phase, angle +120°.
    L3,
}

impl Phase {
    /// The three phases in sequence.
    pub const ALL: [Phase; 3] = [Phase::L1, Phase::L2, Phase::L3];
    /// The orders of three conductors: the right one first, then two swapped, then all in turn.
    pub const ORDERS: [[usize; 3]; 6] = [
        [0, 1, 2],
        [1, 0, 2],
        [0, 2, 1],
        [2, 1, 0],
        [1, 2, 0],
        [2, 0, 1],
    ];

    /// Position in arrays ordered L1, L2, L3.
    #[inline]
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Phase::L1 => 0,
            Phase::L2 => 1,
            Phase::L3 => 2,
        }
    }

    /// Direction of the phase voltage: 1∠0°, 1∠−120°, 1∠+120°.
    #[inline]
    #[must_use]
    pub fn direction(self) -> Complex64 {
        let half_root_three = 3.0_f64.sqrt() / 2.0;
        match self {
            Phase::L1 => Complex64::new(1.0, 0.0),
            Phase::L2 => Complex64::new(-0.5, -half_root_three),
            Phase::L3 => Complex64::new(-0.5, half_root_three),
        }
    }

    /// Name as written on boards and in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Phase::L1 => "L1",
            Phase::L2 => "L2",
            Phase::L3 => "L3",
        }
    }
}

impl fmt::Display for Phase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// Text that names no phase.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a phase: write L1, L2 or L3")]
pub struct NotAPhase(pub String);

impl FromStr for Phase {
    type Err = NotAPhase;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Phase::ALL
            .into_iter()
            .find(|phase| phase.name().eq_ignore_ascii_case(text.trim()))
            .ok_or_else(|| NotAPhase(text.to_owned()))
    }
}

/// Two different phases, in the order of the voltage between them: `L1-L2` is `U_L1` − `U_L2`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, JsonSchema, Serialize)]
pub enum PhasePair {
    /// Between L1 and L2.
    #[serde(rename = "L1-L2")]
    L1L2,
    /// Between L2 and L3.
    #[serde(rename = "L2-L3")]
    L2L3,
    /// Between L3 and L1.
    #[serde(rename = "L3-L1")]
    L3L1,
}

impl PhasePair {
    /// The three pairs in sequence.
    pub const ALL: [PhasePair; 3] = [PhasePair::L1L2, PhasePair::L2L3, PhasePair::L3L1];

    /// Position in arrays ordered L1-L2, L2-L3, L3-L1.
    #[inline]
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            PhasePair::L1L2 => 0,
            PhasePair::L2L3 => 1,
            PhasePair::L3L1 => 2,
        }
    }

    /// The phase where the current leaves and the one where it returns.
    #[must_use]
    pub const fn phases(self) -> (Phase, Phase) {
        match self {
            PhasePair::L1L2 => (Phase::L1, Phase::L2),
            PhasePair::L2L3 => (Phase::L2, Phase::L3),
            PhasePair::L3L1 => (Phase::L3, Phase::L1),
        }
    }

    /// Name as written in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            PhasePair::L1L2 => "L1-L2",
            PhasePair::L2L3 => "L2-L3",
            PhasePair::L3L1 => "L3-L1",
        }
    }
}

impl fmt::Display for PhasePair {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_are_120_degrees_apart_and_close_the_star() {
        let sum: Complex64 = Phase::ALL.iter().map(|phase| phase.direction()).sum();
        assert!(sum.norm() < 1e-15);
        assert!((Phase::L2.direction().arg().to_degrees() + 120.0).abs() < 1e-12);
        assert!((Phase::L3.direction().arg().to_degrees() - 120.0).abs() < 1e-12);
    }

    #[test]
    fn names_read_back() {
        for phase in Phase::ALL {
            assert_eq!(phase.name().to_lowercase().parse::<Phase>(), Ok(phase));
        }
        assert!("R".parse::<Phase>().is_err());
    }
}
