//! Protective devices and conductors as declared.

use std::fmt;
use std::str::FromStr;

use schemars::JsonSchema;
use serde::Serialize;

use super::device_words::read_device;
use electrical::OverloadDevice;

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
    /// Semi-enclosed (rewirable) fuse (BS 3036).
    #[serde(rename = "BS 3036")]
    SemiEnclosed,
}

impl DeviceKind {
    /// The kind by which it protects against overload.
    #[must_use]
    pub const fn overload_device(self) -> OverloadDevice {
        match self {
            DeviceKind::Gg => OverloadDevice::FuseGg,
            DeviceKind::B | DeviceKind::C | DeviceKind::D => OverloadDevice::Breaker60898,
            DeviceKind::SemiEnclosed => OverloadDevice::SemiEnclosed,
        }
    }
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
            DeviceKind::SemiEnclosed => "BS 3036",
        };
        write!(f, "{kind} {}", self.rated_a)
    }
}

/// Text that names no protective device.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{text}` is not a protective device: write its kind and rated current, such as `gG 32` or `C 16`"
)]
pub struct NotADevice {
    text: String,
    help: Option<String>,
}

impl NotADevice {
    pub(super) fn new(text: &str, help: Option<String>) -> NotADevice {
        NotADevice {
            text: text.to_owned(),
            help,
        }
    }

    /// The device that is meant, as it is written here; `None` where the text names no rated current.
    #[must_use]
    pub fn suggestion(&self) -> Option<String> {
        self.help.clone()
    }
}

impl FromStr for ProtectiveDevice {
    type Err = NotADevice;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        read_device(text)
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
