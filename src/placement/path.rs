//! The cables from the supply to a machine.

use num_complex::Complex64;

use super::connection_point::ConnectionPoint;
use electrical::{Material, Run, VoltageDropError, run_impedance};
use site::{Conductor, Node};

/// The cables from the supply to the machine.
#[derive(Debug, Default)]
pub(super) struct CablePath {
    pub(super) runs: Vec<PathRun>,
    pub(super) length_m: f64,
    pub(super) missing: Vec<String>,
}

#[derive(Debug)]
pub(super) struct PathRun {
    /// The node whose current flows here; `None` for the machine's own cable.
    pub(super) node: Option<Node>,
    pub(super) z: Complex64,
    pub(super) z_neutral: Complex64,
}

impl CablePath {
    pub(super) fn add(
        &mut self,
        node: Option<Node>,
        length_m: f64,
        (phase_mm2, neutral_mm2): (f64, f64),
        conductor: Conductor,
    ) -> Result<(), VoltageDropError> {
        let material = match conductor {
            Conductor::Copper => Material::Copper,
            Conductor::Aluminium => Material::Aluminium,
        };
        let z = |section_mm2| {
            run_impedance(Run {
                material,
                length_m,
                section_mm2,
            })
        };
        self.runs.push(PathRun {
            node,
            z: z(phase_mm2)?,
            z_neutral: z(neutral_mm2)?,
        });
        self.length_m += length_m;
        Ok(())
    }

    /// The basis of the currents along the path, each once.
    pub(super) fn basis(&self, spot: &ConnectionPoint<'_>) -> String {
        let mut words: Vec<String> = Vec::new();
        for run in &self.runs {
            let one = run
                .node
                .map_or("own cable: rating only".to_owned(), |node| {
                    let site = spot.site();
                    format!(
                        "{}: {}",
                        site.node_name(node),
                        spot.network.at(node).basis.words()
                    )
                });
            words.push(one);
        }
        words.join("; ")
    }
}
