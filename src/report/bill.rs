//! What it costs, as the tariff's result gives it.

use serde_json::Value;

use super::format::{UNKNOWN, number};
use super::table::Table;

/// Every figure of the cost with the words of its keys; `None` without a tariff.
pub(super) fn cost_table(cost: Option<&Value>, currency: Option<&str>) -> Option<Table> {
    let mut rows = Vec::new();
    collect(cost?, "", &mut rows);
    let unit = currency.map_or_else(
        || "#Figure".to_owned(),
        |code| format!("#Figure [{code} where no other unit is named]"),
    );
    (!rows.is_empty()).then(|| Table::new("What it costs", &["Part", &unit], rows))
}

fn collect(value: &Value, name: &str, rows: &mut Vec<Vec<String>>) {
    let joined = |part: &str| {
        if name.is_empty() {
            part.to_owned()
        } else {
            format!("{name} · {part}")
        }
    };
    match value {
        Value::Object(map) => {
            for (key, value) in map {
                collect(value, &joined(&key.replace('_', " ")), rows);
            }
        }
        Value::Array(values) => {
            for (position, value) in values.iter().enumerate() {
                collect(value, &joined(&(position + 1).to_string()), rows);
            }
        }
        Value::Number(figure) => {
            let figure = figure
                .as_f64()
                .map_or_else(|| UNKNOWN.to_owned(), |f| number(f, 2));
            rows.push(vec![name.to_owned(), figure]);
        }
        Value::String(text) => rows.push(vec![name.to_owned(), text.clone()]),
        Value::Bool(yes) => rows.push(vec![
            name.to_owned(),
            if *yes { "yes" } else { "no" }.to_owned(),
        ]),
        Value::Null => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn every_figure_is_named_by_its_keys() {
        let cost = json!({ "total": 1234.5, "parts": [{ "day_rate": 7 }], "none": null });
        let table = cost_table(Some(&cost), Some("EUR")).expect("a table");
        assert_eq!(table.rows[0], ["total", "1\u{202F}234.50"]);
        assert_eq!(table.rows[1], ["parts · 1 · day rate", "7.00"]);
        assert_eq!(table.rows.len(), 2);
        assert!(cost_table(None, None).is_none());
    }
}
