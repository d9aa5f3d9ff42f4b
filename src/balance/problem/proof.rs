//! How sure an answer is.

use schemars::JsonSchema;
use serde::Serialize;

/// How far the result is known to be the best.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Proof {
    /// No other allocation is better.
    Optimal,
    /// The best found; a lower bound limits how much better another could be.
    Gap,
    /// The best found; nothing is known about others.
    None,
}
