//! Energy by parts, alone and compared with another period.

use std::fmt::Write as _;

use super::wording::date_or_word;
use demand::{BreakdownBy, Compared, Comparison, EnergyPart, EnergyResult};
use tables::{Cell, Columns, PAGES, Table, columns, money, number, plain, words};
use units::{FigureKind as Q, format_date, grouped_digits};

/// A part, and its share of the energy of all parts. (%)
type PartRow<'p> = (&'p EnergyPart, Option<f64>);

/// Columns of terminal and page.
const SHOWN: [&str; 12] = [
    "key",
    "without",
    "energy_kwh",
    "share_pct",
    "lagging_kvarh",
    "max_demand_kw",
    "max_demand_kva",
    "cost",
    "carbon_kg",
    "basis",
    "estimated_kwh",
    "remark",
];

/// Columns of terminal and page where another period is compared.
const COMPARED: [&str; 11] = [
    "key",
    "other_key",
    "energy_kwh",
    "other_energy_kwh",
    "difference_kwh",
    "difference_pct",
    "cost",
    "other_cost",
    "difference_cost",
    "basis",
    "remark",
];

/// One row for each part, with its counterpart in the other period.
#[must_use]
pub fn breakdown_table(parts: &[EnergyPart], currency: Option<&str>) -> Table {
    let all: f64 = parts.iter().map(|part| part.energy_kwh).sum();
    let share = |part: &EnergyPart| (all != 0.0).then(|| 100.0 * part.energy_kwh / all);
    let is_compared = parts.iter().any(|part| part.compared.is_some());
    let mut declared = usual(currency, is_compared);
    if is_compared {
        declared = declared.and(compared(currency));
    }
    declared.table(
        "breakdown",
        "Energy by parts; parts with missing readings are marked",
        parts.iter().map(|part| (part, share(part))),
    )
}

fn usual<'p>(currency: Option<&str>, is_compared: bool) -> Columns<'p, PartRow<'p>> {
    columns! { (part, share) in PartRow<'p>;
        meter: words("Meter") => &part.meter;
        key: words("Part") => key_cell(part, &part.key);
        energy_kwh: number("Energy", Q::ActiveEnergy) => part.energy_kwh;
        share_pct: number("Share", Q::Percent).only(PAGES) => share;
        cost: money("Cost before tax", currency).optional() => part.cost;
        complete: words("Complete") => part.complete;
        by: words("By") => part.by.to_string();
        lagging_kvarh: number("Reactive, lagging", Q::ReactiveEnergy).optional() => part.details.lagging_kvarh;
        max_demand_kw: number("Maximum demand", Q::ActivePower).optional() => part.details.max_demand_kw;
        max_demand_kva: number("Maximum demand", Q::ApparentPower).optional() => part.details.max_demand_kva;
        basis: words("Basis").optional() => part.details.basis.map_or("", |basis| basis.words());
        estimated_kwh: number("Estimated part of it", Q::ActiveEnergy).optional() => part.details.estimated_kwh;
        carbon_kg: number("Carbon emissions", Q::Carbon).optional() => part.carbon_kg;
        without: words("Missing").optional() => part.details.without.join(", ");
        remark: words("Remark").only(PAGES).optional() => remark(part, is_compared);
    }
}

fn compared<'p>(currency: Option<&str>) -> Columns<'p, PartRow<'p>> {
    fn of<V: Into<Cell>>(part: &EnergyPart, says: impl Fn(&Compared) -> V) -> Cell {
        part.compared.as_ref().map(says).into()
    }
    columns! { (part, _) in PartRow<'p>;
        other_key: words("Part of the other period")
            => part.compared.as_ref().map_or_else(|| "".into(), |other| key_cell(part, &other.key));
        other_energy_kwh: number("Energy in the other period", Q::ActiveEnergy) => of(part, |other| other.energy_kwh);
        difference_kwh: number("Difference", Q::ActiveEnergy).signed() => of(part, |other| other.difference_kwh);
        difference_pct: number("Difference", Q::Percent).signed() => of(part, |other| other.difference_pct);
        other_cost: money("Cost in the other period", currency).optional() => of(part, |other| other.cost);
        difference_cost: money("Difference in cost", currency).signed().optional()
            => of(part, |other| other.difference_cost);
    }
}

/// The key of a part: a date where the parts are days.
fn key_cell(part: &EnergyPart, key: &str) -> Cell {
    match part.by {
        BreakdownBy::Day => date_or_word(key),
        _ => key.into(),
    }
}

fn remark(part: &EnergyPart, is_compared: bool) -> &'static str {
    match &part.compared {
        Some(other) if other.difference_kwh.is_none() => "not compared: readings missing",
        None if is_compared => "not in the other period",
        _ if !part.complete => "readings missing",
        _ => "",
    }
}

/// A table for each meter and each way of breaking down, with its sum, for terminal and page.
#[must_use]
pub fn part_tables(result: &EnergyResult, shows: impl Fn(&BreakdownBy) -> bool) -> Vec<Table> {
    let parts = result.breakdown.as_deref().unwrap_or_default();
    let alike = |a: &EnergyPart, b: &EnergyPart| a.meter == b.meter && a.by == b.by;
    let own = parts.chunk_by(alike).filter(|own| shows(&own[0].by));
    own.map(|own| one_meter(result, own)).collect()
}

fn one_meter(result: &EnergyResult, own: &[EnergyPart]) -> Table {
    let currency = result
        .cost
        .as_ref()
        .and_then(|bill| bill.currency.as_deref());
    let (id, by) = (&own[0].meter, &own[0].by);
    let measures = result.meters.iter().find(|meter| meter.id == *id);
    let measures = measures.map_or("", |meter| &meter.measures);
    let title = format!("Energy of {id} ({measures}) by {by}");
    let table = breakdown_table(own, currency);
    if result.comparison.is_some() {
        return table.part(title, &COMPARED);
    }
    let all: f64 = own.iter().map(|part| part.energy_kwh).sum();
    let mut costs = result.breakdown_costs.iter();
    let costs = costs.rfind(|costs| costs.meter == *id && costs.by == *by);
    let carbon = result.carbon.as_ref();
    let carbon = carbon.filter(|_| own.iter().any(|part| part.carbon_kg.is_some()));
    table
        .part(title, &SHOWN)
        .with_total(
            "total",
            [
                ("energy_kwh", all.into()),
                ("cost", costs.map_or_else(|| "".into(), |costs| costs.energy_cost.into())),
            ],
        )
        .with_notes(carbon.map(|carbon| format!("Carbon emissions by {}.", carbon.source)))
        .with_notes(costs.map(|costs| {
            let money = |amount: rust_decimal::Decimal| grouped_digits(&amount.to_string());
            format!(
                "Energy {} before tax, other charges {} (standing, demand, capacity, reactive energy, power factor, tax), \
                 total of the bill {}.",
                money(costs.energy_cost),
                money(costs.other_charges),
                money(costs.total)
            )
        }))
}

/// All parts as text, compared with another period where one is asked for.
#[must_use]
pub fn breakdown_text(result: &EnergyResult) -> String {
    let mut text = result.comparison.as_ref().map_or_else(String::new, periods);
    text.extend(part_tables(result, |_| true).iter().map(Table::text));
    if !result.breakdown_notes.is_empty() {
        text.push('\n');
    }
    for note in &result.breakdown_notes {
        let _ = writeln!(text, "  - {}", plain(note));
    }
    text
}

fn periods(periods: &Comparison) -> String {
    let last = |date: chrono::NaiveDate| format_date(date.pred_opt().unwrap_or(date));
    format!(
        "{} to {} compared with {} to {}\n",
        format_date(periods.from),
        last(periods.to),
        format_date(periods.other_from),
        last(periods.other_to)
    )
}
