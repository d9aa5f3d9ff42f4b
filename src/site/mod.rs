//! The installation as declared.

mod connection;

pub use connection::{Connection, NotAConnection};
