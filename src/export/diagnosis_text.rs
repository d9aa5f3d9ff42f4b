//! Findings as text for a terminal, worst first.

use std::fmt::Write;

use super::after_work_text::after_work_text;
use diagnosis::Diagnosis;
use finding::{Finding, Spot, Value};
use site::Site;
use tables::plain;
use units::{format_local, format_moment, format_number};

/// All findings, then the checks that were not possible, then those without a finding.
pub fn diagnosis_text(site: &Site, diagnosis: &Diagnosis) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "{}: times in {}", plain(&site.name), site.timezone);
    if diagnosis.findings.is_empty() {
        let _ = writeln!(
            text,
            "\nNo finding by the {} that the data make possible.",
            diagnosis.checks_made()
        );
    }
    for finding in &diagnosis.findings {
        one(&mut text, site, finding);
    }
    text.extend(
        diagnosis
            .after_work
            .as_ref()
            .map(|work| after_work_text(site, work, &diagnosis.phases)),
    );
    if !diagnosis.not_judged.is_empty() {
        text.push_str("\nChecks not possible: data needed\n");
        for entry in &diagnosis.not_judged {
            let _ = writeln!(
                text,
                "  - {}, {}: needs {}",
                entry.kind,
                place(&entry.spot),
                plain(&entry.needs)
            );
        }
    }
    if !diagnosis.nothing_found.is_empty() {
        text.push_str("\nChecked, no fault found\n");
        let mut last = None;
        for entry in &diagnosis.nothing_found {
            if last == Some(entry.kind) {
                let _ = write!(text, "; {}", place(&entry.spot));
            } else {
                let start = if last.is_some() { "\n" } else { "" };
                let _ = write!(text, "{start}  - {}: {}", entry.kind, place(&entry.spot));
            }
            last = Some(entry.kind);
        }
        text.push('\n');
    }
    text
}

/// `L2 at the supply (meter main)`.
fn place(spot: &Spot) -> String {
    let mut words = String::new();
    if let Some(phase) = spot.phase {
        let _ = write!(words, "{phase} at ");
    }
    let what = spot.machine.as_deref().or(spot.node.as_deref());
    words.push_str(&plain(what.unwrap_or("the site")));
    if let Some(meter) = &spot.meter {
        let _ = write!(words, " (meter {})", plain(meter));
    }
    words
}

fn one(text: &mut String, site: &Site, finding: &Finding) {
    let accepted = if finding.accepted { ", accepted" } else { "" };
    let _ = writeln!(
        text,
        "\n{}{accepted}: {}, {}",
        finding.severity.name().to_uppercase(),
        finding.kind,
        place(&finding.spot)
    );
    let local =
        |time: chrono::DateTime<chrono::Utc>| format_moment(time.with_timezone(&site.timezone));
    let _ = writeln!(text, "  {}", plain(&finding.summary));
    let _ = writeln!(
        text,
        "  readings from {} to {}",
        local(finding.from),
        local(finding.to)
    );
    for (name, value) in &finding.evidence.0 {
        let (words, unit) = label(name);
        match value {
            Value::Number(number) => {
                let _ = writeln!(text, "    {words}: {}{unit}", figure(name, *number));
            }
            Value::Text(words_of) => {
                let _ = writeln!(text, "    {words}: {}", plain(words_of));
            }
            Value::Moment(at) => {
                let _ = writeln!(text, "    {words}: {}", format_local(*at));
            }
            Value::Texts(list) => {
                let _ = writeln!(text, "    {words}:");
                for item in list {
                    let _ = writeln!(text, "      {}", plain(item));
                }
            }
        }
    }
    let _ = writeln!(text, "  What to do: {}", plain(&finding.action));
    let _ = writeln!(text, "  Caution: {}", plain(&finding.caution));
    let _ = writeln!(text, "  Source: {}", plain(&finding.source));
    let _ = writeln!(text, "  More: `tapoff explain {}`", finding.kind);
}

/// Three significant digits, whole numbers whole; a frequency to a hundredth, since its limits are half a hertz apart.
pub fn figure(name: &str, number: f64) -> String {
    let size = number.abs();
    let decimals = match size {
        _ if name.ends_with("_hz") => 2,
        _ if number.fract() == 0.0 || size >= 100.0 => 0,
        _ if size >= 10.0 => 1,
        _ => 2,
    };
    format_number(number, decimals)
}

/// A name as words, and its unit.
pub fn label(name: &str) -> (String, &'static str) {
    const UNITS: [(&str, &str); 14] = [
        ("_mohm_per_week", " mΩ per week"),
        ("_per_day", " per day"),
        ("_mohm", " mΩ"),
        ("_pct", " %"),
        ("_kwh", " kWh"),
        ("_hz", " Hz"),
        ("_min", " min"),
        ("_kw", " kW"),
        ("_mm2", " mm²"),
        ("_a", " A"),
        ("_v", " V"),
        ("_w", " W"),
        ("_h", " h"),
        ("_s", " s"),
    ];
    for (suffix, unit) in UNITS {
        if let Some(stem) = name.strip_suffix(suffix) {
            return (words_of(stem), unit);
        }
    }
    (words_of(name), "")
}

/// The ends of an interval, and a few names that are short in results, in words that a person uses.
fn words_of(name: &str) -> String {
    for (end, words) in [
        ("low_95", "95 % interval from"),
        ("high_95", "95 % interval to"),
    ] {
        match name.strip_suffix(end).map(|of| of.trim_end_matches('_')) {
            Some("") => return words.to_owned(),
            Some(of) => return format!("{}, {words}", of.replace('_', " ")),
            None => {}
        }
    }
    match name {
        "changes_looked_at" => "changes of load evaluated".to_owned(),
        "changes_set_aside" => "changes of load left out".to_owned(),
        _ => name.replace('_', " "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_carry_their_units() {
        assert_eq!(
            label("trend_mohm_per_week"),
            ("trend".into(), " mΩ per week")
        );
        assert_eq!(label("peak_current_a"), ("peak current".into(), " A"));
        assert_eq!(label("machines"), ("machines".into(), ""));
        assert_eq!(label("low_95_mohm"), ("95 % interval from".into(), " mΩ"));
        assert_eq!(
            label("last_week_high_95_mohm"),
            ("last week, 95 % interval to".into(), " mΩ")
        );
        assert_eq!(label("lowest_hz"), ("lowest".into(), " Hz"));
        assert_eq!(figure("heat_w", 13.456), "13.5");
        assert_eq!(figure("heat_w", -0.456), "−0.46");
        assert_eq!(figure("heat_w", 44.0), "44");
        // A sum of no terms can be minus zero.
        assert_eq!(figure("measured_share_a", -0.0), "0");
        assert_eq!(figure("lowest_hz", 49.46), "49.46");
    }
}
