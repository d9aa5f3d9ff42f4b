//! The plan as text for a terminal: the answer first, then the moves with their cautions.

use std::fmt::Write;

use super::balance_csv::basis;
use super::text_table::{Side, plain, table};
use crate::balance::{BalanceResult, NodeFigures, Proof};
use crate::site::Site;
use crate::units::{format_amps, format_kwh, format_percent};

/// The usual cautions of work on an installation.
pub(crate) const CAUTIONS: &str = "\
Moving a conductor is work for a competent person: isolate, lock off, prove dead. Move the neutral
of a circuit together with its line, keep the rotation of three-phase machines, retest, and bring the
board's chart up to date. Local wiring rules and the manufacturer's data decide. A reading is a reason
to inspect, never a clearance.";

/// The whole plan.
#[must_use]
pub fn balance_text(site: &Site, result: &BalanceResult) -> String {
    let mut text = String::new();
    answer(&mut text, site, result);
    moves(&mut text, result);
    curve(&mut text, result);
    nodes(&mut text, result);
    machines(&mut text, result);
    if !result.notes.is_empty() {
        text.push_str("\nNotes\n");
        for note in &result.notes {
            line(&mut text, &format!("  - {}", plain(note)));
        }
    }
    text
}

/// Writing to a string cannot fail.
fn line(text: &mut String, line: &str) {
    let _ = writeln!(text, "{line}");
}

fn answer(text: &mut String, site: &Site, result: &BalanceResult) {
    line(
        text,
        &format!(
            "{}: {} intervals of {} s, {} to {}",
            plain(&site.name),
            result.intervals,
            result.interval_s,
            result
                .from
                .with_timezone(&site.timezone)
                .format("%Y-%m-%d %H:%M"),
            result
                .to
                .with_timezone(&site.timezone)
                .format("%Y-%m-%d %H:%M %Z"),
        ),
    );
    line(text, "");
    let after = &result.after;
    match &result.before {
        Some(before) => {
            let saved = before.neutral_rms_a - after.neutral_rms_a;
            let share = if before.neutral_rms_a > 0.0 {
                100.0 * saved / before.neutral_rms_a
            } else {
                0.0
            };
            line(
                text,
                &format!(
                    "Neutral at the supply: {} rms now, {} after {} ({} less)",
                    format_amps(before.neutral_rms_a),
                    format_amps(after.neutral_rms_a),
                    counted(result.moves.len(), "move", "moves"),
                    format_percent(share),
                ),
            );
        }
        None => line(
            text,
            &format!(
                "Neutral at the supply: {} rms with every load assigned as below",
                format_amps(after.neutral_rms_a)
            ),
        ),
    }
    let known = match (
        result.proof,
        result.lower_bound_neutral_rms_a,
        result.gap_pct,
    ) {
        (Proof::Optimal, ..) => "Proven: no other assignment leaves less in the neutral".to_owned(),
        (Proof::Gap, Some(bound), Some(gap)) => format!(
            "Best found; no assignment can be below {} ({} less)",
            format_amps(bound),
            format_percent(gap)
        ),
        _ => "Best found; that nothing better exists is not proven".to_owned(),
    };
    line(text, &known);
    let limit = site.supply.phase_limit_a;
    if let Some(before) = &result.before {
        for (index, phase) in ["L1", "L2", "L3"].into_iter().enumerate() {
            if before.phase_max_a[index] > limit {
                line(
                    text,
                    &format!(
                        "{phase} reaches {} now, above its limit of {} in {}; {} after",
                        format_amps(before.phase_max_a[index]),
                        format_amps(limit),
                        counted(before.intervals_over_limit[index], "interval", "intervals"),
                        format_amps(after.phase_max_a[index]),
                    ),
                );
            }
        }
    }
}

/// `1 move`, `3 moves`.
fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

fn moves(text: &mut String, result: &BalanceResult) {
    if result.moves.is_empty() {
        line(text, "\nNothing to move.");
        return;
    }
    line(text, "\nMoves");
    let rows: Vec<Vec<String>> = result
        .moves
        .iter()
        .map(|step| {
            let with = step.with_circuit.as_ref().map_or(String::new(), |circuit| {
                format!("with the whole circuit {circuit}")
            });
            vec![
                step.machine.clone(),
                step.from.to_string(),
                step.to.to_string(),
                with,
            ]
        })
        .collect();
    text.push_str(&table(
        &[
            ("machine", Side::Left),
            ("from", Side::Left),
            ("to", Side::Left),
            ("", Side::Left),
        ],
        &rows,
    ));
    line(text, "");
    line(text, CAUTIONS);
}

fn curve(text: &mut String, result: &BalanceResult) {
    if result.moves_curve.len() < 2 {
        return;
    }
    line(text, "\nWhat few moves already give");
    let rows: Vec<Vec<String>> = result
        .moves_curve
        .iter()
        .map(|point| {
            let proof = match point.proof {
                Proof::Optimal => "proven",
                _ => "best found",
            };
            vec![
                point.moves.to_string(),
                format!("{:.2}", point.neutral_rms_a),
                proof.to_owned(),
            ]
        })
        .collect();
    text.push_str(&table(
        &[
            ("moves", Side::Right),
            ("neutral rms (A)", Side::Right),
            ("", Side::Left),
        ],
        &rows,
    ));
}

fn nodes(text: &mut String, result: &BalanceResult) {
    line(text, "\nCurrents (A)");
    let mut rows = Vec::new();
    for node in &result.nodes {
        if let Some(before) = &node.before {
            rows.push(node_row(&node.id, "now", before));
        }
        rows.push(node_row(&node.id, "after", &node.after));
    }
    text.push_str(&table(
        &[
            ("at", Side::Left),
            ("", Side::Left),
            ("N rms", Side::Right),
            ("N p95", Side::Right),
            ("N max", Side::Right),
            ("L1 max", Side::Right),
            ("L2 max", Side::Right),
            ("L3 max", Side::Right),
            ("unbalance (%)", Side::Right),
        ],
        &rows,
    ));
}

fn node_row(id: &str, when: &str, figures: &NodeFigures) -> Vec<String> {
    let mut row = vec![id.to_owned(), when.to_owned()];
    let amps = [
        figures.neutral_rms_a,
        figures.neutral_p95_a,
        figures.neutral_max_a,
    ];
    row.extend(
        amps.into_iter()
            .chain(figures.phase_max_a)
            .map(|amps| format!("{amps:.1}")),
    );
    row.push(
        figures
            .current_unbalance_pct
            .map_or("–".to_owned(), |pct| format!("{pct:.1}")),
    );
    row
}

fn machines(text: &mut String, result: &BalanceResult) {
    if result.machines.is_empty() {
        return;
    }
    line(text, "\nMachines");
    let rows: Vec<Vec<String>> = result
        .machines
        .iter()
        .map(|machine| {
            vec![
                machine.machine.clone(),
                machine.from.to_string(),
                machine.to.to_string(),
                if machine.movable { "yes" } else { "no" }.to_owned(),
                format_kwh(machine.energy_kwh),
                format!("{:.1}", machine.current_rms_a),
                basis(machine.basis).to_owned(),
            ]
        })
        .collect();
    text.push_str(&table(
        &[
            ("machine", Side::Left),
            ("from", Side::Left),
            ("to", Side::Left),
            ("movable", Side::Left),
            ("energy", Side::Right),
            ("rms (A)", Side::Right),
            ("basis", Side::Left),
        ],
        &rows,
    ));
}
