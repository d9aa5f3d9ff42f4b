//! Turns the output of plotters into a drawing for the page or for a separate file.

use std::fmt::Write as _;

use super::style::{DETAIL, Ink, LABEL_PX, NOTE_PX, dash_array, hex};

/// Where the drawing is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Target {
    /// In the page: colours by class, so that the page's palette applies.
    Page,
    /// In a file: the colours of light paper.
    File,
}

/// Rewrites the shapes that plotters wrote, without its outer element.
///
/// plotters writes one element per line; lettering takes three lines. Text is already escaped and
/// has no line break, and a quotation mark in it is escaped, so that no text can be taken for an
/// attribute.
pub(super) fn shapes(plotters_svg: &str, target: Target) -> String {
    let mut out = String::with_capacity(plotters_svg.len());
    let mut lines = plotters_svg.lines();
    while let Some(line) = lines.next() {
        if line.starts_with("<svg") || line.starts_with("</svg") {
            continue;
        }
        let Some((tag, attributes)) = open_tag(line) else {
            continue;
        };
        out.push('<');
        out.push_str(tag);
        write_attributes(&mut out, attributes, target);
        if tag == "text" {
            out.push('>');
            out.push_str(lines.next().unwrap_or_default());
            out.push_str("</text>\n");
            lines.next();
        } else {
            out.push_str("/>\n");
        }
    }
    out
}

fn open_tag(line: &str) -> Option<(&str, &str)> {
    let inner = line.strip_prefix('<')?;
    let inner = inner
        .strip_suffix("/>")
        .or_else(|| inner.strip_suffix('>'))?;
    inner.split_once(' ')
}

fn write_attributes(out: &mut String, attributes: &str, target: Target) {
    let mut classes: Vec<String> = Vec::new();
    let mut dash = None;
    let mut rest = attributes;
    while let Some((name, after)) = rest.split_once("=\"") {
        let Some((value, next)) = after.split_once('"') else {
            break;
        };
        rest = next.trim_start();
        let name = name.trim();
        match name {
            "opacity" if value == "1" => {}
            "font-family" => {}
            "stroke" if value == "none" => {}
            "stroke-width" if value == "0" => {}
            "font-size" => {
                if let (Target::Page, Some(class)) = (target, letter_class(value)) {
                    classes.push(class.to_owned());
                } else {
                    let size = drawn_size(value).unwrap_or(NOTE_PX * DETAIL as u32);
                    write!(out, " font-size=\"{size}\"").expect("a String takes any text");
                }
            }
            "fill" | "stroke" => {
                let ink = Ink::ALL.into_iter().find(|ink| hex(ink.light()) == value);
                if name == "stroke" {
                    dash = ink.and_then(dash_array);
                }
                match (target, ink) {
                    (Target::Page, Some(ink)) => {
                        classes.push(format!("{}-{}", &name[..1], ink.name()));
                    }
                    _ => write!(out, " {name}=\"{value}\"").expect("as above"),
                }
            }
            _ => write!(out, " {name}=\"{}\"", value.trim_end()).expect("as above"),
        }
    }
    match target {
        Target::Page if !classes.is_empty() => {
            write!(out, " class=\"{}\"", classes.join(" ")).expect("as above");
        }
        Target::File => {
            if let Some(dash) = dash {
                write!(out, " stroke-dasharray=\"{dash}\"").expect("as above");
            }
        }
        Target::Page => {}
    }
}

/// A lettering size in units of the drawing. plotters writes it with a rounding error.
fn drawn_size(size: &str) -> Option<u32> {
    size.parse::<f64>().ok().map(|size| size.round() as u32)
}

/// Class of a lettering size; its rule is in the page's style sheet.
fn letter_class(size: &str) -> Option<&'static str> {
    match drawn_size(size)? / DETAIL as u32 {
        NOTE_PX => Some("t-note"),
        LABEL_PX => Some("t-label"),
        _ => None,
    }
}

/// Text for XML: marks instead of control characters, which XML forbids even when escaped.
pub(super) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if tables::is_hidden(c) => out.push('\u{fffd}'),
            c if is_unwritable(c) => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// Line separators and the two code points that XML forbids.
pub(super) fn is_unwritable(c: char) -> bool {
    matches!(c, '\u{2028}' | '\u{2029}' | '\u{FFFE}' | '\u{FFFF}')
}

#[cfg(test)]
mod tests {
    use super::*;

    const LINE: &str = "<svg width=\"9\" height=\"9\">\n<polyline fill=\"none\" opacity=\"1\" \
        stroke=\"#0F7C80\" stroke-width=\"3\" points=\"1,2 3,4 \"/>\n<text x=\"1\" y=\"2\" \
        font-family=\"sans-serif\" font-size=\"24\" opacity=\"1\" fill=\"#24232B\">\n\
        fill=&quot;#0F7C80&quot;\n</text>\n</svg>\n";

    #[test]
    fn the_page_gets_classes_and_no_colours() {
        assert_eq!(
            shapes(LINE, Target::Page),
            "<polyline fill=\"none\" stroke-width=\"3\" points=\"1,2 3,4\" class=\"s-l2\"/>\n\
             <text x=\"1\" y=\"2\" class=\"t-note f-text\">fill=&quot;#0F7C80&quot;</text>\n"
        );
    }

    #[test]
    fn a_file_gets_colours_and_dashes() {
        let file = shapes(LINE, Target::File);
        assert!(file.contains("stroke=\"#0F7C80\"") && file.contains("stroke-dasharray=\"18 8\""));
        assert!(!file.contains("class="));
    }

    #[test]
    fn hostile_text_is_escaped() {
        assert_eq!(
            escape("<a href='x'>&\u{1}\"\n"),
            "&lt;a href=&#39;x&#39;&gt;&amp;\u{fffd}&quot;\u{fffd}"
        );
    }
}
