//! The bills of several supplies of a site as one.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::bill::Bill;
use super::cost_day::CostDay;
use super::marginal_kilowatt::MarginalKilowatt;
use super::month::BillMonth;

/// One bill with the lines of all, month by month, each with its meter; `None` without a bill.
#[must_use]
pub fn bills_together(mut bills: Vec<Bill>) -> Option<Bill> {
    if bills.len() < 2 {
        return bills.pop();
    }
    let names: Vec<&str> = bills.iter().map(|bill| bill.meter.as_str()).collect();
    let mut all = Bill {
        meter: names.join(", "),
        months: Vec::new(),
        notes: Vec::new(),
        total: bills.iter().map(|bill| bill.total).sum(),
        ..bills[0].clone()
    };
    let mut months: BTreeMap<NaiveDate, BillMonth> = BTreeMap::new();
    for bill in bills {
        let of_meter = |note: String| format!("meter `{}`: {note}", bill.meter);
        all.notes.extend(bill.notes.iter().cloned().map(of_meter));
        if bill.rounding != all.rounding {
            all.notes.push(of_meter(bill.rounding.clone()));
        }
        for mut month in bill.months {
            for line in &mut month.lines {
                line.meter = Some(bill.meter.clone());
            }
            let worth = month.marginal_kilowatt.take();
            let worth = worth.as_ref().map(MarginalKilowatt::sentence);
            month.notes = month.notes.into_iter().chain(worth).map(of_meter).collect();
            // Periods are those of the site; the log of one meter may begin within one.
            match months.range_mut(..=month.from).next_back() {
                Some((_, known)) if known.month == month.month => known.add(month),
                _ => {
                    months.insert(month.from, month);
                }
            }
        }
    }
    all.months = months.into_values().collect();
    Some(all)
}

impl BillMonth {
    fn add(&mut self, other: BillMonth) {
        self.from = self.from.min(other.from);
        self.to = self.to.max(other.to);
        self.complete &= other.complete;
        self.covered_pct = self.covered_pct.min(other.covered_pct);
        self.days_s += other.days_s;
        self.covered_s += other.covered_s;
        self.lines.extend(other.lines);
        self.total += other.total;
        self.credits.extend(other.credits);
        self.notes.extend(other.notes);
    }
}

/// What all bills have come to at the end of each day: each keeps its last total after its log ends.
#[must_use]
pub fn days_together(mut bills: Vec<Vec<CostDay>>) -> Vec<CostDay> {
    if bills.len() < 2 {
        return bills.pop().unwrap_or_default();
    }
    let dates: BTreeSet<NaiveDate> = bills.iter().flatten().map(|day| day.date).collect();
    let reached = |date: NaiveDate| {
        let mut sum = CostDay::nothing(date);
        for days in &bills {
            let after = days.partition_point(|day| day.date <= date);
            if let Some(day) = after.checked_sub(1).and_then(|at| days.get(at)) {
                sum.add_day(day);
            }
        }
        sum
    };
    dates.into_iter().map(reached).collect()
}
