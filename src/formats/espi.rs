//! ESPI: usage data in XML (NAESB REQ.21, Energy Services Provider Interface), on an Atom feed.
//!
//! Entries refer to each other by their links: an interval block lies below its meter reading, which names a reading
//! type with unit, power of ten, direction of flow and phase. Times are UTC.

use std::collections::BTreeMap;

use quick_xml::events::Event;
use quick_xml::{Reader, XmlVersion};

use super::channel::{EstimatedRange, IntervalChannel, Stretch};
use super::log_format::{FormatSource, LogFormat};
use super::transcript::Transcript;
use electrical::Phase;
use message::{Message, Messages, Place};
use site::Quantity;

/// The format.
pub(crate) struct Espi;

/// Kinds of quality of a value that was not read: edited by hand, by a reference day, interpolated, projected.
const ESTIMATED: [u32; 4] = [7, 8, 9, 12];
/// Forward: delivered to the customer. Reverse: received from the customer.
const REVERSE: i64 = 19;
/// Kinds of accumulation that are readings of a register: bulk quantity, continuous cumulative, cumulative
/// (IEC 61968-9); deltas are the energy of an interval.
const REGISTERS: [i64; 3] = [1, 2, 3];
/// What is used of a reading type.
const USED: [&str; 6] = [
    "accumulationBehaviour",
    "commodity",
    "flowDirection",
    "phase",
    "powerOfTenMultiplier",
    "uom",
];
/// Powers of ten that a reading type may have.
const POWERS_OF_TEN: std::ops::RangeInclusive<i64> = -12..=12;
/// Readings of one interval length in a row that are one stretch.
const LONGEST_STRETCH: usize = 1 << 16;

impl LogFormat for Espi {
    fn name(&self) -> &'static str {
        "ESPI"
    }

    fn recognise(&self, _file: &str, beginning: &str) -> Option<String> {
        let is_xml = beginning
            .trim_start_matches('\u{feff}')
            .trim_start()
            .starts_with('<');
        let names_it = beginning.contains("naesb.org/espi") || beginning.contains("espi/1_1");
        (is_xml && names_it).then(|| "XML with the namespace of NAESB's ESPI".to_owned())
    }

    fn read(&self, source: &FormatSource<'_>, messages: &mut Messages) -> Option<Transcript> {
        let refuse = |what: String, messages: &mut Messages| {
            messages.push(
                Message::error("interval-format", what)
                    .at(Place::file(source.file), "")
                    .help("download the file again"),
            );
            None
        };
        let feed = match Feed::read(source.text) {
            Ok(feed) => feed,
            Err(why) => {
                return refuse(
                    format!("`{}` is not a whole XML file: {why}", source.file),
                    messages,
                );
            }
        };
        if let Some(why) = feed.fault {
            return refuse(format!("a reading of `{}` {why}", source.file), messages);
        }
        let channels = feed.channels();
        if channels.is_empty() {
            messages.push(
                Message::error(
                    "empty-log",
                    format!("the log `{}` has no interval reading", source.file),
                )
                .at(Place::file(source.file), "")
                .help("export the log again, or exclude the file from the meter's `files`"),
            );
            return None;
        }
        Some(Transcript::Channels(channels))
    }
}

/// What a reading type says, by the names of its elements.
type ReadingType = BTreeMap<String, i64>;

/// One reading of an interval.
#[derive(Clone, Copy, Debug, Default)]
struct Interval {
    start: Option<i64>,
    duration: Option<u32>,
    value: Option<f64>,
    estimated: bool,
    qualified: bool,
}

/// One entry while it is read.
#[derive(Debug, Default)]
struct AtomEntry {
    own: String,
    up: String,
    related: Vec<String>,
    reading_type: Option<ReadingType>,
    is_meter_reading: bool,
    intervals: Vec<(usize, Interval)>,
}

/// All entries by their links.
#[derive(Debug, Default)]
struct Feed {
    types: BTreeMap<String, ReadingType>,
    /// Reading type of each meter reading.
    meter_readings: BTreeMap<String, String>,
    /// Intervals by meter reading, in the order of the file.
    blocks: Vec<(String, Vec<(usize, Interval)>)>,
    fault: Option<String>,
}

impl Feed {
    fn read(text: &str) -> Result<Feed, String> {
        let mut feed = Feed::default();
        let mut reader = Reader::from_str(text);
        let mut entry = AtomEntry::default();
        let mut path: Vec<String> = Vec::new();
        let mut words = String::new();
        let mut lines = LineCount::default();
        loop {
            match reader.read_event().map_err(|error| error.to_string())? {
                Event::Eof => break,
                Event::Start(start) => {
                    let name = local(start.name().as_ref());
                    match name.as_str() {
                        "entry" => entry = AtomEntry::default(),
                        "link" => entry.link(&start),
                        "MeterReading" => entry.is_meter_reading = true,
                        "ReadingType" => entry.reading_type = Some(ReadingType::new()),
                        "IntervalReading" => {
                            let line = lines.at(text, reader.buffer_position() as usize);
                            entry.intervals.push((line, Interval::default()));
                        }
                        _ => {}
                    }
                    path.push(name);
                    words.clear();
                }
                Event::Empty(start) => match local(start.name().as_ref()).as_str() {
                    "link" => entry.link(&start),
                    "MeterReading" => entry.is_meter_reading = true,
                    _ => {}
                },
                Event::Text(piece) => {
                    words.push_str(&piece.xml_content(XmlVersion::Implicit1_0));
                }
                Event::End(_) => {
                    let name = path.pop().unwrap_or_default();
                    let parent = path.last().map_or("", String::as_str);
                    if name == "entry" {
                        feed.take(std::mem::take(&mut entry));
                    } else if let Err(why) = entry.element(&name, parent, words.trim()) {
                        feed.fault.get_or_insert(why);
                    }
                    words.clear();
                }
                _ => {}
            }
        }
        if !path.is_empty() {
            return Err("it ends early".to_owned());
        }
        if !entry.intervals.is_empty() {
            return Err("it has intervals outside an entry".to_owned());
        }
        Ok(feed)
    }

    fn take(&mut self, entry: AtomEntry) {
        if let Some(reading_type) = entry.reading_type {
            self.types.insert(entry.own.clone(), reading_type);
        }
        if entry.is_meter_reading {
            let of_type = entry
                .related
                .iter()
                .find(|link| link.contains("/ReadingType/"));
            if let Some(of_type) = of_type {
                self.meter_readings
                    .insert(entry.own.clone(), of_type.clone());
            }
        }
        if !entry.intervals.is_empty() {
            let link = if entry.up.is_empty() {
                &entry.own
            } else {
                &entry.up
            };
            let reading = link
                .split("/IntervalBlock")
                .next()
                .unwrap_or_default()
                .to_owned();
            self.blocks.push((reading, entry.intervals));
        }
    }

    /// The reading type of a meter reading; the only one where links lead nowhere.
    fn type_of(&self, reading: &str) -> Option<&ReadingType> {
        let linked = self
            .meter_readings
            .get(reading)
            .and_then(|link| self.types.get(link));
        linked.or_else(|| self.types.values().next().filter(|_| self.types.len() == 1))
    }

    fn channels(&self) -> Vec<IntervalChannel> {
        let points: Vec<&str> = self
            .blocks
            .iter()
            .map(|(reading, _)| usage_point(reading))
            .collect();
        let several = points.windows(2).any(|pair| pair[0] != pair[1]);
        let qualified = self
            .blocks
            .iter()
            .flat_map(|(_, intervals)| intervals)
            .any(|(_, one)| one.qualified);
        let mut channels: Vec<(&str, IntervalChannel)> = Vec::new();
        for (reading, intervals) in &self.blocks {
            let at = channels
                .iter()
                .position(|(known, _)| known == reading)
                .unwrap_or_else(|| {
                    let (quantity, factor, unit) =
                        self.type_of(reading).map_or((None, 1.0, None), meaning);
                    channels.push((
                        reading,
                        IntervalChannel {
                            point: several.then(|| usage_point(reading).to_owned()),
                            register: reading.rsplit('/').next().unwrap_or_default().to_owned(),
                            quantity,
                            unit: unit.map(str::to_owned),
                            factor,
                            has_quality: qualified,
                            stretches: Vec::new(),
                        },
                    ));
                    channels.len() - 1
                });
            let stretches = &mut channels[at].1.stretches;
            for (line, interval) in intervals {
                put(stretches, *line, interval);
            }
        }
        channels.into_iter().map(|(_, channel)| channel).collect()
    }
}

/// Adds an interval to the stretch that it continues, or begins one.
fn put(stretches: &mut Vec<Stretch>, line: usize, interval: &Interval) {
    let (Some(start_s), Some(interval_s), Some(value)) =
        (interval.start, interval.duration, interval.value)
    else {
        return;
    };
    let continues = stretches.last().is_some_and(|last| {
        last.interval_s == interval_s
            && last.start_of(last.values.len()) == start_s
            && last.values.len() < LONGEST_STRETCH
    });
    if !continues {
        stretches.push(Stretch {
            start_s,
            interval_s,
            values: Vec::new(),
            estimated: Vec::new(),
            line,
        });
    }
    let Some(last) = stretches.last_mut() else {
        return;
    };
    if interval.estimated {
        EstimatedRange::mark(&mut last.estimated, last.values.len());
    }
    last.values.push(value);
}

/// The point of a link such as `…/UsagePoint/5446AF3F/MeterReading/01`.
fn usage_point(reading: &str) -> &str {
    let mut parts = reading
        .split('/')
        .skip_while(|part| *part != "UsagePoint")
        .skip(1);
    parts.next().unwrap_or(reading)
}

/// Quantity, factor to its unit, and the plain unit of a reading type.
fn meaning(reading_type: &ReadingType) -> (Option<Quantity>, f64, Option<&'static str>) {
    let field = |name: &str| reading_type.get(name).copied();
    // 0: not applicable, 1 and 2: electricity.
    if !matches!(field("commodity"), None | Some(0..=2)) {
        return (None, 1.0, None);
    }
    let exports = field("flowDirection") == Some(REVERSE);
    let register = field("accumulationBehaviour").is_some_and(|kind| REGISTERS.contains(&kind));
    let phase = match field("phase") {
        Some(128 | 129) => Some(Phase::L1),
        Some(64 | 65) => Some(Phase::L2),
        Some(32 | 33) => Some(Phase::L3),
        _ => None,
    };
    let (quantity, unit, exponent) = match (field("uom"), register, exports, phase) {
        (Some(72), false, false, None) => (Quantity::EnergyInterval, "Wh", -3),
        (Some(72), false, true, None) => (Quantity::EnergyExportInterval, "Wh", -3),
        (Some(72), true, false, phase) => (Quantity::EnergyImport(phase), "Wh", -3),
        (Some(72), true, true, None) => (Quantity::EnergyExport, "Wh", -3),
        (Some(73), false, false, None) => (Quantity::ReactiveEnergyInterval, "varh", -3),
        (Some(73), false, true, None) => (Quantity::ReactiveEnergyExportInterval, "varh", -3),
        (Some(38), _, false, phase) => (Quantity::ActivePower(phase), "W", -3),
        (Some(63), _, false, phase) => (Quantity::ReactivePower(phase), "var", -3),
        (Some(61), _, _, phase) => (Quantity::ApparentPower(phase), "VA", -3),
        (Some(5), _, _, Some(phase)) => (Quantity::Current(phase), "A", 0),
        (Some(29), _, _, Some(phase)) => (Quantity::Voltage(phase), "V", 0),
        (Some(33), _, _, _) => (Quantity::Frequency, "Hz", 0),
        _ => return (None, 1.0, None),
    };
    let exponent = exponent + field("powerOfTenMultiplier").unwrap_or(0);
    let ten = 10_f64.powi(exponent.abs() as i32);
    let factor = if exponent < 0 { 1.0 / ten } else { ten };
    (Some(quantity), factor, Some(unit))
}

impl AtomEntry {
    fn link(&mut self, element: &quick_xml::events::BytesStart<'_>) {
        let attribute = |name: &str| {
            let found = element.try_get_attribute(name).ok().flatten()?;
            Some(found.value.into_owned())
        };
        let href = attribute("href").unwrap_or_default();
        match attribute("rel").as_deref() {
            Some("self") => self.own = href,
            Some("up") => self.up = href,
            Some("related") => self.related.push(href),
            _ => {}
        }
    }

    /// Takes the text of an element.
    fn element(&mut self, name: &str, parent: &str, text: &str) -> Result<(), String> {
        let unreadable = || {
            format!(
                "has the {name} `{}`",
                text.chars().take(20).collect::<String>()
            )
        };
        if let (Some(reading_type), "ReadingType") = (&mut self.reading_type, parent) {
            let number = text.parse().ok();
            let number = number
                .filter(|number| name != "powerOfTenMultiplier" || POWERS_OF_TEN.contains(number));
            match number {
                Some(number) => {
                    reading_type.insert(name.to_owned(), number);
                }
                None if USED.contains(&name) && !text.is_empty() => return Err(unreadable()),
                None => {}
            }
            return Ok(());
        }
        let Some((_, interval)) = self.intervals.last_mut() else {
            return Ok(());
        };
        match (parent, name) {
            ("timePeriod", "start") => {
                interval.start = Some(text.parse().map_err(|_| unreadable())?);
            }
            ("timePeriod", "duration") => {
                let duration = text.parse().ok().filter(|duration| *duration > 0);
                interval.duration = Some(duration.ok_or_else(unreadable)?);
            }
            ("IntervalReading", "value") => {
                interval.value = Some(text.parse().map_err(|_| unreadable())?);
            }
            ("ReadingQuality", "quality") => {
                interval.qualified = true;
                interval.estimated |= text
                    .parse()
                    .is_ok_and(|quality| ESTIMATED.contains(&quality));
            }
            (_, "IntervalReading")
                if (interval.start.is_none()
                    || interval.duration.is_none()
                    || interval.value.is_none()) =>
            {
                return Err("lacks its start, its duration or its value".to_owned());
            }
            _ => {}
        }
        Ok(())
    }
}

fn local(name: &str) -> String {
    name.rsplit(':').next().unwrap_or_default().to_owned()
}

/// Lines up to ascending places of a text.
#[derive(Debug, Default)]
struct LineCount {
    at: usize,
    lines: usize,
}

impl LineCount {
    fn at(&mut self, text: &str, place: usize) -> usize {
        let place = place.min(text.len());
        if place > self.at {
            self.lines += memchr::memchr_iter(b'\n', &text.as_bytes()[self.at..place]).count();
            self.at = place;
        }
        self.lines
    }
}
