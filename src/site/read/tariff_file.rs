//! A tariff in a file of its own, which several sites may share.

use std::path::{Component, Path};

use chrono_tz::Tz;
use toml::de::DeTable;

use super::bounds::exceeded;
use super::file::read_file;
use super::price_file::TariffFiles;
use super::table::{Located, SiteTable, Source};
use super::{billing, tariffs, toml_fault};
use crate::declared::TARIFF_FILE;
use crate::model::site_tariffs::SiteTariffs;
use message::{InputErrors, Message, Messages, Place};
use user_tables::text_of;

/// Prices and billing periods of a site: those of site.toml, or of the file that it names.
pub(crate) fn read(
    root: &SiteTable<'_, '_>,
    files: TariffFiles<'_>,
    named: Option<&Located<String>>,
) -> SiteTariffs {
    let own = prices(root, files);
    let Some(named) = named else {
        return own;
    };
    for key in ["tariff", "billing"] {
        if let Some(value) = root.value(key) {
            root.source.push(
                Message::error(
                    "two-tariffs",
                    format!("site.toml has `{key}`, and names a file of tariffs"),
                )
                .at(root.source.place(&value.span()), "expected one of the two")
                .help("move it to that file, or take `tariff_file` out"),
            );
        }
    }
    of_file(root, files, named).unwrap_or(own)
}

fn prices(root: &SiteTable<'_, '_>, files: TariffFiles<'_>) -> SiteTariffs {
    let (tariffs, of_meters) = tariffs::read(root, files);
    SiteTariffs {
        tariffs,
        of_meters,
        billing: billing::read(root),
    }
}

fn of_file(
    root: &SiteTable<'_, '_>,
    files: TariffFiles<'_>,
    named: &Located<String>,
) -> Option<SiteTariffs> {
    let name = Path::new(&named.value);
    let is_toml = name.extension().is_some_and(|kind| kind == "toml");
    let is_near = name.components().all(|part| {
        matches!(
            part,
            Component::Normal(_) | Component::ParentDir | Component::CurDir
        )
    });
    let path = files.folder.join(name);
    let read = if is_toml && is_near {
        read_file(&path)
    } else {
        let why = "expected a path from the site folder to a file such as `../tariff.toml`";
        Err(std::io::Error::other(why))
    };
    let text = match read {
        Ok(bytes) => text_of(&named.value, bytes),
        Err(error) => Err(Message::error(
            "cannot-read",
            format!("cannot read `{}`: {error}", named.value),
        )
        .at(root.source.place(&named.span), "a file with `[[tariff]]`")
        .help("write the path from the site folder")
        .into()),
    };
    let text = text.map_err(|message| root.source.push(*message)).ok()?;
    let folder = path.parent().unwrap_or(files.folder);
    let (found, messages) = parsed(&named.value, &text, TariffFiles { folder, ..files });
    for message in messages.all() {
        root.source.push(message.clone());
    }
    found
}

/// The tariff in a file, for another than the site's own.
///
/// # Errors
///
/// [`InputErrors`] with everything that is wrong in it.
pub fn read_tariff_file(path: &Path, zone: Tz) -> Result<SiteTariffs, InputErrors> {
    let name = path.display().to_string();
    let mut messages = Messages::new();
    let bytes = read_file(path).map_err(|error| {
        Message::error("cannot-read", format!("cannot read `{name}`: {error}"))
            .at(Place::file(&name), "")
    });
    let text = match bytes {
        Ok(bytes) => text_of(&name, bytes).map_err(|message| *message),
        Err(message) => Err(message),
    };
    let text = match text {
        Ok(text) => text,
        Err(message) => {
            messages.push(message);
            return Err(InputErrors(messages));
        }
    };
    let folder = path.parent().unwrap_or(Path::new("."));
    let (found, own) = parsed(
        &name,
        &text,
        TariffFiles {
            folder,
            zone,
            supply_meters: None,
        },
    );
    messages.append(own);
    match (found, messages.has_errors()) {
        (Some(found), false) => Ok(found),
        _ => Err(InputErrors(messages)),
    }
}

fn parsed(name: &str, text: &str, files: TariffFiles<'_>) -> (Option<SiteTariffs>, Messages) {
    let (document, faults) = DeTable::parse_recoverable(text);
    let source = Source::new(name, text);
    toml_fault::complain(&faults, &source);
    let table = SiteTable::new(&source, document.get_ref(), 0..0, "", &TARIFF_FILE);
    let sound = faults.is_empty() && !exceeded(document.get_ref(), &source);
    let found = sound.then(|| prices(&table, files));
    table.finish();
    if found
        .as_ref()
        .is_some_and(|prices| prices.tariffs.is_empty() && prices.of_meters.is_empty())
    {
        source.push(
            Message::error("no-tariff", format!("`{name}` has no tariff"))
                .at(Place::file(name), "")
                .help("add `[[tariff]]` with its prices"),
        );
    }
    (found, source.into_messages())
}
