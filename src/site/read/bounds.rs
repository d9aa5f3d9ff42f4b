//! How large a site may be. Far beyond any workshop, far below what a computer cannot hold: a site made by mistake or
//! in malice ends in a message, not in hours of work or all of the memory.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::table::Source;
use message::Message;

/// The largest of the files that people write: site.toml, the machine list, readings. (bytes)
pub(crate) const LARGEST_FILE: u64 = 16 << 20;

/// Rows of the machine list.
pub(crate) const MOST_MACHINES: usize = 10_000;

/// Tables of site.toml by their names.
const MOST_TABLES: [(&str, usize); 6] = [
    ("board", 1_000),
    ("circuit", 10_000),
    ("meter", 1_000),
    ("schedule", 1_000),
    ("cable_size", 1_000),
    ("tariff", 1_000),
];

/// Complains about lists that are too long; true where there is one.
pub(crate) fn exceeded(root: &DeTable<'_>, source: &Source<'_>) -> bool {
    let mut found = false;
    for (name, most) in MOST_TABLES {
        let Some(DeValue::Array(list)) = root.get(name).map(Spanned::get_ref) else {
            continue;
        };
        let Some(first) = list.get(most) else {
            continue;
        };
        found = true;
        source.push(
            Message::error(
                "too-many",
                format!(
                    "`site.toml` has {} `[[{name}]]`; a site may have {most}",
                    list.len()
                ),
            )
            .at(source.place(&first.span()), "the first one too many")
            .help("make a site of each building or workshop"),
        );
    }
    found
}
