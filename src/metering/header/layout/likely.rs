//! A log of which no column is recognised: what kind of file it looks like, and which quantities would fit its columns.

use super::Finder;
use formats::EnergyReading;
use message::{Message, Place};
use site::{MACHINES, Meter, READINGS};

/// Columns for which quantities are proposed.
const MOST_COLUMNS: usize = 8;
/// Names in common with a list of the user's from which a header is taken for that of the list.
const SHARED_NAMES: usize = 3;

impl Finder<'_> {
    pub(super) fn no_known_column(&self, meter: &Meter) -> Message {
        let header = self.header;
        let message = Message::error(
            "no-known-column",
            format!(
                "no column of `{}` is recognised for meter `{}`",
                self.file, meter.id
            ),
        )
        .at(
            Place::in_line(self.file, header.line, &header.text, 0..header.text.len()),
            "expected quantity names such as `current_l1_a`",
        );
        let lists = [
            ("a machine list", &MACHINES),
            ("a round of readings", &READINGS),
        ];
        let list = lists.into_iter().find(|(_, list)| {
            let shared = header.names.iter().filter(|name| list.find(name).is_some());
            shared.count() >= SHARED_NAMES
        });
        if let Some((what, _)) = list {
            return message
                .note(format!("it looks like {what}, not a log"))
                .help("name the log in the meter's `files`");
        }
        let fitting = self.fitting();
        let help = if fitting.is_empty() {
            "no column has numbers: check `separator` and `decimal` under the meter, or export the log again".to_owned()
        } else {
            format!(
                "name the columns under `[meter.columns]`, as far as they are meant so: {}",
                fitting.join("; ")
            )
        };
        message.note(self.looks_like()).help(help)
    }

    fn looks_like(&self) -> String {
        let separator = match self.dialect.separator {
            b'\t' => "tabs".to_owned(),
            byte => format!("`{}`", char::from(byte)),
        };
        let names = &self.header.names;
        let time = self.usual_time().first;
        format!(
            "it looks like a table of {} columns separated by {separator}, with the time in `{}`",
            names.len(),
            names.get(time).map_or("", String::as_str)
        )
    }

    /// For each column of numbers the quantities that its first numbers would fit.
    fn fitting(&self) -> Vec<String> {
        let time = self.usual_time();
        let columns = self.header.names.iter().enumerate();
        columns
            .filter(|(cell, name)| {
                let is_time = *cell == time.first || Some(*cell) == time.second;
                !is_time && !name.is_empty() && !self.numbers(*cell).is_empty()
            })
            .take(MOST_COLUMNS)
            .map(|(cell, name)| {
                let names: Vec<String> = quantities(self.numbers(cell), self.energy_reading(cell))
                    .iter()
                    .map(|quantity| format!("`{quantity} = \"{name}\"`"))
                    .collect();
                names.join(" or ")
            })
            .collect()
    }
}

/// Quantities of such numbers; the first is the likeliest.
fn quantities(numbers: &[f64], reading: EnergyReading) -> &'static [&'static str] {
    let mut sorted = numbers.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted[sorted.len() / 2];
    let span = sorted[sorted.len() - 1] - sorted[0];
    let only_rises = span > 0.0 && numbers.windows(2).all(|pair| pair[0] <= pair[1]);
    match middle {
        _ if reading == EnergyReading::Register => &["energy_import_kwh"],
        45.0..65.0 if span < 2.0 => &["frequency_hz"],
        200.0..260.0 => &["voltage_l1_v"],
        360.0..450.0 => &["voltage_l1_l2_v"],
        0.3..=1.0 if sorted[sorted.len() - 1] <= 1.0 => &["power_factor", "active_power_kw"],
        _ if only_rises => &["energy_import_kwh", "energy_interval_kwh"],
        _ => &["current_l1_a", "active_power_kw", "energy_interval_kwh"],
    }
}
