//! Quantities with their units, and the one way this program writes figures, dates and times.
//!
//! In: plain numbers and local times. Out: typed quantities, and text with its digits and unit.
//! A formula in which two different quantities meet takes these types, so that watts are never added
//! to volt-amperes. The inner number is public: results carry plain numbers whose names end in the unit.

mod basis;
mod figure;
mod moment;
mod rank;
pub mod serial;

pub use basis::Basis;
pub use figure::{
    FigureKind, UNKNOWN, fixed, format_amps, format_kwh, format_limit, format_number,
    format_percent, format_signed, format_with_unit, grouped_digits, or_dash, percent_of,
    plain_figure, signed,
};
pub use moment::{
    format_date, format_days, format_duration, format_length, format_local, format_moment,
    format_period,
};
pub use rank::rank;

use std::fmt;
use std::ops::{Add, Mul, Sub};

/// A year of 365 days. (h)
pub const HOURS_OF_A_YEAR: f64 = 8760.0;

/// One quantity: adds and subtracts with itself alone, and is scaled by a plain number.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:literal, $decimals:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(pub f64);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                let decimals = f.precision().unwrap_or($decimals);
                write!(f, concat!("{} ", $unit), figure::format_number(self.0, decimals))
            }
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }
    };
}

/// Powers are declared and logged in thousands.
macro_rules! kilo {
    ($($name:ident),*) => {$(
        impl $name {
            /// From thousands of the unit.
            pub const fn from_kilo(value: f64) -> Self {
                Self(value * 1000.0)
            }

            /// In thousands of the unit.
            pub const fn kilo(self) -> f64 {
                self.0 / 1000.0
            }
        }
    )*};
}

quantity!(
    /// Electric current, root mean square (A).
    Amperes, "A", 1
);
quantity!(
    /// Voltage, root mean square (V).
    Volts, "V", 1
);
quantity!(
    /// Active power; positive when drawn (W).
    Watts, "W", 0
);
quantity!(
    /// Apparent power (VA).
    VoltAmperes, "VA", 0
);
quantity!(
    /// Reactive power; positive when the current lags (var).
    Vars, "var", 0
);
quantity!(
    /// Active energy; positive when drawn (kWh).
    KilowattHours, "kWh", 1
);
quantity!(
    /// Reactive energy; positive when the current lags (kvarh).
    KilovarHours, "kvarh", 1
);
kilo!(Watts, VoltAmperes, Vars);

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    #[test]
    fn a_quantity_shows_its_unit_and_the_digits_that_matter() {
        assert_eq!(Amperes(12.5).to_string(), "12.5 A");
        assert_eq!(Volts(239.6).to_string(), "239.6 V");
        assert_eq!(Watts(480.4).to_string(), "480 W");
        assert_eq!(format!("{:.2}", Amperes(12.5)), "12.50 A");
        assert_eq!(KilowattHours(1234.56).to_string(), "1\u{202f}234.6 kWh");
    }

    #[test]
    fn like_adds_to_like_and_scales() {
        assert_relative_eq!((Watts(1.0) + Watts(2.0) - Watts(0.5)).0, 2.5);
        assert_relative_eq!((Amperes(3.0) * 2.0).0, 6.0);
        assert_relative_eq!(VoltAmperes::from_kilo(2.5).0, 2500.0);
        assert_relative_eq!(Vars(2500.0).kilo(), 2.5);
    }
}
