//! Numbers that are no numbers stop at the door of every formula.

use num_complex::Complex64;

/// An input that is NaN or infinite.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{quantity} must be a finite number, found {value}")]
pub struct NotFinite {
    /// What the input is, with its unit where it has one.
    pub quantity: &'static str,
    /// The value found.
    pub value: f64,
}

pub(super) fn finite(quantity: &'static str, value: f64) -> Result<f64, NotFinite> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(NotFinite { quantity, value })
    }
}

pub(super) fn finite_phasors(
    quantity: &'static str,
    phasors: &[Complex64],
) -> Result<(), NotFinite> {
    for phasor in phasors {
        finite(quantity, phasor.re)?;
        finite(quantity, phasor.im)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn either_part_of_a_phasor_may_be_at_fault() {
        assert!(finite_phasors("current", &[Complex64::new(1.0, -2.0)]).is_ok());
        for part in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(finite_phasors("current", &[Complex64::new(part, 0.0)]).is_err());
            assert!(finite_phasors("current", &[Complex64::new(0.0, part)]).is_err());
        }
    }

    #[test]
    fn the_message_names_quantity_and_value() {
        let error = finite("active power [W]", f64::INFINITY).map_err(|error| error.to_string());
        assert_eq!(
            error,
            Err("active power [W] must be a finite number, found inf".to_owned())
        );
    }
}
