//! New machines placed together as text.

use super::placement_tables::{effect_table, together_table};
use super::placement_text::sentences;
use super::wording::{intervals_of, line};
use placement::Together;
use site::Site;
use tables::plain;
use units::{format_amps, grouped_digits};

/// The connection point of each machine, their effect together, and the proof of the choice.
#[must_use]
pub fn together_text(site: &Site, result: &Together) -> String {
    let mut text = String::new();
    line(
        &mut text,
        &format!(
            "{}: connection points for {} new machines together, {}\n",
            plain(&site.name),
            result.machines.len(),
            intervals_of(result.intervals, result.interval_s)
        ),
    );
    line(&mut text, &answer(result));
    line(&mut text, &proof(result));
    text.push_str(&together_table(result).text());
    let effect = effect_table(&result.effect, result.demand_window_min);
    text.push_str(&effect.text());
    let running = result.running_cost.sentences();
    sentences(&mut text, "Running cost of all of them", &running);
    let typical: Vec<String> = result
        .machines
        .iter()
        .flat_map(|placed| {
            let name = &placed.machine;
            placed
                .typical
                .iter()
                .map(move |said| format!("{name}: {said}"))
        })
        .collect();
    if !typical.is_empty() {
        sentences(&mut text, "Assumed: not on the rating plate", &typical);
    }
    sentences(&mut text, "Notes", &result.notes);
    sentences(&mut text, "Cautions", &result.cautions);
    text
}

fn answer(result: &Together) -> String {
    let fitting = result.machines.iter().filter(|placed| placed.fits).count();
    if result.all_fit {
        "All of them pass now.".to_owned()
    } else {
        format!(
            "{fitting} of {} pass now. Place the others with `--name` or `--apart` to see what would help.",
            result.machines.len()
        )
    }
}

/// Whether the choice is proven, and its gain over placing one machine after another.
fn proof(result: &Together) -> String {
    let proof = if result.is_best_of_all {
        format!(
            "Proven best of all {} combinations of connection points.",
            grouped_digits(&result.combinations.to_string())
        )
    } else {
        format!(
            "Best found: {} of {} combinations were checked, and a better one may exist.",
            grouped_digits(&result.looked_at.to_string()),
            grouped_digits(&result.combinations.to_string())
        )
    };
    let other = &result.one_after_the_other;
    format!(
        "{proof}\nTogether: neutral {} rms, {} pass. One after another in this order: neutral {} rms, {} pass.",
        format_amps(result.effect.neutral_rms_a.after),
        result.machines.iter().filter(|placed| placed.fits).count(),
        format_amps(other.neutral_rms_a),
        other.fitting
    )
}
