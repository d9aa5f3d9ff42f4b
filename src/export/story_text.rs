//! The detail of one phase as text for a terminal.

use std::fmt::Write;

use diagnosis::{PhaseDay, PhaseDetail};
use tables::{columns, fixed, number, plain, words};
use units::{FigureKind as Q, format_limit, format_local};

/// Length of a bar where the current is at its limit.
const LIMIT_AT: f64 = 24.0;

/// Days with a bar against the limit, worst half-hours, moves that relieve the phase.
pub fn story_text(story: &PhaseDetail) -> String {
    let mut text = String::new();
    let limit = story.limit_a;
    let columns = columns! { day in &PhaseDay;
        date: words("Day") => day.date;
        highest_a: number("Max.", Q::Current) => day.highest_a;
        rms_a: number("Rms", Q::Current) => day.rms_a;
        above_limit_min: fixed("Time over the limit", "min", 0) => day.above_limit_min;
        bar: words("Max. compared with the limit") => bar(day.highest_a / limit);
    };
    let title = format!("{} by day (limit {})", story.phase, format_limit(limit));
    text.push_str(&columns.table("days", title, &story.days).text());
    let _ = writeln!(
        text,
        "\nWorst half-hours (active current of each known load)"
    );
    for block in &story.worst_half_hours {
        let _ = writeln!(
            text,
            "  {}  {:.1} A",
            format_local(block.from),
            block.mean_a
        );
        for part in block.made_up_of.iter().take(6) {
            let _ = writeln!(
                text,
                "    {:>5.1} A  {} ({})",
                part.active_current_a,
                plain(&part.name),
                part.basis
            );
        }
        let rest: f64 = block
            .made_up_of
            .iter()
            .skip(6)
            .map(|part| part.active_current_a)
            .sum();
        if block.made_up_of.len() > 6 {
            let _ = writeln!(text, "    {rest:>5.1} A  other (small)");
        }
    }
    if story.relief.is_empty() {
        text.push_str("\nNo move of a listed machine was found that relieves it.\n");
        return text;
    }
    text.push_str("\nRelief by one or two moves (least time over the limit first, then lowest peak; check that the board has a free way)\n");
    for relief in &story.relief {
        let moves: Vec<String> = relief.moves.iter().map(|one| plain(one)).collect();
        let _ = writeln!(text, "  {}", moves.join("; "));
        let _ = writeln!(
            text,
            "    {} peak {:.1} A, now {:.1} A; over its limit in {} intervals, now {}; neutral {:.1} A rms, now {:.1} A rms",
            story.phase,
            relief.highest_after_a,
            relief.highest_before_a,
            relief.intervals_over_after,
            relief.intervals_over_before,
            relief.neutral_rms_after_a,
            relief.neutral_rms_before_a
        );
    }
    text.push_str(
        "  Moving a conductor can kill: a competent person isolates, locks off and proves dead first.\n",
    );
    text
}

/// A bar as long as the share of the limit; what exceeds the limit follows the stroke.
fn bar(share: f64) -> String {
    let length = (LIMIT_AT * share).round().clamp(0.0, 2.0 * LIMIT_AT);
    let within = "=".repeat(length.min(LIMIT_AT) as usize);
    let beyond = "!".repeat((length - LIMIT_AT).max(0.0) as usize);
    format!("{within:<24}|{beyond}")
}
