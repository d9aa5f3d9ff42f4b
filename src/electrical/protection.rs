//! Overload protection of cables, and the devices that give it.

use super::{NotFinite, finite::finite};
use units::Amperes;

/// A kind of device that protects against overload.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OverloadDevice {
    /// Fuse gG (IEC 60269).
    FuseGg,
    /// Circuit-breaker for households and similar (IEC 60898-1).
    Breaker60898,
    /// Industrial circuit-breaker (IEC 60947-2).
    Breaker60947,
    /// Semi-enclosed fuse (BS 3036).
    SemiEnclosed,
}

/// Currents that a device does not, and does, operate at within its conventional time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConventionalCurrents {
    /// Not operating within the conventional time. (A)
    pub holds: Amperes,
    /// Operating within the conventional time, `I_2`. (A)
    pub operates: Amperes,
    /// Conventional time. (h)
    pub hours: f64,
}

/// Protection that cannot be judged.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum ProtectionError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// A rating is above 0.
    #[error("rated current must be above 0 A, found {0} A")]
    RatingNotPositive(f64),
}

/// Conventional currents and time of a protective device.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I_n` | rated current | A | above 0 |
/// | `I_nt`, `I_nf` | conventional non-operating (non-fusing) current | A | |
/// | `I_t`, `I_f` = `I_2` | conventional operating (fusing) current | A | |
///
/// # Formula
///
/// ```text
/// fuse gG:    1.5/2.1 · I_n up to 4 A; 1.5/1.9 below 16 A; 1.25/1.6 from 16 A
///             1 h up to 63 A, 2 h up to 160 A, 3 h up to 400 A, 4 h above
/// IEC 60898:  1.13/1.45 · I_n, 1 h up to 63 A, else 2 h
/// IEC 60947:  1.05/1.30 · I_n, 1 h up to 63 A, else 2 h
/// BS 3036:    1.00/2.00 · I_n, 1 h (a fusing factor of 2; no conventional time is published)
/// ```
///
/// # Source
///
/// IEC 60269-1 table 2, IEC 60269-3 (small fuses); IEC 60898-1 table 7; IEC 60947-2 (the times and the
/// figures below 16 A from memory). BS 7671, 433.1.202: a semi-enclosed fuse protects a cable of `I_z` where
/// `I_n` ≤ 0.725 `I_z`, which is `I_2` = 2 `I_n`.
///
/// # Errors
///
/// [`ProtectionError`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq;
/// # use electrical::{OverloadDevice, conventional_currents};
/// # use units::Amperes;
/// let fuse = conventional_currents(OverloadDevice::FuseGg, Amperes(32.0))?;
/// assert_relative_eq!(fuse.operates.0, 51.2, max_relative = 1e-12);
/// let breaker = conventional_currents(OverloadDevice::Breaker60898, Amperes(32.0))?;
/// assert_relative_eq!(breaker.holds.0, 36.16, max_relative = 1e-12);
/// # Ok::<(), electrical::ProtectionError>(())
/// ```
pub fn conventional_currents(
    device: OverloadDevice,
    rated: Amperes,
) -> Result<ConventionalCurrents, ProtectionError> {
    finite("rated current [A]", rated.0)?;
    if rated.0 <= 0.0 {
        return Err(ProtectionError::RatingNotPositive(rated.0));
    }
    let breaker_hours = if rated.0 <= 63.0 { 1.0 } else { 2.0 };
    let (holds, operates, hours) = match device {
        OverloadDevice::FuseGg if rated.0 <= 4.0 => (1.5, 2.1, 1.0),
        OverloadDevice::FuseGg if rated.0 < 16.0 => (1.5, 1.9, 1.0),
        OverloadDevice::FuseGg => (1.25, 1.6, fuse_hours(rated.0)),
        OverloadDevice::Breaker60898 => (1.13, 1.45, breaker_hours),
        OverloadDevice::Breaker60947 => (1.05, 1.30, breaker_hours),
        OverloadDevice::SemiEnclosed => (1.0, 2.0, 1.0),
    };
    Ok(ConventionalCurrents {
        holds: rated * holds,
        operates: rated * operates,
        hours,
    })
}

fn fuse_hours(rated_a: f64) -> f64 {
    match rated_a {
        r if r <= 63.0 => 1.0,
        r if r <= 160.0 => 2.0,
        r if r <= 400.0 => 3.0,
        _ => 4.0,
    }
}

/// Smallest current-carrying capacity that a device protects against overload (A).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I_n`, `I_2` | rated current; current that makes the device operate | A | above 0 |
/// | `I_z` | current-carrying capacity of the cable | A | |
///
/// # Formula
///
/// ```text
/// I_n ≤ I_z  and  I_2 ≤ 1.45 · I_z    ⇒    I_z ≥ max(I_n, I_2/1.45)
/// ```
///
/// # Source
///
/// IEC 60364-4-43, 433.1.
///
/// # Errors
///
/// [`ProtectionError`].
///
/// # Examples
///
/// A fuse needs a cable a tenth above its rating, a breaker does not:
///
/// ```
/// # use approx::assert_relative_eq;
/// # use electrical::{OverloadDevice, least_protected_capacity};
/// # use units::Amperes;
/// let fuse = least_protected_capacity(OverloadDevice::FuseGg, Amperes(100.0))?;
/// assert_relative_eq!(fuse.0, 160.0 / 1.45, max_relative = 1e-12);
/// let breaker = least_protected_capacity(OverloadDevice::Breaker60898, Amperes(100.0))?;
/// assert_relative_eq!(breaker.0, 100.0, max_relative = 1e-12);
/// # Ok::<(), electrical::ProtectionError>(())
/// ```
pub fn least_protected_capacity(
    device: OverloadDevice,
    rated: Amperes,
) -> Result<Amperes, ProtectionError> {
    let operates = conventional_currents(device, rated)?.operates;
    Ok(Amperes(rated.0.max(operates.0 / 1.45)))
}

/// Type of a circuit-breaker by its instantaneous release.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BreakerType {
    /// 3 to 5 times the rated current.
    B,
    /// 5 to 10 times.
    C,
    /// 10 to 20 times.
    D,
}

/// Currents between which a circuit-breaker begins to release at once (A).
///
/// Below the first it must not, above the second it must.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I_n` | rated current | A | above 0 |
///
/// # Formula
///
/// ```text
/// B: 3 … 5 · I_n;  C: 5 … 10 · I_n;  D: 10 … 20 · I_n
/// ```
///
/// # Source
///
/// IEC 60898-1, table 7.
///
/// # Examples
///
/// ```
/// # use electrical::{BreakerType, instantaneous_range}; use units::Amperes;
/// let [low, high] = instantaneous_range(BreakerType::C, Amperes(16.0));
/// assert_eq!((low.0, high.0), (80.0, 160.0));
/// ```
#[must_use]
pub fn instantaneous_range(kind: BreakerType, rated: Amperes) -> [Amperes; 2] {
    let (low, high) = match kind {
        BreakerType::B => (3.0, 5.0),
        BreakerType::C => (5.0, 10.0),
        BreakerType::D => (10.0, 20.0),
    };
    [rated * low, rated * high]
}

/// Preferred rated currents of circuit-breakers. (A)
const BREAKERS: [f64; 13] = [
    6.0, 10.0, 13.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0,
];
/// Rated currents of fuses gG; those above 125 A from memory. (A)
const FUSES: [f64; 21] = [
    2.0, 4.0, 6.0, 10.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0,
    200.0, 250.0, 315.0, 400.0, 500.0, 630.0,
];

/// Rated currents of semi-enclosed fuses (BS 3036). (A)
const SEMI_ENCLOSED: [f64; 7] = [5.0, 15.0, 20.0, 30.0, 45.0, 60.0, 100.0];
/// Rated currents that circuit-breakers have besides the preferred ones. (A)
const FURTHER_BREAKERS: [f64; 5] = [1.0, 2.0, 3.0, 4.0, 8.0];
/// Rated currents of fuses gG that are not proposed, but in use (BS 88-2, IEC 60269-2; from memory). (A)
const FURTHER_FUSES: [f64; 9] = [8.0, 12.0, 35.0, 224.0, 355.0, 450.0, 560.0, 710.0, 800.0];

/// The rated currents of a kind next to a current: from below and from above, equal where it is one of them. (A)
///
/// # Source
///
/// As [`next_rating`]; BS 3036 for semi-enclosed fuses.
#[must_use]
pub fn neighbouring_ratings(device: OverloadDevice, amps: f64) -> (Option<f64>, Option<f64>) {
    let (series, further): (&[f64], &[f64]) = match device {
        OverloadDevice::FuseGg => (&FUSES, &FURTHER_FUSES),
        OverloadDevice::Breaker60898 | OverloadDevice::Breaker60947 => {
            (&BREAKERS, &FURTHER_BREAKERS)
        }
        OverloadDevice::SemiEnclosed => (&SEMI_ENCLOSED, &[]),
    };
    let all = || series.iter().chain(further).copied();
    let below = all().filter(|rated| *rated <= amps).max_by(f64::total_cmp);
    let above = all().filter(|rated| *rated >= amps).min_by(f64::total_cmp);
    (below, above)
}

/// Smallest preferred rated current not below a current (A); `None` above the largest.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I` | current to be carried | A | finite |
/// | `I_n` | rated current | A | |
///
/// # Source
///
/// IEC 60898-1 and IEC 60059; fuses gG above 125 A from memory of IEC 60269-2.
///
/// # Examples
///
/// ```
/// # use electrical::{OverloadDevice, next_rating}; use units::Amperes;
/// assert_eq!(next_rating(OverloadDevice::Breaker60898, Amperes(58.0)), Some(Amperes(63.0)));
/// assert_eq!(next_rating(OverloadDevice::FuseGg, Amperes(126.0)), Some(Amperes(160.0)));
/// ```
#[must_use]
pub fn next_rating(device: OverloadDevice, current: Amperes) -> Option<Amperes> {
    let series: &[f64] = match device {
        OverloadDevice::FuseGg => &FUSES,
        OverloadDevice::Breaker60898 | OverloadDevice::Breaker60947 => &BREAKERS,
        OverloadDevice::SemiEnclosed => &SEMI_ENCLOSED,
    };
    series
        .iter()
        .copied()
        .find(|rated| *rated >= current.0)
        .map(Amperes)
}

/// Smallest ratio of rated currents at which two fuses gG in series discriminate.
///
/// # Source
///
/// IEC 60269-2, by the pre-arcing and operating I²t of fuses of 16 A and more (from memory).
pub const SELECTIVITY_RATIO_GG: f64 = 1.6;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_semi_enclosed_fuse_needs_a_larger_cable() {
        let least = least_protected_capacity(OverloadDevice::SemiEnclosed, Amperes(29.0));
        assert!(least.is_ok_and(|least| (least.0 - 29.0 / 0.725).abs() < 1e-9));
        let near = neighbouring_ratings(OverloadDevice::Breaker60898, 33.0);
        assert_eq!(near, (Some(32.0), Some(40.0)));
        let same = neighbouring_ratings(OverloadDevice::FuseGg, 35.0);
        assert_eq!(same, (Some(35.0), Some(35.0)));
    }

    #[test]
    fn above_the_series_nothing_is_proposed() {
        assert_eq!(
            next_rating(OverloadDevice::Breaker60898, Amperes(126.0)),
            None
        );
        assert_eq!(next_rating(OverloadDevice::FuseGg, Amperes(631.0)), None);
        assert_eq!(next_rating(OverloadDevice::FuseGg, Amperes(f64::NAN)), None);
    }

    #[test]
    fn no_rating_is_refused() {
        assert!(conventional_currents(OverloadDevice::FuseGg, Amperes(0.0)).is_err());
        assert!(conventional_currents(OverloadDevice::FuseGg, Amperes(f64::NAN)).is_err());
    }
}
