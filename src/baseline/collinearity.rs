//! Can what each term takes be separated from what the others take?

use super::refusal::Refusal;
use super::term::Term;
use statistics::LeastSquares;

/// Share of a term's variance that must be its own (variance inflation of 100; common practice).
const OWN_SHARE: f64 = 0.01;
/// Below this own share a coefficient is reported to be uncertain (variance inflation of 10; common practice).
const DOUBTFUL_SHARE: f64 = 0.1;

/// Refuses a variable that is constant or that the other terms explain; reports which are nearly so.
pub(super) fn judge(terms: &[Term], columns: &[Vec<f64>]) -> Result<Vec<String>, Refusal> {
    let mut doubts = Vec::new();
    let (variables, kinds): (Vec<usize>, Vec<usize>) =
        (1..terms.len()).partition(|&term| terms[term].is_variable());
    for &term in &variables {
        let (low, high) = range(&columns[term]);
        if high - low <= 1e-9 * high.abs().max(low.abs()) {
            return Err(Refusal::DoesNotVary {
                variable: terms[term].name(),
            });
        }
    }
    for term in variables.into_iter().chain(kinds) {
        let Some((own, with)) = own_share(terms, columns, term) else {
            continue;
        };
        if own < OWN_SHARE {
            return Err(Refusal::Collinear {
                term: terms[term].name(),
                with,
                explained_pct: 100.0 * (1.0 - own),
            });
        }
        if own < DOUBTFUL_SHARE && terms[term].is_variable() {
            doubts.push(format!(
                "in the baseline, {:.0} % of `{}` follows from {with}: their coefficients are uncertain",
                terms[term].name(),
                100.0 * (1.0 - own)
            ));
        }
    }
    Ok(doubts)
}

/// Share of a term's variance that the others do not explain, and which of them explain the rest.
fn own_share(terms: &[Term], columns: &[Vec<f64>], term: usize) -> Option<(f64, String)> {
    let others: Vec<usize> = (0..terms.len()).filter(|other| *other != term).collect();
    let explaining: Vec<Vec<f64>> = others.iter().map(|&other| columns[other].clone()).collect();
    let fit = LeastSquares::fit(&explaining, &columns[term])?;
    let spread = |column: &[f64]| {
        let mean = column.iter().sum::<f64>() / column.len() as f64;
        column.iter().map(|x| (x - mean).powi(2)).sum::<f64>()
    };
    let all = spread(&columns[term]);
    let with: Vec<String> = others
        .iter()
        .zip(fit.coefficients())
        .filter(|&(&other, coefficient)| {
            let part = coefficient.unwrap_or(0.0).abs() * spread(&columns[other]).sqrt();
            part >= 0.1 * all.sqrt()
        })
        .map(|(&other, _)| format!("`{}`", terms[other].name()))
        .collect();
    (all > 0.0).then(|| (fit.residual_sum_of_squares() / all, with.join(" and ")))
}

/// Smallest and largest value.
pub(super) fn range(column: &[f64]) -> (f64, f64) {
    column
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &value| {
            (low.min(value), high.max(value))
        })
}
