//! Ranges and times that several tables of a tariff have.

use declaration::{Key, ValueKind};

/// No price of the trade comes near. (currency)
pub(super) const HIGHEST_PRICE: f64 = 1e6;
/// No site uses as much in a month. (kWh)
pub(super) const MOST_KWH: f64 = 1e9;

/// Days, months and hours in which something holds; `what` says so of each.
pub(super) const fn window(
    days: &'static str,
    what: [&'static str; 4],
    needs: &'static str,
) -> [Key; 4] {
    [
        Key::new("days", ValueKind::Form(days), what[0])
            .or("\"daily\"")
            .example("\"Mon-Fri\"")
            .needs(needs),
        Key::new("months", ValueKind::Form(MONTHS), what[1])
            .or("\"1-12\"")
            .example("\"11-3\"")
            .needs(needs),
        Key::new(
            "from",
            ValueKind::Form("a full quarter-hour such as \"07:00\""),
            what[2],
        )
        .or("\"00:00\"")
        .example("\"07:00\"")
        .needs(needs),
        Key::new(
            "to",
            ValueKind::Form("a full quarter-hour, up to \"24:00\""),
            what[3],
        )
        .or("\"24:00\"")
        .example("\"19:00\"")
        .needs(needs),
    ]
}

/// Days of a charge.
pub(super) const DAYS: &str = "days such as \"Mon-Fri\" or \"Sat,Sun,holidays\"";
/// Months of a band, of a charge, of a ratchet.
pub(super) const MONTHS: &str = "months such as \"1-12\", \"11-3\" or \"6,7,8\"";
