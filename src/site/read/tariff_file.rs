//! A tariff in a file of its own, which several sites may share.

use std::path::{Component, Path};

use toml::de::DeTable;

use super::bounds::exceeded;
use super::file::read_file;
use super::price_file::TariffFiles;
use super::table::{Located, SiteTable, Source};
use super::{billing, tariffs, toml_fault};
use crate::declared::TARIFF_FILE;
use message::Message;
use tariff::{BillingPeriods, Tariff};
use user_tables::text_of;

/// Prices and billing periods of a site: those of site.toml, or of the file that it names.
pub(crate) fn read(
    root: &SiteTable<'_, '_>,
    files: TariffFiles<'_>,
    named: Option<&Located<String>>,
) -> (Vec<Tariff>, BillingPeriods) {
    let own = (tariffs::read(root, files), billing::read(root));
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

fn of_file(
    root: &SiteTable<'_, '_>,
    files: TariffFiles<'_>,
    named: &Located<String>,
) -> Option<(Vec<Tariff>, BillingPeriods)> {
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
    let (document, faults) = DeTable::parse_recoverable(&text);
    let source = Source::new(&named.value, &text);
    toml_fault::complain(&faults, &source);
    let table = SiteTable::new(&source, document.get_ref(), 0..0, "", &TARIFF_FILE);
    let sound = faults.is_empty() && !exceeded(document.get_ref(), &source);
    let folder = path.parent().unwrap_or(files.folder);
    let beside = TariffFiles { folder, ..files };
    let found = sound.then(|| (tariffs::read(&table, beside), billing::read(&table)));
    table.finish();
    if sound
        && found
            .as_ref()
            .is_some_and(|(tariffs, _)| tariffs.is_empty())
    {
        source.push(
            Message::warning("no-tariff", format!("`{}` has no tariff", named.value))
                .at(root.source.place(&named.span), "")
                .help("add `[[tariff]]` with its prices"),
        );
    }
    for message in source.into_messages().all() {
        root.source.push(message.clone());
    }
    found
}
