//! Something the reader should act on, with its evidence, source and caution.

use serde::Serialize;

/// How much it matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// People or plant may be hurt: act now.
    Danger,
    /// A limit is exceeded or soon will be.
    Warning,
    /// Worth knowing.
    Notice,
}
