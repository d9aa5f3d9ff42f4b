//! The formulas by which one quantity follows from others, interval by interval.
//!
//! `P` active, `Q` reactive (lagging positive), `S` apparent power, `λ` power factor; for sinusoidal
//! quantities S² = P² + Q² and λ = P/S (IEC 60050-131, circuit theory). With harmonics
//! the second holds by definition and the first gives the non-active power instead of Q.

/// Which way a reactive power goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sense {
    Lagging,
    Leading,
}

impl Sense {
    const fn sign(self) -> f64 {
        match self {
            Sense::Lagging => 1.0,
            Sense::Leading => -1.0,
        }
    }
}

/// S = U·I. \[kVA\]
pub(super) fn apparent_from_current(volts: f64, amps: f64) -> f64 {
    volts * amps / 1000.0
}

/// P = S·|λ|, returned where the factor is negative and what is measured may return. \[kW\]
pub(super) fn active_from_factor(kva: f64, factor: f64, may_return: bool) -> f64 {
    if may_return {
        kva * factor
    } else {
        kva * factor.abs()
    }
}

/// |P| = √(S² − Q²). \[kW\]
pub(super) fn active_from_reactive(kva: f64, kvar: f64) -> f64 {
    (kva * kva - kvar * kvar).max(0.0).sqrt()
}

/// |Q| = √(S² − P²), 0 where rounding makes S smaller than P. \[kvar\]
pub(super) fn reactive_from_apparent(kw: f64, kva: f64, sense: Sense) -> f64 {
    sense.sign() * (kva * kva - kw * kw).max(0.0).sqrt()
}

/// |Q| = |P|·√(1 − λ²)/|λ|; `None` where a factor of zero leaves it open. \[kvar\]
pub(super) fn reactive_from_factor(kw: f64, factor: f64, sense: Sense) -> Option<f64> {
    let share = factor.abs().min(1.0);
    if kw == 0.0 {
        return Some(0.0);
    }
    (share > 0.0).then(|| sense.sign() * kw.abs() * (1.0 - share * share).sqrt() / share)
}

/// λ = P/S; `None` where nothing flows.
pub(super) fn factor_of(kw: f64, kva: f64) -> Option<f64> {
    (kva > 0.0).then(|| (kw / kva).clamp(-1.0, 1.0))
}

/// I = S/U; `None` without voltage. \[A\]
pub(super) fn current_of(kva: f64, volts: f64) -> Option<f64> {
    (volts > 0.0).then(|| kva * 1000.0 / volts)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The triangle 3, 4, 5: P = 3 kW, Q = 4 kvar, S = 5 kVA, λ = 0.6.
    #[test]
    fn the_triangle_of_powers_from_each_pair_of_its_sides() {
        let close =
            |found: f64, expected: f64| assert!((found - expected).abs() < 1e-12, "{found}");
        close(apparent_from_current(250.0, 20.0), 5.0);
        close(active_from_factor(5.0, 0.6, false), 3.0);
        close(active_from_factor(5.0, -0.6, false), 3.0);
        close(active_from_factor(5.0, -0.6, true), -3.0);
        close(active_from_reactive(5.0, -4.0), 3.0);
        close(reactive_from_apparent(3.0, 5.0, Sense::Lagging), 4.0);
        close(reactive_from_apparent(3.0, 5.0, Sense::Leading), -4.0);
        close(reactive_from_apparent(3.0, 2.99, Sense::Lagging), 0.0);
        close(
            reactive_from_factor(-3.0, -0.6, Sense::Lagging).unwrap_or(0.0),
            4.0,
        );
        close(factor_of(3.0, 5.0).unwrap_or(0.0), 0.6);
        close(current_of(5.0, 250.0).unwrap_or(0.0), 20.0);
    }

    #[test]
    fn what_the_formulas_leave_open_is_unknown() {
        assert_eq!(factor_of(0.0, 0.0), None);
        assert_eq!(current_of(1.0, 0.0), None);
        assert_eq!(reactive_from_factor(1.0, 0.0, Sense::Lagging), None);
        assert_eq!(reactive_from_factor(0.0, 0.0, Sense::Lagging), Some(0.0));
    }
}
