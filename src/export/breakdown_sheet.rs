//! Energy by parts as a sheet, each column declared once.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::bill_sheets::money;
use super::sheet::{Cell, Field, Sheet, field};
use demand::{Compared, EnergyPart};

type Part<'p> = &'p EnergyPart;

/// One row for each part; beside another period with what it had.
pub(super) fn breakdown_sheet(parts: &[EnergyPart], currency: Option<&str>) -> Sheet {
    let mut fields = usual(currency);
    if parts.iter().any(|part| part.compared.is_some()) {
        fields.extend(beside(currency));
    }
    Sheet::of(
        "breakdown",
        "Energy by parts; parts without all their readings are marked",
        parts,
        fields,
    )
}

/// One row for each part.
///
/// # Errors
///
/// Those of the CSV writer, which memory does not provoke.
pub fn breakdown_csv(parts: &[EnergyPart]) -> Result<String, csv::Error> {
    breakdown_sheet(parts, None).csv()
}

fn usual<'p>(currency: Option<&str>) -> Vec<Field<Part<'p>>> {
    vec![
        field("meter", "meter", 0, |part: &Part| {
            part.meter.as_str().into()
        }),
        field("key", "part", 0, |part| part.key.as_str().into()),
        field("energy_kwh", "energy (kWh)", 2, |part| {
            part.energy_kwh.into()
        }),
        field("cost", &money("cost before tax", currency), 2, |part| {
            amount(part.cost)
        }),
        field("complete", "complete", 0, |part| part.complete.into()),
        field("by", "by", 0, |part| Cell::Text(part.by.to_string())),
        field("lagging_kvarh", "reactive, lagging (kvarh)", 2, |part| {
            part.told.lagging_kvarh.into()
        }),
        field("max_demand_kw", "maximum demand (kW)", 2, |part| {
            part.told.max_demand_kw.into()
        }),
        field("max_demand_kva", "maximum demand (kVA)", 2, |part| {
            part.told.max_demand_kva.into()
        }),
        field("basis", "comes from", 0, |part| {
            part.told.basis.map_or("", |basis| basis.words()).into()
        }),
        field("declared_kwh", "of it declared (kWh)", 2, |part| {
            part.told.declared_kwh.into()
        }),
        field("carbon_kg", "carbon by the user's factor (kg)", 2, |part| {
            part.carbon_kg.into()
        }),
        field("without", "without", 0, |part| {
            Cell::Text(part.told.without.join(", "))
        }),
    ]
}

fn beside<'p>(currency: Option<&str>) -> Vec<Field<Part<'p>>> {
    vec![
        field("other_key", "other part", 0, |part: &Part| {
            let other = part.compared.as_ref();
            other.map_or("", |other| other.key.as_str()).into()
        }),
        field("other_energy_kwh", "its energy (kWh)", 2, |part| {
            of_other(part, |other| Some(other.energy_kwh)).into()
        }),
        field("difference_kwh", "difference (kWh)", 2, |part| {
            of_other(part, |other| other.difference_kwh).into()
        }),
        field("difference_pct", "difference (%)", 1, |part| {
            of_other(part, |other| other.difference_pct).into()
        }),
        field("other_cost", &money("its cost", currency), 2, |part| {
            amount(part.compared.as_ref().and_then(|other| other.cost))
        }),
        field(
            "difference_cost",
            &money("difference of cost", currency),
            2,
            |part| {
                let other = part.compared.as_ref();
                amount(other.and_then(|other| other.difference_cost))
            },
        ),
    ]
}

fn of_other(part: Part<'_>, of: impl Fn(&Compared) -> Option<f64>) -> Option<f64> {
    part.compared.as_ref().and_then(of)
}

fn amount(money: Option<Decimal>) -> Cell {
    Cell::Number(money.and_then(|money| money.to_f64()))
}
