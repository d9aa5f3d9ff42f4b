//! The table `moves`: those of the recommended plan.

use super::Analysed;
use balance::Move;
use tables::{Table, columns, exact, number, words};
use units::FigureKind as Q;

/// A row for each machine that changes its phase.
pub(super) fn moves(found: &Analysed<'_>) -> Table {
    let all = found.plan.into_iter().flat_map(|plan| &plan.moves);
    columns! { m in &Move;
        machine: words("Machine") => &m.machine;
        from: words("From") => m.from.to_string();
        to: words("To") => m.to.to_string();
        step: exact("Step", "") => m.step;
        with_circuit: words("With its circuit") => m.with_circuit.clone();
        gain_alone_a: number("Saving alone", Q::CurrentStep) => m.gain_alone_a;
        loss_without_a: number("Lost if omitted", Q::CurrentStep) => m.loss_without_a;
    }
    .table("moves", "Moves of the recommended plans", all)
}
