//! Protective devices and conductors as declared.

use std::fmt;
use std::str::FromStr;

use schemars::JsonSchema;
use serde::Serialize;

/// What kind of protective device.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
pub enum DeviceKind {
    /// General-purpose fuse (IEC 60269).
    #[serde(rename = "gG")]
    Gg,
    /// Circuit-breaker, type B (IEC 60898-1).
    B,
    /// Circuit-breaker, type C.
    C,
    /// Circuit-breaker, type D.
    D,
}

/// A protective device: kind and rated current.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema, Serialize)]
pub struct ProtectiveDevice {
    /// Its kind.
    pub kind: DeviceKind,
    /// Rated current `I_n`. (A)
    pub rated_a: f64,
}

impl fmt::Display for ProtectiveDevice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = match self.kind {
            DeviceKind::Gg => "gG",
            DeviceKind::B => "B",
            DeviceKind::C => "C",
            DeviceKind::D => "D",
        };
        write!(f, "{kind} {}", self.rated_a)
    }
}

/// Text that names no protective device.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{0}` is not a protective device: write its kind and rated current, such as `gG 32` or `C 16`"
)]
pub struct NotADevice(pub String);

impl NotADevice {
    /// The device that is meant, as it is written here; `None` where the text names no rated current.
    #[must_use]
    pub fn suggestion(&self) -> Option<String> {
        let lower = self.0.to_lowercase();
        let words: Vec<&str> = lower
            .split(|c: char| !c.is_alphanumeric() && c != '.')
            .filter(|word| !word.is_empty())
            .collect();
        // The number of a standard, `BS 88`, `IEC 60898`, is no rated current.
        let of_standard = |at: usize| {
            const BODIES: [&str; 4] = ["bs", "en", "iec", "din"];
            at.checked_sub(1)
                .is_some_and(|before| BODIES.contains(&words[before]))
        };
        let amps = words.iter().enumerate().find_map(|(at, word)| {
            let number: f64 = word.trim_end_matches('a').parse().ok()?;
            (number > 0.0 && number.is_finite() && !of_standard(at)).then_some(number)
        });
        // A type and its current may be one word: `c16`.
        let joined = words.iter().find_map(|word| {
            let kind = ['b', 'c', 'd']
                .into_iter()
                .find(|kind| word.starts_with(*kind))?;
            let number: f64 = word[1..].trim_end_matches('a').parse().ok()?;
            Some((kind, number))
        });
        if let Some((kind, number)) = joined {
            return Some(format!("write `{} {number}`", kind.to_uppercase()));
        }
        let amps = amps?;
        let has = |known: &[&str]| words.iter().any(|word| known.contains(word));
        let kind = ["b", "c", "d"].into_iter().find(|kind| has(&[kind]));
        Some(match kind {
            Some(kind) => format!("write `{} {amps}`", kind.to_uppercase()),
            None if has(&["fuse", "fuses", "hrc", "gg", "gl"]) => format!("write `gG {amps}`"),
            None => format!(
                "write `gG {amps}` for a fuse, `B {amps}`, `C {amps}` or `D {amps}` for a circuit-breaker"
            ),
        })
    }
}

impl FromStr for ProtectiveDevice {
    type Err = NotADevice;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let wrong = || NotADevice(text.to_owned());
        let trimmed = text.trim();
        let split = trimmed
            .find(|c: char| c.is_ascii_digit())
            .ok_or_else(wrong)?;
        let kind = match trimmed[..split].trim().to_ascii_lowercase().as_str() {
            "gg" => DeviceKind::Gg,
            "b" => DeviceKind::B,
            "c" => DeviceKind::C,
            "d" => DeviceKind::D,
            _ => return Err(wrong()),
        };
        let amps = trimmed[split..].trim_end_matches(['A', 'a']).trim();
        let rated_a: f64 = amps.parse().map_err(|_| wrong())?;
        if rated_a.is_finite() && rated_a > 0.0 {
            Ok(ProtectiveDevice { kind, rated_a })
        } else {
            Err(wrong())
        }
    }
}

/// Conductor material.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Conductor {
    /// Copper.
    Copper,
    /// Aluminium.
    Aluminium,
}

/// A cable or feeder as declared.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Cable {
    /// Length, one way. (m)
    pub length_m: f64,
    /// Cross-section of a phase conductor. (mm²)
    pub phase_mm2: f64,
    /// Cross-section of the neutral. (mm²)
    pub neutral_mm2: f64,
    /// Material.
    pub conductor: Conductor,
    /// Current-carrying capacity before derating, as declared. (A)
    pub current_capacity_a: Option<f64>,
    /// Factor for grouping, ambient temperature and the like.
    pub derating: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn devices_read_in_the_ways_people_write_them() {
        let gg = ProtectiveDevice {
            kind: DeviceKind::Gg,
            rated_a: 32.0,
        };
        for text in ["gG 32", "gg32", " gG 32 A", "GG 32A"] {
            assert_eq!(text.parse(), Ok(gg), "{text}");
        }
        for text in ["", "32", "E 16", "gG", "C 0", "C -16", "C 16/2"] {
            assert!(text.parse::<ProtectiveDevice>().is_err(), "{text}");
        }
    }
}
