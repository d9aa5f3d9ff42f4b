//! The result first: the neutral now and after the moves, what is proven, which limits are exceeded.

use super::enough::{enough_sentence, proof_sentence};
use super::open::open_sentences;
use super::repair::before_the_moves;
use crate::infeasible_text::infeasible_sentences;
use crate::phases_text::plan_doubt_sentences;
use crate::wording::{counted, intervals_of, line};
use balance::{BalanceResult, BasedOn, FeederLoss, NodeFigures, PeakBlock, Peaks};
use electrical::{Phase, is_above_limit};
use site::Site;
use tables::plain;
use units::{
    format_amps, format_duration, format_kwh, format_limit, format_moment, format_number,
    format_percent, format_period, percent_of,
};

pub(super) fn answer(text: &mut String, site: &Site, result: &BalanceResult) {
    line(text, &data_used(site, result));
    line(text, "");
    before_the_moves(text, result);
    line(text, &neutral(result));
    if let Some(loss) = &result.feeder_loss {
        line(text, &feeder_losses(site, loss));
    }
    if let Some(peaks) = &result.peaks {
        line(text, &highest_demand_period(site, peaks));
    }
    for sentence in enough_sentence(result)
        .into_iter()
        .chain(proof_sentence(result))
    {
        line(text, &sentence);
    }
    for sentence in open_sentences(result) {
        line(text, &sentence);
    }
    for sentence in result.phase_doubt.iter().flat_map(plan_doubt_sentences) {
        line(text, &plain(&sentence));
    }
    for sentence in infeasible_sentences(result.infeasible.as_ref()) {
        line(text, &plain(&sentence));
    }
    if let Some(before) = &result.before {
        overloads_now(text, site.supply.phase_limit_a, before, &result.after);
    }
}

fn data_used(site: &Site, result: &BalanceResult) -> String {
    let intervals = match result.based_on {
        BasedOn::Readings => counted(
            result.intervals,
            "round of clamp-meter readings",
            "rounds of clamp-meter readings",
        ),
        BasedOn::Logs | BasedOn::TypicalWeek => intervals_of(result.intervals, result.interval_s),
    };
    format!(
        "{}: {intervals}, {} ({})",
        plain(&site.name),
        format_period(result.from, result.to, &site.timezone),
        site.timezone
    )
}

fn neutral(result: &BalanceResult) -> String {
    let after = format_amps(result.after.neutral_rms_a);
    let Some(before) = &result.before else {
        return format!("Neutral at the supply: {after} rms with every load allocated as below");
    };
    let saved = before.neutral_rms_a - result.after.neutral_rms_a;
    let share = percent_of(saved, before.neutral_rms_a);
    let less = share.map(|share| format!(" ({} less)", format_percent(share)));
    format!(
        "Neutral at the supply: {} rms now, {after} after {}{}",
        format_amps(before.neutral_rms_a),
        counted(result.work_order.moves(), "move", "moves"),
        less.unwrap_or_default(),
    )
}

fn feeder_losses(site: &Site, loss: &FeederLoss) -> String {
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
            "; cost by the tariff, tax included: {} now, {} after",
            money(before),
            money(after)
        ),
        (None, Some(after)) => {
            format!("; cost by the tariff, tax included: {} after", money(after))
        }
        _ => String::new(),
    };
    format!(
        "Losses in the board feeders, per year: {now}{} after{cost}",
        format_kwh(loss.after_kwh_per_year)
    )
}

fn highest_demand_period(site: &Site, peaks: &Peaks) -> String {
    let shown = |block: &PeakBlock| {
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
        .map_or_else(String::new, |block| format!("{} now, ", shown(block)));
    format!(
        "Highest demand period ({}, rms over the period): {now}{} after",
        format_duration(u64::from(peaks.block_s)),
        shown(&peaks.after)
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
                "{phase} peaks at {} now, {} over its limit of {} ({}); {} after",
                format_amps(before.phase_max_a[index]),
                format_amps(before.phase_max_a[index] - limit_a),
                format_limit(limit_a),
                counted(over, "interval", "intervals"),
                format_amps(after.phase_max_a[index]),
            ),
        );
    }
}
