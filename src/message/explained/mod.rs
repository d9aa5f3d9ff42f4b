//! What each message means and what to do: the pages of `tapoff explain` for the names at the end of messages.

mod lists;
mod logs;
mod results;
mod site;

/// The page of one message.
#[derive(Clone, Copy, Debug)]
pub struct Explained {
    /// Name at the end of the message.
    pub name: &'static str,
    /// What is wrong.
    pub meaning: &'static str,
    /// What to do.
    pub action: &'static str,
}

/// A page.
const fn page(name: &'static str, meaning: &'static str, action: &'static str) -> Explained {
    Explained {
        name,
        meaning,
        action,
    }
}

/// The pages of all messages, by what they are about.
#[must_use]
pub fn explained() -> Vec<(&'static str, &'static [Explained])> {
    vec![
        ("Messages about site.toml", site::PAGES),
        (
            "Messages about the machine list, readings and other lists",
            lists::PAGES,
        ),
        ("Messages about logs", logs::PAGES),
        ("Messages about periods, bills and results", results::PAGES),
    ]
}

/// Has the message a page?
pub(crate) fn is_explained(name: &str) -> bool {
    [site::PAGES, lists::PAGES, logs::PAGES, results::PAGES]
        .iter()
        .any(|pages| pages.iter().any(|page| page.name == name))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_unique_and_every_page_says_what_to_do() {
        let mut names = std::collections::BTreeSet::new();
        for page in explained().iter().flat_map(|(_, pages)| *pages) {
            assert!(names.insert(page.name), "{} twice", page.name);
            for text in [page.meaning, page.action] {
                assert!(text.ends_with('.') && text.len() > 10, "{}", page.name);
            }
        }
    }
}
