//! Sentences on why no allocation keeps within all limits.

use super::wording::counted;
use balance::Infeasible;
use units::{format_amps, format_limit, format_moment};

/// The sentences, most important first; none where no limit is exceeded.
pub fn infeasible_sentences(infeasible: Option<&Infeasible>) -> Vec<String> {
    let Some(infeasible) = infeasible else {
        return Vec::new();
    };
    let none = if infeasible.is_certain {
        "No allocation keeps within all limits."
    } else {
        "No allocation was found that keeps within all limits."
    };
    let this = match (infeasible.is_smallest, infeasible.is_certain) {
        (true, true) => "This one has the smallest overload.",
        (true, false) => "Of those tried, this one has the smallest overload.",
        (false, _) => {
            "Of those that take no further conductor over its limit, this one has the fewest moves, its overload within 1 A \
             of the smallest found."
        }
    };
    let mut out = vec![format!("{none} {this}")];
    for limit in &infeasible.limits {
        out.push(format!(
            "{} of {} peaks at {} (limit {}), {} over the limit, at {}; over the limit in {}.",
            limit.conductor,
            limit.node,
            format_amps(limit.current_a),
            format_limit(limit.limit_a),
            format_amps(limit.excess_a),
            format_moment(limit.at),
            counted(limit.intervals, "interval", "intervals"),
        ));
    }
    for ways in &infeasible.ways {
        out.push(format!(
            "{} has {} free on {} for loads that can be moved; {} would be needed.",
            ways.board,
            counted(ways.free, "way", "ways"),
            ways.phase,
            ways.needed
        ));
    }
    for needed in &infeasible.needed {
        let what = if needed.kind == "phase" {
            "a phase"
        } else {
            "the neutral"
        };
        // Rounded up: a limit that is slightly too low would not be enough.
        let least = format_amps((needed.needed_a * 10.0 - 1e-6).ceil() / 10.0);
        let (node, limit) = (&needed.node, format_limit(needed.limit_a));
        let reached = if infeasible.needed_is_least {
            format!("At {node} no allocation keeps the highest current of {what} below {least}")
        } else {
            format!("At {node} the best allocation found reaches {least} in {what}")
        };
        out.push(format!(
            "{reached}; the limit is {limit}. Do not fit a larger protective device for that: reduce the load, or run fewer machines at a time."
        ));
    }
    if !infeasible.causes.is_empty() {
        out.push(format!(
            "All limits can be kept without {}{}.",
            infeasible.causes.join(" or "),
            infeasible
                .fewest_moves
                .map_or_else(String::new, |least| format!(
                    ": {} would be enough",
                    counted(least, "move", "moves")
                )),
        ));
    }
    out
}
