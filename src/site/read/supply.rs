//! Reads `[supply]` and refuses what is not three-phase four-wire star.

use toml::de::DeValue;

use super::table::SiteTable;
use crate::model::site::Supply;
use message::{Message, Place};

/// Largest current that a limit may be given in. (A)
pub(crate) const LARGEST_CURRENT_A: f64 = 20_000.0;

pub(crate) fn read(root: &SiteTable<'_, '_>) -> Option<Supply> {
    // Without it there are no limits: enough for energy and bills.
    let Some(table) = root.table("supply") else {
        let is_installation = ["board", "circuit"]
            .iter()
            .any(|key| root.value(key).is_some());
        if is_installation && root.value("supply").is_none() {
            root.source.push(
                Message::error("missing-table", "`site.toml` needs the table `[supply]`")
                    .at(Place::file("site.toml"), "")
                    .help("add `[supply]` with `line_voltage_v = 400` and `phase_limit_a = 100`"),
            );
            return None;
        }
        return root.value("supply").is_none().then(Supply::not_declared);
    };
    let accepted = is_four_wire_star(&table);
    let line_voltage_v = table.required_number("line_voltage_v");
    let frequency_hz = table.number("frequency_hz");
    let phase_limit_a = table.required_number("phase_limit_a");
    let neutral_limit_a = table.number("neutral_limit_a");
    let transformer_kva = table.number("transformer_kva");
    let conductor_marks = read_marks(&table);
    table.finish();
    let phase_limit_a = phase_limit_a?;
    accepted.then_some(())?;
    Some(Supply {
        declared: true,
        line_voltage_v: line_voltage_v?,
        frequency_hz: frequency_hz.unwrap_or(50.0),
        phase_limit_a,
        neutral_limit_a: neutral_limit_a.unwrap_or(phase_limit_a),
        transformer_kva,
        conductor_marks,
    })
}

/// What the rest of the site is read against where the supply itself is at fault; never part of a
/// site that is returned.
pub(crate) fn stand_in() -> Supply {
    Supply {
        declared: true,
        line_voltage_v: 400.0,
        frequency_hz: 50.0,
        phase_limit_a: LARGEST_CURRENT_A,
        neutral_limit_a: LARGEST_CURRENT_A,
        transformer_kva: None,
        conductor_marks: None,
    }
}

/// `system`, `phases` and `wires` may say what the supply is; only one answer can be worked with.
fn is_four_wire_star(table: &SiteTable<'_, '_>) -> bool {
    let mut accepted = true;
    let mut refuse = |span: &std::ops::Range<usize>, found: String| {
        // One reason is enough.
        if !std::mem::replace(&mut accepted, false) {
            return;
        }
        table.source.push(
            Message::error(
                "not-four-wire-star",
                "only a three-phase four-wire star supply can be analysed",
            )
            .at(
                table.source.place(span),
                format!("expected three phases and neutral, found {found}"),
            )
            .note(
                "the neutral current of other systems (single-phase, split-phase, delta without \
                 neutral) follows other rules, and wrong figures would be worse than none",
            ),
        );
    };
    if let Some(system) = table.text("system") {
        let words = system.value.to_lowercase().replace(['-', '_'], " ");
        if words != "three phase four wire" {
            refuse(&system.span, format!("`{}`", system.value));
        }
    }
    if let Some(phases) = table.whole("phases")
        && phases.value != 3
    {
        let plural = if phases.value == 1 { "" } else { "s" };
        refuse(&phases.span, format!("{} phase{plural}", phases.value));
    }
    if let Some(wires) = table.whole("wires") {
        // Five wires: the protective conductor is counted as well.
        if wires.value != 4 && wires.value != 5 {
            let plural = if wires.value == 1 { "" } else { "s" };
            refuse(&wires.span, format!("{} wire{plural}", wires.value));
        }
    }
    accepted
}

fn read_marks(table: &SiteTable<'_, '_>) -> Option<[String; 4]> {
    let value = table.either("conductor_colours")?;
    if let DeValue::String(_) = value.get_ref() {
        let text = table.text("conductor_colours")?;
        let marks: Vec<&str> = text.value.split('-').map(str::trim).collect();
        if let [l1, l2, l3] = marks[..] {
            // Neutral of the two codes (BS 7671 amendment 2:2004, before and after).
            let neutral = match text.value.as_str() {
                "brown-black-grey" => "blue",
                "red-yellow-blue" => "black",
                _ => "N",
            };
            return Some([l1, l2, l3, neutral].map(str::to_owned));
        }
        table.source.push(
            Message::error(
                "conductor-colours",
                "`conductor_colours` must name the marks of L1, L2 and L3",
            )
            .at(
                table.source.place(&text.span),
                "expected three words joined by `-`, such as `brown-black-grey`",
            ),
        );
        None
    } else {
        let marks = table.as_table("conductor_colours", value, table.below("conductor_colours"))?;
        let read = [
            marks.required_text("l1"),
            marks.required_text("l2"),
            marks.required_text("l3"),
            marks.required_text("n"),
        ];
        marks.finish();
        let [l1, l2, l3, n] = read;
        Some([l1?.value, l2?.value, l3?.value, n?.value])
    }
}
