//! A supplier's invoice set against the bill, line by line.
//!
//! In: the lines of an invoice as a CSV ([`read_invoice`]), the prices and what the meter saw. Out: an
//! [`InvoiceCheck`], each line with what was computed and, where the two differ, what the log can say about it.

mod check;
mod columns;
mod computed;
mod dates;
mod demand_line;
mod estimated;
mod evidence;
mod explain;
mod line;
mod other_terms;
mod read;
mod verdict;

pub use check::{CheckedLine, InvoiceCheck, check_invoice};
pub use columns::INVOICE;
pub use evidence::DifferenceEvidence;
pub use line::InvoiceLine;
pub use read::read_invoice;
pub use verdict::Verdict;
