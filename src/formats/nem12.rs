//! NEM12: interval data of the Australian market (Meter Data File Format Specification NEM12 & NEM13).
//!
//! Records 200 name a meter's channel, 300 have the values of a day, 400 the quality of intervals of the day above, 500
//! and 550 readings by hand, 900 ends the file. Times are the market's standard time. Files that network companies hand
//! to customers begin at once with record 200.

use super::day_versions::{DayVersions, ReadDay};
use super::line_place::{place, short};
use super::log_format::{FormatSource, LogFormat};
use super::nem_channels::{NemChannels, quantity_of};
use super::nem12_day::{DayFault, OpenChannel, OpenDay};
use super::transcript::Transcript;
use message::{Level, Message, Messages, Place};

/// The format.
pub(crate) struct Nem12;

/// So many faults are shown.
const MOST_FAULTS: usize = 20;

impl LogFormat for Nem12 {
    fn name(&self) -> &'static str {
        "NEM12"
    }

    fn recognise(&self, _file: &str, beginning: &str) -> Option<String> {
        let mut lines = beginning
            .lines()
            .map(str::trim)
            .filter(|line| !line.is_empty());
        let first = lines.next()?;
        let fields: Vec<&str> = first.split(',').map(str::trim).collect();
        if fields[0] == "100"
            && fields
                .get(1)
                .is_some_and(|kind| kind.eq_ignore_ascii_case("NEM12"))
        {
            return Some("its first record is `100,NEM12`".to_owned());
        }
        let second = lines.next()?;
        let is_channel = fields[0] == "200" && (9..=10).contains(&fields.len());
        (is_channel && second.starts_with("300,")).then(|| {
            "its records are those of a NEM12 file: 200 and 300, without the record 100".to_owned()
        })
    }

    fn read(&self, source: &FormatSource<'_>, messages: &mut Messages) -> Option<Transcript> {
        let mut reader = Reader {
            source,
            channels: NemChannels::default(),
            open: None,
            day: None,
            versions: DayVersions::default(),
            faults: Vec::new(),
            warnings: Vec::new(),
            ended: false,
            headed: false,
        };
        for (line, text) in source.text.lines().enumerate() {
            let text = text.trim_end();
            if !text.trim().is_empty() {
                reader.record(line, text);
            }
            if reader.faults.len() >= MOST_FAULTS {
                break;
            }
        }
        reader.end_day();
        reader.finish(messages)
    }
}

struct Reader<'s, 't> {
    source: &'s FormatSource<'t>,
    channels: NemChannels,
    open: Option<OpenChannel>,
    day: Option<OpenDay<'t>>,
    versions: DayVersions,
    faults: Vec<Message>,
    warnings: Vec<Message>,
    ended: bool,
    headed: bool,
}

impl<'t> Reader<'_, 't> {
    fn fault(
        &mut self,
        line: usize,
        text: &str,
        what: impl Into<String>,
        expected: impl Into<String>,
    ) {
        self.faults.push(
            Message::error("interval-format", what.into())
                .at(place(self.source.file, line, text), expected)
                .help("ask for the file again, or take the lines of that day out"),
        );
    }

    fn record(&mut self, line: usize, text: &'t str) {
        let kind = text.split(',').next().unwrap_or_default().trim();
        if kind != "400" {
            self.end_day();
        }
        match kind {
            "100" => self.headed = true,
            "200" => self.channel(line, text),
            "300" => self.day(line, text),
            "400" => self.quality(line, text),
            "500" | "550" => {}
            "900" => self.ended = true,
            _ => self.fault(
                line,
                text,
                format!(
                    "`{}` has a record `{}`, which NEM12 does not have",
                    self.source.file,
                    short(kind)
                ),
                "expected a record 100, 200, 300, 400, 500 or 900",
            ),
        }
    }

    fn channel(&mut self, line: usize, text: &str) {
        self.open = None;
        let fields: Vec<&str> = text.split(',').map(str::trim).collect();
        let field = |at: usize| fields.get(at).copied().unwrap_or_default();
        let (point, suffix, unit, minutes) = (field(1), field(4), field(7), field(8));
        let minutes = minutes.parse::<usize>().ok();
        let Some(minutes) = minutes.filter(|minutes| [1, 5, 10, 15, 30, 60].contains(minutes))
        else {
            return self.fault(
                line,
                text,
                format!(
                    "a channel of `{}` has the interval length `{}`",
                    self.source.file,
                    short(field(8))
                ),
                "expected 5, 10, 15 or 30 minutes in the ninth field",
            );
        };
        if point.is_empty() || suffix.is_empty() {
            return self.fault(
                line,
                text,
                format!(
                    "a channel of `{}` has no meter or no suffix",
                    self.source.file
                ),
                "expected the meter in the second field, the suffix in the fifth",
            );
        }
        match self.channels.of(point, suffix, unit, quantity_of(suffix)) {
            Ok((channel, factor)) => {
                self.open = Some(OpenChannel {
                    channel,
                    factor,
                    interval_min: minutes,
                });
            }
            Err(()) => self.fault(
                line,
                text,
                format!(
                    "channel `{suffix}` of `{point}` has the unit `{}`",
                    short(unit)
                ),
                "expected kWh or kvarh, or a multiple such as Wh or MWh",
            ),
        }
    }

    fn day(&mut self, line: usize, text: &'t str) {
        let Some(open) = &self.open else {
            if self.faults.is_empty() {
                self.fault(
                    line,
                    text,
                    format!("a day of `{}` belongs to no channel", self.source.file),
                    "expected a record 200 above it",
                );
            }
            return;
        };
        match OpenDay::read(self.source.file, open, line, text) {
            Ok(day) => self.day = Some(day),
            Err(DayFault { what, expected }) => self.fault(line, text, what, expected),
        }
    }

    fn quality(&mut self, line: usize, text: &str) {
        let Some(day) = &mut self.day else {
            if self.faults.is_empty() {
                self.fault(
                    line,
                    text,
                    format!("a record 400 of `{}` belongs to no day", self.source.file),
                    "expected a record 300 above it",
                );
            }
            return;
        };
        if let Err(DayFault { what, expected }) = day.qualify(self.source.file, text) {
            self.day = None;
            self.fault(line, text, what, expected);
        }
    }

    fn end_day(&mut self) {
        let Some(day) = self.day.take() else { return };
        let line = day.stretch.line;
        if let Some(DayFault { what, expected }) = day.unqualified(self.source.file) {
            return self.fault(line, day.text, what, expected);
        }
        let read = ReadDay {
            channel: day.channel,
            stretch: day.stretch,
            text: day.text,
            updated: day.updated,
        };
        match self.versions.take(self.source, &mut self.channels, read) {
            Some(message) if message.level == Level::Error => self.faults.push(message),
            Some(message) => self.warnings.push(message),
            None => {}
        }
    }

    fn finish(mut self, messages: &mut Messages) -> Option<Transcript> {
        let file = self.source.file;
        let has_days = self
            .channels
            .all
            .iter()
            .any(|channel| !channel.stretches.is_empty());
        if self.faults.is_empty() && !has_days {
            self.faults.push(
                Message::error(
                    "empty-log",
                    format!("the log `{file}` has no day of readings"),
                )
                .at(Place::file(file), "")
                .help("export the log again, or exclude the file from the meter's `files`"),
            );
        }
        let failed = !self.faults.is_empty();
        for fault in self.faults {
            messages.push(fault);
        }
        let more = self.warnings.len().saturating_sub(MOST_FAULTS);
        let mut warnings = self.warnings.into_iter().take(MOST_FAULTS).peekable();
        while let Some(warning) = warnings.next() {
            let is_last = more > 0 && warnings.peek().is_none();
            messages.push(if is_last {
                warning.note(format!("{more} more days are so"))
            } else {
                warning
            });
        }
        if failed {
            return None;
        }
        if self.headed && !self.ended {
            messages.push(
                Message::warning(
                    "cut-off",
                    format!("`{file}` has no record 900 at its end: it may be cut off"),
                )
                .at(Place::file(file), "")
                .help("compare its last day with the source"),
            );
        } else if !self.headed {
            messages.push(
                Message::warning(
                    "no-header-record",
                    format!("`{file}` has no record 100; read as NEM12"),
                )
                .at(Place::file(file), "")
                .help("nothing, if it is interval data in the market's standard time (UTC+10)"),
            );
        }
        Some(Transcript::Channels(self.channels.all))
    }
}

#[cfg(test)]
mod tests {
    use super::super::channel::EstimatedRange;
    use super::*;
    use site::Corrections;

    fn read(text: &str, corrections: Corrections) -> (Option<Transcript>, Vec<String>) {
        let mut messages = Messages::new();
        let source = FormatSource {
            file: "a.csv",
            text,
            zone: chrono_tz::UTC,
            stamp: None,
            corrections,
            unit: None,
        };
        let read = Nem12.read(&source, &mut messages);
        let names = messages
            .all()
            .iter()
            .map(|message| message.name.to_owned())
            .collect();
        (read, names)
    }

    fn day(date: &str, value: &str, end: &str) -> String {
        format!("300,{date},{}{end}\n", format!("{value},").repeat(48))
    }

    fn total(read: Option<Transcript>) -> f64 {
        match read {
            Some(Transcript::Channels(channels)) => channels[0].total(),
            other => panic!("{other:?}"),
        }
    }

    const HEAD: &str = "100,NEM12,202601010000,A,B\n200,N1,E1,1,E1,N1,S,Wh,30,\n";

    /// 48 × 500 Wh = 24 kWh.
    #[test]
    fn units_and_qualities() {
        let text = format!(
            "{HEAD}{}400,1,20,A,,\n400,21,48,S14,,\n900\n",
            day("20260309", "500", "V,,,")
        );
        let (transcript, names) = read(&text, Corrections::Ask);
        assert!(names.is_empty(), "{names:?}");
        let Some(Transcript::Channels(channels)) = &transcript else {
            panic!("channels")
        };
        assert_eq!(
            channels[0].stretches[0].estimated,
            [EstimatedRange { from: 20, to: 48 }]
        );
        // 00:00 at UTC+10.
        assert_eq!(channels[0].stretches[0].start_s, 1_772_978_400);
        assert!((total(transcript) - 24.0).abs() < 1e-12);
    }

    #[test]
    fn two_versions_of_a_day_are_asked_about_unless_their_dates_of_update_or_the_site_decide() {
        let two = |first: &str, second: &str| {
            format!(
                "{HEAD}{}{}900\n",
                day("20260309", "1", first),
                day("20260309", "2", second)
            )
        };
        let same = two("A,,,20260310000000,", "A,,,20260310000000,");
        assert_eq!(read(&same, Corrections::Ask).1, ["two-versions"]);
        assert!((total(read(&same, Corrections::Last).0) - 0.096).abs() < 1e-12);
        assert!((total(read(&same, Corrections::First).0) - 0.048).abs() < 1e-12);
        let dated = two("A,,,20260310000000,", "A,,,20260311000000,");
        let (transcript, names) = read(&dated, Corrections::Ask);
        assert_eq!(names, ["corrected-values"]);
        assert!((total(transcript) - 0.096).abs() < 1e-12);
    }

    #[test]
    fn what_breaks_the_format_is_refused() {
        for wrong in [
            format!("{HEAD}300,20260309,1,2,3,A,,,\n900\n"),
            format!("{HEAD}{}900\n", day("20261301", "1", "A,,,")),
            format!("{HEAD}{}900\n", day("20260309", "1", "V,,,")),
            format!("{HEAD}{}400,1,96,A,,\n900\n", day("20260309", "1", "V,,,")),
            format!("{HEAD}{}900\n", day("20260309", "1", "X")),
            format!("{HEAD}900\n"),
            "100,NEM12,1,A,B\n200,N1,E1,1,E1,N1,S,kWh,7,\n900\n".to_owned(),
        ] {
            let (transcript, names) = read(&wrong, Corrections::Ask);
            assert!(transcript.is_none() && !names.is_empty(), "{wrong}");
        }
    }
}
