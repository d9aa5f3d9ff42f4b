//! Running head and page numbers of the printed page.

use std::fmt::Write as _;

use tables::plain;

/// Rules for the margins of the sheets: the site's name and what the page covers above all but the first, numbers below.
pub(super) fn print_head(name: &str, covered: &str) -> String {
    let letters = "font:400 8pt \"Liberation Sans\",system-ui,sans-serif;color:#555";
    format!(
        "@page{{@top-left{{content:{};{letters}}}@top-right{{content:{};{letters}}}\
         @bottom-left{{content:\"tapoff {}\";{letters}}}\
         @bottom-right{{content:\"Page \" counter(page) \" of \" counter(pages);{letters}}}}}\n\
         @page:first{{@top-left{{content:none}}@top-right{{content:none}}}}\n",
        css_text(name),
        css_text(covered),
        env!("CARGO_PKG_VERSION")
    )
}

/// A text as CSS writes it; no character of it can end the text or the style sheet.
fn css_text(text: &str) -> String {
    let mut out = String::from("\"");
    for c in plain(text).chars() {
        if c.is_alphanumeric() || matches!(c, ' ' | '.' | ',' | ':' | '-' | '–') {
            out.push(c);
        } else {
            let _ = write!(out, "\\{:x} ", u32::from(c));
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_cannot_leave_their_text() {
        assert_eq!(css_text("Ferry Lane"), "\"Ferry Lane\"");
        assert_eq!(
            css_text("a\"}</style>\\"),
            "\"a\\22 \\7d \\3c \\2f style\\3e \\5c \""
        );
    }
}
