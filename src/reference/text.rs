//! The reference as text for a terminal.

use std::fmt::Write;

use crate::wrap::wrapped;

use crate::find::FoundPage;
use crate::page::{ReferencePage, Section};

/// The table of contents: every section with the names in it.
#[must_use]
pub fn contents_text(sections: &[Section]) -> String {
    let mut text = String::from(
        "tapoff explain NAME shows what a name means: a table, key, column, quantity, finding or message.\n\
         tapoff explain --html FILE writes all of it as one page.\n",
    );
    for section in sections {
        let _ = writeln!(text, "\n{}  ({})", section.title, section.name);
        let names: Vec<&str> = section
            .pages
            .iter()
            .map(|page| page.short.as_str())
            .collect();
        text.push_str(&wrapped(&names.join(", "), 2));
    }
    text
}

/// What a name leads to.
#[must_use]
pub fn found_text(found: &FoundPage<'_>) -> String {
    match found {
        FoundPage::One(page, others) => page_text(page) + &see_also(others),
        FoundPage::Section(section) => section_text(section),
        FoundPage::Several(pages) => {
            let mut text = format!("{} is used in {} places\n", pages[0].short, pages.len());
            for page in pages {
                let _ = write!(
                    text,
                    "\n{}: {}\n{}",
                    page.name,
                    page.what,
                    wrapped(&page.meaning, 2)
                );
            }
            text
        }
    }
}

fn see_also(others: &[&ReferencePage]) -> String {
    let all: Vec<String> = others
        .iter()
        .map(|page| format!("\nSee also {}\n{}", page.name, wrapped(&page.meaning, 2)))
        .collect();
    all.concat()
}

fn page_text(page: &ReferencePage) -> String {
    let is_finding = page.name.starts_with("finding.");
    let mut text = if is_finding {
        format!("{}\n\nWhat it means\n", page.short)
    } else {
        format!("{}: {}\n\n", page.name, page.what)
    };
    text.push_str(&wrapped(&page.meaning, 2));
    for (heading, body) in &page.facts {
        let _ = write!(text, "\n{heading}\n");
        text.extend(body.lines().map(|line| wrapped(line, 2)));
    }
    if !page.example.is_empty() {
        text.push_str("\nExample\n");
        text.push_str(&indented(&page.example));
    }
    text
}

fn section_text(section: &Section) -> String {
    let mut text = format!("{}\n\n{}", section.title, wrapped(&section.meaning, 2));
    for page in &section.pages {
        let _ = write!(text, "\n{}\n{}", page.short, wrapped(&page.meaning, 2));
    }
    if !section.example.is_empty() {
        text.push_str("\nExample\n");
        text.push_str(&indented(&section.example));
    }
    text
}

/// An example is not wrapped: it can be copied.
fn indented(example: &str) -> String {
    let lines: Vec<String> = example.lines().map(|line| format!("  {line}\n")).collect();
    lines.concat()
}
