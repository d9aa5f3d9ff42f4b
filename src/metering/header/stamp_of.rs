//! Which end of an interval the times of a log mark: as declared, by the name of the time column, or by its form.

use super::layout::Layout;
use site::{Meter, ReadingKind, Stamp};

const STARTS: [&str; 6] = ["from", "start", "starts", "starting", "begin", "beginning"];
const ENDS: [&str; 6] = ["to", "end", "ends", "ending", "until", "till"];

/// The end, and why in words. `dates_only`: the times are dates without a time of day.
pub(crate) fn stamp_of(meter: &Meter, layout: &Layout, dates_only: bool) -> (Stamp, String) {
    let said = |stamp: Stamp, why: &str| {
        let end = match stamp {
            Stamp::Start => "start",
            Stamp::End => "end",
        };
        (stamp, format!("{end} of the interval ({why})"))
    };
    if meter.readings == ReadingKind::Instant {
        return (
            meter.stamp.unwrap_or(Stamp::End),
            "moment of the reading (site.toml)".to_owned(),
        );
    }
    if let Some(stamp) = meter.stamp {
        return said(stamp, "site.toml");
    }
    let cells = [Some(layout.time.first), layout.time.second];
    for cell in cells.into_iter().flatten() {
        let name = layout.name(cell);
        if let Some(stamp) = named(name) {
            return said(stamp, &format!("the time column is called `{name}`"));
        }
    }
    if dates_only {
        return said(
            Stamp::Start,
            "a date without a time of day is the whole day",
        );
    }
    said(Stamp::End, "not declared: the usual meaning")
}

/// What the name of a time column says.
pub(crate) fn named(name: &str) -> Option<Stamp> {
    let lower = name.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphanumeric());
    words.find_map(|word| {
        if STARTS.contains(&word) {
            Some(Stamp::Start)
        } else if ENDS.contains(&word) {
            Some(Stamp::End)
        } else {
            None
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_time_columns() {
        for (name, stamp) in [
            ("From", Some(Stamp::Start)),
            ("Interval start", Some(Stamp::Start)),
            ("period_beginning", Some(Stamp::Start)),
            ("Hour ending", Some(Stamp::End)),
            ("To", Some(Stamp::End)),
            ("time", None),
            ("Total", None),
        ] {
            assert_eq!(named(name), stamp, "{name}");
        }
    }
}
