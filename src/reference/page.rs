//! A page of the reference, and a section of them.

/// What there is to say about one name.
#[derive(Clone, Debug)]
pub struct ReferencePage {
    /// Full name, its own in the reference: `supply.phase_limit_a`.
    pub name: String,
    /// Name as it is written in the file: `phase_limit_a`.
    pub short: String,
    /// Title for people, of a finding; empty where the name is the title.
    pub title: &'static str,
    /// What it is: `a key of [supply] in site.toml`.
    pub what: String,
    /// What it means.
    pub meaning: String,
    /// Heading and text of what else there is to say: values, unit, default; of a finding its formula and action.
    pub facts: Vec<(&'static str, String)>,
    /// As it is written in the file; empty where nothing is written.
    pub example: String,
}

/// Pages that belong together: a table, a file, the findings.
#[derive(Clone, Debug)]
pub struct Section {
    /// Name by which it is found: `supply`, `machines.csv`.
    pub name: String,
    /// Heading: `site.toml: [supply]`.
    pub title: String,
    /// What it is for.
    pub meaning: String,
    /// As it is written in the file; empty where nothing is.
    pub example: String,
    /// Its pages.
    pub pages: Vec<ReferencePage>,
}
