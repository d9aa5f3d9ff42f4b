//! The meters of a file: channels that belong to one meter, and its name.
//!
//! A meter is a point with at most one channel of each quantity. A point with several registers of one kind is several
//! meters, `POINT/1`, `POINT/2` …: the number at the end of the channels' names where they have one, else their order.

use std::collections::BTreeMap;

use super::channel::IntervalChannel;
use message::{Message, Messages, Place};
use site::Quantity;

/// The channels of one meter.
#[derive(Clone, Debug, PartialEq)]
pub struct PointChannels {
    /// Its name; `None`: the file names none.
    pub id: Option<String>,
    /// Its channels.
    pub channels: Vec<IntervalChannel>,
}

/// The channels that are used, meter by meter in the order of the file. A channel with values that is not used is
/// reported.
#[must_use]
pub fn by_point(
    file: &str,
    channels: Vec<IntervalChannel>,
    messages: &mut Messages,
) -> Vec<PointChannels> {
    let mut points: Vec<(Option<String>, Vec<IntervalChannel>)> = Vec::new();
    let mut places: BTreeMap<Option<String>, usize> = BTreeMap::new();
    for channel in channels {
        if channel.quantity.is_none() {
            messages.push(unread(file, &channel));
            continue;
        }
        if channel.stretches.is_empty() {
            continue;
        }
        let at = *places.entry(channel.point.clone()).or_insert_with(|| {
            points.push((channel.point.clone(), Vec::new()));
            points.len() - 1
        });
        points[at].1.push(channel);
    }
    points
        .into_iter()
        .flat_map(|(point, channels)| meters_of(point, channels))
        .collect()
}

/// A channel of which nothing is known that would give it a meaning.
fn unread(file: &str, channel: &IntervalChannel) -> Message {
    let values = channel.stretches.iter().flat_map(|stretch| &stretch.values);
    let values = values.filter(|value| !value.is_nan()).count();
    let of_point = channel
        .point
        .as_deref()
        .map_or_else(String::new, |point| format!(" of `{point}`"));
    let unit = channel.unit.as_deref().map_or_else(
        || "a quantity or unit that is not known".to_owned(),
        |unit| format!("the unit `{unit}`, which is none of energy or power"),
    );
    Message::warning(
        "unread-channel",
        format!(
            "channel `{}`{of_point} in `{file}` has {unit}: its {values} values are excluded",
            channel.register
        ),
    )
    .at(Place::file(file), "")
    .help("nothing, if it holds no energy; else ask for the channel in kWh or kvarh")
}

fn meters_of(point: Option<String>, channels: Vec<IntervalChannel>) -> Vec<PointChannels> {
    let several = channels.iter().enumerate().any(|(at, channel)| {
        channels[..at]
            .iter()
            .any(|known| known.quantity == channel.quantity)
    });
    if !several {
        return vec![PointChannels {
            id: point,
            channels,
        }];
    }
    let by_number = channels.iter().all(|channel| {
        let own = number_of(&channel.register);
        own.is_some()
            && channels
                .iter()
                .filter(|other| other.quantity == channel.quantity)
                .filter(|other| number_of(&other.register) == own)
                .count()
                == 1
    });
    let mut meters: BTreeMap<u32, Vec<IntervalChannel>> = BTreeMap::new();
    let mut before: Vec<Option<Quantity>> = Vec::new();
    for channel in channels {
        let number = if by_number {
            number_of(&channel.register).unwrap_or_default()
        } else {
            let same = before.iter().filter(|known| **known == channel.quantity);
            same.count() as u32 + 1
        };
        before.push(channel.quantity);
        meters.entry(number).or_default().push(channel);
    }
    let stem = point.unwrap_or_default();
    meters
        .into_iter()
        .map(|(number, channels)| PointChannels {
            id: Some(format!("{stem}/{number}")),
            channels,
        })
        .collect()
}

/// The single digit at the end of a suffix such as `E1`; longer numbers are register names.
fn number_of(register: &str) -> Option<u32> {
    let digits = register.len()
        - register
            .trim_end_matches(|c: char| c.is_ascii_digit())
            .len();
    let begins = register.bytes().next()?.is_ascii_alphabetic();
    (digits == 1 && begins).then(|| register[register.len() - 1..].parse().ok())?
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Stretch;
    use site::Quantity;

    fn channel(register: &str, quantity: Quantity) -> IntervalChannel {
        IntervalChannel {
            point: Some("N".to_owned()),
            register: register.to_owned(),
            quantity: Some(quantity),
            unit: None,
            factor: 1.0,
            has_quality: false,
            stretches: vec![Stretch {
                start_s: 0,
                interval_s: 900,
                values: vec![1.0],
                estimated: Vec::new(),
                line: 0,
            }],
        }
    }

    fn ids(channels: Vec<IntervalChannel>) -> Vec<(String, usize)> {
        let meters = by_point("a.csv", channels, &mut Messages::new()).into_iter();
        meters
            .map(|meter| (meter.id.unwrap_or_default(), meter.channels.len()))
            .collect()
    }

    #[test]
    fn a_point_with_two_registers_of_a_kind_is_two_meters() {
        let (import, export) = (Quantity::EnergyInterval, Quantity::EnergyExportInterval);
        let one = |name: &str, count| vec![(name.to_owned(), count)];
        assert_eq!(
            ids(vec![channel("E1", import), channel("B1", export)]),
            one("N", 2)
        );
        let two = ids(vec![
            channel("E1", import),
            channel("B2", export),
            channel("E2", import),
        ]);
        assert_eq!(two, [("N/1".to_owned(), 1), ("N/2".to_owned(), 2)]);
        let registers = ids(vec![channel("11", import), channel("41", import)]);
        assert_eq!(registers, [("N/1".to_owned(), 1), ("N/2".to_owned(), 1)]);
    }
}
