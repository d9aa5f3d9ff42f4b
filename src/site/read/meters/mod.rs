//! Reads `[[meter]]`; what a meter measures is resolved once the machines are known.

mod columns;
mod time;

use toml::de::DeValue;

use columns::read_columns;
use time::read_time;

use super::table::{Located, SiteTable, Source};
use crate::model::meter::{
    Corrections, Meter, Plausibility, ReadingKind, RepeatedHour, Stamp, TimeColumn, TimeFormat,
    Zone,
};
use crate::model::node::{Measured, Node};
use crate::model::site::Site;
use message::{Message, did_you_mean};

/// Where the registers of meters without logs are written down.
const HAND_REGISTERS: &str = "registers.csv";

/// A meter whose target is still a name.
pub(crate) struct MeterDraft {
    pub(crate) id: Located<String>,
    measures: Located<String>,
    meter: Meter,
}

pub(crate) fn read(root: &SiteTable<'_, '_>) -> Vec<MeterDraft> {
    let mut drafts: Vec<MeterDraft> = Vec::new();
    for table in root.tables("meter") {
        let Some(draft) = read_meter(&table) else {
            continue;
        };
        if drafts.iter().any(|known| known.id.value == draft.id.value) {
            root.source.push(
                Message::error(
                    "duplicate-id",
                    format!("two meters are called `{}`", draft.id.value),
                )
                .at(root.source.place(&draft.id.span), "used before")
                .help("give each its own id"),
            );
        }
        drafts.push(draft);
    }
    drafts
}

/// Ids of the meters of the supply.
pub(crate) fn of_supply(drafts: &[MeterDraft]) -> Vec<String> {
    let own = drafts
        .iter()
        .filter(|draft| draft.measures.value == "supply");
    own.map(|draft| draft.id.value.clone()).collect()
}

fn read_meter(table: &SiteTable<'_, '_>) -> Option<MeterDraft> {
    let id = table.required_text("id");
    let measures = table.required_text("measures");
    // A meter without logs is read by hand.
    let files = table.text("files");
    if let Some(files) = &files {
        refuse_outside(table, files);
    }
    let readings = table.word(
        "readings",
        &[
            ("average", ReadingKind::Average),
            ("instant", ReadingKind::Instant),
        ],
    );
    let point = table.text("point");
    let unit = table.text("unit");
    let corrections = table.word(
        "corrections",
        &[("first", Corrections::First), ("last", Corrections::Last)],
    );
    let stamp = table.word("stamp", &[("start", Stamp::Start), ("end", Stamp::End)]);
    let time = table.table("time");
    let time = time.as_ref().map_or(
        TimeColumn {
            columns: Vec::new(),
            format: TimeFormat::Recognised,
            zone: Zone::Local,
            midnight_closes_day: false,
            repeated_hour: RepeatedHour::ByOrder,
        },
        read_time,
    );
    let separator = single_byte(table, "separator");
    let decimal = single_byte(table, "decimal");
    let thousands = single_byte(table, "thousands");
    refuse_one_sign_for_two(
        table,
        [
            ("separator", separator),
            ("decimal", decimal),
            ("thousands", thousands),
        ],
    );
    let missing = table
        .texts("missing")
        .into_iter()
        .map(|text| text.value)
        .collect();
    let header = table.flag("header").unwrap_or(true);
    let ratio = table.number("ratio").unwrap_or(1.0);
    let class_pct = read_class(table);
    // Registers show four to twelve digits; fewer than three pass their end within a day.
    let register_digits = table.whole("register_digits");
    let plausibility = table.word(
        "plausibility",
        &[("drop", Plausibility::Drop), ("keep", Plausibility::Keep)],
    );
    let columns = table.table("columns");
    let columns = columns.as_ref().map(read_columns).unwrap_or_default();
    table.finish();
    let id = id?;
    Some(MeterDraft {
        measures: measures?,
        meter: Meter {
            id: id.value.clone(),
            measures: Measured::SUPPLY,
            files_at: table
                .source
                .place(files.as_ref().map_or(&id.span, |files| &files.span)),
            readings: readings.unwrap_or(ReadingKind::Average),
            point: point
                .map(|point| point.value)
                .or_else(|| files.is_none().then(|| id.value.clone())),
            files: files.map_or_else(|| HAND_REGISTERS.to_owned(), |files| files.value),
            unit: unit.map(|unit| unit.value),
            stamp,
            corrections: corrections.unwrap_or_default(),
            time,
            separator,
            decimal,
            thousands,
            missing,
            header,
            ratio,
            class_pct,
            register_digits: register_digits.map(|digits| digits.value),
            plausibility: plausibility.unwrap_or_default(),
            columns,
        },
        id,
    })
}

/// Only files of the site are read.
pub(crate) fn refuse_outside(table: &SiteTable<'_, '_>, files: &Located<String>) {
    let path = files.value.replace('\\', "/");
    let outside = path.starts_with('/')
        || path.chars().nth(1) == Some(':')
        || path.split('/').any(|part| part == "..");
    if outside {
        table.source.push(
            Message::error(
                "outside-site",
                format!("`{}` leads outside the site folder", files.value),
            )
            .at(
                table.source.place(&files.span),
                "expected a path inside the site folder",
            )
            .help("copy the logs into the site folder, such as `meters/`"),
        );
    }
}

/// A sign that separates cells cannot be part of a number, nor one sign two parts of it.
fn refuse_one_sign_for_two(table: &SiteTable<'_, '_>, signs: [(&'static str, Option<u8>); 3]) {
    for (index, (name, sign)) in signs.into_iter().enumerate() {
        let Some((other, _)) = signs[..index]
            .iter()
            .find(|(_, own)| sign.is_some() && *own == sign)
        else {
            continue;
        };
        let place = table.text(name).map(|text| table.source.place(&text.span));
        // Numbers in quotes may hold the separator.
        if let Some(place) = place.filter(|_| *other != "separator" || name != "decimal") {
            table.source.push(
                Message::error(
                    "one-sign-for-two",
                    format!("`{name}` and `{other}` are the same sign"),
                )
                .at(place, "expected another sign")
                .help("say what the log uses; leave out what it does not have"),
            );
        }
    }
}

fn single_byte(table: &SiteTable<'_, '_>, key: &'static str) -> Option<u8> {
    let text = table.text(key)?;
    let word = if text.value == "tab" {
        "\t"
    } else {
        &text.value
    };
    if let [byte] = word.as_bytes() {
        return Some(*byte);
    }
    table.source.push(
        Message::error("single-character", format!("`{key}` must be one character")).at(
            table.source.place(&text.span),
            "expected one character such as `;`, or `tab`",
        ),
    );
    None
}

/// The class is a text such as `1` or `0.5S`; a bare number is understood too.
fn read_class(table: &SiteTable<'_, '_>) -> Option<f64> {
    let value = table.either("class")?;
    let text = match value.get_ref() {
        DeValue::String(text) => text.to_string(),
        DeValue::Integer(number) => number.to_string(),
        DeValue::Float(number) => number.to_string(),
        _ => String::new(),
    };
    let percent: Option<f64> = text.trim_end_matches(['S', 's']).trim().parse().ok();
    let percent = percent.filter(|percent| (0.05..=5.0).contains(percent));
    if percent.is_none() {
        table.source.push(
            Message::error("accuracy-class", "`class` is not an accuracy class").at(
                table.source.place(&value.span()),
                "expected a class of IEC 62053 such as \"1\" or \"0.5S\"",
            ),
        );
    }
    percent
}

/// Turns the names of what is measured into places.
pub(crate) fn resolve(drafts: Vec<MeterDraft>, site: &Site, source: &Source<'_>) -> Vec<Meter> {
    drafts
        .into_iter()
        .map(|draft| {
            let measures = find(site, &draft.measures.value).unwrap_or_else(|| {
                let names = site
                    .nodes()
                    .into_iter()
                    .map(|node| site.node_name(node))
                    .chain(site.machines.iter().map(|machine| machine.name.as_str()));
                source.push(
                    Message::error(
                        "unknown-target",
                        format!(
                            "meter `{}` measures `{}`, which does not exist",
                            draft.id.value, draft.measures.value
                        ),
                    )
                    .at(
                        source.place(&draft.measures.span),
                        "expected `supply` or the name of a board, circuit or machine",
                    )
                    .maybe_help(did_you_mean(&draft.measures.value, names)),
                );
                Measured::SUPPLY
            });
            Meter {
                measures,
                ..draft.meter
            }
        })
        .collect()
}

fn find(site: &Site, name: &str) -> Option<Measured> {
    let node = site
        .nodes()
        .into_iter()
        .find(|&node: &Node| site.node_name(node) == name);
    node.map(Measured::Node).or_else(|| {
        site.machines
            .iter()
            .position(|machine| machine.name == name)
            .map(Measured::Machine)
    })
}
