//! Connection points for a new machine as text: the ranked table, or one of them in full.

use super::placement_tables::{checks_table, effect_table, places_table};
use super::wording::{intervals_of, line};
use placement::{Placement, RankedPoint};
use site::Site;
use tables::plain;
use units::format_amps;

/// Connection points shown in the table.
const MOST_ROWS: usize = 20;

/// The ranked table with the reason for each rank.
#[must_use]
pub fn placement_text(site: &Site, result: &Placement) -> String {
    let mut text = String::new();
    head(&mut text, site, result);
    answer(&mut text, result);
    sentences(&mut text, "Running cost", &result.running_cost.sentences());
    places(&mut text, result);
    closing(&mut text, result);
    text
}

/// One connection point with all its checks.
#[must_use]
pub fn placement_detail_text(site: &Site, result: &Placement, place: &RankedPoint) -> String {
    let mut text = String::new();
    head(&mut text, site, result);
    let verdict = if place.fits { "passes" } else { "fails" };
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
    text.push_str(&checks_table(place, "Checks").text());
    let effect = effect_table(&place.effect, result.demand_window_min);
    text.push_str(&effect.text());
    sentences(&mut text, "Running cost", &result.running_cost.sentences());
    changes(&mut text, place);
    if !place.not_checked.is_empty() {
        sentences(&mut text, "Not checked", &place.not_checked);
    }
    closing(&mut text, result);
    text
}

fn head(text: &mut String, site: &Site, result: &Placement) {
    line(
        text,
        &format!(
            "{}: connection points for {}, {}",
            plain(&site.name),
            plain(&result.machine),
            intervals_of(result.intervals, result.interval_s)
        ),
    );
    let starting = result.starting_current_a.map_or_else(String::new, |amps| {
        format!(", starting current {}", format_amps(amps))
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
                "Best connection point: {} on {}. {fitting} of {} connection points pass now.",
                plain(&best.circuit),
                best.connection,
                result.places.len()
            ),
        );
        line(text, &proposed(best));
        return;
    }
    line(text, "No connection point passes now. Why they fail:");
    for sentence in result.failed_checks.iter().take(8) {
        line(text, &format!("  - {}", plain(sentence)));
    }
    changes(text, best);
}

fn proposed(place: &RankedPoint) -> String {
    let device = place.device.map_or_else(
        || "none: no standard rating fits".to_owned(),
        |device| device.to_string(),
    );
    let cable = place
        .cable_mm2
        .map_or_else(String::new, |mm2| format!(", own cable {mm2} mm²"));
    format!("  Protective device: {device}{cable}")
}

fn places(text: &mut String, result: &Placement) {
    text.push_str(&places_table(result, MOST_ROWS).text());
    if result.places.len() > MOST_ROWS {
        line(
            text,
            &format!(
                "  and {} more; `--format json` and `csv` list all",
                result.places.len() - MOST_ROWS
            ),
        );
    }
}

fn changes(text: &mut String, place: &RankedPoint) {
    if !place.moves_needed.is_empty() {
        let count = if place.moves_are_fewest {
            "Fewest moves"
        } else {
            "Moves (fewer may be enough: not all smaller sets were checked)"
        };
        line(
            text,
            &format!(
                "\n{count} after which {} on {} passes",
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
        line(text, "\nChanges of device or cable after which it passes");
        for remedy in &place.remedies {
            line(text, &format!("  - {}", plain(&remedy.change)));
        }
    }
}

fn closing(text: &mut String, result: &Placement) {
    if !result.typical.is_empty() {
        sentences(text, "Assumed: not on the rating plate", &result.typical);
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
