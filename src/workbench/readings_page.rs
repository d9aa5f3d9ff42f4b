//! A round of readings with a clamp meter, entered at the board.

use std::sync::Arc;

use axum::extract::{Form, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};

use crate::lock::locked;
use crate::pages::{self, Fields, ReadingPlace, RoundForm, failed, to_start};
use crate::site_folder::{SiteFolder, site_of};
use crate::workbench_state::Workbench;
use site::{Node, Site};

const READINGS: &str = "readings.csv";
const HEADER: [&str; 6] = ["time", "at", "l1_a", "l2_a", "l3_a", "n_a"];

pub(crate) async fn form(State(workbench): State<Arc<Workbench>>) -> Response {
    let Some(folder) = workbench.site() else {
        return to_start();
    };
    shown(&folder, "", "", "")
}

fn shown(folder: &SiteFolder, time: &str, said: &str, fault: &str) -> Response {
    let (site, name) = site_of(folder);
    let rounds = folder.read(READINGS).ok().flatten().map_or(0, |text| {
        text.lines()
            .skip(1)
            .filter(|line| !line.trim().is_empty())
            .count()
    });
    pages::page(&RoundForm {
        site: name,
        places: site.as_ref().map(places).unwrap_or_default(),
        time: time.to_owned(),
        said: said.to_owned(),
        fault: fault.to_owned(),
        rounds,
    })
}

/// In the order in which one walks: the supply, then each board with its circuits.
fn places(site: &Site) -> Vec<ReadingPlace> {
    let limit = |node: Node| -> String {
        let amps = match node {
            Node::Supply => Some(site.supply.phase_limit_a),
            Node::Board(at) => site.boards[at].phase_limit_a,
            Node::Circuit(_) => None,
        };
        amps.map_or_else(String::new, |amps| amps.to_string())
    };
    let mut found = Vec::new();
    let mut waiting = vec![Node::Supply];
    while let Some(node) = waiting.pop() {
        found.push(ReadingPlace {
            name: site.node_name(node).to_owned(),
            what: match node {
                Node::Supply => "supply",
                Node::Board(_) => "board",
                Node::Circuit(_) => "circuit",
            },
            limit_a: limit(node),
        });
        let below = site
            .nodes()
            .into_iter()
            .filter(|&below| site.parent(below) == Some(node));
        let mut below: Vec<Node> = below.collect();
        // Circuits of a board come before the boards that it feeds.
        below.sort_by_key(|node| matches!(node, Node::Board(_)));
        waiting.extend(below.into_iter().rev());
    }
    found
}

/// Amperes as typed, with point or comma; `None`: nothing was typed.
fn amperes(typed: &str) -> Result<Option<String>, String> {
    let typed = typed.trim();
    if typed.is_empty() {
        return Ok(None);
    }
    let plain = typed.replace(',', ".");
    match plain.parse::<f64>() {
        Ok(amps) if amps.is_finite() && amps.abs() < 1e5 => Ok(Some(plain)),
        _ => Err(format!("`{typed}` is no current in amperes, such as 12.3")),
    }
}

pub(crate) async fn save(
    State(workbench): State<Arc<Workbench>>,
    Form(fields): Form<Fields>,
) -> Response {
    let Some(folder) = workbench.site() else {
        return to_start();
    };
    let value = |name: &str| {
        let found = fields.iter().find(|(key, _)| key == name);
        found.map_or("", |(_, value)| value.as_str())
    };
    let time = value("time").replace('T', " ");
    let refused = |why: &str| {
        let page = shown(&folder, value("time"), "", why);
        (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
    };
    if time.trim().is_empty() {
        return refused("Write when the readings were taken.");
    }
    let (Some(site), _) = site_of(&folder) else {
        return refused("The site file has errors: mend them first, the start page lists them.");
    };
    let mut rows = Vec::new();
    for (number, place) in places(&site).iter().enumerate() {
        let mut cells = Vec::new();
        for conductor in ["l1", "l2", "l3", "n"] {
            match amperes(value(&format!("{conductor}-{number}"))) {
                Ok(amps) => cells.push(amps.unwrap_or_default()),
                Err(why) => return refused(&format!("{}: {why}", place.name)),
            }
        }
        if cells.iter().any(|cell| !cell.is_empty()) {
            rows.push([vec![time.clone(), place.name.clone()], cells].concat());
        }
    }
    if rows.is_empty() {
        return refused("No reading was typed.");
    }
    let _alone = locked(&workbench.editing);
    let text = match folder.read(READINGS) {
        Ok(text) => text.unwrap_or_default(),
        Err(error) => return failed(&error),
    };
    let text = match appended(&text, &rows) {
        Ok(text) => text,
        Err(why) => return refused(&why),
    };
    match folder.write(READINGS, &text) {
        Ok(()) => shown(
            &folder,
            "",
            &format!("{} readings saved in readings.csv.", rows.len()),
            "",
        ),
        Err(error) => failed(&error),
    }
}

/// The file with more rows, in the columns that it has.
fn appended(text: &str, rows: &[Vec<String>]) -> Result<String, String> {
    let mut text = text.to_owned();
    if text.trim().is_empty() {
        text = format!("{}\n", HEADER.join(","));
    }
    let header = text
        .lines()
        .next()
        .unwrap_or_default()
        .trim_start_matches('\u{feff}')
        .to_owned();
    let separator = if header.matches(';').count() > header.matches(',').count() {
        ';'
    } else {
        ','
    };
    let names: Vec<String> = header
        .split(separator)
        .map(|name| name.trim().to_lowercase())
        .collect();
    if let Some(missing) = HEADER[..5]
        .iter()
        .find(|name| !names.iter().any(|own| own == *name))
    {
        return Err(format!(
            "readings.csv has no column `{missing}`: enter these readings in the program that made the file"
        ));
    }
    if !text.ends_with('\n') {
        text.push('\n');
    }
    let mut writer = csv::WriterBuilder::new()
        .delimiter(separator as u8)
        .from_writer(Vec::new());
    for row in rows {
        let cells = names.iter().map(|name| {
            let at = HEADER.iter().position(|own| own == name);
            at.map_or("", |at| row[at].as_str())
        });
        writer
            .write_record(cells)
            .map_err(|error| error.to_string())?;
    }
    let bytes = writer.into_inner().map_err(|error| error.to_string())?;
    text.push_str(&String::from_utf8_lossy(&bytes));
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_go_into_the_columns_of_the_file() {
        let row: Vec<String> = ["2026-03-09 08:15", "DB1", "10.5", "", "3", "7"]
            .map(str::to_owned)
            .to_vec();
        let new = appended("", std::slice::from_ref(&row)).expect("a file");
        assert_eq!(
            new,
            "time,at,l1_a,l2_a,l3_a,n_a\n2026-03-09 08:15,DB1,10.5,,3,7\n"
        );
        let old = "at;time;l1_a;l2_a;l3_a;by\nsupply;2026-03-08 09:00;1;2;3;Ann";
        let more = appended(old, &[row]).expect("a file");
        assert_eq!(more, format!("{old}\nDB1;2026-03-09 08:15;10.5;;3;\n"));
        assert!(appended("when,where\n", &[]).is_err());
    }

    #[test]
    fn amperes_have_a_point_or_a_comma() {
        assert_eq!(amperes(" 12,5 "), Ok(Some("12.5".to_owned())));
        assert_eq!(amperes(""), Ok(None));
        assert!(amperes("=1+1").is_err() && amperes("1e9").is_err() && amperes("NaN").is_err());
    }
}
