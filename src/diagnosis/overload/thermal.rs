//! First-order heating of a conductor or protective device by its current.

/// Heating as a share of what the reference current would reach in the end (1).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I` | current, constant over the interval | A | 0 or above |
/// | `I_ref` | current that is carried for ever and just not more | A | above 0 |
/// | `τ` | thermal time constant | s | above 0 |
/// | `H` | heating, 1 when `I_ref` has flowed for ever | 1 | |
///
/// # Formula
///
/// ```text
/// H(t + Δt) = (I/I_ref)² + (H(t) − (I/I_ref)²) · exp(−Δt/τ)
/// ```
///
/// # Source
///
/// IEC 60255-149, thermal model of the first order.
///
/// # Examples
///
/// From cold, 1.6 I_n against a reference of 1.25 I_n reaches 1 after τ·ln(1.6²/(1.6² − 1.25²)):
///
/// ```
/// use diagnosis::overload::{heating_after, time_constant_of_conventional_currents};
/// let tau = time_constant_of_conventional_currents(1.25, 1.6, 3600.0);
/// let heating = heating_after(0.0, 1.6, 1.25, 3600.0, tau);
/// assert!((heating - 1.0).abs() < 1e-12);
/// ```
pub fn heating_after(
    heating: f64,
    current: f64,
    reference: f64,
    seconds: f64,
    time_constant_s: f64,
) -> f64 {
    let end = (current / reference).powi(2);
    end + (heating - end) * (-seconds / time_constant_s).exp()
}

/// Time constant with which a device just operates, from cold, at its conventional fusing (tripping) current
/// after its conventional time, when the conventional non-fusing (non-tripping) current is the reference (s).
///
/// It is the slowest heating that the standard allows; a real device may operate sooner.
///
/// # Source
///
/// Solved from the first-order model for the currents of IEC 60269-1 (fuses) and IEC 60898-1 (circuit-breakers).
pub fn time_constant_of_conventional_currents(
    non_operating: f64,
    operating: f64,
    conventional_time_s: f64,
) -> f64 {
    let squares = (operating.powi(2), non_operating.powi(2));
    conventional_time_s / (squares.0 / (squares.0 - squares.1)).ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heating_never_passes_what_the_current_gives_in_the_end() {
        let mut heating = 0.0;
        for _ in 0..1000 {
            heating = heating_after(heating, 80.0, 100.0, 60.0, 1200.0);
        }
        assert!((heating - 0.64).abs() < 1e-9);
    }
}
