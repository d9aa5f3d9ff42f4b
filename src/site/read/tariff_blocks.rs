//! Reads prices of energy by amount.

use rust_decimal::Decimal;

use super::table::SiteTable;
use message::Message;
use tariff::{BlockEnd, EnergyBlock};

type End = fn(Decimal) -> BlockEnd;
/// Keys for where a block ends.
const ENDS: [(&str, End); 3] = [
    ("up_to_kwh_per_month", BlockEnd::PerMonth),
    ("up_to_kwh_per_day", BlockEnd::PerDay),
    ("up_to_hours_of_demand", BlockEnd::PerDemand),
];

/// The blocks of a key, in order; `None` where there are none.
pub(crate) fn read_blocks(
    parent: &SiteTable<'_, '_>,
    key: &'static str,
) -> Option<Vec<EnergyBlock>> {
    let tables = parent.tables(key);
    let last = tables.len().checked_sub(1)?;
    let mut blocks: Vec<EnergyBlock> = Vec::new();
    let mut before: Option<(usize, Decimal)> = None;
    for (index, table) in tables.iter().enumerate() {
        let ends: Vec<(usize, Decimal)> = ENDS
            .iter()
            .enumerate()
            .filter_map(|(kind, (key, _))| Some((kind, table.decimal(key)?)))
            .collect();
        let rate = table.required_decimal("rate_per_kwh");
        table.finish();
        let is_written = ENDS.iter().any(|(key, _)| table.value(key).is_some());
        let is_wrong = match ends[..] {
            [] => index != last && !is_written,
            [(kind, end)] => {
                index == last || before.is_some_and(|(known, last)| known != kind || end <= last)
            }
            _ => true,
        };
        if is_wrong {
            table.source.push(
                Message::error(
                    "energy-blocks",
                    "the blocks of a price by amount must ascend, and only the last has no end",
                )
                .at(
                    table.source.place(&table.span),
                    "expected a larger `up_to_kwh_per_month` than before, and none in the last block",
                )
                .help(
                    "write `energy_blocks = [ { up_to_kwh_per_month = 5000, rate_per_kwh = 0.20 }, { rate_per_kwh \
                     = 0.17 } ]`",
                ),
            );
        }
        before = ends.first().copied().or(before);
        blocks.push(EnergyBlock {
            up_to: ends
                .first()
                .map_or(BlockEnd::Open, |(kind, end)| ENDS[*kind].1(*end)),
            rate_per_kwh: rate.unwrap_or_default(),
        });
    }
    Some(blocks)
}
