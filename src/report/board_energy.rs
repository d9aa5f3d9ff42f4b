//! Energy by board, with what it costs.

use super::format::quoted;
use super::study_tables::StudyTable;
use super::table::Table;
use demand::{BreakdownBy, EnergyPart, EnergyResult};
use units::{fixed, format_kwh, grouped_digits, or_dash};

/// The parts by board, where they were asked for; figures that no part has are left out.
pub(super) fn board_energy(energy: &EnergyResult) -> Option<StudyTable> {
    let parts = energy.breakdown.iter().flatten();
    let parts: Vec<&EnergyPart> = parts.filter(|part| part.by == BreakdownBy::Board).collect();
    let all: f64 = parts.iter().map(|part| part.energy_kwh).sum();
    if parts.is_empty() || all <= 0.0 {
        return None;
    }
    let costs = parts.iter().any(|part| part.cost.is_some());
    let carbon = parts.iter().any(|part| part.carbon_kg.is_some());
    let currency = energy.cost.as_ref().and_then(|bill| bill.currency.clone());
    let cost = currency.map_or_else(
        || "#Cost before tax".to_owned(),
        |currency| format!("#Cost before tax [{currency}]"),
    );
    let mut heads = vec!["Board", "#Energy", "#Share [%]"];
    heads.extend(costs.then_some(cost.as_str()));
    heads.extend(carbon.then_some("#Carbon [kg]"));
    heads.push("Comes from");
    let row = |part: &&EnergyPart| {
        let mut row = vec![
            name(part),
            format_kwh(part.energy_kwh),
            fixed(100.0 * part.energy_kwh / all, 1),
        ];
        row.extend(costs.then(|| or_dash(part.cost, |cost| grouped_digits(&cost.to_string()))));
        row.extend(carbon.then(|| or_dash(part.carbon_kg, |kg| fixed(kg, 1))));
        row.push(comes_from(part));
        row
    };
    let rows = parts.iter().map(row).collect();
    let whole = energy.breakdown_costs.first().map(|costs| {
        format!(
            "Together the parts cost the energy lines of the bill, {}; its other charges, {}, belong to no board. ",
            costs.energy_cost, costs.other_charges
        )
    });
    let mut notes = energy.breakdown_notes.join("; ");
    if !notes.is_empty() {
        notes.push('.');
    }
    Some(StudyTable {
        table: Table::new("Energy by board", &heads, rows),
        method: quoted(format!("{}{notes}", whole.unwrap_or_default()).trim()),
    })
}

fn name(part: &EnergyPart) -> String {
    if part.told.without.is_empty() {
        return part.key.clone();
    }
    format!("{} without {}", part.key, part.told.without.join(", "))
}

fn comes_from(part: &EnergyPart) -> String {
    let basis = part.told.basis.map_or("", |basis| basis.words());
    if part.complete {
        return basis.to_owned();
    }
    format!("{basis}; readings missing")
}
