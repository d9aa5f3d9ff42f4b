//! Sentences on why no allocation keeps every limit.

use super::wording::counted;
use balance::Infeasible;
use units::{format_amps, format_limit, format_moment};

/// The clear answer, most important first; nothing where every limit is kept.
pub fn infeasible_sentences(infeasible: Option<&Infeasible>) -> Vec<String> {
    let Some(infeasible) = infeasible else {
        return Vec::new();
    };
    let mut out = vec![if infeasible.is_certain {
        "No allocation keeps every limit; this one passes them least.".to_owned()
    } else {
        "No allocation was found that keeps every limit; of those tried this one passes them least."
            .to_owned()
    }];
    for limit in &infeasible.limits {
        out.push(format!(
            "{} of {} carries {} of {}: {} too much on {}, above the limit in {}.",
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
            "{} has {} for movable loads on {}; {} would be needed.",
            ways.board,
            counted(ways.free, "way", "ways"),
            ways.phase,
            ways.needed
        ));
    }
    for needed in &infeasible.needed {
        let what = if needed.kind == "phase" {
            "phase limit"
        } else {
            "neutral limit"
        };
        let certain = if infeasible.needed_is_least {
            "nothing less would do"
        } else {
            "the least that was found"
        };
        out.push(format!(
            "With a {what} of {} instead of {} at {} it could be kept ({certain}).",
            // Rounded up: a limit a little too small would not do.
            format_amps((needed.needed_a * 10.0 - 1e-6).ceil() / 10.0),
            format_limit(needed.limit_a),
            needed.node
        ));
    }
    if !infeasible.causes.is_empty() {
        out.push(format!(
            "Every limit can be kept without {}{}.",
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
