//! What is proven, and how far the plan goes: as few moves as are enough, the others optional.

use crate::wording::counted;
use balance::{BalanceResult, Objective, OptionalMove, Proof};
use tables::{Table, columns, exact, number, words};
use units::{FigureKind as Q, format_amps, format_percent, or_dash, percent_of};

/// How far the best plan found is known to be the best of all; `None` where the plan shown is another and no limit can
/// be kept.
#[must_use]
pub fn proof_sentence(result: &BalanceResult) -> Option<String> {
    let infeasible = result.infeasible.as_ref();
    if infeasible.is_some_and(|infeasible| !infeasible.is_smallest) {
        return None;
    }
    let of = if result.is_measured() {
        ""
    } else {
        " for these figures"
    };
    let is_whole = result.is_measured() && result.optional_moves.is_empty();
    let of_neutral = result.objective == Objective::NeutralRms;
    let best = if result.optional_moves.is_empty() {
        "Best plan found."
    } else {
        "All moves together: the best plan found."
    };
    Some(match (result.proof, result.lower_bound_neutral_rms_a, result.gap_pct) {
        (Proof::Optimal, ..) if infeasible.is_some() => {
            "Proven: no other allocation has a smaller overload, or the same overload with a lower neutral current."
                .to_owned()
        }
        (Proof::Optimal, ..) if of_neutral && !is_whole => format!(
            "Proven{of}: no allocation has a neutral current below {}.",
            format_amps(result.best_neutral_rms_a)
        ),
        (Proof::Optimal, ..) => {
            format!("Proven{of}: no other allocation {}.", result.objective.less())
        }
        (Proof::Gap, None, Some(gap)) if result.peaks.is_some() => {
            let bound = result.peaks.as_ref().and_then(|peaks| peaks.lower_bound_a);
            format!(
                "{best} No allocation can have a highest demand period below {} ({} less).",
                or_dash(bound, format_amps),
                format_percent(gap)
            )
        }
        (Proof::Gap, None, Some(gap)) => {
            format!("{best} A better one could save at most {} more.", format_percent(gap))
        }
        (Proof::Gap, Some(bound), Some(gap)) => format!(
            "{best} No allocation can have a neutral current below {} ({} less).",
            format_amps(bound),
            format_percent(gap)
        ),
        _ => format!("{best} It is not proven that no better one exists."),
    })
}

/// Why the plan has no more moves; `None` where it has all of them.
#[must_use]
pub fn enough_sentence(result: &BalanceResult) -> Option<String> {
    let before = result.before.as_ref()?;
    let last = result.optional_moves.last()?;
    let all = counted(result.optional_moves.len(), "move", "moves");
    if result.recommended_moves == 0 {
        let why = if result.gain_is_small {
            ", less than two readings of a clamp meter can show (±(2 % + 0.3 A) each)"
        } else {
            ""
        };
        return Some(format!(
            "No move is urged: {all} would take the neutral from {} to {}{why}.",
            format_amps(before.neutral_rms_a),
            format_amps(last.neutral_rms_a)
        ));
    }
    let by = if result.is_measured() {
        ""
    } else {
        " by these figures"
    };
    let possible = before.neutral_rms_a - last.neutral_rms_a;
    let share = percent_of(before.neutral_rms_a - result.after.neutral_rms_a, possible);
    let share = share
        .filter(|share| possible > 0.0 && *share > 0.0 && result.objective == Objective::NeutralRms)
        .map_or_else(String::new, |share| {
            format!(
                " and take {} of the possible reduction",
                format_percent(share)
            )
        });
    let more = counted(
        result.optional_moves.len(),
        "more move, which is optional, brings",
        "more moves, which are optional, bring",
    );
    Some(format!(
        "These are enough: they keep every limit{by}{share}. {more} the neutral to {}.",
        format_amps(last.neutral_rms_a)
    ))
}

/// The moves beyond the plan, and what each adds.
#[must_use]
pub fn optional_table(result: &BalanceResult) -> Table {
    columns! { one in &OptionalMove;
        step: exact("Step", "") => one.step;
        machine: words("Machine") => &one.machine;
        from: words("From") => one.from.to_string();
        to: words("To") => one.to.to_string();
        neutral_rms_a: number("Neutral after", Q::CurrentStep) => one.neutral_rms_a;
    }
    .table("optional-moves", "Optional moves, after those of the plan", &result.optional_moves)
    .with_method("moves of one step lower the neutral only together; neutral after: neutral rms with this step and those above it; \
         `--all-moves` gives their order of work")
}
