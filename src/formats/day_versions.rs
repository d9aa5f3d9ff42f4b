//! Which version of a day counts, where a file of the market has several: the later date of update, or what the site says.

use std::collections::HashMap;

use super::channel::Stretch;
use super::line_place::place;
use super::log_format::FormatSource;
use super::nem_channels::NemChannels;
use message::Message;
use site::Corrections;

/// A day of a channel as it was read.
#[derive(Debug)]
pub(crate) struct ReadDay<'t> {
    pub(crate) channel: usize,
    pub(crate) stretch: Stretch,
    /// Its record.
    pub(crate) text: &'t str,
    /// When it was written; empty where that is not known.
    pub(crate) updated: &'t str,
}

/// The version of a day that counts: its place among the stretches of its channel, and when it was written.
#[derive(Clone, Debug)]
struct KnownDay {
    at: usize,
    updated: String,
}

/// The days so far, by channel and start.
#[derive(Debug, Default)]
pub(crate) struct DayVersions {
    days: HashMap<(usize, i64), KnownDay>,
}

impl DayVersions {
    /// Puts a day into its channel. A message where another version of it is there: an error where nothing says which
    /// counts, else a warning.
    pub(crate) fn take(
        &mut self,
        source: &FormatSource<'_>,
        channels: &mut NemChannels,
        day: ReadDay<'_>,
    ) -> Option<Message> {
        let key = (day.channel, day.stretch.start_s);
        let updated = day.updated.to_owned();
        let stretches = &mut channels.all[day.channel].stretches;
        let Some(known) = self.days.get_mut(&key) else {
            let at = stretches.len();
            self.days.insert(key, KnownDay { at, updated });
            stretches.push(day.stretch);
            return None;
        };
        if same(&stretches[known.at], &day.stretch) {
            return None;
        }
        let dated = !known.updated.is_empty() && !updated.is_empty() && known.updated != updated;
        let later = match source.corrections {
            Corrections::First => false,
            Corrections::Last => true,
            Corrections::Ask if dated => updated > known.updated,
            Corrections::Ask => {
                let message = Message::error("two-versions", versions(channels, &day, known.at));
                return Some(message
                    .at(place(source.file, day.stretch.line, day.text), "the second")
                    .help("write `corrections = \"last\"` or `corrections = \"first\"` under the meter, as far as the lines show which is right"));
            }
        };
        let which = if later { "second" } else { "first" };
        let text = format!("{}; the {which} counts", versions(channels, &day, known.at));
        let warning = Message::warning("corrected-values", text)
            .at(place(source.file, day.stretch.line, day.text), "the second");
        if later {
            channels.all[day.channel].stretches[known.at] = day.stretch;
            known.updated = updated;
        }
        Some(warning)
    }
}

/// The two sums of a day, and what they are of.
fn versions(channels: &NemChannels, day: &ReadDay<'_>, at: usize) -> String {
    let channel = &channels.all[day.channel];
    let unit = channel.quantity.map_or("", site::Quantity::unit);
    let date = day.text.split(',').nth(1).unwrap_or_default();
    let sum = |stretch: &Stretch| units::plain_figure(stretch.sum() * channel.factor);
    format!(
        "channel `{}` of `{}` has two versions of {date}: {} {unit} in line {}, {} {unit} in line {}",
        channel.register,
        channel.point.as_deref().unwrap_or_default(),
        sum(&channel.stretches[at]),
        channel.stretches[at].line + 1,
        sum(&day.stretch),
        day.stretch.line + 1,
    )
}

fn same(a: &Stretch, b: &Stretch) -> bool {
    let pairs = || a.values.iter().zip(&b.values);
    a.values.len() == b.values.len()
        && pairs().all(|(a, b)| (a - b).abs() <= f64::EPSILON * a.abs() || a.is_nan() && b.is_nan())
}
