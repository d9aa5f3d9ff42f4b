//! The user's machine list with the phases that were found.

use phases::PhaseResult;
use user_tables::list_separator;

/// The list with the connection of each load that was found elsewhere, or of which it gave none; all other cells are
/// unchanged.
///
/// # Errors
///
/// Those of reading and writing CSV.
pub fn corrected_list(list: &str, result: &PhaseResult) -> Result<String, csv::Error> {
    let separator = list_separator(list);
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(list.as_bytes());
    let mut writer = csv::WriterBuilder::new()
        .flexible(true)
        .delimiter(separator)
        .from_writer(Vec::new());
    let mut columns: Option<[usize; 2]> = None;
    for record in reader.records() {
        let mut record: Vec<String> = record?.iter().map(str::to_owned).collect();
        match columns {
            None => {
                let at = |name: &str| record.iter().position(|cell| cell.trim() == name);
                columns = at("machine").zip(at("connection")).map(<[usize; 2]>::from);
            }
            Some([machine, connection]) => {
                let name = record.get(machine).map(|name| name.trim().to_owned());
                let found = result.loads.iter().find(|load| {
                    load.is_settled() && name.as_deref() == Some(load.machine.as_str())
                });
                if let (Some(found), Some(cell)) = (
                    found.and_then(|load| load.probable),
                    record.get_mut(connection),
                ) && cell.trim() != found.name()
                {
                    found.name().clone_into(cell);
                }
            }
        }
        writer.write_record(&record)?;
    }
    let bytes = writer
        .into_inner()
        .map_err(csv::IntoInnerError::into_error)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use electrical::Phase;
    use phases::{LoadPhase, PhaseStatus};
    use site::Connection;

    fn load(machine: &str, status: PhaseStatus) -> LoadPhase {
        LoadPhase {
            machine: machine.to_owned(),
            listed: Connection::Unknown,
            probable: Some(Connection::ToNeutral(Phase::L3)),
            probability: Some(0.99),
            status,
            basis: String::new(),
            options: Vec::new(),
            to_settle: None,
            clock_behind_s: None,
        }
    }

    #[test]
    fn only_what_is_found_is_changed() {
        let result = PhaseResult {
            loads: vec![
                load("Kiln", PhaseStatus::Found),
                load("Saw", PhaseStatus::InDoubt),
            ],
            ..PhaseResult::default()
        };
        let list = "machine;circuit;connection\nKiln;C1;unknown\nSaw;C1;L1\n";
        let corrected = corrected_list(list, &result).expect("a table");
        assert_eq!(
            corrected,
            "machine;circuit;connection\nKiln;C1;L3\nSaw;C1;L1\n"
        );
    }
}
