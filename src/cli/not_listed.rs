//! The error for a name that a command does not know.

use anyhow::anyhow;

use message::did_you_mean;

/// `there is no page \`x\`: did you mean \`y\`?; \`tapoff explain\` lists them`.
pub(super) fn not_listed<'n>(
    what: &str,
    command: &str,
    name: &str,
    names: impl IntoIterator<Item = &'n str>,
) -> anyhow::Error {
    let hint = did_you_mean(name, names)
        .map(|hint| format!(": {hint}"))
        .unwrap_or_default();
    anyhow!("there is no {what} `{name}`{hint}; `{command}` lists them")
}
