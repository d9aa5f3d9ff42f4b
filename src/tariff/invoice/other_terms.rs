//! What a line of an invoice would be if the supplier reads tariff or calendar in another way.

use chrono_tz::Tz;

use super::computed::{Computed, computed};
use super::evidence::DifferenceEvidence;
use super::line::InvoiceLine;
use crate::bill::bill_of;
use crate::{Terms, Usage};

/// The quantity of a line if the supplier reads tariff or calendar in another way.
pub(super) fn other_terms(
    evidence: &DifferenceEvidence<'_>,
    line: &InvoiceLine,
    is_demand: bool,
) -> Vec<(String, Computed)> {
    let terms = evidence.terms;
    let mut found = Vec::new();
    let mut add = |words: String, terms: &Terms<'_>, usage: &Usage| {
        let own = bill_of(terms, usage, line.from, line.to).and_then(|bill| computed(&bill, line));
        found.extend(own.map(|own| (words, own)));
    };
    for usage in evidence.other_windows {
        add(
            format!("with demand periods of {} min", usage.window_min),
            terms,
            usage,
        );
    }
    if let Some(winter) = winter_time(terms.zone) {
        let terms = Terms {
            zone: winter,
            ..*terms
        };
        add(
            "if bands follow winter time all year".to_owned(),
            &terms,
            evidence.usage,
        );
    }
    let without = Terms {
        holidays: &[],
        ..*terms
    };
    add(
        "if holidays count as ordinary days".to_owned(),
        &without,
        evidence.usage,
    );
    let next = line.to.succ_opt().unwrap_or(line.to);
    let own =
        bill_of(terms, evidence.usage, line.from, next).and_then(|bill| computed(&bill, line));
    found.extend(own.map(|own| ("if the day `to` is included".to_owned(), own)));
    if is_demand {
        found.extend(other_unit(evidence, line));
    }
    found
}

/// The maximum demand in kW where kVA is charged, and the other way round.
fn other_unit(evidence: &DifferenceEvidence<'_>, line: &InvoiceLine) -> Option<(String, Computed)> {
    use crate::DemandUnit::{KilovoltAmpere, Kilowatt};
    let mut tariffs = evidence.terms.tariffs.to_vec();
    let mut unit = "";
    let charges = tariffs.iter_mut().flat_map(|tariff| &mut tariff.demand);
    for charge in charges.filter(|charge| line.is_named(&charge.line())) {
        let per = &mut charge.measure.per;
        *per = match *per {
            Kilowatt => KilovoltAmpere,
            KilovoltAmpere => Kilowatt,
        };
        unit = per.symbol();
    }
    let terms = Terms {
        tariffs: &tariffs,
        ..*evidence.terms
    };
    let bill = bill_of(&terms, evidence.usage, line.from, line.to)?;
    Some((format!("in {unit}"), computed(&bill, line)?))
}

/// The zone's time of January as a zone without changes, where that is a whole number of hours.
fn winter_time(zone: Tz) -> Option<Tz> {
    use chrono::{NaiveDate, Offset, TimeZone};
    let january = NaiveDate::from_ymd_opt(2026, 1, 1)?.and_hms_opt(0, 0, 0)?;
    let seconds = zone
        .offset_from_utc_datetime(&january)
        .fix()
        .local_minus_utc();
    if seconds % 3600 != 0 {
        return None;
    }
    // The names of these zones count westwards.
    match -seconds / 3600 {
        0 => Some(Tz::UTC),
        hours => format!("Etc/GMT{hours:+}").parse().ok(),
    }
}
