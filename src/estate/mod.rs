//! Many sites as one estate: each analysed by itself, their results as tables, one page and queries.
//!
//! In: the sites of an estate ([`estate_sites`]), and of each the results of its analysis ([`Analysed`]). Out: of each
//! site a [`SitePart`], one file with its rows of every table ([`SiteTables`]); of all sites the tables ([`merge()`]), the
//! demand at one time ([`coincident()`]), an [`EstateResult`] and its page. Nothing here starts a process or reads a log: an engine
//! does ([`SPARK_JOB`], or the command itself), and whichever wrote the tables, page and sums are made from them.

mod all_sites;
mod coincident;
mod inputs;
mod listing;
mod merge;
mod page;
mod part;
mod peers;
mod queries;
mod rank;
mod ranked_tables;
mod read_table;
mod site_row;
mod spark;
mod supply;
mod tables;
mod totals;
mod weeks;

pub use crate::tables::{Analysed, COLUMNS, Month, SiteTables, TABLES};
pub use all_sites::{FindingRow, ProblemRow, problems_by_kind, workbook_tables};
pub use coincident::{
    CoincidentMaximum, CoincidentPeriod, coincident, coincident_table, common_period_s, maximum,
};
pub use inputs::Inputs;
pub use listing::{ESTATE_TOML, estate_sites, site_path};
pub use merge::{merge, table_folder};
pub use page::{PageInput, page};
pub use part::{PartEntry, SitePart, part_bytes, part_file, short_name};
pub use peers::{PeerGroup, PeerUse, peers};
pub use queries::{QUERIES, Query};
pub use rank::rank;
pub use read_table::{csv_of, read_table};
pub use site_row::{SiteRow, SiteStatus, sites_table};
pub use spark::SPARK_JOB;
pub use totals::{EstateResult, EstateTotals, KnownSum};
