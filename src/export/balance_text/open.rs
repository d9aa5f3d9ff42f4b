//! What list and readings leave open, where there is no log: the range, the rounds as read, the connected load.

use crate::wording::counted;
use chrono_tz::Tz;

use balance::{BalanceResult, BasedOn, ConnectedLoad, NodeFigures, RoundFigures};
use electrical::{Phase, is_above_limit};
use tables::plain;
use units::{format_amps, format_limit, format_number};

/// Sentences on what the figures rest on and how far they can be off; none where they are measured.
#[must_use]
pub fn open_sentences(result: &BalanceResult) -> Vec<String> {
    let from = match result.based_on {
        BasedOn::Logs => return Vec::new(),
        BasedOn::Readings => "the machine list and the readings",
        BasedOn::TypicalWeek => {
            "the machine list alone, which cannot show how accurate it is (`[accuracy]` in site.toml is assumed)"
        }
    };
    let mut out = Vec::new();
    if let Some((before, after)) = result.rounds_rms_a() {
        let is_read = result.rounds.iter().all(|round| round.neutral_is_read);
        let was = if is_read {
            "was"
        } else {
            "was not read everywhere; by the loads it was"
        };
        out.push(format!(
            "In the {} the supply's neutral {was} {} rms; after the moves it would have been {}.",
            counted(result.rounds.len(), "round read", "rounds read"),
            format_amps(before),
            format_amps(after)
        ));
    }
    let range = |figures: &NodeFigures| {
        format!(
            "{} to {}",
            format_number(figures.neutral_rms_low_a, 1),
            format_amps(figures.neutral_rms_high_a)
        )
    };
    let now = result
        .before
        .as_ref()
        .map_or_else(String::new, |before| format!("{} now and ", range(before)));
    out.push(format!(
        "Estimated from {from}, for all hours of a week, nights included: with a probability of 95 % the neutral is {now}{} \
         after the moves (rms).",
        range(&result.after)
    ));
    let last = result.optional_moves.last();
    let reached = last.map_or(result.after.neutral_rms_a, |last| last.neutral_rms_a);
    if reached > result.best_neutral_rms_a * 1.005 {
        out.push(
            "Moves that do not lower the neutral with a probability of 95 %, and those that would take a conductor over its \
             limit, are left out of the plan."
                .to_owned(),
        );
    }
    out.extend(result.connected_load.iter().filter_map(connected_sentence));
    out
}

fn connected_sentence(load: &ConnectedLoad) -> Option<String> {
    let limit = load.phase_limit_a?;
    let worst = (0..3).fold(0, |worst, k| {
        if load.all_on_a[k] > load.all_on_a[worst] {
            k
        } else {
            worst
        }
    });
    is_above_limit(load.all_on_a[worst], limit).then(|| {
        format!(
            "`{}`: with everything on at once {} carries {}, over its limit of {}; for 95 % of the time in the busiest \
             hours it stays below {} now and {} after the moves.",
            plain(&load.id),
            Phase::ALL[worst],
            format_amps(load.all_on_a[worst]),
            format_limit(limit),
            format_amps(load.expected_max_a[worst]),
            format_amps(load.expected_max_after_a[worst]),
        )
    })
}

/// The supply in each round: as read, and after the moves; times are shown in a zone.
#[must_use]
pub fn rounds_table(result: &BalanceResult, zone: Tz) -> tables::Table {
    use tables::{Cell, columns, number, words};
    use units::FigureKind as Q;
    let change = |now: f64, after: f64| Cell::Change(Some(now), after);
    columns! { round in &RoundFigures;
        at: words("Round") => Cell::instant(round.at, &zone);
        l1_a: number("L1", Q::Current) => change(round.before.phase_a[0], round.after.phase_a[0]);
        l2_a: number("L2", Q::Current) => change(round.before.phase_a[1], round.after.phase_a[1]);
        l3_a: number("L3", Q::Current) => change(round.before.phase_a[2], round.after.phase_a[2]);
        neutral_a: number("Neutral", Q::Current) => change(round.before.neutral_a, round.after.neutral_a);
        neutral_low_a: number("Neutral after, low 95 %", Q::Current) => round.after.neutral_low_a;
        neutral_high_a: number("Neutral after, high 95 %", Q::Current) => round.after.neutral_high_a;
    }
    .table("rounds", "The supply in the rounds: as read, or by the loads where it was not → after the moves", &result.rounds)
}

/// What is connected against what is expected and the limits.
#[must_use]
pub fn connected_table(result: &BalanceResult) -> tables::Table {
    use tables::{Cell, columns, exact, number, words};
    use units::FigureKind as Q;
    let change = |load: &ConnectedLoad, k: usize| {
        Cell::Change(Some(load.expected_max_a[k]), load.expected_max_after_a[k])
    };
    columns! { load in &ConnectedLoad;
        at: words("Location") => &load.id;
        l1_all_on_a: number("L1, all on", Q::Current) => load.all_on_a[0];
        l2_all_on_a: number("L2, all on", Q::Current) => load.all_on_a[1];
        l3_all_on_a: number("L3, all on", Q::Current) => load.all_on_a[2];
        l1_expected_a: number("L1, expected max.", Q::Current) => change(load, 0);
        l2_expected_a: number("L2, expected max.", Q::Current) => change(load, 1);
        l3_expected_a: number("L3, expected max.", Q::Current) => change(load, 2);
        phase_limit_a: exact("Limit", "A") => load.phase_limit_a;
    }
    .table("connected-load", "Connected load now, and expected maximum now → after the moves", &result.connected_load)
    .with_method(
        "all on: every listed load at its rating at once; expected maximum: not passed for 95 % of the time in the busiest \
         hours, from simulated states of the workshop",
    )
}
