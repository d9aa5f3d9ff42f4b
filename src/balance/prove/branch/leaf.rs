//! A branch that is closed, with the multipliers that close it.

use serde::Serialize;

use crate::prove::bound::{Relaxation, Scalar};

/// A closed branch.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Leaf {
    /// Turn of each unit; `None` where undecided.
    turns: Vec<Option<usize>>,
    /// D of the undecided units, in their order. [A²]
    diagonal: Vec<f64>,
    cuts: Vec<LeafCut>,
}

/// λ (|c + Σ b* a|² − r) ≥ 0.
#[derive(Clone, Debug, Serialize)]
struct LeafCut {
    /// Unit, and place of b among ζ⁰, ζ¹, ζ², −ζ⁰, −ζ¹, −ζ² with ζ = 1∠−120°.
    terms: Vec<[usize; 2]>,
    /// c = p + qζ.
    sum: [i8; 2],
    multiplier: f64,
}

impl Leaf {
    pub(crate) fn new<S: Scalar>(node: &Relaxation<S>) -> Self {
        let mut turns: Vec<Option<usize>> = node.turns.iter().copied().map(Some).collect();
        for &unit in &node.free {
            turns[unit] = None;
        }
        let cuts = node.cuts.iter().filter(|cut| cut.multiplier > 0.0);
        Self {
            turns,
            diagonal: node.free.iter().map(|&unit| node.diagonal(unit)).collect(),
            cuts: cuts
                .map(|cut| LeafCut {
                    terms: cut
                        .terms()
                        .iter()
                        .map(|term| [usize::from(term.unit), usize::from(term.weight)])
                        .collect(),
                    sum: cut.sum.parts(),
                    multiplier: cut.multiplier,
                })
                .collect(),
        }
    }
}
