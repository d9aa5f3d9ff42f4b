//! A page of `tapoff explain` on a kind of finding.

/// A page about a kind of finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Page {
    /// What it means.
    pub meaning: &'static str,
    /// How it is worked out.
    pub formula: &'static str,
    /// Where that comes from.
    pub source: &'static str,
    /// What else can look like it.
    pub imitators: &'static str,
    /// What to do.
    pub action: &'static str,
    /// How not to be hurt, or misled.
    pub caution: &'static str,
}
