//! Reads estate.toml.

use std::path::{Component, Path};

use serde::{Deserialize, Serialize};
use toml::de::DeTable;

use super::bounds::exceeded;
use super::table::{Located, SiteTable, Source};
use super::toml_fault;
use crate::declared::ESTATE_FILE;
use message::{InputErrors, Message};

/// A site of an estate, as it is listed.
#[derive(Clone, Debug, Default, PartialEq, Deserialize, Serialize)]
pub struct EstateSite {
    /// Path below the estate's folder, with `/` between its parts.
    pub path: String,
    /// Sites of one group are compared; empty: none is named.
    pub group: String,
    /// Floor area. (m²)
    pub floor_area_m2: Option<f64>,
    /// What it made in the time of its logs.
    pub output: Option<f64>,
    /// Unit of the output; empty without one.
    pub output_unit: String,
    /// The user's own words.
    pub tags: Vec<String>,
}

impl EstateSite {
    /// Where no group is named, sites of one folder are a group.
    pub fn name_group(&mut self) {
        if self.group.is_empty() {
            let above = self.path.rsplit_once('/').map(|(above, _)| above);
            above.unwrap_or("all sites").clone_into(&mut self.group);
        }
    }
}

/// The sites that an estate.toml lists, in its order.
///
/// # Errors
///
/// [`InputErrors`] with everything that is wrong in it.
pub fn read_estate_file(name: &str, text: &str) -> Result<Vec<EstateSite>, InputErrors> {
    let (document, faults) = DeTable::parse_recoverable(text);
    let source = Source::new(name, text);
    toml_fault::complain(&faults, &source);
    let root = SiteTable::new(&source, document.get_ref(), 0..0, "", &ESTATE_FILE);
    let mut sites = Vec::new();
    if faults.is_empty() && !exceeded(document.get_ref(), &source) {
        for table in root.tables("site") {
            let site = read_site_of_estate(&table);
            table.finish();
            let Some((site, path)) = site else { continue };
            if sites
                .iter()
                .any(|known: &EstateSite| known.path == site.path)
            {
                source.push(
                    Message::error(
                        "site-listed-twice",
                        format!("`{}` is listed twice", site.path),
                    )
                    .at(source.place(&path.span), "listed above")
                    .help("take one of the two out"),
                );
            }
            sites.push(site);
        }
    }
    root.finish();
    let messages = source.into_messages();
    if messages.has_errors() {
        return Err(InputErrors(messages));
    }
    Ok(sites)
}

fn read_site_of_estate(table: &SiteTable<'_, '_>) -> Option<(EstateSite, Located<String>)> {
    let text = |key| table.text(key).map(|found| found.value).unwrap_or_default();
    let path = table.required_text("path");
    let site = EstateSite {
        path: String::new(),
        group: text("group"),
        floor_area_m2: table.number("floor_area_m2"),
        output: table.number("output"),
        output_unit: text("output_unit"),
        tags: table
            .texts("tags")
            .into_iter()
            .map(|tag| tag.value)
            .collect(),
    };
    let path = path?;
    let parts: Vec<&str> = path
        .value
        .split('/')
        .filter(|part| !part.is_empty())
        .collect();
    let is_below = Path::new(&path.value)
        .components()
        .all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
    if !is_below || parts.is_empty() {
        table.source.push(
            Message::error(
                "outside-estate",
                format!("`{}` is not below the estate's folder", path.value),
            )
            .at(
                table.source.place(&path.span),
                "expected a path such as `north/ferry-lane`",
            )
            .help("write the path from the folder of estate.toml, without `..`"),
        );
        return None;
    }
    let path_below = parts.into_iter().filter(|part| *part != ".");
    let site = EstateSite {
        path: path_below.collect::<Vec<_>>().join("/"),
        ..site
    };
    Some((site, path))
}

#[cfg(test)]
mod tests {
    use super::*;
    use message::Level;

    fn errors(text: &str) -> Vec<&'static str> {
        let Err(InputErrors(messages)) = read_estate_file("estate.toml", text) else {
            return Vec::new();
        };
        messages.of(Level::Error).map(|one| one.name).collect()
    }

    #[test]
    fn sites_are_read_with_what_is_known_of_them() {
        let text = "[[site]]\npath = './north//mill'\ngroup = 'mills'\nfloor_area_m2 = 900\noutput = 12.5\n\
                    output_unit = 't'\ntags = ['leased']\n[[site]]\npath = 'yard.xlsx'\n";
        let sites = read_estate_file("estate.toml", text).expect("sound");
        assert_eq!(sites[0].path, "north/mill");
        assert_eq!(
            (sites[0].floor_area_m2, sites[0].output),
            (Some(900.0), Some(12.5))
        );
        let bare = EstateSite {
            path: "yard.xlsx".to_owned(),
            ..EstateSite::default()
        };
        assert_eq!(sites[1], bare);
    }

    #[test]
    fn what_is_wrong_is_said_at_its_place() {
        assert_eq!(errors("[[site]]\npath = '../other'"), ["outside-estate"]);
        assert_eq!(errors("[[site]]\npath = '/etc'"), ["outside-estate"]);
        assert_eq!(
            errors("[[site]]\npath = 'a'\n[[site]]\npath = 'a/'"),
            ["site-listed-twice"]
        );
        assert_eq!(
            errors("[[site]]\npath = 'a'\nflor_area_m2 = 3"),
            ["unknown-key"]
        );
        assert_eq!(
            errors("[[site]]\npath = 'a'\noutput = -3"),
            ["out-of-range"]
        );
        assert_eq!(errors("[[site]]\ngroup = 'a'"), ["missing-key"]);
    }
}
