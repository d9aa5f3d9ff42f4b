//! Reads `[meter.columns]`: which column holds which quantity.

use toml::Spanned;
use toml::de::DeValue;

use crate::declared::COLUMN;
use crate::model::meter::ColumnUse;
use crate::model::quantity::Quantity;
use crate::read::table::{Located, SiteTable};
use message::{Message, did_you_mean, similar};

pub(super) fn read_columns(table: &SiteTable<'_, '_>) -> Vec<ColumnUse> {
    let mut columns = Vec::new();
    for key in table.keys() {
        let Some(quantity) = Quantity::from_name(&key.value) else {
            let names: Vec<String> = Quantity::all().iter().map(ToString::to_string).collect();
            table.source.push(
                Message::error(
                    "unknown-quantity",
                    format!("unknown quantity `{}`", key.value),
                )
                .at(
                    table.source.place(&key.span),
                    "not a quantity that a meter may log",
                )
                .maybe_help(near(&key.value, &names)),
            );
            continue;
        };
        let Some(value) = table.value(&key.value) else {
            continue;
        };
        let uses = match value.get_ref() {
            DeValue::Array(parts) => {
                refuse_parts_of_levels(table, quantity, &key);
                parts
                    .iter()
                    .filter_map(|part| read_column(table, &key.value, quantity, part))
                    .collect()
            }
            _ => read_column(table, &key.value, quantity, value)
                .into_iter()
                .collect::<Vec<_>>(),
        };
        columns.extend(uses);
    }
    columns
}

/// The quantity that is meant, or those like it.
fn near(written: &str, names: &[String]) -> Option<String> {
    let names = || names.iter().map(String::as_str);
    did_you_mean(written, names()).or_else(|| {
        let similar = similar(written, names(), 6);
        let list = if similar.is_empty() {
            "`tapoff explain meter.columns` lists the quantities".to_owned()
        } else {
            format!("quantities like it: {}", similar.join(", "))
        };
        Some(list)
    })
}

/// Several columns make sense where their readings add up.
fn refuse_parts_of_levels(table: &SiteTable<'_, '_>, quantity: Quantity, key: &Located<String>) {
    if quantity.adds_up() {
        return;
    }
    table.source.push(
        Message::error(
            "parts-of-level",
            format!("`{}` cannot be the sum of several columns", key.value),
        )
        .at(
            table.source.place(&key.span),
            "only energies, active and reactive powers add up",
        )
        .help("name one column"),
    );
}

/// A column's name, alone or with its scale.
fn read_column<'s, 't>(
    table: &SiteTable<'s, 't>,
    key: &str,
    quantity: Quantity,
    value: &'s Spanned<DeValue<'t>>,
) -> Option<ColumnUse> {
    let (column, scale) = match value.get_ref() {
        DeValue::String(column) => (column.to_string(), None),
        DeValue::Integer(number) => (number.to_string(), None),
        _ => {
            let detail = table.as_table(key, value, &COLUMN)?;
            let column = detail.required_text("column").map(|text| text.value);
            let scale = detail.number("scale");
            detail.finish();
            (column?, scale)
        }
    };
    Some(ColumnUse {
        quantity,
        column,
        scale,
    })
}
