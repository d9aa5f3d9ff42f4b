//! Lines for what is fixed, demand, capacity, reactive energy and power factor.

use rust_decimal::Decimal;

use super::bill_line::LineKind;
use super::bill_sheet::BillSheet;
use super::charges::{ExcessBy, PowerFactorSurcharge, RateTime};
use super::money;
use super::price_period::days;
use super::reactive_charge::ReactiveFlow;
use super::sums::{EnergySums, MonthSums};

impl BillSheet<'_> {
    pub(super) fn standing(&mut self) {
        if let Some(rate) = self.tariff.standing_per_day {
            let days = Decimal::from(self.days());
            self.add(LineKind::Standing, "standing", (days, "days"), rate);
        }
        if let Some(rate) = self.tariff.standing_per_month {
            let month = (Decimal::ONE, "months");
            self.by_month(LineKind::Standing, "standing monthly", month, rate);
        }
    }

    pub(super) fn demand(&mut self, notes: &mut Vec<String>) {
        let demands = std::mem::take(&mut self.demands);
        for (charge, billed) in self.tariff.demand.iter().zip(&demands) {
            let unit = charge.measure.per.symbol();
            let name = charge.line();
            if !self.price_period.reaches(charge.measure.window.months) {
                continue;
            }
            let Some(billed) = billed else {
                notes.push(format!(
                    "the {name} in {unit} is not billed: the month has no complete demand period"
                ));
                continue;
            };
            let line = match charge.by {
                RateTime::Month => self.by_month(
                    LineKind::Demand,
                    &name,
                    (billed.quantity, unit),
                    charge.rate,
                ),
                RateTime::Day => {
                    let quantity = billed.quantity * Decimal::from(self.days());
                    let unit = format!("{unit}·days");
                    self.add(LineKind::Demand, &name, (quantity, &unit), charge.rate)
                }
            };
            line.note.clone_from(&billed.note);
        }
        self.demands = demands;
    }

    /// A line for each run of days with one agreed capacity; and for what was above it.
    pub(super) fn capacity(&mut self, sums: &MonthSums, notes: &mut Vec<String>) {
        let Some(charge) = &self.tariff.capacity else {
            return;
        };
        let period = self.price_period;
        let mut begins: Vec<_> = charge.changes.iter().map(|(from, _)| *from).collect();
        begins.retain(|from| period.from < *from && *from < period.to);
        begins.insert(0, period.from);
        let ends = begins.iter().skip(1).copied().chain([period.to]);
        let mut highest = sums.days_kva.iter().map(|(_, kva)| *kva).reduce(f64::max);
        if charge.excess.is_some() && highest.is_none() {
            notes.push("excess capacity is not billed: the apparent power is not known".to_owned());
        }
        if charge.excess.is_none() {
            highest = None;
        }
        for (from, to) in begins.iter().copied().zip(ends) {
            let run = Decimal::from(days(from, to));
            let kva = charge.on(from);
            let (quantity, unit, share) = match charge.by {
                RateTime::Day => (kva * run, "kVA·days", None),
                RateTime::Month => (kva, "kVA", self.share()),
            };
            let whole = days(period.from, period.to);
            let part = |value: Decimal| match charge.by {
                RateTime::Day => value,
                RateTime::Month => value * run / Decimal::from(whole),
            };
            let mut line = self.line(
                LineKind::Capacity,
                "capacity",
                (quantity, unit),
                charge.rate,
            );
            let due = part(quantity * charge.rate);
            line.amount = self.amount(share.map_or(due, |share| share.of_value(due)));
            line.share = share;
            (line.from, line.to) = (from, to);
            self.put(line);
            let (Some(excess), Some(highest)) = (&charge.excess, highest) else {
                continue;
            };
            let beyond = |most: f64| {
                let most = self.tariff.rounding.measured(most).unwrap_or_default();
                (most - kva).max(Decimal::ZERO)
            };
            let (quantity, note) = match excess.by {
                ExcessBy::Month => {
                    let own = beyond(highest);
                    let quantity = if charge.by == RateTime::Day {
                        own * run
                    } else {
                        own
                    };
                    let most = self.tariff.rounding.measured(highest).unwrap_or_default();
                    (
                        quantity,
                        format!("{most} kVA, {own} kVA above the agreed {kva}"),
                    )
                }
                ExcessBy::Day => {
                    let days = sums.days_kva.iter();
                    let own = days.filter(|(date, _)| (from..to).contains(date));
                    let beyond: Vec<Decimal> = own.map(|(_, most)| beyond(*most)).collect();
                    let count = beyond.iter().filter(|kva| !kva.is_zero()).count();
                    let note = format!("above the agreed {kva} kVA on {count} days");
                    (beyond.iter().sum(), note)
                }
            };
            if quantity.is_zero() {
                continue;
            }
            let name = "excess capacity";
            let mut line = self.line(LineKind::Capacity, name, (quantity, unit), excess.rate);
            if excess.by == ExcessBy::Month {
                let due = part(quantity * excess.rate);
                line.amount = self.amount(share.map_or(due, |share| share.of_value(due)));
                line.share = share;
            } else {
                "kVA·days".clone_into(&mut line.unit);
            }
            line.note = Some(note);
            (line.from, line.to) = (from, to);
            self.put(line);
        }
    }

    pub(super) fn reactive(&mut self, sums: &EnergySums, notes: &mut Vec<String>) {
        for (at, charge) in self.tariff.reactive.iter().enumerate() {
            if !self.price_period.reaches(charge.window.months) {
                continue;
            }
            let name = charge.line();
            let own = &sums.reactive[at];
            let measured = |kvarh: f64| self.tariff.rounding.measured(kvarh);
            let kwh = measured(own.kwh).unwrap_or_default();
            // Where it is logged at all, nothing is counted in hours that no reading is in.
            let counted = |own: Option<f64>, all: Option<f64>| {
                measured(own.unwrap_or(0.0)).filter(|_| all.is_some())
            };
            let lagging = counted(own.lagging_kvarh, sums.lagging_kvarh);
            let leading = counted(own.leading_kvarh, sums.leading_kvarh);
            let kvarh = match charge.flow {
                ReactiveFlow::Lagging => lagging,
                ReactiveFlow::Leading => leading,
                ReactiveFlow::Net => {
                    lagging.map(|kvarh| (kvarh - leading.unwrap_or_default()).max(Decimal::ZERO))
                }
            };
            let Some(kvarh) = kvarh else {
                notes.push("reactive energy is not billed: the meter does not log it".to_owned());
                continue;
            };
            let steps: Vec<Decimal> = if charge.by_quarter_hour {
                let steps = own.steps.iter();
                steps.filter_map(|step| measured(*step)).collect()
            } else {
                charge.in_steps(kvarh, |share| self.tariff.rounding.quantity(kwh * share))
            };
            let free = kvarh - steps.iter().sum::<Decimal>();
            for (number, (step, part)) in charge.steps.iter().zip(steps).enumerate() {
                let several = charge.steps.len() > 1;
                let name = if several {
                    format!("{name} step {}", number + 1)
                } else {
                    name.clone()
                };
                let part = (part, "kvarh");
                let line = self.add(LineKind::Reactive, &name, part, step.rate_per_kvarh);
                let by = if charge.by_quarter_hour {
                    ", quarter-hour by quarter-hour"
                } else {
                    ""
                };
                line.note = (number == 0).then(|| format!("{free} of {kvarh} kvarh are free{by}"));
            }
        }
    }

    pub(super) fn power_factor(&mut self, sums: &EnergySums, notes: &mut Vec<String>) {
        let Some(charge) = self.tariff.power_factor else {
            return;
        };
        let Some((kwh, lagging)) = self.energies(sums, charge.net) else {
            notes.push(
                "power factor is not billed: the meter does not log reactive energy".to_owned(),
            );
            return;
        };
        let Some((power_factor, points)) = points_below(kwh, lagging, &charge) else {
            return;
        };
        let rate = points * charge.surcharge_per_kwh_per_pct;
        let line = self.add(LineKind::Reactive, "power factor", (kwh, "kWh"), rate);
        line.note = Some(format!(
            "power factor {power_factor}, {} points below {}",
            points.normalize(),
            charge.below
        ));
    }

    /// Energy and reactive energy of the bill, lagging or net.
    fn energies(&self, sums: &EnergySums, net: bool) -> Option<(Decimal, Decimal)> {
        let rounding = &self.tariff.rounding;
        let leading = sums.leading_kvarh.filter(|_| net).unwrap_or(0.0);
        Some((
            rounding.measured(sums.kwh)?,
            rounding.measured(sums.lagging_kvarh? - leading)?,
        ))
    }
}

/// Power factor, and how many hundredths it is below the threshold; `None` where it is not below.
fn points_below(
    kwh: Decimal,
    lagging: Decimal,
    charge: &PowerFactorSurcharge,
) -> Option<(Decimal, Decimal)> {
    let (active, reactive) = (money::float(kwh), money::float(lagging));
    let apparent = active.hypot(reactive);
    let power_factor = money::read(active / apparent).filter(|_| apparent > 0.0)?;
    let points = (charge.below - power_factor) * Decimal::ONE_HUNDRED;
    (points > Decimal::ZERO).then_some((power_factor, points))
}
