//! Which of the meters in a file each meter of the site is.

use std::collections::{BTreeMap, BTreeSet};

use super::log_contents::{LogBody, LogPart};
use message::{Message, Messages, Place, did_you_mean};
use site::{Meter, Quantity, Site};

/// So many meters of a file are listed.
const MOST_LISTED: usize = 12;

/// What was looked for in the files so far.
#[derive(Debug, Default)]
pub(crate) struct PointSearch {
    found: BTreeSet<usize>,
    /// Meters of the site whose point was not in a file, with the points that are.
    missed: BTreeMap<usize, BTreeSet<String>>,
    /// Meters of a file in a known format: the energy of each, and whether a meter of the site uses it.
    in_files: BTreeMap<String, BTreeMap<String, (Option<f64>, bool)>>,
}

impl PointSearch {
    /// A file that could not be read says nothing about its meters.
    pub(crate) fn failed(&mut self, group: &[usize]) {
        self.found.extend(group);
    }

    /// For each part of a file the meters of the group that use it.
    pub(crate) fn choose(
        &mut self,
        site: &Site,
        file: &str,
        group: &[usize],
        parts: &[LogPart],
        messages: &mut Messages,
    ) -> Vec<Vec<usize>> {
        let mut chosen = vec![Vec::new(); parts.len()];
        for &index in group {
            let meter = &site.meters[index];
            let places = matching(meter, parts);
            match places[..] {
                [] => {
                    let points = parts.iter().filter_map(|part| part.point.clone());
                    self.missed.entry(index).or_default().extend(points);
                }
                [at] => {
                    self.found.insert(index);
                    chosen[at].push(index);
                }
                _ => {
                    self.found.insert(index);
                    let own: Vec<&LogPart> = places.iter().map(|&at| &parts[at]).collect();
                    messages.push(several(meter, file, &own));
                }
            }
        }
        for (part, used_by) in parts.iter().zip(&chosen) {
            let (Some(point), LogBody::Channels(_)) = (&part.point, &part.body) else {
                continue;
            };
            let of_file = self.in_files.entry(file.to_owned()).or_default();
            let known = of_file
                .entry(point.clone())
                .or_insert_with(|| (energy_of(part), false));
            known.1 |= !used_by.is_empty();
        }
        chosen
    }

    /// Says which meters of files no meter of the site uses.
    pub(crate) fn unused(&self, messages: &mut Messages) {
        for (file, points) in &self.in_files {
            let unused: Vec<_> = points.iter().filter(|(_, (_, used))| !used).collect();
            // A file of which nothing is used has a message of its own.
            let Some(&(first, _)) = unused.first().filter(|_| unused.len() < points.len()) else {
                continue;
            };
            let named = |(point, (energy, _)): &(&String, &(Option<f64>, bool))| match energy {
                Some(kwh) => format!("`{point}` with {} kWh", units::plain_figure(*kwh)),
                None => format!("`{point}`"),
            };
            let mut listed: Vec<String> = unused.iter().take(MOST_LISTED).map(named).collect();
            if unused.len() > MOST_LISTED {
                listed.push(format!("{} more", unused.len() - MOST_LISTED));
            }
            messages.push(
                Message::warning(
                    "unused-point",
                    format!("no meter of the site uses these meters of `{file}`: {}", listed.join(", ")),
                )
                .at(Place::file(file), "")
                .help(format!("nothing, if they are none of the site; else add a `[[meter]]` with `point = \"{first}\"`")),
            );
        }
    }

    /// Says which meters are in none of their files.
    pub(crate) fn not_found(self, site: &Site, messages: &mut Messages) {
        for (index, points) in self.missed {
            if self.found.contains(&index) {
                continue;
            }
            let meter = &site.meters[index];
            let point = meter.point.as_deref().unwrap_or_default();
            let listed: Vec<String> = points
                .iter()
                .take(MOST_LISTED)
                .map(|point| format!("`{point}`"))
                .collect();
            messages.push(
                Message::error(
                    "unknown-point",
                    format!("the files of meter `{}` have no meter `{point}`", meter.id),
                )
                .at(
                    meter.files_at.clone(),
                    format!("they have {}", listed.join(", ")),
                )
                .maybe_help(did_you_mean(point, points.iter().map(String::as_str))),
            );
        }
    }
}

/// The parts that a meter may be.
fn matching(meter: &Meter, parts: &[LogPart]) -> Vec<usize> {
    let where_is = |is: &dyn Fn(&str) -> bool| -> Vec<usize> {
        let own = parts.iter().enumerate();
        own.filter(|(_, part)| part.point.as_deref().is_some_and(is))
            .map(|(at, _)| at)
            .collect()
    };
    let all: Vec<usize> = (0..parts.len()).collect();
    let Some(point) = &meter.point else {
        return all;
    };
    let exact = where_is(&|id| id == point);
    if !exact.is_empty() {
        return exact;
    }
    let below = where_is(&|id| {
        id.strip_prefix(point.as_str())
            .is_some_and(|rest| rest.starts_with('/'))
    });
    let unnamed = parts.len() == 1 && parts[0].point.is_none();
    if below.is_empty() && unnamed {
        all
    } else {
        below
    }
}

/// Several meters of a file may be meant: their energies, and what to write.
fn several(meter: &Meter, file: &str, parts: &[&LogPart]) -> Message {
    let named = |part: &LogPart| {
        let name = part.point.clone().unwrap_or_else(|| part.name.clone());
        match energy_of(part) {
            Some(kwh) => format!("`{name}` with {} kWh", units::plain_figure(kwh)),
            None => format!("`{name}`"),
        }
    };
    let mut listed: Vec<String> = parts
        .iter()
        .take(MOST_LISTED)
        .map(|part| named(part))
        .collect();
    if parts.len() > MOST_LISTED {
        listed.push(format!("{} more", parts.len() - MOST_LISTED));
    }
    let example = parts
        .iter()
        .find_map(|part| part.point.as_deref())
        .unwrap_or_default();
    Message::error(
        "several-points",
        format!(
            "`{file}` has readings of {} meters, and meter `{}` may be any of them",
            parts.len(),
            meter.id
        ),
    )
    .at(Place::file(file), "")
    .note(format!("it has {}", listed.join(", ")))
    .help(format!(
        "write which one under the meter: `point = \"{example}\"`; for another, add a `[[meter]]`"
    ))
}

/// Energy imported, where it is known without reading on. (kWh)
fn energy_of(part: &LogPart) -> Option<f64> {
    let LogBody::Channels(point) = &part.body else {
        return None;
    };
    let mut own = point.channels.iter();
    let import = own.find(|channel| channel.quantity == Some(Quantity::EnergyInterval))?;
    Some(import.total())
}
