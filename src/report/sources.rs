//! What the page rests on: program, day, files read, and the files written with it.

use chrono::NaiveDate;
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use tables::{Table, columns, words};

/// Hexadecimal digits of a checksum that are shown: enough to see that two files are not the same.
const SHOWN_DIGITS: usize = 16;

/// What a report was made from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sources {
    /// The day on which it was made.
    pub made_on: Option<NaiveDate>,
    /// The files that were read.
    pub files: Vec<SourceFile>,
}

/// A file that was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SourceFile {
    /// Its name in the site folder.
    pub name: String,
    /// The first digits of the SHA-256 of its bytes.
    pub checksum: String,
}

impl SourceFile {
    /// A file and its checksum.
    #[must_use]
    pub fn new(name: &str, bytes: &[u8]) -> SourceFile {
        let mut checksum = String::new();
        for byte in Sha256::digest(bytes).iter().take(SHOWN_DIGITS / 2) {
            write!(checksum, "{byte:02x}").expect("a String takes any text");
        }
        SourceFile {
            name: name.to_owned(),
            checksum,
        }
    }
}

/// The section.
#[derive(Debug)]
pub(super) struct SourcesView {
    pub(super) statement: String,
    pub(super) files: Table,
    /// File and what it holds.
    pub(super) companions: Vec<(&'static str, &'static str)>,
}

impl SourcesView {
    pub(super) fn new(sources: &Sources, has_plan: bool, has_places: bool) -> SourcesView {
        let made = sources.made_on.map_or_else(String::new, |day| {
            format!(" on {}", day.format("%-d %B %Y"))
        });
        let from = match sources.files.len() {
            0 => String::new(),
            1 => " from the file below".to_owned(),
            many => format!(" from the {many} files below"),
        };
        let plan: &[(&str, &str)] = if has_plan {
            &[
                ("work-order.csv", "order of work"),
                ("balance.csv", "plan"),
                ("balance.json", "plan with all figures"),
            ]
        } else {
            &[]
        };
        let places: &[(&str, &str)] = if has_places {
            &[("places.csv", "connection points of the new machines")]
        } else {
            &[]
        };
        let always = [
            ("circuit-chart.html", "circuit charts"),
            ("energy.csv", "energy"),
            ("energy.json", "energy with all figures"),
            ("diagnosis.json", "findings with their evidence"),
            ("report.json", "figures to compare a later report with"),
        ];
        SourcesView {
            statement: format!(
                "Made{made} by tapoff {}{from}; time zone data {}.",
                env!("CARGO_PKG_VERSION"),
                chrono_tz::IANA_TZDB_VERSION
            ),
            files: columns! { file in &SourceFile;
                name: words("File") => &file.name;
                checksum: words("SHA-256, first digits") => &file.checksum;
            }
            .table("files-read", "Files read", &sources.files),
            companions: plan.iter().chain(places).chain(&always).copied().collect(),
        }
    }
}
