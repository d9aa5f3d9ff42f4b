//! A page by its name.

use crate::page::{ReferencePage, Section};

/// What a name leads to.
#[derive(Debug)]
pub enum FoundPage<'s> {
    /// One page, and the full names of others with the same short name.
    One(&'s ReferencePage, Vec<&'s ReferencePage>),
    /// A table, a file or another section.
    Section(&'s Section),
    /// Several pages: the name is used in several tables.
    Several(Vec<&'s ReferencePage>),
}

/// Looks a name up: a full name, the name of a section, or the last part of a full name.
#[must_use]
pub fn find<'s>(sections: &'s [Section], name: &str) -> Option<FoundPage<'s>> {
    let name = name.trim_matches(['[', ']']);
    let pages = || sections.iter().flat_map(|section| &section.pages);
    let section = sections
        .iter()
        .find(|section| section.name == name || section.name.strip_suffix(".csv") == Some(name));
    if let Some(section) = section {
        return Some(FoundPage::Section(section));
    }
    if let Some(page) = pages().find(|page| page.name == name) {
        return Some(FoundPage::One(page, Vec::new()));
    }
    let end = format!(".{name}");
    let mut several: Vec<&ReferencePage> =
        pages().filter(|page| page.name.ends_with(&end)).collect();
    // A kind of finding comes before a message of the same name.
    let finding = several
        .iter()
        .position(|page| page.name.starts_with("finding."));
    match (finding, several.len()) {
        (_, 0) => None,
        (Some(first), _) => Some(FoundPage::One(several.remove(first), several)),
        (None, 1) => Some(FoundPage::One(several[0], Vec::new())),
        (None, _) => Some(FoundPage::Several(several)),
    }
}

/// Every name that leads somewhere, for suggestions.
pub fn names(sections: &[Section]) -> impl Iterator<Item = &str> {
    let of_pages = sections.iter().flat_map(|section| &section.pages);
    let of_pages = of_pages.flat_map(|page| [page.short.as_str(), page.name.as_str()]);
    let of_sections = sections.iter().map(|section| section.name.as_str());
    of_sections.chain(of_pages)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::sections;

    #[test]
    fn every_name_is_its_own_and_leads_to_its_page() {
        let sections = sections();
        let mut seen = BTreeSet::new();
        for section in &sections {
            assert!(seen.insert(section.name.clone()), "{}", section.name);
            assert!(!section.pages.is_empty() && !section.meaning.is_empty());
            assert!(matches!(
                find(&sections, &section.name),
                Some(FoundPage::Section(_))
            ));
            for page in &section.pages {
                let is_table = sections.iter().any(|section| section.name == page.name);
                assert!(is_table || seen.insert(page.name.clone()), "{}", page.name);
                assert!(
                    page.meaning.ends_with(['.', '?']),
                    "{}: {}",
                    page.name,
                    page.meaning
                );
                assert!(find(&sections, &page.short).is_some(), "{}", page.short);
            }
        }
        assert!(seen.len() > 400, "{}", seen.len());
    }

    #[test]
    fn a_key_of_several_tables_leads_to_all_of_them() {
        let sections = sections();
        let Some(FoundPage::Several(pages)) = find(&sections, "phase_limit_a") else {
            panic!("it is in two tables");
        };
        let names: Vec<&str> = pages.iter().map(|page| page.name.as_str()).collect();
        assert_eq!(names, ["supply.phase_limit_a", "board.phase_limit_a"]);
        let Some(FoundPage::One(page, others)) = find(&sections, "wrong-phase") else {
            panic!("a finding");
        };
        assert_eq!(
            (page.name.as_str(), others.len()),
            ("finding.wrong-phase", 1)
        );
        assert!(find(&sections, "phase_limit").is_none());
    }
}
