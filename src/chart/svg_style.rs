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
        out.push_str(if as_path(tag) { "path" } else { tag });
        write_attributes(&mut out, tag, attributes, target);
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

/// Lines and areas become paths of steps, which take half as many characters as places.
fn as_path(tag: &str) -> bool {
    matches!(tag, "polyline" | "polygon")
}

/// The places of a line or an area, `x,y x,y …`, as the steps of a path.
fn path_of(places: &str, closed: bool) -> String {
    let mut out = String::new();
    let mut last: Option<(i32, i32)> = None;
    // A step along one axis alone has a letter of its own; the letter of steps along both is not repeated.
    let mut command = ' ';
    for place in places.split_ascii_whitespace() {
        let Some((x, y)) = place.split_once(',') else {
            continue;
        };
        let (Ok(x), Ok(y)) = (x.parse::<i32>(), y.parse::<i32>()) else {
            continue;
        };
        let Some((before_x, before_y)) = last.replace((x, y)) else {
            write!(out, "M{x} {y}").expect("a String takes any text");
            continue;
        };
        let (across, down) = (x - before_x, y - before_y);
        let step = match (across, down) {
            (0, 0) => continue,
            (_, 0) => ('h', vec![across]),
            (0, _) => ('v', vec![down]),
            _ => ('l', vec![across, down]),
        };
        let goes_on = step.0 == command && command == 'l';
        if !goes_on {
            out.push(step.0);
        }
        for (at, length) in step.1.into_iter().enumerate() {
            if length >= 0 && (at > 0 || goes_on) {
                out.push(' ');
            }
            write!(out, "{length}").expect("as above");
        }
        command = step.0;
    }
    if closed {
        out.push('z');
    }
    out
}

fn write_attributes(out: &mut String, tag: &str, attributes: &str, target: Target) {
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
            "opacity" => {
                // A thousandth more or less cannot be seen.
                let opacity = value.parse::<f64>().unwrap_or(1.0);
                write!(out, " opacity=\"{}\"", (opacity * 1000.0).round() / 1000.0)
                    .expect("as above");
            }
            "points" if as_path(tag) => {
                write!(out, " d=\"{}\"", path_of(value, tag == "polygon")).expect("as above");
            }
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
            "<path fill=\"none\" stroke-width=\"3\" d=\"M1 2l2 2\" class=\"s-l2\"/>\n\
             <text x=\"1\" y=\"2\" class=\"t-note f-text\">fill=&quot;#0F7C80&quot;</text>\n"
        );
    }

    /// SVG 2, chapter 9: `h` and `v` along one axis, `l` along both, its letter not repeated, `z` back to the beginning.
    #[test]
    fn places_become_steps() {
        let places = "10,20 15,20 15,12 18,15 21,10 21,10 20,30 ";
        assert_eq!(path_of(places, false), "M10 20h5v-8l3 3 3-5-1 20");
        assert_eq!(path_of("0,0 4,0 4,4", true), "M0 0h4v4z");
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
