//! Protective devices and conductors as declared.

use std::fmt;

use schemars::JsonSchema;
use serde::Serialize;

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
