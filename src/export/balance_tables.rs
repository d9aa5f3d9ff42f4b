//! The plan's tables: machines, currents at supply, boards and circuits, work order, neutral against number of moves.

use balance::{
    BalanceResult, MachineShare, Move, MovesPoint, NodeFigures, NodeResult, Objective, Proof,
    WorkMove, WorkStep,
};
use tables::{CSV, Cell, PAGES, Table, columns, exact, number, words};
use units::{FigureKind as Q, format_number};

/// One row per machine: its phase now, its phase in the plan, its current and energy.
#[must_use]
pub fn machines_table(result: &BalanceResult) -> Table {
    columns! { share in &MachineShare;
        machine: words("Machine") => &share.machine;
        from: words("From") => share.from.to_string();
        to: words("To") => share.to.to_string();
        moves: words("Moves") => share.from != share.to;
        movable: words("Can be moved") => share.movable;
        basis: words("Basis") => share.basis.name();
        energy_kwh: number("Energy", Q::ActiveEnergy) => share.energy_kwh;
        current_rms_a: number("Phase current, rms", Q::Current) => share.current_rms_a;
        current_max_a: number("Phase current, max.", Q::Current) => share.current_max_a;
    }
    .table("machines", "Machines", &result.machines)
}

/// As CSV.
///
/// # Errors
///
/// Those of the CSV writer, which writing to memory does not cause.
pub fn balance_csv(site: &str, result: &BalanceResult) -> Result<String, csv::Error> {
    machines_table(result).of_site(site).csv()
}

/// Supply, boards and circuits: currents now and after the moves.
#[must_use]
pub fn nodes_table(result: &BalanceResult) -> Table {
    let change = |node: &NodeResult, of: fn(&NodeFigures) -> f64| {
        Cell::Change(node.before.as_ref().map(of), of(&node.after))
    };
    let unbalance = |node: &NodeResult| -> Cell {
        let now = node
            .before
            .as_ref()
            .and_then(|now| now.current_unbalance_pct);
        let after = node.after.current_unbalance_pct;
        after.map_or(Cell::Unknown, |after| Cell::Change(now, after))
    };
    columns! { node in &NodeResult;
        at: words("Location") => &node.id;
        l1_max_a: number("L1, max.", Q::Current) => change(node, |figures| figures.phase_max_a[0]);
        l2_max_a: number("L2, max.", Q::Current) => change(node, |figures| figures.phase_max_a[1]);
        l3_max_a: number("L3, max.", Q::Current) => change(node, |figures| figures.phase_max_a[2]);
        phase_limit_a: exact("Phase limit", "A") => node.phase_limit_a;
        neutral_rms_a: number("Neutral, rms", Q::Current) => change(node, |figures| figures.neutral_rms_a);
        neutral_p95_a: number("Neutral, 95th percentile", Q::Current) => change(node, |figures| figures.neutral_p95_a);
        neutral_max_a: number("Neutral, max.", Q::Current) => change(node, |figures| figures.neutral_max_a);
        neutral_limit_a: exact("Neutral limit", "A") => node.neutral_limit_a;
        unbalance_pct: number("Current unbalance", Q::Percent) => unbalance(node);
        basis: words("Basis") => node.basis.name();
    }
    .table("nodes", "Currents at the supply, boards and circuits: now → after the moves", &result.nodes)
}

/// Neutral current against number of moves; without rows where there is one point only.
#[must_use]
pub fn curve_table(result: &BalanceResult) -> Table {
    let plan = result.recommended_moves;
    let points = result.moves_curve.iter();
    let is_loss = result.objective == Objective::NeutralLoss;
    columns! { point in &MovesPoint;
        moves: exact("Moves", "") => point.moves;
        neutral_rms_a: number("Neutral, rms", Q::CurrentStep) => point.neutral_rms_a;
        loss_kwh_per_year: number("Feeder losses per year", Q::ActiveEnergy).optional()
            => point.loss_kwh_per_year.filter(|_| is_loss);
        peak_a: number("Highest demand period", Q::CurrentStep).optional() => point.peak_a;
        status: words("Status") => status(point, plan);
    }
    .table(
        "few-moves",
        "Neutral current v. number of moves",
        points.filter(|_| result.moves_curve.len() > 1),
    )
}

fn status(point: &MovesPoint, plan: usize) -> String {
    let proof = match (point.proof, point.lower_bound_neutral_rms_a) {
        _ if !point.within_limits => "over a limit".to_owned(),
        (Proof::Optimal, _) => "proven lowest".to_owned(),
        (_, Some(bound)) => format!(
            "best found; none can be below {} A",
            format_number(bound, 2)
        ),
        (_, None) => "best found".to_owned(),
    };
    if plan == point.moves {
        format!("{proof}; this plan")
    } else {
        proof
    }
}

/// A step, one of its moves, and that move in the plan.
type WorkRow<'b> = (&'b WorkStep, &'b WorkMove, Option<&'b Move>);

/// One row per move, in the order of work. The moves of one step are made in one shutdown.
#[must_use]
pub fn work_order_table(result: &BalanceResult) -> Table {
    let planned = |work: &WorkMove| {
        let mut moves = result.moves.iter();
        moves.find(|planned| work.machines.contains(&planned.machine))
    };
    let rows = result.work_order.steps.iter().flat_map(|step| {
        let moves = step.moves.iter();
        moves.map(move |work| (step, work, planned(work)))
    });
    columns! { (step, work, planned) in WorkRow<'_>;
        step: exact("Step", "") => step.number;
        machines: words("Machines") => work.machines.join("; ");
        circuit: words("Circuit to move").optional() => work.circuit.as_deref().unwrap_or_default();
        at: words("Fed from") => &work.at;
        board: words("Board") => &work.board;
        from: words("From") => work.from.to_string();
        from_marks: words("From conductor").optional() => work.from_marks.as_deref().unwrap_or_default();
        to: words("To") => work.to.to_string();
        to_marks: words("To conductor").optional() => work.to_marks.as_deref().unwrap_or_default();
        boards_off: words("Boards off").optional() => step.boards_off.join("; ");
        current_max_a: number("Current, max.", Q::Current) => work.current_max_a;
        gain_alone_a: number("Reduction alone", Q::CurrentStep).only(PAGES) => planned.and_then(|planned| planned.gain_alone_a);
        loss_without_a: number("More if omitted", Q::CurrentStep).only(PAGES)
            => planned.and_then(|planned| planned.loss_without_a);
        helps_pct: number("Likely to help", Q::Percent).optional() => planned.and_then(|planned| planned.helps_pct);
        neutral_rms_after_a: number("Neutral after", Q::CurrentStep) => step.neutral_rms_after_a;
        test: words("Test").only(CSV) => &work.test;
        cautions: words("Cautions").only(CSV) => work.cautions.join("; ");
    }
    .table("work-order", "Moves, in the order of work", rows)
    .with_method(
        "reduction alone: reduction of the neutral rms if this is the only move; more if omitted: increase of the neutral rms \
         if all moves but this one are made; neutral after: neutral rms once this step is done",
    )
}

/// The work order as CSV.
///
/// # Errors
///
/// Those of the CSV writer, which writing to memory does not cause.
pub fn work_order_csv(site: &str, result: &BalanceResult) -> Result<String, csv::Error> {
    work_order_table(result).of_site(site).csv()
}
