//! Reads `[[schedule]]`.

use super::table::SiteTable;
use crate::model::schedule::{Schedule, Shift};
use calendar::{Days, parse_minute_of_day};
use message::Message;

pub(crate) fn read(root: &SiteTable<'_, '_>) -> Vec<Schedule> {
    let mut schedules: Vec<Schedule> = Vec::new();
    for table in root.tables("schedule") {
        let name = table.required_text("name");
        let days = table.required_text("days").and_then(|days| {
            let read = Days::parse(&days.value);
            if read.is_none() {
                table.source.push(
                    Message::error("days", format!("`{}` does not name days", days.value)).at(
                        table.source.place(&days.span),
                        "expected days such as `Mon-Fri`, `Sat,Sun` or `daily`",
                    ),
                );
            }
            read
        });
        let from_min = read_time(&table, "from");
        let to_min = read_time(&table, "to");
        let working_hours = table.flag("working_hours").unwrap_or(true);
        table.finish();
        let Some(name) = name else { continue };
        // Known by its name even where its times are at fault: the machines on it are not.
        let shift = match (days, from_min, to_min) {
            (Some(days), Some(from_min), Some(to_min)) => Some(Shift {
                days,
                from_min,
                to_min,
            }),
            _ => None,
        };
        match schedules.iter_mut().find(|known| known.name == name.value) {
            Some(known) => {
                known.working_hours &= working_hours;
                known.shifts.extend(shift);
            }
            None => schedules.push(Schedule {
                name: name.value,
                working_hours,
                shifts: shift.into_iter().collect(),
            }),
        }
    }
    schedules
}

fn read_time(table: &SiteTable<'_, '_>, key: &'static str) -> Option<u32> {
    let text = table.required_text(key)?;
    let minute = parse_minute_of_day(&text.value);
    if minute.is_none() {
        table.source.push(
            Message::error(
                "time-of-day",
                format!("`{}` is not a time of day", text.value),
            )
            .at(
                table.source.place(&text.span),
                "expected hours and minutes such as `07:30`, up to `24:00`",
            ),
        );
    }
    minute
}
