//! The proof of optimality written out, for a program that shares nothing with this one to check.
//!
//! Limits are left out of it: the proof is that of all allocations, within limits or not. Where
//! the limits keep the best of those out of reach there is no such certificate.

use serde::Serialize;

use crate::form::model::Model;
use crate::pose::fix::{Fix, hold};
use crate::pose::from_site::pose;
use crate::pose::hold_back::hold_back;
use crate::problem::error::BalanceError;
use crate::problem::problem::{Problem, ProblemError, ProblemNode};
use crate::problem::settings::Settings;
use crate::prove::branch::{Leaf, prove_with_leaves};
use crate::prove::symmetry::Symmetry;
use crate::search::incumbent::Incumbent;
use crate::solve::solve;
use metering::Logs;
use site::Site;

/// A checkable proof that no allocation has a lower neutral current.
#[derive(Clone, Debug, Serialize)]
pub struct Certificate {
    kind: &'static str,
    limits: &'static str,
    tolerance: f64,
    units: Vec<CertifiedUnit>,
    /// Least mean square. [A²]
    mean_square_a2: f64,
    symmetry: Symmetry,
    form: CertifiedForm,
    leaves: Vec<Leaf>,
}

/// A unit with a choice.
#[derive(Clone, Debug, Serialize)]
struct CertifiedUnit {
    machines: Vec<String>,
    turn: usize,
    /// The turns that it may take.
    choices: Vec<usize>,
}

/// J = constant + 2 Re Σ a* l + Σ Σ a* Q a over the units above; entries are [real, imaginary].
#[derive(Clone, Debug, Serialize)]
struct CertifiedForm {
    constant: f64,
    linear: Vec<[f64; 2]>,
    entries: Vec<Vec<[f64; 2]>>,
}

/// The certificate of a site's best allocation.
///
/// # Errors
///
/// [`BalanceError`] where there is no problem, or no proof that can be written out.
pub fn certificate(
    site: &Site,
    logs: &Logs,
    settings: &Settings,
    fixes: &[Fix],
) -> Result<Certificate, BalanceError> {
    let mut posed = pose(site, logs)?;
    hold_back(site, &mut posed, &settings.held_back);
    let held = hold(site, &posed, fixes).map_err(BalanceError::Fix)?;
    let mut settings = settings.clone();
    settings.fixed.extend(held.units);
    settings.curve_moves = 0;
    settings.enough_pct = None;
    let nodes = posed.watch_circuits();
    let solution = solve(&posed.problem, &settings);
    posed.problem.keep_nodes(nodes);
    let no = |why: &str| Err(BalanceError::NoCertificate(why.to_owned()));
    if !solution.feasible {
        return no(if settings.held_back.is_empty() {
            "no allocation keeps within the limits"
        } else {
            "no allocation keeps within the limits before the repair; `--ignore` writes that of the plan after it"
        });
    }
    let problem = without_limits(&posed.problem)?;
    settings.max_moves = None;
    let model = Model::new(&problem, &settings);
    let start = Incumbent::new(&model, solution.choices);
    if start.evaluation.mean_square <= 1e-9 * model.scale {
        return no("the neutral current is already zero");
    }
    let proven = prove_with_leaves(&model, &start, &settings);
    if !proven.shown.is_complete {
        return no("the proof was not finished within the limit of time or work");
    }
    let best = proven.shown.best;
    if best.turns != start.turns {
        return no(
            "the limits, or the number of moves allowed, exclude the allocation with the lowest neutral current",
        );
    }
    let free = model.free();
    let form = model.quadratic.restrict(&free, &best.turns);
    let pair = |value: &num_complex::Complex64| [value.re, value.im];
    Ok(Certificate {
        kind: "branch-and-bound",
        limits: "not used: no allocation has a lower neutral current, within limits or not",
        tolerance: 1e-9,
        mean_square_a2: best.evaluation.mean_square,
        units: free
            .iter()
            .map(|&unit| CertifiedUnit {
                machines: posed.members[unit]
                    .iter()
                    .map(|&machine| site.machines[machine].name.clone())
                    .collect(),
                turn: best.turns[unit],
                choices: model.choices[unit].clone(),
            })
            .collect(),
        symmetry: proven.symmetry,
        form: CertifiedForm {
            constant: form.constant,
            linear: form.linear.iter().map(pair).collect(),
            entries: (0..free.len())
                .map(|i| form.row(i).iter().map(pair).collect())
                .collect(),
        },
        leaves: proven.leaves,
    })
}

fn without_limits(problem: &Problem) -> Result<Problem, ProblemError> {
    let supply = ProblemNode {
        phase_limit_a: None,
        neutral_limit_a: None,
        ..problem.supply().clone()
    };
    let units = problem.units().to_vec();
    Problem::new(problem.intervals(), units, supply, Vec::new(), Vec::new())
}
