//! Reads charges for reactive energy and for a low power factor.

use rust_decimal::Decimal;

use super::table::SiteTable;
use super::tariff_bands::read_window;
use message::Message;
use tariff::{EnergyDirection, PowerFactorSurcharge, ReactiveCharge, ReactiveFlow, ReactiveStep};

/// All charges for reactive energy.
pub(crate) fn read_reactive(tariff: &SiteTable<'_, '_>) -> Vec<ReactiveCharge> {
    let mut charges: Vec<ReactiveCharge> = Vec::new();
    for table in tariff.table_or_tables("reactive") {
        let name = table.text("charge").map(|name| name.value);
        let flow = table.word(
            "of",
            &[
                ("lagging", ReactiveFlow::Lagging),
                ("leading", ReactiveFlow::Leading),
                ("net", ReactiveFlow::Net),
            ],
        );
        let by_quarter_hour = table.word("share_of", &[("month", false), ("quarter-hour", true)]);
        let only_while = table.word(
            "while",
            &[
                ("import", EnergyDirection::Import),
                ("export", EnergyDirection::Export),
            ],
        );
        let window = read_window(&table);
        let free = table.required_decimal("free_share_of_kwh");
        let rate = table.required_decimal("rate_per_kvarh");
        let mut steps: Vec<ReactiveStep> = Vec::new();
        steps.extend(step(free, rate));
        for more in table.tables("steps") {
            let above = more.required_decimal("above_share_of_kwh");
            let rate = more.required_decimal("rate_per_kvarh");
            more.finish();
            let next = step(above, rate);
            let ascends = |next: &ReactiveStep| {
                steps
                    .last()
                    .is_none_or(|last| last.above_share < next.above_share)
            };
            if next.as_ref().is_some_and(|next| !ascends(next)) {
                more.source.push(
                    Message::error("reactive-steps", "the steps of reactive energy must ascend")
                        .at(more.source.place(&more.span), "expected a larger share than before")
                        .help("write the steps with their shares in ascending order, all above `free_share_of_kwh`"),
                );
            }
            steps.extend(next);
        }
        table.finish();
        if charges.iter().any(|known| known.name == name) {
            table.source.push(
                Message::error(
                    "charge-twice",
                    "two charges for reactive energy have one name",
                )
                .at(table.source.place(&table.span), "the second one")
                .help("give each its own `charge = \"…\"`, such as \"leading\""),
            );
        }
        let (Some(window), false) = (window, steps.is_empty()) else {
            continue;
        };
        charges.push(ReactiveCharge {
            name,
            flow: flow.unwrap_or(ReactiveFlow::Lagging),
            by_quarter_hour: by_quarter_hour.unwrap_or(false),
            window,
            only_while,
            steps,
        });
    }
    charges
}

fn step(above: Option<Decimal>, rate: Option<Decimal>) -> Option<ReactiveStep> {
    Some(ReactiveStep {
        above_share: above?,
        rate_per_kvarh: rate?,
    })
}

/// The surcharge on a low power factor.
pub(crate) fn read_power_factor(tariff: &SiteTable<'_, '_>) -> Option<PowerFactorSurcharge> {
    let table = tariff.table("power_factor")?;
    let below = table.required_decimal("below");
    let rate = table.required_decimal("surcharge_per_kwh_per_pct");
    let net = table.word("reactive", &[("lagging", false), ("net", true)]);
    table.finish();
    Some(PowerFactorSurcharge {
        below: below?,
        surcharge_per_kwh_per_pct: rate?,
        net: net.unwrap_or(false),
    })
}
