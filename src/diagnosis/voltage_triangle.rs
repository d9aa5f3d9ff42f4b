//! The triangle of the line voltages, with the star point where the phase voltages meet.

use num_complex::Complex64;

use electrical::Phase;

/// The voltages of one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VoltageTrace {
    /// Start of the interval, Unix seconds.
    pub at_s: i64,
    /// Ends of L1, L2, L3, from the middle of the triangle; L1 points up. (V)
    pub corners: [Complex64; 3],
    /// The star point, where the phase voltages are known. (V)
    pub star: Option<Complex64>,
}

impl VoltageTrace {
    /// From the voltages to neutral, when the line voltages are taken as equal; `None` where no triangle fits.
    ///
    /// The star point n has the distances V_k from the corners R·u_k: |n|² = ΣV²/3 − R² and
    /// Re(n·u_k*) = (R² + |n|² − V_k²)/(2R), so that n = 2/3·Σ Re(n·u_k*)·u_k.
    pub(super) fn of_phases(at_s: i64, phases: [f64; 3]) -> Option<VoltageTrace> {
        let displacement = super::displacement_voltage(phases)?;
        let squares = phases.map(|volts| volts * volts);
        let moved = displacement * displacement;
        let radius = (squares.iter().sum::<f64>() / 3.0 - moved).max(0.0).sqrt();
        (radius > 0.0).then(|| {
            let star = Phase::ALL
                .iter()
                .map(|phase| {
                    let along = (radius * radius + moved - squares[phase.index()]) / (2.0 * radius);
                    phase.direction() * along
                })
                .sum::<Complex64>()
                * (2.0 / 3.0);
            VoltageTrace {
                at_s,
                corners: Phase::ALL.map(|phase| phase.direction() * radius),
                star: Some(star),
            }
        })
    }

    /// From the voltages between the lines L1–L2, L2–L3, L3–L1; `None` where they close no triangle.
    pub(super) fn of_lines(at_s: i64, [l12, l23, l31]: [f64; 3]) -> Option<VoltageTrace> {
        // L1 and L2 on an axis, L3 where both distances meet, on the side of the sequence L1, L2, L3.
        let along = (l31 * l31 - l23 * l23 + l12 * l12) / (2.0 * l12);
        let across = l31 * l31 - along * along;
        if l12 <= 0.0 || across <= 0.0 {
            return None;
        }
        let points = [
            Complex64::ZERO,
            Complex64::new(l12, 0.0),
            Complex64::new(along, -across.sqrt()),
        ];
        let middle = points.iter().sum::<Complex64>() / 3.0;
        let turn = points[0] - middle;
        let turn = turn.conj() / turn.norm();
        Some(VoltageTrace {
            at_s,
            corners: points.map(|point| (point - middle) * turn),
            star: None,
        })
    }

    /// From the voltages between the lines and those to neutral; `None` where the lines close no triangle.
    ///
    /// The star point n has the distances V_k from the corners c_k, whose sum is zero, so that
    /// Re(n·c_k*) = (|c_k|² − V_k² − mean(|c|²) + mean(V²))/2: three equations for two unknowns, by least squares.
    pub(super) fn of_all(at_s: i64, lines: [f64; 3], phases: [f64; 3]) -> Option<VoltageTrace> {
        let triangle = VoltageTrace::of_lines(at_s, lines)?;
        let corners = triangle.corners;
        let beyond = [0, 1, 2].map(|k| corners[k].norm_sqr() - phases[k] * phases[k]);
        let mean = beyond.iter().sum::<f64>() / 3.0;
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        let mut right = Complex64::ZERO;
        for (corner, beyond) in corners.iter().zip(beyond) {
            xx += corner.re * corner.re;
            xy += corner.re * corner.im;
            yy += corner.im * corner.im;
            right += corner * (0.5 * (beyond - mean));
        }
        let area = xx * yy - xy * xy;
        (area > 0.0).then(|| VoltageTrace {
            star: Some(Complex64::new(
                (yy * right.re - xy * right.im) / area,
                (xx * right.im - xy * right.re) / area,
            )),
            ..triangle
        })
    }

    /// Voltages from the star point to L1, L2, L3. (V)
    pub fn phase_voltages(&self) -> Option<[f64; 3]> {
        let star = self.star?;
        Some(self.corners.map(|corner| (corner - star).norm()))
    }

    /// Voltages L1–L2, L2–L3, L3–L1. (V)
    pub fn line_voltages(&self) -> [f64; 3] {
        [0, 1, 2].map(|k| (self.corners[k] - self.corners[(k + 1) % 3]).norm())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Conductances 1:2:3 at 230 V without a neutral: Millman's star point is at Σ E·Y/ΣY = (E1 + 2·E2 + 3·E3)/6.
    #[test]
    fn the_star_point_is_where_millman_puts_it() {
        let ends = Phase::ALL.map(|phase| phase.direction() * 230.0);
        let star = (ends[0] + ends[1] * 2.0 + ends[2] * 3.0) / 6.0;
        let volts = ends.map(|end| (end - star).norm());
        let trace = VoltageTrace::of_phases(0, volts).expect("a triangle");
        assert!((trace.star.expect("a star point") - star).norm() < 0.01);
        for (found, told) in trace.phase_voltages().expect("known").iter().zip(volts) {
            assert!((found - told).abs() < 0.01);
        }
        assert!((trace.line_voltages()[0] - 230.0 * 3.0_f64.sqrt()).abs() < 0.01);
    }

    /// The same star point in a triangle that is not equal-sided.
    #[test]
    fn all_six_voltages_give_the_star_point() {
        let lines = [410.0, 400.0, 390.0];
        let corners = VoltageTrace::of_lines(0, lines)
            .expect("a triangle")
            .corners;
        let star = Complex64::new(31.0, -47.0);
        let volts = corners.map(|corner| (corner - star).norm());
        let trace = VoltageTrace::of_all(0, lines, volts).expect("a triangle");
        assert!((trace.star.expect("a star point") - star).norm() < 1e-6);
    }

    #[test]
    fn three_line_voltages_close_a_triangle_with_l1_up_and_l2_to_the_right() {
        let trace = VoltageTrace::of_lines(0, [410.0, 400.0, 390.0]).expect("a triangle");
        for (found, told) in trace.line_voltages().iter().zip([410.0, 400.0, 390.0]) {
            assert!((found - told).abs() < 1e-9);
        }
        assert!(trace.corners[0].re > 0.0 && trace.corners[0].im.abs() < 1e-9);
        // As the directions of the phases: L2 at −120°, L3 at +120°.
        assert!(
            trace.corners[1].im < 0.0 && trace.corners[2].im > 0.0,
            "{trace:?}"
        );
        assert!(VoltageTrace::of_lines(0, [410.0, 100.0, 200.0]).is_none());
    }
}
