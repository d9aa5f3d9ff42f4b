//! Places for a new machine as text: the ranked table, or one place in full.

use super::balance_text::line;
use super::text_table::{Side, plain, table};
use placement::{BeforeAfter, Place, Placement, SupplyEffect};
use site::Site;
use units::{Quantity, fixed, format_amps, or_dash};

/// Places shown in the table.
const MOST_ROWS: usize = 20;

/// The ranked table with the reason for each rank.
#[must_use]
pub fn placement_text(site: &Site, result: &Placement) -> String {
    let mut text = String::new();
    head(&mut text, site, result);
    answer(&mut text, result);
    sentences(&mut text, "Running it", &result.running_cost.sentences());
    places(&mut text, result);
    closing(&mut text, result);
    text
}

/// One place with all its checks.
#[must_use]
pub fn placement_detail_text(site: &Site, result: &Placement, place: &Place) -> String {
    let mut text = String::new();
    head(&mut text, site, result);
    let verdict = if place.fits { "fits" } else { "does not fit" };
    line(
        &mut text,
        &format!(
            "{} on {}: {verdict}, rank {} of {}",
            plain(&place.circuit),
            place.connection,
            place.rank,
            result.places.len()
        ),
    );
    line(&mut text, &format!("  {}", plain(&place.reason)));
    line(&mut text, &proposed(place));
    line(&mut text, "\nChecks");
    checks(&mut text, place);
    line(&mut text, "\nEffect at the supply");
    effects(&mut text, &place.effect, result.demand_window_min);
    sentences(&mut text, "Running it", &result.running_cost.sentences());
    changes(&mut text, place);
    if !place.not_checked.is_empty() {
        sentences(&mut text, "Not checked here", &place.not_checked);
    }
    closing(&mut text, result);
    text
}

fn head(text: &mut String, site: &Site, result: &Placement) {
    line(
        text,
        &format!(
            "{}: a place for {}, {} intervals of {} s",
            plain(&site.name),
            plain(&result.machine),
            result.intervals,
            result.interval_s
        ),
    );
    let starting = result.starting_current_a.map_or_else(String::new, |amps| {
        format!(", {} starting", format_amps(amps))
    });
    line(
        text,
        &format!(
            "Design current {}{starting}\n",
            format_amps(result.design_current_a)
        ),
    );
}

fn answer(text: &mut String, result: &Placement) {
    let fitting = result.places.iter().filter(|place| place.fits).count();
    let Some(best) = result.places.first() else {
        return;
    };
    if fitting > 0 {
        line(
            text,
            &format!(
                "Best: {} on {}. {fitting} of {} places fit as things are.",
                plain(&best.circuit),
                best.connection,
                result.places.len()
            ),
        );
        line(text, &proposed(best));
        return;
    }
    line(text, "No place fits as things are. What stands in the way:");
    for sentence in result.stands_in_the_way.iter().take(8) {
        line(text, &format!("  - {}", plain(sentence)));
    }
    changes(text, best);
}

fn proposed(place: &Place) -> String {
    let device = place.device.map_or_else(
        || "no device of the series".to_owned(),
        |device| device.to_string(),
    );
    let cable = place
        .cable_mm2
        .map_or_else(String::new, |mm2| format!(", own cable {mm2} mm²"));
    format!("  Protective device {device}{cable}")
}

fn places(text: &mut String, result: &Placement) {
    line(text, "\nPlaces");
    let rows: Vec<Vec<String>> = result
        .places
        .iter()
        .take(MOST_ROWS)
        .map(|place| {
            vec![
                place.rank.to_string(),
                place.circuit.clone(),
                place.connection.to_string(),
                if place.fits { "fits" } else { "fails" }.to_owned(),
                Quantity::Current.number(place.effect.neutral_rms_a.after),
                format!("{:.0}", place.path_m),
                place.reason.clone(),
            ]
        })
        .collect();
    let header = [
        ("rank", Side::Right),
        ("at", Side::Left),
        ("on", Side::Left),
        ("", Side::Left),
        ("neutral [A rms]", Side::Right),
        ("cable [m]", Side::Right),
        ("why", Side::Left),
    ];
    text.push_str(&table(&header, &rows));
    if result.places.len() > MOST_ROWS {
        line(
            text,
            &format!(
                "  and {} more; JSON and CSV hold all",
                result.places.len() - MOST_ROWS
            ),
        );
    }
}

fn checks(text: &mut String, place: &Place) {
    let rows: Vec<Vec<String>> = place
        .checks
        .iter()
        .map(|check| {
            let rule = if check.check.is_at_least() {
                "≥"
            } else {
                "≤"
            };
            let unit = if check.unit == "1" { "" } else { check.unit };
            let decimals = if check.check.name() == "ways" { 0 } else { 2 };
            vec![
                if check.pass { "met" } else { "FAILS" }.to_owned(),
                check.check.name().to_owned(),
                check.at.clone(),
                fixed(check.value, decimals),
                format!("{rule} {:.decimals$}", check.limit),
                unit.to_owned(),
                check.basis.clone(),
                check.source.to_owned(),
            ]
        })
        .collect();
    let header = [
        ("", Side::Left),
        ("check", Side::Left),
        ("at", Side::Left),
        ("value", Side::Right),
        ("limit", Side::Right),
        ("unit", Side::Left),
        ("value rests on", Side::Left),
        ("source", Side::Left),
    ];
    text.push_str(&table(&header, &rows));
}

pub(super) fn effects(text: &mut String, effect: &SupplyEffect, window_min: u32) {
    let row = |name: &str, pair: BeforeAfter<Option<f64>>, unit: &str| {
        let number = |value: Option<f64>| or_dash(value, |value| fixed(value, 1));
        vec![
            name.to_owned(),
            number(pair.before),
            number(pair.after),
            unit.to_owned(),
        ]
    };
    let known = |pair: BeforeAfter<f64>| BeforeAfter {
        before: Some(pair.before),
        after: Some(pair.after),
    };
    let demand = format!("maximum demand over {window_min} min");
    let mut rows = vec![
        row("neutral, rms", known(effect.neutral_rms_a), "A"),
        row("neutral, largest", known(effect.neutral_max_a), "A"),
        row(
            &format!("neutral, largest over {window_min} min"),
            effect.block_neutral_max_a,
            "A",
        ),
        row("unbalance of the phases", effect.current_unbalance_pct, "%"),
        row(&demand, effect.max_demand_kw, "kW"),
        row(&demand, effect.max_demand_kva, "kVA"),
    ];
    for (k, name) in ["L1, largest", "L2, largest", "L3, largest"]
        .into_iter()
        .enumerate()
    {
        let phase = BeforeAfter {
            before: effect.phase_max_a.before[k],
            after: effect.phase_max_a.after[k],
        };
        rows.push(row(name, known(phase), "A"));
    }
    let header = [
        ("", Side::Left),
        ("now", Side::Right),
        ("with it", Side::Right),
        ("unit", Side::Left),
    ];
    text.push_str(&table(&header, &rows));
}

fn changes(text: &mut String, place: &Place) {
    if !place.moves_needed.is_empty() {
        let count = if place.moves_are_fewest {
            "Fewest moves"
        } else {
            "Moves (fewer may do: not all smaller sets were ruled out)"
        };
        line(
            text,
            &format!(
                "\n{count} after which {} on {} fits",
                plain(&place.circuit),
                place.connection
            ),
        );
        for needed in &place.moves_needed {
            line(
                text,
                &format!(
                    "  - {} from {} to {}",
                    plain(&needed.machine),
                    needed.from,
                    needed.to
                ),
            );
        }
    }
    if !place.remedies.is_empty() {
        line(text, "\nA change of parts after which it fits");
        for remedy in &place.remedies {
            line(text, &format!("  - {}", plain(&remedy.change)));
        }
    }
}

fn closing(text: &mut String, result: &Placement) {
    if !result.typical.is_empty() {
        sentences(
            text,
            "Taken as typical, since the plate says nothing",
            &result.typical,
        );
    }
    sentences(text, "Notes", &result.notes);
    sentences(text, "Cautions", &result.cautions);
}

/// A list of sentences under a heading.
pub(super) fn sentences(text: &mut String, heading: &str, sentences: &[String]) {
    line(text, &format!("\n{heading}"));
    for sentence in sentences {
        line(text, &format!("  - {}", plain(sentence)));
    }
}
