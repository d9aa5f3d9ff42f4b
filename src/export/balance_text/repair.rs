//! What is repaired before anything is moved, and what is moved after that.

use crate::wording::{counted, line};
use balance::{AfterRepair, BalanceResult, HeldBack, LaterMove, Proof};
use electrical::Phase;
use tables::plain;
use units::format_amps;

/// What is to be repaired first and what waits for it, one sentence for each conductor.
#[must_use]
pub fn repair_sentences(held_back: &[HeldBack]) -> Vec<String> {
    let sentence = |held: &HeldBack| {
        let waits = match held.phase {
            Some(phase) => format!("nothing is moved onto {phase} there"),
            None => "nothing that is fed from there is moved".to_owned(),
        };
        format!(
            "Danger, repair first: {} at {}. Until then {waits}.",
            held.because.title().to_lowercase(),
            held.place(),
        )
    };
    held_back.iter().map(sentence).collect()
}

/// What the second step brings, in a sentence.
#[must_use]
pub fn after_repair_sentence(after: &AfterRepair) -> String {
    let best = format_amps(after.best_neutral_rms_a);
    let is_best = best == format_amps(after.after.neutral_rms_a);
    let proven = match (after.proof, is_best) {
        (Proof::Optimal, true) => ", proven to be the lowest".to_owned(),
        (Proof::Optimal, false) => format!(" ({best} with all moves, proven to be the lowest)"),
        (_, true) => String::new(),
        (_, false) => format!(" ({best} with all moves)"),
    };
    let phases: Vec<String> = Phase::ALL
        .map(|phase| {
            format!(
                "{phase} {}",
                format_amps(after.after.phase_max_a[phase.index()])
            )
        })
        .to_vec();
    let limits = if after.within_limits {
        "every limit is kept"
    } else {
        "a limit is still exceeded"
    };
    format!(
        "After the repair: {}, then the neutral carries {} rms{proven}, the phases at most {}; {limits}.",
        counted(after.moves.len(), "more move", "more moves"),
        format_amps(after.after.neutral_rms_a),
        phases.join(", "),
    )
}

/// The moves of the second step, one in each.
#[must_use]
pub fn later_moves(after: &AfterRepair) -> Vec<String> {
    let words = |planned: &LaterMove| {
        format!(
            "{} from {} to {}",
            planned.machine, planned.from, planned.to
        )
    };
    after.moves.iter().map(words).collect()
}

pub(super) fn before_the_moves(text: &mut String, result: &BalanceResult) {
    for (sentence, held) in repair_sentences(&result.held_back)
        .iter()
        .zip(&result.held_back)
    {
        let name = held.because.name();
        let commands = format!(
            "`tapoff diagnose` has the evidence; `--ignore {name}` plans as if it were repaired."
        );
        line(text, &format!("{} {commands}", plain(sentence)));
    }
}

pub(super) fn after_the_repair(text: &mut String, result: &BalanceResult) {
    let Some(after) = &result.after_repair else {
        return;
    };
    line(text, "\nSecond step, after the repair");
    line(text, &after_repair_sentence(after));
    for planned in &after.moves {
        let words = format!(
            "  {} from {} to {}",
            planned.machine, planned.from, planned.to
        );
        line(text, &plain(&words));
    }
    if !after.moves.is_empty() {
        line(
            text,
            "Run `tapoff balance` again once it is repaired: it gives their order of work.",
        );
    }
}
