//! Energy by parts as text, CSV and a sheet.

use std::fmt::Write;

use rust_decimal::prelude::ToPrimitive;

use super::bill_text::money;
use super::sheet::{Cell, Sheet, column};
use super::text_table::{Side, plain, table};
use crate::demand::{EnergyPart, EnergyResult, PartsCost};
use crate::units::{format_kwh, or_dash};

/// A table for each meter and each way of breaking down, with its sum.
#[must_use]
pub fn breakdown_text(result: &EnergyResult) -> String {
    let mut out = String::new();
    let parts = result.breakdown.as_deref().unwrap_or_default();
    let alike = |a: &EnergyPart, b: &EnergyPart| a.meter == b.meter && a.by == b.by;
    for own in parts.chunk_by(alike) {
        let costs = result.breakdown_costs.iter();
        let mut costs = costs.filter(|cost| cost.meter == own[0].meter && cost.by == own[0].by);
        one_meter(&mut out, result, own, costs.next_back());
    }
    if !result.breakdown_notes.is_empty() {
        out.push('\n');
        for note in &result.breakdown_notes {
            let _ = writeln!(out, "  - {}", plain(note));
        }
    }
    out
}

fn one_meter(
    out: &mut String,
    result: &EnergyResult,
    own: &[EnergyPart],
    costs: Option<&PartsCost>,
) {
    let id = &own[0].meter;
    let measures = result.meters.iter().find(|meter| meter.id == *id);
    let measures = measures.map_or("", |meter| meter.measures.as_str());
    let _ = writeln!(
        out,
        "\n{} measures {}, by {}",
        plain(id),
        plain(measures),
        plain(&own[0].by.to_string())
    );
    let shown = Shown::of(own);
    let all: f64 = own.iter().map(|part| part.energy_kwh).sum();
    let mut rows: Vec<Vec<String>> = own.iter().map(|part| shown.row(part, all)).collect();
    rows.push(shown.together(all, costs));
    out.push_str(&table(&shown.header(), &rows));
    if let Some(costs) = costs {
        let _ = writeln!(
            out,
            "  Energy {} and other charges {} (standing, demand, capacity, reactive energy, power factor, tax) are \
             the bill of {}.",
            money(costs.energy_cost),
            money(costs.other_charges),
            money(costs.total)
        );
    }
}

/// Which columns have something to say.
struct Shown {
    cost: bool,
    demand: bool,
    kvarh: bool,
}

impl Shown {
    fn of(parts: &[EnergyPart]) -> Shown {
        Shown {
            cost: parts.iter().any(|part| part.cost.is_some()),
            demand: parts.iter().any(|part| part.max_demand_kw.is_some()),
            kvarh: parts.iter().any(|part| part.lagging_kvarh.is_some()),
        }
    }

    fn header(&self) -> Vec<(&'static str, Side)> {
        let optional = [
            (self.kvarh, "lagging (kvarh)"),
            (self.demand, "max (kW)"),
            (self.demand, "max (kVA)"),
            (self.cost, "cost"),
        ];
        let mut header = vec![
            ("", Side::Left),
            ("energy", Side::Right),
            ("share (%)", Side::Right),
        ];
        let optional = optional.into_iter().filter(|(wanted, _)| *wanted);
        header.extend(optional.map(|(_, head)| (head, Side::Right)));
        header.push(("", Side::Left));
        header
    }

    fn row(&self, part: &EnergyPart, all: f64) -> Vec<String> {
        let share = if all == 0.0 {
            String::new()
        } else {
            format!("{:.1}", 100.0 * part.energy_kwh / all)
        };
        let mut row = vec![name(part), format_kwh(part.energy_kwh), share];
        if self.kvarh {
            row.push(or_dash(part.lagging_kvarh, |kvarh| format!("{kvarh:.1}")));
        }
        if self.demand {
            row.push(or_dash(part.max_demand_kw, |kw| format!("{kw:.2}")));
            row.push(or_dash(part.max_demand_kva, |kva| format!("{kva:.2}")));
        }
        if self.cost {
            row.push(or_dash(part.cost, money));
        }
        row.push(remark(part));
        row
    }

    fn together(&self, all: f64, costs: Option<&PartsCost>) -> Vec<String> {
        let mut row = vec!["together".to_owned(), format_kwh(all), String::new()];
        let between = usize::from(self.kvarh) + 2 * usize::from(self.demand);
        row.extend((0..between).map(|_| String::new()));
        if self.cost {
            row.push(costs.map_or_else(String::new, |costs| money(costs.energy_cost)));
        }
        row.push(String::new());
        row
    }
}

/// `DB1 without DB2`.
fn name(part: &EnergyPart) -> String {
    let key = plain(&part.key);
    if part.without.is_empty() {
        return key;
    }
    format!("{key} without {}", plain(&part.without.join(", ")))
}

/// Where it comes from, and what is missing.
fn remark(part: &EnergyPart) -> String {
    let basis = part.basis.map(|basis| basis.words().to_owned());
    let missing = (!part.complete).then(|| "readings missing".to_owned());
    let words: Vec<String> = basis.into_iter().chain(missing).collect();
    words.join("; ")
}

/// The parts as a table.
pub(super) fn breakdown_sheet(parts: &[EnergyPart]) -> Sheet {
    let rows = parts.iter().map(|part| {
        vec![
            part.meter.as_str().into(),
            part.key.as_str().into(),
            part.energy_kwh.into(),
            part.cost.and_then(|cost| cost.to_f64()).into(),
            part.complete.into(),
            Cell::Text(part.by.to_string()),
            part.lagging_kvarh.into(),
            part.max_demand_kw.into(),
            part.max_demand_kva.into(),
            part.basis.map_or("", |basis| basis.words()).into(),
            part.declared_kwh.into(),
            Cell::Text(part.without.join(", ")),
        ]
    });
    Sheet {
        name: "breakdown",
        title: "Energy by parts; parts without all their readings are marked".to_owned(),
        columns: vec![
            column("meter", "meter", 0),
            column("key", "part", 0),
            column("energy_kwh", "energy (kWh)", 2),
            column("cost", "cost", 2),
            column("complete", "complete", 0),
            column("by", "by", 0),
            column("lagging_kvarh", "reactive, lagging (kvarh)", 2),
            column("max_demand_kw", "maximum demand (kW)", 2),
            column("max_demand_kva", "maximum demand (kVA)", 2),
            column("basis", "comes from", 0),
            column("declared_kwh", "of it declared (kWh)", 2),
            column("without", "without", 0),
        ],
        rows: rows.collect(),
    }
}

/// One row for each part.
///
/// # Errors
///
/// Those of the CSV writer, which memory does not provoke.
pub fn breakdown_csv(parts: &[EnergyPart]) -> Result<String, csv::Error> {
    breakdown_sheet(parts).csv()
}
