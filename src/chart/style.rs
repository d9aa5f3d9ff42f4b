//! One palette, one type scale and one spacing scale, shared by the page and its charts.

use std::fmt::Write as _;

/// What a stroke or an area shows; this decides its colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Background.
    Paper,
    /// Text and axes.
    Text,
    /// Secondary text.
    Quiet,
    /// Grid lines and thin rules.
    Rule,
    /// First phase.
    L1,
    /// Second phase.
    L2,
    /// Third phase.
    L3,
    /// Neutral, and figures after the moves.
    Strong,
    /// Figures as they are now.
    Now,
    /// Limits and whatever exceeds them.
    Limit,
    /// What is above a limit, as an area: hatched, so that it is distinguished without its colour.
    Over,
    /// Energy bars.
    Energy,
}

impl Ink {
    /// Every ink, in the order of the palette.
    pub const ALL: [Ink; 12] = [
        Ink::Paper,
        Ink::Text,
        Ink::Quiet,
        Ink::Rule,
        Ink::L1,
        Ink::L2,
        Ink::L3,
        Ink::Strong,
        Ink::Now,
        Ink::Limit,
        Ink::Over,
        Ink::Energy,
    ];

    /// The inks of L1, L2, L3.
    pub const PHASES: [Ink; 3] = [Ink::L1, Ink::L2, Ink::L3];

    /// Name in class names and in CSS variables.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Ink::Paper => "paper",
            Ink::Text => "text",
            Ink::Quiet => "quiet",
            Ink::Rule => "rule",
            Ink::L1 => "l1",
            Ink::L2 => "l2",
            Ink::L3 => "l3",
            Ink::Strong => "strong",
            Ink::Now => "now",
            Ink::Limit => "limit",
            Ink::Over => "over",
            Ink::Energy => "energy",
        }
    }

    /// Red, green, blue on light paper. No two inks are equal: the classes of a drawing are found from its colours.
    #[must_use]
    pub const fn light(self) -> (u8, u8, u8) {
        match self {
            Ink::Paper => (0xFB, 0xFA, 0xF5),
            Ink::Text => (0x24, 0x23, 0x2B),
            Ink::Quiet => (0x63, 0x60, 0x6B),
            Ink::Rule => (0xD9, 0xD5, 0xCB),
            Ink::L1 => (0x7A, 0x3A, 0x78),
            Ink::L2 => (0x0F, 0x7C, 0x80),
            Ink::L3 => (0x7D, 0x80, 0x1C),
            Ink::Strong => (0x2B, 0x2A, 0x55),
            Ink::Now => (0x6F, 0x6A, 0x8A),
            Ink::Limit => (0xC4, 0x31, 0x32),
            Ink::Over => (0xC4, 0x31, 0x33),
            Ink::Energy => (0x5B, 0x69, 0x86),
        }
    }

    /// Red, green, blue on dark paper.
    #[must_use]
    pub const fn dark(self) -> (u8, u8, u8) {
        match self {
            Ink::Paper => (0x1B, 0x1B, 0x20),
            Ink::Text => (0xEC, 0xE8, 0xDF),
            Ink::Quiet => (0xA8, 0xA4, 0xA6),
            Ink::Rule => (0x3C, 0x3B, 0x44),
            Ink::L1 => (0xD1, 0x8C, 0xCE),
            Ink::L2 => (0x4F, 0xC0, 0xBF),
            Ink::L3 => (0xC9, 0xC6, 0x5E),
            Ink::Strong => (0xC3, 0xC1, 0xF5),
            Ink::Now => (0x98, 0x92, 0xB5),
            Ink::Limit => (0xFF, 0x7B, 0x72),
            Ink::Over => (0xFF, 0x7B, 0x73),
            Ink::Energy => (0x9B, 0xAB, 0xCC),
        }
    }

    /// Lengths of dash and space in page pixels; empty for an unbroken line.
    #[must_use]
    pub const fn dash(self) -> &'static [u32] {
        match self {
            Ink::L2 => &[9, 4],
            Ink::L3 => &[2, 3],
            Ink::Now => &[6, 4],
            Ink::Limit => &[12, 3, 2, 3],
            _ => &[],
        }
    }
}

/// Text sizes, in page pixels, with their names in CSS.
pub const TEXT_SCALE: [(&str, u32); 7] = [
    ("note", 12),
    ("label", 13),
    ("body", 16),
    ("lead", 20),
    ("heading", 25),
    ("figure", 34),
    ("title", 44),
];

/// Text of axes and marks in charts. \[px\]
pub const NOTE_PX: u32 = TEXT_SCALE[0].1;
/// Names in charts. \[px\]
pub const LABEL_PX: u32 = TEXT_SCALE[1].1;

/// Distances, in page pixels, with their names in CSS.
pub const SPACE_SCALE: [(&str, u32); 6] = [
    ("1", 4),
    ("2", 8),
    ("3", 16),
    ("4", 28),
    ("5", 48),
    ("6", 80),
];

/// Units of a drawing per page pixel: plotters places whole units only.
pub const DETAIL: i32 = 2;

/// Width of a drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Width {
    /// For a screen or paper.
    Wide,
    /// For a phone.
    Narrow,
}

impl Width {
    /// Both, wide first.
    pub const BOTH: [Width; 2] = [Width::Wide, Width::Narrow];

    /// Width of the drawing. \[px\]
    #[must_use]
    pub const fn px(self) -> i32 {
        match self {
            Width::Wide => 780,
            Width::Narrow => 310,
        }
    }

    /// Class name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Width::Wide => "wide",
            Width::Narrow => "narrow",
        }
    }

    /// True for the phone's drawing.
    #[must_use]
    pub const fn is_narrow(self) -> bool {
        matches!(self, Width::Narrow)
    }
}

/// `#RRGGBB`, as plotters writes it.
pub(super) fn hex((red, green, blue): (u8, u8, u8)) -> String {
    format!("#{red:02X}{green:02X}{blue:02X}")
}

/// The palette, the scales and the chart classes as CSS.
#[must_use]
pub fn css() -> String {
    let mut css = String::from(":root{color-scheme:light dark;");
    for ink in Ink::ALL {
        write!(css, "--{}:{};", ink.name(), hex(ink.light())).expect("a String takes any text");
    }
    for (name, px) in TEXT_SCALE {
        write!(css, "--text-{name}:{}rem;", f64::from(px) / 16.0).expect("as above");
    }
    for (name, px) in SPACE_SCALE {
        write!(css, "--space-{name}:{}rem;", f64::from(px) / 16.0).expect("as above");
    }
    css.push_str("}\n@media screen and (prefers-color-scheme:dark){:root{");
    for ink in Ink::ALL {
        write!(css, "--{}:{};", ink.name(), hex(ink.dark())).expect("as above");
    }
    css.push_str("}}\n");
    for (name, px) in [("note", NOTE_PX), ("label", LABEL_PX)] {
        write!(css, ".t-{name}{{font-size:{}px}}", px * DETAIL as u32).expect("as above");
    }
    for ink in Ink::ALL {
        let (name, dash) = (ink.name(), dash_array(ink));
        if ink == Ink::Over {
            css.push_str(".f-over{fill:url(#over)}\n");
            continue;
        }
        write!(
            css,
            ".f-{name}{{fill:var(--{name})}}.s-{name}{{stroke:var(--{name})"
        )
        .expect("as above");
        if let Some(dash) = dash {
            write!(css, ";stroke-dasharray:{dash}").expect("as above");
        }
        css.push_str("}\n");
    }
    css
}

/// The pattern of [`Ink::Over`]: stripes of the limit's ink on a lighter ground of it.
pub(super) fn hatching(ink: &str) -> String {
    let side = 4 * DETAIL;
    format!(
        "<defs><pattern id=\"over\" width=\"{side}\" height=\"{side}\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><rect width=\"{side}\" height=\"{side}\" fill=\"{ink}\" opacity=\"0.35\"/>\
         <rect width=\"{}\" height=\"{side}\" fill=\"{ink}\"/></pattern></defs>\n",
        side / 2
    )
}

/// Definitions that the drawings of a page share, once in the page.
#[must_use]
pub fn definitions() -> String {
    format!(
        "<svg class=\"unseen\" aria-hidden=\"true\" focusable=\"false\">{}</svg>",
        hatching("var(--limit)")
    )
}

/// The ink's dashes in units of a drawing.
pub(super) fn dash_array(ink: Ink) -> Option<String> {
    let dashes: Vec<String> = ink
        .dash()
        .iter()
        .map(|px| (px * DETAIL as u32).to_string())
        .collect();
    (!dashes.is_empty()).then(|| dashes.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast ratio: W3C, Web Content Accessibility Guidelines 2.1 (2018),
    /// "relative luminance" and "contrast ratio" in its glossary.
    fn contrast(a: (u8, u8, u8), b: (u8, u8, u8)) -> f64 {
        let luminance = |(red, green, blue): (u8, u8, u8)| {
            let linear = |byte: u8| {
                let share = f64::from(byte) / 255.0;
                if share <= 0.03928 {
                    share / 12.92
                } else {
                    ((share + 0.055) / 1.055).powf(2.4)
                }
            };
            0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)
        };
        let (high, low) = (
            luminance(a).max(luminance(b)),
            luminance(a).min(luminance(b)),
        );
        (high + 0.05) / (low + 0.05)
    }

    #[test]
    fn no_two_inks_share_a_colour() {
        for (position, ink) in Ink::ALL.iter().enumerate() {
            for other in &Ink::ALL[position + 1..] {
                assert_ne!(ink.light(), other.light(), "{ink:?} and {other:?}");
            }
        }
    }

    #[test]
    fn lettering_and_marks_stand_out_from_the_paper() {
        // Success criteria 1.4.3 (text, 4.5:1) and 1.4.11 (graphics, 3:1) of the same guidelines.
        for ink in [
            Ink::Text,
            Ink::Quiet,
            Ink::L1,
            Ink::L2,
            Ink::Strong,
            Ink::Now,
            Ink::Limit,
        ] {
            assert!(
                contrast(ink.light(), Ink::Paper.light()) >= 4.5,
                "{ink:?} on light"
            );
            assert!(
                contrast(ink.dark(), Ink::Paper.dark()) >= 4.5,
                "{ink:?} on dark"
            );
        }
        for ink in [Ink::L3, Ink::Energy] {
            assert!(
                contrast(ink.light(), Ink::Paper.light()) >= 3.0,
                "{ink:?} on light"
            );
            assert!(
                contrast(ink.dark(), Ink::Paper.dark()) >= 3.0,
                "{ink:?} on dark"
            );
        }
    }

    #[test]
    fn chart_lettering_is_at_least_twelve_pixels_on_a_phone() {
        // 390 px of screen less 20 px of margin on either side, and 25 px of a finding's.
        let scale = (390.0 - 40.0 - 25.0) / f64::from(Width::Narrow.px());
        assert!(f64::from(NOTE_PX) * scale >= 12.0);
    }
}
