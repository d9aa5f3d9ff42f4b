//! The reference as one HTML page.

use askama::Template;

use crate::page::Section;

#[derive(Template)]
#[template(path = "reference.html", config = "askama.toml")]
struct HtmlReference<'s> {
    sections: &'s [Section],
}

/// All sections as one page without scripts.
///
/// # Errors
///
/// Where the template cannot be filled.
pub fn reference_page(sections: &[Section]) -> Result<String, askama::Error> {
    HtmlReference { sections }.render()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sections;

    #[test]
    fn every_link_leads_to_a_section_and_nothing_is_left_unescaped() {
        let page = reference_page(&sections()).expect("a page");
        for part in page.split("href=\"#").skip(1) {
            let target = part.split('"').next().unwrap_or_default();
            assert_eq!(
                page.matches(&format!("id=\"{target}\"")).count(),
                1,
                "{target}"
            );
        }
        assert!(page.starts_with("<!doctype html>") && !page.contains("<script"));
        assert!(page.contains("&#34;brown-black-grey&#34;"));
        assert!(page.matches("<h3").count() > 300);
        assert!(page.matches("href=\"#").count() > 300);
        assert!(page.contains("<code>tapoff diagnose</code>") && !page.contains('`'));
    }
}
