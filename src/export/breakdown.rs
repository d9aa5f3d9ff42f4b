//! Energy by parts as text.

use std::fmt::Write;

use super::bill_text::money;
use super::text_table::{Side, plain, table};
use demand::{EnergyPart, EnergyResult, PartsCost};
use units::{fixed, format_kwh, or_dash};

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
    if let Some(carbon) = result.carbon.as_ref().filter(|_| shown.has_carbon()) {
        let _ = writeln!(out, "  Carbon is by {}.", plain(&carbon.source));
    }
    if let Some(costs) = costs {
        let _ = writeln!(
            out,
            "  Energy {}, before tax, and other charges {} (standing, demand, capacity, reactive energy, power factor, \
             tax) are the bill of {}.",
            money(costs.energy_cost),
            money(costs.other_charges),
            money(costs.total)
        );
    }
}

/// A column that is shown where it has something to say: its head, and what it says of a part.
type Optional = (&'static str, fn(&EnergyPart) -> Option<String>);

const COST: &str = "cost";

const OPTIONAL: [Optional; 5] = [
    ("lagging (kvarh)", |part| {
        part.told.lagging_kvarh.map(|kvarh| fixed(kvarh, 1))
    }),
    ("max (kW)", |part| {
        part.told.max_demand_kw.map(|kw| fixed(kw, 2))
    }),
    ("max (kVA)", |part| {
        part.told.max_demand_kva.map(|kva| format!("{kva:.2}"))
    }),
    (COST, |part| part.cost.map(money)),
    ("carbon (kg)", |part| part.carbon_kg.map(|kg| fixed(kg, 1))),
];

/// The columns of a table.
struct Shown {
    optional: Vec<Optional>,
}

impl Shown {
    fn of(parts: &[EnergyPart]) -> Shown {
        let says = |(_, of): &Optional| parts.iter().any(|part| of(part).is_some());
        Shown {
            optional: OPTIONAL.into_iter().filter(says).collect(),
        }
    }

    fn has_carbon(&self) -> bool {
        self.optional.iter().any(|(head, _)| *head == OPTIONAL[4].0)
    }

    fn header(&self) -> Vec<(&'static str, Side)> {
        let mut header = vec![
            ("", Side::Left),
            ("energy", Side::Right),
            ("share (%)", Side::Right),
        ];
        header.extend(self.optional.iter().map(|(head, _)| (*head, Side::Right)));
        header.push(("", Side::Left));
        header
    }

    fn row(&self, part: &EnergyPart, all: f64) -> Vec<String> {
        let share = if all == 0.0 {
            String::new()
        } else {
            fixed(100.0 * part.energy_kwh / all, 1)
        };
        let mut row = vec![name(part), format_kwh(part.energy_kwh), share];
        let cells = self
            .optional
            .iter()
            .map(|(_, of)| or_dash(of(part), |text| text));
        row.extend(cells);
        row.push(remark(part));
        row
    }

    fn together(&self, all: f64, costs: Option<&PartsCost>) -> Vec<String> {
        let mut row = vec!["together".to_owned(), format_kwh(all), String::new()];
        row.extend(self.optional.iter().map(|(head, _)| match costs {
            Some(costs) if *head == COST => money(costs.energy_cost),
            _ => String::new(),
        }));
        row.push(String::new());
        row
    }
}

/// `DB1 without DB2`.
fn name(part: &EnergyPart) -> String {
    let key = plain(&part.key);
    if part.told.without.is_empty() {
        return key;
    }
    format!("{key} without {}", plain(&part.told.without.join(", ")))
}

/// Where it comes from, and what is missing.
fn remark(part: &EnergyPart) -> String {
    let basis = part.told.basis.map(|basis| basis.words().to_owned());
    let missing = (!part.complete).then(|| "readings missing".to_owned());
    let words: Vec<String> = basis.into_iter().chain(missing).collect();
    words.join("; ")
}
