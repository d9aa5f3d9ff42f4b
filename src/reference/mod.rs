//! The reference: what every key, column, quantity, finding and message means.
//!
//! In: the declarations that the readers use, and the pages of findings and messages. Out: [`Section`]s of [`ReferencePage`]s,
//! found by name, as text or as one HTML page.

mod collect;
mod find;
mod html;
mod page;
mod text;
mod wrap;

pub use collect::sections;
pub use find::{FoundPage, find, names};
pub use html::reference_page;
pub use page::{ReferencePage, Section};
pub use text::{contents_text, found_text};
