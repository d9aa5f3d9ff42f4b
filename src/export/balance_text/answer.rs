//! The answer before all else: the neutral now and after, what is proven, what is exceeded.

use chrono::{DateTime, Utc};

use crate::infeasible_text::infeasible_sentences;
use crate::wording::{counted, line};
use balance::{BalanceResult, BasedOn, FeederLoss, NodeFigures, PeakBlock, Peaks, Proof};
use electrical::{Phase, is_above_limit};
use site::Site;
use tables::plain;
use units::{format_amps, format_kwh, format_moment, format_number, format_percent, or_dash};

pub(super) fn answer(text: &mut String, site: &Site, result: &BalanceResult) {
    line(text, &what_it_is_based_on(site, result));
    line(text, "");
    line(text, &neutral(result));
    if let Some(loss) = &result.feeder_loss {
        line(text, &heat_in_feeders(site, loss));
    }
    if let Some(peaks) = &result.peaks {
        line(text, &highest_block(site, peaks));
    }
    line(text, &what_is_known(result));
    for sentence in infeasible_sentences(result.infeasible.as_ref()) {
        line(text, &plain(&sentence));
    }
    if let Some(before) = &result.before {
        overloads_now(text, site.supply.phase_limit_a, before, &result.after);
    }
}

fn what_it_is_based_on(site: &Site, result: &BalanceResult) -> String {
    let intervals = match result.based_on {
        BasedOn::Readings => counted(
            result.intervals,
            "round of clamp-meter readings",
            "rounds of clamp-meter readings",
        ),
        BasedOn::Logs | BasedOn::TypicalWeek => {
            format!("{} intervals of {} s", result.intervals, result.interval_s)
        }
    };
    let local = |at: DateTime<Utc>| at.with_timezone(&site.timezone);
    format!(
        "{}: {intervals}, {} to {}",
        plain(&site.name),
        format_moment(local(result.from)),
        local(result.to).format("%a %-d %b %Y %H:%M %Z"),
    )
}

fn neutral(result: &BalanceResult) -> String {
    let after = format_amps(result.after.neutral_rms_a);
    let Some(before) = &result.before else {
        return format!("Neutral at the supply: {after} rms with every load assigned as below");
    };
    let saved = before.neutral_rms_a - result.after.neutral_rms_a;
    let share = if before.neutral_rms_a > 0.0 {
        100.0 * saved / before.neutral_rms_a
    } else {
        0.0
    };
    format!(
        "Neutral at the supply: {} rms now, {after} after {} ({} less)",
        format_amps(before.neutral_rms_a),
        counted(result.work_order.moves(), "move", "moves"),
        format_percent(share),
    )
}

fn what_is_known(result: &BalanceResult) -> String {
    match (
        result.proof,
        result.lower_bound_neutral_rms_a,
        result.gap_pct,
    ) {
        (Proof::Optimal, ..) if result.infeasible.is_some() => {
            "Proven: no other allocation passes the limits less, or as little with less in the neutral"
                .to_owned()
        }
        (Proof::Optimal, ..) => {
            format!("Proven: no other allocation {}", result.objective.less())
        }
        (Proof::Gap, None, Some(gap)) if result.peaks.is_some() => {
            let bound = result.peaks.as_ref().and_then(|peaks| peaks.lower_bound_a);
            format!(
                "Best found; no allocation can have a highest block below {} ({} less)",
                or_dash(bound, format_amps),
                format_percent(gap)
            )
        }
        (Proof::Gap, None, Some(gap)) => {
            format!("Best found; at most {} could still be gained", format_percent(gap))
        }
        (Proof::Gap, Some(bound), Some(gap)) => format!(
            "Best found; no allocation can be below {} ({} less)",
            format_amps(bound),
            format_percent(gap)
        ),
        _ => "Best found; that nothing better exists is not proven".to_owned(),
    }
}

fn heat_in_feeders(site: &Site, loss: &FeederLoss) -> String {
    let now = loss
        .before_kwh_per_year
        .map_or_else(String::new, |kwh| format!("{} now, ", format_kwh(kwh)));
    let currency = site.currency.as_deref();
    let money = |amount: f64| {
        let currency = currency.unwrap_or("in the tariff's currency");
        format!("{}\u{a0}{}", format_number(amount, 2), plain(currency))
    };
    let cost = match (loss.before_cost_per_year, loss.after_cost_per_year) {
        (Some(before), Some(after)) => format!(
            "; at the prices of the hours, tax included: {} now, {} after",
            money(before),
            money(after)
        ),
        (None, Some(after)) => format!("; at the prices of the hours: {}", money(after)),
        _ => String::new(),
    };
    format!(
        "Heat in the boards' feeders over such a year: {now}{} after{cost}",
        format_kwh(loss.after_kwh_per_year)
    )
}

fn highest_block(site: &Site, peaks: &Peaks) -> String {
    let told = |block: &PeakBlock| {
        let at = block.at.with_timezone(&site.timezone);
        format!(
            "{} on {} ({})",
            format_amps(block.current_a),
            block.conductor,
            format_moment(at)
        )
    };
    let now = peaks
        .before
        .as_ref()
        .map_or_else(String::new, |block| format!("{} now, ", told(block)));
    format!(
        "Highest block of {} s (root mean square over the block): {now}{} after",
        peaks.block_s,
        told(&peaks.after)
    )
}

fn overloads_now(text: &mut String, limit_a: f64, before: &NodeFigures, after: &NodeFigures) {
    for phase in Phase::ALL {
        let index = phase.index();
        if !is_above_limit(before.phase_max_a[index], limit_a) {
            continue;
        }
        let over = before.intervals_over_limit[index];
        line(
            text,
            &format!(
                "{phase} reaches {} now, above its limit of {} in {}; {} after",
                format_amps(before.phase_max_a[index]),
                format_amps(limit_a),
                counted(over, "interval", "intervals"),
                format_amps(after.phase_max_a[index]),
            ),
        );
    }
}
