//! Readings that the source estimated, as the reason of a difference.

use rust_decimal::Decimal;

use super::computed::Computed;
use super::evidence::DifferenceEvidence;
use super::line::InvoiceLine;
use crate::bill_line::LineKind;
use crate::money;
use crate::sums::date;

/// How much of the energy of a line's days the source estimated, and whether that may be the whole difference.
pub(super) fn estimated(
    evidence: &DifferenceEvidence<'_>,
    line: &InvoiceLine,
    own: &Computed,
    invoiced: Decimal,
) -> Option<String> {
    let (mut kwh, mut estimated) = (0.0, 0.0);
    for quarter in &evidence.usage.quarters {
        let own = date(evidence.terms.zone, quarter.start_s)?;
        if (line.from..line.to).contains(&own) {
            kwh += quarter.kwh;
            estimated += quarter.estimated_kwh;
        }
    }
    if estimated <= 0.0 {
        return None;
    }
    let marked = format!(
        "the source marks {} of the {} of these days as estimated ({})",
        units::format_kwh(estimated),
        units::format_kwh(kwh),
        units::format_percent(100.0 * estimated / kwh),
    );
    if own.kind != Some(LineKind::Energy) {
        return Some(format!("{marked}: other readings give another value"));
    }
    let difference = (invoiced - own.quantity).abs();
    let reach = if money::float(difference) <= estimated {
        "the difference is within that"
    } else {
        "the difference is more than that"
    };
    Some(format!("{marked}: {reach}"))
}
