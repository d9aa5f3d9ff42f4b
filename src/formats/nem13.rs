//! NEM13: energy between two readings of a register, of the Australian market (Meter Data File Format Specification NEM12 & NEM13).

use super::channel::{EstimatedRange, Stretch};
use super::line_place::{place, short};
use super::log_format::{FormatSource, LogFormat};
use super::market_time;
use super::nem_channels::{NemChannels, quantity_of_unit};
use super::transcript::Transcript;
use message::{Message, Messages, Place};

/// The format.
pub(crate) struct Nem13;

impl LogFormat for Nem13 {
    fn name(&self) -> &'static str {
        "NEM13"
    }

    fn recognise(&self, _file: &str, beginning: &str) -> Option<String> {
        let first = beginning
            .lines()
            .map(str::trim)
            .find(|line| !line.is_empty())?;
        let mut fields = first.split(',').map(str::trim);
        let begins = fields.next() == Some("100")
            && fields
                .next()
                .is_some_and(|kind| kind.eq_ignore_ascii_case("NEM13"));
        begins.then(|| "its first record is `100,NEM13`".to_owned())
    }

    fn read(&self, source: &FormatSource<'_>, messages: &mut Messages) -> Option<Transcript> {
        let file = source.file;
        let mut channels = NemChannels::default();
        let mut sound = true;
        for (line, text) in source.text.lines().enumerate() {
            let text = text.trim();
            match text.split(',').next().unwrap_or_default().trim() {
                "250" => match read_record(text, line, &mut channels) {
                    Ok(None) => {}
                    Ok(Some(doubt)) => {
                        messages.push(
                            Message::warning("register-disagrees", doubt)
                                .at(place(file, line, text), "the energy that is stated counts")
                                .help("compare it with the bill"),
                        );
                    }
                    Err((what, expected)) => {
                        sound = false;
                        messages.push(
                            Message::error(
                                "interval-format",
                                format!("a record 250 of `{file}` {what}"),
                            )
                            .at(place(file, line, text), expected)
                            .help("ask for the file again, or take that record out"),
                        );
                    }
                },
                "" | "100" | "550" | "900" => {}
                other => {
                    sound = false;
                    messages.push(
                        Message::error(
                            "interval-format",
                            format!(
                                "`{file}` has a record `{}`, which NEM13 does not have",
                                short(other)
                            ),
                        )
                        .at(
                            place(file, line, text),
                            "expected a record 100, 250, 550 or 900",
                        )
                        .help("ask for the file again"),
                    );
                }
            }
        }
        if sound && channels.all.is_empty() {
            sound = false;
            messages.push(
                Message::error("empty-log", format!("the log `{file}` has no reading"))
                    .at(Place::file(file), "")
                    .help("export the log again, or exclude the file from the meter's `files`"),
            );
        }
        sound.then_some(Transcript::Channels(channels.all))
    }
}

type RecordFault = (String, &'static str);

/// Takes a record; a doubt where the registers disagree with the energy.
fn read_record(
    text: &str,
    line: usize,
    channels: &mut NemChannels,
) -> Result<Option<String>, RecordFault> {
    let fields: Vec<&str> = text.split(',').map(str::trim).collect();
    let field = |at: usize| fields.get(at).copied().unwrap_or_default();
    let fault = |what: String, expected| Err((what, expected));
    let (point, suffix, unit) = (field(1), field(4), field(19));
    if point.is_empty() || suffix.is_empty() {
        return fault(
            "names no meter or no register".to_owned(),
            "expected the meter in the second field, the suffix in the fifth",
        );
    }
    let exports = match field(7) {
        "E" => false,
        "I" => true,
        other => {
            return fault(
                format!("has the direction `{}`", short(other)),
                "expected E (to the customer) or I in the eighth field",
            );
        }
    };
    let (Some(from), Some(to)) = (
        market_time::moment(field(9)),
        market_time::moment(field(14)),
    ) else {
        return fault(
            format!(
                "has the times `{}` and `{}`",
                short(field(9)),
                short(field(14))
            ),
            "expected two times such as 20260309103000",
        );
    };
    let length = u32::try_from(to - from).ok().filter(|length| *length > 0);
    let Some(interval_s) = length else {
        return fault(
            "ends before it begins".to_owned(),
            "expected the later reading behind the earlier",
        );
    };
    let Some(energy) = number(field(18)) else {
        return fault(
            format!("has the energy `{}`", short(field(18))),
            "expected a number in the nineteenth field",
        );
    };
    let Some(quantity) = quantity_of_unit(unit, exports) else {
        return fault(
            format!("has the unit `{}`", short(unit)),
            "expected kWh or kvarh in the twentieth field",
        );
    };
    let Ok((channel, factor)) = channels.of(point, suffix, unit, Some(quantity)) else {
        return fault(
            format!("has the unit `{}`", short(unit)),
            "expected one kind of energy for each register",
        );
    };
    let is_actual = |at: usize| field(at).starts_with('A');
    let estimated = if is_actual(10) && is_actual(15) {
        Vec::new()
    } else {
        vec![EstimatedRange { from: 0, to: 1 }]
    };
    channels.all[channel].stretches.push(Stretch {
        start_s: from,
        interval_s,
        values: vec![energy * factor],
        estimated,
        line,
    });
    Ok(doubt(point, field(8), field(13), energy))
}

/// Where the readings of the register do not give the energy: both figures.
fn doubt(point: &str, earlier: &str, later: &str, energy: f64) -> Option<String> {
    let range = 10_f64.powi(later.split('.').next().unwrap_or_default().len() as i32);
    let (earlier, later) = (number(earlier)?, number(later)?);
    let counted = later - earlier;
    let counted = if counted < 0.0 {
        counted + range
    } else {
        counted
    };
    let agrees = (counted - energy).abs() <= 0.51;
    (!agrees).then(|| {
        format!(
            "the register of `{point}` counted {}, its energy is given as {}: a multiplier, or another meter",
            units::plain_figure(counted),
            units::plain_figure(energy)
        )
    })
}

fn number(text: &str) -> Option<f64> {
    fast_float2::parse::<f64, _>(text)
        .ok()
        .filter(|value| value.is_finite())
}
