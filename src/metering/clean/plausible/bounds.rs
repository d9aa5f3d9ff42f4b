//! What is nominal at a meter, and the bounds beyond which a reading cannot be.

use electrical::Phase;
use site::{Quantity, Site};

/// Below this share of its nominal value a voltage that still drives a current is not measured: no
/// load draws its usual current from a tenth of its voltage for a whole interval. Common practice;
/// EN 50160 calls less than 5 % an interruption.
pub(super) const LOST_VOLTAGE_SHARE: f64 = 0.10;
/// A current of this share of the phase limit flows for certain; less may be the noise of the input.
pub(super) const CERTAIN_CURRENT_SHARE: f64 = 0.01;
/// More than this many times the supply's limit is no interval mean of any load: a fuse of that
/// rating melts within a tenth of a second (IEC 60269-1, gates of gG fuses; from memory).
pub(super) const IMPOSSIBLE_MULTIPLE: f64 = 20.0;
/// More than this many times the limit for one interval alone, which the other readings of the same
/// interval deny, is a misreading; with their consent it is an overload.
pub(super) const DENIED_MULTIPLE: f64 = 3.0;
/// The other readings deny a current or power if they explain less than this share of it.
pub(super) const DENYING_SHARE: f64 = 0.5;
/// No voltage reaches twice its nominal value: with the neutral lost a phase can rise to the
/// voltage between phases, √3 times (1.73), at most.
pub(super) const IMPOSSIBLE_VOLTAGE: f64 = 2.0;
/// Public supplies keep within −6 % and +4 % at the utmost (EN 50160, from memory, for grids with a
/// synchronous connection); ±10 % leaves room. What is left is judged by
/// `diagnosis/frequency`.
pub const FREQUENCY_SHARE: f64 = 0.10;
/// A power factor up to 1.005 is 1 rounded or measured with the tolerance of a class.
pub(super) const FACTOR_TOLERANCE: f64 = 0.005;
/// Apparent power may fall short of active power by the tolerance of two inputs.
pub(super) const APPARENT_TOLERANCE: f64 = 0.02;
/// The same where apparent power is the product of mean voltage and mean current, which falls short
/// of the mean product when both vary within the interval.
pub(super) const PRODUCT_TOLERANCE: f64 = 0.05;
/// The apparent power of a phase is the product of its rms voltage and current (IEEE 1459); means over an interval and
/// the accuracy class take a few per cent off it, and a fifth is more than any of them. (1)
pub(super) const APPARENT_SHORT: f64 = 0.8;
/// Readings of at least this share of the largest current have a load. (1)
pub(super) const LOADED_SHARE: f64 = 0.05;
/// Fewer such readings may be chance.
pub(super) const FEWEST_SHORT: usize = 20;
/// A channel that has not moved for so long is looked at. \[h\]
pub(super) const FLAT_HOURS: f64 = 6.0;
/// … and for at least so many readings.
pub(super) const FLAT_READINGS: usize = 24;
/// A value of fewer steps than this is constant by its coarse resolution.
pub(super) const FLAT_STEPS: f64 = 100.0;
/// The same for a voltage, which hardly moves in quiet nights.
pub(super) const FLAT_VOLTAGE_STEPS: f64 = 400.0;
/// Current and power of a phase move together, but for voltage and power factor; a quarter is more
/// than those explain while one of the two is constant to the last digit.
pub(super) const FLAT_DENIED_SHARE: f64 = 0.25;
/// If more than this share of a channel cannot be, its scale is doubted instead of its readings.
pub(super) const DOUBT_SHARE: f64 = 0.05;
/// A phase whose power is negative in so much of the time in which it is loaded is connected the
/// wrong way round; generation ends at night.
pub(super) const REVERSED_SHARE: f64 = 0.95;
/// Power below this share of the phase limit has no certain sign.
pub(super) const CERTAIN_POWER_SHARE: f64 = 0.002;

/// What is nominal where a meter is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Nominal {
    /// Between phase and neutral. \[V\]
    pub(crate) phase_voltage_v: f64,
    /// Between phases. \[V\]
    pub(crate) line_voltage_v: f64,
    /// \[Hz\]
    pub(crate) frequency_hz: f64,
    /// Limit of the supply, which no part of the installation can exceed for long. \[A\]
    pub(crate) phase_limit_a: f64,
    /// The meter logs export: what it measures may generate.
    pub(crate) may_return: bool,
}

impl Nominal {
    pub(crate) fn of(site: &Site, may_return: bool) -> Nominal {
        Nominal {
            phase_voltage_v: site.supply.phase_voltage_v(),
            line_voltage_v: site.supply.line_voltage_v,
            frequency_hz: site.supply.frequency_hz,
            phase_limit_a: site.supply.phase_limit_a,
            may_return,
        }
    }

    /// Apparent power of one phase at its limit. \[kVA\]
    pub(crate) fn phase_limit_kva(&self) -> f64 {
        self.phase_voltage_v * self.phase_limit_a / 1000.0
    }

    /// The largest value that a reading of the quantity can have, where there is one: for powers and
    /// currents [`IMPOSSIBLE_MULTIPLE`] times the supply's limit, for energies of an interval what
    /// such a power gives in `hours`.
    pub(crate) fn impossible(&self, quantity: Quantity, hours: f64) -> Option<f64> {
        let power = IMPOSSIBLE_MULTIPLE * self.phase_limit_kva();
        let of = |place: Option<Phase>| if place.is_some() { power } else { 3.0 * power };
        match quantity {
            Quantity::Voltage(_) => Some(IMPOSSIBLE_VOLTAGE * self.phase_voltage_v),
            Quantity::LineVoltage(_) => Some(IMPOSSIBLE_VOLTAGE * self.line_voltage_v),
            Quantity::Current(_) | Quantity::NeutralCurrent => {
                Some(IMPOSSIBLE_MULTIPLE * self.phase_limit_a)
            }
            Quantity::ActivePower(place)
            | Quantity::ActivePowerImport(place)
            | Quantity::ActivePowerExport(place)
            | Quantity::ReactivePower(place)
            | Quantity::ApparentPower(place) => Some(of(place)),
            Quantity::EnergyInterval
            | Quantity::ReactiveEnergyInterval
            | Quantity::ReactiveEnergyExportInterval => Some(of(None) * hours),
            _ => None,
        }
    }
}
