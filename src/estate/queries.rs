//! The estate's answers as SQL over its tables.
//!
//! Each query keeps to what Spark SQL and an embedded engine have in common. A table is its folder below `tables`; the zone of
//! the session is UTC.

/// A query: its name, what it answers, and its text.
#[derive(Clone, Copy, Debug)]
pub struct Query {
    /// Name.
    pub name: &'static str,
    /// What it answers.
    pub about: &'static str,
    /// The text, with a comment at its head.
    pub sql: &'static str,
}

const fn query(name: &'static str, about: &'static str, sql: &'static str) -> Query {
    Query { name, about, sql }
}

/// All queries.
pub const QUERIES: [Query; 8] = [
    query(
        "coincident-demand",
        "demand of all sites in each period, with its range",
        include_str!("sql/coincident-demand.sql"),
    ),
    query(
        "coincident-maximum",
        "the highest of it",
        include_str!("sql/coincident-maximum.sql"),
    ),
    query(
        "dangers",
        "dangers that are not accepted, by site",
        include_str!("sql/dangers.sql"),
    ),
    query(
        "energy-by-month",
        "energy imported and exported by month and group",
        include_str!("sql/energy-by-month.sql"),
    ),
    query(
        "bill-by-line",
        "the portfolio's bill by currency and line",
        include_str!("sql/bill-by-line.sql"),
    ),
    query(
        "gain-by-moves",
        "sites by what the recommended moves take off the neutral",
        include_str!("sql/gain-by-moves.sql"),
    ),
    query(
        "totals",
        "sums over all sites",
        include_str!("sql/totals.sql"),
    ),
    query(
        "data-quality",
        "problems found in the data, by kind",
        include_str!("sql/data-quality.sql"),
    ),
];
