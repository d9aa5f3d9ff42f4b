//! Source, lines, neutral and loads, solved.

use num_complex::Complex64;

/// Impedances between source and meter in one row. (Ω)
#[derive(Clone, Copy, Debug)]
pub struct Wires {
    /// Of the lines.
    pub line: [Complex64; 3],
    /// Of the neutral.
    pub neutral: Complex64,
    /// Of the way back through earth, beside the neutral; infinite where there is none.
    pub earth: f64,
    /// Motors that feed a phase from the two others while its fuse is blown.
    pub back_feed: Option<BackFeed>,
}

/// Running three-phase motors as a source on a phase.
#[derive(Clone, Copy, Debug)]
pub struct BackFeed {
    /// The phase, from 0.
    pub phase: usize,
    /// What they induce in it, to neutral. (V)
    pub volts: Complex64,
    /// With which admittance. (S)
    pub admittance: Complex64,
}

/// What the solved circuit has at the meter.
#[derive(Clone, Copy, Debug)]
pub struct Circuit {
    /// Voltages of the phases to neutral. (V)
    pub volts: [Complex64; 3],
    /// Currents of the phases. (A)
    pub amps: [Complex64; 3],
    /// Current of the neutral conductor. (A)
    pub neutral: Complex64,
}

impl Circuit {
    /// Solves for the voltages of the three phases and the neutral at the meter.
    ///
    /// # Panics
    ///
    /// Where the network has no solution.
    #[must_use]
    pub fn solve(
        source: [Complex64; 3],
        wires: &Wires,
        single: [Complex64; 3],
        three: Complex64,
    ) -> Circuit {
        let line = wires.line.map(|ohm| 1.0 / ohm);
        let back = 1.0 / wires.neutral + 1.0 / wires.earth;
        // Unknown: v1, v2, v3, vn. The star point of the three-phase loads is the mean of the phases.
        let mut matrix = [[Complex64::ZERO; 5]; 4];
        for k in 0..3 {
            matrix[k][k] += line[k] + single[k] + three;
            for value in &mut matrix[k][..3] {
                *value -= three / 3.0;
            }
            matrix[k][3] -= single[k];
            matrix[k][4] = source[k] * line[k];
            matrix[3][k] -= single[k];
            matrix[3][3] += single[k];
        }
        matrix[3][3] += back;
        if let Some(fed) = wires.back_feed {
            // What leaves on the phase enters by halves on the others.
            for (k, row) in matrix[..3].iter_mut().enumerate() {
                let part = if k == fed.phase { 1.0 } else { -0.5 };
                row[fed.phase] += part * fed.admittance;
                row[4] += part * fed.admittance * fed.volts;
            }
        }
        let voltages = eliminate(matrix);
        let to_neutral = [0, 1, 2].map(|k| voltages[k] - voltages[3]);
        Circuit {
            volts: to_neutral,
            amps: [0, 1, 2].map(|k| (source[k] - voltages[k]) * line[k]),
            neutral: voltages[3] / wires.neutral,
        }
    }
}

fn eliminate(mut matrix: [[Complex64; 5]; 4]) -> [Complex64; 4] {
    for column in 0..4 {
        let pivot = (column..4)
            .max_by(|&a, &b| {
                matrix[a][column]
                    .norm()
                    .total_cmp(&matrix[b][column].norm())
            })
            .expect("rows are left");
        matrix.swap(column, pivot);
        let head = matrix[column];
        for (row, line) in matrix.iter_mut().enumerate() {
            if row != column {
                let factor = line[column] / head[column];
                for (value, above) in line.iter_mut().zip(head) {
                    *value -= factor * above;
                }
            }
        }
    }
    [0, 1, 2, 3].map(|row| matrix[row][4] / matrix[row][row])
}
